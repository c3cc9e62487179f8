"""A class: every student's own word for the exercises, and the answers that go with it."""

from __future__ import annotations

import hashlib
import hmac
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from simulate.core.atomic_files import read_bytes
from simulate.core.refusal import Refusal
from simulate.course.asking.question import Question
from simulate.course.classroom.name_rows import name_rows, table_rows
from simulate.course.classroom.tables import cell
from simulate.course.exercise import exercise
from simulate.course.exercise.pre_question import asked, before_name
from simulate.course.notebook.manifest import lesson_of
from simulate.show.units.lengths import FACTORS
from simulate.show.units.switch import in_both

_SYLLABLES = tuple(c + v for c in "bdfgklmnprstvz" for v in "aeiou")


def read_class(path: Path) -> tuple[str, ...]:
    """Read a class list as any spreadsheet saves it.

    `path`: one student a row. UTF-8, UTF-16 or the code page of western Windows; parted by semicolons, commas or tabs.
    A first row that names its columns says which hold the name, or the first and the last name. Without one, the name
    stands in the first column, or in the first two where the second holds names too.
    """
    rows = name_rows(read_bytes(path, "a class list"), path.name)
    return tuple(class_set(rows, "names only"))


def class_set(names: Sequence[str], seed: int | str) -> dict[str, str]:
    """Give each student a word of their own for the exercises.

    `seed`: the instructor's; the same seed and name give the same word, whoever else joins or leaves the class.
    Returns: name -> word, in the order given.

    >>> class_set(["A. Student", "B. Student"], 7) == class_set(["A. Student", "B. Student"], "7")
    True
    """
    if not len(names):
        raise Refusal("missing", where="the class list", found="no name", must_be="at least one")
    words: dict[str, str] = {}
    for place, name in enumerate(names, 1):
        if not str(name).strip() or name in words:
            raise Refusal(
                "same", where=f"name {place} of the class list", found=f"{name!r}", must_be="there, and only once"
            )
        words[name] = _word(f"{seed}\n{unicodedata.normalize('NFC', name)}")
    if len(set(words.values())) < len(words):
        raise Refusal(
            "same", where="the seed", found=f"{seed!r}, with which two students get the same word", must_be="another"
        )
    return words


def set_sign(word: str, seed: int | str) -> str:
    """Return what a class set puts into a student's notebooks: without the seed nobody makes it for another's word."""
    return hmac.new(str(seed).encode("utf-8", "replace"), f"set\n{word}".encode(), hashlib.sha256).hexdigest()[:16]


def _word(text: str) -> str:
    digits = hashlib.sha256(text.encode()).digest()
    parts = [_SYLLABLES[int.from_bytes(digits[2 * k : 2 * k + 2], "big") % len(_SYLLABLES)] for k in range(6)]
    return "".join(parts[:3]) + "-" + "".join(parts[3:])


@dataclass(frozen=True)
class Key:
    """The right answer of one student to one exercise.

    `answer`: the number, or the choice. `tolerance`: how far a number may be out, in the same unit; empty for a choice.
    `question`: its text, with this student's figures. `reason`: the arithmetic or the reason behind the answer.
    """

    name: str
    word: str
    lesson: str
    exercise: str
    answer: str
    tolerance: str
    unit: str
    question: str
    reason: str


def answer_key(
    names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None, units: str = "mm"
) -> list[Key]:
    """Give the right answers of a class, for the instructor only.

    `names`: students. `lessons`: two digits each; all where not given. `units` ({"mm", "inch"}): ``"inch"`` gives
    lengths in thou and inches, as far as a question asks for µm or mm.

    >>> len(answer_key(["A. Student"], 7, ["03"]))
    6
    """
    rows = []
    for name, word in class_set(names, seed).items():
        for lesson, asks in exercises_of(lessons):
            question = asked(asks, word)
            words = (in_both(text, units) for text in (question.text, question.why))
            rows.append(Key(name, word, lesson, asks, *answer_in(question, units), *words))
    return rows


def answer_in(question: Question, units: str) -> tuple[str, str, str]:
    """Return the right answer, its tolerance and its unit, as it is shown or typed."""
    if question.options:
        return in_both(str(question.answer), units), "", question.unit
    held, unit = FACTORS[question.unit] if units == "inch" and question.unit in ("µm", "mm") else (1.0, question.unit)
    return f"{question.answer / held:.6g}", f"{question.tolerance / held:.2g}", unit


@dataclass(frozen=True)
class Folder:
    """Whose folder is whose: the word that a student's folder and figures go by."""

    name: str
    word: str


def folders(names: Sequence[str], seed: int | str) -> list[Folder]:
    """Say whose folder is whose, for the instructor only."""
    return [Folder(name, word) for name, word in class_set(names, seed).items()]


def with_earlier(path: Path, made: Sequence[Folder]) -> list[Folder]:
    """Put the folders of an earlier set before these, so that nobody's word is lost from the file that says them."""
    if not path.exists():
        return list(made)
    table = table_rows(read_bytes(path, "the words of a class set"), path.name)
    earlier = {row[0]: row[1] for row in table[1:] if len(row) == 2}
    for one in made:
        stored = [name for name in (one.name, cell(one.name), cell(one.name, semicolon=True)) if name in earlier]
        word = earlier.pop(stored[0]) if stored else one.word
        if word != one.word:
            raise Refusal(
                "same",
                where=f"the word of {one.name!r} in {path.name}",
                found=repr(word),
                must_be=f"{one.word!r}, which this seed gives",
                do="Take the seed of the set that is there, or make a new set in another folder",
            )
    return [*(Folder(*names) for names in earlier.items()), *made]


def exercises_of(lessons: Sequence[str] | None = None) -> list[tuple[str, str]]:
    """Return lesson and name of every exercise, the question before a lesson first.

    `lessons`: two digits each; all where not given.
    """
    every = [lesson_of(lesson) for lesson in (exercise.lessons() if lessons is None else lessons)]
    return [
        (one.number, name)
        for one in every
        for name in ((before_name(one.key),) if one.before else ()) + exercise.names(one.key)
    ]
