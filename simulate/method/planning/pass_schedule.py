"""How much a pass takes in each round, and which tool when."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations_with_replacement

from simulate.bench.cutting.tools import TOOLS
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.planning.plan import Plan, plan_job, seed_of

CHOICES_UM = (40.0, 28.0, 20.0, 14.0, 10.0, 7.0, 5.0, 3.5, 2.5)
COARSE_TO_FINE = ("bastard file", "second-cut file", "smooth file", "scraper")


@dataclass(frozen=True)
class Schedule:
    """A way through the rounds and how it did.

    Attributes
    ----------
    steps : tuple
        Metal per pass (µm) or tool, one for each round.
    reached : float
        Part of the workshops that got there.
    hours : float
        Mean over the workshops, until all bars were good or to the last round.
    score : tuple of float
        First what is missing to `sure`, then the hours: less is better.
    """

    steps: tuple
    reached: float
    hours: float
    score: tuple[float, float]


def _score(steps: tuple, plan: Plan, sure: float) -> Schedule:
    hours = plan.hours_mean
    return Schedule(steps, float(plan.reached[-1]), hours, (max(0.0, sure - float(plan.reached[-1])), hours))


def _judge(start_um: float, wanted_um: float, sure: float, seed: int, more: dict) -> Callable[[tuple], Schedule]:
    """Judge a schedule, each one once and all on the same workshops."""
    known: dict[tuple, Schedule] = {}
    seed = seed_of(seed)

    def judge(steps: tuple) -> Schedule:
        if steps not in known:
            plan = plan_job(start_um, wanted_um, removal_um=steps, rounds=len(steps), sure=sure, seed=seed, **more)
            known[steps] = _score(steps, plan, sure)
        return known[steps]

    return judge


def _figures(choices_um: Sequence[float]) -> list[float]:
    """The choices as numbers, the heaviest first."""
    found = sorted((checks.number(c, "choices_um", 0, above=True) for c in choices_um), reverse=True)
    if not found:
        raise Refusal("count", where="choices_um", found="nothing", must_be="one figure or more")
    return found


def halving(
    start_um: float,
    wanted_um: float,
    *,
    rounds: int = 3,
    choices_um: Sequence[float] = CHOICES_UM,
    sure: float = 0.8,
    seed: int = 1,
    **more: object,
) -> Schedule:
    """The best schedule that halves the metal per pass each round.

    Parameters
    ----------
    start_um, wanted_um : float
    rounds : int
    choices_um : sequence of float
        Figures for the first round.
    sure : float
    seed : int
    **more
        As `plan_job`.

    Returns
    -------
    Schedule

    Examples
    --------
    >>> halving(60, 20, rounds=2, choices_um=(20,), workshops=10, points=41).steps
    (20.0, 10.0)
    """
    judge, rounds = _judge(start_um, wanted_um, sure, seed, more), checks.whole(rounds, "rounds", 1)
    return min((judge(tuple(c / 2**r for r in range(rounds))) for c in _figures(choices_um)), key=lambda s: s.score)


def best_schedule(
    start_um: float,
    wanted_um: float,
    *,
    rounds: int = 3,
    choices_um: Sequence[float] = CHOICES_UM,
    sure: float = 0.8,
    seed: int = 1,
    **more: object,
) -> Schedule:
    """Metal per pass for each round that reaches the aim in the fewest hours.

    Parameters
    ----------
    start_um, wanted_um : float
    rounds : int
    choices_um : sequence of float
    sure : float
        Part of the workshops that is to reach the aim; where none does, the
        schedule that comes nearest.
    seed : int
        All schedules are judged on the same starting bars.
    **more
        As `plan_job`: tool, sight, hands, share, workshops.

    Returns
    -------
    Schedule

    Notes
    -----
    From the best halving, one round at a time takes the best of all choices,
    until no round changes. A pass never gets heavier from round to round: that
    would pay only because the plan knows which bars are good, and the maker
    does not. So it is never worse than halving on the workshops
    it was judged on. It can stop at a schedule that only a change of two rounds
    at once would better. Differences of a few percent are chance.

    Examples
    --------
    >>> best = best_schedule(60, 20, rounds=2, choices_um=(20, 10), workshops=10, points=41)
    >>> best.score <= halving(60, 20, rounds=2, choices_um=(20, 10), workshops=10, points=41).score
    True
    """
    judge = _judge(start_um, wanted_um, sure, seed, more)
    choices, rounds = _figures(choices_um), checks.whole(rounds, "rounds", 1)
    best = min((judge(tuple(c / 2**r for r in range(rounds))) for c in choices), key=lambda s: s.score)
    flat = min((judge((c,) * rounds) for c in choices), key=lambda s: s.score)
    best, before = min(best, flat, key=lambda s: s.score), None
    while best != before:
        before = best
        for r in range(rounds):
            tried = [best.steps[:r] + (c,) + best.steps[r + 1 :] for c in choices]
            falling = (judge(steps) for steps in tried if steps == tuple(sorted(steps, reverse=True)))
            best = min([best, *falling], key=lambda s: s.score)
    return best


def best_tools(
    start_um: float,
    wanted_um: float,
    *,
    rounds: int = 3,
    tools: Sequence[str] = COARSE_TO_FINE,
    depth_um: Mapping[str, float] | None = None,
    sure: float = 0.8,
    seed: int = 1,
    **more: object,
) -> tuple[Schedule, ...]:
    """When to change from a coarse file to a smooth one to a scraper: every order from coarse to fine is tried.

    Parameters
    ----------
    start_um, wanted_um : float
    rounds : int
    tools : sequence of str
        Coarse first.
    depth_um : dict, optional
        Metal per pass of a tool that is led lighter or heavier than usual.
    sure : float
    seed : int
    **more
        As `plan_job`.

    Returns
    -------
    tuple of Schedule
        The best first.

    Raises
    ------
    ValueError
        Where a tool is not in the rack, or more than 100 orders would be tried.

    Examples
    --------
    >>> best_tools(60, 45, rounds=1, tools=("second-cut file", "smooth file"), workshops=10, points=41)[0].reached
    1.0
    """
    for tool in tools:
        checks.choice(tool, "tools", tuple(TOOLS))
    if not tools:
        raise Refusal("count", where="tools", found="nothing", must_be="one tool or more")
    orders = list(combinations_with_replacement(tools, checks.whole(rounds, "rounds", 1)))
    if len(orders) > 100:
        raise Refusal(
            "memory",
            where=f"{len(tools)} tools in {rounds} rounds",
            found=f"{len(orders)} orders",
            must_be="at most 100",
            do="Give fewer tools or fewer rounds",
        )
    seed = seed_of(seed)
    depth = {name: tool.depth_um for name, tool in TOOLS.items()} | dict(depth_um or {})
    found = [
        _score(
            order,
            plan_job(
                start_um,
                wanted_um,
                tool=order,
                removal_um=[depth[t] for t in order],
                rounds=rounds,
                sure=sure,
                seed=seed,
                **more,
            ),
            sure,
        )
        for order in orders
    ]
    return tuple(sorted(found, key=lambda s: s.score))
