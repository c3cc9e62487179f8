"""What is said before a table is laid out: its fields, and figures and stations as somebody writes them."""

from __future__ import annotations

import re
from dataclasses import dataclass

from simulate.core.refusal import Refusal
from simulate.readings.entry.cell_grid import MOST

NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
_RANGE = re.compile(rf"({NUMBER})\s*(?:to|\.\.+|-)\s*({NUMBER})\s*(?:every|each|by|step|/)\s*({NUMBER})", re.IGNORECASE)
_HOW = "such as '0 to 550 every 50', or '0, 50, 100'"


@dataclass(frozen=True, kw_only=True)
class Field:
    """One thing to say before a table is laid out.

    `name`: argument of `laid_out`. `label`: ``{long}`` stands for the unit of places. `mm`, `inch`: what stands there
    at first.
    """

    name: str
    label: str
    mm: str
    inch: str


def stations_said(words: str, where: str = "stations") -> list[str]:
    """Return the stations that somebody wrote as figures, a range, or several of both.

    >>> stations_said("0 to 100 every 50, 130"), stations_said("0-1/.25"), stations_said("-5; 5")
    (['0', '50', '100', '130'], ['0', '0.25', '0.5', '0.75', '1'], ['-5', '5'])
    """
    found: list[str] = []
    for part in filter(None, (part.strip() for part in re.split(r"[,;]", words))):
        if told := _RANGE.fullmatch(part):
            first, last, step = map(float, told.groups())
            count = (last - first) / step if step > 0 else -1
            if not 0 <= count < MOST:
                raise refused(where, part, f"a list or a range, {_HOW}")
            found += [f"{first + k * step:.6g}" for k in range(int(count + 1e-9) + 1)]
        elif re.fullmatch(NUMBER, part):
            found.append(part)
        elif all(re.fullmatch(NUMBER, one) for one in part.split()):
            found += part.split()
        else:
            raise refused(where, part, f"a list or a range, {_HOW}")
    if not found or len({float(one) for one in found}) < len(found):
        raise refused(where, words, f"one station or more, none twice, {_HOW}")
    return found


def refused(where: str, found: str, must_be: str) -> Refusal:
    """Give the refusal of what was written into a field.

    >>> str(refused("stations", "", "one or more"))
    'stations is empty; it must be one or more.'
    """
    return Refusal("range", where=where, found=f"{found!r}" if found.strip() else "empty", must_be=must_be)


def figure(words: str, where: str) -> float:
    """Read one figure above 0.

    >>> figure("600", "length")
    600.0
    """
    if not re.fullmatch(NUMBER, words.strip()) or not float(words) > 0:
        raise refused(where, words, "a figure above 0")
    return float(words)
