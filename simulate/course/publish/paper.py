"""Paper to print: sheets in one hand, with words freed of a notebook's marks, rows that stay whole and heads that stay
with what follows them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from fpdf import FPDF
from fpdf.fonts import FontFace
from matplotlib import get_data_path

from simulate.core.refusal import Refusal, either

PAGES = {"mm": "A4", "inch": "letter"}
EDGE_MM = 14.0
HEADS = FontFace(emphasis="BOLD", fill_color=(232, 236, 240))
_LINE = 0.45
"""Height of a line in mm for each point of its letters."""


class Paper(FPDF):
    """Sheets whose foot says what they are and which of how many, where they are numbered."""

    numbered = False

    def footer(self) -> None:
        if self.numbered:
            self.set_y(-11)
            self.set_font("plain", size=8)
            self.cell(0, 5, f"{self.title}, page {self.page_no()} of {{nb}}", align="C")


def paper(title: str, units: str = "mm", numbered: bool = False) -> Paper:
    """Return paper with its first page begun.

    `units`: ``"mm"`` for A4, ``"inch"`` for letter paper.
    """
    if units not in PAGES:
        raise Refusal("choice", where="units", found=f"{units!r}", must_be=either(PAGES))
    page = Paper(format=PAGES[units])
    page.numbered = numbered
    for style, file in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        page.add_font("plain", style, Path(get_data_path(), "fonts", "ttf", file))
    page.set_title(title)
    page.set_lang("en")
    page.set_margin(EDGE_MM)
    page.set_auto_page_break(True, EDGE_MM)
    page.add_page()
    return page


def plain(text: str) -> str:
    """Take the marks of a notebook out of a text.

    >>> plain("the *Guide* in `lesson` [16](16.ipynb), **whole**")
    'the Guide in lesson 16, whole'
    """
    text = re.sub(r"\[([^\]]+)\]\([^)]+\)", r"\1", text)
    return " ".join(re.sub(r"\*+|`|\$", "", text).split())


def say(page: FPDF, text: str, size: float, style: str = "", after: float = 1, hang: bool = False) -> None:
    """Write a paragraph; with `hang` its first word, a number or a dash, stands before it."""
    page.set_font("plain", style, size)
    mark, rest = text.split(" ", 1) if hang else ("", text)
    if hang:
        page.cell(7, size * _LINE, "•" if mark == "-" else mark)
    page.multi_cell(0, size * _LINE, rest, new_x="LMARGIN", new_y="NEXT", align="L")
    page.ln(after)


def head(page: FPDF, text: str, room_mm: float = 40.0, size: float = 13) -> None:
    """Write a heading, on the next page where less than `room_mm` would be left below it."""
    if page.get_y() + room_mm > page.page_break_trigger:
        page.add_page()
    page.start_section(text)
    say(page, text, size, "B", after=1.5)


def ruled(
    page: FPDF,
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    wide: Sequence[float],
    size: float = 8.5,
    row_mm: float = 0.0,
) -> None:
    """Write a table: its heads again on every page, no row torn.

    `rows`: an empty cell is one to write in. `wide`: widths of the columns, as parts of each other. `row_mm`: least
    height of a row.
    """
    page.set_font("plain", "", size)
    with page.table(
        line_height=size * _LINE,
        min_row_height=row_mm,
        col_widths=tuple(wide),
        headings_style=HEADS,
        text_align="LEFT",
        padding=(0.6, 1.5),
    ) as table:
        table.row(list(heads))
        for cells in rows:
            table.row(list(cells))
