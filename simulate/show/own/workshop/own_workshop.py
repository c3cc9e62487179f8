"""The learner's own workshop: readings of every kind in, one logbook, one report."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal, either
from simulate.readings.findings import STATED
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.log_findings import log_findings
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.columns import unit_written
from simulate.readings.table.csv_cells import text_of
from simulate.readings.table.demo import demo_path
from simulate.readings.table.readings import SLOPES
from simulate.readings.table.slip_record import Slip
from simulate.readings.table.units import SLOPE, Unit
from simulate.show.drawing import style
from simulate.show.own.entry.entry_box import KINDS
from simulate.show.own.known_box import Links
from simulate.show.own.pictures.finding_pictures import finding_picture, picture_words
from simulate.show.own.readings_panel import ReadingsPanel
from simulate.show.own.stated import FOUND, known_boxes, state, stated, stated_menu
from simulate.show.own.workshop.beside_box import BesideBox
from simulate.show.own.workshop.logbook_box import LogbookBox
from simulate.show.own.workshop.report import parts_html
from simulate.show.own.workshop.report_content import finding_parts
from simulate.show.units.finding_words import KIND_WORDS, spoken

EXAMPLES = {
    "bars": "demo_bars_light.csv",
    "lands": "demo_lands.csv",
    "plates": "demo_plates.csv",
    "squares": "demo_squares.csv",
    "union jack": "demo_survey.csv",
    "wedge": "demo_wedge.csv",
    "level": "demo_level.csv",
    "edge": "demo_edge.csv",
    "bed": "demo_bed.csv",
    "joint": "demo_joint.csv",
    "head": "demo_head.csv",
    "cross slide": "demo_cross_slide.csv",
    "one square": "demo_one_square.csv",
    "thickness": "demo_faces.csv",
}
"""Kind to the invented readings that show how it is written down."""

STATED_WORDS = {
    "feel_um": "Feel of blades, 1 SD",
    "place_mm": "Blade position, 1 SD",
    "resolution_um": "Smallest step read",
}
"""What a learner may state of the readings, to its label."""

_TABLES = """<style>
.workshop-tables { font-size: 15px; line-height: 1.45; max-width: 100%; }
.workshop-tables .widget-html-content { min-width: 0; width: 100%; white-space: normal; line-height: 1.45; }
.workshop-tables .widget-html-content > * { max-width: 66em; }
.workshop-tables table { border-collapse: collapse; }
.workshop-tables th, .workshop-tables td { border: 1px solid #777; padding: 2px 8px; text-align: left; }
.workshop-tables caption { text-align: left; font-weight: bold; }
.workshop-tables .wide { overflow-x: auto; }
.workshop-tables img { max-width: 100%; }
.workshop-tables summary:focus, .workshop-tables .wide:focus { outline: 3px solid #D55E00; outline-offset: 2px; }
</style>"""


class OwnWorkshopPanel(ReadingsPanel):
    """Readings of any kind in; what they say, what they hide, what comes next; a logbook and a report.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; by default the invented example.
    example : str, optional
        Kind of the invented example, one of `EXAMPLES`; by default that on which the panel opens.
    reading_sd : float, optional
        Spread of one reading in the learner's unit, of slopes in the unit of their file; without it the readings tell.
    target : float, optional
        How good the work has to be, in the learner's unit; without it as good as the readings can tell.
    logbook : str
        Where the logbook is kept.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> panel = OwnWorkshopPanel(example="wedge")
    >>> "threshold" in panel.sentence
    True
    """

    kinds = KINDS
    refers = True
    photographs = ("plates", "bars")
    at_hand = ("example", "reading_sd", "target", "reading_sd_given", "target_given")
    opens_on = "bars"
    """Kind of the invented example that is shown first."""

    def __init__(
        self,
        path=None,
        example: str | None = None,
        reading_sd: float | None = None,
        target: float | None = None,
        logbook: str = "my_logbook.json",
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        example = self.opens_on if example is None else example
        if example not in EXAMPLES:
            raise Refusal("choice", where="example", found=f"{example!r}", must_be=either(EXAMPLES))
        self.found: Findings | None = None
        self._example = example if path is None else ""
        self.demo = Path(demo_path(EXAMPLES[example]))
        self._load(path)
        self.menu(
            "example",
            "Invented example",
            [("(my own readings)", ""), *((KIND_WORDS[k], k) for k in EXAMPLES)],
            self._example,
        )
        self.menu("round", "Round", [("the last", 0)], 0)
        self._number("reading_sd", "Repeatability of a reading", reading_sd, 0.5)
        self._number("target", "Wanted", target, 10.0)
        for name, words in STATED_WORDS.items():
            stated_menu(self, name, words, nought=name != "resolution_um")
        known_boxes(self, reading_sd=reading_sd, target=target)
        self._inputs()
        self.tables = widgets.HTML()
        self.tables.add_class("workshop-tables")
        self.beside = BesideBox(self.units, self.acting)
        self.box = LogbookBox(logbook, self._present, self._show, self._attempt, self.units, self.draft, self._saved)
        self.box.called(self._name)
        self._follow()
        self.ready(strict=True)

    def _number(self, name: str, words: str, value: float | None, usual_um: float) -> None:
        shown = float(f"{style.small(usual_um, self.units):.1g}") if value is None else value
        self._add(name, words, widgets.FloatText(value=shown, layout=widgets.Layout()))

    def more_pages(self) -> dict[str, list[widgets.Widget]]:
        """Give tables and logbook a page each."""
        shown = widgets.VBox([self.tables, self.beside.view]).add_class("workshop-scroll")
        tables = [widgets.HTML(_TABLES), shown]
        return {"Tables": tables, "Logbook": [*self.box.view(), self.box.buttons["stands"], self.box.stands]}

    # -- readings come in -----------------------------------------------------
    def take(self, data: bytes, name: str, links: Links | None = None) -> None:
        """Take new readings; where they are refused, what was there before stays.

        Raises
        ------
        ValueError
            In one sentence.
        """
        self._take(data, name, "", links)

    def _take(self, data: bytes, name: str, example: str, links: Links | None = None) -> None:
        if hasattr(self, "box"):
            self.draft.may_load(work=self.box.name_for(name))
        before = self._settings() | {"example": self._example}
        kind = self._table.kind
        self._example = example
        self._set(example=example, round=0)
        try:
            if kind in SLOPES:  # a spread keeps its size where the new file is in another unit
                other = _slope_unit(self._text).held / _slope_unit(text_of(data, name)).held
                self._set(reading_sd=float(f"{before['reading_sd'] * other:.6g}"))
            super().take(data, name, links)
            if hasattr(self, "box"):
                self.box.called(name)
        except Exception:
            self._example = before["example"]
            self._set(**before)
            raise
        apart = {"reading_sd_given": False, **dict.fromkeys(STATED_WORDS, FOUND)}
        if self._table.kind != kind and any(self._settings()[name] != value for name, value in apart.items()):
            self._set(**apart)  # a spread or a feel of one kind says nothing of another
            self.refresh()
        self._follow()

    def _follow(self) -> None:
        """Have the controls say what the readings are of."""
        rounds = sorted(set(self._table.round.tolist()))
        with self.quietly():
            kept = self.controls["round"].value
            self.controls["round"].options = [("the last", 0), *((str(k), k) for k in rounds)]
            self.controls["round"].value = kept if kept in rounds else 0
            unit = style.small_unit(self.units)
            slope, eye = self._table.kind in SLOPES, self._table.kind == "wedge"
            spread = _slope_unit(self._text).said if slope else unit
            for name, of in (("reading_sd", spread), ("target", unit)):
                self.controls[name].description = f"{self.labels[name]} ({of})"
                self.controls[name].disabled = self.controls[f"{name}_given"].disabled = eye
            for name in STATED_WORDS:
                self.controls[name].disabled = name not in STATED.get(self._table.kind, ())

    def _settings(self) -> dict:
        return {name: control.value for name, control in self.controls.items()}

    def _set(self, **values) -> None:
        with self.quietly():
            for name, value in values.items():
                self.controls[name].value = value

    def _take_example(self, kind: str) -> None:
        source = demo_path(EXAMPLES[kind])
        self._take(source.read_bytes(), source.name, kind)

    # -- the logbook ----------------------------------------------------------
    def _attempt(self, act) -> None:
        self.message.value = ""
        try:
            self._try(act)
        finally:
            if self.message.value:  # what went wrong stands over the picture; say it here as well, where the button is
                self.box.said.value = self.message.value

    def _present(self) -> dict:
        """What is shown now, as fields of an entry; what is typed and not yet read is read first."""
        if self.typed.value != self._text:
            self._from_typed()
        now = self.values()
        return {
            "readings": self._text,
            "name": self._name,
            "reading_sd_um": self._sd(now["reading_sd"]),
            "target_um": self._wanted(now["target"]),
            **{name: stated(self.controls[name].value) for name in STATED_WORDS},
            "depends_on": self.known.of(self._table),
        }

    def _saved(self) -> None:
        """What stands in the fields is in the logbook now, and no draft any more."""
        if self._refused is None:
            self.known.follow(self._table)
        entry = self.box.chosen()
        if entry and (entry.readings, entry.note, entry.taken) == (
            self.typed.value,
            self.box.note.value,
            self.box.taken.value,
        ):
            self.draft.saved()

    def suspected(self) -> tuple[Slip, ...]:
        """Return what looks like a slip of the pen in the readings that are shown."""
        return self.found.slips if self.found else ()

    def book(self) -> Sequence[Entry]:
        """Return the sets of the logbook that is open."""
        return self.box.entries if hasattr(self, "box") else ()

    def _own(self) -> Entry | None:
        """The set of the logbook that is shown, if it is one."""
        entry = self.box.chosen() if hasattr(self, "box") else None
        return entry if entry is not None and entry.readings == self._text else None

    def _show(self, entry: Entry) -> None:
        self.take(entry.readings.encode("utf-8", "replace"), entry.name, {one.body: one for one in entry.depends_on})
        sd, wanted = entry.reading_sd_um, entry.target_um
        if sd is not None:
            held = _slope_unit(self._text).held
            self._set(reading_sd=sd / held if self._table.kind in SLOPES else style.small(sd, self.units))
        if wanted is not None:
            self._set(target=style.small(wanted, self.units))
        self._set(reading_sd_given=sd is not None, target_given=wanted is not None)
        with self.quietly():
            for name in STATED_WORDS:
                state(self.controls[name], name, getattr(entry, name), self.units)
        with self.draft.loading():
            self.refresh()
        self.draft.load(stated=self.stated.value)

    def _sd(self, value: float | None) -> float | None:
        """Give a spread as `findings` takes it: of slopes in seconds of arc, typed in the unit of their file."""
        if value is None or self._table.kind not in SLOPES:
            return self._wanted(value)
        return value * _slope_unit(self._text).held

    def _wanted(self, value: float | None) -> float | None:
        return None if value is None else style.to_um(value, self.units)

    # -- the picture ----------------------------------------------------------
    def refresh(self) -> None:
        """Draw with the present values; where an example is chosen, take it first."""
        chosen = self.controls["example"].value
        if chosen and chosen != self._example:
            self._try(lambda: self._take_example(chosen))
            return
        super().refresh()

    def draw(
        self,
        example: str,
        round: int,
        reading_sd: float | None,
        target: float | None,
        feel_um: float | str,
        place_mm: float | str,
        resolution_um: float | str,
    ) -> str:
        """Work the readings out, draw them anew, and say what they say.

        Parameters
        ----------
        round : int
            0 for the last.
        """
        before = () if self._example else self.box.before(self._text)
        found = log_findings(
            self._table,
            before,
            self._sd(reading_sd),
            round or None,
            self._wanted(target),
            feel_um=stated(feel_um),
            place_mm=stated(place_mm),
            resolution_um=stated(resolution_um),
            depends_on=self.known.of(self._table),
            book=self.book(),
            own=self._own(),
        )
        self.canvas = finding_picture(found, self.units, self.dpi)
        parts = finding_parts(found, self.units, picture=False, rounds=False)
        self.found, self.tables.value = found, parts_html(parts, 3)
        self.beside.show(found)
        start = "Invented example. " if self._example else ""
        rounds = set(self._table.round.tolist())
        several = f"Round {found.round} of {', '.join(map(str, sorted(rounds)))}. " if len(rounds) > 1 else ""
        stop = [found.stop.sentence] if found.stop else []
        said = [found.sentences[0], *found.cut[:3], *([found.next.sentence] if found.next else []), *stop]
        return (
            start + several + picture_words(found) + " " + " ".join(spoken(sentence, self.units) for sentence in said)
        )


def _slope_unit(text: str) -> Unit:
    """Give the unit in which a file writes its slopes; seconds of arc where it counts divisions or says none."""
    unit = unit_written(text, "reading")
    return unit if unit is not None and unit.held > 0 else SLOPE[0]
