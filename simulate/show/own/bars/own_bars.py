"""The learner's own bars: give readings, get profiles, where to file, and a logbook."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import ipywidgets as widgets

from simulate.core.atomic_files import typed_path
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.repeatability import step_asked
from simulate.readings.bars.bar_cut import best_bar
from simulate.readings.bars.solve_bars import BarSolution
from simulate.readings.logbook.log_findings import kind_read, log_findings
from simulate.readings.logbook.logbook import Entry, open_logbook, save_logbook
from simulate.readings.outcome.band_words import band_sentence
from simulate.readings.outcome.findings_record import Findings, sentence_of
from simulate.readings.rounds.compare import compare
from simulate.readings.table.demo import demo_path
from simulate.readings.table.slip_record import Slip
from simulate.show.drawing import style
from simulate.show.own.pictures.bars_picture import own_bars_picture
from simulate.show.own.pictures.finding_pictures import rounds_done, simulated_bars
from simulate.show.own.readings_panel import LIMIT_BYTES, WIDE, ReadingsPanel
from simulate.show.own.stated import known_boxes, repeatability_slider, stated, stated_menu, target_slider
from simulate.show.units.switch import in_both

__all__ = ["LIMIT_BYTES", "OwnBarsPanel"]


class OwnBarsPanel(ReadingsPanel):
    """Readings in, three profiles out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    reading_sd_um : float, optional
        Spread of one reading, 0.5 to 200; without it the readings tell.
    target_um : float, optional
        How straight the bars have to be, 1 to 500; without it as straight as the readings can tell.
    feel_um : float, optional
        Gap at which a blade is felt to go, one standard deviation; left to the readings by default.
    place_mm : float
        Where along the bars a blade went in, one standard deviation, 0 to 10.
    whole : bool
        Draw the band that holds a whole bar, in place of the one that holds each station by itself.
    logbook : str
        Where the logbook is kept.
    units : str, optional
    dpi : int
    resolution_um : float, optional
        Smallest step of readings that are numbers; left to the figures by default.

    Examples
    --------
    >>> panel = OwnBarsPanel()
    >>> "North" in panel.sentence
    True
    """

    refers = True
    photographs = ("bars",)

    demo = Path(demo_path())

    def __init__(
        self,
        path=None,
        reading_sd_um: float | None = None,
        target_um: float | None = None,
        feel_um: float | None = None,
        place_mm: float = 1,
        whole: bool = False,
        logbook: str = "my_logbook.json",
        units: str | None = None,
        dpi: int = 100,
        resolution_um: float | None = None,
    ) -> None:
        super().__init__(units, dpi)
        self.entries: list[Entry] = []
        self.found: Findings | None = None
        self.solution: BarSolution | None = None
        self._load(path)
        repeatability_slider(self, reading_sd_um, 200)
        target_slider(self, target_um, "Target straightness")
        stated_menu(self, "feel_um", "Feel of blades, 1 SD", feel_um)
        self.place_slider("place_mm", "Blade position, 1 SD", place_mm, 0, 10, 0.5)
        stated_menu(self, "resolution_um", "Smallest step of a reading", resolution_um, nought=False)
        known_boxes(self, reading_sd_um=reading_sd_um, target_um=target_um)
        self.tick("whole", "Band for the whole bar", whole)
        self._inputs(logbook)
        self.ready(strict=True)

    def _inputs(self, logbook: str = "") -> None:
        super()._inputs()
        self.note = widgets.Text(description="Note for the logbook", **WIDE)
        self.draft.watch("note", self.note)
        self.logbook = widgets.Text(value=logbook, description="Logbook file", **WIDE)
        self.save = widgets.Button(description="Save logbook")
        self.open = widgets.Button(description="Open logbook")
        self.said = widgets.HTML()
        self.on_press(self.save, self._save)
        self.on_press(self.open, self._open)

    def more_pages(self) -> dict[str, list[widgets.Widget]]:
        """Give the logbook a page."""
        return {"Logbook": [self.note, widgets.HBox([self.logbook, self.save, self.open]), self.said]}

    # -- the logbook ----------------------------------------------------------
    def book(self) -> Sequence[Entry]:
        """Return the sets of the logbook: those that were opened, or those that stand in its file."""
        if self.entries:
            return self.entries
        try:
            return open_logbook(typed_path(self.logbook.value))
        except (AttributeError, Refusal):  # the field comes after the first drawing
            return ()

    def _save(self) -> None:
        if self.typed.value != self._text:
            self._from_typed()  # what is typed and not yet read is read first
        sd = self.values()["reading_sd_um"]
        entry = Entry(self._text, self._name, self.note.value, reading_sd_um=sd, depends_on=self.known.of(self._table))
        entries = self.entries if entry in self.entries else [*self.entries, entry]
        merged = save_logbook(typed_path(self.logbook.value), entries)
        self.entries = entries = list(merged.entries)
        if entry.readings == self.typed.value:
            self.draft.saved()
        self.refresh()
        self.said.value = (
            f"<p role='status'>Saved: {len(entries)} set{'s' if len(entries) > 1 else ''} of readings. "
            f"{merged.sentence}</p>"
        )

    def _open(self) -> None:
        entries = open_logbook(typed_path(self.logbook.value))
        if not entries:
            raise Refusal(
                "missing",
                where="the logbook",
                found="no readings yet",
                must_be="one set or more",
                do="Save a set first",
            )
        last = next((entry for entry in reversed(entries) if not entry.struck and kind_read(entry) == "bars"), None)
        if last is None:
            raise Refusal(
                "missing",
                where="the logbook",
                found="no set of bars that counts",
                must_be="one at least",
                do="Lesson 23 opens sets of every kind",
            )
        self.draft.may_load(note=last.note)
        had, self.entries = self.entries, list(entries)
        try:
            self.take(last.readings.encode("utf-8", "replace"), last.name, {one.body: one for one in last.depends_on})
        except Exception:
            self.entries = had
            raise
        self.draft.load(note=last.note)
        slider, sd = self.controls["reading_sd_um"], style.small(last.reading_sd_um or 0, self.units)
        slider.max = max(slider.max, sd)  # what was logged is never clipped in silence
        with self.draft.loading():
            slider.value = sd
        self.draft.loaded("stated")
        number = int(self.found.progress.rounds[-1]) if self.found.progress is not None else 0
        self.said.value = (
            f"<p role='status'>Opened: {len(entries)} set{'s' * (len(entries) != 1)} of readings; the "
            f"last one of bars is shown, after {number} round{'s' * (number != 1)} of filing.</p>"
        )

    # -- the picture ----------------------------------------------------------
    def draw(
        self,
        reading_sd_um: float | None,
        target_um: float | None,
        feel_um: float | str,
        place_mm: float,
        resolution_um: float | str,
        whole: bool,
    ) -> str:
        """Solve, draw anew, and say what the readings say."""
        found = log_findings(
            self._table,
            self._before(),
            reading_sd_um,
            target_um=target_um,
            feel_um=stated(feel_um),
            place_mm=place_mm,
            resolution_um=stated(resolution_um),
            depends_on=self.known.of(self._table),
            book=self.book(),
        )
        solution, cuts, done = found.solution, found.map, rounds_done(found)
        words = [
            solution.sentence,
            *step_asked(solution.resolution),
            band_sentence(solution, whole),
            *cuts.sentences,
            *((best_bar(solution).sentence,) if len(solution.names) > 1 else ()),
            *sentence_of(found.next),
            found.stop.sentence,
        ]
        simulated, share = simulated_bars(found)
        if simulated is not None and done[-1][0] > 0:
            words.append(compare(simulated, *done[-1], share=share).sentence)
        self.found, self.solution = found, solution
        self.canvas = own_bars_picture(solution, cuts, done, simulated, self.units, self.dpi, whole)
        said = " ".join(w if w.endswith(".") else w + "." for w in words)
        return self._start() + in_both(said, self.units)

    def _before(self) -> list[Entry]:
        """Sets of the logbook that stand before what is shown: all, or those above it where it stands there itself."""
        own = [k for k, entry in enumerate(self.entries) if entry.readings == self._text and not entry.struck]
        return self.entries[: own[-1]] if own else list(self.entries)

    def suspected(self) -> tuple[Slip, ...]:
        """Return what looks like a slip of the pen in the readings that are shown."""
        return self.found.slips if self.found else ()
