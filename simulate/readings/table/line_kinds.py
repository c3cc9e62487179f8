"""What a file of readings along lines or of a bed may hold: slopes, what stands under an edge, dials, strips."""

from __future__ import annotations

from typing import Any

import numpy as np

from simulate.readings.table.checked_cells import GAPS, LARGEST_UM, YES_NO, gaps, lengths, round_of, turned_of
from simulate.readings.table.columns import Sheet
from simulate.readings.table.readings import BedReadings, LineReadings, Readings

LARGEST_ARCSEC = 36_000.0
ENDS = {
    ((0, 0), (2, 2)): "a diagonal",
    ((0, 2), (2, 0)): "the other diagonal",
    ((0, 0), (2, 0)): "the edge at the smallest y",
    ((0, 2), (2, 2)): "the edge at the greatest y",
    ((0, 0), (0, 2)): "the edge at the smallest x",
    ((2, 0), (2, 2)): "the edge at the greatest x",
    ((0, 1), (2, 1)): "the centre line along x",
    ((1, 0), (1, 2)): "the centre line along y",
}
"""What a line of a union jack is by its two ends, counted 0, 1, 2 across the extent in x and in y."""


def role_of(x: np.ndarray, y: np.ndarray, every_x: np.ndarray, every_y: np.ndarray, same: float) -> str | None:
    """Say which line of a union jack lies there, by its first and its last station.

    `same`: places nearer than this are one, in mm.

    >>> role_of(np.array([0.0, 9.0]), np.array([0.0, 9.0]), np.array([0.0, 9.0]), np.array([0.0, 9.0]), 0.1)
    'a diagonal'
    """
    first, last = sorted((_third(x[k], every_x, same), _third(y[k], every_y, same)) for k in (0, -1))
    return ENDS.get((first, last))


def same_place_mm(line: np.ndarray, station: np.ndarray, x: np.ndarray, y: np.ndarray) -> float:
    """Give the distance below which two stations are one: a tenth of the shortest step."""
    order = np.lexsort((station, line))
    inside = line[order][1:] == line[order][:-1]
    step = np.hypot(np.diff(x[order]), np.diff(y[order]))[inside]
    return 0.1 * float(step[step > 0].min(initial=10.0 if not (step > 0).any() else np.inf))


def is_union_jack(line: np.ndarray, station: np.ndarray, x: np.ndarray, y: np.ndarray) -> bool:
    """Say whether lines of slopes are the eight lines of a union jack, each read once."""
    same = same_place_mm(line, station, x, y)
    roles = []
    for name in np.unique(line):
        mine = np.flatnonzero(line == name)
        mine = mine[np.argsort(station[mine], kind="stable")]
        roles.append(role_of(x[mine], y[mine], x, y, same))
    return len(roles) == len(ENDS) and set(roles) == set(ENDS.values())


def slopes_along_lines(sheet: Sheet) -> Readings:
    """Check slopes along lines; eight lines that make a union jack are one, and any others a level."""
    sheet.need("a level along lines", "line", "station", "x", "y", "reading")
    sheet.allow("a level along lines", "round", "line", "station", "x", "y", "set", "turned", "reading")
    turned, number = turned_of(sheet, YES_NO, "yes or no"), round_of(sheet)
    x_mm, y_mm = lengths(sheet, "x"), lengths(sheet, "y")
    lines, station = np.array(sheet.words("line"), dtype="<U24"), sheet.whole("station", 0, 9999)
    said, most = sheet.most_said("reading", LARGEST_ARCSEC)
    largest = f"a number of {said}, up to {most:g} either way"
    reading = sheet.numbers("reading", largest, -LARGEST_ARCSEC, LARGEST_ARCSEC, blank=True)
    for i in np.flatnonzero((station > 0) & np.isnan(reading))[:1]:
        sheet.refuse(i, "reading", f"a number of {said}, because only station 0 has none")
    for i in np.flatnonzero((station == 0) & ~np.isnan(reading) & (reading != 0))[:1]:
        sheet.refuse(i, "reading", "empty at station 0, where no step ends yet")
    level = sheet.has("set", "turned")
    set_up = np.array(sheet.words("set"), dtype="<U24") if sheet.has("set") else lines
    _refuse_twice(sheet, number, lines, station, set_up, turned)
    _refuse_holes(sheet, number, lines, station)
    every = [number == one for one in np.unique(number)]
    level |= not any(is_union_jack(lines[mine], station[mine], x_mm[mine], y_mm[mine]) for mine in every)
    common: dict[str, Any] = dict(
        source=sheet.file,
        row=sheet.row,
        names=tuple(dict.fromkeys(lines.tolist())),
        round=number,
        line=tuple(lines.tolist()),
        station=station,
        x_mm=x_mm,
        y_mm=y_mm,
        reading_arcsec=np.where(station == 0, np.nan, reading),
        last_digit=sheet.last_digit("reading"),
    )
    if level:
        return LineReadings(kind="level", turned=turned.astype(bool), set_up=set_up, **common)
    return Readings(kind="union jack", **common)


