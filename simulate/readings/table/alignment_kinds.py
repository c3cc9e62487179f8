"""What a file of readings of an axis, a cross slide, one square or the thickness of a piece may hold."""

from __future__ import annotations

from typing import Any

import numpy as np

from simulate.readings.table.checked_cells import GAPS, LARGEST_UM, YES_NO, gaps, lengths, round_of, turned_of
from simulate.readings.table.columns import Sheet
from simulate.readings.table.readings import AlignmentReadings
from simulate.readings.table.units import ARCSEC_OF_URAD

FOOT = "foot"
BYS = ("line", "strip", "dial", "roller")
"""What one square is proved by: two scribed lines, light on both sides of an upright strip, a dial carried up a column,
a roller that stands on its end."""
_PLANES = {"upright": 0, "level": 1, FOOT: 2, "": 0}
_SIDES = {**YES_NO, "": 0}
_LARGEST_MM, _LARGEST_ARCSEC = 1e5, 36_000.0
_EITHER_WAY = f"up to {LARGEST_UM / 1000:g} mm either way"


def head_of(sheet: Sheet) -> AlignmentReadings:
    """Check readings of a test bar in a headstock or a tailstock."""
    said = "a test bar in a headstock or tailstock"
    sheet.need(said, "axis", "x", "dial")
    sheet.allow(said, "round", "axis", "plane", "x", "turned", "set", "dial", "diameter", "length", "held")
    axis = np.array(sheet.words("axis"), dtype="<U24")
    plane = _planes(sheet)
    foot = plane == FOOT
    dial = _figures(sheet, "dial", ~foot, f"a number {_EITHER_WAY}, + where the axis is high, or near the tool")
    for i in np.flatnonzero(foot & np.isfinite(dial))[:1]:
        sheet.refuse(i, "dial", "empty: the row says where a foot stands, and a foot is not read")
    diameter, length = (_one_of_each(sheet, name, axis, "bar", 0.0) for name in ("diameter", "length"))
    for i in np.flatnonzero(np.isfinite(diameter) != np.isfinite(length))[:1]:
        there = np.isfinite(diameter[i])
        sheet.need(said, "length" if there else "diameter")
        sheet.refuse(
            i, "length" if there else "diameter", "given too: the sag of a bar depends on both length and diameter"
        )
    return AlignmentReadings(
        **_common(sheet, "head", axis.tolist()),
        turned=_turned(sheet),
        set_up=_sets(sheet),
        x_mm=lengths(sheet, "x"),
        plane=plane,
        dial_um=dial,
        held_mm=_one_of_each(sheet, "held", axis, "bar"),
        diameter_mm=diameter,
        length_mm=length,
        last_digit=sheet.last_digit("dial"),
    )


def cross_slide_of(sheet: Sheet) -> AlignmentReadings:
    """Check readings of a cross slide over a square."""
    said = "a cross slide over a square"
    sheet.need(said, "travel", "turned", "dial")
    sheet.allow(said, "round", "travel", "turned", "set", "dial", "base_sd")
    return AlignmentReadings(
        **_common(sheet, "cross slide", ["the cross slide"] * sheet.row.size),
        turned=_turned(sheet),
        set_up=_sets(sheet),
        x_mm=lengths(sheet, "travel"),
        dial_um=sheet.numbers(
            "dial",
            f"a number {_EITHER_WAY}, + where the blade is nearer the headstock than the path of the slide",
            -LARGEST_UM,
            LARGEST_UM,
        ),
        base_sd_urad=_angle(sheet, "base_sd", 0.0),
        last_digit=sheet.last_digit("dial"),
    )


