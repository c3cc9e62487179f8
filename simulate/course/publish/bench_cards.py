"""Bench cards: one printed page a lesson, with its steps, a table to fill in, and the cautions.

    python -m simulate cards OUT_FOLDER [LESSON ...] [--own READINGS] [--inch]

Steps and cautions are read out of the lesson's own notebook, so that there is
no second copy of them that could differ.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import nbformat
from fpdf import FPDF

from simulate.core.refusal import Refusal, either
from simulate.course.notebook.manifest import CardTable, manifest
from simulate.course.notebook.refresh import find
from simulate.course.publish.paper import EDGE_MM, paper, plain, ruled, say
from simulate.readings.logbook.logbook import write_whole
from simulate.readings.table.csv_cells import text_of
from simulate.readings.table.read import bytes_of
from simulate.show.own.entry.card_pdf import entry_card_pdf

_UNITS = {"mm": {"small": "µm", "long": "mm"}, "inch": {"small": "thou", "long": "in"}}
_FITS = tuple((size, row_mm) for size in (12, 11, 10, 9, 8) for row_mm in (9.0, 7.5))
"""Points of the letters and height of a row to write in, largest first: the first that leaves one page is taken."""


@dataclass(frozen=True)
class Card:
    """What stands on a bench card.

    `lesson`: two digits. `steps`: paragraphs and numbered steps, in the order of the lesson.
    """

    lesson: str
    title: str
    question: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def card_of(path: Path) -> Card:
    """Read a card out of a lesson.

    >>> card_of(find(["04"])[0]).steps[0][:22]
    '1. Number the bars and'
    """
    text = "\n\n".join(c.source for c in nbformat.read(path, as_version=4).cells if c.cell_type == "markdown")
    title = re.search(r"^# (?:\d\d )?(.+)$", text, re.MULTILINE)
    bench = _part(text, "At the bench")
    blocks = _blocks(bench)
    first = next((i for i, block in enumerate(blocks) if re.match(r"(\*\*Cautions|The cautions)", block)), None)
    if not title or not bench or first is None:
        raise Refusal(
            "missing", where=path.name, found="no part 'At the bench' with cautions", must_be="both, for a bench card"
        )
    return Card(
        path.name[:2],
        plain(title[1]),
        plain(_blocks(_part(text, "The question"))[0]),
        tuple(map(plain, blocks[:first])),
        tuple(map(plain, blocks[first:])),
    )


def _tables() -> dict[str, CardTable]:
    return {one.number: one.card for one in manifest() if one.card}


def _part(text: str, head: str) -> str:
    """Return what stands under a heading, down to the next heading of any level."""
    found = re.search(rf"^## {head}\s*$(.*?)(?=^#{{2,6}} |\Z)", text, re.MULTILINE | re.DOTALL)
    return found[1].strip() if found else ""


def _blocks(text: str) -> list[str]:
    """Paragraphs, numbered steps and points of a list, one each; tables and drawings are left to the lesson."""
    joined = re.sub(r"\n(?!\s*(?:\d+\. |- |\n|\|))\s*", " ", text)
    lines = (line.strip() for line in joined.splitlines())
    return [line for line in lines if line and not line.startswith(("|", "!["))]


def card_pdf(card: Card, units: str = "mm") -> bytes:
    """Draw a card as a PDF of one page.

    `units`: ``"mm"`` for A4 and metric heads, ``"inch"`` for letter paper, thou and inches.
    """
    if card.lesson not in _tables():
        raise Refusal(
            "choice",
            where="lesson",
            found=f"{card.lesson!r}, which has no table for a bench card",
            must_be=either(_tables()),
        )
    for size, row_mm in _FITS:
        page = _drawn(card, units, size, row_mm)
        if page.pages_count == 1:
            return bytes(page.output())
    raise Refusal(
        "large",
        where=f"part 'At the bench' of lesson {card.lesson}",
        found="longer than one page",
        must_be="short enough for one",
    )


def _drawn(card: Card, units: str, size: float, row_mm: float) -> FPDF:
    page = paper(f"Bench card {card.lesson}: {card.title}", units)
    page.start_section(f"{card.lesson} {card.title}")
    say(page, f"{card.lesson}  {card.title}", 18, "B")
    say(page, card.question, size, after=2)
    say(page, "Name: ____________________     Date: ______________     Body: ____________________", size, after=3)
    for step in card.steps:
        say(page, step, size, after=1, hang=bool(re.match(r"\d+\. |- ", step)))
    page.ln(2)
    _fill_in(page, card.lesson, units, min(size, 9.5), row_mm)
    page.ln(3)
    _caution_box(page, card, size)
    return page


def _fill_in(page: FPDF, lesson: str, units: str, size: float, row_mm: float) -> None:
    heads, first = _tables()[lesson].heads, _tables()[lesson].first
    wide = min(max(1.2 if not all(first) else 0, max(len(words) for words in first) / 10 + 0.5), 2.2)
    rows = [[words, *[""] * (len(heads) - 1)] for words in first]
    ruled(page, [h.format(**_UNITS[units]) for h in heads], rows, (wide, *[1] * (len(heads) - 1)), size, row_mm)


def _caution_box(page: FPDF, card: Card, size: float) -> None:
    """Cautions between two thick rules, so that they are found without colour."""
    page.set_line_width(0.8)
    page.line(EDGE_MM, page.get_y(), page.w - EDGE_MM, page.get_y())
    page.ln(2)
    for words in card.cautions:
        say(page, words, min(size, 10), hang=words.startswith("- "))
    page.line(EDGE_MM, page.get_y(), page.w - EDGE_MM, page.get_y())
    page.set_line_width(0.2)


def write_cards(out: Path, lessons: Sequence[str] = (), units: str = "mm") -> list[Path]:
    """Write the cards of the named lessons, or of all that have a bench part.

    `out`: made where it is not there.
    """
    paths = [p for p in find(lessons) if lessons or p.name[:2] in _tables()]
    drawn = {p.stem: card_pdf(card_of(p), units) for p in paths}
    out.mkdir(parents=True, exist_ok=True)
    for name, data in drawn.items():
        write_whole(out / f"{name}.pdf", data)
    return [out / f"{name}.pdf" for name in drawn]


def write_own_card(out: Path, readings: Path, units: str = "mm") -> list[Path]:
    """Write the card that matches the entry grid of a learner's own stations, cell by cell.

    `readings`: a file of readings, or of places that wait to be read.
    """
    data, name = bytes_of(readings)
    drawn = entry_card_pdf(text_of(data, name), units)
    out.mkdir(parents=True, exist_ok=True)
    write_whole(out / f"{readings.stem}_card.pdf", drawn)
    return [out / f"{readings.stem}_card.pdf"]
