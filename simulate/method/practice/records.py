"""What a go has earned, the learner's own records, and the bodies of the day."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulate.method.practice.acts import LEVELS, PracticeState, replay, start_practice
from simulate.method.practice.par import best_plan
from simulate.method.practice.score import Score, same_start, score_sheet

MEDALS = ("aim", "hours", "metal")
"""For the aim; for the aim in no more hours than the best plan; for the aim with no more metal than that."""


def medals(score: Score, like: PracticeState) -> tuple[str, ...]:
    """Give the medals of a go that was stopped.

    `like`: a go on these bodies.

    >>> from simulate.method.practice.acts import start_practice, stop
    >>> go = stop(start_practice(level="lands"))
    >>> medals(score_sheet([go], go)[0], go)
    ()
    """
    if score.worst_um > LEVELS[like.level].aim_um:
        return ()
    plan = best_plan(like)
    within = {"aim": True, "hours": score.hours <= plan.hours[-1], "metal": score.metal_mm3 <= plan.metal_mm3[-1]}
    return tuple(name for name in MEDALS if within[name])


@dataclass(frozen=True)
class Record:
    """The best that a learner has done at a level.

    `goes`, `reached`: stopped, and those of them that came to the aim. `worst_um`: the least that was left on the worst
    of three. `hours`, `metal_mm3`: the least of those that came to the aim.
    """

    level: str
    goes: int
    reached: int
    worst_um: float
    hours: float | None
    metal_mm3: float | None


def records(goes: Sequence[PracticeState]) -> tuple[Record, ...]:
    """Give the records of all goes that were stopped, level by level.

    >>> from simulate.method.practice.acts import start_practice, stop
    >>> one = records([stop(start_practice())])[0]
    >>> one.level, one.goes, one.reached, one.hours
    ('bars', 1, 0, None)
    """
    found = []
    for level in LEVELS.values():
        mine = [go for go in goes if go.stopped and go.level == level.name]
        firsts = [go for k, go in enumerate(mine) if not any(same_start(go, other) for other in mine[:k])]
        scores = [score for first in firsts for score in score_sheet(mine, first)]
        reached = [score for score in scores if score.worst_um <= level.aim_um]
        if scores:
            found.append(
                Record(
                    level.name,
                    len(scores),
                    len(reached),
                    min(score.worst_um for score in scores),
                    min((score.hours for score in reached), default=None),
                    min((score.metal_mm3 for score in reached), default=None),
                )
            )
    return tuple(found)


def trace(go: PracticeState) -> tuple[np.ndarray, np.ndarray]:
    """Follow a go once more: metal taken in mm³ and the worst of the three in µm, at the start and after each act.

    Returns `metal_mm3`, `worst_um` (acts + 1,).
    """
    level = LEVELS[go.level]
    states = replay(start_practice(go.seed, go.error_um, go.length_mm, go.level, go.rules), go.acts)
    first = states[0].height_um
    metal = [float(level.metal_mm3(one.x_mm, first - one.height_um).sum()) for one in states]
    return np.array(metal), np.array([float(level.form(one.x_mm, one.height_um).max()) for one in states])


def number_of_the_day(day: datetime.date) -> int:
    """Give the number of the bodies that everybody has on a day.

    >>> number_of_the_day(datetime.date(2031, 2, 3))
    20310203
    """
    return int(day.strftime("%Y%m%d"))
