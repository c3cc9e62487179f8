"""A course laid into its periods: what is seen on the wall, read, and done at the bench, in which period."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.course.notebook.manifest import Lesson
from simulate.course.notebook.wall_plan import wall_plan
from simulate.course.teaching.course_records import Course

SHORTEST = 10
"""Minutes below which work is not begun before the end of a period, nor left over for the next."""
_STEP = 5


@dataclass(frozen=True, kw_only=True)
class Part:
    """A part of a lesson in one period.

    `does` ({"wall", "lesson", "bench"}): predicted and seen on the wall; read and answered; done by hand.
    """

    lesson: Lesson
    does: str
    minutes: int


@dataclass(frozen=True, kw_only=True)
class Timetable:
    """A course in its periods.

    `periods`: one for each period, in order. `bench_share`: part of the bench minutes of the lessons' records that the
    course has room for.
    """

    course: Course
    periods: tuple[tuple[Part, ...], ...]
    bench_share: float

    def spare_minutes(self, period: int) -> int:
        """Return what a period keeps for questions, beside its start and its clearing up."""
        whole = self.course.period_minutes - self.course.start_and_clear_minutes
        return whole - sum(part.minutes for part in self.periods[period])

    def minutes(self, does: str, lessons: tuple[Lesson, ...] | None = None) -> int:
        """Return the minutes of one kind of work, in all lessons or in some."""
        return sum(
            part.minutes
            for period in self.periods
            for part in period
            if part.does == does and (lessons is None or part.lesson in lessons)
        )

    def periods_of(self, lesson: Lesson) -> tuple[int, ...]:
        """Return the numbers of the periods that a lesson is in, from 1."""
        return tuple(k for k, period in enumerate(self.periods, 1) if lesson in {part.lesson for part in period})


def timetable(course: Course) -> Timetable:
    """Lay a course into its periods, with as much time at the bench as there is room for.

    >>> from simulate.course.teaching.course_records import course_of
    >>> [(part.lesson.number, part.does, part.minutes) for part in timetable(course_of("6")).periods[0]]
    [('00', 'wall', 4), ('00', 'lesson', 30), ('00', 'bench', 15), ('01', 'wall', 6), ('01', 'lesson', 20)]
    """
    for percent in range(100, -1, -1):
        laid = _laid(course, _parts(course, percent / 100))
        if laid is not None:
            return Timetable(course=course, periods=laid, bench_share=percent / 100)
    raise RuntimeError(f"the lessons of {course.name} do not fit its periods")


def _parts(course: Course, share: float) -> list[Part]:
    """Return the work of every lesson in order, with that share of its bench minutes."""
    found = []
    for one in course.lessons:
        wall = sum(plan.minutes for plan in wall_plan() if plan.lesson == one.number)
        bench = round(share * one.bench_minutes / _STEP) * _STEP
        for does, minutes in (
            ("wall", wall),
            ("lesson", one.minutes if course.reads_in_class else 0),
            ("bench", bench if bench >= SHORTEST else 0),
        ):
            if minutes:
                found.append(Part(lesson=one, does=does, minutes=minutes))
    return found


def _laid(course: Course, parts: list[Part]) -> tuple[tuple[Part, ...], ...] | None:
    """Lay parts into periods one after another, going on in the next where one ends; None where they do not fit."""
    whole = course.period_minutes - course.start_and_clear_minutes
    periods, left = [[]], whole
    for part in parts:
        todo = part.minutes
        while todo:
            now = _now(part.does, todo, left)
            if now:
                periods[-1].append(Part(lesson=part.lesson, does=part.does, minutes=now))
                todo, left = todo - now, left - now
            if todo:
                periods, left = [*periods, []], whole
    if len(periods) > course.periods:
        return None
    return tuple(map(tuple, periods + [[]] * (course.periods - len(periods))))


def _now(does: str, todo: int, left: int) -> int:
    """Return how much of a work is done in what is left of a period: all, what leaves enough for the next, or nothing.

    What is on the wall is not torn.
    """
    if todo <= left:
        return todo
    now = min(left, todo - SHORTEST)
    return now if does != "wall" and now >= SHORTEST else 0
