"""Marks from the notebooks handed in; nothing in them is run."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import nbformat

from simulate.core.refusal import Refusal
from simulate.show.answer_record import Answer
from simulate.show.answers import Kind, judge, say
from simulate.show.before import asked
from simulate.show.class_list import class_set, exercises_of
from simulate.show.given import read_given
from simulate.show.units import in_both


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
    note : str
        What the instructor should look at: a list changed by hand, an answer handed in twice, a file of
        somebody else.
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
    note: str = ""


def mark(folder: Path, names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None, units: str = "mm") -> list[Mark]:
    """Mark the notebooks handed in, by each student's own figures.

    Parameters
    ----------
    folder : Path
        Searched with its folders for .ipynb files. Nothing in them is run.
    names : sequence of str
    seed : int or str
    lessons : sequence of str, optional
        Two digits each; all where not given.
    units : {"mm", "inch"}
        ``"inch"`` puts inches beside the lengths of what an answer got back; answers count in any unit either way.

    Returns
    -------
    list of Mark
        One for each student and exercise, then one for each word that belongs
        to nobody in the class and each file that could not be read.

    Notes
    -----
    It does not see who typed an answer. An answer under another student's word
    counts for that student, never for the file's. An answer whose seal does not
    fit was changed by hand and does not count. Of one answer in several files
    the one with most tries counts, whatever the files are called.

    Raises
    ------
    ValueError
        Where the folder holds no notebook.
    """
    words = class_set(names, seed)
    handed, broken = _collect(folder)
    rows = [_mark(name, word, lesson, asks, handed.pop((word, asks), []))
            for name, word in words.items() for lesson, asks in exercises_of(lessons)]
    strange = sorted({word for word, _ in handed} - set(words.values()))
    rows += [_aside(word, "this word belongs to nobody in the class") for word in strange]
    rows += [_aside("", f"{name} {why}") for name, why in broken]
    return [replace(row, told=in_both(row.told, units)) for row in rows]


def _aside(word: str, told: str) -> Mark:
    return Mark("", word, "", "", "", "", "", 0, told)


def _collect(folder: Path) -> tuple[dict[tuple[str, str], list[Answer]], list[tuple[str, str]]]:
    """Return what was handed in by word and exercise, and the files that gave nothing, with the reason."""
    handed: dict[tuple[str, str], list[Answer]] = {}
    useless = []
    paths = sorted(p for p in folder.rglob("*.ipynb") if ".ipynb_checkpoints" not in p.parts)
    if not paths:
        raise Refusal(found=f"{folder.name!r} holds no notebook; the files handed in end in .ipynb.")
    for path in paths:
        try:
            cells = nbformat.read(path, as_version=4).cells
            text = [_text(output) for cell in cells for output in cell.get("outputs", ())]
            ran = any(cell.get("execution_count") for cell in cells)
        except Exception:  # nbformat raises many kinds; whatever it is, the file is named in the table
            useless.append((path.relative_to(folder).as_posix(), "could not be read as a notebook"))
            continue
        found = read_given("\n".join(text))
        if ran and not found:
            useless.append((path.relative_to(folder).as_posix(), "holds no answer: was its last cell run, and the file saved?"))
        for given in found:
            handed.setdefault((given.student, given.exercise), []).append(given)
    return handed, useless


def _text(output: Mapping) -> str:
    text = output.get("data", {}).get("text/plain", "")
    return "".join(text) if isinstance(text, list) else str(text)


def _mark(name: str, word: str, lesson: str, asks: str, handed: Sequence[Answer]) -> Mark:
    whole = [g for g in handed if g.untouched]
    spoilt = [g for g in handed if not g.untouched]
    notes = [f"changed by hand: {spoilt[0].last!r} does not count"] if spoilt else []
    if not whole:
        return Mark(name, word, lesson, asks, "", "", "", 0, "not answered", *notes)
    question = asked(asks, word)
    counts = max(whole, key=lambda g: g.count)
    if len({(g.first, g.last, g.count) for g in whole}) > 1:
        notes.append(f"handed in {len(whole)} times, not alike: the one with {counts.count} tries counts")
    last, first = judge(question, counts.last), judge(question, counts.first)
    told = last.misconception or say(last).split(". ")[0].rstrip(".")
    return Mark(name, word, lesson, asks, counts.last, *("yes" if v.kind is Kind.RIGHT else "no" for v in (last, first)),
                counts.count, told, "; ".join(notes))
