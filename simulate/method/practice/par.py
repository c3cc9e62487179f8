"""What a go is held against: the plain loop and the best plan, both from the very same start."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.bench.bending.moving_steel import Steel
from simulate.bench.cutting.rocking import WAYS, lead
from simulate.bench.cutting.scraping import Scraper
from simulate.bench.cutting.tools import TOOLS, Hands
from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.bars.three_bar_loop import three_bars
from simulate.method.lands.stepping import three_land_gauges
from simulate.method.planning.choices import REST_H
from simulate.method.planning.job import PACES, Job, Pace, blocks, handling_s
from simulate.method.plates.three_plate_loop import FACE_TO_FACE, HALF_TURNS, QUARTER_TURNS, three_plates
from simulate.method.practice.bars_level import STEEL
from simulate.method.practice.filing_act import WIDTH_MM
from simulate.method.practice.lands_level import LAND_MM2, SIGHTS, middle_um
from simulate.method.practice.levels import LEVELS, look_s, start_practice
from simulate.method.practice.state import BODIES, PracticeState

LOOP_ROUNDS, LOOP_REMOVAL_UM = 4, 10.0
HANDS, SURE, TRIED = 100, 0.95, 0.98
"""Workshops on which each plan is judged, the same bars and other hands; the part of all workshops that must reach the
aim; and the part of those that were tried, so that as good as no plan is chosen for its luck."""
AGAIN = 3
"""How often the last round of a plan is gone again, where the aim is not reached sooner."""
_ALONG, _DRAWN = "along the bar", "draw-filing"
PLANS = (
    (("second-cut file", _DRAWN), ("second-cut file", _DRAWN), ("smooth file", _DRAWN)),
    (("bastard file", _ALONG), ("second-cut file", _DRAWN), ("smooth file", _DRAWN)),
    (("bastard file", _ALONG), ("smooth file", _DRAWN), ("smooth file", _DRAWN)),
    (("bastard file", _ALONG), ("scraper", _ALONG), ("scraper", _ALONG)),
    (("bastard file", _ALONG), ("smooth file", _DRAWN), ("scraper", _ALONG)),
)
"""Tool and way of each round, at its full depth."""

_PLATE_CUTS_UM = (5.0, 10.0, 20.0)  # 10 from each is as deep as a scraper cuts
ORDERS = {"never turned": FACE_TO_FACE, "with half turns": HALF_TURNS, "with quarter turns": QUARTER_TURNS}
_ROUNDS_OF_PLATES = (20, 40)  # tried one after the other, until a way is sure of the aim


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
    steps : tuple of (str, str)
        Of the best plan for bars, tool and way of each round.
    """

    worst_um: np.ndarray
    metal_mm3: np.ndarray
    hours: np.ndarray
    passes: np.ndarray
    words: str
    steps: tuple[tuple[str, str], ...] = ()


def plain_loop(state: PracticeState) -> Way:
    """Run the plain loop of three from the start of a go, with the go's own seed.

    >>> way = plain_loop(start_practice())
    >>> bool(way.worst_um[-1] < way.worst_um[0] / 4)
    True
    """
    return _known(state.level, state.seed, state.error_um, state.length_mm, state.rules)[0]


def best_plan(state: PracticeState) -> Way:
    """Find the plan that comes to the level's aim in the fewest hours, from the start of a go.

    Bars: each of `PLANS` is tried on these bars by 100 workshops, all of which go as many rounds as it takes until 98
    of them are there, so that 95 of any hundred are; the one of fewest hours is taken. Bars that move lie for twelve
    hours after each fit. Lands: the
    three fits are solved and each gauge is cut once; no way to three level
    gauges takes less metal (derived). Plates: every order of turns with three depths of cut is
    tried by a hundred workshops on these plates, and judged alike. A plan knows when it has arrived; a maker does not.

    >>> way = best_plan(start_practice(level="lands"))
    >>> way.words
    'three checks, each gauge cut once by what they show, three checks to prove it'
    """
    return _known(state.level, state.seed, state.error_um, state.length_mm, state.rules)[1]


@remembered
def _known(level: str, seed: int, error_um: float, length_mm: float, rules: int) -> tuple[Way, Way]:
    start = start_practice(seed, error_um, length_mm, level, rules)
    return {"lands": _lands, "bars": _bars, "plates": _plates}[level](start, LEVELS[level].aim_um)


def _bars(start: PracticeState, aim: float) -> tuple[Way, Way]:
    x, h = start.x_mm, start.height_um
    steel = Steel(STEEL.stock) if start.rules >= 4 else Steel()
    tool = "second-cut file"
    loop = three_bars(
        x, h, rounds=LOOP_ROUNDS, removal_um=LOOP_REMOVAL_UM, tool=tool, seed=start.seed, steel=steel, record=False
    )
    passes, metal = loop.passes.sum(axis=-1), loop.metal_mm3.sum(axis=-1)
    pace = replace(PACES[tool], look_s=PACES[tool].look_s + handling_s(steel))
    plain = Way(
        loop.straightness_um.max(axis=-1),
        metal,
        _hours(passes, metal, pace),
        passes,
        f"{tool}, {LOOP_REMOVAL_UM:g} µm a pass, {LOOP_ROUNDS} rounds",
    )
    rested = replace(steel, rest_h=REST_H) if steel.moves else steel
    return plain, min((_plan(start, order, aim, rested) for order in PLANS), key=lambda each: each[:2])[2]


