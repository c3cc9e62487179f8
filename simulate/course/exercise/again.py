"""A question of an earlier lesson asked anew, with the figures of the day."""

from __future__ import annotations

from html import escape

from simulate.course.asking.question import Question
from simulate.course.exercise.answer_record import Answer, Try
from simulate.course.exercise.exercise import Exercise, question
from simulate.course.exercise.standing import AGAIN, tries_of_day
from simulate.course.notebook.manifest import manifest


class Again(Exercise):
    """A question asked anew; the answer is kept beside the first one and changes no mark.

    `name`: of the exercise. `seed`: the student's own number or word. `day`: such as ``"2026-01-31"``: another day
    brings other figures.

    >>> Again("two-gap", 1, "2026-01-31").question == Exercise("two-gap", 1).question
    False
    """

    def __init__(self, name: str, seed: int | str, day: str) -> None:
        self.asks, self.day = name, day
        super().__init__(AGAIN + name, seed)

    def _text(self) -> str:
        lesson = next(one for one in manifest() if self.asks in one.questions)
        return f"<p><b>Once more, from {escape(lesson.name)}.</b></p>{super()._text()}"

    def _asked(self) -> Question:
        return question(self.asks, f"again {self.day} {self.seed}")

    def _of_panel(self, record: Answer) -> tuple[Try, ...]:
        return tries_of_day(record, self.day)
