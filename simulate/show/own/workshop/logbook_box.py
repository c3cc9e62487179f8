"""The logbook under a panel of own readings: list, add, edit, note, strike out, history, save and open."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.atomic_files import typed_path
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
from simulate.readings.logbook.merge import merge
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
        self._stands: dict[str, tuple[Path, Entry | None]] = {}  # in which file each set is, and what it says there
        self._waiting: dict[str, Entry] = {}  # of other files than the one in the list, and said there otherwise
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
        path = self._path()
        entries, place = self._fitting(entries, place, path)
        self._list(entries, place)
        identity = self.entries[place].identity if place is not None else None
        merged = save_logbook(path, self.entries)
        places = [k for k, entry in enumerate(merged.entries) if entry.identity == identity]
        self._stand_in(path, merged.entries)
        self._list(list(merged.entries), places[0] if places else None)
        self._saved()
        self.say(
            f"{said} {len(self.entries)} set{'s' if len(self.entries) != 1 else ''} in {path.name}. {merged.sentence}"
        )

    def _path(self) -> Path:
        return typed_path(self.file.value).resolve()

    def _stand_in(self, path: Path, entries: Sequence[Entry]) -> None:
        """Remember that a file holds entries, and what they say there."""
        self._stands |= {entry.identity: (path, entry) for entry in entries}

    def _file_of(self, entry: Entry) -> Path | None:
        """Return the file that an entry came from or was saved in."""
        return self._stands.get(entry.identity, (None, None))[0]

    def _is_saved(self, entry: Entry) -> bool:
        said = self._stands.get(entry.identity, (None, None))[1]
        return said is not None and history(said) == history(entry)

    def _fitting(self, entries: list[Entry], place: int | None, path: Path) -> tuple[list[Entry], int | None]:
        """Leave out sets of other logbooks where the file is there already: nobody asked for them to be copied."""
        fitting = [entry for entry in entries if self._file_of(entry) in (None, path)]
        if not path.is_file() or len(fitting) == len(entries):
            return entries, place
        if not fitting or (place is not None and self._file_of(entries[place]) not in (None, path)):
            raise LogbookError(
                "state",
                where="the list of sets",
                found=f"not that of {path.name}, which is there already",
                must_be="the list of the logbook that is written to",
                do="Press Open logbook first, or save under a new name",
            )
        self._wait([*self._waiting.values(), *entries], path)
        return fitting, None if place is None else [one.identity for one in fitting].index(entries[place].identity)

    def _wait(self, entries: Iterable[Entry], path: Path) -> None:
        """Hold what other files than one do not say yet, until they are opened again."""
        others = [entry for entry in entries if self._file_of(entry) not in (None, path)]
        self._waiting = {entry.identity: entry for entry in others if not self._is_saved(entry)}

    def _list(self, entries: list[Entry], place: int | None) -> None:
        if place is not None:
            self._draft.may_load(**self._fields(entries[place]))
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
            self.called(entry.name, note=entry.note, taken=entry.taken)

    def _fields(self, entry: Entry) -> dict[str, str]:
        """What the fields beside the list say of an entry."""
        return {"note": entry.note, "taken": entry.taken, "work": self.name_for(entry.name)}

    def _chosen(self, change) -> None:
        if self._quiet:
            return
        with faults_shown(self.said):
            try:
                if entry := self.chosen():
                    self._draft.may_load(**self._fields(entry))
            except Refusal as refusal:
                self._quiet = True
                self.list.index = change.old
                self._quiet = False
                self.say(f"Not possible: {refusal}")
                return
            self._tell()

    def _add(self) -> None:
        entry = Entry(**self._said(TYPED))
        same = [k for k, old in enumerate(self.entries) if old == entry]
        if same:
            self._keep(self.entries, same[0], f"It is there already, as set {same[0] + 1}.")
        else:
            self._keep([*self.entries, entry], len(self.entries), " ".join(["Added.", *self._asks(entry)]))

    def called(self, name: str, **beside: str) -> None:
        """Have the field say what the work is called; what is typed has no name but the one that is typed for it.

        `**beside`: other fields to be loaded with it, all at once: a disk may fill between one field and the next.
        """
        called = self.name_for(name)
        if name != TYPED or not called:
            self._called = called
            beside["work"] = called
        if beside:
            self._draft.load(**beside)

    def name_for(self, name: str) -> str:
        """What the field of the name says of readings of that name."""
        if name != TYPED:
            return name
        return self.work.value if self.work.value != self._called else ""

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
        said, path = "", self._path()
        try:
            entries = list(open_logbook(path))
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
        held = self._waiting | {entry.identity: entry for entry in self.entries}
        ours = [entry for entry in held.values() if self._file_of(entry) in (None, path)]
        listed, last = merge(entries, ours).entries, len(entries) - 1
        self._draft.may_load(typed=listed[last].readings, **self._fields(listed[last]))
        self._wait(held.values(), path)
        if said:
            self._stands |= {entry.identity: (self._path(), None) for entry in listed}
        else:
            self._stand_in(path, entries)
        self._list(list(listed), last)
        self.say(
            (said or f"Opened: {len(entries)} set{'s' if len(entries) != 1 else ''}; the last one is shown.")
            + self._unsaved()
        )
        self._show(self._need())

    def _unsaved(self) -> str:
        """Say which sets are on no disk as they are here."""
        numbers = [str(k) for k, entry in enumerate(self.entries, 1) if not self._is_saved(entry)]
        files = sorted({file.name for file in map(self._file_of, self._waiting.values()) if file})
        here = f" Not saved yet: set {', '.join(numbers)}; press Save logbook." if numbers else ""
        return here + (f" Changes to {' and '.join(files)} are not saved yet: open it again to save." if files else "")

    def _open_example(self) -> None:
        """Lay a whole invented job beside the lesson, where it is not there yet, and open it."""
        if not Path(EXAMPLE).exists():
            write_whole(EXAMPLE, example_job().read_bytes())
        mine, self.file.value = self.file.value, EXAMPLE
        try:
            self._open()
        except Refusal:
            self.file.value = mine
            raise
        self.say(
            f"Opened: {EXAMPLE}, {len(self.entries)} sets of an invented workshop, from three black bars to an aligned "
            f"headstock. Your own logbook is untouched: put {mine} back in the field to go on with it."
        )

    def _rescued(self, refusal: LogbookError) -> tuple[list[Entry], str]:
        """What is whole in a damaged logbook, to be saved under another name; the damaged one stays as it is."""
        try:
            path = typed_path(self.file.value)
            rescued = rescue_logbook(path)
        except LogbookError:
            raise refusal from None
        self.file.value = str(path.with_name(f"{path.stem}_rescued{path.suffix}"))
        return list(rescued.entries), f"{rescued.sentence} What you save now goes to {Path(self.file.value).name}."

    def _report(self) -> None:
        if not self.entries and self._path().is_file():
            entries = open_logbook(self._path())
            self._stand_in(self._path(), entries)
            self._list(list(entries), None)
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