def _plan(start: PracticeState, order: tuple, aim: float, steel: Steel) -> tuple[float, float, Way]:
    """Try one plan by many workshops: what is missing to its aim, mean hours, and what it comes to."""
    order = (*order, *order[-1:] * AGAIN)
    tools = [lead(tool, **WAYS[way]) for tool, way in order]
    given = {"removal": [t.depth_um for t in tools], "tools": tools, "share": 0.5, "sight": Sight(), "hands": Hands()}
    bars = start.x_mm, start.height_um
    job = Job(
        start.length_mm, start.error_um, len(start.x_mm), **given, width_mm=WIDTH_MM, pace=None, bars=bars, steel=steel
    )
    (run,) = blocks(job, HANDS, start.seed)
    reached = (run["worst"] <= aim).mean(axis=0)
    there = np.flatnonzero(reached >= TRIED)
    end = int(there[0]) if there.size else int(reached.argmax())
    named = dict.fromkeys(tool if way == _ALONG else f"{tool} ({way})" for tool, way in order[: max(end, 1)])
    rests = f", rested {steel.rest_h:g} h after each fit" if steel.rest_h else ""
    words = f"the {', then '.join(named)}{rests}: within {aim:g} µm in {100 * reached[end]:.0f} of {HANDS} workshops"
    told = (np.median(run[name], axis=0)[[0, end]] for name in ("worst", "metal", "hours", "passes"))
    way = Way(*told, words, order[:end])
    return (
        max(TRIED - reached[end], 0.0),
        float(run["hours"][:, end].mean()),
        replace(way, passes=way.passes.astype(int)),
    )


def _lands(start: PracticeState, aim: float) -> tuple[Way, Way]:
    middle = middle_um(start.height_um)
    pace = PACES["smooth file"]
    told = three_land_gauges(
        middle,
        LOOP_ROUNDS,
        sd_um=SIGHTS["light"].threshold_um / 3,
        unseen_um=SIGHTS["light"].threshold_um,
        seed=start.seed,
    )
    moved = np.abs(np.diff(told, axis=0))
    # A proud middle loses its own metal; a hollow one loses it from both ends.
    metal = np.r_[0, np.cumsum((moved * np.where(np.diff(told, axis=0) < 0, 1, 2)).sum(axis=-1))] * LAND_MM2 * 1e-3
    passes = np.r_[0, np.cumsum(np.ceil(moved / TOOLS["smooth file"].depth_um).sum(axis=-1))].astype(int)
    looks = passes + 4 * np.arange(LOOP_ROUNDS + 1)
    plain = Way(
        np.abs(told).max(axis=-1), metal, _hours(looks, metal, pace), passes, f"smooth file, {LOOP_ROUNDS} rounds"
    )
    least = float((np.abs(middle) * np.where(middle > 0, 1, 2)).sum()) * LAND_MM2 * 1e-3
    hours = float(_hours(2 * BODIES, least, pace))
    best = Way(
        np.array([np.abs(middle).max(), min(aim, np.abs(middle).max())]),
        np.array([0, least]),
        np.array([0, hours]),
        np.array([0, BODIES]),
        "three checks, each gauge cut once by what they show, three checks to prove it",
    )
    return plain, best


def _plates(start: PracticeState, aim: float) -> tuple[Way, Way]:
    for rounds in _ROUNDS_OF_PLATES:
        plain = _until(_scraping(start, "with quarter turns", 20.0, 1, rounds)[0], Scraper().finish_um)
        found = _judged(
            [_scraping(start, order, cut, HANDS, rounds) for order in ORDERS for cut in _PLATE_CUTS_UM], aim
        )
        if found[0] == 0.0:
            break
    return plain, found[-1]


def _judged(tried: list, aim: float) -> tuple[float, float, Way]:
    """Take the way of fewest hours that is sure of the aim, or the one that misses it least."""
    found = []
    for way, worst in tried:
        reached = (worst <= aim).mean(axis=0)
        sure = np.flatnonzero(reached >= TRIED)
        end = int(sure[0]) if sure.size else len(reached) - 1
        words = f"{way.words}: within {aim:g} µm in {100 * reached[end]:.0f} of {HANDS} workshops"
        cut = (a[: end + 1] for a in (way.worst_um, way.metal_mm3, way.hours, way.passes))
        found.append((max(TRIED - reached[end], 0.0), float(way.hours[end]), Way(*cut, words)))
    return min(found, key=lambda each: (each[0], each[1] if each[0] == 0 else each[2].worst_um[-1]))


def _scraping(start: PracticeState, order: str, cut_um: float, workshops: int, rounds: int) -> tuple[Way, np.ndarray]:
    """One way by many workshops on the same plates: their medians, and the worst plate of each after each round."""
    fits = ORDERS[order]
    run = three_plates(
        start.x_mm,
        start.x_mm,
        np.repeat(start.height_um[None], workshops, axis=0),
        removal_um=cut_um,
        schedule=fits,
        passes=rounds * len(fits),
        seed=start.seed,
        record=False,
    )
    worst = run.flatness_um.max(axis=-1)
    metal, pace = np.median(run.metal_mm3.sum(axis=-1), axis=0), PACES["scraper"]
    passes = np.arange(rounds + 1) * len(fits)
    pace = replace(pace, look_s=look_s(start))
    words = f"{order}, at first {cut_um:g} µm where it prints darkest"
    return Way(np.median(worst, axis=0), metal, _hours(passes, metal, pace), passes, words), worst


def _hours(looks: np.ndarray | int, metal_mm3: np.ndarray | float, pace: Pace) -> np.ndarray | float:
    return (looks * pace.look_s + metal_mm3 / pace.stroke_mm3 * pace.stroke_s) / 3600


def _until(way: Way, aim: float) -> Way:
    """End a way at the first round that reaches the aim, or where it was best."""
    reached = np.flatnonzero(way.worst_um <= aim)
    end = int(reached[0] if reached.size else way.worst_um.argmin()) + 1
    return Way(way.worst_um[:end], way.metal_mm3[:end], way.hours[:end], way.passes[:end], way.words)
