"""A new lesson laid out: notebook, record, questions and plan, with a TODO wherever words belong."""

from __future__ import annotations

import re
from pathlib import Path

import jinja2
import nbformat

import simulate.show
from simulate.core.atomic_files import write_all_whole
from simulate.core.refusal import Refusal
from simulate.course import questions
from simulate.course.notebook.manifest import COURSE, lesson_of, manifest, readme_table
from simulate.course.notebook.refresh import LESSONS, strip
from simulate.course.notebook.wall_plan import PLAN

README = LESSONS.parent / "README.md"
MINUTES, PROMISE = 30, "TODO: what it lets the reader do, in one line"


def new_lesson(number: str, name: str, panel: str = "GapPanel") -> list[Path]:
    """Lay out a lesson, and return the files that were made or changed.

    `number`: two digits that no lesson has; between two lessons, rename those behind it first (only file names change).
    `name`: words with ``_`` between them, as the notebook is to be called; its key is the same with ``-``. `panel`: a
    panel of `simulate.show` that opens without arguments.
    """
    key = name.replace("_", "-")
    _refuse_taken(number, name, key, panel)
    names = tuple(f"{key}-{k}" for k in ("one", "two", "three"))
    shown = getattr(simulate.show, panel)()
    filled = {
        "number": number,
        "key": key,
        "file": f"{number}_{name}",
        "title": name.replace("_", " ").capitalize(),
        "minutes": MINUTES,
        "promise": PROMISE,
        "panel": panel,
        "control": next(iter(shown.controls)),
        "questions": names,
        "functions": tuple(one.replace("-", "_") for one in names),
        "builds_on": max((one for one in manifest() if one.number < number), key=lambda one: one.number).key,
    }
    old_rows = readme_table()
    row = f"| [{number} {filled['title']}](lessons/{filled['file']}.ipynb) | {MINUTES} | {PROMISE} |"
    readme = README.read_text(encoding="utf-8")
    rows = "\n".join(sorted([*old_rows.splitlines(), row], key=lambda line: line[:5]))
    files = {
        LESSONS / f"{filled['file']}.ipynb": nbformat.writes(_notebook(_filled("lesson", filled), number)) + "\n",
        Path(questions.__path__[0]) / f"{name}.py": _filled("questions", filled) + "\n",
        COURSE: _placed(COURSE.read_text(encoding="utf-8"), "[[lesson]]", number, _filled("record", filled)),
        PLAN: _placed(PLAN.read_text(encoding="utf-8"), "[[panel]]", number, _filled("plan", filled)),
        README: readme.replace(old_rows, rows),
    }
    write_all_whole({path: text.encode() for path, text in files.items()})
    manifest.cache_clear()
    return list(files)


def _refuse_taken(number: str, name: str, key: str, panel: str) -> None:
    if not re.fullmatch(r"[0-9]{2}", number) or number in {one.number for one in manifest()}:
        raise Refusal("choice", where="number", found=repr(number), must_be="two digits that no lesson has")
    if not re.fullmatch(r"[a-z]+(_[a-z]+)*", name) or key in {one.key for one in manifest()}:
        raise Refusal(
            "choice",
            where="name",
            found=repr(name),
            must_be="small letters with _ between words, as no lesson is called",
        )
    if panel not in simulate.show.__all__:
        raise Refusal("choice", where="panel", found=repr(panel), must_be="a panel that simulate.show gives out")


def _filled(template: str, words: dict) -> str:
    rooms = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent), undefined=jinja2.StrictUndefined, autoescape=False
    )
    return rooms.get_template(f"{template}.j2").render(words)


def _notebook(text: str, number: str) -> nbformat.NotebookNode:
    """Turn a text in which ``%% kind [id]`` starts each cell into a notebook."""
    cells = []
    for place, part in enumerate(re.split(r"^%% ", text, flags=re.MULTILINE)[1:]):
        head, _, source = part.partition("\n")
        kind, _, name = head.partition(" ")
        make = nbformat.v4.new_markdown_cell if kind == "markdown" else nbformat.v4.new_code_cell
        cell = make(source.rstrip("\n"))
        cell["id"] = f"{name}-{number}" if name else f"{number}-{place:02}"
        cells.append(cell)
    return strip(nbformat.v4.new_notebook(cells=cells))


def _placed(text: str, mark: str, number: str, record: str) -> str:
    """Put a record before the first one of a lesson with a greater number, or at the end."""
    for found in re.finditer(re.escape(mark) + r'\n(?:key|lesson) = "([^"]+)"', text):
        if lesson_of(found[1]).number > number:
            return text[: found.start()] + record.lstrip("\n") + "\n\n" + text[found.start() :]
    return text.rstrip("\n") + "\n" + record + "\n"
