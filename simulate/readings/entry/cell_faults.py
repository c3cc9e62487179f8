"""What is wrong with what was typed into a cell of the grid, as the reader of files would say it."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from functools import lru_cache

from simulate.core.refusal import sentence
from simulate.readings.entry.cell_grid import EntryGrid, Place
from simulate.readings.entry.head_words import head_words
from simulate.readings.table.columns import meaning_of
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import ReadingsError
from simulate.readings.table.separators import is_aside

_FIRST = "0"


@dataclass(frozen=True, kw_only=True)
class CellFault:
    """A cell of the grid that cannot be read.

    `row`, `column`: of the grid, from 0. `code`, `where`, `found`, `must_be`, `do`: as of a `Refusal`; `where` names
    the heads that the cell stands under.
    """

    row: int
    column: int
    code: str
    where: str
    found: str
    must_be: str
    do: str

    @property
    def sentence(self) -> str:
        """The fault in one line."""
        return sentence(self.code, self.where, self.found, self.must_be, self.do)


def faults(grid: EntryGrid, text: str) -> tuple[CellFault, ...]:
    """Say what is wrong with the cells of a grid, row by row.

    `text`: that the grid is of; its comments say what a division, a film and ``dark`` are worth.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> text = "lower,upper,position_mm,gap_um\\nA,B,0,12\\nA,B,50,thin\\n"
    >>> [fault.sentence[:42] for fault in faults(entry_grid(text), text)]
    ["B on A at 50 mm is 'thin'; it must be a nu"]
    """
    asides = "\n".join(line for line in text.splitlines() if is_aside(line) and ":" in line)
    shown = dict.fromkeys(p.line for row in grid.places for p in row if p.line and not p.line.waits)
    if not shown or _refusal(asides, grid.header, tuple(line.cells for line in shown)) is None:
        return ()
    found = []
    for r, places in enumerate(grid.places):
        for c, place in enumerate(places):
            if place.line is None or place.line.waits or place.closed:
                continue
            why = _refused(asides, grid.header, _alone(grid, place))
            if why is None or _elsewhere(grid, place, why):
                continue
            where = " ".join(head_words(grid, r, c))
            advice = "" if why.usual_advice else why.do
            found.append(
                CellFault(row=r, column=c, code=why.code, where=where, found=why.found, must_be=why.must_be, do=advice)
            )
    return tuple(found)


def _elsewhere(grid: EntryGrid, place: Place, why: ReadingsError) -> bool:
    """Whether what is wrong is told at another cell of the same line, or of none."""
    at = meaning_of(why.column) if why.column else ""
    if grid.axes.listed:  # a line by itself may lack what the table has
        return at not in place.group
    return at in {name for group in grid.axes.values for name in group} - set(place.group)


def _alone(grid: EntryGrid, place: Place) -> tuple[tuple[str, ...], ...]:
    """The line of a place as a table of its own; a line of a survey with the start that it needs."""
    cells = place.line.cells if place.line is not None else ()
    names = [meaning_of(name) for name in grid.header]
    if grid.kind not in ("union jack", "level"):
        return (cells,)
    start = list(cells)
    start[names.index("reading")], start[names.index("station")] = "", _FIRST
    end = list(cells)
    end[names.index("station")] = "1"
    return tuple(start), tuple(end)


def _refusal(asides: str, header: tuple[str, ...], rows: tuple[tuple[str, ...], ...]) -> ReadingsError | None:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows((header, *rows))
    try:
        read_readings(f"{asides}\n{out.getvalue()}".encode("utf-8", "replace"), "the grid")
    except ReadingsError as refused:
        return refused
    return None


_refused = lru_cache(maxsize=4096)(_refusal)
"""Of one line, which is asked again at every key."""
