"""A text of readings seen as a grid of cells."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass

from simulate.core.refusal import Refusal
from simulate.readings.entry.axes import DEFAULTS, Axes, axes_of, key_of
from simulate.readings.table.alignment_kinds import FOOT
from simulate.readings.table.columns import meaning_of, unit_of
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.line_kinds import HOWS
from simulate.readings.table.separators import grid_of, in_plain_form, is_aside

MOST = 900
"""So many cells a grid holds."""
NOT_READ = "# not read: "
"""Begins the line of a place that is laid out and was not read: a comment to whoever reads the file."""
_AT = re.compile(r"(0|[1-9][0-9]{0,3}),(0|[1-9][0-9]{0,3})")
_WAITING = re.compile(r'[#\s"]*not read\s*:\s*(.*)', re.IGNORECASE | re.DOTALL)


@dataclass(frozen=True, kw_only=True)
class Line:
    """A line of the text that the grid shows.

    `at`: its place among the lines of the text, the first being 0. `cells`: one for each column of the header. `waits`:
    whether it stands as a comment, because nothing was read there yet.
    """

    at: int
    cells: tuple[str, ...]
    waits: bool = False


@dataclass(frozen=True, kw_only=True)
class Place:
    """One cell of the grid.

    `typed`: as the text has it; empty where nothing was read. `line`: none where the text has no line for it yet.
    `group`: columns of the file that it stands for. `closed`: whether nothing may be typed into it.
    """

    typed: str
    line: Line | None
    group: tuple[str, ...]
    closed: bool = False


@dataclass(frozen=True, kw_only=True)
class EntryGrid:
    """A text of readings as a grid.

    `kind`: of the readings. `header`: columns of the file as written. `down`, `across`: what each row and each column
    of the grid is: column of the file without its unit -> the cell as written, and ``again``, how often the same was
    read before, ``key``, what it is the same by, and across the ``value`` read. `places`: a row of the grid each.
    `outside`: lines of the text, the first being 1, that hold something that the grid does not show.
    """

    kind: str
    axes: Axes
    header: tuple[str, ...]
    down: tuple[dict, ...]
    across: tuple[dict, ...]
    places: tuple[tuple[Place, ...], ...]
    outside: tuple[int, ...]

    def typed(self) -> tuple[tuple[str, ...], ...]:
        """Return the cells as typed, a row of the grid each."""
        return tuple(tuple(place.typed for place in row) for row in self.places)

    def unit(self, *columns: str) -> str:
        """Return the unit of the first of these columns that the file has, as the tables name it."""
        have = {meaning_of(name): unit_of(name) for name in self.header}
        return next((have[column] for column in columns if have.get(column)), "")


def entry_grid(text: str) -> EntryGrid:
    """See a text of readings as a grid.

    `text`: of a readings file, in any form that the reader takes; lines that begin with ``# not read:`` are cells to
    fill.

    >>> grid = entry_grid("lower,upper,position_mm,gap_um\\nA,B,0,<30\\nA,C,0,dark\\n# not read: A,B,50,\\n")
    >>> [key["position"] for key in grid.down], [key["upper"] for key in grid.across], grid.typed()
    (['0', '50'], ['B', 'C'], (('<30', 'dark'), ('', '')))
    """
    header, lines, outside = _lines(text)
    kind, axes = axes_of(header)
    names = [meaning_of(name) for name in header]
    down: dict[tuple, dict] = {}
    across: dict[tuple, dict] = {}
    found: dict[tuple[tuple, tuple], Place] = {}
    times: dict[tuple, int] = {}
    for line in lines if kind else ():
        keys = ((line.at,), ()) if axes.listed else _keys(line, header, names, axes)
        typed = [_typed(line, names, group, header) for group in axes.values]
        if line.waits and any(typed):
            continue  # a reading that somebody took out stays a comment
        if keys is None or None in typed:
            if any(words != "" for words in typed) or not _shut(dict(zip(names, line.cells)), axes.values[0][0]):
                outside.append(line.at + 1)  # where a foot stands is said in the text, and no cell is missing
            continue
        again = times[keys] = times.get(keys, -1) + 1
        here = {name: line.cells[names.index(name)] if name in names else str(DEFAULTS[name]) for name in axes.down}
        there = {name: line.cells[names.index(name)] if name in names else str(DEFAULTS[name]) for name in axes.across}
        row = (*keys[0], again) if axes.again_down else keys[0]
        down.setdefault(row, here | {"again": again if axes.again_down else 0, "key": keys[0]})
        for group, words in zip(axes.values, typed, strict=True):
            column = (*keys[1], 0 if axes.again_down else again, group[0])
            across.setdefault(column, there | {"again": column[-2], "key": keys[1], "value": group[0]})
            closed = not words and _shut(dict(zip(names, line.cells)), group[0])
            found[row, column] = Place(typed=words or "", line=line, group=group, closed=closed)
    if not kind or not found:
        raise Refusal(
            "state",
            where="the text of these readings",
            found=(
                "without a row that says where it was read"
                if kind
                else "in columns that no grid shows"
                if header
                else "without a header that names its columns"
            ),
            must_be="a table of one of the kinds that are laid out here",
            do="Carry on in the text, or lay out a grid",
        )
    if not axes.listed:
        down, across = _in_order(down, axes, True), _in_order(across, axes, False)
    return _laid(kind, axes, tuple(header), down, across, found, outside)


def _shut(cells: dict[str, str], column: str) -> bool:
    """Whether a line says of itself that nothing is read there in that column."""
    how, plane = (cells.get(name, "").casefold() for name in ("how", "plane"))
    return (
        (column == "reading" and "station" in cells and not cells["station"].strip("0"))
        or (how in HOWS and column not in HOWS[how])
        or plane == FOOT
    )


def _laid(
    kind: str,
    axes: Axes,
    header: tuple[str, ...],
    down: dict[tuple, dict],
    across: dict[tuple, dict],
    found: dict[tuple[tuple, tuple], Place],
    outside: list[int],
) -> EntryGrid:
    if len(down) * len(across) > MOST:
        raise Refusal(
            "count",
            where="the grid of these readings",
            found=f"{len(down)} by {len(across)} cells",
            must_be=f"at most {MOST} in all",
            do="Carry on in the text, or give one set for each round",
        )
    shut = kind == "union jack"  # where a station lies only its line of the text says
    places = tuple(
        tuple(
            found.get((row, column)) or Place(typed="", line=None, group=_group(axes, column), closed=shut)
            for column in across
        )
        for row in down
    )
    return EntryGrid(
        kind=kind,
        axes=axes,
        header=header,
        down=tuple(down.values()),
        across=tuple(across.values()),
        places=places,
        outside=tuple(sorted(outside)),
    )


def _group(axes: Axes, column: tuple) -> tuple[str, ...]:
    return next(group for group in axes.values if group[0] == column[-1])


def _lines(text: str) -> tuple[list[str], list[Line], list[int]]:
    """The header, the lines that say which place they are of, and the numbers of those that are broken."""
    plain = in_plain_form(text).text
    grid = grid_of(plain)
    if grid is None:
        return [], [], []
    header, lines, broken = [as_seen(name) for name in grid.cells[grid.head] or ()], [], []
    while header and not header[-1]:
        header.pop()
    for at, (raw, read) in enumerate(zip(grid.lines, grid.cells, strict=True)):
        if at <= grid.head:
            continue
        told = _WAITING.fullmatch(raw) if read is None and is_aside(raw) else None
        cells, waits = (_parted(told[1]) if told else read), told is not None
        if cells is None:
            broken += [] if is_aside(raw) else [at + 1]
        elif len(cells) > len(header) and any(cell.strip() for cell in cells[len(header) :]):
            broken.append(at + 1)
        else:
            kept = [as_seen(cell) for cell in cells[: len(header)]]
            lines.append(Line(at=at, cells=(*kept, *[""] * (len(header) - len(kept))), waits=waits))
    return header, lines, broken


def _parted(told: str) -> list[str] | None:
    for separator in (",", ";", "\t"):
        try:
            cells = next(
                csv.reader(
                    [told.rstrip('\r\n" ') if separator != "," else told.strip()], delimiter=separator, strict=True
                ),
                [],
            )
        except csv.Error:
            continue
        if len(cells) > 1:
            return cells
    return None


def _keys(line: Line, header: list[str], names: list[str], axes: Axes) -> tuple[tuple, tuple] | None:
    """What the line is down and across; None where a cell of its key is none."""
    down, across = (
        tuple(
            key_of(header[names.index(name)], line.cells[names.index(name)]) if name in names else DEFAULTS[name]
            for name in side
        )
        for side in (axes.down, axes.across)
    )
    return None if None in (*down, *across) else (down, across)


def _typed(line: Line, names: list[str], group: tuple[str, ...], header: list[str]) -> str | None:
    """What one cell of the grid says of a line; None where the line says it twice or in two units."""
    cells = {name: line.cells[names.index(name)] for name in group if name in names}
    point, printed = cells.get(group[0], ""), cells.get("printed", "")
    low, high = (cells.get(name, "") for name in (group[1:3] if len(group) > 2 else ("", "")))
    if (low or high) and len({unit_of(header[names.index(name)]) for name in group[:3] if name in names}) > 1:
        return None
    told = [
        point,
        printed,
        f"{low}{' to ' if low[0] in '+-' or high[0] in '+-' else '-'}{high}"
        if low and high
        else f">{low}"
        if low
        else f"<{high}"
        if high
        else "",
    ]
    return "".join(told) if sum(map(bool, told)) < 2 else None


def _in_order(heads: dict[tuple, dict], axes: Axes, down: bool) -> dict[tuple, dict]:
    """Places by where they lie, the far side of a plate first; bodies as they appear, a place read again beside the
    first."""
    sides = axes.down if down else axes.across
    first: dict[tuple, int] = {}
    for key in heads:
        first.setdefault(_names_of(key, sides), len(first))

    def rank(key: tuple):
        far = [
            -part if name == "y" else part
            for name, part in zip(sides, key)
            if isinstance(part, float) and name in _ALONG
        ]
        number = [int(part) for name, part in zip(sides, key) if name in ("round", "station")]
        again = key[len(sides)] if len(key) > len(sides) and isinstance(key[len(sides)], int) else 0
        return number, first[_names_of(key, sides)], again, far

    return {key: heads[key] for key in sorted(heads, key=rank)}


_ALONG = ("position", "x", "y", "height", "gap", "travel")


def _names_of(key: tuple, sides: tuple[str, ...]) -> tuple:
    return tuple(part for name, part in zip(sides, key) if name not in (*_ALONG, "round", "station"))


def place_of(at: str) -> tuple[int, int] | None:
    """Read the place of a cell; None where it is none.

    >>> place_of("3,12"), place_of("3,-1"), place_of("../3,1")
    ((3, 12), None, None)
    """
    told = _AT.fullmatch(at)
    return (int(told[1]), int(told[2])) if told else None
