"""Planning a set of three bars: many workshops are run, and the job is read off them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from simulate.bench.cut import Hands, tool_of
from simulate.bench.sight import Sight
from simulate.method.bars import three_bars
from simulate.method.tally import Binned, Kept
from simulate.surface import checks
from simulate.surface.bars import starting_bars

BLOCK, KEEP = 1000, 20_000
EVEN = 0.45
"""A round that harms this part of all workshops is as good as a coin: by chance alone it tends to a half."""


@dataclass(frozen=True)
class Pace:
    """How quickly metal goes.

    Attributes
    ----------
    stroke_mm3 : float
        Metal that one stroke takes. A loaded file on a testing machine took 1.6
        to 13 mm³ (published: American Engineer and Railroad Journal, 1905); by
        hand less (common practice, no source).
    stroke_s : float
    look_s : float
        Clean, lay on, look, mark, clamp again: for every pass.
    """

    stroke_mm3: float
    stroke_s: float = 1.2
    look_s: float = 120.0


PACES = {"bastard file": Pace(2.0), "second-cut file": Pace(1.0), "smooth file": Pace(0.3), "scraper": Pace(0.05, 0.8),
         "stone": Pace(0.02, 0.8)}
"""Common practice, no source; right to a factor of two or three."""


@dataclass(frozen=True)
class Plan:
    """What a job asks, over many workshops. Bands are what 10, 50 and 90 % of them stay under.

    Attributes
    ----------
    workshops : int
    wanted_um : float
    worst_um : ndarray, shape (3, rounds + 1)
        Bands of the straightness of the worst bar, at the start and after each round.
    reached : ndarray, shape (rounds + 1,)
        Part of the workshops that had all three bars within `wanted_um` by then.
    worse : ndarray, shape (rounds,)
        Part whose worst bar was made worse by that round.
    rounds, passes, strokes, hours, metal_mm3, stock_um : ndarray, shape (3,)
        Until all bars were good, or to the last round. `stock_um` is the most
        metal that any place of any bar gave up.
    hours_mean : float
        Mean, unlike the middle band: a few long jobs count.
    stock_to_leave_um : float
        Enough for 95 % of the workshops.
    stop_after : int
        The round after which to stop.
    why : str
        The reasoning, in a sentence or two.
    """

    workshops: int
    wanted_um: float
    worst_um: np.ndarray
    reached: np.ndarray
    worse: np.ndarray
    rounds: np.ndarray
    passes: np.ndarray
    strokes: np.ndarray
    hours: np.ndarray
    metal_mm3: np.ndarray
    stock_um: np.ndarray
    hours_mean: float
    stock_to_leave_um: float
    stop_after: int
    why: str


def plan_job(start_um: float, wanted_um: float, *, length_mm: float = 500.0, removal_um: float | Sequence[float] = 10.0,
             rounds: int = 5, share: float = 0.5, tool: str | Sequence[str] = "second-cut file", sight: Sight = Sight(),
             hands: Hands = Hands(), width_mm: float = 10.0, pace: Pace | None = None, workshops: int = 1000,
             points: int = 101, sure: float = 0.8, seed: int | None = None, keep: int = KEEP) -> Plan:
    """Plan three bars from a start error to a wanted straightness.

    Parameters
    ----------
    start_um, wanted_um : float
        Straightness of every bar at the start, and what all three are to have.
    length_mm : float
    removal_um : float or sequence of float
        Metal per pass, for all rounds or one figure a round.
    rounds : int
        The most that are gone.
    share : float
    tool : str or sequence of str
        For all rounds, or one a round.
    sight : Sight
    hands : Hands
    width_mm : float
    pace : Pace, optional
        For all tools; by default each tool's own in `PACES`.
    workshops : int
        Above `keep` they are counted into bins, at constant memory.
    points : int
    sure : float
        Part of the workshops that makes a plan count as reached.
    seed : int, optional
    keep : int

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        Where a number is out of its range or a list is not as long as the rounds.

    Notes
    -----
    The stop rule: stop where enough workshops have reached the aim, or where the
    next round makes the worst bar worse in nearly half of them. By then a
    round only stirs what sight and tool leave, and each round takes metal.
    Cannot see what `three_bars` cannot see, a broken tool, or a bad day. The
    maker does not see straightness; the plan does.

    Examples
    --------
    >>> plan = plan_job(60, 15, workshops=20, rounds=2, points=41, seed=1)
    >>> bool(plan.reached[-1] > 0.8), plan.worst_um.shape
    (True, (3, 3))
    """
    wanted = checks.number(wanted_um, "wanted_um", 0, above=True)
    rounds = checks.whole(rounds, "rounds", 1)
    workshops = checks.whole(workshops, "workshops", 1)
    sure = checks.number(sure, "sure", 0, 1)
    job = _Job(length_mm, start_um, points, _each(removal_um, rounds, "removal_um"), _each(tool, rounds, "tool"), share,
               sight, hands, width_mm, pace)
    store = Kept() if workshops <= keep else Binned()
    reached, worse, hours = np.zeros(rounds + 1), np.zeros(rounds), 0.0
    for run in _blocks(job, workshops, seed):
        good = run["worst"] <= wanted
        ever = np.logical_or.accumulate(good, axis=1)
        reached += ever.sum(axis=0)
        worse += (np.diff(run["worst"], axis=1) > 0).sum(axis=0)
        store.add("worst", run.pop("worst"))
        end = np.where(ever[:, -1], ever.argmax(axis=1), rounds)
        store.add("rounds", end.astype(float))
        hours += run["hours"][np.arange(len(end)), end].sum()
        for name, values in run.items():
            store.add(name, values[np.arange(len(end)), end])
    return _plan(store, workshops, wanted, reached / workshops, worse / workshops, float(hours) / workshops, sure)


@dataclass(frozen=True)
class _Job:
    length_mm: float
    start_um: float
    points: int
    removal: list
    tools: list
    share: float
    sight: Sight
    hands: Hands
    width_mm: float
    pace: Pace | None


def _each(value, rounds: int, name: str) -> list:
    if isinstance(value, str) or np.ndim(value) == 0:
        return [value] * rounds
    if len(value) != rounds:
        raise ValueError(f"{name} must be one, or one for each of {rounds} rounds; got {len(value)}.")
    return list(value)


def _blocks(job: _Job, workshops: int, seed: int | None) -> Iterator[dict[str, np.ndarray]]:
    """Run the workshops, a thousand at a time."""
    sizes = [min(BLOCK, workshops - a) for a in range(0, workshops, BLOCK)]
    root = np.random.SeedSequence(seed)
    for size in sizes:
        rng = np.random.default_rng(root.spawn(1)[0])
        x, h = starting_bars(job.length_mm, job.start_um, points=job.points, workshops=size, seed=rng)
        yield _run(job, x, h, rng)


def _run(job: _Job, x: np.ndarray, h: np.ndarray, rng: np.random.Generator) -> dict[str, np.ndarray]:
    """One block through all rounds: a stretch of rounds with one tool is one call."""
    first, parts = h, []
    starts = [r for r, t in enumerate(job.tools) if r == 0 or t != job.tools[r - 1]] + [len(job.tools)]
    for a, b in zip(starts, starts[1:]):
        run = three_bars(x, h, rounds=b - a, removal_um=job.removal[a:b], share=job.share, seed=rng, sight=job.sight,
                         tool=job.tools[a], hands=job.hands, width_mm=job.width_mm)
        parts.append(_stretch(run, first, job.pace or PACES[tool_of(job.tools[a]).name]))
        order = np.argsort(np.arange(3) != run.gauge[:, -1:], axis=1, kind="stable")[..., None]
        h, first = (np.take_along_axis(v, order, axis=1) for v in (run.height_um[:, -1], first))
    whole = parts[0]
    for part in parts[1:]:
        for name, values in part.items():
            base = whole[name][:, -1:] if name in ("passes", "strokes", "hours", "metal") else 0
            whole[name] = np.concatenate([whole[name], base + values[:, 1:]], axis=1)
    return whole


def _stretch(run, first: np.ndarray, pace: Pace) -> dict[str, np.ndarray]:
    passes, metal = run.passes.sum(axis=-1).astype(float), run.metal_mm3.sum(axis=-1)
    strokes = metal / pace.stroke_mm3
    return {"worst": run.straightness_um.max(axis=-1), "passes": passes, "strokes": strokes, "metal": metal,
            "hours": (strokes * pace.stroke_s + passes * pace.look_s) / 3600,
            "stock": (first[:, None] - run.height_um).max(axis=(-2, -1))}


def _plan(store, workshops: int, wanted: float, reached: np.ndarray, worse: np.ndarray, hours: float,
          sure: float) -> Plan:
    stop, why = _stop(reached, worse, wanted, sure)
    bands = {name: store.quantiles(name) for name in
             ("worst", "rounds", "passes", "strokes", "hours", "metal", "stock")}
    return Plan(workshops, wanted, bands["worst"], reached, worse, bands["rounds"], bands["passes"], bands["strokes"],
                bands["hours"], bands["metal"], bands["stock"], hours,
                float(store.quantiles("stock", (0.95,))[0]), stop, why)


def _stop(reached: np.ndarray, worse: np.ndarray, wanted: float, sure: float) -> tuple[int, str]:
    """The round after which to stop, and why."""
    done = np.flatnonzero(reached >= sure)
    idle = np.flatnonzero(worse >= EVEN)
    if done.size and (not idle.size or done[0] <= idle[0] + 1):
        r = int(done[0])
        return r, (f"Stop after round {r}: by then {100 * reached[r]:.0f} % of the workshops had all three bars within "
                   f"{wanted:g} µm, and a further round only costs metal.")
    if idle.size:
        r = int(idle[0])
        return r, (f"Stop after round {r}: round {r + 1} made the worst bar worse in {100 * worse[r]:.0f} % of the workshops, "
                   f"so it harms as often as it helps. By then {100 * reached[r]:.0f} % were within {wanted:g} µm; "
                   "the rest needs a lighter pass, a finer tool or a sharper eye.")
    r = len(reached) - 1
    return r, (f"After {r} rounds {100 * reached[r]:.0f} % of the workshops were within {wanted:g} µm, and the last round "
               f"still helped in {100 * (1 - worse[-1]):.0f} %: plan further rounds.")
