"""What readings say, in the learner's own units."""

from __future__ import annotations

import re
from collections.abc import Sequence

from simulate.readings.table.units import ARCSEC_OF_URAD
from simulate.show.units.lengths import FACTORS, inch_figure, with_micro

KIND_WORDS = {
    "bars": "bars",
    "plates": "plates",
    "squares": "squares",
    "union jack": "survey along eight lines",
    "lands": "land gauges along a bar",
    "wedge": "wedge test of the eye",
    "level": "level along lines",
    "edge": "straightedge along lines of a plate",
    "bed": "bed of one or two ways",
    "joint": "two bed parts bolted together",
    "head": "headstock and tailstock by test bar",
    "cross slide": "cross slide over a square",
    "one square": "one square proved by turning it over",
    "thickness": "faces of a piece by micrometer",
}
"""How a kind of readings is called before the learner."""
_SLOPE, _FOOT = FACTORS["slope"]
_INCH = {
    "um": FACTORS["um"],
    "mm": FACTORS["mm"],
    "um/m": FACTORS["slope"],
    "urad": FACTORS["slope"],
    "arcsec": (_SLOPE * ARCSEC_OF_URAD, _FOOT),
}
"""Unit -> what one of the unit that an inch workshop reads it in holds of it, and its name."""
_FIGURE = r"[+-]?\d+(?:\.\d+)?"
_UNITS = "(um/m|um|mm|urad|arcsec)"
_RANGE = re.compile(rf"(?:{_FIGURE}|-inf)(?: to (?:{_FIGURE}|[+]inf))?")
_LIST = rf"(?:x (?={_FIGURE}, y ))?{_FIGURE}(?:(?:, | and | to | or |, y ){_FIGURE})*"
_LENGTHS = re.compile(rf"(?<![\w./])((?:(?<!± ){_LIST})|{_FIGURE}) {_UNITS}\b(?!/)")
_HEAD = re.compile(rf"\b{_UNITS}$")
_SMALL = re.compile(r"(?<![\w.])[+-]?\d+(?:\.\d+)?e[+-]\d+")


def spoken(sentence: str, units: str = "mm") -> str:
    """Spell a sentence about readings: µ for u, a capital first, and inches beside the lengths where inches are wanted.

    >>> spoken("file the lands at 254 mm by 25.4 um")
    'File the lands at 254 mm by 25.4 µm.'
    >>> spoken("file the lands at 254 mm by 25.4 um", "inch")
    'File the lands at 254 mm (10 in) by 25.4 µm (1 thou).'
    """
    said = _plain(sentence.strip())
    said = said if said.endswith((".", "?", "!")) else said + "."
    first = said.split(" ", 1)[0]
    if first.islower():
        said = said[0].upper() + said[1:]
    if units == "inch":
        said = _LENGTHS.sub(lambda m: f"{m[0]} ({_turned(m[1], m[2])} {_INCH[m[2]][1]})", said)
    return with_micro(said)


def spoken_table(
    heading: Sequence[str], rows: Sequence[Sequence[str]], units: str = "mm", names: Sequence[str] = ()
) -> tuple[list[str], list[list[str]]]:
    """Give a table of results in the learner's units.

    `heading`: a column whose head ends in a unit is turned as a whole; in the others every figure with its unit.
    `names`: of bodies, which stay as they are whatever they hold.

    >>> spoken_table(["bar", "height, um", "± 95 %"], [["A", "+50.8", "± 2.54 um"]], "inch")
    (['bar', 'height, thou', '± 95 %'], [['A', '+2', '± 0.1 thou']])
    >>> spoken_table(["95 %, um"], [["-25.4 to +50.8"]], "inch")
    (['95 %, thou'], [['-1 to +2']])
    >>> spoken_table(["bar", "height, um"], [["rail 500 mm", "+50.8"]], "inch", ["rail 500 mm"])[1]
    [['rail 500 mm', '+2']]
    """
    whole = [found[1] if (found := _HEAD.search(head)) else "" for head in heading]
    return (
        [_cell(head, "", units) for head in heading],
        [[cell if cell in names else _cell(cell, column, units) for cell, column in zip(row, whole)] for row in rows],
    )


def spoken_name(name: str, units: str = "mm") -> str:
    """Give the name of what was measured, such as that of a way over its length, in the learner's units.

    >>> spoken_name("tail part over 508 mm", "inch"), spoken_name("corner A-B")
    ('tail part over 20 in', 'corner A-B')
    """
    return _cell(name, "", units)


def _cell(cell: str, whole: str, units: str) -> str:
    cell = _plain(cell)
    if units == "inch":
        cell = _LENGTHS.sub(lambda m: f"{_turned(m[1], m[2])} {_INCH[m[2]][1]}", cell)
        cell = _turned(cell, whole) if whole and _RANGE.fullmatch(cell) else cell
        cell = _HEAD.sub(lambda m: _INCH[m[1]][1], cell)
    return with_micro(cell)


def _plain(said: str) -> str:
    """Figures without powers of ten: 4e-16 is rounding noise, and nothing."""
    return _SMALL.sub(
        lambda m: (
            f"{float(m[0]):+.4g}"[m[0][0] != "+" :]
            if abs(float(m[0])) >= 1e4
            else f"{float(m[0]):.4f}".rstrip("0").rstrip(".")
        ),
        said,
    )


def _turned(figures: str, unit: str) -> str:
    return re.sub(_FIGURE, lambda m: inch_figure(m[0], _INCH[unit][0]), figures)
