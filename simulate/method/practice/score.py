"""The score sheet of goes on the same bodies, and what to try next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from simulate.method.practice.acts import LEVELS, PracticeState, level_of
from simulate.method.practice.debrief import fits_that_hold
from simulate.method.practice.par import best_plan


@dataclass(frozen=True)
class Score:
    """One go that was stopped.

    `number`: 1 for the first on these bodies. `worst_um`: the worst of the three at the stop. `start_um`: the worst of
    the three at the start. `proven`: whether every pair had been looked at, with no cut since.
    """

    number: int
    acts: int
    looks: int
    passes: int
    hours: float
    metal_mm3: float
    worst_um: float
    start_um: float
    proven: bool


class Aim(Enum):
    """What a challenge is about: to half of the start, to twice the aim, with every pair checked, with less work, on
    rougher bodies, or at the next level."""

    STRAIGHT, STRAIGHTER, PROVEN, LESS, ROUGHER, LEVEL = range(6)


@dataclass(frozen=True)
class Challenge:
    """What to try next."""

    aim: Aim
    seed: int
    error_um: float
    level: str


def same_start(go: PracticeState, other: PracticeState) -> bool:
    """Whether two goes began with the very same bodies.

    >>> from simulate.method.practice.acts import start_practice
    >>> same_start(start_practice(1), start_practice(2))
    False
    """
    return all(getattr(go, name) == getattr(other, name) for name in ("seed", "error_um", "length_mm", "level"))


def score_sheet(goes: Sequence[PracticeState], like: PracticeState) -> tuple[Score, ...]:
    """List the goes that were stopped on the same bodies as `like`, the oldest first.

    Out of straight is the truth, which the maker did not know; proven says what
    the maker could know.

    >>> from simulate.method.practice.acts import start_practice, stop
    >>> go = stop(start_practice())
    >>> [round(s.worst_um) for s in score_sheet([go, go], go)]
    [200, 200]
    """
    level = level_of(like)
    start = level.start(like.seed, like.error_um, like.length_mm)[1]
    first = float(level.form(like.x_mm, start).max())
    found = []
    for go in goes:
        if go.stopped and same_start(go, like):
            pairs = {frozenset(fit[:2]) for fit in fits_that_hold(go)}
            found.append(
                Score(
                    len(found) + 1,
                    len(go.acts),
                    go.tally.looks,
                    sum(go.tally.cuts),
                    go.tally.seconds / 3600,
                    float(level.metal_mm3(go.x_mm, start - go.height_um).sum()),
                    float(level.form(go.x_mm, go.height_um).max()),
                    first,
                    len(pairs) == len(start),
                )
            )
    return tuple(found)


def best_of(scores: Sequence[Score]) -> Score:
    """Give the go that left the worst body least out.

    `scores`: one or more.
    """
    return min(scores, key=lambda score: score.worst_um)


def next_challenge(scores: Sequence[Score], like: PracticeState) -> Challenge:
    """Suggest what to try next, from the last go.

    `scores`: one or more, as `score_sheet` gives them. `like`: a go on these bodies.

    First straight, then sure, then quick, then harder bodies, then the next level.

    >>> from simulate.method.practice.acts import start_practice, stop
    >>> go = stop(start_practice())
    >>> next_challenge(score_sheet([go], go), go).aim.name
    'STRAIGHT'
    """
    level, last, plan = level_of(like), scores[-1], best_plan(like)
    same = (like.seed, like.error_um, like.level)
    if last.worst_um > 0.5 * last.start_um:
        return Challenge(Aim.STRAIGHT, *same)
    if last.worst_um > 2 * level.aim_um:
        return Challenge(Aim.STRAIGHTER, *same)
    if not last.proven:
        return Challenge(Aim.PROVEN, *same)
    if last.hours > 1.5 * plan.hours[-1] or last.metal_mm3 > 1.5 * plan.metal_mm3[-1]:
        return Challenge(Aim.LESS, *same)
    harder = min(2.5 * like.error_um, level.error_um[1])
    if like.error_um < 2 * level.usual[0] and harder > like.error_um:
        return Challenge(Aim.ROUGHER, like.seed + 1, harder, like.level)
    order = list(LEVELS)
    after = LEVELS[order[(order.index(like.level) + 1) % len(order)]]
    return Challenge(Aim.LEVEL, like.seed, after.usual[0], after.name)
