"""The text of readings that cells become which are typed into its grid; what they do not touch stays byte for byte."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping

from simulate.readings.entry.cell_grid import NOT_READ, EntryGrid, Line
from simulate.readings.table.cell_words import print_of
from simulate.readings.table.columns import meaning_of
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.separators import grid_of, in_plain_form

_YES_NO = ("yes", "no")
_ENDS = "\r\n\x0b\x0c\x1c\x1d\x1e\x85\u2028\u2029"
Fresh = dict[tuple, tuple[int, list[str]]]
"""Lines that the text has not yet: row of the grid and place across -> the line of the text that it follows, its
cells."""


def with_cells(text: str, grid: EntryGrid, cells: Mapping[tuple[int, int], str]) -> str:
    """Return the text with cells typed into the grid; lines that they do not touch stay as they are.

    `grid`: of this text. `cells`: row and column of the grid, from 0 -> what is typed there now. Returns: a cell that
    is empty now leaves its line as a comment that waits, with whatever else stood there.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> text = "lower,upper,position_mm,gap_um,note\\nA,B,0,12,cold\\n# not read: A,B,50,,\\n"
    >>> print(with_cells(text, entry_grid(text), {(0, 0): "", (1, 0): "50-100"}).strip())
    lower,upper,position_mm,gap_um,note
    # not read: A,B,0,,cold
    A,B,50,50-100,
    """
    changed = {
        at: as_seen(words)
        for at, words in cells.items()
        if not grid.places[at[0]][at[1]].closed and as_seen(words) != grid.places[at[0]][at[1]].typed
    }
    if not changed:
        return text
    header = _header(grid, changed)
    names = [meaning_of(name) for name in header]
    lines = _lines_kept(grid, len(header))
    fresh: Fresh = {}
    for (row, column), words in changed.items():
        line, group = grid.places[row][column].line, grid.places[row][column].group
        if line is None:
            _, made = _fresh(grid, names, row, column, fresh)
            _put(made, names, group, words)
        else:
            _put(lines.setdefault(line.at, _wide(line, len(header))), names, group, words)
    return _joined(in_plain_form(text).text, grid, header, lines, fresh)


def _header(grid: EntryGrid, changed: Mapping[tuple[int, int], str]) -> list[str]:
    """The header, with a column more where what is typed has none yet."""
    header, names = list(grid.header), [meaning_of(name) for name in grid.header]
    for (row, column), words in changed.items():
        group = grid.places[row][column].group
        wanted = _column(names, group, words)
        if words and wanted not in names:
            names.append(wanted)
            header.append(f"{wanted}_{grid.unit(*group[1:], 'film') or 'um'}")
    return header


def _column(names: list[str], group: tuple[str, ...], words: str) -> str:
    """The column that words belong into; a print has one of its own where the file has it."""
    prints = print_of(words) is not None or words.lower() in _YES_NO
    return "printed" if prints and "printed" in names else group[0]


def _wide(line: Line, width: int) -> list[str]:
    return [*line.cells, *[""] * (width - len(line.cells))]


def _lines_kept(grid: EntryGrid, width: int) -> dict[int, list[str]]:
    """Lines that are written anew though nobody typed there: all where a column is added, and those with no reading."""
    wider = width > len(grid.header)
    shown = [place for row in grid.places for place in row if place.line is not None]
    return {
        place.line.at: _wide(place.line, width)
        for place in shown
        if place.line is not None and (wider or not (place.line.waits or place.typed or place.closed))
    }


def _put(cells: list[str], names: list[str], group: tuple[str, ...], words: str) -> None:
    """Type words into the columns that one cell of the grid stands for; the others of them are empty then."""
    for name in group:
        if name in names:
            cells[names.index(name)] = ""
    if words:
        cells[names.index(_column(names, group, words))] = words


def _fresh(grid: EntryGrid, names: list[str], row: int, column: int, fresh: Fresh) -> tuple[int, list[str]]:
    """A line for a place that the text has none for yet: after the last of its column, the first of its row (or rows
    would change places) and earlier readings of it."""
    down, across = grid.down[row], grid.across[column]
    key = row, tuple(word for name, word in across.items() if name != "value")
    if key in fresh:
        return fresh[key]
    near = [r[column].line for r in grid.places if r[column].line] or [p.line for p in grid.places[row] if p.line]
    last = max((line for line in near if line is not None), key=lambda line: line.at)
    first = min((place.line.at for place in grid.places[row] if place.line is not None), default=-1)
    after = max(last.at, first, _before(grid, names, row, column, fresh))
    keys = {**down, **across}
    film = last.cells[names.index("film")] if "film" in names[: len(last.cells)] else ""
    fresh[key] = (
        after,
        [film if name == "film" else str(keys.get(name, "")) for name in names],
    )
    return fresh[key]


def _before(grid: EntryGrid, names: list[str], row: int, column: int, fresh: Fresh) -> int:
    """The line of the reading before this one of the same place, which is made where there is none; -1 for the
    first."""
    down, across = grid.down[row], grid.across[column]
    if not down["again"] and not across["again"]:
        return -1
    if down["again"]:
        row = _place_before(grid.down, down)
    else:
        column = _place_before(grid.across, across)
    line = grid.places[row][column].line
    return line.at if line is not None else _fresh(grid, names, row, column, fresh)[0]


def _place_before(heads: tuple[dict, ...], head: dict) -> int:
    """The head of the reading before this one of the same place."""
    wanted = head["key"], head["again"] - 1, head.get("value")
    return next(k for k, one in enumerate(heads) if (one["key"], one["again"], one.get("value")) == wanted)


def _joined(text: str, grid: EntryGrid, header: list[str], lines: dict[int, list[str]], fresh: Fresh) -> str:
    """Write the lines that changed among those that did not."""
    parted = grid_of(text)
    values = [meaning_of(name) in {one for group in grid.axes.values for one in group} for name in header]
    station = next((k for k, name in enumerate(header) if meaning_of(name) == "station"), None)
    more: dict[int, list[list[str]]] = {}
    for after, cells in fresh.values():
        more.setdefault(after, []).append(cells)
    out: list[str] = []
    for at, raw in enumerate(text.splitlines(keepends=True)):
        body = raw.rstrip(_ENDS)
        end = raw[len(body) :]
        if at in lines:
            body = _written(lines[at], values, station)
        elif parted is not None and at == parted.head and len(header) > len(grid.header):
            body = _csv(header)
        out.append(body + (end or "\n" if at in more else end))
        out += [_written(cells, values, station) + (end or "\n") for cells in more.get(at, ())]
    return "".join(out)


def _written(cells: list[str], values: list[bool], station: int | None) -> str:
    """A line of the text; one that holds no reading waits as a comment, but for the start of a survey's line."""
    empty = not any(cell for cell, value in zip(cells, values, strict=True) if value)
    start = station is not None and cells[station].strip("0") == ""
    if values[0] and cells[0].startswith("#"):
        cells = [cells[0].lstrip("# "), *cells[1:]]  # or the whole line would be a comment
    return (NOT_READ if empty and not start else "") + _csv(cells)


def _csv(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow(cells)
    return out.getvalue()
