"""Films for the wall of a classroom, one file each: ``python -m simulate.show.projected OUT_FOLDER [LESSON ...]``.

Space plays and pauses; right and left, or the clicker's Page Down and Page Up,
step; up and down change the speed; Home and End go to the ends; D turns dark
and light, B or the clicker's point blanks the screen, F fills it. Where the
class predicts, the film stops and asks.
"""

from __future__ import annotations

import base64
import json
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from html import escape
from pathlib import Path

import nbformat

from simulate.method.history import BarHistory
from simulate.show.panel import Panel
from simulate.show.player import film_frames, film_places, markup
from simulate.show.positions import panels, positions
from simulate.show.refresh import find

HERE = Path(__file__).resolve().parent
DPI = 150
"""A picture of 1280 x 560 at 100 dots to the inch fills a screen of 1920 with room for the words."""

_STAGES = {"fit": "The next bar is fitted to the gauge.", "split": "The two fitted bars are laid on each other.",
           "remake": "The old gauge is made again."}


def _asks_of_run(history: BarHistory, places: Sequence[int]) -> dict[int, str]:
    """Ask where a new stage begins, in the first two rounds."""
    asks = {}
    for k in range(1, len(places)):
        before, after = history.steps[places[k - 1]], history.steps[places[k]]
        if after.round <= 2 and after.stage != before.stage:
            asks[k] = f"{_STAGES[after.stage]} Predict: which bar loses metal, and whose curve falls?"
    return asks


def _asks_of_panel(sentences: Sequence[str]) -> dict[int, str]:
    """Ask before each control's first move."""
    asks, before = {}, ""
    for k, sentence in enumerate(sentences):
        control = sentence.split(": ")[0] if k else ""
        if k and control != before:
            asks[k] = f"Next, this is changed: {control}. Predict: what will the picture do?"
        before = control
    return asks


def projected(source: Panel | BarHistory, title: str, questions: Mapping[int, str] | None = None, *,
              dark: bool = False, frames: int = 60) -> str:
    """Give a panel or a recorded run as one page for a projector.

    Parameters
    ----------
    source : Panel or BarHistory
        Make the panel with ``dpi=150``. A history is of one workshop, with its looks.
    title : str
    questions : mapping of int to str, optional
        Picture, counted from 0, before which the film stops -> what it asks. Where not given:
        before each control's first move, or before each stage of the first two rounds.
    dark : bool
        Starts dark; D changes it.
    frames : int
        At most so many pictures of a run.

    Returns
    -------
    str
        HTML that holds everything and asks nothing of the net.

    Raises
    ------
    ValueError
        Where the history holds no looks, or a question stands before no picture.
    """
    if isinstance(source, Panel):
        pictures, sentences = positions(source)
        asks = _asks_of_panel(sentences)
    else:
        pictures, sentences = film_frames(source, frames, dpi=DPI)
        asks = _asks_of_run(source, film_places(len(source.steps), frames))
    return film_page(pictures, sentences, title, asks if questions is None else questions, dark=dark)


def film_page(pictures: Sequence[bytes], sentences: Sequence[str], title: str, questions: Mapping[int, str], *,
              dark: bool = False) -> str:
    """Give pictures with their sentences as one page for a projector.

    Parameters
    ----------
    pictures : sequence of bytes
    sentences : sequence of str
    title : str
    questions : mapping of int to str
        Picture before which the film stops -> what it asks.
    dark : bool

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Where a question stands before no picture, or pictures and sentences do not match.

    Examples
    --------
    >>> page = film_page([b"", b""], ["Dark.", "Light."], "A gap", {1: "Will light show?"})
    >>> "Will light show?" in page
    True
    """
    for place in questions:
        if not 1 <= place < len(pictures):
            raise ValueError(f"a question stands before picture {place}; allowed is 1 to {len(pictures) - 1}.")
    name, body = markup(pictures, sentences, title)
    asks = json.dumps({str(k): v for k, v in questions.items()}).replace("<", "\\u003c")
    style, script = ((HERE / f"projected.{end}").read_text(encoding="utf-8") for end in ("css", "js"))
    body = body.replace("<strong>", f"<h1>{escape(title)}</h1>\n<strong>", 1).replace(
        "</div>\n<p", '<span class="speed" role="status"></span></div>\n<p', 1)
    return f"""<!DOCTYPE html>
<html lang="en"{' class="dark"' if dark else ''}>
<head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(title)}</title></head>
<body><main>
{body}
<div class="ask" role="alert" hidden></div>
</main>
<style>{style}</style>
<script type="application/json" id="{name}-asks">{asks}</script>
<script>{script}</script>
</body></html>
"""


def stored_films(notebook: nbformat.NotebookNode) -> Iterator[tuple[str, list[bytes], list[str]]]:
    """Find the films that a lesson holds.

    Parameters
    ----------
    notebook : NotebookNode

    Yields
    ------
    title : str
    pictures : list of bytes
    sentences : list of str
    """
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            text = "".join(output.get("data", {}).get("text/html", ""))
            parts = dict(re.findall(r'<script type="application/json" id="workshop-player-\w+-(frames|words)">(.*?)</script>',
                                    text, re.DOTALL))
            if len(parts) == 2:
                pictures = [base64.b64decode(uri.split(",", 1)[1]) for uri in json.loads(parts["frames"])]
                yield re.search(r"<strong>(.*?)</strong>", text)[1], pictures, json.loads(parts["words"])


def build(out: Path, lessons: Sequence[str] = ()) -> list[Path]:
    """Write every panel and film of the lessons as pages for a projector.

    Parameters
    ----------
    out : Path
        A folder; it is made where it is missing.
    lessons : sequence of str
        Names as of `find`; empty for all.

    Returns
    -------
    list of Path
    """
    written = []
    for path in find(lessons):
        notebook = nbformat.read(path, as_version=4)
        words = path.stem.replace("_", " ")
        made = [projected(panel, f"{words}: the panel") for _, panel in panels(notebook, dpi=DPI)]
        made += [film_page(pictures, told, f"{words}: {title}", {}) for title, pictures, told in stored_films(notebook)]
        out.mkdir(parents=True, exist_ok=True)
        for k, text in enumerate(made, 1):
            written.append(out / f"{path.stem}_{k}.html")
            written[-1].write_text(text, encoding="utf-8")
    return written


def main(arguments: Sequence[str]) -> int:
    """Write the pages for a projector; return 0 where that went well.

    Parameters
    ----------
    arguments : sequence of str

    Returns
    -------
    int

    Examples
    --------
    >>> main([])
    2
    """
    if not arguments or arguments[0].startswith("-"):
        print("usage: python -m simulate.show.projected OUT_FOLDER [LESSON ...]", file=sys.stderr)
        return 2
    try:
        pages = build(Path(arguments[0]), arguments[1:])
    except ValueError as refused:
        print(refused, file=sys.stderr)
        return 2
    print(f"{len(pages)} pages, {sum(p.stat().st_size for p in pages) / 1e6:.1f} megabytes. Open one and press Space.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
