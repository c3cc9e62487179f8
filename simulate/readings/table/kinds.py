"""What each kind of readings file may hold: its columns, their units, and what may stand in a cell."""

from __future__ import annotations

from collections.abc import Callable, Container
from typing import Any

import numpy as np

from simulate.readings.table.alignment_kinds import cross_slide_of, head_of, one_square_of, thickness_of
from simulate.readings.table.checked_cells import (
    GAPS,
    LARGEST_MM,
    LARGEST_UM,
    YES_NO,
    gaps,
    lengths,
    points_or_intervals,
    round_of,
    turned_of,
)
from simulate.readings.table.columns import Sheet
from simulate.readings.table.line_kinds import bed_of, edge_along_lines, slopes_along_lines
from simulate.readings.table.readings import Readings, shortened

_PROUD = ("proud", "proud_at_least", "proud_at_most")
_MARKS = (
    ("head", ("axis", "diameter", "held")),
    ("cross slide", ("travel",)),
    ("one square", ("by", "apart", "taper")),
    ("thickness", ("face", "against", "thickness")),
    ("bed", ("how", "way", "part", "plane", "step")),
    ("level", ("line", "station", "reading")),
    ("wedge", ("looks", "seen")),
    ("lands", ("gauge", "left", "middle", "right", *_PROUD)),
    ("squares", ("height",)),
    ("plates", ("y", "slide_x", "slide_y")),
)
"""Columns by which a file says what it holds; the first kind that has one of its own counts."""
_TURNED_PLATES = {"0": 0, "90": 90, "180": 180, "270": 270}


def kind_of(sheet: Sheet) -> str:
    """Say by its columns what a file holds.

    Returns: one of ``simulate.readings.table.readings.KINDS``; of slopes, eight lines may yet turn out to be a union
    jack.
    """
    return kind_by(sheet.place)


def kind_by(columns: Container[str]) -> str:
    """Say what a file holds by what its columns mean.

    >>> kind_by({"line", "x", "y", "gap"}), kind_by({"lower", "upper", "position", "gap"})
    ('edge', 'bars')
    """
    found = next((kind for kind, marks in _MARKS if any(mark in columns for mark in marks)), "bars")
    if found == "bed" and "part" in columns:
        return "joint"
    slopes = "station" in columns or "reading" in columns
    return "edge" if found == "level" and not slopes and any(one in columns for one in (*GAPS, "dial")) else found


def checked(sheet: Sheet) -> Readings:
    """Turn cells into a checked table."""
    kind = kind_of(sheet)
    return _CHECKED[kind](sheet) if kind in _CHECKED else _pairs_of(sheet, kind)


def _pairs_of(sheet: Sheet, kind: str) -> Readings:
    """Check gaps between bodies in pairs: bars, plates or squares."""
    along = "height" if kind == "squares" else "x" if sheet.has("x") and not sheet.has("position") else "position"
    plates = ("turned", "y", "slide_x", "slide_y") if kind == "plates" else ("turned",) if kind == "bars" else ()
    sheet.need(kind, "lower", "upper", along, *(("y",) if kind == "plates" else ()))
    prints = ("printed", "film") if kind in ("bars", "plates") else ()
    if not sheet.has(*GAPS, *prints[:1]):
        sheet.need(kind, "gap")
    if sheet.has(*prints[1:]):
        sheet.need(kind, *prints[:1])
    sheet.allow(kind, "round", "lower", "upper", along, *plates, *GAPS, *prints)
    names, lower, upper = _pairs(sheet)
    columns: dict[str, Any] = {"position_mm": lengths(sheet, along, 0.0 if kind == "squares" else -LARGEST_MM)}
    if kind == "plates":
        columns["turned"] = turned_of(sheet, _TURNED_PLATES, "0, 90, 180 or 270 degrees")
        columns["y_mm"] = lengths(sheet, "y")
        for slide in ("slide_x", "slide_y"):
            columns[f"{slide}_mm"] = lengths(sheet, slide) if sheet.has(slide) else np.zeros(sheet.row.size)
    if kind == "bars":
        columns["turned"] = turned_of(sheet, YES_NO, "yes or no").astype(bool)
    gap, low, high = gaps(sheet)
    return Readings(
        sheet.file,
        kind,
        sheet.row,
        names,
        round_of(sheet),
        lower,
        upper,
        gap_um=gap,
        low_um=low,
        high_um=high,
        last_digit=sheet.last_digit("gap"),
        **columns,
    )


def _pairs(sheet: Sheet) -> tuple[tuple[str, ...], np.ndarray, np.ndarray]:
    lower, upper = sheet.words("lower"), sheet.words("upper")
    order: dict[str, int] = {}
    for i, (below, above) in enumerate(zip(lower, upper)):
        if below == above:
            sheet.refuse(i, "upper", "a body other than the lower one", f"{shortened(above)} would lie against itself")
        order.setdefault(below, len(order))
        order.setdefault(above, len(order))
    return tuple(order), np.array([order[n] for n in lower]), np.array([order[n] for n in upper])


def _lands(sheet: Sheet) -> Readings:
    kind = "lands"
    sheet.need(kind, "gauge", "left", "middle", "right")
    if not sheet.has(*_PROUD):
        sheet.need(kind, "proud")
    sheet.allow(kind, "round", "gauge", "left", "middle", "right", *_PROUD)
    gauges = sheet.words("gauge")
    names = tuple(dict.fromkeys(gauges))
    place = {name: k for k, name in enumerate(names)}
    left, middle, right = (lengths(sheet, name) for name in ("left", "middle", "right"))
    for name, before, after in (("middle", left, middle), ("right", middle, right)):
        for i in np.flatnonzero(after <= before)[:1]:
            sheet.refuse(i, name, f"a place beyond {before[i]:g} mm, because positions rise from left to right")
    allowed = f"a number up to {LARGEST_UM / 1000:g} mm either way, with + where the bar stands proud"
    proud, low, high = points_or_intervals(sheet, _PROUD, "a reading", allowed, -LARGEST_UM, -np.inf)
    return Readings(
        sheet.file,
        kind,
        sheet.row,
        names,
        round_of(sheet),
        np.array([place[g] for g in gauges]),
        position_mm=middle,
        left_mm=left,
        right_mm=right,
        proud_um=proud,
        low_um=low,
        high_um=high,
        last_digit=sheet.last_digit("proud"),
    )


def _wedge(sheet: Sheet) -> Readings:
    kind = "a wedge test"
    sheet.need(kind, "gap", "looks", "seen")
    sheet.allow(kind, "round", "gap", "looks", "seen")
    gap = sheet.numbers(
        "gap", f"a number from 0 to {LARGEST_UM / 1000:g} mm: how wide the wedge is open at the mark", 0.0, LARGEST_UM
    )
    looks, seen = sheet.whole("looks", 1, 9999), sheet.whole("seen", 0, 9999)
    for i in np.flatnonzero(seen > looks)[:1]:
        sheet.refuse(i, "seen", f"a whole number from 0 to {looks[i]}, because there were no more checks of this mark")
    return Readings(sheet.file, "wedge", sheet.row, (), round_of(sheet), gap_um=gap, looks=looks, seen=seen)


_CHECKED: dict[str, Callable[[Sheet], Readings]] = {
    "level": slopes_along_lines,
    "bed": lambda sheet: bed_of(sheet, "bed"),
    "joint": lambda sheet: bed_of(sheet, "joint"),
    "edge": edge_along_lines,
    "lands": _lands,
    "wedge": _wedge,
    "head": head_of,
    "cross slide": cross_slide_of,
    "one square": one_square_of,
    "thickness": thickness_of,
}
