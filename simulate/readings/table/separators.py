"""The frame of a table: which sign separates its cells, which line is the header, what its units and merged cells
mean."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass, replace

from simulate.readings.table.columns import KNOWN, PLAIN, UNITS, UNITS_OF, meaning_of, unit_of
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.slip_record import Slip
from simulate.readings.table.units import LONG, SLOPE, SMALL, plain_unit, unit_named

_FILLED = ("lower", "upper", "gauge", "line", "turned", "round")
_NO_UNIT = ("yes/no", "-", "", "degrees", "deg")
Body = list[tuple[int, list[str]]]
"""The rows under a header: line of the file, cells."""
SEPARATORS = {",": "commas", "\t": "tabs", ";": "semicolons"}
_HEAD_WITHIN, _LEAST_KNOWN = 10, 3
_FIGURE = r"[0-9]+(?:,[0-9]+)?"
_COMMA = re.compile(rf"[+\-\u2212<>\u2264\u2265= ]*{_FIGURE}(?:\s*(?:[-\u2010-\u2015\u2212]|to)\s*{_FIGURE})?")
_POINT = re.compile(r"[+\-\u2212]?[0-9]*\.[0-9]+")
_THOUSANDS = re.compile(r"[+\-\u2212]?[1-9][0-9]{0,2},[0-9]{3}")


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A text as cells.

    `cells`: those of each line; None for comments, blank lines and what cannot be parted. `head`: place of the header
    among the lines.
    """

    lines: tuple[str, ...]
    cells: tuple[list[str] | None, ...]
    head: int
    separator: str
    slips: tuple[Slip, ...] = ()


def is_column(written: str) -> bool:
    """Say whether a cell is the name of a column, with its unit, without, or nearly.

    >>> is_column("gap_µm"), is_column("position (mm)"), is_column("North")
    (True, True, False)
    """
    name = written.lower().replace("\u00b5", "u").replace("\u03bc", "u").strip()
    return name in KNOWN or name in PLAIN or any(re.match(rf"{what}(?![a-z])", name) for what in UNITS)


def grid_of(text: str) -> Grid | None:
    """Part a text into cells by whichever sign makes a header of one of its first lines.

    Returns: none where no line looks like a header; the strict reader then says what is wrong.
    """
    lines = tuple(text.splitlines())
    seen = [k for k, line in enumerate(lines) if not is_aside(line)][:_HEAD_WITHIN]
    for separator in SEPARATORS:
        for k in seen:
            cells = _parted(lines[k], separator)
            if cells and sum(map(is_column, cells)) >= _LEAST_KNOWN:
                every = tuple(None if is_aside(line) else _parted(line, separator) for line in lines)
                return _with_points(Grid(lines=lines, cells=every, head=k, separator=separator))
    return None


def is_aside(line: str) -> bool:
    """Say whether a line is a comment, blank, or tells a spreadsheet what separates the cells.

    >>> is_aside("# mine"), is_aside(";;;"), is_aside("sep=;"), is_aside("A;B")
    (True, True, True, False)
    """
    bare = line.strip(' \t;,"\ufeff\u00a0')
    return not bare or bare.startswith("#") or bare.lower() in ("sep=", "sep")


def _parted(line: str, separator: str) -> list[str] | None:
    try:
        return [cell.strip().strip("\u00a0") for cell in next(csv.reader([line], delimiter=separator, strict=True))]
    except (csv.Error, StopIteration):
        return None


def _with_points(grid: Grid) -> Grid:
    """Write decimals with a point, where no cell leaves a doubt that they were written with a comma."""
    if grid.separator == ",":
        return grid
    body = [cell for row in grid.cells[grid.head + 1 :] if row for cell in row]
    commas = [cell for cell in body if "," in cell and _COMMA.fullmatch(cell)]
    doubt = any(_POINT.fullmatch(cell) for cell in body) or (
        grid.separator == "\t" and all(_THOUSANDS.fullmatch(cell) for cell in commas) and not _too_many(grid)
    )
    if not commas or doubt:
        return grid
    turned = {cell: cell.replace(",", ".") for cell in commas}
    cells = tuple(
        row if row is None or k <= grid.head else [turned.get(cell, cell) for cell in row]
        for k, row in enumerate(grid.cells)
    )
    return replace(grid, cells=cells, slips=(Slip(kind="decimal comma", what=SEPARATORS[grid.separator]),))


def _too_many(grid: Grid) -> bool:
    """Say whether a comma cannot part thousands, because no gap and no thickness is that many millimetres or inches."""
    small = [
        unit_of(name) in ("mm", "in") and UNITS_OF[meaning_of(name)] is SMALL for name in grid.cells[grid.head] or ()
    ]
    rows = [row for row in grid.cells[grid.head + 1 :] if row]
    return any("," in cell for row in rows for cell, mine in zip(row, small) if mine)


@dataclass(frozen=True, kw_only=True)
class Tidied:
    """The text in the plain form, line for line as it came, and what was understood on the way."""

    text: str
    slips: tuple[Slip, ...]


