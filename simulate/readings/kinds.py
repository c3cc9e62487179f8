"""What each kind of readings file may hold: its columns, their units, and what may stand in a cell."""

from __future__ import annotations

import re

import numpy as np

from simulate.readings.record import Readings, ReadingsError, shortened

UNITS = {
    "gap": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "gap_at_least": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "gap_at_most": {"um": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0},
    "position": {"mm": 1.0, "in": 25.4}, "x": {"mm": 1.0, "in": 25.4}, "y": {"mm": 1.0, "in": 25.4},
    "height": {"mm": 1.0, "in": 25.4}, "slide_x": {"mm": 1.0, "in": 25.4}, "slide_y": {"mm": 1.0, "in": 25.4},
    "reading": {"arcsec": 1.0, "urad": 0.20626480624709636},
}
PLAIN = ("round", "lower", "upper", "turned", "line", "station", "note")
KNOWN = {f"{what}_{unit}": (what, factor) for what, units in UNITS.items() for unit, factor in units.items()}
LARGEST_MM, LARGEST_UM, LARGEST_ARCSEC = 100_000.0, 1_000_000.0, 36_000.0
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")
_GAPS = ("gap", "gap_at_least", "gap_at_most")
_TURNED_BARS = {"yes": 1, "no": 0, "true": 1, "false": 0, "1": 1, "0": 0}
_TURNED_PLATES = {"0": 0, "90": 90, "180": 180, "270": 270}


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
            self.refuse_header(written, place, f"{shortened(written)} is no column of a readings file",
                               "one of " + ", ".join([*PLAIN, *(f"{what}_{next(iter(units))}" for what, units in UNITS.items())]))
        if what in self.place:
            self.refuse_header(written, place, f"{shortened(written)} says again what column "
                               f"{self.place[what] + 1} ({self.header[self.place[what]]}) says", "each column once")
        self.place[what], self.factor[what] = place, factor

    def has(self, *names: str) -> bool:
        return any(name in self.place for name in names)

    def refuse_header(self, written: str, place: int, found: str, allowed: str) -> None:
        raise ReadingsError(self.file, found, allowed, self.header_row, written or str(place + 1), written)

    def need(self, kind: str, *names: str) -> None:
        for name in names:
            if name not in self.place:
                written = " or ".join(f"{name}_{u}" for u in UNITS[name]) if name in UNITS else name
                raise ReadingsError(self.file, f"the header has no such column; it has {shortened(', '.join(self.header), 120)}",
                                    f"a column {written} in readings of {kind}", self.header_row,
                                    f"{name}_{next(iter(UNITS[name]))}" if name in UNITS else name, "")

    def allow(self, kind: str, *names: str) -> None:
        for name, place in self.place.items():
            if name not in (*names, "note"):
                self.refuse_header(self.header[place], place, f"{self.header[place]} has no meaning for {kind}",
                                   f"for {kind}: {', '.join(names)} with their units")

    def cells(self, name: str) -> list[str]:
        place = self.place[name]
        return [cells[place] for cells in self._cells]

    def refuse(self, index: int, name: str, allowed: str, found: str | None = None) -> None:
        cell = self._cells[index][self.place[name]]
        stood = found or (f"{shortened(cell)} stood there" if cell else "the cell is empty")
        raise ReadingsError(self.file, stood, allowed, int(self.row[index]), self.header[self.place[name]], cell)

    def numbers(self, name: str, allowed: str, low: float, high: float, blank: bool = False) -> np.ndarray:
        """Numbers in the house's unit; nan where a blank is allowed and stands."""
        found = np.full(self.row.size, np.nan)
        for i, cell in enumerate(self.cells(name)):
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

    def whole(self, name: str, low: int, high: int) -> np.ndarray:
        allowed = f"a whole number from {low} to {high}"
        cells = self.cells(name)
        for i, cell in enumerate(cells):
            if not re.fullmatch(r"[0-9]{1,6}", cell) or not low <= int(cell) <= high:
                self.refuse(i, name, allowed)
        return np.array([int(cell) for cell in cells])

    def words(self, name: str) -> list[str]:
        cells = self.cells(name)
        for i, cell in enumerate(cells):
            if not 1 <= len(cell) <= 24 or not cell.isprintable():
                self.refuse(i, name, "a short name of 1 to 24 characters")
        return cells

    def one_of(self, name: str, table: dict[str, int], allowed: str) -> np.ndarray:
        cells = [cell.lower() for cell in self.cells(name)]
        for i, cell in enumerate(cells):
            if cell not in table:
                self.refuse(i, name, allowed)
        return np.array([table[cell] for cell in cells])


def kind_of(sheet: Sheet) -> str:
    """Say by its columns what a file holds.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    str
        One of ``simulate.readings.record.KINDS``.
    """
    if sheet.has("line", "station", "reading"):
        return "union jack"
    if sheet.has("height"):
        return "squares"
    return "plates" if sheet.has("y", "slide_x", "slide_y") else "bars"


