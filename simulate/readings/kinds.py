"""What each kind of readings file may hold: its columns, their units, and what may stand in a cell."""

from __future__ import annotations

import numpy as np

from simulate.readings.record import Readings, shortened
from simulate.readings.sheet import Sheet

LARGEST_MM, LARGEST_UM, LARGEST_ARCSEC = 100_000.0, 1_000_000.0, 36_000.0
_GAPS = ("gap", "gap_at_least", "gap_at_most")
_PROUD = ("proud", "proud_at_least", "proud_at_most")
_TURNED_BARS = {"yes": 1, "no": 0, "true": 1, "false": 0, "1": 1, "0": 0}
_TURNED_PLATES = {"0": 0, "90": 90, "180": 180, "270": 270}


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
    if sheet.has("looks", "seen"):
        return "wedge"
    if sheet.has("gauge", "left", "middle", "right", *_PROUD):
        return "lands"
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
    if kind == "lands":
        return _lands(sheet)
    if kind == "wedge":
        return _wedge(sheet)
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
                    high_um=high, last_digit=sheet.last_digit("gap"), **columns)


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
                         f"{shortened(above)} would lie against itself")
        order.setdefault(below, len(order))
        order.setdefault(above, len(order))
    return tuple(order), np.array([order[n] for n in lower]), np.array([order[n] for n in upper])


def _gaps(sheet: Sheet) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    allowed = f"a number from 0 to {LARGEST_UM / 1000:g} mm, for a gap cannot be below 0"
    return _points_or_intervals(sheet, _GAPS, "a gap", allowed, 0.0, 0.0)


def _points_or_intervals(sheet: Sheet, names: tuple[str, str, str], noun: str, allowed: str, least: float,
                         missing: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the point of each row, or nan, and the ends of its interval; `missing` stands for a lower end not given."""
    point_name, low_name, high_name = names
    columns = {}
    for name in names:
        blank = name != point_name or sheet.has(low_name, high_name)
        columns[name] = (sheet.numbers(name, allowed, least, LARGEST_UM, blank) if sheet.has(name)
                         else np.full(sheet.row.size, np.nan))
    point, low, high = (columns[name] for name in names)
    interval = ~np.isnan(low) | ~np.isnan(high)
    plain = noun.removeprefix("a ")
    for i in np.flatnonzero(~interval & np.isnan(point))[:1]:
        sheet.refuse(i, point_name if sheet.has(point_name) else high_name if sheet.has(high_name) else low_name,
                     f"{noun}, or an interval with {low_name}, {high_name} or both", f"the row gives no {plain} at all")
    for i in np.flatnonzero(interval & ~np.isnan(point))[:1]:
        sheet.refuse(i, point_name, f"either {noun} or an interval, with the other left empty",
                     f"{sheet.cells(point_name)[i]!r} stands beside an interval")
    for i in np.flatnonzero(low > high)[:1]:
        sheet.refuse(i, high_name, f"a figure no smaller than the {plain} it is at least",
                     f"the interval runs backwards, from {low[i]:g} to {high[i]:g} um")
    low = np.where(interval, np.where(np.isnan(low), missing, low), point)
    high = np.where(interval, np.where(np.isnan(high), np.inf, high), point)
    return point, low, high


def _lands(sheet: Sheet) -> Readings:
    kind = "lands"
    sheet.need(kind, "gauge", "left", "middle", "right")
    if not sheet.has(*_PROUD):
        sheet.need(kind, "proud")
    sheet.allow(kind, "round", "gauge", "left", "middle", "right", *_PROUD)
    gauges = sheet.words("gauge")
    names = tuple(dict.fromkeys(gauges))
    place = {name: k for k, name in enumerate(names)}
    left, middle, right = (_lengths(sheet, name) for name in ("left", "middle", "right"))
    for name, before, after in (("middle", left, middle), ("right", middle, right)):
        for i in np.flatnonzero(after <= before)[:1]:
            sheet.refuse(i, name, f"a place beyond {before[i]:g} mm, for lands rise from left to right")
    allowed = f"a number up to {LARGEST_UM / 1000:g} mm either way, with + where the bar stands proud"
    proud, low, high = _points_or_intervals(sheet, _PROUD, "a reading", allowed, -LARGEST_UM, -np.inf)
    return Readings(sheet.file, kind, sheet.row, names, _round(sheet), np.array([place[g] for g in gauges]),
                    position_mm=middle, left_mm=left, right_mm=right, proud_um=proud, low_um=low, high_um=high,
                    last_digit=sheet.last_digit("proud"))


def _wedge(sheet: Sheet) -> Readings:
    kind = "a wedge test"
    sheet.need(kind, "gap", "looks", "seen")
    sheet.allow(kind, "round", "gap", "looks", "seen")
    gap = sheet.numbers("gap", f"a number from 0 to {LARGEST_UM / 1000:g} mm: how wide the wedge is open at the mark", 0.0, LARGEST_UM)
    looks, seen = sheet.whole("looks", 1, 9999), sheet.whole("seen", 0, 9999)
    for i in np.flatnonzero(seen > looks)[:1]:
        sheet.refuse(i, "seen", f"a whole number from 0 to {looks[i]}, for there were no more looks at this mark")
    return Readings(sheet.file, "wedge", sheet.row, (), _round(sheet), gap_um=gap, looks=looks, seen=seen)


def _union_jack(sheet: Sheet) -> Readings:
    kind = "a union jack"
    sheet.need(kind, "line", "station", "x", "y", "reading")
    sheet.allow(kind, "round", "line", "station", "x", "y", "reading")
    lines, station = sheet.words("line"), sheet.whole("station", 0, 9999)
    reading = sheet.numbers("reading", f"a number of seconds of arc, up to {LARGEST_ARCSEC:g} either way",
                            -LARGEST_ARCSEC, LARGEST_ARCSEC, blank=True)
    for i in np.flatnonzero((station > 0) & np.isnan(reading))[:1]:
        sheet.refuse(i, "reading", "a number of seconds of arc, for only station 0 has none")
    for i in np.flatnonzero((station == 0) & ~np.isnan(reading) & (reading != 0))[:1]:
        sheet.refuse(i, "reading", "empty at station 0, where no step ends yet")
    seen: dict[tuple[int, str], dict[int, int]] = {}
    number = _round(sheet)
    for i, (line, at) in enumerate(zip(lines, station)):
        if int(at) in seen.setdefault((int(number[i]), line), {}):
            sheet.refuse(i, "station", "one row for each station of a line", f"station {at} of line {line!r} stands in row "
                         f"{sheet.row[seen[number[i], line][int(at)]]} already")
        seen[number[i], line][int(at)] = i
    for (_, line), places in seen.items():
        missing = sorted(set(range(max(places) + 1)) - set(places))
        if missing or len(places) < 2:
            sheet.refuse(next(iter(places.values())), "line", "stations 0, 1, 2 and so on without a hole, two or more",
                         f"line {line!r} has no station {missing[0] if missing else 1}")
    return Readings(sheet.file, "union jack", sheet.row, tuple(dict.fromkeys(lines)), number, line=tuple(lines), station=station,
                    x_mm=_lengths(sheet, "x"), y_mm=_lengths(sheet, "y"),
                    reading_arcsec=np.where(station == 0, np.nan, reading), last_digit=sheet.last_digit("reading"))
