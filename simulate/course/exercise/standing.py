"""Where a learner stands: what of each lesson is answered, what was right at first, what is to be looked at again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from simulate.course.asking.check_answer import SHOWN, Kind
from simulate.course.exercise.answer_record import Answer, Try
from simulate.course.notebook.manifest import Lesson, manifest

AGAIN = "again-"
"""Begins the name under which a question that is asked anew is kept."""

REST_DAYS, AT_ONCE = 3, 5
"""How long a question rests before it is asked anew, and how many are asked at once."""


@dataclass(frozen=True, kw_only=True)
class Standing:
    """What a learner answered of one lesson.

    `right`: names of the questions that were answered right, at first or later. `again`: those that were answered and
    not right yet, or right only after the working was shown.
    """

    lesson: Lesson
    right: tuple[str, ...] = ()
    right_at_first: tuple[str, ...] = ()
    again: tuple[str, ...] = ()

    @property
    def done(self) -> int:
        """How many questions were answered."""
        return len({*self.right, *self.again})

    @property
    def asked(self) -> int:
        """How many questions the lesson has."""
        return len(self.lesson.questions)

    @property
    def finished(self) -> bool:
        """Whether every question is right."""
        return len(self.right) == self.asked


def standings(records: Iterable[Answer]) -> tuple[Standing, ...]:
    """Return where a learner stands in every lesson that asks, in their order.

    `records`: of one student. What was stored without its verdict, by the oldest version, is to be looked at again.

    >>> standings(())[4].asked, standings(())[4].done
    (5, 0)
    """
    kept = {record.exercise: record for record in records}
    found = []
    for lesson in (one for one in manifest() if one.questions):
        of = {name: _right_at(kept[name].tries) for name in lesson.questions if name in kept}
        found.append(
            Standing(
                lesson=lesson,
                right=tuple(name for name, place in of.items() if place is not None),
                right_at_first=tuple(name for name, place in of.items() if place == 0),
                again=tuple(name for name in of if _rank(kept[name].tries) == 0),
            )
        )
    return tuple(found)


def next_lesson(found: Iterable[Standing]) -> Lesson | None:
    """Return the lesson to go on with: the first that is not finished; None where all are."""
    return next((one.lesson for one in found if not one.finished), None)


def due_again(records: Iterable[Answer], now: datetime, here: str = "") -> tuple[str, ...]:
    """Choose questions that are worth asking anew, those that went wrong first.

    `records`: of one student. `here`: key of the lesson that is open; its own questions are left out. Returns: at most
    five names: not right yet, then right later, then right at first, the oldest first. Whatever was answered within the
    last three days rests.
    """
    kept = {record.exercise: record for record in records}
    edge = (now.astimezone(UTC) - timedelta(days=REST_DAYS)).isoformat()
    ranked = []
    for lesson in (one for one in manifest() if one.key != here):
        for name in (one for one in lesson.questions if one in kept):
            anew = kept.get(AGAIN + name)
            last = max(kept[name].tries[-1].at, anew.tries[-1].at if anew else "")
            if last < edge:
                ranked.append((_rank_anew(anew) if anew else _rank(kept[name].tries), last, name))
    return tuple(name for _, _, name in sorted(ranked)[:AT_ONCE])


def _right_at(tries: Sequence[Try]) -> int | None:
    """Return at which try an answer was right, 0 for the first; None where none was."""
    return next((place for place, one in enumerate(tries) if one.kind == Kind.RIGHT), None)


def _rank(tries: Sequence[Try]) -> int:
    """Rank a question by its tries: 0 not right by oneself, 1 right later, 2 right at first."""
    place = _right_at(tries)
    return 0 if place is None or tries[place].misconception == SHOWN else 2 if place == 0 else 1


def _rank_anew(record: Answer) -> int:
    """Rank a question by the day on which it was asked anew last."""
    return _rank(tries_of_day(record, record.tries[-1].at[:10]))


def tries_of_day(record: Answer, day: str) -> tuple[Try, ...]:
    """Return the tries of one day, such as ``"2026-01-31"``."""
    return tuple(one for one in record.tries if one.at.startswith(day))


def is_again(name: str) -> bool:
    """Return whether an answer by this name was given to a question that was asked anew.

    >>> is_again("again-two-double"), is_again("two-double")
    (True, False)
    """
    return name.startswith(AGAIN)
