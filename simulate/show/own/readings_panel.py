"""A panel that takes a learner's own readings: uploaded, by the path of a file, or typed."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import asdict
from html import escape
from pathlib import Path

import ipywidgets as widgets
from traitlets import TraitError

from simulate.core.atomic_files import reason, typed_path
from simulate.core.refusal import Refusal
from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.logbook.known_bodies import known_bodies
from simulate.readings.logbook.logbook import LogbookError, open_logbook
from simulate.readings.reference.known import Known
from simulate.readings.rounds.beside import beside
from simulate.readings.rounds.own_rounds import own_rounds, progress_of
from simulate.readings.slips.suspicion import slips_of, with_suspicion
from simulate.readings.table.csv_cells import text_of
from simulate.readings.table.demo import DEMOS
from simulate.readings.table.read import bytes_of, read_readings
from simulate.readings.table.readings import TYPED, Readings
from simulate.readings.table.slip_record import Slip
from simulate.show.drawing import style
from simulate.show.drawing.focus import FOCUS
from simulate.show.own.beside_words import beside_words
from simulate.show.own.draft_keeper import DraftKeeper
from simulate.show.own.entry.entry_box import EntryBox
from simulate.show.own.known_box import KnownBox, Links
from simulate.show.own.photo.add_print import add_print
from simulate.show.own.photo.photo_box import PhotoBox
from simulate.show.own.pulse import Pulse
from simulate.show.own.stated import STATED, put_stated
from simulate.show.panel.pages import Pages
from simulate.show.panel.panel import Panel
from simulate.show.units.finding_words import KIND_WORDS, spoken

LIMIT_BYTES = 1_000_000
LOGBOOK = "my_logbook.json"
READINGS, SAID = "Readings", "What they say"
"""Names of the two pages that every panel of readings has."""
WIDE = {"style": {"description_width": "12em"}, "layout": widgets.Layout(width="48em")}
"""Style of a long field."""


class ReadingsPanel(Panel):
    """A `Panel` over a table of readings.

    A subclass calls ``self._load(path)`` and ``self._inputs()`` before
    ``self.ready()``, and draws ``self._table``; ``self.ways()`` stand on the
    page before its controls, ``self.more_pages()`` behind.
    """

    demo: Path | None = None
    kinds: tuple[str, ...] = ()  # of readings that a new grid may be for; that of the first file without it
    at_once = False  # the learner's own figures would be lost
    refers = False
    """Whether a body of these readings may be known already."""
    photographs: tuple[str, ...] = ()
    """Kinds of bodies whose print may be read off a photograph."""
    _looked_at: Readings | None = None
    _suspected: tuple[Slip, ...] = ()
    _refused: tuple[bytes, str] | None = None

    def _load(self, path: str | Path | None) -> None:
        """Read the file that the panel opens with, or the example."""
        self._source = Path(self.demo if path is None else path)
        data, self._name = bytes_of(self._source)
        self._table: Readings = read_readings(data, self._name)
        self._text = text_of(data, self._name)

    def _start(self, round: int | None = None) -> str:
        """How the sentence begins: an example says that it is one, and several rounds which one is shown."""
        several = round is not None and self._table.round.min() != self._table.round.max()
        example = "Demo file, invented readings. " if self._name in DEMOS else ""
        return f"{example}Round {round}. " if several else example

    def refuse_crowd(self, count: int, what: str, most: int) -> None:
        """Refuse more bodies than the picture has room for."""
        if count > most:
            raise Refusal(
                "count",
                where=self._name,
                found=f"{count} {what}",
                must_be=f"at most {most}, because the picture has room for no more",
                do="Give fewer in one file",
            )

    def _inputs(self) -> None:
        self.upload = widgets.FileUpload(
            accept=".csv,.txt", multiple=False, description="Upload readings", layout=widgets.Layout(width="180px")
        )
        self.path = widgets.Text(
            value="" if self._source == self.demo else str(self._source), description="or the path of a file", **WIDE
        )
        self.read_path = widgets.Button(description="Read this file")
        self.typed = widgets.Textarea(value=self._text, rows=12, description="or type readings here", **WIDE)
        self.read_typed = widgets.Button(description="Read what is typed")
        self.told, self.slips, self.pulse = widgets.HTML(), widgets.HTML(), Pulse(lambda: self.view)
        self.draft = DraftKeeper(re.sub(r"^Own|Panel$", "", type(self).__name__).lower())
        self.draft.watch("typed", self.typed)
        self.stated = widgets.Textarea()
        self._typed_links: Links | None = None  # of readings that a draft brought back, until they are read
        self.draft.watch("stated", self.stated, beside=lambda: self._name not in DEMOS)
        kinds = self.kinds or (self._table.kind,)
        self.entry = EntryBox(self.typed, self.units, kinds, self.lay_out, self._try, self.read_typed, self.say)
        self.upload.observe(self._uploaded, names="value")
        self.on_press(self.read_path, self._from_path)
        self.on_press(self.read_typed, self._from_typed)
        self.on_press(self.draft.away, self._put_away)
        self.known = KnownBox(self.book, self._known_changed, self._try, self.units)
        self.known.follow(self._table)
        kinds = self.photographs
        self.photo = PhotoBox(self.units, self._print_came, self._try, kinds) if kinds else None
        if self.photo is not None:
            self.draft.watch("corners", self.photo.corners)

    def round_menu(self, value: int = 0) -> None:
        """Add a list of the rounds of the file; `draw` gets ``round_shown``, 0 for the last."""
        self.menu("round_shown", "Round shown", self._rounds_there(), value)

    def _rounds_there(self) -> list[tuple[str, int]]:
        return [("the last", 0), *((str(n), int(n)) for n in sorted(set(self._table.round.tolist())))]

    def _fit_rounds(self, wanted: int = 0) -> None:
        """Let the list of rounds follow the table."""
        if "round_shown" in self.controls:
            with self.quietly():
                options = self._rounds_there()
                self.controls["round_shown"].options = options
                self.controls["round_shown"].value = wanted if wanted in [n for _, n in options] else 0

    def ways(self) -> list[widgets.Widget]:
        """Give the ways in which readings may come."""
        limit = widgets.HTML("A CSV file of at most 1 MB; larger ones cannot be sent. The format is in the lesson.")
        opens, photo = ([self.photo.open], [self.photo.view]) if self.photo is not None else ([], [])
        given = widgets.HBox([self.upload, self.path, self.read_path]).add_class("workshop-line")
        read = widgets.HBox([self.read_typed, self.draft.away, *opens, limit]).add_class("workshop-line")
        known = [self.known.view] if self.refers else []
        return [given, self.entry.view, read, *photo, *known]

    def ready(self, strict: bool = False) -> None:
        """Lay the controls out, draw for the first time, and bring back what was typed and not saved.

        `strict`: whether a refusal goes on up to the caller.
        """
        self._opened = self._stated_now()
        super().ready(strict)
        with self.draft.loading():
            self._note_stated()
        if self.draft.restore() is not None:
            self._state_again()

    def _put_away(self) -> None:
        self.draft.put_away()
        self._state_again()
        self._typed_links = None
        self.say("")

    # -- what is stated of the readings, and kept in the draft with them ------------
    def refresh(self) -> None:
        """Draw with the present values, and keep what they state of the readings."""
        super().refresh()
        self._note_stated()

    def _note_stated(self) -> None:
        self.stated.value = self._stated_text()

    def _stated_text(self) -> str:
        """Say in one field of the draft what changes the result beside the figures, and is not as the panel opened."""
        stated = {name: value for name, value in self._stated_now().items() if value != self._opened[name]}
        links = self.known.links if self._typed_links is None else self._typed_links
        return json.dumps({"units": self.units, "stated": stated, "known": [asdict(one) for one in links.values()]})

    def _stated_now(self) -> dict[str, object]:
        return {name: menu.value for name, menu in self.controls.items() if name.removesuffix("_given") in STATED}

    def _state_again(self) -> None:
        """Set the controls to what a draft says, and hold what its bodies are known from until it is read.

        Figures stated in the other unit are left: the readings go with what they are read with.
        """
        try:
            said = json.loads(self.stated.value)
            links = {one["body"]: DependsOn(**one) for one in said["known"]}
            stated = said["stated"] if said["units"] == self.units else {}
            with self.quietly():
                for name, value in self._opened.items():
                    put_stated(self.controls[name], name, stated.get(name, value), self.units)
        except (ValueError, TypeError, KeyError, AttributeError, RecursionError, TraitError):
            return  # a draft of an older course, or one that somebody wrote
        self._typed_links = links
        with self.draft.loading():
            self.refresh()

    def lay_out(self, text: str) -> None:
        """Take the text of a new grid for what was loaded; what was typed before stays as a draft of another name."""
        self.draft.load(typed=text)
        self.say("A new grid is laid out. What is shown stays until it is read.")

    def _print_came(self, *print) -> str:
        return add_print(self, self._name in DEMOS and self.typed.value == self._text, *print)

    def say(self, words: str) -> None:
        """Show one line under the ways of giving readings."""
        self.told.value = (
            f"<p role='status' style='font-size:14px;line-height:1.4;margin:0'>{escape(words)}</p>" if words else ""
        )

    def book(self) -> Sequence[Entry]:
        """Return the sets of the logbook beside the lesson, where there is one that can be read."""
        try:
            return open_logbook(LOGBOOK)
        except LogbookError:
            return ()

    def known_already(self) -> tuple[Known, ...]:
        """Return the bodies of the present readings that are known already."""
        links = self.known.of(self._table)
        return known_bodies(self._table, links, self.book()) if links else ()

    def beside_said(self, reading_sd: float | None, round: int, **stated: float | None) -> list[str]:
        """Say where the rounds of the file up to one lie beside simulated workshops; nothing of one round alone.

        `**stated`: what the learner states of the readings beside their spread.
        """
        table = self._table.rows(self._table.round <= round)
        if table.round.min() == table.round.max():
            return []
        rounds = own_rounds(table, reading_sd, self.known_already(), **stated)
        gone = progress_of(rounds)
        if gone is None or gone.rounds.size < 2:
            return []
        return list(beside_words(beside(rounds, gone), self.units, brief=True))

    def _known_changed(self, links: Links) -> None:
        if self.typed.value != self._text:
            if self._typed_links is not None:  # of a draft counts what is not listed yet; of what is, what is kept
                unseen = {body: one for body, one in self._typed_links.items() if body not in self.known.listed}
                self._typed_links = links = {**unseen, **links}
            self.take(self.typed.value.encode("utf-8", "replace"), TYPED, links)
        else:  # an uploaded file that could not be settled may be now
            self.take(*(self._refused or (self._text.encode("utf-8", "replace"), self._name)), links)

    def suspected(self) -> tuple[Slip, ...]:
        """Return what looks like a slip of the pen in the readings that are shown."""
        if self._looked_at is not self._table:
            self._looked_at, self._suspected = self._table, slips_of(self._table)
        return self._suspected

    def refuse(self, why: Refusal | str) -> None:
        """Show a refusal, and which cells of the grid its rows are."""
        super().refuse(why)
        self.entry.name_rows(str(why), self.typed.value if TYPED in str(why) else "")

    def _accept(self, sentence: str) -> None:
        super()._accept(sentence)
        self.entry.name_rows(" ".join([sentence, *(slip.sentence for slip in self.suspected())]), self._text)
        told = "".join(f"<li>{escape(spoken(slip.sentence, self.units))}</li>" for slip in self.suspected())
        self.slips.value = (
            f"<div role='status' style='border-left:6px solid {style.BLUE};padding:4px 10px;font-size:15px;"
            f"line-height:1.4'>Noticed in the readings:<ul style='margin:0'>{told}</ul></div>"
            if told
            else ""
        )

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the ways of giving readings on one page, what they say on the next, and what is more behind."""
        said = [rows, self.picture, self.slips]
        self.pages = Pages({READINGS: self.ways(), SAID: said, **self.more_pages()}, SAID)
        above = [widgets.HTML(FOCUS), self.pulse.view, self.pages.bar, self.draft.line, self.told, self.message]
        return widgets.VBox([*above, *self.pages.boxes])

    def more_pages(self) -> dict[str, list[widgets.Widget]]:
        """Give the pages behind the first two, by name. Subclasses write this where they have any."""
        return {}

    def take(self, data: bytes, name: str, links: Links | None = None) -> None:
        """Take new readings; where they are refused, what was there before stays.

        `links`: what their bodies are known from; without it as before where the same readings were typed on, and else
        from nothing: a name that comes again may be another body's.
        """
        if len(data) > LIMIT_BYTES:
            raise Refusal(
                "large",
                where=name,
                found=f"{len(data) / 1e6:.1f} MB",
                must_be="at most 1 MB",
                do="Give one file for each round",
            )
        table, text = read_readings(data, name), text_of(data, name)
        self.draft.may_load(typed=text)
        known, shown = self.known.links, self.values().get("round_shown", 0)
        if links is None:
            links = known if name == TYPED and table.kind == self._table.kind else {}
        gone = [one.body for one in self.known.of(self._table) if one.body not in links]
        before = self._table, self._text, self._name
        self._table, self._text, self._name = table, text, name
        self.known.links = links
        self._fit_rounds()
        self.known.follow(table)
        self._refused = None
        try:
            sentence = self.draw(**self.values())
        except Exception as refusal:
            self._table, self._text, self._name = before
            self.known.links = known
            self._fit_rounds(shown)
            if isinstance(refusal, Refusal):
                self._refused = data, name
                raise with_suspicion(refusal, slips_of(table)) from None
            raise
        self._accept(sentence)
        self._typed_links = None
        if self.typed.value == text:
            self.draft.load(typed=text)
            self._note_stated()
        else:
            self.draft.load(typed=text, stated=self._stated_text())
        self.pages.show(SAID)
        left = f" No longer taken as known: {', '.join(gone)}." if gone else ""
        self.say(f"Read: {len(table)} row{'s' * (len(table) != 1)} of {KIND_WORDS[table.kind]} from {name}.{left}")

    def _from_typed(self) -> None:
        self.take(self.typed.value.encode("utf-8", "replace"), TYPED, self._typed_links)

    def _uploaded(self, change) -> None:
        if change.new:
            file = change.new[0]
            try:
                self._try(lambda: self.take(bytes(file["content"]), file["name"]))
            finally:
                self.upload.value = ()  # or the same file would be no change when it comes again

    def _from_path(self) -> None:
        path = typed_path(self.path.value)
        try:
            size = path.stat().st_size if path.is_file() else None
            data = path.read_bytes() if size is not None and size <= LIMIT_BYTES else None
        except (OSError, ValueError) as error:
            raise Refusal(
                "file",
                where=path.name,
                found=f"cannot be read ({reason(error)})",
                must_be="a readings file that exists",
            ) from None
        if size is None:
            raise Refusal(
                "file",
                where=f"'{self.path.value.strip()}'",
                found="is not a file",
                must_be="the path of a readings file",
            )
        if data is None:
            raise Refusal(
                "large",
                where=path.name,
                found=f"{size / 1e6:.1f} MB",
                must_be="at most 1 MB",
                do="Give one file for each round",
            )
        self.take(data, path.name)
