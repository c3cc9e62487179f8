"""Class sets: every student's own figures, an answer key, and marks from the notebooks handed in.

    python -m simulate.show.classroom set CLASS.csv SEED OUT_FOLDER
    python -m simulate.show.classroom key CLASS.csv SEED KEY.csv
    python -m simulate.show.classroom mark FOLDER CLASS.csv SEED MARKS.csv
    python -m simulate.show.classroom gain FOLDER CLASS.csv SEED GAIN.csv

With --inch the notebooks open in inches, and key and marks give lengths so too. The seed is the instructor's: without it nobody can tell another student's word.
"""

from __future__ import annotations

import csv
import re
import sys
from collections.abc import Sequence
from dataclasses import asdict, fields
from pathlib import Path

import nbformat

from simulate.core.refusal import Refusal
from simulate.readings.whole import write_whole
from simulate.show.class_list import Key, answer_key, class_set, read_class
from simulate.show.gain import Gain, gain
from simulate.show.marking import Mark, mark
from simulate.show.refresh import LESSONS
from simulate.show.units import REMEMBERED

_WORD_CELL = re.compile(r'^student = "[^"]*"', re.MULTILINE)
_STARTS = re.compile(r"^start\(\)", re.MULTILINE)
_HAND_IN = ("## Hand in\n\nEach answer is kept at once, in this folder and in this notebook. Choose *File*, then *Save Notebook*, "
            "and hand in this file. *Run All Cells* brings every answer back into its field.")


def hand_out(out: Path, names: Sequence[str], seed: int | str, lessons: Path = LESSONS, units: str = "mm") -> list[Path]:
    """Write every student's own notebooks, each with the word put in and a cell to hand in.

    Parameters
    ----------
    out : Path
        Gets one folder a student, named by the word.
    names : sequence of str
    seed : int or str
    lessons : Path
        The folder of the notebooks, which stay untouched.
    units : {"mm", "inch"}
        What the switch of each student's lessons stands at when they are opened.

    Returns
    -------
    list of Path
        The notebooks.
    """
    written = []
    for word in class_set(names, seed).values():
        (out / word).mkdir(parents=True, exist_ok=True)
        for path in sorted(set(lessons.glob("[0-9][0-9]_*.ipynb")) - set(lessons.glob("*_for_the_instructor.ipynb"))):
            target = out / word / path.name
            if target.exists():
                raise Refusal(found=f"{word}/{path.name} is there already and may hold a student's work; take an empty folder.")
            nbformat.write(_own(nbformat.read(path, as_version=4), word), target)
            written.append(target)
        if units == "inch":
            write_whole(out / word / REMEMBERED, units.encode())
    return written


def _own(notebook: nbformat.NotebookNode, word: str) -> nbformat.NotebookNode:
    """Return a lesson with the student's word, without another's outputs, that stores what is answered from its first cell on."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
            if _WORD_CELL.search(cell.source):
                source = _WORD_CELL.sub(f'student = "{word}"', cell.source)
                cell.source = "from simulate.show.given import hand_in\n" + _STARTS.sub("hand_in()\nstart()", source)
    notebook.cells.append(nbformat.v4.new_markdown_cell(_HAND_IN, id="hand-in-words"))
    return notebook


def write_table(path: Path, rows: Sequence[Key | Mark | Gain]) -> None:
    """Write a key or marks as a table with commas that a spreadsheet opens safely.

    Parameters
    ----------
    path : Path
    rows : sequence of Key, Mark or Gain
        At least one.
    """
    with open(path, "w", encoding="utf-8-sig", newline="") as file:
        table = csv.writer(file)
        table.writerow([field.name for field in fields(rows[0])])
        table.writerows([_harmless(value) for value in asdict(row).values()] for row in rows)


def _harmless(value: object) -> object:
    """Return a text that no spreadsheet takes for a formula; plain numbers stay."""
    text = str(value)
    formula = text[:1] in {"=", "+", "-", "@", "\t"} and not re.fullmatch(r"[-+]?\d+([.,]\d+)?", text)
    return f"'{text}" if formula else value


def main(arguments: Sequence[str]) -> int:
    """Make a class set, its key, or its marks; return 0 where that went well.

    Parameters
    ----------
    arguments : sequence of str

    Returns
    -------
    int
    """
    units = "inch" if "--inch" in arguments else "mm"
    act, *rest = [a for a in arguments if a != "--inch"] or [""]
    try:
        if act == "set" and len(rest) == 3:
            print(f"{len(hand_out(Path(rest[2]), read_class(Path(rest[0])), rest[1], units=units))} notebooks written.")
        elif act == "key" and len(rest) == 3:
            write_table(Path(rest[2]), answer_key(read_class(Path(rest[0])), rest[1], units=units))
        elif act == "mark" and len(rest) == 4:
            write_table(Path(rest[3]), mark(Path(rest[0]), read_class(Path(rest[1])), rest[2], units=units))
        elif act == "gain" and len(rest) == 4:
            found = gain(mark(Path(rest[0]), read_class(Path(rest[1])), rest[2]))
            if not found:
                raise Refusal(found="nobody answered both before and after a lesson; there is nothing to set side by side yet.")
            write_table(Path(rest[3]), found)
        else:
            print(__doc__.split("\n\n")[1], file=sys.stderr)
            return 2
    except (Refusal, OSError) as refused:
        print(refused, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
