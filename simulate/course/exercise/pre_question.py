"""One question before a lesson, of the same kind as one after it, so that what was learnt can be seen.

The answer is kept and not judged: a hint before the lesson would spoil the question after it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import ClassVar

from simulate.core import checks
from simulate.course.asking.check_answer import Verdict, say
from simulate.course.asking.question import Question
from simulate.course.exercise import exercise
from simulate.course.exercise.answer_record import Try
from simulate.course.exercise.exercise import Exercise
from simulate.course.notebook.manifest import lesson_of, manifest

_PREFIX = "before-"
_KEPT = "Saved, not marked. A similar question comes at the end of the lesson."


def before_name(lesson: str) -> str:
    """Return the name under which the answer before a lesson is kept.

    `lesson`: its key or its two digits.

    >>> before_name("two-bars")
    'before-03'
    """
    found = lesson_of(lesson)
    checks.choice(found, "lesson", [one for one in manifest() if one.before])
    return found.before_kept


def is_before(name: str) -> bool:
    """Return whether an answer by this name was given before a lesson."""
    return name.startswith(_PREFIX)


def asked(name: str, student: int | str = 0) -> Question:
    """Return a question by the name under which its answer is kept, before a lesson or in it.

    `name`: one of `exercise.names`, or a `before_name`. Returns: before a lesson with other figures than after it.

    >>> asked("before-03", "bench 1") == asked("two-double", "bench 1")
    False
    """
    if not is_before(name):
        return exercise.question(name, student)
    after = {before_name(one.key): one.before for one in manifest() if one.before}
    return exercise.question(after[checks.choice(name, "name", tuple(after))], f"before {student}")


class Before(Exercise):
    """A question before the lesson; the answer is kept and not judged.

    Parameters
    ----------
    lesson : str
        Its key or its two digits.
    seed : int or str
        The student's own number or word.

    Raises
    ------
    ValueError
        Where the lesson has no such question.

    Examples
    --------
    >>> Before("03", "bench 1").answer(12)[:5]
    'Saved'
    """

    _signs: ClassVar[dict] = {}

    def __init__(self, lesson: str, seed: int | str = 0) -> None:
        super().__init__(before_name(lesson), seed)
        self.button.description = "Keep"

    def _text(self) -> str:
        return f"<p><b>Before the lesson.</b> Answer as you think now.</p>{super()._text()}"

    def _asked(self) -> Question:
        return asked(self.name, self.seed)

    def _told(self, verdict: Verdict) -> str:
        return _KEPT if verdict.taken else say(verdict)

    def _weighed(self, verdict: Verdict) -> Verdict:
        return verdict  # nothing is shown before the lesson

    def _with_working(self, verdict: Verdict) -> str:
        return self._told(verdict)

    def _counts(self, tries: Sequence[Try]) -> str:
        return tries[-1].given  # to show a right one before others would judge it

    def __repr__(self) -> str:
        """Return the question in words, the same in every run."""
        return f"Before the lesson. Answer as you think now.\n{super().__repr__()}"
