"""The cells of a readings file, looked up by what a column means and turned into numbers."""

from __future__ import annotations

import re

import numpy as np

from simulate.readings.record import ReadingsError, shortened

UNITS = {
    "gap": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "gap_at_least": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "gap_at_most": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "position": {"mm": 1.0, "in": 25.4}, "x": {"mm": 1.0, "in": 25.4}, "y": {"mm": 1.0, "in": 25.4},
    "height": {"mm": 1.0, "in": 25.4}, "slide_x": {"mm": 1.0, "in": 25.4}, "slide_y": {"mm": 1.0, "in": 25.4},
    "left": {"mm": 1.0, "in": 25.4}, "middle": {"mm": 1.0, "in": 25.4}, "right": {"mm": 1.0, "in": 25.4},
    "proud": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "proud_at_least": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "proud_at_most": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "reading": {"arcsec": 1.0, "urad": 0.20626480624709636},
}
PLAIN = ("round", "lower", "upper", "turned", "line", "station", "gauge", "looks", "seen", "note")
KNOWN = {f"{what}_{unit}": (what, factor) for what, units in UNITS.items() for unit, factor in units.items()}
_MINUS = str.maketrans(dict.fromkeys("\u2212\u2013\ufe63\uff0d", "-"))
"""What a spreadsheet or a word processor makes of a minus."""
_JOINERS = str.maketrans(dict.fromkeys("\u200c\u200d"))
"""What some scripts need within a word, though it cannot be seen."""
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")


class Sheet:
    """The cells of one file, looked up by what a column means, with refusals that name the place."""

    def __init__(self, file: str, header: list[str], header_row: int, rows: list[tuple[int, list[str]]]) -> None:
        self.file, self.header, self.header_row = file, header, header_row
        self.row = np.array([row for row, _ in rows])
        self._cells = [cells for _, cells in rows]
        self.place: dict[str, int] = {}
        self.factor: dict[str, float] = {}
        for place, name in enumerate(header):
            self._enter(place, name)

    def _enter(self, place: int, written: str) -> None:
        name = written.lower().replace("\u00b5", "u").replace("\u03bc", "u")
        what, factor = KNOWN.get(name, (name, 1.0))
        if name not in KNOWN and name not in PLAIN:
            if name in UNITS:
                allowed = " or ".join(f"{name}_{unit}" for unit in UNITS[name])
                self.refuse_header(written, place, f"{shortened(written)} says no unit", allowed)
            near = max((what for what in UNITS if re.match(rf"{what}(?![a-z])", name)), key=len, default="")
            if near:
                self.refuse_header(written, place, f"{shortened(written)} is no name of a column",
                                   " or ".join(f"{near}_{unit}" for unit in UNITS[near]))
            if not written:
                self.refuse_header(written, place, f"column {place + 1} has figures below it and no name",
                                   "a name over each column that is used")
            self.refuse_header(written, place, f"{shortened(written)} is no column of a readings file",
                               "one of " + ", ".join([*PLAIN, *(f"{what}_{next(iter(units))}" for what, units in UNITS.items())]))
        if what in self.place:
            self.refuse_header(written, place, f"{shortened(written)} says again what column "
                               f"{self.place[what] + 1} ({self.header[self.place[what]]}) says", "one of each column")
        self.place[what], self.factor[what] = place, factor

    def has(self, *names: str) -> bool:
        """Say whether any of these columns stands in the header."""
        return any(name in self.place for name in names)

    def refuse_header(self, written: str, place: int, found: str, must_be: str) -> None:
        """Refuse the file at a name in its header."""
        raise ReadingsError(self.file, found, must_be, self.header_row, written or str(place + 1), written, code="table")

    def need(self, kind: str, *names: str) -> None:
        """Refuse the file where one of these columns is missing."""
        for name in names:
            if name not in self.place:
                written = " or ".join(f"{name}_{u}" for u in UNITS[name]) if name in UNITS else name
                raise ReadingsError(self.file, f"the header has no such column, only {shortened(', '.join(self.header), 120)}",
                                    f"a column {written} in readings of {kind}", self.header_row,
                                    f"{name}_{next(iter(UNITS[name]))}" if name in UNITS else name, "", code="table")

    def allow(self, kind: str, *names: str) -> None:
        """Refuse the file where a column is none of these."""
        for name, place in self.place.items():
            if name not in (*names, "note"):
                self.refuse_header(self.header[place], place, f"{self.header[place]} has no meaning for {kind}",
                                   f"only {', '.join(names)} with their units")

    def cells(self, name: str) -> list[str]:
        """Return one column as it was written."""
        place = self.place[name]
        return [cells[place] for cells in self._cells]

    def refuse(self, index: int, name: str, must_be: str, found: str | None = None) -> None:
        """Refuse the file at one cell; `found` is a clause of its own, where the cell alone does not say it."""
        cell = self._cells[index][self.place[name]]
        raise ReadingsError(self.file, found or (shortened(cell) if cell else "empty"), must_be, int(self.row[index]),
                            self.header[self.place[name]], cell, code="table" if found else "cell",
                            do=self._cause(index, name, cell))

    def _cause(self, index: int, name: str, cell: str) -> str:
        """What to do about a cell that a spreadsheet or a row of units left there; empty where nothing is known."""
        if all(re.fullmatch(r"[(\[]?(um|\u00b5m|\u03bcm|mm|thou|in|inch|arcsec|urad|-|yes/no|)[)\]]?", one.lower()) for one in self._cells[index]):
            return "The row looks like units that are not those of the header: correct whichever is wrong"
        if not cell and name in PLAIN and index:
            return "Write it in every row; a spreadsheet leaves all but the first cell of a merged block empty"
        if re.fullmatch(r"[0-9]{1,2}[-. /]?[A-Za-z]{3}|[A-Za-z]{3}[-. /]?[0-9]{2}", cell):
            return "It looks like a date that a spreadsheet made of an interval such as 5-10: make the column text, and type it again"
        return ""

    def numbers(self, name: str, allowed: str, low: float, high: float, blank: bool = False) -> np.ndarray:
        """Numbers in the house's unit; nan where a blank is allowed and stands."""
        found = np.full(self.row.size, np.nan)
        for i, written in enumerate(self.cells(name)):
            cell = written.translate(_MINUS)
            if blank and not cell:
                continue
            if not _NUMBER.fullmatch(cell):
                comma = re.fullmatch(r"[+-]?[0-9]*,[0-9]+", cell)
                self.refuse(i, name, allowed + (f", with a point in decimals: {cell.replace(',', '.')}" if comma else ""))
            # a millionth of a millimetre or micrometre is kept, so that one inch and 25.4 mm are one place
            found[i] = round(float(cell) * self.factor[name], 6) if abs(float(cell)) < 1e12 else float(cell)
            if not low <= found[i] <= high:
                self.refuse(i, name, allowed)
        return found

    def last_digit(self, name: str) -> float:
        """Step of the last digit that was written in a column, in the house's unit; 1 where nothing was."""
        cells = [cell.lower().partition("e")[0] for cell in self.cells(name) if cell] if self.has(name) else []
        decimals = max((len(cell.partition(".")[2]) for cell in cells), default=None)
        return 1.0 if decimals is None else self.factor[name] * 10.0 ** -decimals

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
