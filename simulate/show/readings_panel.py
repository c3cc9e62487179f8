"""A panel that takes a learner's own readings: uploaded, by the path of a file, or typed."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.cells import text_of
from simulate.readings.pasted import comma_text
from simulate.readings.record import Readings
from simulate.readings.table import read_readings
from simulate.show.focus import FOCUS
from simulate.show.panel import Panel

LIMIT_BYTES = 1_000_000
WIDE = {"style": {"description_width": "12em"}, "layout": widgets.Layout(width="48em")}
"""Style of a long field."""


class ReadingsPanel(Panel):
    """A `Panel` over a table of readings.

    A subclass calls ``self._load(source)`` and ``self._inputs(source)`` before
    ``self.ready()``, and draws ``self._table``; ``self.ways()`` stand over its
    controls.
    """

    demo: Path | None = None
    at_once = False  # the learner's own figures would be lost

    def _load(self, source: Path) -> None:
        self._table: Readings = read_readings(source)
        self._text, self._name = text_of(source.read_bytes(), source.name), source.name

    def _inputs(self, source: Path) -> None:
        self.upload = widgets.FileUpload(accept=".csv,.txt", multiple=False, description="Upload readings",
                                         layout=widgets.Layout(width="180px"))
        self.path = widgets.Text(value="" if source == self.demo else str(source),
                                 description="or the path of a file", **WIDE)
        self.read_path = widgets.Button(description="Read this file")
        self.typed = widgets.Textarea(value=self._text, rows=4, description="or type readings here", **WIDE)
        self.read_typed = widgets.Button(description="Read what is typed")
        self.upload.observe(self._uploaded, names="value")
        self.on_press(self.read_path, self._from_path)
        self.on_press(self.read_typed, self._from_typed)

    def round_menu(self, value: int = 0) -> None:
        """Add a list of the rounds of the file; `draw` gets ``round_shown``, 0 for the last.

        Parameters
        ----------
        value : int
        """
        self.menu("round_shown", "Round shown", self._rounds_there(), value)

    def _rounds_there(self) -> list[tuple[str, int]]:
        return [("the last", 0), *((str(n), int(n)) for n in sorted(set(self._table.round.tolist())))]

    def _fit_rounds(self, wanted: int = 0) -> None:
        """Let the list of rounds follow the table."""
        if "round_shown" in self.controls:
            self._quiet = True
            try:
                options = self._rounds_there()
                self.controls["round_shown"].options = options
                self.controls["round_shown"].value = wanted if wanted in [n for _, n in options] else 0
            finally:
                self._quiet = False

    def ways(self) -> list[widgets.Widget]:
        """Give the ways in which readings may come.

        Returns
        -------
        list of Widget
        """
        limit = widgets.HTML("A CSV file of at most 1 MB; larger ones do not arrive. The format is in the lesson.")
        room = widgets.Layout(overflow="visible", padding="2px")  # or the ring round what has the focus is cut off
        return [widgets.HBox(row, layout=room) for row in ([self.upload, limit], [self.path, self.read_path],
                                              [self.typed, self.read_typed])]

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the ways of giving readings over the picture.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        return widgets.VBox([widgets.HTML(FOCUS), *self.ways(), rows, self.message, self.picture])

    def take(self, data: bytes, name: str) -> None:
        """Take new readings; where they are refused, what was there before stays.

        Parameters
        ----------
        data : bytes
        name : str

        Raises
        ------
        ValueError
            In one sentence, naming row, column, value and what may stand there.
        """
        if len(data) > LIMIT_BYTES:
            raise Refusal("large", where=name, found=f"{len(data) / 1e6:.1f} MB", must_be="at most 1 MB",
                          do="Give one file for each round")
        table = read_readings(data, name)
        before, shown = (self._table, self._text, self._name), self.values().get("round_shown", 0)
        self._table, self._text, self._name = table, text_of(data, name), name
        self._fit_rounds()
        try:
            sentence = self.draw(**self.values())
        except Exception:
            self._table, self._text, self._name = before
            self._fit_rounds(shown)
            raise
        self._accept(sentence)

    def _from_typed(self) -> None:
        self.take(comma_text(self.typed.value).encode("utf-8", "replace"), "what was typed")

    def _uploaded(self, change) -> None:
        if change.new:
            file = change.new[0]
            self._try(lambda: self.take(bytes(file["content"]), file["name"]))

    def _from_path(self) -> None:
        path = Path(self.path.value.strip()).expanduser()
        try:
            size = path.stat().st_size if path.is_file() else None
            data = path.read_bytes() if size is not None and size <= LIMIT_BYTES else None
        except (OSError, ValueError) as error:
            raise Refusal("file", where=path.name, found=f"cannot be read ({error.__class__.__name__})",
                          must_be="a readings file that exists") from None
        if size is None:
            raise Refusal("file", where=f"'{self.path.value.strip()}'", found="is no file",
                          must_be="the path of a readings file")
        if data is None:
            raise Refusal("large", where=path.name, found=f"{size / 1e6:.1f} MB", must_be="at most 1 MB",
                          do="Give one file for each round")
        self.take(data, path.name)
