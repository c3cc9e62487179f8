"""The lessons in their order: one record each, from which tables, class sets, cards and tests are made."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from simulate.core import checks
from simulate.core.atomic_files import write_whole
from simulate.course.notebook.refresh import LESSONS

COURSE = Path(__file__).with_name("course.toml")
README = LESSONS.parent / "README.md"


@dataclass(frozen=True, kw_only=True)
class CardTable:
    """A table to fill in with a pencil, on a lesson's bench card.

    `heads`: one a column. Units that follow the learner's choice stand as ``{small}`` and ``{long}``. `first`: what is
    printed in the first column, one a row; ``""`` where the learner writes there too.
    """

    heads: tuple[str, ...]
    first: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """What the course knows of one lesson beside its notebook.

    `key`: stays the same when lessons are numbered anew. `file`: name of the notebook without its ending; its two
    digits are the number. `minutes`: what a careful reader needs without the bench work. `promise`: what it lets the
    reader do, in one line. `builds_on`: keys of the lessons that it takes for read. `questions`: names of its
    exercises, in order; none for the instructor's lesson. `before`: the question of those that is asked before the
    lesson too; empty where none is. `kept_as`: what the answer to that is kept under. `shown_by`: for each outcome of
    the notebook the exercises that ask for it, or marks of the observation sheet. `bench_minutes`: time at the bench in
    a course that has it. `needs`: keys of the things that it takes at the bench. `slow_pictures`: whether each picture
    of its panel takes a run of many workshops.
    """

    key: str
    file: str
    minutes: int
    promise: str
    builds_on: tuple[str, ...] = ()
    questions: tuple[str, ...] = ()
    before: str = ""
    kept_as: str = ""
    shown_by: tuple[tuple[str, ...], ...] = ()
    bench_minutes: int = 0
    needs: tuple[str, ...] = ()
    card: CardTable | None = None
    slow_pictures: bool = False

    @property
    def number(self) -> str:
        """The two digits of the file's name."""
        return self.file[:2]

    @property
    def name(self) -> str:
        """Number and name, as the file has them."""
        return f"{self.number} {self.file[3:].replace('_', ' ').capitalize()}"

    @property
    def before_kept(self) -> str:
        """The name under which the answer before the lesson is kept."""
        return f"before-{self.kept_as}"

    @property
    def path(self) -> Path:
        """Where the notebook stands."""
        return LESSONS / f"{self.file}.ipynb"

    def title(self) -> str:
        """Return the heading of the notebook, without its number."""
        return re.sub(r"^\d\d ", "", re.search(r"^# (.+)$", self._words(), re.MULTILINE)[1])

    def outcomes(self) -> tuple[str, ...]:
        """Return what the notebook says a reader will be able to do."""
        part = re.search(r"^## What you will be able to do\n(.*?)(?=^## |\Z)", self._words(), re.MULTILINE | re.DOTALL)
        return tuple(re.findall(r"^- (.+)$", part[1], re.MULTILINE)) if part else ()

    def _words(self) -> str:
        # Not through nbformat: loading it takes as long as the whole start of a lesson.
        cells = json.loads(self.path.read_text(encoding="utf-8"))["cells"]
        return "\n\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown")


def to_draw(path: Path) -> int:
    """Say how much there is to draw of a lesson, beside others: by its size, for it holds its films, and by its
    record."""
    return path.stat().st_size * (100 if any(one.slow_pictures and one.file == path.stem for one in manifest()) else 1)


@cache
def manifest() -> tuple[Lesson, ...]:
    """Return the record of every lesson, in order.

    >>> manifest()[4].key, manifest()[4].number, manifest()[4].minutes
    ('three-bars', '04', 40)
    """
    return tuple(_lesson(**row) for row in tomllib.loads(COURSE.read_text(encoding="utf-8"))["lesson"])


def _lesson(card: dict | None = None, kept_as: str = "", **row) -> Lesson:
    table = None if card is None else CardTable(**{name: tuple(cells) for name, cells in card.items()})
    row = {name: _fixed(value) for name, value in row.items()}
    return Lesson(**row, kept_as=kept_as or row["key"], card=table)


def _fixed(value: object) -> object:
    """Return lists, and lists in lists, as tuples."""
    return tuple(map(_fixed, value)) if isinstance(value, list) else value


def lesson_of(word: str) -> Lesson:
    """Find a lesson by its key or its number.

    >>> lesson_of("04") is lesson_of("three-bars")
    True
    """
    found = {lesson.number: lesson for lesson in manifest()} | {lesson.key: lesson for lesson in manifest()}
    return found[checks.choice(word, "lesson", tuple(found))]


def readme_table() -> str:
    """Return the rows of README's table of lessons.

    >>> readme_table().splitlines()[4][:52]
    '| [04 Three bars](lessons/04_three_bars.ipynb) | 40 '
    """
    return "\n".join(
        f"| [{one.number} {one.title()}](lessons/{one.file}.ipynb) | {one.minutes} | {one.promise} |"
        for one in manifest()
    )


def write_readme() -> Path:
    """Put the rows of the lessons into README as the manifest has them now, and return where it stands."""
    before = README.read_text(encoding="utf-8")
    after = re.sub(r"(?:^\| \[\d\d .*\n)+", lambda _: readme_table() + "\n", before, count=1, flags=re.MULTILINE)
    if after != before:
        write_whole(README, after.encode())
    return README