def one_square_of(sheet: Sheet) -> AlignmentReadings:
    """Check readings that prove one square."""
    said = "one square"
    sheet.need(said, "by", "height")
    sheet.allow(said, "round", "by", "height", "turned", "set", *GAPS, "apart", "dial", "taper", "taper_sd", "base_sd")
    by = np.array([cell.lower() for cell in sheet.words("by")], dtype="<U24")
    for i in np.flatnonzero(~np.isin(by, BYS))[:1]:
        sheet.refuse(i, "by", "line, strip, dial or roller")
    gapped = np.isin(by, ("strip", "roller"))
    apart = _figures(sheet, "apart", by == "line", f"a number {_EITHER_WAY}: how far apart the two lines are")
    dial = _figures(sheet, "dial", by == "dial", f"a number {_EITHER_WAY}, + where the blade is farther away")
    for name, told in (("apart", by == "line"), ("dial", by == "dial")):
        for i in np.flatnonzero(~told & np.isfinite(apart if name == "apart" else dial))[:1]:
            sheet.refuse(i, name, f"empty: it has no meaning for {by[i]}")
    blank = np.full(sheet.row.size, np.nan)
    if sheet.has(*GAPS):
        gap, low, high = gaps(sheet, ~gapped, "by")
    elif gapped.any():
        sheet.need(said, "gap")
    if not sheet.has(*GAPS):
        gap, low, high = blank, blank, blank
    turned, degrees = _turns(sheet, by)
    return AlignmentReadings(
        **_common(sheet, "one square", ["the square"] * sheet.row.size),
        turned=turned,
        turn_deg=degrees,
        set_up=_sets(sheet),
        how=by,
        x_mm=lengths(sheet, "height", 0.0),
        gap_um=gap,
        low_um=low,
        high_um=high,
        dial_um=np.where(by == "line", apart, dial),
        taper_um=_one_of_each(sheet, "taper", by, "gauge"),
        taper_sd_um=_one_of_each(sheet, "taper_sd", by, "gauge", -1e-12),
        base_sd_urad=_angle(sheet, "base_sd", 0.0),
        last_digit=next((sheet.last_digit(one) for one in ("dial", "apart", "gap") if sheet.has(one)), 1.0),
    )


def thickness_of(sheet: Sheet) -> AlignmentReadings:
    """Check micrometer readings from face to face, and what a square shows on corners."""
    said = "the thickness of a piece"
    sheet.need(said, *(() if sheet.has("gap", "gap_at_most", "gap_at_least") else ("thickness",)), "x", "y")
    sheet.allow(said, "round", "face", "against", "x", "y", *GAPS, "thickness", "square", "square_sd")
    face, against = (sheet.words(one) if sheet.has(one) else None for one in ("face", "against"))
    if face is None or against is None:
        if face is not None or against is not None or sheet.has(*GAPS):
            sheet.need(said, "face", "against")
        face, against = ["top"] * sheet.row.size, ["bottom"] * sheet.row.size
    for i, (one, other) in enumerate(zip(face, against, strict=True)):
        if one == other:
            sheet.refuse(i, "against", "another face", f"face {one} would be read against itself")
    blank = np.full(sheet.row.size, np.nan)
    thick = (
        sheet.numbers("thickness", f"a number above 0, up to {LARGEST_UM / 1000:g} mm", 0.0, LARGEST_UM, blank=True)
        if sheet.has("thickness")
        else blank
    )
    for i in np.flatnonzero(thick == 0)[:1]:
        sheet.refuse(i, "thickness", f"a number above 0, up to {LARGEST_UM / 1000:g} mm")
    by_micrometer = np.isfinite(thick)
    if sheet.has(*GAPS):
        gap, low, high = gaps(sheet, by_micrometer, "thickness")
    else:
        gap, low, high = blank, blank, blank
        for i in np.flatnonzero(~by_micrometer)[:1]:
            sheet.refuse(i, "thickness", f"a number above 0, up to {LARGEST_UM / 1000:g} mm")
    square = _angle(sheet, "square")
    sd = _angle(sheet, "square_sd", 0.0)
    for i in np.flatnonzero(np.isfinite(square) & ~np.isfinite(sd))[:1]:
        sheet.need(said, "square_sd")
        sheet.refuse(i, "square_sd", "given as well as the error of the square, which means nothing without it")
    return AlignmentReadings(
        **_common(sheet, "thickness", [f"{a}-{b}" for a, b in zip(face, against, strict=True)]),
        face=np.array(face, dtype="<U24"),
        against=np.array(against, dtype="<U24"),
        how=np.where(by_micrometer, "micrometer", "square"),
        x_mm=lengths(sheet, "x"),
        y_mm=lengths(sheet, "y"),
        thickness_um=thick,
        gap_um=gap,
        low_um=low,
        high_um=high,
        square_urad=square,
        square_sd_urad=sd,
        last_digit=sheet.last_digit("thickness") if by_micrometer.any() else sheet.last_digit("gap"),
    )


def _common(sheet: Sheet, kind: str, line) -> dict[str, Any]:
    return dict(
        source=sheet.file,
        kind=kind,
        row=sheet.row,
        names=tuple(dict.fromkeys(line)),
        round=round_of(sheet),
        line=tuple(line),
    )


def _turned(sheet: Sheet) -> np.ndarray:
    return turned_of(sheet, _SIDES, "yes or no (empty is no)").astype(bool)


