"""What a report holds, before it becomes a page or a PDF: chapters, sentences, tables, pictures with words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from simulate.readings.logbook.entry import Entry, history
from simulate.readings.logbook.log_findings import WorkedOut, worked_out
from simulate.readings.logbook.standing import Standing, standings_of
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.rounds.beside import Beside, beside
from simulate.readings.table.readings import SLOPES
from simulate.show.drawing import style
from simulate.show.own.beside_words import beside_words
from simulate.show.own.pictures.finding_pictures import finding_picture, picture_words
from simulate.show.own.pictures.progress_picture import progress_picture, progress_words
from simulate.show.own.pictures.standing_picture import standing_picture
from simulate.show.own.workshop.standing_sheet import HEADING, standing_rows, standing_words
from simulate.show.units.finding_words import KIND_WORDS, spoken, spoken_table

HANDS = (
    "Hands are at risk in this work. Keep a tight handle on every tang; never pry with a file, and never strike one. "
    "Clamp work low and firm between soft jaws.",
    "Protect your eyes; brush filings away, and never blow. Break edges before you handle a body. "
    "Lift plates with help, and slide them apart with no fingers between.",
    "This report is neither a certificate nor safety training: it follows from the readings that "
    "were written down. The "
    "rules of your own workshop and the person responsible for it come first.",
)
_DPI = 120
CAUTIONS = "Cautions"
APPENDIX = "Appendix: every place, the readings as they were taken, and sets that later ones replace"


@dataclass(frozen=True)
class Table:
    """A table with its caption; the first cell of a row names it."""

    caption: str
    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Part:
    """One part of a chapter: a head, sentences, and perhaps a table, a picture or a text as it was typed.

    `long` is True for what a panel folds away, `appendix` for what a report puts at its end, where it can be left out.
    """

    heading: str
    sentences: tuple[str, ...] = ()
    table: Table | None = None
    png: bytes = b""
    alt: str = ""
    plain: str = ""
    long: bool = False
    appendix: bool = False


@dataclass(frozen=True)
class Chapter:
    """What one set of readings says."""

    heading: str
    lead: tuple[str, ...]
    parts: tuple[Part, ...]


@dataclass(frozen=True)
class Content:
    """A whole report: where the job stands, the sets that this rests on, and an appendix that can be left out."""

    title: str
    lead: tuple[str, ...]
    chapters: tuple[Chapter, ...]
    cautions: tuple[str, ...]
    standing: tuple[Part, ...] = ()
    appendix: tuple[Chapter, ...] = ()


def content(
    entries: Sequence[Entry],
    units: str = "mm",
    made: str = "",
    title: str = "Report on my own readings",
    appendix: bool = True,
) -> Content:
    """Work out what a report on a logbook holds.

    `entries`: of a logbook; those that are struck out are named and not worked out. `made`: the date, as it stands on
    the report. `appendix`: whether every place, the readings as they were typed, and sets that later ones of the same
    bodies replace are told at the end. Returns: readings that are refused have a chapter that says why.

    >>> got = content([Entry("gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n", "eye.csv")])
    >>> got.chapters[0].heading
    '1. eye.csv: wedge test of the eye'
    """
    worked = worked_out(entries)
    chapters = [_chapter(one, units) for one in worked]
    struck = [f"{number} ({entry.name})" for number, entry in enumerate(entries, 1) if entry.struck]
    count = len(chapters)
    lead = [
        f"{count} set{'s' if count != 1 else ''} of readings" + (f", worked out on {made}." if made else "."),
        "Heights are in thou (thousandths of an inch) and places in inches."
        if units == "inch"
        else "Heights are in micrometres (µm) and places in millimetres.",
        "Positive stands proud: metal that has to come off.",
    ]
    if struck:
        lead.append(f"Struck out in the logbook and not worked out here: {', '.join(struck)}.")
    standings = standings_of(worked)
    last = {one.number for one in standings}
    numbers = [one.number for one in worked]
    cautions = dict.fromkeys(
        words for chapter in chapters for part in chapter.parts if part.heading == CAUTIONS for words in part.sentences
    )
    chapters = [replace(one, parts=tuple(p for p in one.parts if p.heading != CAUTIONS)) for one in chapters]
    front = [_without(chapter, False) for number, chapter in zip(numbers, chapters) if number in last]
    behind = [_without(chapter, True) if number in last else chapter for number, chapter in zip(numbers, chapters)]
    return Content(
        title,
        tuple(lead),
        tuple(front),
        (*cautions, *HANDS),
        standing_parts(standings, units),
        tuple(behind) if appendix else (),
    )


def _without(chapter: Chapter, appendix: bool) -> Chapter:
    """Keep of a chapter what belongs to the appendix, or what does not."""
    kept = tuple(part for part in chapter.parts if part.appendix == appendix)
    return replace(chapter, parts=kept, lead=() if appendix else chapter.lead)


def standing_parts(standings: Sequence[Standing], units: str) -> tuple[Part, ...]:
    """Give the page that says where a job stands, as parts of a report."""
    table = Table("Each body by its latest readings", HEADING, standing_rows(standings, units))
    drawn = any(one.value is not None for one in standings)
    return (
        Part(
            "Where the job stands",
            standing_words(standings, units),
            table if standings else None,
            standing_picture(standings, units, _DPI).paint() if drawn else b"",
            "Each body on a line of its own: how far out it is, how far out it may be (95 %), what is wanted, and "
            "what it depends on."
            if drawn
            else "",
        ),
    )


def _chapter(one: WorkedOut, units: str) -> Chapter:
    number, entry, found = one.number, one.entry, one.found
    typed = Part("The readings as they were taken", plain=entry.readings.strip(), appendix=True)
    if found is None or one.table is None:
        return Chapter(
            f"{number}. {entry.name}: not worked out",
            _lead(entry, None, units),
            (Part("Why not", (spoken(str(one.refusal), units),)), typed),
        )
    rounds = sorted(set(one.table.round.tolist()))
    several = f", round {found.round} of {', '.join(map(str, rounds))}" if len(rounds) > 1 else ""
    return Chapter(
        f"{number}. {entry.name}: {KIND_WORDS[found.kind]}{several}",
        _lead(entry, found.kind, units),
        (*finding_parts(found, units), typed),
    )


def _lead(entry: Entry, kind: str | None, units: str) -> tuple[str, ...]:
    said = []
    if entry.note:
        said.append(f"Note: {entry.note}")
    if entry.taken:
        said.append(f"Taken: {entry.taken}.")
    if entry.written:
        edits = len(history(entry)) - 1
        said.append(
            f"In the logbook since {history(entry)[0].written[:10] or 'an older version'}"
            + (f", edited {edits} time{'s' if edits > 1 else ''}." if edits else ".")
        )
    if entry.reading_sd_um and kind != "wedge":
        spread = (
            f"{entry.reading_sd_um:g} seconds of arc" if kind in SLOPES else style.spell(entry.reading_sd_um, units)
        )
        said.append(f"Repeatability of one reading, as given: {spread}.")
    stated = [
        f"{name} {spell(value, units)}"
        for name, value, spell in (
            ("feel of blades", entry.feel_um, style.spell),
            ("place of a blade", entry.place_mm, style.spell_place),
            ("smallest step of a reading", entry.resolution_um, style.spell),
        )
        if value is not None
    ]
    if stated:
        said.append(f"As stated: {', '.join(stated)}.")
    if entry.target_um:
        said.append(f"Wanted: {style.spell(entry.target_um, units)}.")
    return tuple(said)


def finding_parts(found: Findings, units: str = "mm", picture: bool = True, rounds: bool = True) -> tuple[Part, ...]:
    """Part what readings say into what a reader looks for.

    `picture`: false leaves out the picture of the bodies; that of progress stays. `rounds`: false leaves out how the
    work gets on (`rounds_part`).
    """

    def said(sentences: Sequence[str]) -> tuple[str, ...]:
        return tuple(spoken(sentence, units) for sentence in sentences)

    agree = found.consistency.sentences if found.consistency else ()
    own, names = found.progress, getattr(found.solution, "names", ())
    later = {
        *agree,
        found.next.sentence if found.next else "",
        found.stop.sentence if found.stop else "",
        *(own.sentences if own else ()),
    }
    parts = (
        [Part("Picture", png=finding_picture(found, units, _DPI).paint(), alt=picture_words(found))] if picture else []
    )
    if found.slips:
        parts.append(Part("Slips that were noticed", said([slip.sentence for slip in found.slips])))
    parts.append(
        Part(
            "What the readings say",
            said([s for s in found.sentences if s not in later]),
            _table("Results", found.heading, found.rows, units, names),
        )
    )
    if agree:
        parts.append(Part("How well the readings agree", said(agree)))
    parts.append(Part("What is not known", said(found.hidden)))
    if found.next:
        parts.append(Part("What to read next", said([found.next.sentence])))
    if found.cut or found.stop:
        parts.append(
            Part("Whether to cut next, and where", said([*found.cut, *([found.stop.sentence] if found.stop else [])]))
        )
    progress = rounds_part(found, units) if rounds else None
    if progress is not None:
        parts.append(progress)
    parts.append(Part(CAUTIONS, said(found.cautions)))
    if found.detail_rows:
        parts.append(
            Part(
                "Every place",
                (),
                _table("Every place that was read", found.detail_heading, found.detail_rows, units, names),
                long=True,
                appendix=True,
            )
        )
    return tuple(parts)


def rounds_part(
    found: Findings, units: str = "mm", share: float | None = None, hands_um: float | None = None
) -> Part | None:
    """Say how the work gets on over the learner's rounds, beside simulated workshops.

    `share`, `hands_um`: as `beside` takes them. Returns: none where one round, or none, can be compared.
    """
    own = found.progress
    if own is None or own.band_um is None or found.rounds is None:
        return None
    told = beside(found.rounds, own, share, hands_um)
    drawn = told if isinstance(told, Beside) else None
    return Part(
        "Progress over your rounds",
        (*beside_words(told, units), *(spoken(sentence, units) for sentence in own.sentences)),
        png=progress_picture(own, units, _DPI, drawn).paint(),
        alt=progress_words(own, units, drawn),
    )


def _table(
    caption: str, heading: Sequence[str], rows: Sequence[Sequence[str]], units: str, names: Sequence[str] = ()
) -> Table:
    heads, cells = spoken_table(heading, rows, units, names)
    return Table(caption, tuple(heads), tuple(tuple(row) for row in cells))
