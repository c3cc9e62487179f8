"""A sheet that is filled at the bench, by one hand or by several at once: each writes into a draft file of its own, and
what they typed is put together cell by cell."""

from __future__ import annotations

import json
import os
import secrets
import time
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import EntryGrid, entry_grid, place_of
from simulate.readings.entry.cell_typing import with_cells
from simulate.readings.entry.head_words import head_words
from simulate.readings.logbook.draft import drafts, put_away, write_draft
from simulate.readings.logbook.entry import Entry, edited
from simulate.readings.logbook.logbook import LogbookError, open_logbook, save_logbook
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.readings import TYPED

KIND = "phone"
"""Begins the names of its draft files, after ``my_draft_``."""
NOTE = "note"
"""Stands in place of a cell for the learner's own words."""
LONGEST = {NOTE: 2000}
"""Characters of what is typed; a cell takes `CELL`."""
CELL = 40
NAME = 80
MOST_SHEETS = 40
_KEPT = ("text", "name", "own", "after", "saved", "before")
_CARRIED = ("reading_sd_um", "target_um", "depends_on", "feel_um", "place_mm", "resolution_um")


@dataclass(frozen=True, kw_only=True)
class Typed:
    """What one hand typed last into one cell.

    `at`: when: nanoseconds of the computer's clock, no two alike on one sheet. `seen`: the latest typing of the sheet
    that this hand had been shown.
    """

    words: str
    at: int
    seen: int


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """One set of readings while it is taken.

    `text`: what it began with: a table laid out, or readings taken already. `name`: of the work. `own`: identity of the
    logbook's set that it is saved as. `after`: identity of the set whose spread, wish and known bodies it takes over;
    empty where it follows none. `saved`, `before`: readings as it saved them last, or meant to, and as its set had them
    before that. `path`: of its draft file. `hands`: who typed, and into which cell: ``"row,column"`` of the grid, or
    `NOTE`.
    """

    identity: str
    text: str
    name: str
    own: str
    after: str
    saved: str
    before: str
    path: Path
    hands: Mapping[str, Mapping[str, Typed]]

    def grid(self) -> EntryGrid:
        """Return the grid that is typed into; where its cells lie never changes."""
        return entry_grid(self.text)

    def latest(self) -> dict[str, Typed]:
        """Return what counts: in each cell what was typed last."""
        found: dict[str, Typed] = {}
        for cells in self.hands.values():
            for at, typed in cells.items():
                if at not in found or found[at].at < typed.at:
                    found[at] = typed
        return found

    def version(self) -> int:
        """Return when anything was typed last; 0 where nothing was."""
        return max((typed.at for cells in self.hands.values() for typed in cells.values()), default=0)

    def otherwise(self, unseen: bool = True) -> dict[str, tuple[str, ...]]:
        """Return what other hands typed into a cell than what counts there.

        `unseen`: only what whoever typed last had not been shown.
        """
        latest, found = self.latest(), {}
        for at, last in latest.items():
            others = [cells[at] for cells in self.hands.values() if at in cells and cells[at].words != last.words]
            words = dict.fromkeys(one.words for one in others if not unseen or one.at > last.seen)
            if words:
                found[at] = tuple(words)
        return found

    def note(self) -> str:
        """Return the learner's own words."""
        typed = self.latest().get(NOTE)
        return typed.words if typed else ""

    def readings(self) -> str:
        """Return the text of the readings with all that was typed; what other hands typed into a cell than what counts
        stands below as comments."""
        grid, latest = self.grid(), self.latest()
        cells = {place: typed.words for at, typed in latest.items() if (place := place_of(at))}
        text = with_cells(self.text, grid, cells)
        also = []
        for at, words in self.otherwise(unseen=False).items():
            place = place_of(at)
            where = "note" if place is None else " ".join(head_words(grid, *place))
            also += [f"# also typed, {where}: {' '.join(one.split()) or '-'}" for one in words]
        return "\n".join([text.rstrip("\r\n"), *also]) + "\n" if also else text


