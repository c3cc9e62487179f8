"""Exercises on paper: a sheet for each student with figures of their own and room to write, and its key."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from pathlib import Path

from simulate.core.atomic_files import write_all_whole
from simulate.course.classroom.class_list import answer_in, answer_key, class_set, exercises_of
from simulate.course.classroom.tables import folder_for
from simulate.course.exercise.pre_question import asked, is_before
from simulate.course.notebook.manifest import lesson_of
from simulate.course.publish.paper import Paper, head, paper, plain, ruled, say
from simulate.show.units.switch import in_both

_SIZE = 10.5
_ROOM_MM = 16.0
"""Room to work a number out in."""
_LETTERS = "abcdefghij"


def sheet_pdf(name: str, word: str, lessons: Sequence[str] | None = None, units: str = "mm") -> bytes:
    """Draw the exercises of one student.

    `word`: makes the student's figures. `lessons`: two digits each; all where not given. `units` ({"mm", "inch"}):
    ``"inch"`` puts inches beside lengths, on letter paper. Returns: a PDF in which no question is torn by the end of a
    page.

    >>> sheet_pdf("A. Student", "bumesu", ["03"])[:5]
    b'%PDF-'
    """
    page = paper(f"Exercises of {word}", units, numbered=True)
    say(page, f"Name: {name}     Word: {word}     Date: ______________", _SIZE, after=3)
    for lesson, group in itertools.groupby(exercises_of(lessons), key=lambda one: one[0]):
        head(page, f"{lesson} {plain(lesson_of(lesson).title())}", room_mm=60)
        for number, (_, exercise) in enumerate(group):
            with page.unbreakable() as block:
                _ask(block, "Before" if is_before(exercise) else f"{number}.", exercise, word, units)
    return bytes(page.output())


def _ask(page: Paper, number: str, exercise: str, word: str, units: str) -> None:
    question = asked(exercise, word)
    told = f"{number} {in_both(question.text, units)}"
    if number == "Before":
        told = f"Before the lesson, as you think now: {in_both(question.text, units)}"
    say(page, told, _SIZE, after=1)
    for letter, option in zip(_LETTERS, question.options):
        say(page, f"({letter}) {in_both(option, units)}", _SIZE, after=0.5, hang=True)
    if not question.options:
        page.ln(_ROOM_MM)
        say(page, f"Answer: ____________________ {answer_in(question, units)[2]}", _SIZE)
    page.ln(4)


def key_pdf(names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None, units: str = "mm") -> bytes:
    """Draw the answers of a class, student by student, for the instructor only.

    `lessons`: two digits each; all where not given. `units` ({"mm", "inch"}).
    """
    page = paper("Key, for the instructor only", units, numbered=True)
    rows = answer_key(names, seed, lessons, units)
    for (name, word), group in itertools.groupby(rows, key=lambda one: (one.name, one.word)):
        head(page, f"{name}, {word}", room_mm=45)
        cells = []
        for one in group:
            options = asked(one.exercise, word).options
            spoken = [in_both(option, units) for option in options]
            letter = f"({_LETTERS[spoken.index(one.answer)]}) " if options else ""
            within = f" ± {one.tolerance}" if one.tolerance else ""
            cells.append([one.lesson, one.exercise, f"{letter}{one.answer}{within} {one.unit}".strip(), one.reason])
        ruled(page, ["Lesson", "Exercise", "Answer", "Why"], cells, (1, 1.8, 3, 5), 8)
        page.ln(4)
    return bytes(page.output())


def write_sheets(
    out: Path,
    key: Path,
    names: Sequence[str],
    seed: int | str,
    lessons: Sequence[str] | None = None,
    units: str = "mm",
) -> list[Path]:
    """Write a sheet for each student, named by the word, and the key of all.

    `out`: a folder, made where it is not there. `key`: a file that is for the instructor alone, not in that folder.
    `lessons`: two digits each; all where not given. Returns: the sheets.
    """
    drawn = {out / f"{w}.pdf": sheet_pdf(name, w, lessons, units) for name, w in class_set(names, seed).items()}
    folder_for(out)
    write_all_whole({**drawn, key: key_pdf(names, seed, lessons, units)})
    return list(drawn)
