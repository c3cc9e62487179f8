"""What stands at the heads of an entry grid, on the screen and on a printed card: pairs, places, lines and units."""

from __future__ import annotations

import re

from simulate.readings.entry.cell_grid import EntryGrid
from simulate.readings.table.cell_words import said_of
from simulate.readings.table.columns import UNITS_OF
from simulate.readings.table.units import DIVISION, SLOPE, unit_named

_VALUES = {"looks": "trials", "seen": "seen open"}
_PLACES = {"to_x": "to x", "strip": "strips of", "travel": "slide at"}
_ALONG = {
    "position": "station",
    "x": "station",
    "height": "height",
    "gap": "gap at the mark",
    "station": "station",
    "travel": "travel",
}
MAPS = ("plates", "thickness")
"""Kinds whose grid is a map of a face."""
_NOT_TURNED = ("no", "0", "false", "0.0", "")


def takes_intervals(grid: EntryGrid) -> bool:
    """Say whether a cell may hold an interval, and not a figure alone.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> takes_intervals(entry_grid("lower,upper,position_mm,gap_um\\nA,B,0,12\\n"))
    True
    """
    return any(len(group) > 1 for group in grid.axes.values)


def unit_words(grid: EntryGrid, text: str = "") -> str:
    """Return the unit of the readings as heads print it, with the value of a division where the text says it.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> text = "# division: 0.01 mm\\nlower,upper,position_mm,gap_div\\nA,B,0,12\\n"
    >>> unit_words(entry_grid(text), text)
    'div of 10 µm'
    """
    if grid.kind == "wedge" or grid.axes.listed:
        return ""
    column = grid.axes.values[0][0]
    unit = unit_named(grid.unit(*grid.axes.values[0], "film"), UNITS_OF[column])
    if unit is None:
        return ""
    held = said_of(text.splitlines()).division_of(column) if unit.name == DIVISION else None
    of = f" of {held:.4g} {'arcsec' if UNITS_OF[column] is SLOPE else 'µm'}" if held else ""
    return unit.said + of


def corner_words(grid: EntryGrid) -> str:
    """Return what stands over the heads of the rows.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> corner_words(entry_grid("lower,upper,position_mm,gap_um\\nA,B,0,12\\n"))
    'station (mm)'
    """
    if grid.axes.listed:
        return "where"
    if grid.kind in MAPS:
        return f"away ({_length(grid, 'y')})"
    if grid.kind == "lands":
        return f"lands at ({_length(grid, 'left')})"
    along = grid.axes.down[0]
    return _ALONG[along] + (f" ({_length(grid, along)})" if along != "station" else "")


def _length(grid: EntryGrid, column: str) -> str:
    unit = unit_named(grid.unit(column), UNITS_OF[column])
    return unit.said if unit else ""


def column_words(grid: EntryGrid, column: int) -> str:
    """Return the head of a column.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> column_words(entry_grid("lower,upper,turned,position_mm,gap_um\\nA,B,yes,0,12\\n"), 0)
    'B on A turned'
    """
    head = grid.across[column]
    if grid.axes.listed:
        return _listed_column(grid, head["value"])
    if grid.kind in MAPS:
        return f"x {head['x']}"
    words = [_pair(head)] if "lower" in head else [head["line"]] if "line" in head else _aligned(head)
    words += [_VALUES[head["value"]]] if head["value"] in _VALUES else []
    return " ".join([*words, *_round(grid, head, not words)]) or "reading"


def block_words(grid: EntryGrid, row: int) -> str:
    """Return what a row and its neighbours have in common and is said over them: the placement of a plate, the gauge.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> block_words(entry_grid("lower,upper,turned,x_mm,y_mm,gap_um\\nA,B,90,0,5,12\\n"), 0)
    'B on A turned 90'
    """
    head = grid.down[row]
    if grid.axes.listed:
        return " ".join([*_listed_words(head), *_round(grid, head)])
    if grid.kind in MAPS:
        return " ".join([_pair(head), *_round(grid, head)])
    return str(head.get("gauge", ""))


def _listed_column(grid: EntryGrid, column: str) -> str:
    """What is read in a column of a list, with its own unit."""
    group = next(group for group in grid.axes.values if group[0] == column)
    unit = unit_named(grid.unit(*group), UNITS_OF[column])
    return ("level" if column == "reading" else column) + (f" ({unit.said})" if unit else "")


def _listed_words(head: dict) -> list[str]:
    """What a line of a list is of."""
    said = [str(head[name]) for name in ("how", "axis", "by", "face") if head.get(name)]
    said += [f"to {head['against']}"] if head.get("against") else []
    said += [str(head[name]) for name in ("part", "way", "line", "plane") if head.get(name)]
    said += [f"set {head['set']}"] if head.get("set") else []
    return [*said, *([] if head.get("turned", "").casefold() in _NOT_TURNED else ["turned"])]


