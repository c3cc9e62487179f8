"""The cells of a readings file, looked up by what a column means and turned into numbers."""

from __future__ import annotations

import math
import re
from typing import NoReturn

import numpy as np

from simulate.core.refusal import listed
from simulate.readings.table.cell_words import Said, inches_of, plain_name
from simulate.readings.table.readings import ReadingsError, shortened
from simulate.readings.table.units import LONG, SLOPE, SMALL, Unit, unit_named

_MEASURED: dict[tuple[Unit, ...], tuple[str, ...]] = {
    SMALL: (
        *("gap", "gap_at_least", "gap_at_most", "proud", "proud_at_least", "proud_at_most", "film", "dial", "step"),
        *("apart", "taper", "taper_sd", "thickness"),
    ),
    LONG: (
        *("position", "x", "y", "height", "slide_x", "slide_y", "left", "middle", "right", "to_x", "strip"),
        *("travel", "diameter", "length", "held"),
    ),
    SLOPE: ("reading", "base_sd", "square", "square_sd"),
}
UNITS_OF = {what: units for units, columns in _MEASURED.items() for what in columns}
"""What a column may be measured in."""
UNITS = {what: {unit.name: unit.held for unit in units} for what, units in UNITS_OF.items()}
PLAIN = (
    "round",
    "lower",
    "upper",
    "turned",
    "line",
    "station",
    "set",
    "how",
    "way",
    "part",
    "plane",
    "gauge",
    "axis",
    "by",
    "face",
    "against",
    "looks",
    "seen",
    "printed",
    "note",
)
KNOWN = {
    f"{what}_{name}": (what, unit.held)
    for what, units in UNITS_OF.items()
    for unit in units
    for name in (unit.name, *(other for other in unit.also if other.isidentifier()))
}
_MINUS = str.maketrans(dict.fromkeys("\u2212\u2013\ufe63\uff0d", "-"))
"""What a spreadsheet or a word processor makes of a minus."""
_JOINERS = str.maketrans(dict.fromkeys("\u200c\u200d"))
"""What some scripts need within a word, though it cannot be seen."""
_WITH_UNIT = re.compile(r"([+-]?[0-9]*\.?[0-9]+)\s*([^0-9\s].*)")
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")


def meaning_of(written: str) -> str:
    """What a column means, its unit left aside."""
    plain = plain_name(written)
    return KNOWN.get(plain, (plain, 1.0))[0]


def unit_of(written: str) -> str:
    """The unit of a column as the tables name it; empty where it says none."""
    plain = plain_name(written)
    what = KNOWN.get(plain, ("",))[0]
    unit = unit_named(plain[len(what) + 1 :], UNITS_OF[what]) if what else None
    return unit.name if unit else ""


def unit_written(text: str, what: str) -> Unit | None:
    """Give the unit in which a file writes a column, by its header.

    Returns: none where the file has no such column.

    >>> unit_written("# mine\\nline;station;Reading_mm_m\\n", "reading").said
    'mm/m'
    """
    for line in text.splitlines():
        for name in () if line.lstrip().startswith("#") else re.split("[,;\\t]", line):
            written = name.strip().strip('"').strip()
            if meaning_of(written) == what and unit_of(written):
                return next(unit for unit in UNITS_OF[what] if unit.name == unit_of(written))
    return None


def _in_any_unit(what: str) -> str:
    return listed([f"{what}_{unit}" for unit in UNITS[what]], "or")


