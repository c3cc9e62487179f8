"""What a pencil writes: into the cell of a gap 50-100, <30, >1000, dark, x or 1/4; above a table what a division is
worth."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from simulate.readings.table.units import SLOPE, SMALL, unit_named

_FIGURE = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_SIGNED = rf"[+-]?{_FIGURE}"
_BETWEEN = re.compile(rf"({_FIGURE})\s*(?:[-\u2010-\u2015\u2212]|\.\.\.?|\u2026|\bto\b)\s*({_FIGURE})", re.IGNORECASE)
_FROM_TO = re.compile(rf"({_SIGNED})\s*(?:\.\.\.?|\u2026|\bto\b)\s*({_SIGNED})", re.IGNORECASE)
_BELOW = re.compile(rf"(?:[<\u2264]=?|under|below|up to|at most|less than)\s*({_SIGNED})", re.IGNORECASE)
_ABOVE = re.compile(rf"(?:[>\u2265]=?|over|above|at least|more than)\s*({_SIGNED})", re.IGNORECASE)
_PLAIN = re.compile(rf"[+-]?{_FIGURE}")
_FRACTION = re.compile(r"(?:([0-9]{1,6})(?:\s+|\s*-\s*))?([0-9]{1,4})\s*/\s*([0-9]{1,4})\s*(?:\"|''|in)?")
_DARK = ("dark", "no light")
_PRINT = {"x": True, "printed": True, ".": False, "not printed": False}
_SAID = re.compile(
    r"[#\s\"]*(dark|film|division)(?:_([a-z0-9_]+))?\s*[:=]\s*([0-9]+(?:[.,][0-9]+)?)\s*([^;,\"]*?)[\s;,\"]*",
    re.IGNORECASE,
)


def plain_name(written: str) -> str:
    """Return the name of a column in small letters, with u for the micro sign.

    >>> plain_name("Gap_\u00b5m")
    'gap_um'
    """
    return written.lower().replace("\u00b5", "u").replace("\u03bc", "u")


@dataclass(frozen=True, kw_only=True)
class Said:
    """What lines above a table say of it.

    `dark_um`: gap that ``dark`` is at most, from ``# dark_um: 2`` or ``# dark: 2 um``. `film_um`: thickness of the film
    of a print, from ``# film: 3 um``. `division`: one division in um, or in seconds of arc where the second is True,
    from ``# division: 0.02 mm/m``.
    """

    dark_um: float | None = None
    film_um: float | None = None
    division: tuple[float, bool] | None = None

    def division_of(self, column: str) -> float | None:
        """Return what one division of a column holds; None where no line says so, or one of another sort.

        `column`: without its unit; ``"reading"`` is that of a level.
        """
        return self.division[0] if self.division and self.division[1] == (column == "reading") else None


def said_of(lines: Iterable[str]) -> Said:
    """Read what comment lines say of the table below them; of two lines the first counts.

    >>> said_of(["# dark_um: 1.5", "# division: 0.01 mm", "# three bars, mine"])
    Said(dark_um=1.5, film_um=None, division=(10.0, False))
    """
    found: dict = {}
    for match in filter(None, (_SAID.fullmatch(line) for line in lines if "#" in line)):
        what, figure = match[1].lower(), float(match[3].replace(",", "."))
        unit = unit_named(match[2] or match[4] or "", SMALL, *((SLOPE,) if what == "division" else ()))
        if unit is None or not figure * unit.held > 0:
            continue
        value = (figure * unit.held, unit not in SMALL) if what == "division" else figure * unit.held
        found.setdefault(what if what == "division" else f"{what}_um", value)
    return Said(**found)


def ends_of(cell: str, dark: str) -> tuple[str, str] | None:
    """Return the ends of the interval that a cell tells in words or signs.

    `dark`: upper end where the cell says ``dark``. Returns: an end that is not told is empty; None where the cell tells
    no interval, or one that runs backwards.

    >>> [ends_of(cell, "2.5") for cell in ("0.05-0.06", "<30", "> 1000", "Dark", "12")]
    [('0.05', '0.06'), ('', '30'), ('1000', ''), ('0', '2.5'), None]
    """
    if _PLAIN.fullmatch(cell):
        return None
    if cell.lower() in _DARK:
        return "0", dark
    if found := _BETWEEN.fullmatch(cell) or _FROM_TO.fullmatch(cell):
        return (found[1], found[2]) if float(found[1]) <= float(found[2]) else None
    if found := _BELOW.fullmatch(cell):
        return "", found[1]
    return (found[1], "") if (found := _ABOVE.fullmatch(cell)) else None


def print_of(cell: str) -> bool | None:
    """Say whether a cell tells that the place printed, or that it did not; None where it tells neither.

    >>> print_of("X"), print_of("."), print_of("12")
    (True, False, None)
    """
    return _PRINT.get(cell.lower())


def is_dark(cell: str) -> bool:
    """Say whether a cell says that no light was seen."""
    return cell.lower() in _DARK


def inches_of(cell: str) -> str | None:
    """Return a fraction of an inch as a decimal.

    Returns: none where it is none.

    >>> inches_of("1/4"), inches_of("1 1/2"), inches_of("3"), inches_of("1/0")
    ('0.25', '1.5', None, None)
    """
    found = _FRACTION.fullmatch(cell)
    return None if not found or not int(found[3]) else f"{int(found[1] or 0) + int(found[2]) / int(found[3]):.10g}"
