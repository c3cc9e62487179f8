"""Which sign separates the cells of a table, and whether its decimals are written with a comma."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, replace

from simulate.readings.sheet import KNOWN, PLAIN, UNITS
from simulate.readings.slip_record import Slip

SEPARATORS = {",": "commas", "\t": "tabs", ";": "semicolons"}
_HEAD_WITHIN, _LEAST_KNOWN = 10, 3
_FIGURE = r"[0-9]+(?:,[0-9]+)?"
_COMMA = re.compile(rf"[+\-\u2212<>\u2264\u2265= ]*{_FIGURE}(?:\s*(?:[-\u2010-\u2015\u2212]|to)\s*{_FIGURE})?")
_POINT = re.compile(r"[+\-\u2212]?[0-9]*\.[0-9]+")
_THOUSANDS = re.compile(r"[+\-\u2212]?[1-9][0-9]{0,2},[0-9]{3}")


@dataclass(frozen=True, kw_only=True)
class Grid:
    """A text as cells.

    Attributes
    ----------
    lines : tuple of str
    cells : tuple of (list of str or None)
        Those of each line; None for comments, blank lines and what cannot be parted.
    head : int
        Place of the header among the lines.
    separator : str
    slips : tuple of Slip
    """

    lines: tuple[str, ...]
    cells: tuple[list[str] | None, ...]
    head: int
    separator: str
    slips: tuple[Slip, ...] = ()


def is_column(written: str) -> bool:
    """Say whether a cell is the name of a column, with its unit, without, or nearly.

    Parameters
    ----------
    written : str

    Returns
    -------
    bool

    Examples
    --------
    >>> is_column("gap_µm"), is_column("position (mm)"), is_column("North")
    (True, True, False)
    """
    name = written.lower().replace("\u00b5", "u").replace("\u03bc", "u").strip()
    return name in KNOWN or name in PLAIN or any(re.match(rf"{what}(?![a-z])", name) for what in UNITS)


def grid_of(text: str) -> Grid | None:
    """Part a text into cells by whichever sign makes a header of one of its first lines.

    Parameters
    ----------
    text : str

    Returns
    -------
    Grid or None
        None where no line looks like a header; the strict reader then says what is wrong.
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

    Parameters
    ----------
    line : str

    Returns
    -------
    bool

    Examples
    --------
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
    body = [cell for row in grid.cells[grid.head + 1:] if row for cell in row]
    commas = [cell for cell in body if "," in cell and _COMMA.fullmatch(cell)]
    doubt = any(_POINT.fullmatch(cell) for cell in body) or (
        grid.separator == "\t" and all(_THOUSANDS.fullmatch(cell) for cell in commas))
    if not commas or doubt:
        return grid
    turned = {cell: cell.replace(",", ".") for cell in commas}
    cells = tuple(row if row is None or k <= grid.head else [turned.get(cell, cell) for cell in row] for k, row in enumerate(grid.cells))
    return replace(grid, cells=cells, slips=(Slip(kind="decimal comma", what=SEPARATORS[grid.separator]),))
