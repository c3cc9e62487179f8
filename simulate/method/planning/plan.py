"""Planning a set of three bars: many workshops are run, and the job is read off them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, field

import numpy as np

from simulate.bench.bending.moving_steel import Steel
from simulate.bench.cutting.tools import Hands
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words
from simulate.core.values import short
from simulate.method.planning.bands import Binned, Kept
from simulate.method.planning.job import PACES, Job, Pace, blocks, each_round
from simulate.method.planning.stop_limit import EVEN, Stop, stop_rule

__all__ = ["EVEN", "PACES", "Pace", "Plan", "growing_plan", "plan_job"]

KEEP = 20_000


@dataclass(frozen=True)
class Plan:
    """What a job asks, over many workshops. Bands are what 10, 50 and 90 % of them stay under.

    Attributes
    ----------
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
    stop : Stop
        Where to stop, and the figures that say why.
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
    stop: Stop

    @property
    def stop_after(self) -> int:
        """The round after which to stop; 0 where none pays."""
        return self.stop.after

    @property
    def why(self) -> str:
        """The reasoning, in a sentence or two."""
        return self.stop.why()


def plan_job(  # noqa: PLR0913  (figures of one job, by their names)
    start_um: float,
    wanted_um: float,
    *,
    length_mm: float = 500.0,
    removal_um: float | Sequence[float] = 10.0,
    rounds: int = 5,
    share: float = 0.5,
    tool: str | Sequence[str] = "second-cut file",
    sight: Sight = Sight(),
    hands: Hands = Hands(),
    width_mm: float = 10.0,
    pace: Pace | None = None,
    workshops: int = 1000,
    points: int = 101,
    sure: float = 0.8,
    seed: int | None = None,
    keep: int = KEEP,
    bars: tuple[np.ndarray, np.ndarray] | None = None,
    steel: Steel = Steel(),
    executor: Executor | None = None,
) -> Plan:
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
    bars : (x_mm, height_um), optional
        Start every workshop from these three bars, so that only hands differ.
    steel : Steel
        How the bars move, and whether pairs are looked at in the vice; by default they do not move.
    executor : concurrent.futures.Executor, optional
        Whoever runs the blocks of workshops: processes, or a cluster through its own executor. The same seed gives the
        same plan on one core, on threads and there. It stays open.

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
    maker does not see straightness; the plan does. Few points along the bar
    are quick and a little kind: for 500 mm, 51 of them show errors up to an
    eighth and the slowest tenth's hours up to a third below 201 points.

    Examples
    --------
    >>> plan = plan_job(60, 40, workshops=20, rounds=2, points=41, seed=1)
    >>> bool(plan.reached[-1] > 0.8), plan.worst_um.shape
    (True, (3, 3))
    """
    every = growing_plan(
        start_um,
        wanted_um,
        length_mm=length_mm,
        removal_um=removal_um,
        rounds=rounds,
        share=share,
        tool=tool,
        sight=sight,
        hands=hands,
        width_mm=width_mm,
        pace=pace,
        workshops=workshops,
        points=points,
        sure=sure,
        seed=seed,
        keep=keep,
        between=False,
        bars=bars,
        steel=steel,
        executor=executor,
    )
    return next(every)


def growing_plan(  # noqa: PLR0913  (figures of one job, by their names)
    start_um: float,
    wanted_um: float,
    *,
    length_mm: float = 500.0,
    removal_um: float | Sequence[float] = 10.0,
    rounds: int = 5,
    share: float = 0.5,
    tool: str | Sequence[str] = "second-cut file",
    sight: Sight = Sight(),
    hands: Hands = Hands(),
    width_mm: float = 10.0,
    pace: Pace | None = None,
    workshops: int = 10_000,
    points: int = 101,
    sure: float = 0.8,
    seed: int | None = None,
    keep: int = KEEP,
    between: bool = True,
    bars: tuple[np.ndarray, np.ndarray] | None = None,
    steel: Steel = Steel(),
    executor: Executor | None = None,
) -> Iterator[Plan]:
    """Plan with a few workshops at once, then with more and more of them.

    `start_um`, `wanted_um`, `length_mm`, `removal_um`, `rounds`, `share`, `tool`, `sight`, `hands`, `width_mm`, `pace`:
    as `plan_job`. `workshops`, `points`, `sure`, `seed`, `keep`: as `plan_job`. `between`: whether a plan is given
    after each block of workshops, or only the last. `bars`: as `plan_job`. `steel`: as `plan_job`. `executor`: as
    `plan_job`. Yields: from 200, 500 and 1000 workshops, then from each thousand more. The last one is what `plan_job`
    gives.

    >>> plans = growing_plan(60, 15, workshops=300, rounds=1, points=41, seed=1)
    >>> [plan.workshops for plan in plans]
    [200, 300]
    """
    wanted = checks.number(wanted_um, "wanted_um", 0, above=True)
    rounds = checks.whole(rounds, "rounds", 1)
    workshops = checks.whole(workshops, "workshops", 1)
    sure = checks.number(sure, "sure", 0, 1)
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    checks.kind(steel, "steel", Steel)
    if bars is not None:
        bars = _start(bars)
    if pace is not None:
        checks.kind(pace, "pace", Pace)
        checks.number(pace.stroke_mm3, "stroke_mm3 of pace", 0, above=True)
        checks.number(pace.stroke_s, "stroke_s of pace", 0)
        checks.number(pace.look_s, "look_s of pace", 0)
    checks.whole(keep, "keep", 0)
    seed = seed_of(seed)
    job = Job(
        length_mm,
        start_um,
        points,
        each_round(removal_um, rounds, "removal_um"),
        each_round(tool, rounds, "tool"),
        share,
        sight,
        hands,
        width_mm,
        pace,
        bars,
        steel,
    )
    count = _Count(Kept() if workshops <= keep else Binned(), np.zeros(rounds + 1), np.zeros(rounds))
    for run in blocks(job, workshops, seed, executor):
        count.add(run, wanted)
        if between or count.workshops == workshops:
            yield _plan(count, job, wanted, sure)


def seed_of(seed: int | np.random.Generator | None) -> int | None:
    """Give the one number that plans which are compared all begin with.

    `seed`: a Generator gives up one draw.

    >>> seed_of(3), seed_of(np.random.default_rng(1)) == seed_of(np.random.default_rng(1))
    (3, True)
    """
    if isinstance(seed, np.random.Generator):
        return int(seed.integers(2**63))
    return None if seed is None else checks.whole(seed, "seed", 0)


def _start(bars) -> tuple[np.ndarray, np.ndarray]:
    """Three bars to start from, or a refusal in one sentence."""
    if not isinstance(bars, tuple | list) or len(bars) != 2:
        raise Refusal("type", where="bars", found=short(bars), must_be="the pair (x_mm, height_um) of three bars")
    x = checks.even_positions(bars[0], "x_mm of bars", 3)
    h = checks.profiles(bars[1], x.size, "height_um of bars", bars=3)
    if h.ndim > 2:
        raise Refusal(
            "shape", where="height_um of bars", found=shape_words(h.shape), must_be=f"three bars of {x.size} heights"
        )
    return x, h


@dataclass
class _Count:
    """What the blocks have told so far."""

    store: Kept | Binned
    reached: np.ndarray
    worse: np.ndarray
    hours: float = 0.0
    workshops: int = field(default=0)

    def add(self, run: dict[str, np.ndarray], wanted: float) -> None:
        ever = np.logical_or.accumulate(run["worst"] <= wanted, axis=1)
        self.reached += ever.sum(axis=0)
        self.worse += (np.diff(run["worst"], axis=1) > 0).sum(axis=0)
        self.store.add("worst", run.pop("worst"))
        rows, last = np.arange(len(ever)), ever.shape[1] - 1
        end = np.where(ever[:, -1], ever.argmax(axis=1), last)
        self.store.add("rounds", end.astype(float))
        self.hours += float(run["hours"][rows, end].sum())
        for name, values in run.items():
            self.store.add(name, values[rows, end])
        self.workshops += len(rows)


def _plan(count: _Count, job: Job, wanted: float, sure: float) -> Plan:
    n, store = count.workshops, count.store
    reached, worse = count.reached / n, count.worse / n
    bands = {
        name: store.quantiles(name) for name in ("worst", "rounds", "passes", "strokes", "hours", "metal", "stock")
    }
    stop = stop_rule(
        reached,
        worse,
        wanted,
        sure=sure,
        sight_um=job.sight.threshold_um,
        share=job.share,
        floor_um=float(bands["worst"][1, -1]),
    )
    return Plan(
        n,
        wanted,
        bands["worst"],
        reached,
        worse,
        bands["rounds"],
        bands["passes"],
        bands["strokes"],
        bands["hours"],
        bands["metal"],
        bands["stock"],
        count.hours / n,
        float(store.quantiles("stock", (0.95,))[0]),
        stop,
    )