def edge_along_lines(sheet: Sheet) -> Readings:
    """Check what stands under a straightedge along lines: gaps, intervals, or a dial against it."""
    kind = "a straightedge along lines"
    sheet.need(kind, "line", "x", "y")
    sheet.allow(kind, "round", "line", "x", "y", "set", *GAPS, "dial")
    lines = np.array(sheet.words("line"), dtype="<U24")
    dial, gap, low, high = dial_or_gap(sheet)
    return LineReadings(
        source=sheet.file,
        kind="edge",
        row=sheet.row,
        names=tuple(dict.fromkeys(lines.tolist())),
        round=round_of(sheet),
        line=tuple(lines.tolist()),
        x_mm=lengths(sheet, "x"),
        y_mm=lengths(sheet, "y"),
        set_up=np.array(sheet.words("set"), dtype="<U24") if sheet.has("set") else lines,
        gap_um=gap,
        low_um=low,
        high_um=high,
        dial_um=dial,
        last_digit=sheet.last_digit("gap") if sheet.has("gap") else sheet.last_digit("dial"),
    )


def dial_or_gap(sheet: Sheet, other: np.ndarray | None = None) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Check rows of which each gives a dial reading, a gap or an interval.

    `other`: rows that give neither. Returns `dial_um`, `gap_um`, `low_um`, `high_um`: nan where a row gives another.
    """
    blank = np.full(sheet.row.size, np.nan)
    allowed = f"a number up to {LARGEST_UM / 1000:g} mm either way, with + where the work is higher"
    dial = sheet.numbers("dial", allowed, -LARGEST_UM, LARGEST_UM, blank=True) if sheet.has("dial") else blank
    none = np.isfinite(dial) if other is None else np.isfinite(dial) | other
    if not sheet.has(*GAPS):
        if not sheet.has("dial"):
            sheet.need("a straightedge along lines", "gap")
        for i in np.flatnonzero(~none)[:1]:
            sheet.refuse(i, "dial", allowed, "the row gives no reading at all")
        return dial, blank, blank, blank
    gap, low, high = gaps(sheet, none, "dial")
    return dial, gap, low, high


HOWS = {
    "edge": ("gap", "dial"),
    "dial": ("dial",),
    "level": ("reading",),
    "cross": ("reading",),
    "strips": ("step",),
    "diagonal": ("gap",),
    "bolt": (),
}
"""How a bed is read, and in which column: a straightedge along a way, a dial from one way to the other, a level along a
way or across both, winding strips, a straightedge corner to corner over a block; or where a bolt stands."""
ON_A_WAY = ("edge", "dial", "level", "diagonal")
_TO = ("level", "strips", "diagonal")
_PLANES = {"upright": 0, "level": 1, "": 0}


def bed_of(sheet: Sheet, kind: str) -> Readings:
    """Check readings of a bed, or of two parts of one that are bolted together."""
    said = "a bed" if kind == "bed" else "two bed parts"
    sheet.need(said, "how", "x", *(("part",) if kind == "joint" else ()))
    parts = ("part",) if kind == "joint" else ()
    places = ("x", "to_x", "y", "strip")
    sheet.allow(
        said, "round", "how", "way", "plane", *parts, *places, "set", "turned", *GAPS, "dial", "step", "reading"
    )
    allowed = [one for one in HOWS if one != "bolt" or kind == "joint"]
    how = np.array([cell.lower() for cell in sheet.words("how")], dtype="<U24")
    for i in np.flatnonzero(~np.isin(how, allowed))[:1]:
        sheet.refuse(i, "how", ", ".join(allowed[:-1]) + f" or {allowed[-1]}")
    blank = np.full(sheet.row.size, np.nan)
    way = _names(sheet, "way", np.isin(how, ON_A_WAY))
    part = _names(sheet, "part", np.full(sheet.row.size, kind == "joint"))
    planes = "upright or empty (vertical plane), or level (horizontal plane)"
    plane = sheet.one_of("plane", _PLANES, planes) if sheet.has("plane") else np.zeros(sheet.row.size, int)
    for i in np.flatnonzero((plane == 1) & ~np.isin(how, ("edge", "dial", "bolt")))[:1]:
        sheet.refuse(i, "plane", f"upright: {how[i]!r} shows nothing of the horizontal plane")
    to_x = _where(sheet, "to_x", np.isin(how, _TO), "where it ends: a place other than x")
    strip = _where(sheet, "strip", how == "strips", "how long the strips are")
    x, y = lengths(sheet, "x"), sheet.numbers("y", "a place in mm", -1e5, 1e5, blank=True) if sheet.has("y") else blank
    for i in np.flatnonzero(to_x == x)[:1]:
        sheet.refuse(i, "to_x", f"a place other than {x[i]:g} mm, where it begins")
    for i in np.flatnonzero(strip <= 0)[:1]:
        sheet.refuse(i, "strip", "above 0")
    largest = f"up to {LARGEST_UM / 1000:g} mm either way"
    step = _figures(
        sheet, "step", how == "strips", f"a number {largest}, + where the far strip rises to the back", LARGEST_UM
    )
    said, most = sheet.most_said("reading", LARGEST_ARCSEC)
    slope = f"a number of {said}, up to {most:g} either way"
    reading = _figures(sheet, "reading", np.isin(how, ("level", "cross")), slope, LARGEST_ARCSEC)
    other = ~np.isin(how, ("edge", "dial", "diagonal"))
    if (~other).any():
        dial, gap, low, high = dial_or_gap(sheet, other)
    else:
        dial, gap, low, high = blank, blank, blank, blank
    for i in np.flatnonzero((how == "dial") & ~np.isfinite(dial))[:1]:
        sheet.refuse(
            i, "how", "an edge or a diagonal with a gap, or a dial with a figure in dial_um", "a dial without a reading"
        )
    for i in np.flatnonzero((how == "diagonal") & np.isfinite(dial))[:1]:
        sheet.refuse(
            i, "dial", "an empty cell: over a diagonal the gap at the block is read", "a dial is given for a diagonal"
        )
    return BedReadings(
        source=sheet.file,
        kind=kind,
        row=sheet.row,
        names=tuple(dict.fromkeys((part if kind == "joint" else way[way != ""]).tolist())),
        round=round_of(sheet),
        turned=turned_of(sheet, {**YES_NO, "": 0}, "yes or no (empty is no)").astype(bool),
        x_mm=x,
        y_mm=y,
        set_up=_names(sheet, "set", np.zeros(sheet.row.size, bool)),
        gap_um=gap,
        low_um=low,
        high_um=high,
        dial_um=np.where(how == "strips", step, dial),
        reading_arcsec=reading,
        how=how,
        way=way,
        part=part,
        plane=np.where(plane == 1, "level", "upright"),
        to_x_mm=to_x,
        strip_mm=strip,
        last_digit=next((sheet.last_digit(one) for one in ("dial", "step", "gap") if sheet.has(one)), 1.0),
        slope_digit=sheet.last_digit("reading"),
    )


def _names(sheet: Sheet, name: str, needed: np.ndarray) -> np.ndarray:
    """Short names, empty where none is needed and none stands."""
    if not sheet.has(name):
        for i in np.flatnonzero(needed)[:1]:
            sheet.need(f"a bed ({sheet.cells('how')[i]})" if sheet.has("how") else "a bed", name)
        return np.full(sheet.row.size, "", dtype="<U24")
    cells = [" ".join(cell.split()) for cell in sheet.cells(name)]
    for i, cell in enumerate(cells):
        if (needed[i] and not cell) or len(cell) > 24 or (cell and not cell.isprintable()):
            sheet.refuse(i, name, "a short name of 1 to 24 characters")
    return np.array(cells, dtype="<U24")


def _where(sheet: Sheet, name: str, needed: np.ndarray, what: str) -> np.ndarray:
    """A place in mm in the rows that need one, nan in all others."""
    return _figures(sheet, name, needed, f"a number of millimetres or inches: {what}", 1e5)


def _figures(sheet: Sheet, name: str, needed: np.ndarray, allowed: str, largest: float) -> np.ndarray:
    if not sheet.has(name):
        if needed.any():
            sheet.need("a bed (" + str(sheet.cells("how")[int(np.flatnonzero(needed)[0])]) + ")", name)
        return np.full(sheet.row.size, np.nan)
    found = sheet.numbers(name, allowed, -largest, largest, blank=True)
    for i in np.flatnonzero(needed & np.isnan(found))[:1]:
        sheet.refuse(i, name, allowed)
    for i in np.flatnonzero(~needed & ~np.isnan(found))[:1]:
        sheet.refuse(i, name, f"empty: it has no meaning for {sheet.cells('how')[i]!r}")
    return found


def _refuse_twice(sheet: Sheet, number, lines, station, set_up, turned) -> None:
    seen: dict[tuple, int] = {}
    for i, key in enumerate(zip(number.tolist(), lines, station.tolist(), set_up, turned.tolist(), strict=True)):
        if key in seen and (station[i] > 0 or not sheet.has("set", "turned")):
            again = ", unless it was read again in another set or turned" if sheet.has("set", "turned") else ""
            sheet.refuse(
                i,
                "station",
                f"one row for each station of a line{again}",
                f"station {station[i]} of line {str(lines[i])!r} is in row {sheet.row[seen[key]]} already",
            )
        seen.setdefault(key, i)


def _refuse_holes(sheet: Sheet, number, lines, station) -> None:
    keys = list(zip(number.tolist(), lines.tolist(), strict=True))
    for key in dict.fromkeys(keys):
        mine = [i for i, own in enumerate(keys) if own == key]
        there = {int(station[i]) for i in mine}
        missing = sorted(set(range(max(there) + 1)) - there)
        if missing or len(there) < 2:
            sheet.refuse(
                mine[0],
                "line",
                "stations 0, 1, 2 and so on, none missing, at least two",
                f"line {key[1]!r} has no station {missing[0] if missing else 1}",
            )


def _third(value: float, every: np.ndarray, same: float) -> int:
    """0 at the least, 1 in the middle, 2 at the greatest, -1 elsewhere."""
    places = (every.min(), (every.min() + every.max()) / 2, every.max())
    return next((k for k, place in enumerate(places) if abs(value - place) < same), -1)
