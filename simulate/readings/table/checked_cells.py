"""Cells that several kinds of readings share, checked: rounds, lengths, turns, gaps and intervals."""

from __future__ import annotations

import numpy as np

from simulate.readings.table.columns import Sheet

LARGEST_MM, LARGEST_UM = 100_000.0, 1_000_000.0
GAPS = ("gap", "gap_at_least", "gap_at_most")
YES_NO = {"yes": 1, "no": 0, "true": 1, "false": 0, "1": 1, "0": 0}
_PRINTED = {"yes": 1, "x": 1, "true": 1, "1": 1, "no": 0, ".": 0, "false": 0, "0": 0, "": -1}


def round_of(sheet: Sheet) -> np.ndarray:
    """Give the round of each row, 1 where the file has none."""
    return sheet.whole("round", 0, 9999) if sheet.has("round") else np.ones(sheet.row.size, dtype=int)


def turned_of(sheet: Sheet, table: dict[str, int], allowed: str) -> np.ndarray:
    """Give how each row lay, not turned where the file does not say."""
    return sheet.one_of("turned", table, allowed) if sheet.has("turned") else np.zeros(sheet.row.size, dtype=int)


def lengths(sheet: Sheet, name: str, low: float = -LARGEST_MM) -> np.ndarray:
    """Give a column of places in mm."""
    return sheet.numbers(
        name,
        f"a number of millimetres or inches, {'0' if low == 0 else f'{low / 1000:g} m'} to {LARGEST_MM / 1000:g} m",
        low,
        LARGEST_MM,
    )


def gaps(
    sheet: Sheet, other: np.ndarray | None = None, beside: str = "printed"
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Gaps and intervals; a place that printed is open by at most the film, one that did not by at least that.

    `other`: rows that have another reading, in the column `beside`, and no gap.
    """
    allowed = f"a number from 0 to {LARGEST_UM / 1000:g} mm, because a gap cannot be below 0"
    if not sheet.has("printed"):
        return points_or_intervals(sheet, GAPS, "a gap", allowed, 0.0, 0.0, other, beside)
    printed = sheet.one_of("printed", _PRINTED, "yes or no, x or ., and empty where a gap was read")
    blank = np.full(sheet.row.size, np.nan)
    film = sheet.numbers("film", allowed, 0.0, LARGEST_UM, blank=True) if sheet.has("film") else blank
    film = np.where(np.isnan(film), sheet.said.film_um or np.nan, film)
    for i in np.flatnonzero((printed >= 0) & ~(film > 0))[:1]:
        sheet.refuse(
            i,
            "film" if sheet.has("film") else "printed",
            "a figure above 0 in a column film_um, or a line '# film: 3 um' above the header",
            "no figure says how thick the film of this print was",
        )
    gap, low, high = (
        points_or_intervals(sheet, GAPS, "a gap", allowed, 0.0, 0.0, printed >= 0)
        if sheet.has(*GAPS)
        else (blank, blank, blank)
    )
    if not sheet.has(*GAPS):
        for i in np.flatnonzero(printed < 0)[:1]:
            sheet.refuse(i, "printed", "yes or no, x or .")
    return (
        gap,
        np.where(printed == 1, 0.0, np.where(printed == 0, film, low)),
        np.where(printed == 1, film, np.where(printed == 0, np.inf, high)),
    )


def points_or_intervals(
    sheet: Sheet,
    names: tuple[str, str, str],
    noun: str,
    allowed: str,
    least: float,
    missing: float,
    other: np.ndarray | None = None,
    beside: str = "printed",
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return the point of each row, or nan, and the ends of its interval; `missing` stands for a lower end not given.

    Rows that have another reading, in the column `beside`, have none of these.
    """
    point_name, low_name, high_name = names
    columns = {}
    for name in names:
        blank = name != point_name or sheet.has(low_name, high_name) or other is not None
        columns[name] = (
            sheet.numbers(name, allowed, least, LARGEST_UM, blank)
            if sheet.has(name)
            else np.full(sheet.row.size, np.nan)
        )
    point, low, high = (columns[name] for name in names)
    interval = ~np.isnan(low) | ~np.isnan(high)
    plain = noun.removeprefix("a ")
    other = np.zeros(sheet.row.size, bool) if other is None else other
    for i in np.flatnonzero(other & (interval | ~np.isnan(point)))[:1]:
        sheet.refuse(
            i,
            beside if sheet.has(beside) else point_name,
            f"an empty cell, or a row without {plain} and interval",
            f"a gap is given beside the {'print' if beside == 'printed' else 'other reading'}",
        )
    for i in np.flatnonzero(~other & ~interval & np.isnan(point))[:1]:
        sheet.refuse(
            i,
            point_name if sheet.has(point_name) else high_name if sheet.has(high_name) else low_name,
            f"{noun}, or an interval with {low_name}, {high_name} or both",
            f"the row gives no {plain} at all",
        )
    for i in np.flatnonzero(interval & ~np.isnan(point))[:1]:
        sheet.refuse(
            i,
            point_name,
            f"either {noun} or an interval, with the other left empty",
            f"{sheet.cells(point_name)[i]!r} is given beside an interval",
        )
    for i in np.flatnonzero(low > high)[:1]:
        sheet.refuse(
            i,
            high_name,
            "an upper end no smaller than the lower end",
            f"the interval runs backwards, from {low[i]:g} to {high[i]:g} um",
        )
    low = np.where(interval, np.where(np.isnan(low), missing, low), point)
    high = np.where(interval, np.where(np.isnan(high), np.inf, high), point)
    alike = interval & (low == high)  # "0 to 0" is a figure like any: it stands for half a digit either side
    half = min(sheet.last_digit(name) for name in (low_name, high_name) if sheet.has(name)) / 2 if alike.any() else 0.0
    return point, np.where(alike, np.maximum(low - half, least), low), np.where(alike, high + half, high)