def in_plain_form(text: str) -> Tidied:
    """Put the frame of a table into the plain form, and leave what its cells say as it was typed.

    Returns: commas between cells, points in decimals, units in the header, names in every row; a plain table comes back
    as it is, byte for byte.

    >>> print(in_plain_form("lower;upper;position_mm;gap_um\\nA;B;0;1,5\\n;;50;<30\\n").text.strip())
    lower,upper,position_mm,gap_um
    A,B,0,1.5
    ,,50,<30
    """
    grid = grid_of(text)
    if grid is None:
        return Tidied(text=text, slips=())
    header, body, slips = frame_of(grid)
    return unless_plain(text, grid, header, body, slips, copied(header, body))


def frame_of(grid: Grid) -> tuple[list[str], Body, list[Slip]]:
    """Header and rows, with titles, a row of units and merged cells understood."""
    header = list(grid.cells[grid.head] or ())
    body = [
        (k + 1, _fitted(cells, len(header)))
        for k, cells in enumerate(grid.cells)
        if k > grid.head and cells is not None
    ]
    slips = [*grid.slips, *_titles(grid)]
    slips += _units(header, body)
    return header, body, [*slips, *_merged(header, body)]


def copied(header: list[str], body: Body) -> list:
    """Return what a table holds, to compare it with later."""
    return [header[:], [(row, cells[:]) for row, cells in body]]


def unless_plain(text: str, grid: Grid, header: list[str], body: Body, slips: list[Slip], before: list) -> Tidied:
    """Write a table anew, or give its text back byte for byte where nothing in it was changed."""
    if not slips and grid.separator == "," and before == [header, body]:
        return Tidied(text=text, slips=())
    return Tidied(text=_written(grid, header, body), slips=tuple(slips))


def _written(grid: Grid, header: list[str], body: Body) -> str:
    """Write line for line; what is no row of the table any more becomes a comment."""
    rows = {grid.head: header, **{row - 1: cells for row, cells in body}}
    said = []
    for k, (line, cells) in enumerate(zip(grid.lines, grid.cells)):
        if k in rows:
            out = io.StringIO()
            csv.writer(out, lineterminator="").writerow(rows[k])
            said.append(out.getvalue())
        elif cells is None and k > grid.head and not is_aside(line):
            said.append(line)  # its quotes do not close: the strict reader says so
        else:
            bare = line.strip(' \t;,"\ufeff\u00a0')
            said.append("# " + bare.lstrip("# ") if bare else "")
    return "\n".join(said) + "\n"


def _fitted(cells: list[str], width: int) -> list[str]:
    """Leave out the empty cells that a spreadsheet puts beyond the header."""
    most = max([width, *(k + 1 for k, cell in enumerate(cells) if cell.strip())])
    return list(cells[:most])


def _titles(grid: Grid) -> list[Slip]:
    above = tuple(k + 1 for k in range(grid.head) if grid.cells[k] is not None)
    return [Slip(kind="title row", rows=above)] if above else []


def _units(header: list[str], body: Body) -> list[Slip]:
    """Take a row of units under the header out, and give its units to columns that say none."""
    if not body:
        return []
    row, cells = body[0]
    units = [_unit_said(cell) for cell in cells]
    if None in units or not any(units) or len(cells) < len(header):
        return []
    if any(unit and unit_of(name) and unit != unit_of(name) for name, unit in zip(header, units)):
        return []  # header and row say different units: the strict reader asks which
    for place, (name, unit) in enumerate(zip(header, units)):
        if unit in UNITS.get(meaning_of(name), ()) and not unit_of(name):
            header[place] = f"{meaning_of(name)}_{unit}"
    body.pop(0)
    return [Slip(kind="units row", rows=(row,))]


def _merged(header: list[str], body: Body) -> list[Slip]:
    """Fill names down where cells were merged."""
    slips = []
    for place, written in enumerate(header):
        name = meaning_of(written)
        rows = [(row, cells) for row, cells in body if place < len(cells)]
        blank = [not as_seen(cells[place]) for _, cells in rows]
        if name not in _FILLED or not any(blank) or not rows or blank[0]:
            continue
        words = {as_seen(cells[place]).lower() for _, cells in rows} - {""}
        if name == "turned" and len(words) < 2:
            continue  # a column with nothing but yes may mean that the others were not turned
        if (sum(blank) < 2 or sum(blank) * 2 < len(blank)) and not _alike_on_both_sides(
            [as_seen(cells[place]) for _, cells in rows]
        ):
            continue
        above = ""
        for (_, cells), empty in zip(rows, blank):
            above = cells[place] = above if empty else cells[place]
        slips.append(
            Slip(
                kind="merged cells",
                rows=tuple(row for (row, _), empty in zip(rows, blank) if empty),
                what=written,
            )
        )
    return slips


def _alike_on_both_sides(words: list[str]) -> bool:
    """Whether every run of blanks stands between two cells that say the same."""
    above = ""
    for k, word in enumerate(words):
        if word:
            above = word
        elif above != next((w for w in words[k:] if w), ""):
            return False
    return True


def _unit_said(cell: str) -> str | None:
    """The unit that a cell under the header tells; empty where it tells that there is none, None where it is no
    unit."""
    unit = unit_named(as_seen(cell), SMALL, LONG, SLOPE)
    return unit.name if unit else "" if plain_unit(as_seen(cell)) in _NO_UNIT else None