def _sets(sheet: Sheet) -> np.ndarray:
    """Give names of set-ups, empty where none is said."""
    if not sheet.has("set"):
        return np.full(sheet.row.size, "", dtype="<U24")
    cells = [" ".join(cell.split()) for cell in sheet.cells("set")]
    for i, cell in enumerate(cells):
        if len(cell) > 24 or (cell and not cell.isprintable()):
            sheet.refuse(i, "set", "a short name of up to 24 characters")
    return np.array(cells, dtype="<U24")


def _planes(sheet: Sheet) -> np.ndarray:
    if not sheet.has("plane"):
        return np.full(sheet.row.size, "upright", dtype="<U24")
    number = sheet.one_of(
        "plane", _PLANES, "upright or empty (vertical plane), level (horizontal plane) or foot (place of a foot)"
    )
    return np.array(["upright", "level", FOOT], dtype="<U24")[number]


def _turns(sheet: Sheet, by: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Which way the square lies, and for a roller which of its marks faces away from the square."""
    turned, degrees = np.zeros(sheet.row.size, bool), np.full(sheet.row.size, np.nan)
    if not sheet.has("turned"):
        if (by != "line").any():
            sheet.need("one square", "turned")
        return turned, degrees
    for i, cell in enumerate(sheet.cells("turned")):
        if by[i] == "roller":
            degrees[i] = _degrees(sheet, i, cell)
        elif cell.lower() not in _SIDES or (by[i] == "line" and _SIDES[cell.lower()]):
            sheet.refuse(
                i, "turned", "empty for line, which has both positions in it" if by[i] == "line" else "yes or no"
            )
        else:
            turned[i] = bool(_SIDES[cell.lower()])
    return turned, degrees


def _degrees(sheet: Sheet, i: int, cell: str) -> float:
    if not cell.isdecimal() or not cell.isascii() or len(cell) > 3 or int(cell) > 360:
        sheet.refuse(i, "turned", "a whole number of degrees from 0 to 360: which mark of the roller faces away")
    return float(int(cell) % 360)


def _figures(sheet: Sheet, name: str, needed: np.ndarray, allowed: str) -> np.ndarray:
    """Give a column of signed figures, which the rows that need one have."""
    if not sheet.has(name):
        if needed.any():
            sheet.need("such a file", name)
        return np.full(sheet.row.size, np.nan)
    found = sheet.numbers(name, allowed, -LARGEST_UM, LARGEST_UM, blank=True)
    for i in np.flatnonzero(needed & np.isnan(found))[:1]:
        sheet.refuse(i, name, allowed)
    return found


def _one_of_each(sheet: Sheet, name: str, of: np.ndarray, what: str, above: float | None = None) -> np.ndarray:
    """Give a figure that belongs to an axis or a gauge as a whole: once is enough, twice must be the same."""
    full = np.full(sheet.row.size, np.nan)
    if not sheet.has(name):
        return full
    allowed = "a number" if above is None else "a number above 0" if above == 0 else "a number, 0 or more"
    least, most = -_LARGEST_MM if above is None else 0.0, _LARGEST_MM if above is None or above == 0 else LARGEST_UM
    given = sheet.numbers(name, allowed, least, most, blank=True)
    for i in np.flatnonzero(given <= above)[:1] if above is not None else ():
        sheet.refuse(i, name, allowed)
    for one in np.unique(of):
        mine = np.flatnonzero((of == one) & np.isfinite(given))
        if not mine.size:
            continue
        for i in mine[given[mine] != given[mine[0]]][:1]:
            sheet.refuse(i, name, f"{given[mine[0]]:g} as in row {sheet.row[mine[0]]}, because it is the same {what}")
        full[of == one] = given[mine[0]]
    return full


def _angle(sheet: Sheet, name: str, least: float = -_LARGEST_ARCSEC) -> np.ndarray:
    """Give an angle in urad that the whole file shares; nan where it says none."""
    if not sheet.has(name):
        return np.full(sheet.row.size, np.nan)
    given = sheet.numbers(name, "an angle, such as 20 in a column of um_m", least, _LARGEST_ARCSEC, blank=True)
    there = np.flatnonzero(np.isfinite(given))
    for i in there[given[there] != given[there[0]]][:1] if there.size else ():
        sheet.refuse(i, name, f"as in row {sheet.row[there[0]]}, because a file has only one")
    return np.full(sheet.row.size, given[there[0]] / ARCSEC_OF_URAD if there.size else np.nan)