def sheets(folder: Path) -> tuple[Sheet, ...]:
    """Return the sheets whose drafts lie in a folder, the one that was typed into last first.

    `folder`: where the logbook lies.
    """
    found: dict[str, Sheet] = {}
    typed: dict[str, dict[str, dict[str, Typed]]] = {}
    for draft in drafts(KIND, folder):
        fields = draft.fields
        if "text" in fields:
            kept = {name: fields.get(name, "") for name in _KEPT}
            found.setdefault(
                fields.get("sheet", ""), Sheet(identity=fields.get("sheet", ""), path=draft.path, hands={}, **kept)
            )
        elif "cells" in fields:
            typed.setdefault(fields.get("sheet", ""), {})[fields.get("hand", "")] = _cells_of(fields["cells"])
    whole = [replace(sheet, hands=typed.get(name, {})) for name, sheet in found.items() if _is_whole(sheet)]
    return tuple(sorted(whole, key=lambda sheet: max(sheet.version(), _begun(sheet)), reverse=True))


def _begun(sheet: Sheet) -> int:
    try:
        return sheet.path.stat().st_mtime_ns
    except OSError:
        return 0


def _is_whole(sheet: Sheet) -> bool:
    try:
        return bool(sheet.identity) and sheet.grid() is not None
    except Refusal:
        return False


def _cells_of(kept: str) -> dict[str, Typed]:
    """What a hand's draft holds; what is no cell of it is left out."""
    try:
        held = json.loads(kept)
        return {
            str(at): Typed(words=str(words), at=int(when), seen=int(seen)) for at, (words, when, seen) in held.items()
        }
    except (ValueError, TypeError, AttributeError):
        return {}


def begin_sheet(folder: Path, text: str, name: str = "", own: str = "", after: str = "") -> Sheet:
    """Begin a sheet, and write it down.

    `text`: that a grid shows. `name`: of the work; a work whose bodies have no names is known by it. `own`: identity of
    the set that it goes on with; a new one where it is not said. `after`: identity of the set whose spread, wish and
    known bodies it takes over.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as place:
    ...     sheet = begin_sheet(Path(place), "lower,upper,position_mm,gap_um\\n# not read: A,B,0,\\n")
    ...     type_into(sheet, "one", {"0,0": ("12", 0)})
    ...     sheets(Path(place))[0].readings().splitlines()[1]
    'A,B,0,12'
    """
    entry_grid(text)
    if len(sheets(folder)) >= MOST_SHEETS:
        raise Refusal(
            "count",
            where="the bench page",
            found=f"{MOST_SHEETS} open sheets",
            must_be=f"fewer than {MOST_SHEETS}",
            do="Put away one that is saved",
        )
    _fits(name, NAME, "the name of the work")
    identity = secrets.token_hex(16)
    sheet = Sheet(
        identity=identity,
        text=text,
        name=" ".join(as_seen(name).split()) or TYPED,
        own=own or secrets.token_hex(16),
        after=after or own,
        saved="",
        before="",
        path=folder / f"my_draft_{KIND}_{identity}.json",
        hands={},
    )
    _write(sheet)
    return sheet


def _write(sheet: Sheet) -> None:
    kept = {name: getattr(sheet, name) for name in _KEPT}
    write_draft(sheet.path, {"sheet": sheet.identity, **kept})


def _fits(words: str, most: int, where: str) -> None:
    if len(words) > most:
        raise Refusal("large", where=where, found=f"{len(words)} characters", must_be=f"at most {most}")


def check_typed(sheet: Sheet, at: str, words: str) -> None:
    """Refuse what is no cell of a sheet, or too long for one."""
    grid = sheet.grid()
    row, column = place_of(at) or (len(grid.down), 0)
    inside = row < len(grid.down) and column < len(grid.across)
    if at != NOTE and (not inside or grid.places[row][column].closed):
        raise Refusal("place", where="a cell", found="not on this sheet", must_be="one that is open")
    _fits(words, LONGEST.get(at, CELL), "the note" if at == NOTE else " ".join(head_words(grid, row, column)))


