"""The course as pages that need no kernel and no net: ``python -m simulate pages OUT_FOLDER``.

Films play and step in them. A panel is a film of positions worked out
beforehand, or, with ``--still``, its stored picture with its words.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import partial
from html import escape
from pathlib import Path

import nbformat
from nbconvert import HTMLExporter

from simulate.core.parallel import heaviest_first, processes
from simulate.core.refusal import Refusal
from simulate.course.glossary.terms import notes_script
from simulate.course.notebook.manifest import Lesson, manifest, to_draw
from simulate.course.notebook.map_page import lesson_rows, want_lists
from simulate.course.notebook.positions import panel_films
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.way import in_the_lab
from simulate.course.publish.page_parts import Place, as_script, contents, places, with_places, with_wide_tables
from simulate.show.drawing.style import PAGES_CSS
from simulate.show.units.lengths import script
from simulate.show.units.switch import SAID, chosen_units

HERE = Path(__file__).resolve().parent
_TITLE = "Three bars: straight and flat references from nothing"
_NOTES = {
    False: "Without a running lesson a panel shows one stored picture with its words.",
    True: "Without a running lesson a panel shows positions worked out beforehand: each control in turn goes from "
    "one end to "
    "the other.",
}
_FIELD = (
    '<label>Search all lessons <input type="search" name="q" autocomplete="off"></label> '
    '<button type="submit">Search</button></form>'
)
_SEARCH = f'<form role="search" action="index.html" method="get">{_FIELD}'
_SEARCH_HERE = (
    f'<form role="search" id="search" hidden>{_FIELD}\n'
    '<p id="search-told" role="status"></p>\n<ul id="search-found"></ul>'
)
_MORE = " Animations play here. In the notebook every control moves freely and every answer is checked."


def _exporter() -> HTMLExporter:
    """Return the exporter with our template, and without an address of the net."""
    exporter = HTMLExporter(
        template_name="classic",
        template_file="page.html.j2",
        extra_template_paths=[str(HERE)],
        exclude_anchor_links=True,
        mathjax_url="",
        require_js_url="",
        jquery_url="",
        mermaid_js_url="",
        widget_renderer_url="",
    )
    exporter.register_preprocessor("nbconvert.preprocessors.CSSHTMLHeaderPreprocessor", enabled=False)
    return exporter


def title(notebook: nbformat.NotebookNode) -> str:
    """Return the first heading of a notebook.

    >>> title(nbformat.v4.new_notebook(cells=[nbformat.v4.new_markdown_cell("# 04 Three bars")]))
    '04 Three bars'
    """
    for cell in notebook.cells:
        head = re.search(r"^# (.+)$", cell.source, re.MULTILINE) if cell.cell_type == "markdown" else None
        if head:
            return head[1].strip()
    return "A lesson without a heading"


def _links(before: Path | None, after: Path | None) -> str:
    parts = ['<a href="index.html">Map: all lessons</a>']
    for path, words in ((before, "Before"), (after, "Next")):
        if path:
            parts.append(f'<a href="{path.stem}.html">{words}: {escape(path.stem.replace("_", " "))}</a>')
    return "".join(parts)


def _switch(units: str) -> str:
    """Return the switch of the units; it is shown by the script that it needs."""
    words = (("mm", "metric: µm and mm"), ("inch", "inches as well: thou and in"))
    buttons = "".join(
        f'<label><input type="radio" name="units" value="{value}"{" checked" if value == units else ""}> {said}</label>'
        for value, said in words
    )
    return f'<fieldset class="workshop-units" hidden><legend>Units of the text</legend>{buttons}</fieldset>'


def _without_switch(notebook: nbformat.NotebookNode) -> nbformat.NotebookNode:
    """Leave out the words of the lesson's own switch: a page has another, and they would stay as they were stored."""
    for cell in notebook.cells:
        if cell.cell_type == "code":
            cell.outputs = [o for o in cell.outputs if o.get("data", {}).get("text/plain") not in SAID.values()]
    return notebook


def page(
    path: Path, before: Path | None = None, after: Path | None = None, positions: int = 0, units: str = "mm"
) -> str:
    """Give one lesson as a page.

    `path`: the notebook; it is only read. `before`, `after`: its neighbours, for the links. `positions`: positions of
    each control of a panel; 0 keeps the stored picture. `units`: ``"inch"`` draws those positions in inches, and the
    page opens with inches in its text. Returns: HTML that holds everything.

    It shows what is stored: a notebook never run gives a page without pictures.
    """
    notebook, units = _without_switch(nbformat.read(path, as_version=4)), chosen_units(units)
    films = panel_films(notebook, positions, units) if positions else {}
    style = PAGES_CSS.read_text(encoding="utf-8")
    workshop = {
        "title": title(notebook),
        "style": style,
        "links": _links(before, after),
        "search": _SEARCH,
        "films": films,
        "folded": True,
        "switch": _switch(units),
        "turner": script() + notes_script(),
    }
    body = _turned(_exporter().from_notebook_node(notebook, resources={"workshop": workshop})[0])
    body, found = with_places(with_wide_tables(body))
    note = f'<p class="note"><em>{_NOTES[bool(positions)] + _MORE}</em></p>\n{contents(found)}'
    return body.replace("</h1>", f"</h1>\n{note}", 1) if "<h1" in body else body


