"""What a pencil writes into a cell of a gap where no single figure was read: 50-100, <30, >1000, dark, 1/4."""

from __future__ import annotations

import re

_FIGURE = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
_BETWEEN = re.compile(rf"({_FIGURE})\s*(?:[-\u2010-\u2015\u2212]|\.\.\.?|\u2026|\bto\b)\s*({_FIGURE})", re.IGNORECASE)
_BELOW = re.compile(rf"(?:[<\u2264]=?|under|below|up to|at most|less than)\s*({_FIGURE})", re.IGNORECASE)
_ABOVE = re.compile(rf"(?:[>\u2265]=?|over|above|at least|more than)\s*({_FIGURE})", re.IGNORECASE)
_PLAIN = re.compile(rf"[+-]?{_FIGURE}")
_FRACTION = re.compile(r"(?:([0-9]{1,6})(?:\s+|\s*-\s*))?([0-9]{1,4})\s*/\s*([0-9]{1,4})\s*(?:\"|''|in)?")
_DARK = ("dark", "no light")


def ends_of(cell: str, dark: str) -> tuple[str, str] | None:
    """Return the ends of the interval that a cell tells in words or signs.

    Parameters
    ----------
    cell : str
    dark : str
        Upper end where the cell says ``dark``.

    Returns
    -------
    tuple of str, or None
        An end that is not told is empty; None where the cell tells no interval, or one that runs backwards.

    Examples
    --------
    >>> ends_of("0.05-0.06", "2.5"), ends_of("<30", "2.5"), ends_of("> 1000", "2.5"), ends_of("Dark", "2.5"), ends_of("12", "2.5")
    (('0.05', '0.06'), ('', '30'), ('1000', ''), ('0', '2.5'), None)
    """
    if _PLAIN.fullmatch(cell):
        return None
    if cell.lower() in _DARK:
        return "0", dark
    if found := _BETWEEN.fullmatch(cell):
        return (found[1], found[2]) if float(found[1]) <= float(found[2]) else None
    if found := _BELOW.fullmatch(cell):
        return "", found[1]
    return (found[1], "") if (found := _ABOVE.fullmatch(cell)) else None


def is_dark(cell: str) -> bool:
    """Say whether a cell says that no light was seen.

    Parameters
    ----------
    cell : str

    Returns
    -------
    bool
    """
    return cell.lower() in _DARK


def inches_of(cell: str) -> str | None:
    """Return a fraction of an inch as a decimal.

    Parameters
    ----------
    cell : str

    Returns
    -------
    str or None
        None where it is none.

    Examples
    --------
    >>> inches_of("1/4"), inches_of("1 1/2"), inches_of("3"), inches_of("1/0")
    ('0.25', '1.5', None, None)
    """
    found = _FRACTION.fullmatch(cell)
    return None if not found or not int(found[3]) else f"{int(found[1] or 0) + int(found[2]) / int(found[3]):.10g}"
