"""What the bench page shows: what a sheet says, cell by cell, which keys its cells take, and what its readings tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_faults import faults
from simulate.readings.entry.cell_grid import EntryGrid, entry_grid
from simulate.readings.entry.head_words import (
    MAPS,
    block_words,
    column_words,
    corner_words,
    head_words,
    row_words,
    rows_in_words,
    takes_intervals,
    unit_words,
)
from simulate.readings.logbook.bench_sheet import NOTE, Sheet, as_entry
from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.log_findings import entry_findings
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.cell_words import said_of
from simulate.readings.table.read import read_readings
from simulate.show.units.finding_words import spoken

LESS, MORE, MINUS = ("<", "<", "less than"), (">", ">", "more than"), ("-", "−", "minus, or to")
TO = (" to ", "to", "to")
DARK = ("dark", "dark", "dark: no light seen")
PRINTS = (("x", "x", "it printed"), (".", "no print", "it did not print"))
_MOST_WRONG = 6
Key = tuple[str, str, str]
"""What a key types, what stands on it, and what it is called."""


@dataclass(frozen=True, kw_only=True)
class Cell:
    """One cell of the grid, as the page shows it.

    `at`: ``"row,column"``. `said`: what it is called, with its unit. `words`: what counts there. `wrong`: why it cannot
    be read; empty where it can. `also`: what another hand typed there unseen.
    """

    at: str
    said: str
    words: str
    wrong: str = ""
    also: tuple[str, ...] = ()
    closed: bool = False


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of the grid; `block` is what stands over it, where that is new."""

    head: str
    block: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A sheet as the page shows it.

    `filled`, `of`: cells. `version`: of the sheet. `keys`: besides figures. `across`: whether cells are usually read
    along a row.
    """

    corner: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    unit: str
    filled: int
    of: int
    version: int
    keys: tuple[Key, ...]
    across: bool

    def cells(self) -> tuple[Cell, ...]:
        """Return every cell, row by row."""
        return tuple(cell for row in self.rows for cell in row.cells)

    def order(self, across: bool) -> tuple[str, ...]:
        """Return open cells as they follow each other, along rows or down columns."""
        lines = [row.cells for row in self.rows] if across else list(zip(*(row.cells for row in self.rows)))
        return tuple(cell.at for line in lines for cell in line if not cell.closed)


def shown(sheet: Sheet) -> Shown:
    """Lay a sheet out for the page."""
    grid, latest, otherwise = sheet.grid(), sheet.latest(), sheet.otherwise()
    text = sheet.readings()
    unit = unit_words(grid, sheet.text)
    wrong = _wrong(grid, text)
    rows, block = [], ""
    for r, places in enumerate(grid.places):
        cells = []
        for c, place in enumerate(places):
            at = f"{r},{c}"
            said = " ".join(head_words(grid, r, c)) + (f", {unit}" if unit else "")
            words = latest[at].words if at in latest else place.typed
            also = otherwise.get(at, ())
            cells.append(Cell(at=at, said=said, words=words, wrong=wrong.get(at, ""), also=also, closed=place.closed))
        over = block_words(grid, r)
        rows.append(Row(head=row_words(grid, r), block=over if over != block else "", cells=tuple(cells)))
        block = over
    every = [cell for row in rows for cell in row.cells if not cell.closed]
    return Shown(
        corner=corner_words(grid),
        heads=tuple(column_words(grid, c) for c in range(len(grid.across))),
        rows=tuple(rows),
        unit=unit,
        filled=sum(bool(cell.words) for cell in every),
        of=len(every),
        version=sheet.version(),
        keys=_keys(grid, sheet.text),
        across=grid.kind in MAPS or grid.axes.listed,
    )


def _wrong(grid: EntryGrid, text: str) -> dict[str, str]:
    """Which cells cannot be read, and why; a text whose rows moved is told by its own heads."""
    now = entry_grid(text)
    found = faults(now, text)
    if (now.down, now.across) == (grid.down, grid.across):
        return {f"{fault.row},{fault.column}": fault.sentence for fault in found}
    places = {head_words(grid, r, c): f"{r},{c}" for r in range(len(grid.down)) for c in range(len(grid.across))}
    told = ((places.get(head_words(now, fault.row, fault.column)), fault.sentence) for fault in found)
    return {at: sentence for at, sentence in told if at}


def _keys(grid: EntryGrid, text: str) -> tuple[Key, ...]:
    """Which keys its cells take besides figures."""
    if grid.kind == "wedge":
        return ()
    if not takes_intervals(grid):
        return (MINUS,)
    prints = PRINTS if said_of(text.splitlines()).film_um or "printed" in " ".join(grid.header) else ()
    return (LESS, MORE, MINUS, TO if grid.kind == "lands" else DARK, *prints)


def state(sheet: Sheet) -> dict:
    """Give what the page follows: each cell's words, what cannot be read, what others typed."""
    now = shown(sheet)
    return {
        "version": str(now.version),
        "cells": {cell.at: cell.words for cell in now.cells() if not cell.closed},
        "wrong": {cell.at: cell.wrong for cell in now.cells() if cell.wrong},
        "also": {cell.at: list(cell.also) for cell in now.cells() if cell.also},
        "note": sheet.note(),
        "note_also": list(sheet.otherwise().get(NOTE, ())),
        "filled": now.filled,
        "of": now.of,
    }


@dataclass(frozen=True, kw_only=True)
class Told:
    """What the readings of a sheet tell.

    `says`, `follows`: what they say, and what to do next. `rows`: which cells the rows are that a sentence speaks of.
    `found`: none where they are refused.
    """

    says: tuple[str, ...]
    follows: tuple[str, ...] = ()
    slips: tuple[str, ...] = ()
    rows: tuple[str, ...] = ()
    found: Findings | None = None


def told(sheet: Sheet, book: Sequence[Entry], units: str) -> Told:
    """Work out what the readings of a sheet tell, with the sets of the logbook that go before."""
    entry = as_entry(sheet, book)
    try:
        table = read_readings(entry.readings.encode("utf-8", "replace"), entry.name)
        found = entry_findings(table, entry, book)
    except Refusal as why:
        grid = entry_grid(entry.readings)
        wrong = [fault.sentence for fault in faults(grid, entry.readings)]
        if wrong:
            return Told(says=tuple(spoken(one, units) for one in wrong[:_MOST_WRONG]))
        return Told(says=(spoken(str(why), units),), rows=rows_in_words(grid, str(why)))
    stop = [found.stop.sentence] if found.stop else []
    follows = [*([found.next.sentence] if found.next else []), *found.cut[:3], *stop]
    slips = [slip.sentence for slip in found.slips]
    return Told(
        says=(spoken(found.sentences[0], units),),
        follows=tuple(spoken(one, units) for one in follows),
        slips=tuple(spoken(one, units) for one in slips),
        rows=rows_in_words(entry_grid(entry.readings), " ".join([*found.sentences, *slips])),
        found=found,
    )