def _on_pages(lesson: Lesson) -> str:
    """Return the address of a lesson from another page."""
    return f"{lesson.file}.html"


def _turned(body: str) -> str:
    """Lead links to notebooks, as a lesson in the Lab has them, to the pages of the same lessons."""
    for one in manifest():
        body = body.replace(f'href="{in_the_lab(one)}', f'href="{_on_pages(one)}')
    return body


def _index(lessons: Sequence[Path], positions: int, units: str, found: list[Place]) -> str:
    stems = {path.stem for path in lessons}
    told = [one for one in manifest() if one.file in stems]
    answered = f"<h2>Where is it answered?</h2>\n{want_lists(_on_pages)}" if len(told) == len(manifest()) else ""
    style = PAGES_CSS.read_text(encoding="utf-8")
    return f"""<!DOCTYPE html>
<html lang="en">
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{_TITLE}</title><style>{style}</style></head>
<body><main data-units="mm">
{_switch(units)}
<h1>{_TITLE}</h1>
<p>{_NOTES[bool(positions)] + _MORE}</p>
{_SEARCH_HERE}
<h2>Lessons</h2>
{with_wide_tables(lesson_rows(_on_pages, told))}
{answered}
<p><strong>This course is not safety training. The rules of your own workshop and the person responsible for it come
first.</strong></p>
</main><script>{script()}</script>
<script type="application/json" id="search-places">{as_script(found)}</script>
<script>{(HERE / "search.js").read_text(encoding="utf-8")}</script></body>
</html>
"""


def build(out: Path, lessons: Path = LESSONS, positions: int = 4, units: str = "mm") -> list[Path]:
    """Write the whole course as pages, and an index.

    `out`: a folder; it is made where it is missing. Only its .html files of the lessons' names and index.html are
    written. `lessons`: the folder of the notebooks, which stay untouched. `positions`: positions of each control of a
    panel; 0 keeps the stored pictures. `units`: ``"mm"`` or ``"inch"``: how panels are drawn, and how the pages open.
    Returns: the pages, the index first.
    """
    units = chosen_units(units)
    every = sorted(lessons.glob("[0-9][0-9]_*.ipynb"))
    if not every:
        raise Refusal(
            "missing", where=f"{lessons.name!r}", found="no lesson", must_be="files such as 04_three_bars.ipynb"
        )
    if out.is_file() or out.resolve() == lessons.resolve():
        raise Refusal(
            "file", where=f"{out.name!r}", found="cannot take the pages", must_be="a folder of its own, such as 'pages'"
        )
    out.mkdir(parents=True, exist_ok=True)
    found: dict[Path, list] = {}
    tasks = list(zip(every, [None, *every], [*every[1:], None]))
    with processes(len(tasks) if positions else 1) as executor:  # stored pictures take no time
        much = [to_draw(path) for path in every]
        for lesson, body in heaviest_first(partial(_page, positions, units), tasks, much, executor):
            path, target = every[lesson], out / f"{every[lesson].stem}.html"
            target.write_text(body, encoding="utf-8")
            found[path] = places(target.name, title(nbformat.read(path, as_version=4)), body)
    in_order = [place for path in every for place in found[path]]
    (out / "index.html").write_text(_index(every, positions, units, in_order), encoding="utf-8")
    return [out / "index.html", *(out / f"{path.stem}.html" for path in every)]


def _page(positions: int, units: str, task: tuple[Path, Path | None, Path | None]) -> str:
    return page(*task, positions, units)


def size_in_words(pages: Sequence[Path]) -> str:
    """Say how many pages there are and how much room they take.

    `pages`: the index first.
    """
    room = sum(p.stat().st_size for p in pages) / 1e6
    largest = max(pages, key=lambda p: p.stat().st_size)
    return (
        f"{len(pages) - 1} lessons and an index, {room:.1f} megabytes together; the largest is {largest.name} with "
        f"{largest.stat().st_size / 1e6:.1f}. Open {pages[0].name} in a browser; it needs no Internet connection."
    )
