"""What stands below the last question of a lesson: how it went, and where the way leads."""

from __future__ import annotations

import ipywidgets as widgets

from simulate.course.exercise.hand_in import ANSWERS
from simulate.course.exercise.standing import Standing, standings
from simulate.course.notebook.manifest import manifest
from simulate.course.notebook.way import way

_FOCUS = (
    "<style>.workshop-panel a:focus, .workshop-panel summary:focus "
    "{ outline: 3px solid #D55E00 !important; outline-offset: 2px; }</style>"
)
"""Beside the style of a lesson's start, which is stored with the lessons and knows of no links."""


def as_output(html: str) -> tuple[dict, ...]:
    """Return HTML as an Output widget holds it: the Lab then leads its links to the notebooks that they name."""
    return ({"output_type": "display_data", "metadata": {}, "data": {"text/html": _FOCUS + html}},)


def told(found: Standing) -> str:
    """Say where a learner stands in a lesson.

    >>> told(standings(())[4])
    '04 Three bars: 0 of 5 questions done.'
    """
    first, again = len(found.right_at_first), len(found.again)
    parts = [f"{first} right at first"] if found.done else []
    parts += [f"{again} to be looked at again (question {_places(found)})"] if again else []
    return f"{', '.join([f'{found.lesson.name}: {found.done} of {found.asked} questions done', *parts])}."


def _places(found: Standing) -> str:
    return ", ".join(str(found.lesson.questions.index(name) + 1) for name in found.again)


class _Foot:
    """The foot of one lesson, shown anew after each answer."""

    def __init__(self, number: str, student: str) -> None:
        self.number, self.student = number, student
        self.view = widgets.Output()
        self.update(ANSWERS)

    def update(self, hand: object) -> None:
        (found,) = (one for one in standings(ANSWERS.all_of(self.student)) if one.lesson.number == self.number)
        self.view.outputs = as_output(f"<p>{told(found)}</p>{way(found.lesson, here='end of the lesson')}")


def lesson_foot(name: str, student: str) -> widgets.Output | None:
    """Return the foot of a lesson, where a question is its last one.

    `name`: of the exercise. `student`: the word that the figures belong to.
    """
    lesson = next((one for one in manifest() if one.questions and one.questions[-1] == name), None)
    if lesson is None:
        return None
    foot = _Foot(lesson.number, student)
    ANSWERS.follow(f"foot {lesson.number}", foot)
    return foot.view
