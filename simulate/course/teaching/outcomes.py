"""What a course is for, outcome by outcome, and how many exercises have to be right where a pass mark is set."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from simulate.core.refusal import Refusal
from simulate.course.notebook.manifest import Lesson
from simulate.course.teaching.course_records import SEEN, Course

PASS_PERCENT = 60
"""The pass mark where none is set: a proposal, to be replaced by the school's own."""
BENCH_MOST = 2 * len(SEEN)
"""Points that the observation sheet gives at most."""


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One thing that a lesson lets a learner do.

    `words`: as the notebook has them. `exercises`: those that ask for it. `seen`: marks of the observation sheet for
    it, where no exercise can ask.
    """

    lesson: Lesson
    words: str
    exercises: tuple[str, ...]
    seen: tuple[str, ...]


def outcomes(course: Course) -> list[Outcome]:
    """Return the outcomes of a course, in the order of its lessons.

    >>> from simulate.course.teaching.course_records import course_of
    >>> outcomes(course_of("6"))[-1].exercises
    ('own-stop',)
    """
    return [
        Outcome(
            lesson=one,
            words=words.rstrip(";."),
            exercises=tuple(name for name in by if name not in SEEN),
            seen=tuple(name for name in by if name in SEEN),
        )
        for one in course.lessons
        for words, by in zip(one.outcomes(), one.shown_by, strict=True)
    ]


def questions_of(course: Course) -> tuple[str, ...]:
    """Return the exercises of a course."""
    return tuple(name for one in course.lessons for name in one.questions)


def to_pass(count: int, percent: float) -> int:
    """Return how many of `count` are enough.

    >>> to_pass(5, 60), to_pass(2, 60), to_pass(0, 60)
    (3, 2, 0)
    """
    if not 0 < percent <= 100:
        raise Refusal("range", where="the pass mark", found=f"{percent:g}", must_be="above 0 and at most 100 per cent")
    return ceil(round(count * percent / 100, 6))
