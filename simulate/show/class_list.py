"""A class: every student's own word for the exercises, and the answers that go with it."""

from __future__ import annotations

import csv
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simulate.core.refusal import Refusal
from simulate.show import exercise
from simulate.show.before import PAIRS, asked, before_name
from simulate.show.lengths import FACTORS
from simulate.show.question import Question
from simulate.show.units import in_both

_SYLLABLES = tuple(c + v for c in "bdfgklmnprstvz" for v in "aeiou")


def read_class(path: Path) -> tuple[str, ...]:
    """Read a class list: the first column of a table with commas.

    Parameters
    ----------
    path : Path
        One student a row; a first row ``name`` and rows that start with ``#`` are passed over.

    Returns
    -------
    tuple of str

    Raises
    ------
    ValueError
        Where the list is empty or a name stands in it twice.
    """
    with open(path, encoding="utf-8-sig", newline="") as file:
        found = [row[0].strip() for row in csv.reader(file) if row and row[0].strip() and not row[0].startswith("#")]
    if found and found[0].lower() == "name":
        found = found[1:]
    return tuple(class_set(found, "names only"))


def class_set(names: Sequence[str], seed: int | str) -> dict[str, str]:
    """Give each student a word of their own for the exercises.

    Parameters
    ----------
    names : sequence of str
    seed : int or str
        The instructor's; the same seed and name give the same word, whoever
        else joins or leaves the class.

    Returns
    -------
    dict
        Name -> word, in the order given.

    Raises
    ------
    ValueError
        Where there is no name, an empty one, or one that stands twice.

    Examples
    --------
    >>> class_set(["A. Student", "B. Student"], 7) == class_set(["A. Student", "B. Student"], "7")
    True
    """
    if not len(names):
        raise Refusal(found="the class list holds no name; at least one is needed.")
    words: dict[str, str] = {}
    for place, name in enumerate(names, 1):
        if not str(name).strip() or name in words:
            raise Refusal(found=f"name {place} of the class list is {name!r}; each has to be there, and only once.")
        words[name] = _word(f"{seed}\n{name}")
    if len(set(words.values())) < len(words):
        raise Refusal(found=f"with the seed {seed!r} two students get the same word; take another seed.")
    return words


def _word(text: str) -> str:
    digits = hashlib.sha256(text.encode()).digest()
    parts = [_SYLLABLES[int.from_bytes(digits[2 * k: 2 * k + 2], "big") % len(_SYLLABLES)] for k in range(6)]
    return "".join(parts[:3]) + "-" + "".join(parts[3:])


@dataclass(frozen=True)
class Key:
    """The right answer of one student to one exercise."""

    name: str
    word: str
    lesson: str
    exercise: str
    answer: str
    unit: str


def answer_key(names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None, units: str = "mm") -> list[Key]:
    """Give the right answers of a class, for the instructor only.

    Parameters
    ----------
    names : sequence of str
        Students.
    seed : int or str
    lessons : sequence of str, optional
        Two digits each; all where not given.
    units : {"mm", "inch"}
        ``"inch"`` gives lengths in thou and inches, as far as a question asks for µm or mm.

    Returns
    -------
    list of Key

    Raises
    ------
    ValueError
        Where a lesson or the list of names is refused.

    Examples
    --------
    >>> len(answer_key(["A. Student"], 7, ["03"]))
    6
    """
    rows = []
    for name, word in class_set(names, seed).items():
        for lesson, asks in exercises_of(lessons):
            question = asked(asks, word)
            rows.append(Key(name, word, lesson, asks, *_answer(question, units)))
    return rows


def _answer(question: Question, units: str) -> tuple[str, str]:
    """Return the right answer with its unit, as it is shown or typed."""
    if question.options:
        return in_both(str(question.answer), units), question.unit
    held, unit = FACTORS[question.unit] if units == "inch" and question.unit in ("µm", "mm") else (1.0, question.unit)
    return f"{question.answer / held:.6g}", unit


def exercises_of(lessons: Sequence[str] | None = None) -> list[tuple[str, str]]:
    """Return lesson and name of every exercise, the question before a lesson first.

    Parameters
    ----------
    lessons : sequence of str, optional
        Two digits each; all where not given.

    Returns
    -------
    list of tuple
    """
    every = exercise.lessons() if lessons is None else lessons
    before = {lesson: (before_name(lesson),) if lesson in PAIRS else () for lesson in every}
    return [(lesson, name) for lesson in every for name in (*before[lesson], *exercise.names(lesson))]