def _listed_place(grid: EntryGrid, head: dict) -> list[str]:
    """Where a line of a list was read: every place that it gives, with one unit where all have one."""
    places = [name for name in grid.axes.down if name in UNITS_OF and head[name]]
    said = [f"{_PLACES.get(name, name)} {head[name]}" for name in places]
    units = [_length(grid, name) for name in places]
    if not places:
        return [f"station {head['station']}"] if head.get("station") else []
    return [*said[:-1], f"{said[-1]} {units[-1]}"] if len(set(units)) == 1 else [*map(" ".join, zip(said, units))]


def row_words(grid: EntryGrid, row: int) -> str:
    """Return the head of a row, within its block where it has one.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> row_words(entry_grid("lower,upper,position_mm,gap_um\\nA,B,0,12\\n"), 0)
    '0'
    """
    head = grid.down[row]
    if grid.axes.listed:
        return ", ".join(_listed_place(grid, head)) or f"line {row + 1}"
    if grid.kind in MAPS:
        return f"y {head['y']}"
    if grid.kind == "lands":
        return f"{head['left']}, {head['middle']}, {head['right']}"
    return str(head[grid.axes.down[0]])


def _aligned(head: dict) -> list[str]:
    """Name an axis in its plane, or a gauge, and which way it lies."""
    turned = head.get("turned", "no").lower()
    by = head.get("by", "").lower()
    over = "" if turned in _NOT_TURNED else f"at {turned}" if by == "roller" else "turned"
    over = "at 0" if by == "roller" and not over else over
    if "axis" in head:
        over = f"{head['plane'].lower() or 'upright'} {over}".strip()
    elif "turned" in head and not over and not by:
        over = "not turned"
    return [one for one in (head.get("axis", ""), f"by {by}" if by else "", over) if one]


def _pair(head: dict) -> str:
    if "face" in head:
        return f"{head['face']} to {head['against']}"
    slid = [f"{axis} {head[f'slide_{axis}']}" for axis in "xy" if head.get(f"slide_{axis}", "0") not in _NOT_TURNED]
    turned = head.get("turned", "no").lower()
    return (
        f"{head['upper']} on {head['lower']}"
        + ("" if turned in _NOT_TURNED else " turned" if not turned.isdigit() or turned == "1" else f" turned {turned}")
        + (f" slid {', '.join(slid)}" if slid else "")
    )


def _round(grid: EntryGrid, head: dict, always: bool = False) -> list[str]:
    """The round, where there are several, and that the same place was read before."""
    several = len({one.get("round") for one in (*grid.down, *grid.across) if "round" in one}) > 1
    again = head["again"]
    said = [f"round {head['round']}"] if several or (always and again) else []
    return [*said, *(["again"] if again == 1 else [f"again ({again})"] if again else [])]


def rows_in_words(grid: EntryGrid, sentence: str, most: int = 6) -> tuple[str, ...]:
    """Return which cells the rows of the text are that a sentence speaks of.

    `most`: so many are told.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> grid = entry_grid("lower,upper,position_mm,gap_um\\nA,B,0,12\\nA,B,50,13\\n")
    >>> rows_in_words(grid, "Rows 2 and 3 contradict each other; bars.csv, row 9")
    ('row 2 is B on A at 0 mm', 'row 3 is B on A at 50 mm')
    """
    told = re.findall(r"\brows? ([0-9]+(?:(?:, | and | or | to )[0-9]+)*)", sentence, re.IGNORECASE)
    wanted = dict.fromkeys(int(number) for run in told for number in re.findall("[0-9]+", run))
    cells = {
        place.line.at + 1: (r, c)
        for r, places in enumerate(grid.places)
        for c, place in reversed(list(enumerate(places)))
        if place.line is not None
    }
    found = [number for number in wanted if number in cells][:most]
    return tuple(f"row {number} is {' '.join(head_words(grid, *cells[number]))}" for number in found)


def head_words(grid: EntryGrid, row: int, column: int) -> tuple[str, str]:
    """Return what a cell is called: its column, and its row with the unit of the place.

    >>> from simulate.readings.entry.cell_grid import entry_grid
    >>> head_words(entry_grid("lower,upper,position_mm,gap_um\\nA,B,50,12\\n"), 0, 0)
    ('B on A', 'at 50 mm')
    """
    if grid.axes.listed:
        of = block_words(grid, row)
        return f"{column_words(grid, column)}{f', {of}' if of else ''}", f"at {row_words(grid, row)}"
    if grid.kind in MAPS:
        return (
            f"{block_words(grid, row)} at",
            f"{column_words(grid, column)}, {row_words(grid, row)} {_length(grid, 'x')}",
        )
    if grid.kind == "lands":
        return f"{block_words(grid, row)} at {row_words(grid, row)} {_length(grid, 'left')},", column_words(
            grid, column
        )
    along = grid.axes.down[0]
    unit = f" {_length(grid, along)}" if along != "station" else ""
    return column_words(grid, column), f"at {'station ' if along == 'station' else ''}{row_words(grid, row)}{unit}"
