"""Class sets: every student's own figures, an answer key, and marks from the notebooks handed in.

    python -m simulate.show.classroom set CLASS.csv SEED OUT_FOLDER
    python -m simulate.show.classroom key CLASS.csv SEED KEY.csv
    python -m simulate.show.classroom mark FOLDER CLASS.csv SEED MARKS.csv

The seed is the instructor's: without it nobody can tell another student's word.
"""

from __future__ import annotations

import csv
import hashlib
import re
import sys
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path

import nbformat

from simulate.show.exercise import check, names, question
from simulate.show.given import Given, read_given
from simulate.show.refresh import LESSONS

_SYLLABLES = tuple(c + v for c in "bdfgklmnprstvz" for v in "aeiou")
_WORD_CELL = re.compile(r'^student = "[^"]*"', re.MULTILINE)
_HAND_IN = ("## Hand in\n\nRun the next cell. Each answer that you check is added to its list by itself. Then save, and "
            "hand in this file. Do not run all cells again afterwards: a restart begins with an empty list.")


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
        raise ValueError("the class list holds no name; at least one is needed.")
    words: dict[str, str] = {}
    for place, name in enumerate(names, 1):
        if not str(name).strip() or name in words:
            raise ValueError(f"name {place} of the class list is {name!r}; each has to be there, and only once.")
        words[name] = _word(f"{seed}\n{name}")
    if len(set(words.values())) < len(words):
        raise ValueError(f"with the seed {seed!r} two students get the same word; take another seed.")
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


def answer_key(names: Sequence[str], seed: int | str, lessons: Sequence[str] | None = None) -> list[Key]:
    """Give the right answers of a class, for the instructor only.

    Parameters
    ----------
    names : sequence of str
        Students.
    seed : int or str
    lessons : sequence of str, optional
        Two digits each; all where not given.

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
    5
    """
    rows = []
    for name, word in class_set(names, seed).items():
        for lesson, exercise in _exercises(lessons):
            asked = question(exercise, word)
            answer = asked.answer if asked.options else f"{asked.answer:.6g}"
            rows.append(Key(name, word, lesson, exercise, str(answer), asked.unit))
    return rows


def _exercises(lessons: Sequence[str] | None) -> list[tuple[str, str]]:
    every = sorted(p.name[:2] for p in LESSONS.glob("[0-9][0-9]_*.ipynb")) if lessons is None else lessons
    return [(lesson, exercise) for lesson in every for exercise in names(lesson)]


def hand_out(out: Path, names: Sequence[str], seed: int | str, lessons: Path = LESSONS) -> list[Path]:
    """Write every student's own notebooks, each with the word put in and a cell to hand in.

    Parameters
    ----------
    out : Path
        Gets one folder a student, named by the word.
    names : sequence of str
    seed : int or str
    lessons : Path
        The folder of the notebooks, which stay untouched.

    Returns
    -------
    list of Path
    """
    written = []
    for word in class_set(names, seed).values():
        (out / word).mkdir(parents=True, exist_ok=True)
        for path in sorted(lessons.glob("[0-9][0-9]_*.ipynb")):
            target = out / word / path.name
            if target.exists():
                raise ValueError(f"{word}/{path.name} is there already and may hold a student's work; take an empty folder.")
            nbformat.write(_own(nbformat.read(path, as_version=4), word), target)
            written.append(target)
    return written


def _own(notebook: nbformat.NotebookNode, word: str) -> nbformat.NotebookNode:
    """Return a lesson with the student's word, without another's outputs, with the cell to hand in."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs, cell.execution_count = [], None
            cell.source = _WORD_CELL.sub(f'student = "{word}"', cell.source)
    call = nbformat.v4.new_code_cell("from simulate.show.given import hand_in\n\nhand_in()", id="hand-in")
    notebook.cells += [nbformat.v4.new_markdown_cell(_HAND_IN, id="hand-in-words"), call]
    return notebook


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
    rows = [_mark(name, word, lesson, exercise, given.pop((word, exercise), None))
            for name, word in words.items() for lesson, exercise in _exercises(lessons)]
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


def _mark(name: str, word: str, lesson: str, exercise: str, given: Given | None) -> Mark:
    if given is None:
        return Mark(name, word, lesson, exercise, "", "", "", 0, "not answered")
    asked = question(exercise, word)
    said = check(asked, given.last)
    right, first = (("yes" if check(asked, text).startswith("Right.") else "no") for text in (given.last, given.first))
    why = re.match(r"Not yet \(([^)]*)\)", said)
    return Mark(name, word, lesson, exercise, given.last, right, first, given.tries,
                why[1] if why else said.split(". ")[0].rstrip("."))


def write_table(path: Path, rows: Sequence[Key | Mark]) -> None:
    """Write a key or marks as a table with commas that a spreadsheet opens safely.

    Parameters
    ----------
    path : Path
    rows : sequence of Key or Mark
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
    act, rest = (arguments[0], arguments[1:]) if arguments else ("", ())
    try:
        if act == "set" and len(rest) == 3:
            print(f"{len(hand_out(Path(rest[2]), read_class(Path(rest[0])), rest[1]))} notebooks written.")
        elif act == "key" and len(rest) == 3:
            write_table(Path(rest[2]), answer_key(read_class(Path(rest[0])), rest[1]))
        elif act == "mark" and len(rest) == 4:
            write_table(Path(rest[3]), mark(Path(rest[0]), read_class(Path(rest[1])), rest[2]))
        else:
            print(__doc__.split("\n\n")[1], file=sys.stderr)
            return 2
    except (ValueError, OSError) as refused:
        print(refused, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
