"""The learner's own bars: give readings, get profiles, where to file, and a logbook."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets
import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.bars import BarSolution, solve_bars
from simulate.readings.compare import compare
from simulate.readings.cut import best_bar
from simulate.readings.demo import demo_path
from simulate.readings.findings_bars import of_bars
from simulate.readings.findings_record import sentence_of
from simulate.readings.log_findings import kind_read
from simulate.readings.logbook import Entry, open_logbook, save_logbook
from simulate.show import style
from simulate.show.focus import FOCUS
from simulate.show.own_picture import ROUNDS, own_bars_picture, simulated_band
from simulate.show.readings_panel import LIMIT_BYTES, WIDE, ReadingsPanel
from simulate.show.units import in_both

__all__ = ["LIMIT_BYTES", "OwnBarsPanel"]


class OwnBarsPanel(ReadingsPanel):
    """Readings in, three profiles out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file; the invented demo file by default.
    reading_sd_um : float
        Spread of one reading, 0 to 200; 0 leaves it to the readings.
    target_um : float
        How straight the bars have to be, 0 to 500; 0 asks for as straight as the readings can tell.
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
    >>> panel = OwnBarsPanel()
    >>> "North" in panel.sentence
    True
    """

    demo = Path(demo_path())

    def __init__(self, path=None, reading_sd_um: float = 0, target_um: float = 0,
                 logbook: str = "my_logbook.json", units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        source = Path(demo_path() if path is None else path)
        self.entries: list[Entry] = []
        self.solution: BarSolution | None = None
        self._load(source)
        self.height_slider("reading_sd_um", "Spread of a reading, 0: unknown", reading_sd_um, 0, 200, 0.5)
        self.height_slider("target_um", "Wanted straightness, 0: the best", target_um, 0, 500, 1)
        self._inputs(source, logbook)
        solve_bars(self._table)
        self.ready()

    def _inputs(self, source: Path, logbook: str) -> None:
        super()._inputs(source)
        self.note = widgets.Text(description="Note for the logbook", **WIDE)
        self.logbook = widgets.Text(value=logbook, description="Logbook file", **WIDE)
        self.save = widgets.Button(description="Save logbook")
        self.open = widgets.Button(description="Open logbook")
        self.said = widgets.HTML()
        self.on_press(self.save, self._save)
        self.on_press(self.open, self._open)

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the ways of giving readings over the picture.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        return widgets.VBox([
            widgets.HTML(FOCUS), *self.ways(), rows, self.message, self.picture, self.note,
            widgets.HBox([self.logbook, self.save, self.open]), self.said])

    # -- the logbook ----------------------------------------------------------
    def _save(self) -> None:
        sd = self.values()["reading_sd_um"] or None
        entry = Entry(self._text, self._name, self.note.value, reading_sd_um=sd)
        entries = self.entries if entry in self.entries else [*self.entries, entry]
        merged = save_logbook(self.logbook.value, entries)
        self.entries = entries = list(merged.entries)
        self.message.value = ""
        self.said.value = f"<p role='status'>Saved: {len(entries)} set{'s' if len(entries) > 1 else ''} of readings. {merged.sentence}</p>"

    def _open(self) -> None:
        entries = open_logbook(self.logbook.value)
        if not entries:
            raise Refusal("missing", where="the logbook", found="no readings yet", must_be="one set or more",
                          do="Save a set first")
        last = next((entry for entry in reversed(entries) if not entry.struck and kind_read(entry) == "bars"), None)
        if last is None:
            raise Refusal("missing", where="the logbook", found="no set of bars that counts", must_be="one at least",
                          do="Lesson 22 opens sets of every kind")
        self.take(last.readings.encode(), last.name)
        self.entries, self.note.value = list(entries), last.note
        self.controls["reading_sd_um"].value = style.small(last.reading_sd_um or 0, self.units)
        self.typed.value = last.readings
        self.said.value = f"<p role='status'>Opened: {len(entries)} sets of readings; the last one of bars is shown.</p>"

    # -- the picture ----------------------------------------------------------
    def draw(self, reading_sd_um: float, target_um: float) -> str:
        """Solve, draw anew, and say what the readings say.

        Parameters
        ----------
        reading_sd_um, target_um : float

        Returns
        -------
        str
        """
        sd = reading_sd_um or None
        found = of_bars(self._table, sd, target_um=target_um or None)
        solution, cuts = found.solution, found.map
        words = [solution.sentence, *cuts.sentences, best_bar(solution).sentence, *sentence_of(found.next), found.stop.sentence]
        done, simulated = self._progress(solution, sd)
        if simulated is not None and done[-1][0] > 0:
            words.append(compare(simulated, *done[-1]).sentence)
        canvas = own_bars_picture(solution, cuts, done, simulated, self.units, self.dpi)
        self.solution, self.canvas = solution, canvas
        start = "" if self._name != Path(demo_path()).name else "Demo file, invented readings. "
        said = " ".join(w if w.endswith(".") else w + "." for w in words)
        return start + in_both(said.replace(" um", " µm"), self.units)

    def _progress(self, solution: BarSolution, sd: float | None):
        """Worst bar of every round that can be solved, and the band that starts like the first."""
        done = []
        for number in np.unique(self._table.round):
            try:
                one = solution if number == solution.round else solve_bars(self._table, sd, round=int(number), bounds=False)
            except Refusal:
                continue
            done.append((int(number), float(one.straightness_um.max())))
        first = done[0][0]
        done = [(number - first, value) for number, value in done]
        if len(solution.names) != 3:
            return done, None
        error = float(f"{max(done[0][1], 1.0):.3g}")
        length = float(np.ptp(solution.x_mm))
        return done, simulated_band(length, error, max(ROUNDS, done[-1][0]))
