"""Bench cards: one printed page a lesson, with its steps, a table to fill in, and the cautions.

    python -m simulate.show.cards OUT_FOLDER [LESSON ...] [--inch]

Steps and cautions are read out of the lesson's own notebook, so that there is
no second copy of them that could differ.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import nbformat
from fpdf import FPDF
from fpdf.fonts import FontFace
from matplotlib import get_data_path

from simulate.core.refusal import Refusal, either
from simulate.readings.logbook import write_whole
from simulate.show.card_tables import TABLES
from simulate.show.refresh import LESSONS, find

PAGES = {"mm": "A4", "inch": "letter"}
_UNITS = {"mm": {"small": "µm", "long": "mm"}, "inch": {"small": "thou", "long": "in"}}
_FITS = tuple((size, row_mm) for size in (12, 11, 10, 9, 8) for row_mm in (9.0, 7.5))
"""Points of the letters and height of a row to write in, largest first: the first that leaves one page is taken."""
_EDGE_MM = 14.0


@dataclass(frozen=True)
class Card:
    """What stands on a bench card.

    Attributes
    ----------
    lesson : str
        Two digits.
    title, question : str
    steps : tuple of str
        Paragraphs and numbered steps, in the order of the lesson.
    cautions : tuple of str
    """

    lesson: str
    title: str
    question: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


def card_of(path: Path) -> Card:
    """Read a card out of a lesson.

    Parameters
    ----------
    path : Path

    Returns
    -------
    Card

    Raises
    ------
    ValueError
        Where the lesson has no part "At the bench", or no cautions in it.

    Examples
    --------
    >>> card_of(find(["04"])[0]).steps[0][:22]
    '1. Number the bars and'
    """
    text = "\n\n".join(c.source for c in nbformat.read(path, as_version=4).cells if c.cell_type == "markdown")
    title = re.search(r"^# (?:\d\d )?(.+)$", text, re.MULTILINE)
    bench = _part(text, "At the bench")
    blocks = _blocks(bench)
    first = next((i for i, block in enumerate(blocks) if re.match(r"(\*\*Cautions|The cautions)", block)), None)
    if not title or not bench or first is None:
        raise Refusal("missing", where=path.name, found="no part 'At the bench' with cautions",
                      must_be="both, for a bench card")
    return Card(path.name[:2], _plain(title[1]), _plain(_blocks(_part(text, "The question"))[0]),
                tuple(map(_plain, blocks[:first])), tuple(map(_plain, blocks[first:])))


def _part(text: str, head: str) -> str:
    """Return what stands under a heading, down to the next heading of any level."""
    found = re.search(rf"^## {head}\s*$(.*?)(?=^#{{2,6}} |\Z)", text, re.MULTILINE | re.DOTALL)
    return found[1].strip() if found else ""


def _blocks(text: str) -> list[str]:
    """Paragraphs, numbered steps and points of a list, one each; tables and drawings are left to the lesson."""
    joined = re.sub(r"\n(?!\s*(?:\d+\. |- |\n|\|))\s*", " ", text)
    lines = (line.strip() for line in joined.splitlines())
    return [line for line in lines if line and not line.startswith(("|", "!["))]


def _plain(text: str) -> str:
    """Take the marks of a notebook out of a text."""
    text = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", text)
    return " ".join(re.sub(r"\*+|`|\$", "", text).split())


def card_pdf(card: Card, units: str = "mm") -> bytes:
    """Draw a card as a PDF of one page.

    Parameters
    ----------
    card : Card
    units : str
        ``"mm"`` for A4 and metric heads, ``"inch"`` for letter paper, thou and inches.

    Returns
    -------
    bytes

    Raises
    ------
    ValueError
        Where there is no table for the lesson, or even the smallest letters do not fit on one page.
    """
    if card.lesson not in TABLES:
        raise Refusal("choice", where="lesson", found=f"{card.lesson!r}, which has no table for a bench card",
                      must_be=either(TABLES))
    if units not in PAGES:
        raise Refusal("choice", where="units", found=f"{units!r}", must_be=either(PAGES))
    for size, row_mm in _FITS:
        page = _drawn(card, units, size, row_mm)
        if page.pages_count == 1:
            return bytes(page.output())
    raise Refusal("large", where=f"part 'At the bench' of lesson {card.lesson}", found="longer than one page",
                  must_be="short enough for one")


def _drawn(card: Card, units: str, size: float, row_mm: float) -> FPDF:
    page = FPDF(format=PAGES[units])
    for style, file in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        page.add_font("plain", style, Path(get_data_path(), "fonts", "ttf", file))
    page.set_title(f"Bench card {card.lesson}: {card.title}")
    page.set_lang("en")
    page.set_margin(_EDGE_MM)
    page.set_auto_page_break(True, _EDGE_MM)
    page.add_page()
    page.start_section(f"{card.lesson} {card.title}")
    _say(page, f"{card.lesson}  {card.title}", 18, "B")
    _say(page, card.question, size, after=2)
    _say(page, "Name: ____________________     Date: ______________     Body: ____________________", size, after=3)
    for step in card.steps:
        _say(page, step, size, after=1, hang=bool(re.match(r"\d+\. |- ", step)))
    page.ln(2)
    _fill_in(page, card.lesson, units, min(size, 9.5), row_mm)
    page.ln(3)
    _caution_box(page, card, size)
    return page


def _say(page: FPDF, text: str, size: float, style: str = "", after: float = 1, hang: bool = False) -> None:
    page.set_font("plain", style, size)
    mark, rest = text.split(" ", 1) if hang else ("", text)
    if hang:
        page.cell(7, size * 0.45, "•" if mark == "-" else mark)
    page.multi_cell(0, size * 0.45, rest, new_x="LMARGIN", new_y="NEXT", align="L")
    page.ln(after)


def _fill_in(page: FPDF, lesson: str, units: str, size: float, row_mm: float) -> None:
    heads, first = TABLES[lesson]
    page.set_font("plain", "", size)
    wide = min(max(1.2 if not all(first) else 0, max(len(words) for words in first) / 10 + 0.5), 2.2)
    with page.table(line_height=size * 0.45, min_row_height=row_mm, col_widths=(wide, *[1] * (len(heads) - 1)),
                    headings_style=FontFace(emphasis="BOLD", fill_color=(232, 236, 240)), text_align="LEFT",
                    padding=(0.6, 1.5)) as table:
        table.row([head.format(**_UNITS[units]) for head in heads])
        for words in first:
            table.row([words, *[""] * (len(heads) - 1)])


def _caution_box(page: FPDF, card: Card, size: float) -> None:
    """Cautions between two thick rules, so that they are found without colour."""
    page.set_line_width(0.8)
    page.line(_EDGE_MM, page.get_y(), page.w - _EDGE_MM, page.get_y())
    page.ln(2)
    for words in card.cautions:
        _say(page, words, min(size, 10), hang=words.startswith("- "))
    page.line(_EDGE_MM, page.get_y(), page.w - _EDGE_MM, page.get_y())
    page.set_line_width(0.2)


def write_cards(out: Path, lessons: Sequence[str] = (), units: str = "mm") -> list[Path]:
    """Write the cards of the named lessons, or of all that have a bench part.

    Parameters
    ----------
    out : Path
        Made where it is not there.
    lessons : sequence of str
    units : str

    Returns
    -------
    list of Path

    Raises
    ------
    ValueError
        Where a lesson is not there, a card does not fit, or the folder refuses.
    """
    paths = [p for p in find(lessons) if lessons or p.name[:2] in TABLES]
    drawn = {p.stem: card_pdf(card_of(p), units) for p in paths}
    out.mkdir(parents=True, exist_ok=True)
    for name, data in drawn.items():
        write_whole(out / f"{name}.pdf", data)
    return [out / f"{name}.pdf" for name in drawn]


def main(arguments: Sequence[str]) -> int:
    """Write bench cards; return 0 where that went well.

    Parameters
    ----------
    arguments : sequence of str

    Returns
    -------
    int
    """
    plain = [a for a in arguments if a != "--inch"]
    if not plain:
        print(__doc__.split("\n\n")[1].strip(), file=sys.stderr)
        return 2
    try:
        written = write_cards(Path(plain[0]), plain[1:], "inch" if "--inch" in arguments else "mm")
    except (Refusal, OSError) as refused:
        print(refused, file=sys.stderr)
        return 2
    print(f"{len(written)} bench cards written to {plain[0]}.")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
