"""A card to print that matches an entry grid cell by cell, for a pencil at the bench."""

from __future__ import annotations

from pathlib import Path

import matplotlib
from fpdf import FPDF
from fpdf.fonts import FontFace

from simulate.core.refusal import Refusal, either
from simulate.readings.entry.cell_grid import EntryGrid, entry_grid
from simulate.readings.entry.head_words import (
    block_words,
    column_words,
    corner_words,
    row_words,
    takes_intervals,
    unit_words,
)
from simulate.readings.table.cell_words import said_of
from simulate.readings.table.tidying import DARK_UM
from simulate.show.units.finding_words import KIND_WORDS

PAGES = {"mm": "A4", "inch": "letter"}
_FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
_EDGE_MM, _ROW_MM, _WIDEST = 14.0, 8.0, 9
_GREY, _HEAD = (215, 215, 215), (232, 236, 240)


_COUNTS = "Count how often the gap was seen open."
_BY_COLUMN = "Every cell in the unit of its column heading."


class _Card(FPDF):
    """Paper with page numbers."""

    def footer(self) -> None:
        self.set_y(-11)
        self.set_font("plain", size=8)
        self.cell(0, 5, f"Page {self.page_no()} of {{nb}}", align="C")


def entry_card_pdf(text: str, units: str = "mm") -> bytes:
    """Draw the grid of a text of readings as a card to fill in.

    `text`: of readings, read or laid out; what is typed there already is not printed. `units`: ``"mm"`` for A4,
    ``"inch"`` for letter paper; figures stay in the units of the text. Returns: a PDF of one page or more, the heads on
    each; turned where it is wide. Name, date and round are written by hand.

    >>> entry_card_pdf("lower,upper,position_mm,gap_um\\n# not read: A,B,0,\\n")[:5]
    b'%PDF-'
    """
    if units not in PAGES:
        raise Refusal("choice", where="units", found=f"{units!r}", must_be=either(PAGES))
    grid = entry_grid(text)
    wide = len(grid.across)
    if wide > 2 * _WIDEST:
        raise Refusal(
            "count",
            where="the card",
            found=f"{wide} columns",
            must_be=f"at most {2 * _WIDEST}",
            do="Print one round at a time",
        )
    page = _Card(format=PAGES[units], orientation="landscape" if wide > _WIDEST - 2 else "portrait")
    for style, file in (("", "DejaVuSans.ttf"), ("B", "DejaVuSans-Bold.ttf")):
        page.add_font("plain", style, _FONTS / file)
    title = f"To read: {KIND_WORDS[grid.kind]}"
    page.set_title(title)
    page.set_lang("en")
    page.set_margin(_EDGE_MM)
    page.set_auto_page_break(True, _EDGE_MM)
    page.add_page()
    page.start_section(title)
    _say(page, title, 16, "B")
    _say(
        page,
        "Name: ____________________     Date: ______________     Round: ______     Warm or cold: ______________",
        10,
    )
    _say(page, _how(grid, text), 9.5)
    _table(page, grid, text)
    _say(
        page,
        "Before you cut metal: this card is not safety training; the rules of your shop and the person responsible "
        "for it come first.",
        9,
    )
    return bytes(page.output())


def _say(page: FPDF, text: str, size: float, style: str = "") -> None:
    page.set_font("plain", style, size)
    page.multi_cell(0, size * 0.45, text, new_x="LMARGIN", new_y="NEXT", align="L")
    page.ln(2)


def _how(grid: EntryGrid, text: str) -> str:
    """The unit, what a cell may say, and what words and divisions stand for."""
    said, unit = said_of(text.splitlines()), unit_words(grid, text)
    told = [f"Every cell in {unit}." if unit else _COUNTS if grid.kind == "wedge" else _BY_COLUMN]
    if takes_intervals(grid):
        between = "-30 to -10" if grid.kind == "lands" else "50-100"
        dark = "" if grid.kind == "lands" else f", dark (at most {said.dark_um or DARK_UM:g} µm)"
        told.append(f"A figure, or {between}, <30, >1000{dark}.")
    if said.film_um:
        told.append(f"x where it printed, a dot where it did not; the film is {said.film_um:g} µm thick.")
    return " ".join(told)


def _table(page: FPDF, grid: EntryGrid, text: str) -> None:
    """The grid with empty cells; what is shut on the screen is grey."""
    size = 9.0 if len(grid.across) <= _WIDEST else 7.0
    page.set_font("plain", "", size)
    heads = [column_words(grid, c) for c in range(len(grid.across))]
    unit = unit_words(grid, text)
    longest = max(len(row_words(grid, r)) for r in range(len(grid.down)))
    first = min(max(1.0, max(longest, len(corner_words(grid))) / 9), 2.5)
    block = ""
    with page.table(
        line_height=size * 0.45,
        min_row_height=_ROW_MM,
        col_widths=(first, *[1.0] * len(heads)),
        headings_style=FontFace(emphasis="BOLD", fill_color=_HEAD),
        text_align="LEFT",
        padding=(0.6, 1.5),
    ) as table:
        table.row([corner_words(grid), *(f"{head}{f' ({unit})' if unit else ''}" for head in heads)])
        for r, places in enumerate(grid.places):
            if block_words(grid, r) != block:
                block = block_words(grid, r)
                table.row().cell(block, colspan=len(heads) + 1, style=FontFace(emphasis="BOLD", fill_color=_HEAD))
            row = table.row()
            row.cell(row_words(grid, r))
            for place in places:
                row.cell("", style=FontFace(fill_color=_GREY) if place.closed else None)
