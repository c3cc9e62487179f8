"""A new lesson laid out: notebook, records, questions, plan and panel, with a TODO wherever words belong."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jinja2
import nbformat

import simulate.show
from simulate.core.atomic_files import write_all_whole
from simulate.core.refusal import Refusal
from simulate.course import questions
from simulate.course.notebook.manifest import COURSE, lesson_of, manifest, write_readme
from simulate.course.notebook.map_page import WANTS
from simulate.course.notebook.refresh import LESSONS, strip
from simulate.course.notebook.wall_plan import PLAN

SHOW = Path(simulate.show.__path__[0])
_NEW_PANEL = {"control": "height_um", "goes_to": "100.0", "told": "Height (µm): 100. "}
"""How the panel that is laid out first moves, as `_first_move` says it of one that is there."""
MINUTES, PROMISE = 30, "TODO: what it lets the reader do, in one line"


def new_lesson(number: str, name: str, panel: str = "GapPanel") -> list[Path]:
    """Lay out a lesson, and return the files that were made or changed, the notebooks to be run first.

    `number`: two digits that no lesson has; between two lessons, rename those behind it first (only file names change).
    `name`: words with ``_`` between them, as the notebook is to be called; its key is the same with ``-``. `panel`: a
    panel of `simulate.show` that opens without arguments, or ``folder/NamePanel`` for one to be laid out there.
    """
    key = name.replace("_", "-")
    folder, _, panel = panel.rpartition("/")
    _refuse_taken(number, name, key)
    _refuse_panel(folder, panel)
    names = tuple(f"{key}-{k}" for k in ("one", "two", "three"))
    before = max((one for one in manifest() if one.number < number and one.questions), key=lambda one: one.number)
    teaching = next(one for one in manifest() if not one.questions)
    filled = {
        "number": number,
        "key": key,
        "file": f"{number}_{name}",
        "title": name.replace("_", " ").capitalize(),
        "minutes": MINUTES,
        "promise": PROMISE,
        "panel": panel,
        "questions": names,
        "functions": tuple(one.replace("-", "_") for one in names),
        "builds_on": before.key,
        **(_NEW_PANEL if folder else _first_move(panel)),
    }
    course, plan, wants = (path.read_text(encoding="utf-8") for path in (COURSE, PLAN, WANTS))
    files = {
        LESSONS / f"{filled['file']}.ipynb": nbformat.writes(_notebook(_filled("lesson", filled), number)) + "\n",
        manifest()[0].path: manifest()[0].path.read_text(encoding="utf-8"),
        teaching.path: _with_plan(teaching.path, before.number, number),
        Path(questions.__path__[0]) / f"{name}.py": _filled("questions", filled) + "\n",
        COURSE: _placed(course, "[[lesson]]", number, _filled("record", filled)),
        PLAN: _placed(plan, "[[panel]]", number, _filled("plan", filled)),
        WANTS: _wanted(wants, before.key, key),
    }
    if folder:
        files |= _panel_files(folder, panel)
    write_all_whole({path: text.encode() for path, text in files.items()})
    manifest.cache_clear()
    return [*files, write_readme()]


def _panel_files(folder: str, panel: str) -> dict[Path, str]:
    """Return the module of a new panel, and the face that gives it out."""
    module, face = re.sub(r"(?<!^)(?=[A-Z])", "_", panel).lower(), SHOW / "__init__.py"
    home = f'    "simulate.show.{folder.replace("/", ".")}.{module}": ["{panel}"],\n'
    text = face.read_text(encoding="utf-8").replace("_HOMES = {\n", f"_HOMES = {{\n{home}", 1)
    return {SHOW / folder / f"{module}.py": _filled("panel", {"panel": panel}) + "\n", face: text}


def _refuse_taken(number: str, name: str, key: str) -> None:
    if not re.fullmatch(r"[0-9]{2}", number) or number in {one.number for one in manifest()}:
        raise Refusal("choice", where="number", found=repr(number), must_be="two digits that no lesson has")
    if not re.fullmatch(r"[a-z]+(_[a-z]+)*", name) or key in {one.key for one in manifest()}:
        raise Refusal(
            "choice",
            where="name",
            found=repr(name),
            must_be="small letters with _ between words, as no lesson is called",
        )


def _refuse_panel(folder: str, panel: str) -> None:
    if folder and not ((SHOW / folder).is_dir() and re.fullmatch(r"([A-Z][a-z]+)+", panel)):
        where, wanted = f"{folder}/{panel}", "a folder of simulate/show and a new name such as DialPanel"
    elif bool(folder) is not (panel in simulate.show.__all__):
        return
    else:
        where = f"{folder}/{panel}".lstrip("/")
        wanted = "one that simulate.show gives out, or for a new one folder/NamePanel, such as bars/DialPanel"
    raise Refusal("choice", where="panel", found=repr(where), must_be=wanted)


def _first_move(panel: str) -> dict[str, str]:
    """Return the first control that moves, where it may go, and what the wall says of it there."""
    from simulate.course.notebook.positions import settings, spoken

    for name, control in getattr(simulate.show, panel)().controls.items():
        for value in reversed(settings(control, 2)):
            if value != control.value:
                control.value = value
                told = f"{control.description}: {spoken(control)}. "
                return {"control": name, "goes_to": json.dumps(value, ensure_ascii=False), "told": told}
    raise Refusal("choice", where="panel", found=repr(panel), must_be="a panel with a slider, a menu or a box")


def _with_plan(path: Path, before: str, number: str) -> str:
    """Return the instructor's notebook with a lesson's plan behind that of another."""
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.source = re.sub(rf'(LessonPlan\(.*"{before}")', rf'\1, "{number}"', cell.source)
    return nbformat.writes(notebook) + "\n"


def _wanted(text: str, before: str, key: str) -> str:
    """Put what a reader wants of the lesson behind what is wanted of another."""
    place = text.index("\n", text.rindex(f'lesson = "{before}"')) + 1
    want = f'to = "know TODO: what a reader wants", lesson = "{key}", under = "TODO: the reason in a few words."'
    return f"{text[:place]}  {{ {want} }},\n{text[place:]}"


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
