"""A report as a PDF: real text, an outline, pictures with words for those who do not see them."""

from __future__ import annotations

import io
from datetime import datetime
from pathlib import Path

import matplotlib
from fpdf import FPDF, ViewerPreferences
from fpdf.enums import XPos, YPos
from fpdf.fonts import FontFace

from simulate.show.own.workshop.report_content import APPENDIX, Chapter, Content, Part, Table

_FONTS = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
_BODY, _SMALL, _LINE = 10.5, 8.5, 5.2


class _Paper(FPDF):
    """A4 with page numbers."""

    def footer(self) -> None:
        self.set_y(-13)
        self.set_font("body", size=_SMALL)
        self.cell(0, 6, f"Page {self.page_no()} of {{nb}}", align="C")


def pdf(report: Content, made: datetime) -> bytes:
    """Give a report as a PDF.

    `made`: when it says that it was made; the same report made then has the same bytes.

    Pictures carry their words and the document its language, title and outline; running text is not tagged, so a
    screen reader takes it in the order in which it stands. Letters that DejaVu Sans has not come out as boxes.
    """
    paper = _Paper(format="A4")
    for style, name in (("", "DejaVuSans"), ("B", "DejaVuSans-Bold")):
        paper.add_font("body", style, str(_FONTS / f"{name}.ttf"))
    paper.add_font("typed", "", str(_FONTS / "DejaVuSansMono.ttf"))
    paper.set_title(report.title)
    paper.set_lang("en-GB")
    paper.set_creation_date(made)
    paper.viewer_preferences = ViewerPreferences(display_doc_title=True)
    paper.set_margins(18, 16)
    paper.set_auto_page_break(True, 18)
    paper.add_page()
    _heading(paper, report.title, 0)
    _sentences(paper, report.lead)
    for part in report.standing:
        _part(paper, part, 1)
    for chapter in report.chapters:
        _chapter(paper, chapter)
    _heading(paper, "Before any metal comes off", 1)
    _sentences(paper, report.cautions, True)
    if report.appendix:
        paper.add_page()
        _heading(paper, APPENDIX, 1)
    for chapter in report.appendix:
        _chapter(paper, chapter)
    return bytes(paper.output())


def _chapter(paper: FPDF, chapter: Chapter) -> None:
    _heading(paper, chapter.heading, 1)
    _sentences(paper, chapter.lead)
    for part in chapter.parts:
        _part(paper, part)


def _part(paper: FPDF, part: Part, level: int = 2) -> None:
    _heading(paper, part.heading, level)
    if part.png:
        paper.image(io.BytesIO(part.png), w=paper.epw, alt_text=part.alt)
        paper.ln(1)
        _sentences(paper, (part.alt,), size=_SMALL)
    _sentences(paper, part.sentences, len(part.sentences) > 1)
    if part.table:
        _table(paper, part.table)
    if part.plain:
        paper.set_font("typed", size=_SMALL)
        paper.multi_cell(0, 4.2, part.plain, new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")


def _heading(paper: FPDF, words: str, level: int) -> None:
    size, room = ((18, 40), (14, 60), (11.5, 30))[level]
    if paper.get_y() + room > paper.h - 18:
        paper.add_page()
    paper.ln((0, 3, 2.5)[level])
    paper.set_font("body", "B", size)
    paper.start_section(words, level)
    paper.multi_cell(0, size * 0.5, words, new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")
    paper.ln(1)


def _sentences(paper: FPDF, sentences: tuple[str, ...], dots: bool = False, size: float = _BODY) -> None:
    paper.set_font("body", size=size)
    for sentence in sentences:
        if dots:
            paper.cell(4, _LINE, "•")
        paper.multi_cell(0, _LINE, sentence, new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")
        paper.ln(0.6)


def _table(paper: FPDF, told: Table) -> None:
    paper.set_font("body", "B", _SMALL + 0.5)
    paper.multi_cell(0, _LINE, told.caption, new_x=XPos.LMARGIN, new_y=YPos.NEXT, align="L")
    paper.set_font("body", size=_SMALL)
    longest = [max(len(head) / 2, *(len(row[k]) for row in told.rows), 4) for k, head in enumerate(told.heading)]
    head = FontFace(emphasis="BOLD", fill_color=(230, 233, 237))
    with paper.table(
        headings_style=head, col_widths=tuple(longest), line_height=4.6, text_align="LEFT", padding=0.7
    ) as grid:
        for cells in (told.heading, *told.rows):
            line = grid.row()
            for cell in cells:
                line.cell(cell)
    paper.ln(1.5)
