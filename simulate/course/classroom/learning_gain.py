"""What a class gained by a lesson: the question before it against the same kind after it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulate.course.classroom.grading import Mark
from simulate.course.exercise.pre_question import before_name
from simulate.course.notebook.manifest import manifest


@dataclass(frozen=True)
class Gain:
    """One lesson, over the students who answered both questions.

    `lesson`, `exercise`: `exercise` is the one after the lesson. `right_before`, `right_after`: after the lesson the
    first answer counts: a hint leads to the later ones. `learnt`: wrong before and right after. `lost`: right before
    and wrong after.
    """

    lesson: str
    exercise: str
    students: int
    right_before: int
    right_after: int
    learnt: int
    lost: int


def gain(marks: Sequence[Mark]) -> list[Gain]:
    """Set the answers before each lesson against those after it.

    `marks`: the rows before the lessons and those in them, as `marking.mark_class` gives both. Returns: one for each
    lesson that somebody answered before and after.

    It does not see who guessed: of a choice of four, one in four is right by chance.

    >>> def one(exercise, right): return Mark(name="A. Student", exercise=exercise, right_at_first=right)
    >>> gain([one("before-03", "no"), one("two-double", "yes")])[0].learnt
    1
    """
    first = {(m.name, m.exercise): m.right_at_first == "yes" for m in marks if m.right_at_first}
    found = []
    for lesson, after in ((one.number, one.before) for one in manifest() if one.before):
        both = [
            (right, first[name, after])
            for (name, exercise), right in first.items()
            if exercise == before_name(lesson) and (name, after) in first
        ]
        if both:
            found.append(
                Gain(
                    lesson,
                    after,
                    len(both),
                    sum(b for b, _ in both),
                    sum(a for _, a in both),
                    sum(a and not b for b, a in both),
                    sum(b and not a for b, a in both),
                )
            )
    return found
