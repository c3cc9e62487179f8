"""A panel that takes a learner's own readings: uploaded, by the path of a file, or typed."""

from __future__ import annotations

import re
from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.cells import text_of
from simulate.readings.record import Readings
from simulate.readings.slip_record import Slip
from simulate.readings.suspicion import slips_of, with_suspicion
from simulate.readings.table import bytes_of, read_readings
from simulate.show import style
from simulate.show.draft_keeper import DraftKeeper
from simulate.show.finding_words import KIND_WORDS, spoken
from simulate.show.focus import FOCUS
from simulate.show.panel import Panel
from simulate.show.pulse import Pulse

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
    _looked_at: Readings | None = None
    _suspected: tuple[Slip, ...] = ()

    def _load(self, source: Path) -> None:
        data, self._name = bytes_of(source)
        self._table: Readings = read_readings(data, self._name)
        self._text = text_of(data, self._name)

    def _inputs(self, source: Path) -> None:
        self.upload = widgets.FileUpload(accept=".csv,.txt", multiple=False, description="Upload readings",
                                         layout=widgets.Layout(width="180px"))
        self.path = widgets.Text(value="" if source == self.demo else str(source),
                                 description="or the path of a file", **WIDE)
        self.read_path = widgets.Button(description="Read this file")
        self.typed = widgets.Textarea(value=self._text, rows=6, description="or type readings here", **WIDE)
        self.read_typed = widgets.Button(description="Read what is typed")
        self.told, self.slips, self.pulse = widgets.HTML(), widgets.HTML(), Pulse()
        self.draft = DraftKeeper(re.sub(r"^Own|Panel$", "", type(self).__name__).lower())
        self.draft.watch("typed", self.typed)
        self.upload.observe(self._uploaded, names="value")
        self.on_press(self.read_path, self._from_path)
        self.on_press(self.read_typed, self._from_typed)
        self.on_press(self.draft.away, self._put_away)

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
        rows = ([self.upload, limit], [self.path, self.read_path], [self.typed, self.read_typed], [self.draft.away, self.draft.line])
        return [*(widgets.HBox(row, layout=room) for row in rows), self.told, self.slips, self.pulse.view]

    def ready(self, strict: bool = False) -> None:
        """Lay the controls out, draw for the first time, and bring back what was typed and not saved.

        Parameters
        ----------
        strict : bool
            Whether a refusal goes on up to the caller.
        """
        super().ready(strict)
        self.draft.restore()

    def _put_away(self) -> None:
        self.draft.put_away()
        self.say("")

    def say(self, words: str) -> None:
        """Show one line under the ways of giving readings.

        Parameters
        ----------
        words : str
        """
        self.told.value = f"<p role='status' style='font-size:14px;line-height:1.4;margin:0'>{escape(words)}</p>" if words else ""

    def suspected(self) -> tuple[Slip, ...]:
        """Return what looks like a slip of the pen in the readings that are shown.

        Returns
        -------
        tuple of Slip
        """
        if self._looked_at is not self._table:
            self._looked_at, self._suspected = self._table, slips_of(self._table)
        return self._suspected

    def _accept(self, sentence: str) -> None:
        super()._accept(sentence)
        told = "".join(f"<li>{escape(spoken(slip.sentence, self.units))}</li>" for slip in self.suspected())
        self.slips.value = (f"<div role='status' style='border-left:6px solid {style.BLUE};padding:4px 10px;font-size:15px;"
                            f"line-height:1.4'>Noticed in the readings:<ul style='margin:0'>{told}</ul></div>" if told else "")

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
        except Exception as refusal:
            self._table, self._text, self._name = before
            self._fit_rounds(shown)
            if isinstance(refusal, Refusal):
                raise with_suspicion(refusal, slips_of(table)) from None
            raise
        self._accept(sentence)
        with self.draft.loading():
            self.typed.value = self._text
        self.draft.loaded("typed")
        self.say(f"Read: {len(table)} row{'s' * (len(table) != 1)} of {KIND_WORDS[table.kind]} from {name}.")

    def _from_typed(self) -> None:
        self.take(self.typed.value.encode("utf-8", "replace"), "what was typed")

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
