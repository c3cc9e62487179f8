"""What a go is held against: the plain loop and the best plan, both from the very same start."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.tools import TOOLS
from simulate.bench.marking import Scraper
from simulate.core.byte_cache import remembered
from simulate.method.bars import three_bars
from simulate.method.lands import three_land_gauges
from simulate.method.job import PACES, Pace
from simulate.method.planning import plan_job
from simulate.method.plates import FACE_TO_FACE, HALF_TURNS, QUARTER_TURNS, three_plates
from simulate.method.practice_lands import LAND_MM2, SIGHTS, middle_um
from simulate.method.practice_levels import LEVELS, start_practice
from simulate.method.practice_state import BODIES, PracticeState
from simulate.method.schedule import COARSE_TO_FINE, best_tools

LOOP_ROUNDS, LOOP_REMOVAL_UM = 4, 10.0
BEST_ROUNDS, HANDS = 3, 2
"""Workshops on which each order of tools is judged: the same bars, other hands."""
_PLATE_CUTS_UM = (5.0, 10.0, 20.0, 40.0)
_ORDERS = {"never turned": FACE_TO_FACE, "with half turns": HALF_TURNS, "with quarter turns": QUARTER_TURNS}
_ROUNDS_OF_PLATES = 20


@dataclass(frozen=True)
class Way:
    """One way of doing the job.

    Attributes
    ----------
    worst_um : ndarray, shape (rounds + 1,)
        The worst of the three at the start and after each round.
    metal_mm3, hours : ndarray, shape (rounds + 1,)
    passes : ndarray of int, shape (rounds + 1,)
    words : str
        What is done.
    """

    worst_um: np.ndarray
    metal_mm3: np.ndarray
    hours: np.ndarray
    passes: np.ndarray
    words: str


def plain_loop(state: PracticeState) -> Way:
    """Run the plain loop of three from the start of a go, with the go's own seed.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    Way

    Examples
    --------
    >>> way = plain_loop(start_practice())
    >>> bool(way.worst_um[-1] < 20)
    True
    """
    return _known(state.level, state.seed, state.error_um, state.length_mm)[0]


def best_plan(state: PracticeState) -> Way:
    """Find the plan that comes to the level's aim in the fewest hours, from the start of a go.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    Way

    Notes
    -----
    Bars: every order of files from coarse to fine in three rounds of the loop
    (`best_tools`) is tried on these bars, with two pairs of hands. Lands: the
    three fits are solved and each gauge is cut once; no way to three level
    gauges takes less metal (derived). Plates: every order of turns with four depths of cut is
    tried on these plates. A plan knows when it has arrived; a maker does not.

    Examples
    --------
    >>> way = best_plan(start_practice(level="lands"))
    >>> way.words
    'three looks, each gauge cut once by what they tell, three looks to prove it'
    """
    return _known(state.level, state.seed, state.error_um, state.length_mm)[1]


@remembered
def _known(level: str, seed: int, error_um: float, length_mm: float) -> tuple[Way, Way]:
    start = start_practice(seed, error_um, length_mm, level)
    return {"lands": _lands, "bars": _bars, "plates": _plates}[level](start, LEVELS[level].aim_um)


def _bars(start: PracticeState, aim: float) -> tuple[Way, Way]:
    x, h = start.x_mm, start.height_um
    loop = three_bars(x, h, rounds=LOOP_ROUNDS, removal_um=LOOP_REMOVAL_UM, seed=start.seed, record=False)
    passes, metal = loop.passes.sum(axis=-1), loop.metal_mm3.sum(axis=-1)
    pace = PACES["second-cut file"]
    plain = Way(loop.straightness_um.max(axis=-1), metal, _hours(passes, metal, pace), passes,
                f"second-cut file, {LOOP_REMOVAL_UM:g} µm a pass, {LOOP_ROUNDS} rounds")
    order = best_tools(start.error_um, aim, rounds=BEST_ROUNDS, tools=COARSE_TO_FINE[:3], seed=start.seed, workshops=HANDS,
                       bars=(x, h))[0].steps
    plan = plan_job(start.error_um, aim, tool=order, removal_um=[TOOLS[t].depth_um for t in order], rounds=BEST_ROUNDS,
                    workshops=1, seed=start.seed, bars=(x, h))
    end = int(plan.rounds[1])
    worst = plan.worst_um[1]
    done = [np.array([0.0, float(v[1])]) for v in (plan.metal_mm3, plan.hours, plan.passes)]
    words = ", then ".join(dict.fromkeys(order[:max(end, 1)]))
    many = "1 round" if end == 1 else f"{end} rounds"
    return plain, Way(worst[[0, end]], done[0], done[1], done[2].astype(int),
                      f"the {words}, at its full depth, {many} of the loop")


def _lands(start: PracticeState, aim: float) -> tuple[Way, Way]:
    middle = middle_um(start.height_um)
    pace = PACES["smooth file"]
    told = three_land_gauges(middle, LOOP_ROUNDS, sd_um=SIGHTS["light"].threshold_um / 3,
                             unseen_um=SIGHTS["light"].threshold_um, seed=start.seed)
    moved = np.abs(np.diff(told, axis=0))
    # A proud middle loses its own metal; a hollow one loses it from both ends.
    metal = np.r_[0, np.cumsum((moved * np.where(np.diff(told, axis=0) < 0, 1, 2)).sum(axis=-1))] * LAND_MM2 * 1e-3
    passes = np.r_[0, np.cumsum(np.ceil(moved / TOOLS["smooth file"].depth_um).sum(axis=-1))].astype(int)
    looks = passes + 4 * np.arange(LOOP_ROUNDS + 1)
    plain = Way(np.abs(told).max(axis=-1), metal, _hours(looks, metal, pace), passes, f"smooth file, {LOOP_ROUNDS} rounds")
    least = float((np.abs(middle) * np.where(middle > 0, 1, 2)).sum()) * LAND_MM2 * 1e-3
    hours = float(_hours(2 * BODIES, least, pace))
    best = Way(np.array([np.abs(middle).max(), min(aim, np.abs(middle).max())]), np.array([0, least]), np.array([0, hours]),
               np.array([0, BODIES]), "three looks, each gauge cut once by what they tell, three looks to prove it")
    return plain, best


def _plates(start: PracticeState, aim: float) -> tuple[Way, Way]:
    plain = _scraping(start, "with quarter turns", 20.0)
    tried = [_scraping(start, order, cut) for order in _ORDERS for cut in _PLATE_CUTS_UM]
    best = min((_until(way, aim) for way in tried), key=lambda w: (max(w.worst_um[-1], aim), w.hours[-1]))
    return _until(plain, Scraper().finish_um), best


def _scraping(start: PracticeState, order: str, cut_um: float) -> Way:
    fits = _ORDERS[order]
    run = three_plates(start.x_mm, start.x_mm, start.height_um, removal_um=cut_um, schedule=fits,
                       passes=_ROUNDS_OF_PLATES * len(fits), seed=start.seed, record=False)
    metal, pace = run.metal_mm3.sum(axis=-1), PACES["scraper"]
    passes = np.arange(_ROUNDS_OF_PLATES + 1) * len(fits)
    return Way(run.flatness_um.max(axis=-1), metal, _hours(passes, metal, pace), passes, f"{order}, at first {cut_um:g} µm where it prints darkest")


def _hours(looks: np.ndarray | int, metal_mm3: np.ndarray | float, pace: Pace) -> np.ndarray | float:
    return (looks * pace.look_s + metal_mm3 / pace.stroke_mm3 * pace.stroke_s) / 3600


def _until(way: Way, aim: float) -> Way:
    """End a way at the first round that reaches the aim, or where it was best."""
    reached = np.flatnonzero(way.worst_um <= aim)
    end = int(reached[0] if reached.size else way.worst_um.argmin()) + 1
    return Way(way.worst_um[:end], way.metal_mm3[:end], way.hours[:end], way.passes[:end], way.words)