def type_into(sheet: Sheet, hand: str, cells: Mapping[str, tuple[str, int]]) -> None:
    """Write down what one hand typed, beside what it typed before.

    `hand`: whose: a word of the course's own making, never what a page sent. `cells`: place of a cell, or `NOTE` ->
    what stands there now, and the latest typing that was shown to whoever typed.
    """
    for at, (words, _) in cells.items():
        check_typed(sheet, at, words)
    now = max(time.time_ns(), sheet.version() + 1)
    mine = dict(sheet.hands.get(hand, {}))
    for k, (at, (words, seen)) in enumerate(cells.items()):
        plain = words.strip() if at == NOTE else " ".join(as_seen(words).split())
        mine[at] = Typed(words=plain, at=now + k, seen=seen)
    kept = json.dumps({at: [typed.words, typed.at, typed.seen] for at, typed in mine.items()})
    path = sheet.path.with_name(f"{sheet.path.stem}_{hand}.json")
    write_draft(path, {"sheet": sheet.identity, "hand": hand, "cells": kept})


def emptied(text: str) -> str:
    """Return the text of readings with every cell to be read again: another round of the same.

    >>> emptied("lower,upper,position_mm,gap_um\\nA,B,0,12\\n").splitlines()[1]
    '# not read: A,B,0,'
    """
    grid = entry_grid(text)
    places = [(row, column) for row in range(len(grid.down)) for column in range(len(grid.across))]
    return with_cells(text, grid, dict.fromkeys(places, ""))


def book_beside(path: str | os.PathLike) -> tuple[Entry, ...]:
    """Return the sets of a logbook, none where there is no logbook yet."""
    return open_logbook(path) if os.path.exists(path) else ()


def as_entry(sheet: Sheet, book: Sequence[Entry]) -> Entry:
    """Return the set that a sheet is now: an edit of its own where the logbook holds that as it was left.

    `book`: the logbook, in which the sets stand whose spread, wish and known bodies it takes over.
    """
    held = _entry_of(book, sheet.own)
    note = held.note if held and NOTE not in sheet.latest() else sheet.note()
    said: dict[str, Any] = {"readings": sheet.readings(), "note": note}
    if held is not None and held.readings in (sheet.text, sheet.saved, sheet.before, said["readings"]):
        return edited(held, **said)
    before = _entry_of(book, sheet.after)
    carried: dict[str, Any] = {name: getattr(before, name) for name in _CARRIED} if before else {}
    own = sheet.own if held is None else secrets.token_hex(16)
    return Entry(**said, name=sheet.name, identity=own, **carried)


def _entry_of(book: Iterable[Entry], identity: str) -> Entry | None:
    return next((entry for entry in book if entry.identity == identity), None)


def save_sheet(sheet: Sheet, path: str | os.PathLike) -> int:
    """Save a sheet as a set of the logbook, which it never takes another one's place in.

    Returns: number of the set.
    """
    book = book_beside(path)
    entry, own = as_entry(sheet, book), _entry_of(book, sheet.own)
    # first the draft: whoever is killed before the logbook is written goes on with the same set all the same
    _write(replace(sheet, own=entry.identity, saved=entry.readings, before=own.readings if own else ""))
    held = save_logbook(path, [entry]).entries
    return next((k for k, one in enumerate(held, 1) if one.identity == entry.identity), 0)


def put_sheet_away(sheet: Sheet) -> None:
    """Keep the drafts of a sheet under other names, under which they are not shown any more."""
    for draft in drafts(KIND, sheet.path.parent):
        if draft.fields.get("sheet") == sheet.identity and draft.path != sheet.path:
            _away(draft.path)
    _away(sheet.path)


def _away(path: Path) -> None:
    try:
        put_away(path)
    except OSError as error:
        raise LogbookError(
            "file",
            where=path.name,
            found=f"was not put away ({(error.strerror or 'the folder does not allow it').lower()})",
            must_be="in a folder that can be written to",
        ) from None
