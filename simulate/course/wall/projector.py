"""Panels and films for the wall of a classroom: ``python -m simulate projector OUT_FOLDER [LESSON ...]``.

Space plays and pauses; right and left, or the clicker's Page Down and Page Up,
step; up and down change the speed; Home and End go to the ends; D turns dark
and light, B or the clicker's point blanks the screen, F fills it; N, P and I go
to the next page, the previous one and the index. Where the
class predicts, the page stops and asks what `simulate.course.notebook.wall_plan` holds.
"""

from __future__ import annotations

import base64
import json
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from html import escape
from pathlib import Path

import nbformat

from simulate.core.parallel import heaviest_first, processes
from simulate.core.refusal import Refusal
from simulate.course.notebook.manifest import to_draw
from simulate.course.notebook.positions import moves, panels
from simulate.course.notebook.refresh import find
from simulate.course.notebook.wall_plan import Plan, in_parts, plan_of, stops, wall_plan
from simulate.course.wall.dark import dark_palette, in_the_dark
from simulate.course.wall.one_size import of_one_size
from simulate.course.wall.wall_films import DPI, wall_film, white_is_light
from simulate.course.wall.wall_index import WallPage, index_page, presenter_page, ways
from simulate.course.wall.wall_sentences import page_name
from simulate.method.bars.bar_history import BarHistory
from simulate.show.drawing.flash_limit import quiet_speed
from simulate.show.panel.film import film_frames, film_places, markup, script
from simulate.show.panel.panel import Panel
from simulate.show.units.switch import in_both

HERE = Path(__file__).resolve().parent
SPEEDS = (0.5, 1, 2, 4, 6, 8, 12)
"""Looks a second, each blended into the next by the browser; a page offers those at which nothing large flashes."""

_SPEED = '<span class="speed" role="status"></span>'

_STAGES = {
    "fit": "The next bar is fitted to the gauge.",
    "split": "The two fitted bars are laid on each other.",
    "remake": "The old gauge is made again.",
}


def _asks_of_run(history: BarHistory, places: Sequence[int]) -> dict[int, str]:
    """Ask where a new stage begins, in the first two rounds."""
    asks = {}
    for k in range(1, len(places)):
        before, after = history.steps[places[k - 1]], history.steps[places[k]]
        if after.round <= 2 and after.stage != before.stage:
            asks[k] = f"{_STAGES[after.stage]} Predict: which bar loses metal, and whose curve falls?"
    return asks


def projected(
    source: Panel | BarHistory,
    title: str,
    questions: Mapping[int, str] | Plan | None = None,
    *,
    dark: bool = False,
    frames: int = 60,
    units: str = "mm",
) -> str:
    """Give a panel or a recorded run as one page for a projector.

    `source`: make the panel with ``dpi=150``. A history is of one workshop, with its looks. `questions`: a record of
    `wall_plan`, or picture, counted from 0, before which the film stops -> what it asks. Where not given: nothing for a
    panel, and for a run the stages of the first two rounds. `dark`: starts dark; D changes it. `frames`: at most so
    many pictures of a run. `units` ({"mm", "inch"}): of a run, and of what is asked; a panel is drawn in its own.
    Returns: HTML that holds everything and asks nothing of the net.
    """
    if isinstance(source, Panel):
        asked = questions.asks if isinstance(questions, Plan) else ()
        pictures, sentences, moved = moves(source, steps=20, asks=asked)
        asks = {}
    else:
        pictures, sentences = film_frames(source, frames, units, DPI, ahead=False)
        asks, moved = _asks_of_run(source, film_places(len(source.steps), frames)), sentences
    if questions is not None:
        asks = stops(questions, moved) if isinstance(questions, Plan) else questions
    asks = {place: in_both(ask, units) for place, ask in asks.items()}
    return film_page(pictures, sentences, title, asks, dark=dark, turned=not getattr(source, "shows_light", False))


def linked(page: str, ways: Mapping[str, str]) -> str:
    """Put ways to other pages beside the speed of a page, each with its key.

    `ways`: words, of which the first letter is the key, and file.

    >>> "N: next page" in linked(film_page([b""], ["Dark."], "A gap", {}), {"next page": "b.html"})
    True
    """
    links = "".join(
        f'<a class="way" href="{escape(file, quote=True)}" data-key="{words[0]}">{words[0].upper()}: {words}</a>'
        for words, file in ways.items()
    )
    return page.replace(_SPEED, _SPEED + links, 1)


