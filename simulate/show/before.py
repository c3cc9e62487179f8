"""One question before a lesson, of the same kind as one after it, so that what was learnt can be seen.

The answer is kept and not judged: a hint before the lesson would spoil the question after it.
"""

from __future__ import annotations

from simulate.show import exercise
from simulate.show.answer_record import Answer
from simulate.show.answers import Verdict, say
from simulate.show.exercise import Exercise
from simulate.show.question import Question
from simulate.surface import checks

PAIRS = {
    "00": "start-sign", "01": "straight-tilt", "02": "gap-dark", "03": "two-double", "04": "three-file",
    "05": "hidden-turned", "06": "own-pairs", "07": "lands-hollow", "08": "far-double", "09": "plates-middle",
    "10": "turns-twist", "11": "edge-twist", "12": "survey-hides", "13": "square-pair", "14": "faces-double",
    "15": "bed-opposite", "16": "chain-halve", "17": "bend-depth", "18": "warm-hand", "19": "eye-jump",
    "20": "plan-stop", "21": "practice-dark", "22": "workshop-next",
}
"""Lesson and the question of its "Check yourself" that is asked before it too."""

_PREFIX = "before-"
_KEPT = "Kept. It is not judged now; you meet one of its kind at the end of the lesson."


def before_name(lesson: str) -> str:
    """Return the name under which the answer before a lesson is kept.

    Parameters
    ----------
    lesson : str
        Two digits.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Where the lesson has no such question.

    Examples
    --------
    >>> before_name("03")
    'before-03'
    """
    return _PREFIX + checks.choice(lesson, "lesson", tuple(PAIRS))


def is_before(name: str) -> bool:
    """Return whether an answer by this name was given before a lesson.

    Parameters
    ----------
    name : str

    Returns
    -------
    bool
    """
    return name.startswith(_PREFIX)


def asked(name: str, student: int | str = 0) -> Question:
    """Return a question by the name under which its answer is kept, before a lesson or in it.

    Parameters
    ----------
    name : str
        One of `exercise.names`, or a `before_name`.
    student : int or str

    Returns
    -------
    Question
        Before a lesson with other figures than after it.

    Raises
    ------
    ValueError
        Where there is no such question.

    Examples
    --------
    >>> asked("before-03", "bench 1") == asked("two-double", "bench 1")
    False
    """
    if not is_before(name):
        return exercise.question(name, student)
    lesson = checks.choice(name.removeprefix(_PREFIX), "lesson", tuple(PAIRS))
    return exercise.question(PAIRS[lesson], f"before {student}")


class Before(Exercise):
    """A question before the lesson; the answer is kept and not judged.

    Parameters
    ----------
    lesson : str
        Two digits.
    seed : int or str
        The student's own number or word.

    Raises
    ------
    ValueError
        Where the lesson has no such question.

    Examples
    --------
    >>> Before("03", "bench 1").answer(12)[:5]
    'Kept.'
    """

    def __init__(self, lesson: str, seed: int | str = 0) -> None:
        super().__init__(before_name(lesson), seed)
        self.button.description = "Keep"

    def _text(self) -> str:
        return f"<p><b>Before the lesson.</b> Answer as you think now.</p>{super()._text()}"

    def _asked(self) -> Question:
        return asked(self.name, self.seed)

    def _told(self, verdict: Verdict) -> str:
        return _KEPT if verdict.taken else say(verdict)

    def _counts(self, record: Answer) -> str:
        return record.last  # to show a right one before others would judge it

    def __repr__(self) -> str:
        """Return the question in words, the same in every run."""
        return f"Before the lesson. Answer as you think now.\n{super().__repr__()}"

