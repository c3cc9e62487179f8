"""The courses that an instructor may give, the things they take, and what can harm: records made from one file."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from math import ceil
from pathlib import Path

from simulate.core import checks
from simulate.course.notebook.manifest import Lesson, lesson_of, manifest

RECORDS = Path(__file__).with_name("courses.toml")
SEEN = ("safe", "method", "measured", "log")
"""What the observation sheet has a mark for."""


@dataclass(frozen=True, kw_only=True)
class Course:
    """Lessons in the order in which they are given, and the time for them.

    `start_and_clear_minutes`: part of each period that no lesson gets. `reads_in_class`: false where the lessons are
    read at home, and only the wall and the bench take time.
    """

    key: str
    name: str
    periods: int
    period_minutes: int
    start_and_clear_minutes: int
    reads_in_class: bool
    aim: str
    lessons: tuple[Lesson, ...]

    @property
    def left_out(self) -> tuple[Lesson, ...]:
        """Lessons that it does not give, in their order."""
        return tuple(one for one in manifest() if one not in self.lessons)


@dataclass(frozen=True, kw_only=True)
class Thing:
    """Something at the bench: `count` of it make a lot, which `sharers` learners share; 0 is one lot for the room."""

    key: str
    name: str
    count: int
    sharers: int
    used_up: bool = False

    def number_for(self, students: int) -> int:
        """Return how many a class wants.

        >>> Thing(key="bar", name="bar", count=3, sharers=2).number_for(5)
        9
        """
        return self.count * (ceil(students / self.sharers) if self.sharers else 1)


@dataclass(frozen=True, kw_only=True)
class Risk:
    """What can harm, the keys of the things that bring it, and what the lessons say of it."""

    name: str
    brought_by: tuple[str, ...]
    measure: str


@cache
def _records() -> dict:
    return tomllib.loads(RECORDS.read_text(encoding="utf-8"))


@cache
def courses() -> tuple[Course, ...]:
    """Return every course, the shortest first.

    >>> [one.key for one in courses()]
    ['afternoon', '6', '12', '20']
    """
    return tuple(Course(**{**row, "lessons": tuple(map(lesson_of, row["lessons"]))}) for row in _records()["course"])


def course_of(key: str) -> Course:
    """Find a course by its key.

    >>> course_of("6").periods
    6
    """
    found = {one.key: one for one in courses()}
    return found[checks.choice(key, "course", tuple(found))]


def things_for(lessons: Sequence[Lesson]) -> list[Thing]:
    """Return what some lessons take at the bench, in the order of the records."""
    wanted = {key for one in lessons for key in one.needs}
    every = [Thing(**row) for row in _records()["thing"]]
    return [one for one in every if one.key in wanted]


def risks_of(things: Sequence[Thing]) -> list[Risk]:
    """Return what some things can do to those who use them."""
    there = {one.key for one in things}
    every = [
        Risk(name=row["name"], brought_by=tuple(row["from"]), measure=row["measure"]) for row in _records()["risk"]
    ]
    return [one for one in every if there & set(one.brought_by)]