def film_page(
    pictures: Sequence[bytes],
    sentences: Sequence[str],
    title: str,
    questions: Mapping[int, str],
    *,
    dark: bool = False,
    turned: bool = True,
) -> str:
    """Give pictures with their sentences as one page for a projector.

    `questions`: picture before which the film stops -> what it asks. `turned`: pictures turn dark with the page; not
    where white means light.

    While it plays, the browser blends each look into the next, so that every
    frame of the screen is fresh; by hand a step is at once. The fastest speed
    offered is the fastest at which no large part of the blended film flashes
    more than three times a second, on white and on black.

    >>> page = film_page([b"", b""], ["Dark.", "Light."], "A gap", {1: "Will light show?"})
    >>> "Will light show?" in page
    True
    """
    for place in questions:
        if not 1 <= place < len(pictures):
            raise Refusal(
                "range",
                where="the picture that a question stands before",
                found=f"{place}",
                must_be=f"1 to {len(pictures) - 1}",
            )
    pictures = of_one_size(pictures)
    shades = (pictures, [in_the_dark(p) for p in pictures] if turned else ())
    fastest = min(quiet_speed(shown, SPEEDS) for shown in shades)
    pictures, sentences, questions = in_parts(pictures, sentences, questions)
    name, body = markup(pictures, sentences, title)
    told = {
        "asks": {str(k): v for k, v in questions.items()},
        "speeds": [s for s in SPEEDS if s <= fastest],
        "dark": [base64.b64encode(dark_palette(p)).decode() if turned else "" for p in pictures],
    }
    kept = "".join(
        f'<script type="application/json" id="{name}-{part}">{json.dumps(what).replace("<", chr(92) + "u003c")}'
        "</script>\n"
        for part, what in told.items()
    )
    style = (HERE / "projected.css").read_text(encoding="utf-8")
    body = body.replace("<strong>", f"<h1>{escape(title)}</h1>\n<strong>", 1).replace(
        "</div>\n<p", f"{_SPEED}</div>\n<p", 1
    )
    return f"""<!DOCTYPE html>
<html lang="en"{' class="dark"' if dark else ""}>
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title></head>
<body><main>
{body}
<div class="ask" role="alert" hidden></div>
</main>
<style>{style}</style>
{kept}<script>{script("projected.js")}</script>
</body></html>
"""


def stored_films(notebook: nbformat.NotebookNode) -> Iterator[tuple[str, list[bytes], list[str]]]:
    """Find the films that a lesson holds."""
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            text = "".join(output.get("data", {}).get("text/html", ""))
            parts = dict(
                re.findall(
                    r'<script type="application/json" id="workshop-player-\w+-(frames|words)">(.*?)</script>',
                    text,
                    re.DOTALL,
                )
            )
            if len(parts) == 2:
                pictures = [base64.b64decode(uri.split(",", 1)[1]) for uri in json.loads(parts["frames"])]
                yield re.search(r"<strong>(.*?)</strong>", text)[1], pictures, json.loads(parts["words"])


def pages_of(path: Path, units: str = "mm") -> list[tuple[str, str]]:
    """Give the pages of one lesson, its panels first and then its films.

    The cells of the notebook are read, not run. Each page comes with what it shows: the panel's class, or the film's
    title, as `wall_plan` names it.
    """
    pages = []
    notebook = nbformat.read(path, as_version=4)
    lesson, words = path.stem[:2], path.stem.replace("_", " ")
    for _, panel in panels(notebook, dpi=DPI, units=units):
        shows = type(panel).__name__
        pages.append((shows, projected(panel, f"{words}: the panel", plan_of(lesson, shows), units=units)))
    for title, stored, told in stored_films(notebook):
        pictures, sentences = wall_film(title, stored, told, units=units)
        plan = plan_of(lesson, title)
        asks = {k: in_both(ask, units) for k, ask in stops(plan, sentences).items()} if plan else {}
        text = film_page(pictures, sentences, f"{words}: {title}", asks, turned=not white_is_light(title))
        pages.append((title, text))
    return pages


def build(
    out: Path, lessons: Sequence[str] = (), units: str = "mm", told: Callable[[str], None] = lambda _: None
) -> list[Path]:
    """Write every panel and film of the lessons as pages for a projector.

    `out`: a folder; it is made where it is missing. `lessons`: names as of `find`; empty for all. `units` ({"mm",
    "inch"}): in which panels and films are drawn and questions asked. `told`: is told of each page when it is written.
    Returns: the pages in order; ``index.html`` and ``presenter.html`` stand beside them.
    """
    paths = find(lessons)
    files = [page_name(plan, path.stem) for path in paths for plan in wall_plan() if plan.lesson == path.stem[:2]]
    written: dict[str, WallPage] = {}
    much = [to_draw(path) for path in paths]
    with processes(len(paths)) as executor:
        for lesson, pages in heaviest_first(partial(pages_of, units=units), paths, much, executor):
            out.mkdir(parents=True, exist_ok=True)
            path = paths[lesson]
            places = [place for place, file in enumerate(files) if file.startswith(path.stem)]
            for place, (shows, text) in zip(places, pages, strict=True):
                (out / files[place]).write_text(linked(text, ways(files, place)), encoding="utf-8")
                title = f"{path.stem.replace('_', ' ')}: {shows if ' ' in shows else 'the panel'}"
                written[files[place]] = WallPage(file=files[place], title=title, plan=plan_of(path.stem[:2], shows))
                told(f"{len(written)} of {len(files)}: {title}")
    in_order = [written[file] for file in files]
    if in_order:
        (out / "index.html").write_text(index_page(in_order), encoding="utf-8")
        (out / "presenter.html").write_text(presenter_page(in_order, units), encoding="utf-8")
    return [out / file for file in files]