class Sheet:
    """The cells of one file, looked up by what a column means, with refusals that name the place."""

    def __init__(
        self,
        file: str,
        header: list[str],
        header_row: int,
        rows: list[tuple[int, list[str]]],
        said: Said = Said(),
    ) -> None:
        self.file, self.header, self.header_row, self.said = file, header, header_row, said
        self.row = np.array([row for row, _ in rows])
        self._cells = [cells for _, cells in rows]
        self.place: dict[str, int] = {}
        self.factor: dict[str, float] = {}
        for place, name in enumerate(header):
            self._enter(place, name)

    def _enter(self, place: int, written: str) -> None:
        name = plain_name(written)
        what, factor = KNOWN.get(name, (name, 1.0))
        if name in KNOWN and np.isnan(factor):
            factor = self._division(place, what)
        if name not in KNOWN and name not in PLAIN:
            if name in UNITS:
                allowed = _in_any_unit(name)
                self.refuse_header(written, place, f"{shortened(written)} says no unit", allowed)
            near = max((what for what in UNITS if re.match(rf"{what}(?![a-z])", name)), key=len, default="")
            if near:
                self.refuse_header(
                    written,
                    place,
                    f"{shortened(written)} is not the name of a column",
                    _in_any_unit(near),
                )
            if not written:
                self.refuse_header(
                    written,
                    place,
                    f"column {place + 1} has figures but no name",
                    "a name over each column that is used",
                )
            self.refuse_header(
                written,
                place,
                f"{shortened(written)} is not a column of a readings file",
                "one of " + shortened(", ".join([*PLAIN, *(f"{w}_{next(iter(u))}" for w, u in UNITS.items())]), 240),
            )
        if what in self.place:
            self.refuse_header(
                written,
                place,
                f"{shortened(written)} repeats column {self.place[what] + 1} ({self.header[self.place[what]]})",
                "one of each column",
            )
        self.place[what], self.factor[what] = place, factor

    def _division(self, place: int, what: str) -> float:
        """How much one division of a column holds, as a line above the header says."""
        held = self.said.division_of(what)
        if held is None:
            level = UNITS_OF[what] is SLOPE
            self.refuse_header(
                self.header[place],
                place,
                "no line says how much one division is worth",
                f"a line such as '# division: {'0.02 mm/m' if level else '0.01 mm'}' above the header",
            )
        return held

    def has(self, *names: str) -> bool:
        """Say whether any of these columns stands in the header."""
        return any(name in self.place for name in names)

    def refuse_header(self, written: str, place: int, found: str, must_be: str) -> NoReturn:
        """Refuse the file at a name in its header."""
        raise ReadingsError(
            self.file, found, must_be, self.header_row, written or str(place + 1), written, code="table"
        )

    def need(self, kind: str, *names: str) -> None:
        """Refuse the file where one of these columns is missing."""
        for name in names:
            if name not in self.place:
                written = _in_any_unit(name) if name in UNITS else name
                raise ReadingsError(
                    self.file,
                    f"the header has no such column, only {shortened(', '.join(self.header), 120)}",
                    f"a column {written} in readings of {kind}",
                    self.header_row,
                    f"{name}_{next(iter(UNITS[name]))}" if name in UNITS else name,
                    "",
                    code="table",
                )

    def allow(self, kind: str, *names: str) -> None:
        """Refuse the file where a column is none of these."""
        for name, place in self.place.items():
            if name not in (*names, "note"):
                self.refuse_header(
                    self.header[place],
                    place,
                    f"it has no meaning in readings of {kind}",
                    f"only {listed(names)} with their units",
                )

    def cells(self, name: str) -> list[str]:
        """Return one column as it was written."""
        place = self.place[name]
        return [cells[place] for cells in self._cells]

    def refuse(self, index: int, name: str, must_be: str, found: str | None = None) -> NoReturn:
        """Refuse the file at one cell; `found` is a clause of its own, where the cell alone does not say it."""
        cell = self._cells[index][self.place[name]]
        raise ReadingsError(
            self.file,
            found or (shortened(cell) if cell else "empty"),
            must_be,
            int(self.row[index]),
            self.header[self.place[name]],
            cell,
            code="table" if found else "cell",
            do=self._cause(index, name, cell),
        )

    def _cause(self, index: int, name: str, cell: str) -> str:
        """What to do about a cell that a spreadsheet or a row of units left there; empty where nothing is known."""
        if all(
            one.lower().strip("()[] ") in ("", "-", "yes/no") or unit_named(one, SMALL, LONG, SLOPE)
            for one in self._cells[index]
        ):
            return "The row looks like units that are not those of the header: correct whichever is wrong"
        if not cell and name in PLAIN and index:
            return "Write it in every row; a spreadsheet leaves all but the first cell of a merged block empty"
        if re.fullmatch(r"[0-9]{1,2}[-. /]?[A-Za-z]{3}|[A-Za-z]{3}[-. /]?[0-9]{2}", cell):
            return (
                "It looks like a date that a spreadsheet made of an interval such as 5-10: make the column text, "
                "and type it again"
            )
        return ""

    def numbers(self, name: str, allowed: str, low: float, high: float, blank: bool = False) -> np.ndarray:
        """Numbers in the house's unit; nan where a blank is allowed and stands."""
        found = np.full(self.row.size, np.nan)
        for i, written in enumerate(self.cells(name)):
            cell = written.translate(_MINUS)
            if blank and not cell:
                continue
            if not _NUMBER.fullmatch(cell):
                self.refuse(i, name, allowed + self._instead(name, cell))
            # a millionth of a millimetre or micrometre is kept, so that one inch and 25.4 mm are one place
            found[i] = round(float(cell) * self.factor[name], 6) if abs(float(cell)) < 1e12 else float(cell)
            if not low <= found[i] <= high:
                self.refuse(i, name, allowed)
        return found

    def _instead(self, name: str, cell: str) -> str:
        """Say how a figure is written that has a comma, its unit or a stroke in it."""
        if re.fullmatch(r"[+-]?[0-9]*,[0-9]+", cell):
            return f", with a point in decimals: {cell.replace(',', '.')}"
        head = self.header[self.place[name]]
        if inches_of(cell) and "in" in UNITS.get(name, {}):
            return f"; a fraction is inches, and this column is {head}: call it {name}_in, or write decimals"
        found = _WITH_UNIT.fullmatch(cell)
        if found and name in UNITS and unit_named(found[2], SMALL, LONG, SLOPE):
            return f", without a unit, because the heading gives it: {head}"
        return ""

    def most_said(self, name: str, most: float) -> tuple[str, float]:
        """Give the unit that a column is written in, as people say it, and the most that may stand there, in that unit.

        `most`: in the house's unit, which counts where the column is missing.
        """
        if not self.has(name):
            return UNITS_OF[name][0].said_of_many, most
        written = unit_of(self.header[self.place[name]])
        unit = next(unit for unit in UNITS_OF[name] if unit.name == written)
        return unit.said_of_many, float(f"{math.floor(100 * most / self.factor[name]) / 100:.6g}")

    def last_digit(self, name: str) -> float:
        """Step of the last digit that was written in a column, in the house's unit; 1 where nothing was."""
        cells = [cell.lower().partition("e")[0] for cell in self.cells(name) if cell] if self.has(name) else []
        decimals = max((len(cell.partition(".")[2]) for cell in cells), default=None)
        return 1.0 if decimals is None else self.factor[name] * 10.0**-decimals

    def whole(self, name: str, low: int, high: int) -> np.ndarray:
        """Return a column of whole numbers from `low` to `high`."""
        allowed = f"a whole number from {low} to {high}"
        cells = self.cells(name)
        for i, cell in enumerate(cells):
            if not re.fullmatch(r"[0-9]{1,6}", cell) or not low <= int(cell) <= high:
                self.refuse(i, name, allowed)
        return np.array([int(cell) for cell in cells])

    def words(self, name: str) -> list[str]:
        """Return a column of short names."""
        cells = [" ".join(cell.split()) for cell in self.cells(name)]
        for i, cell in enumerate(cells):
            plain = cell.translate(_JOINERS)
            if not plain or len(cell) > 24 or not plain.isprintable():
                self.refuse(i, name, "a short name of 1 to 24 characters")
            if cell.startswith("#"):
                self.refuse(i, name, "a name that does not begin with #: a row that does is a comment and is not read")
        return cells

    def one_of(self, name: str, table: dict[str, int], allowed: str) -> np.ndarray:
        """Return a column whose words stand in `table`."""
        cells = [cell.lower() for cell in self.cells(name)]
        for i, cell in enumerate(cells):
            if cell not in table:
                self.refuse(i, name, allowed)
        return np.array([table[cell] for cell in cells])
