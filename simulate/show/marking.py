"""Marks from the notebooks handed in; nothing in them is run."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import nbformat

from simulate.show.answers import check
from simulate.show.before import asked
from simulate.show.class_list import class_set, exercises_of
from simulate.show.given import Given, read_given


@dataclass(frozen=True)
class Mark:
    """One answer handed in, or one exercise left out.

    Attributes
    ----------
    name, word, lesson, exercise : str
    given : str
        The last answer; empty where there is none.
    right, right_at_first : str
        ``"yes"``, ``"no"``, or empty where nothing was answered.
    tries : int
    told : str
        What the answer got back: the misconception where one fits.
    """

    name: str
    word: str
    lesson: str
    exercise: str
    given: str
    right: str
    right_at_first: str
    tries: int
    told: str


def mark(folder: Path, names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None) -> list[Mark]:
    """Mark the notebooks handed in, by each student's own figures.

    Parameters
    ----------
    folder : Path
        Searched with its folders for .ipynb files. Nothing in them is run.
    names : sequence of str
    seed : int or str
    lessons : sequence of str, optional
        Two digits each; all where not given.

    Returns
    -------
    list of Mark
        One for each student and exercise, then one for each word that belongs
        to nobody in the class and each file that could not be read.

    Notes
    -----
    It does not see who typed an answer, nor an output edited by hand. An answer
    under another student's word counts for that student, never for the file's.

    Raises
    ------
    ValueError
        Where the folder holds no notebook.
    """
    words = class_set(names, seed)
    given, broken = _collect(folder)
    rows = [_mark(name, word, lesson, asks, given.pop((word, asks), None))
            for name, word in words.items() for lesson, asks in exercises_of(lessons)]
    strange = sorted({word for word, _ in given} - set(words.values()))
    rows += [Mark("", word, "", "", "", "", "", 0, "this word belongs to nobody in the class") for word in strange]
    return rows + [Mark("", "", "", "", "", "", "", 0, f"{name} could not be read as a notebook") for name in broken]


def _collect(folder: Path) -> tuple[dict[tuple[str, str], Given], list[str]]:
    """Return the answers by word and exercise, and the files that could not be read."""
    given: dict[tuple[str, str], Given] = {}
    broken = []
    paths = sorted(p for p in folder.rglob("*.ipynb") if ".ipynb_checkpoints" not in p.parts)
    if not paths:
        raise ValueError(f"{folder.name!r} holds no notebook; the files handed in end in .ipynb.")
    for path in paths:
        try:
            cells = nbformat.read(path, as_version=4).cells
            text = [_text(output) for cell in cells for output in cell.get("outputs", ())]
        except Exception:  # nbformat raises many kinds; whatever it is, the file is named in the table
            broken.append(path.relative_to(folder).as_posix())
            continue
        given |= {(g.student, g.exercise): g for g in read_given("\n".join(text))}
    return given, broken


def _text(output: Mapping) -> str:
    text = output.get("data", {}).get("text/plain", "")
    return "".join(text) if isinstance(text, list) else str(text)


def _mark(name: str, word: str, lesson: str, asks: str, given: Given | None) -> Mark:
    if given is None:
        return Mark(name, word, lesson, asks, "", "", "", 0, "not answered")
    question = asked(asks, word)
    said = check(question, given.last)
    right, first = (("yes" if check(question, text).startswith("Right.") else "no") for text in (given.last, given.first))
    why = re.match(r"Not yet \(([^)]*)\)", said)
    return Mark(name, word, lesson, asks, given.last, right, first, given.tries,
                why[1] if why else said.split(". ")[0].rstrip("."))
