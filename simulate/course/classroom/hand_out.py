"""Every student's own notebooks, each with their word put in, that store what is answered."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import nbformat

from simulate.core.atomic_files import write_whole
from simulate.core.refusal import Refusal
from simulate.course.classroom.class_list import class_set, set_sign
from simulate.course.classroom.tables import folder_for
from simulate.course.exercise.notebook_text import SET
from simulate.course.notebook.refresh import LESSONS
from simulate.show.units.switch import REMEMBERED

_WORD_CELL = re.compile(r'^student = "[^"]*"', re.MULTILINE)
_STARTS = re.compile(r"^start\(\)", re.MULTILINE)
_HAND_IN = (
    "## Hand in\n\nEach answer is saved as soon as you check it, in this folder and in this notebook. Choose *File*, "
    "then *Save Notebook*, and hand in this file. If you do not use JupyterLab, hand in `my_answers.json` as well, "
    "which lies beside it. *Run All Cells* brings every answer back into its field."
)


def is_there(notebook: Path) -> bool:
    """Whether a lesson is in its folder, under whatever number it was handed out."""
    words = re.compile(r"\d\d" + re.escape(notebook.name[2:]))
    return notebook.exists() or any(words.fullmatch(one.name) for one in notebook.parent.glob("*.ipynb"))


def hand_out(
    out: Path,
    names: Sequence[str],
    seed: int | str,
    lessons: Path = LESSONS,
    units: str = "mm",
    chosen: Sequence[str] | None = None,
    add: bool = False,
) -> list[Path]:
    """Write every student's own notebooks, each with the word put in and what was answered stored in it.

    `out`: gets one folder a student, named by the word. `lessons`: the folder of the notebooks, which stay untouched.
    `units` ({"mm", "inch"}): what the switch of each student's lessons stands at when they are opened. `chosen`: two
    digits each; every lesson where not given. `add`: pass over notebooks that are there already, as for somebody who
    joins late, in place of refusing. Returns: the notebooks that were written.
    """
    every = sorted(set(lessons.glob("[0-9][0-9]_*.ipynb")) - set(lessons.glob("*_for_the_instructor.ipynb")))
    wanted = [path for path in every if chosen is None or path.name[:2] in chosen]
    missing = sorted(set(chosen or ()) - {path.name[:2] for path in wanted})
    if missing or not wanted:
        raise Refusal(
            "missing",
            where=f"the folder {str(lessons)!r}",
            found=f"no lesson {', '.join(missing)}".rstrip(),
            must_be="the notebooks of the course",
            do="Run this in a copy of the repository, installed with pip install -e .",
        )
    targets = [(path, out / word / path.name) for word in class_set(names, seed).values() for path in wanted]
    there = [target for _, target in targets if is_there(target)]
    if there and not add:
        raise Refusal(
            "file",
            where=f"{there[0].parent.name}/{there[0].name}",
            found="is there already and may hold a student's work",
            must_be="in a new place",
            do="Take an empty folder, or add --add to write only what is missing",
        )
    todo = [(path, target) for path, target in targets if target not in there]
    read = {path: nbformat.read(path, as_version=4) for path in wanted}
    for path, target in todo:
        word = folder_for(target.parent).name
        write_whole(target, nbformat.writes(_own(nbformat.from_dict(read[path]), word, set_sign(word, seed))).encode())
        if units == "inch":
            write_whole(target.with_name(REMEMBERED.name), units.encode())
    return [target for _, target in todo]


def _own(notebook: nbformat.NotebookNode, word: str, sign: str) -> nbformat.NotebookNode:
    """Return a lesson with the student's word, without another's outputs, that stores what is answered from its first
    cell on."""
    cells = []
    for given in notebook.cells:
        cell = nbformat.from_dict(given)
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
            if _WORD_CELL.search(cell.source):
                source = _WORD_CELL.sub(f'student = "{word}"', cell.source)
                cell.source = "from simulate.course import hand_in\n" + _STARTS.sub("hand_in()\nstart()", source)
        cells.append(cell)
    words = nbformat.v4.new_markdown_cell(_HAND_IN, id="hand-in-words")
    about = {**notebook.metadata, SET: sign}
    return nbformat.from_dict({**notebook, "metadata": about, "cells": [*cells, words]})
