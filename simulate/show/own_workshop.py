"""The learner's own workshop: readings of every kind in, one logbook, one report."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal, either
from simulate.readings.demo import demo_path
from simulate.readings.entry import Entry
from simulate.readings.findings_record import Findings
from simulate.readings.log_findings import log_findings
from simulate.readings.slip_record import Slip
from simulate.show import style
from simulate.show.finding_pictures import finding_picture, picture_words
from simulate.show.finding_words import KIND_WORDS, spoken
from simulate.show.focus import FOCUS
from simulate.show.logbook_box import LogbookBox
from simulate.show.readings_panel import ReadingsPanel
from simulate.show.report import parts_html
from simulate.show.report_content import finding_parts

EXAMPLES = {"bars": "demo_bars_light.csv", "lands": "demo_lands.csv", "plates": "demo_plates.csv", "squares": "demo_squares.csv",
            "union jack": "demo_survey.csv", "wedge": "demo_wedge.csv"}
"""Kind to the invented readings that show how it is written down."""

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
    example : str
        Kind of the invented example: ``"bars"``, ``"lands"``, ``"plates"``, ``"squares"``, ``"union jack"`` or ``"wedge"``.
    reading_sd : float
        Spread of one reading in the learner's unit, in seconds of arc for a survey; 0 leaves it to the readings.
    target : float
        How good the work has to be, in the learner's unit; 0 asks for as good as the readings can tell.
    logbook : str
        Where the logbook is kept.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where the file is refused, or a setting is out of its range.

    Examples
    --------
    >>> panel = OwnWorkshopPanel(example="wedge")
    >>> "threshold" in panel.sentence
    True
    """

    def __init__(self, path=None, example: str = "bars", reading_sd: float = 0.0, target: float = 0.0,
                 logbook: str = "my_logbook.json", units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        if example not in EXAMPLES:
            raise Refusal("choice", where="example", found=f"{example!r}", must_be=either(EXAMPLES))
        self.found: Findings | None = None
        self._example = example if path is None else ""
        self.demo = demo_path(EXAMPLES[example])
        source = Path(self.demo if path is None else path)
        self._load(source)
        self.menu("example", "Invented example of", [("(my own readings)", ""), *((KIND_WORDS[k], k) for k in EXAMPLES)], self._example)
        self.menu("round", "Round", [("the last", 0)], 0)
        self._number("reading_sd", reading_sd)
        self._number("target", target)
        for control in self.controls.values():
            control.style.description_width, control.layout.width = "13em", "32em"
        self._inputs(source)
        self.tables = widgets.HTML()
        self.tables.add_class("workshop-tables")
        self.box = LogbookBox(logbook, self._present, self._show, self._attempt, self.units, self.draft, self._saved)
        self._follow()
        self.ready(strict=True)

    def _number(self, name: str, value: float) -> None:
        self._add(name, widgets.FloatText(value=value, layout=widgets.Layout()))

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the ways of giving readings over the picture, and tables and logbook under it.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        return widgets.VBox([widgets.HTML(FOCUS + _TABLES), *self.ways(), rows, self.message, self.picture, self.tables, *self.box.view()])

    # -- readings come in -----------------------------------------------------
    def take(self, data: bytes, name: str) -> None:
        """Take new readings; where they are refused, what was there before stays.

        Parameters
        ----------
        data : bytes
        name : str

        Raises
        ------
        ValueError
            In one sentence.
        """
        self._take(data, name, "")

    def _take(self, data: bytes, name: str, example: str) -> None:
        before = self._settings() | {"example": self._example}
        kind = self._table.kind
        self._example = example
        self._set(example=example, round=0)
        try:
            super().take(data, name)
        except Exception:
            self._example = before["example"]
            self._set(**before)
            raise
        if self._table.kind != kind and before["reading_sd"]:
            self._set(reading_sd=0.0)  # a spread of one kind says nothing of another
            self.refresh()
        self._follow()

    def _follow(self) -> None:
        """Have the controls say what the readings are of."""
        rounds = sorted(set(self._table.round.tolist()))
        self._quiet = True
        kept = self.controls["round"].value
        self.controls["round"].options = [("the last", 0), *((str(k), k) for k in rounds)]
        self.controls["round"].value = kept if kept in rounds else 0
        unit = style.small_unit(self.units)
        survey, eye = self._table.kind == "union jack", self._table.kind == "wedge"
        self.controls["reading_sd"].description = f"Spread, 0: unknown ({'arcsec' if survey else unit})"
        self.controls["target"].description = f"Wanted ({unit}), 0: the best"
        for name in ("reading_sd", "target"):
            self.controls[name].disabled = eye
        self._quiet = False

    def _settings(self) -> dict:
        return {name: control.value for name, control in self.controls.items()}

    def _set(self, **values) -> None:
        self._quiet = True
        for name, value in values.items():
            self.controls[name].value = value
        self._quiet = False

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
        sd, target = self._sd(self.controls["reading_sd"].value), style.to_um(self.controls["target"].value, self.units)
        return {"readings": self._text, "name": self._name, "reading_sd_um": sd or None, "target_um": target or None}

    def _saved(self) -> None:
        """What stands in the fields is in the logbook now, and no draft any more."""
        entry = self.box.chosen()
        if entry and (entry.readings, entry.note, entry.taken) == (self.typed.value, self.box.note.value, self.box.taken.value):
            self.draft.saved()

    def suspected(self) -> tuple[Slip, ...]:
        """Return what looks like a slip of the pen in the readings that are shown.

        Returns
        -------
        tuple of Slip
        """
        return self.found.slips if self.found else ()

    def _show(self, entry: Entry) -> None:
        self.take(entry.readings.encode("utf-8", "replace"), entry.name)
        sd = entry.reading_sd_um or 0.0
        self._set(reading_sd=sd if self._table.kind == "union jack" else style.small(sd, self.units),
                  target=style.small(entry.target_um or 0.0, self.units))
        self.refresh()

    def _sd(self, value: float) -> float:
        return value if self._table.kind == "union jack" else style.to_um(value, self.units)

    # -- the picture ----------------------------------------------------------
    def refresh(self) -> None:
        """Draw with the present values; where an example is chosen, take it first."""
        chosen = self.controls["example"].value
        if chosen and chosen != self._example:
            self._try(lambda: self._take_example(chosen))
            return
        super().refresh()

    def draw(self, example: str, round: int, reading_sd: float, target: float) -> str:
        """Work the readings out, draw them anew, and say what they say.

        Parameters
        ----------
        example : str
        round : int
            0 for the last.
        reading_sd, target : float

        Returns
        -------
        str
        """
        sd, wanted = self._sd(reading_sd), style.to_um(target, self.units)
        before = () if self._example else self.box.before(self._text)
        found = log_findings(self._table, before, sd or None, round or None, wanted or None)
        self.canvas = finding_picture(found, self.units, self.dpi)
        self.found, self.tables.value = found, parts_html(finding_parts(found, self.units, picture=False), 3)
        start = "Invented example. " if self._example else ""
        rounds = set(self._table.round.tolist())
        several = f"Round {found.round} of {', '.join(map(str, sorted(rounds)))}. " if len(rounds) > 1 else ""
        stop = [found.stop.sentence] if found.stop else []
        said = [found.sentences[0], *found.cut[:3], *([found.next.sentence] if found.next else []), *stop]
        return start + several + picture_words(found) + " " + " ".join(spoken(sentence, self.units) for sentence in said)
