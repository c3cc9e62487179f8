"""What a report holds, before it becomes a page or a PDF: chapters, sentences, tables, pictures with words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulate.core.refusal import Refusal
from simulate.readings.entry import Entry, history
from simulate.readings.findings_record import Findings
from simulate.readings.log_findings import log_findings
from simulate.readings.table import read_readings
from simulate.show import style
from simulate.show.finding_pictures import finding_picture, picture_words
from simulate.show.finding_words import KIND_WORDS, spoken, spoken_table
from simulate.show.progress_picture import progress_picture, progress_words

HANDS = ("Hands are at risk in this work: a handle sits tight on every tang, a file never pries and is never struck, work is "
         "clamped low and firm between soft jaws.",
         "Eyes are protected, filings are brushed away and never blown, edges are broken before a body is handled, plates are "
         "lifted with help and slid apart with no fingers between.",
         "This report is no certificate and no safety training: it follows from the readings that were written down, and the "
         "rules of your own workshop and the person responsible for it come first.")
_DPI = 120


@dataclass(frozen=True)
class Table:
    """A table with its caption; the first cell of a row names it."""

    caption: str
    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Part:
    """One part of a chapter: a head, sentences, and perhaps a table, a picture or a text as it was typed.

    `long` is True for what a panel folds away.
    """

    heading: str
    sentences: tuple[str, ...] = ()
    table: Table | None = None
    png: bytes = b""
    alt: str = ""
    plain: str = ""
    long: bool = False


@dataclass(frozen=True)
class Chapter:
    """What one set of readings says."""

    heading: str
    lead: tuple[str, ...]
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Content:
    """A whole report."""

    title: str
    lead: tuple[str, ...]
    chapters: tuple[Chapter, ...]
    cautions: tuple[str, ...]


def content(entries: Sequence[Entry], units: str = "mm", made: str = "", title: str = "Report on my own readings") -> Content:
    """Work out what a report on a logbook holds.

    Parameters
    ----------
    entries : sequence of Entry
        Of a logbook; those that are struck out are named and not worked out.
    units : str
    made : str
        The date, as it stands on the report.
    title : str

    Returns
    -------
    Content
        Readings that are refused have a chapter that says why.

    Examples
    --------
    >>> got = content([Entry("gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n", "eye.csv")])
    >>> got.chapters[0].heading
    '1. eye.csv: wedge test of the eye'
    """
    chapters, struck = [], []
    for number, entry in enumerate(entries, 1):
        if entry.struck:
            struck.append(f"{number} ({entry.name})")
        else:
            chapters.append(_chapter(number, entry, entries[: number - 1], units))
    count = len(chapters)
    lead = [f"{count} set{'s' if count != 1 else ''} of readings" + (f", worked out on {made}." if made else "."),
            "Heights are in thou (thousandths of an inch) and places in inches." if units == "inch" else
            "Heights are in micrometres (µm) and places in millimetres.", "Positive stands proud: metal that has to come off."]
    if struck:
        lead.append(f"Struck out in the logbook and not worked out here: {', '.join(struck)}.")
    return Content(title, tuple(lead), tuple(chapters), HANDS)


def _chapter(number: int, entry: Entry, before: Sequence[Entry], units: str) -> Chapter:
    typed = Part("The readings as they were taken", plain=entry.readings.strip())
    try:
        table = read_readings(entry.readings.encode(), entry.name)
        rounds = sorted(set(table.round.tolist()))
        found = log_findings(table, before, entry.reading_sd_um, target_um=entry.target_um)
    except Refusal as refusal:
        return Chapter(f"{number}. {entry.name}: not worked out", _lead(entry, None, units), (
            Part("Why not", (spoken(str(refusal), units),)), typed))
    several = f", round {found.round} of {', '.join(map(str, rounds))}" if len(rounds) > 1 else ""
    return Chapter(f"{number}. {entry.name}: {KIND_WORDS[found.kind]}{several}", _lead(entry, found.kind, units),
                   (*finding_parts(found, units), typed))


def _lead(entry: Entry, kind: str | None, units: str) -> tuple[str, ...]:
    said = []
    if entry.note:
        said.append(f"Note: {entry.note}")
    if entry.taken:
        said.append(f"Taken: {entry.taken}.")
    if entry.written:
        edits = len(history(entry)) - 1
        said.append(f"In the logbook since {history(entry)[0].written[:10] or 'an older version'}"
                    + (f", edited {edits} time{'s' if edits > 1 else ''}." if edits else "."))
    if entry.reading_sd_um and kind != "wedge":
        spread = f"{entry.reading_sd_um:g} seconds of arc" if kind == "union jack" else style.spell(entry.reading_sd_um, units)
        said.append(f"Spread of one reading, as given: {spread}.")
    if entry.target_um:
        said.append(f"Wanted: {style.spell(entry.target_um, units)}.")
    return tuple(said)


def finding_parts(found: Findings, units: str = "mm", picture: bool = True) -> tuple[Part, ...]:
    """Part what readings say into what a reader looks for.

    Parameters
    ----------
    found : Findings
    units : str
    picture : bool
        False leaves out the picture of the bodies; that of progress stays.

    Returns
    -------
    tuple of Part
    """
    def said(sentences: Sequence[str]) -> tuple[str, ...]:
        return tuple(spoken(sentence, units) for sentence in sentences)

    agree = found.consistency.sentences if found.consistency else ()
    own = found.progress
    later = {*agree, found.next.sentence if found.next else "", found.stop.sentence if found.stop else "", *(own.sentences if own else ())}
    parts = [Part("Picture", png=finding_picture(found, units, _DPI).paint(), alt=picture_words(found))] if picture else []
    if found.slips:
        parts.append(Part("Slips that were noticed", said([slip.sentence for slip in found.slips])))
    parts.append(Part("What the readings say", said([s for s in found.sentences if s not in later]),
                      _table("Results", found.heading, found.rows, units)))
    if agree:
        parts.append(Part("How well the readings agree", said(agree)))
    parts.append(Part("What is not known", said(found.hidden)))
    if found.next:
        parts.append(Part("What to read next", said([found.next.sentence])))
    if found.cut or found.stop:
        parts.append(Part("Where to cut next, and whether", said([*found.cut, *([found.stop.sentence] if found.stop else [])])))
    if own is not None and own.band_um is not None:
        parts.append(Part("Progress over your rounds", said(own.sentences), png=progress_picture(own, units, _DPI).paint(),
                          alt=progress_words(own, units)))
    parts.append(Part("Cautions", said(found.cautions)))
    if found.detail_rows:
        parts.append(Part("Every place", (), _table("Every place that was read", found.detail_heading, found.detail_rows, units), long=True))
    return tuple(parts)


def _table(caption: str, heading: Sequence[str], rows: Sequence[Sequence[str]], units: str) -> Table:
    heads, cells = spoken_table(heading, rows, units)
    return Table(caption, tuple(heads), tuple(tuple(row) for row in cells))
