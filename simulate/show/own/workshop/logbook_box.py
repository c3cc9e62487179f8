"""The logbook under a panel of own readings: list, add, edit, note, strike out, history, save and open."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.logbook.entry import Entry, edited, gone_back, history
from simulate.readings.logbook.known_bodies import dependents
from simulate.readings.logbook.log_findings import kind_read, other_names
from simulate.readings.logbook.logbook import (
    LogbookError,
    example_job,
    open_logbook,
    rescue_logbook,
    save_logbook,
    write_whole,
)
from simulate.readings.logbook.standing import job_standing
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import NAMED, TYPED
from simulate.show.drawing.fault import faults_shown
from simulate.show.own.draft_keeper import DraftKeeper
from simulate.show.own.readings_panel import WIDE
from simulate.show.own.workshop.report import parts_html, write_report
from simulate.show.own.workshop.report_content import standing_parts
from simulate.show.units.finding_words import KIND_WORDS

EXAMPLE = "my_example_job.json"
"""Where the logbook of the invented job is laid, beside the lesson."""
_FULL = widgets.Layout(width="62em", max_width="100%")


def entry_line(number: int, entry: Entry) -> str:
    """Give the line that stands for an entry in a list.

    >>> entry_line(2, Entry("gap_um,looks,seen\\n1,10,0\\n", "eye.csv", "in the evening", written="2026-01-02T10:00"))
    '2. wedge test of the eye, 1 row, eye.csv, 2026-01-02: in the evening'
    """
    try:
        table = read_readings(entry.readings.encode("utf-8", "replace"), entry.name)
        what = f"{KIND_WORDS[table.kind]}, {len(table)} row{'s' if len(table) != 1 else ''}"
    except Refusal:
        what = "cannot be read"
    note = f": {' '.join(entry.note.split())[:40]}" if entry.note.strip() else ""
    edits = len(entry.earlier)
    more = f", edited {edits} time{'s' if edits > 1 else ''}" if edits else ""
    return (
        f"{number}. {'STRUCK OUT, ' if entry.struck else ''}{what}, {entry.name[:30]}, "
        f"{history(entry)[0].written[:10] or 'older'}{more}{note}"
    )


class LogbookBox:
    """The widgets of a logbook and what they do.

    `path`: where the logbook is kept. `present`: gives what the panel shows now, as the fields of an `Entry`. `show`:
    has the panel show an entry. `attempt`: runs an act; where it is refused, shows the sentence. `draft`: keeps the
    note while it is typed. `saved`: told when the entries are on the disk.
    """

    def __init__(
        self,
        path: str,
        present: Callable[[], dict],
        show: Callable[[Entry], None],
        attempt: Callable[[Callable[[], None]], None],
        units: str,
        draft: DraftKeeper,
        saved: Callable[[], None],
    ) -> None:
        self.entries: list[Entry] = []
        self._called = ""
        self._present, self._show, self._units, self._quiet = present, show, units, False
        self._draft, self._saved = draft, saved
        self.file = widgets.Text(
            value=path, description="Logbook file", style=WIDE["style"], layout=widgets.Layout(width="26em")
        )
        self.work = widgets.Text(
            description="Name of the work",
            placeholder="such as 'front plate'; its later rounds have it too",
            **WIDE,
        )
        self.note = widgets.Textarea(description="Note", rows=2, **WIDE)
        self.taken = widgets.Text(description="Date taken", **WIDE)
        self.list = widgets.Select(
            options=[], rows=4, description="Sets in the logbook", style=WIDE["style"], layout=_FULL
        )
        self.wordings = widgets.Select(
            options=[], rows=3, description="History of this set", style=WIDE["style"], layout=_FULL
        )
        self.folder = widgets.Text(
            value="my_report",
            description="Folder of the report",
            style=WIDE["style"],
            layout=widgets.Layout(width="26em"),
        )
        self.appendix = widgets.Checkbox(value=True, description="Appendix", indent=False)
        self.said = widgets.HTML()
        self.stands = widgets.HTML()
        self.stands.add_class("workshop-tables")
        draft.watch("work", self.work)
        draft.watch("note", self.note)
        draft.watch("taken", self.taken)
        self.list.observe(self._chosen, names="index")
        self.buttons = {}
        for name, words, act in (
            ("open", "Open logbook", self._open),
            ("save", "Save logbook", self._save),
            ("example", "Open an invented job", self._open_example),
            ("add", "Add as a new set", self._add),
            ("edit", "Save as a correction", self._edit),
            ("show", "Show this set", self._shown),
            ("strike", "Strike or restore", self._strike),
            ("back", "Restore this version", self._back),
            ("report", "Write the report", self._report),
            ("stands", "Where the job stands", self.stand),
        ):
            button = self.buttons[name] = widgets.Button(description=words, layout=widgets.Layout(width="14em"))
            button.on_click(lambda _, act=act: attempt(act))

    def view(self) -> list[widgets.Widget]:
        """Give the widgets in the order in which they are used."""

        def row(*parts: widgets.Widget) -> widgets.HBox:
            return widgets.HBox(parts, layout=widgets.Layout(overflow="visible", flex_flow="row wrap", padding="3px"))

        b = self.buttons
        return [
            row(self.file, b["open"], b["save"], b["example"]),
            self.work,
            self.note,
            self.taken,
            row(b["add"], b["edit"], b["show"], b["strike"]),
            self.list,
            self.wordings,
            row(b["back"]),
            row(self.folder, b["report"], self.appendix),
            self.said,
        ]

    def chosen(self) -> Entry | None:
        """Return the entry that is chosen in the list."""
        place = self.list.index
        return None if place is None or place >= len(self.entries) else self.entries[place]

    def before(self, readings: str) -> list[Entry]:
        """Return the entries that stand before readings: all of them, or those above the one that is shown."""
        place = self.list.index
        known = self.chosen()
        return self.entries[:place] if known is not None and known.readings == readings else list(self.entries)

    # -- acts -----------------------------------------------------------------
    def _need(self) -> Entry:
        entry = self.chosen()
        if entry is None:
            raise LogbookError(
                "missing",
                where="the list of sets",
                found="no chosen set",
                must_be="one",
                do="Open a logbook, or add a set, and choose one",
            )
        return entry

    def _keep(self, entries: list[Entry], place: int | None, said: str) -> None:
        """Hold the entries, whatever the disk says, then write them."""
        self._list(entries, place)
        identity = self.entries[place].identity if place is not None else None
        merged = save_logbook(self.file.value, self.entries)
        places = [k for k, entry in enumerate(merged.entries) if entry.identity == identity]
        self._list(list(merged.entries), places[0] if places else None)
        self._saved()
        self.say(
            f"{said} {len(self.entries)} set{'s' if len(self.entries) != 1 else ''} in "
            f"{Path(self.file.value).name}. {merged.sentence}"
        )

    def _list(self, entries: list[Entry], place: int | None) -> None:
        self._quiet = True
        self.entries = entries
        self.list.options = [entry_line(k, entry) for k, entry in enumerate(entries, 1)]
        self.list.index = place
        self._quiet = False
        self._tell()

    def _tell(self) -> None:
        entry = self.chosen()
        was = history(entry) if entry else ()
        self.wordings.options = [
            f"{k}. {w.written[:19].replace('T', ' ') or 'older version'}: {'struck out, ' if w.struck else ''}"
            f"{len(w.readings.splitlines())} lines; {' '.join(w.note.split())[:40] or 'no note'}"
            for k, w in enumerate(was, 1)
        ]
        if entry:
            with self._draft.loading():
                self.note.value, self.taken.value = entry.note, entry.taken
            self.called(entry.name)
            self._draft.loaded("note", "taken")

    def _chosen(self, _change) -> None:
        if not self._quiet:
            with faults_shown(self.said):
                self._tell()

    def _add(self) -> None:
        entry = Entry(**self._said(TYPED))
        same = [k for k, old in enumerate(self.entries) if old == entry]
        if same:
            self._keep(self.entries, same[0], f"It is there already, as set {same[0] + 1}.")
        else:
            self._keep([*self.entries, entry], len(self.entries), " ".join(["Added.", *self._asks(entry)]))

    def called(self, name: str) -> None:
        """Have the field say what the work is called; what is typed has no name but the one that is typed for it."""
        if name == TYPED and self.work.value != self._called:
            return
        self._called = "" if name == TYPED else name
        with self._draft.loading():
            self.work.value = self._called
        self._draft.loaded("work")

    def _said(self, name: str) -> dict:
        """What is shown now as fields of an entry, with the note, the date and the name of the work."""
        said = self._present() | {"note": self.note.value, "taken": self.taken.value}
        return said | {"name": " ".join(self.work.value.split()) or name}

    def _asks(self, entry: Entry) -> list[str]:
        """Ask for a name, or for one and the same, where rounds of one work cannot be told to be such."""
        others = [str(k) for k in other_names(entry, self.entries)]
        if entry.name == TYPED and kind_read(entry) not in (*NAMED, "wedge"):
            return ["It has no name, so no later round can belong to it: write one above, and save it as a correction."]
        if not others:
            return []
        return [
            f"Set {' and '.join(others)} may be of the same work under another name: if so, give both the same name, "
            "and they count as its rounds."
        ]

    def _edit(self) -> None:
        place, entry = self.list.index, self._need()
        new = edited(entry, **self._said(entry.name))
        self._replace(
            place,
            new,
            "Nothing was changed."
            if new is entry
            else " ".join(
                [
                    "Corrected; the history keeps what it said before.",
                    *self._dependents(entry, "worked out with what it says now"),
                    *self._asks(new),
                ]
            ),
        )

    def _strike(self) -> None:
        place, entry = self.list.index, self._need()
        self._replace(
            place,
            edited(entry, struck=not entry.struck),
            "Restored."
            if entry.struck
            else " ".join(
                [
                    "Struck out: it stays in the logbook but is left out of all results.",
                    *self._dependents(entry, "not worked out"),
                ]
            ),
        )

    def _dependents(self, entry: Entry, what: str) -> list[str]:
        """Say what becomes of the sets that depend on one."""
        numbers = [str(k) for k in dependents(self.entries, entry.identity)]
        if not numbers:
            return []
        many = len(numbers) > 1
        named = f"Set{'s' * many} {' and '.join(numbers)} depend{'s' * (not many)}"
        return [f"{named} on it and {'are' if many else 'is'} {what}."]

    def _back(self) -> None:
        place, entry = self.list.index, self._need()
        if self.wordings.index is None:
            raise LogbookError(
                "missing", where="the history", found="no chosen version", must_be="one", do="Choose one"
            )
        self._replace(
            place, gone_back(entry, self.wordings.index), "Restored; what it said in between stays in the history."
        )
        self._show(self._need())

    def _replace(self, place: int, entry: Entry, said: str) -> None:
        self._keep([*self.entries[:place], entry, *self.entries[place + 1 :]], place, said)

    def _shown(self) -> None:
        self._show(self._need())
        self.say(f"Set {self.list.index + 1} is shown.")

    def _save(self) -> None:
        if not self.entries:
            self._add()
        else:
            self._keep(self.entries, self.list.index, "Saved.")

    def _open(self) -> None:
        said = ""
        try:
            entries = list(open_logbook(self.file.value))
        except LogbookError as refusal:
            entries, said = self._rescued(refusal)
        if not entries:
            raise LogbookError(
                "missing",
                where="the logbook",
                found="no readings yet",
                must_be="one set or more",
                do="Add a set, then open it",
            )
        held = {entry.identity for entry in entries}
        self._list([*entries, *(entry for entry in self.entries if entry.identity not in held)], len(entries) - 1)
        self.say(said or f"Opened: {len(entries)} set{'s' if len(entries) != 1 else ''}; the last one is shown.")
        self._show(self._need())

    def _open_example(self) -> None:
        """Lay a whole invented job beside the lesson, where it is not there yet, and open it."""
        if not Path(EXAMPLE).exists():
            write_whole(EXAMPLE, example_job().read_bytes())
        mine, self.file.value = self.file.value, EXAMPLE
        self._open()
        self.say(
            f"Opened: {EXAMPLE}, {len(self.entries)} sets of an invented workshop, from three black bars to an aligned "
            f"headstock. Your own logbook is untouched: put {mine} back in the field to go on with it."
        )

    def _rescued(self, refusal: LogbookError) -> tuple[list[Entry], str]:
        """What is whole in a damaged logbook, to be saved under another name; the damaged one stays as it is."""
        try:
            rescued = rescue_logbook(self.file.value)
        except LogbookError:
            raise refusal from None
        path = Path(self.file.value)
        self.file.value = str(path.with_name(f"{path.stem}_rescued{path.suffix}"))
        return list(rescued.entries), f"{rescued.sentence} What you save now goes to {Path(self.file.value).name}."

    def _report(self) -> None:
        if not self.entries and Path(self.file.value).is_file():
            self._list(list(open_logbook(self.file.value)), None)
        entries = self.entries or [Entry(**self._present(), note=self.note.value, taken=self.taken.value)]
        page, paper = write_report(entries, self.folder.value, self._units, appendix=self.appendix.value)
        self.say(f"Written: {page} and {paper}.")

    def stand(self) -> None:
        """Show where the job stands by the sets that are in the list."""
        self.stands.value = parts_html(standing_parts(job_standing(self.entries), self._units), 3)
        self.say("Where the job stands is shown at the top of the panel.")

    def say(self, words: str) -> None:
        """Show a sentence under the logbook."""
        self.said.value = f"<p role='status' style='font-size:15px'>{escape(words.strip())}</p>"