def checked(sheet: Sheet) -> Readings:
    """Turn cells into a checked table.

    Parameters
    ----------
    sheet : Sheet

    Returns
    -------
    Readings

    Raises
    ------
    ReadingsError
        At the first cell that may not stand where it stands.
    """
    kind = kind_of(sheet)
    if kind == "union jack":
        return _union_jack(sheet)
    along = "height" if kind == "squares" else "x" if sheet.has("x") and not sheet.has("position") else "position"
    plates = ("turned", "y", "slide_x", "slide_y") if kind == "plates" else ("turned",) if kind == "bars" else ()
    sheet.need(kind, "lower", "upper", along, *(("y",) if kind == "plates" else ()))
    if not sheet.has(*_GAPS):
        sheet.need(kind, "gap")
    sheet.allow(kind, "round", "lower", "upper", along, *plates, *_GAPS)
    names, lower, upper = _pairs(sheet)
    columns = {"position_mm": _lengths(sheet, along, 0.0 if kind == "squares" else -LARGEST_MM)}
    if kind == "plates":
        columns["turned"] = _turned(sheet, _TURNED_PLATES, "0, 90, 180 or 270 degrees")
        columns["y_mm"] = _lengths(sheet, "y")
        for slide in ("slide_x", "slide_y"):
            columns[f"{slide}_mm"] = _lengths(sheet, slide) if sheet.has(slide) else np.zeros(sheet.row.size)
    if kind == "bars":
        columns["turned"] = _turned(sheet, _TURNED_BARS, "yes or no").astype(bool)
    gap, low, high = _gaps(sheet)
    return Readings(sheet.file, kind, sheet.row, names, _round(sheet), lower, upper, gap_um=gap, low_um=low,
                    high_um=high, **columns)


def _round(sheet: Sheet) -> np.ndarray:
    return sheet.whole("round", 0, 9999) if sheet.has("round") else np.ones(sheet.row.size, dtype=int)


def _turned(sheet: Sheet, table: dict[str, int], allowed: str) -> np.ndarray:
    return sheet.one_of("turned", table, allowed) if sheet.has("turned") else np.zeros(sheet.row.size, dtype=int)


def _lengths(sheet: Sheet, name: str, low: float = -LARGEST_MM) -> np.ndarray:
    return sheet.numbers(name, f"a number of millimetres or inches, {'0' if low == 0 else f'{low / 1000:g} m'} to "
                         f"{LARGEST_MM / 1000:g} m", low, LARGEST_MM)


def _pairs(sheet: Sheet) -> tuple[tuple[str, ...], np.ndarray, np.ndarray]:
    lower, upper = sheet.words("lower"), sheet.words("upper")
    order: dict[str, int] = {}
    for i, (below, above) in enumerate(zip(lower, upper)):
        if below == above:
            sheet.refuse(i, "upper", "another body than the lower one",
                         f"{shortened(above)} stood there, which would lie against itself")
        order.setdefault(below, len(order))
        order.setdefault(above, len(order))
    return tuple(order), np.array([order[n] for n in lower]), np.array([order[n] for n in upper])


def _gaps(sheet: Sheet) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    allowed = f"a number from 0 to {LARGEST_UM / 1000:g} mm; a gap cannot be below 0"
    columns = {}
    for name in _GAPS:
        blank = name != "gap" or sheet.has("gap_at_least", "gap_at_most")
        columns[name] = (sheet.numbers(name, allowed, 0.0, LARGEST_UM, blank) if sheet.has(name)
                         else np.full(sheet.row.size, np.nan))
    gap, low, high = (columns[name] for name in _GAPS)
    interval = ~np.isnan(low) | ~np.isnan(high)
    for i in np.flatnonzero(~interval & np.isnan(gap))[:1]:
        sheet.refuse(i, "gap" if sheet.has("gap") else "gap_at_most" if sheet.has("gap_at_most") else "gap_at_least",
                     "a gap, or an interval with gap_at_least, gap_at_most or both", "the row gives no gap at all")
    for i in np.flatnonzero(interval & ~np.isnan(gap))[:1]:
        sheet.refuse(i, "gap", "either a gap or an interval, with the other left empty",
                     f"{sheet.cells('gap')[i]!r} stood beside an interval")
    for i in np.flatnonzero(low > high)[:1]:
        sheet.refuse(i, "gap_at_most", "no less than the gap it is at least",
                     f"the interval runs backwards, from {low[i]:g} to {high[i]:g} um")
    low = np.where(interval, np.where(np.isnan(low), 0.0, low), gap)
    high = np.where(interval, np.where(np.isnan(high), np.inf, high), gap)
    return gap, low, high


def _union_jack(sheet: Sheet) -> Readings:
    kind = "a union jack"
    sheet.need(kind, "line", "station", "x", "y", "reading")
    sheet.allow(kind, "round", "line", "station", "x", "y", "reading")
    lines, station = sheet.words("line"), sheet.whole("station", 0, 9999)
    reading = sheet.numbers("reading", f"a number of seconds of arc, up to {LARGEST_ARCSEC:g} either way",
                            -LARGEST_ARCSEC, LARGEST_ARCSEC, blank=True)
    for i in np.flatnonzero((station > 0) & np.isnan(reading))[:1]:
        sheet.refuse(i, "reading", "a number of seconds of arc; only station 0 has none")
    for i in np.flatnonzero((station == 0) & ~np.isnan(reading) & (reading != 0))[:1]:
        sheet.refuse(i, "reading", "an empty cell at station 0, where no step ends yet")
    seen: dict[str, dict[int, int]] = {}
    for i, (line, at) in enumerate(zip(lines, station)):
        if int(at) in seen.setdefault(line, {}):
            sheet.refuse(i, "station", "each station once in a line", f"station {at} of line {line!r} stood in row "
                         f"{sheet.row[seen[line][int(at)]]} already")
        seen[line][int(at)] = i
    for line, places in seen.items():
        missing = sorted(set(range(max(places) + 1)) - set(places))
        if missing or len(places) < 2:
            sheet.refuse(next(iter(places.values())), "line", "stations 0, 1, 2 and so on without a hole, two or more",
                         f"line {line!r} has no station {missing[0] if missing else 1}")
    return Readings(sheet.file, "union jack", sheet.row, tuple(seen), _round(sheet), line=tuple(lines), station=station,
                    x_mm=_lengths(sheet, "x"), y_mm=_lengths(sheet, "y"),
                    reading_arcsec=np.where(station == 0, np.nan, reading))
