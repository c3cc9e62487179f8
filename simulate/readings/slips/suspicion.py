"""Slips of the pen that only the figures betray: another unit, a flag that was forgotten, stations that are shifted."""

from __future__ import annotations

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.slips.turned_slip import turned_slips
from simulate.readings.table.readings import SLOPES, AlignmentReadings, Readings, ReadingsError
from simulate.readings.table.slip_record import Slip
from simulate.readings.table.units import ARCSEC_OF_URAD

SEEN_UM = 1.0
"""Light of some colour is last seen near 0.8 um: a file whose widest gap is no wider than this was hardly read in um,
and the thickest blade of a set is 1.0 mm (common practice, no source)."""
PROUD_UM = 0.1
"""No reading of a land by dial or blade is finer than this (common practice, no source)."""
BLADE_UM = 1000.0
"""The thickest blade of a set; an eye is tested by far less (common practice, no source)."""
WIDE_UM = 5000.0
"""Gaps of bodies that are worth fitting stay below this (common practice, no source)."""
THIN_UM = 400.0
"""A piece whose faces are worth scraping is thicker than this (common practice, no source)."""
STEEP_ARCSEC = 1000.0
"""Steps of one line that is worth scraping differ by less than this, 5 mm in a metre (common practice, no source)."""
_SAME_MM, _LEAST_STATIONS = 0.5, 3
_APART = (200.0, 20_000.0)
"""A pair in millimetres among micrometres looks a thousand times smaller, give or take its own size."""


def suspected(table: Readings, reading_sd_um: float | None = None) -> tuple[Slip, ...]:
    """Look for slips in the figures of a table; nothing is changed.

    `reading_sd_um`: standard deviation of one reading, where it is known. Returns: what it cannot see: a wrong unit
    that the whole file shares and that leaves gaps of a likely size, a flag that no spare reading contradicts, and
    stations shifted in all pairs alike.

    >>> from simulate.readings.table.read import read_readings
    >>> [slip.kind for slip in suspected(read_readings(b"lower,upper,height_mm,gap_um\\nA,B,0,0\\nA,B,100,0.05\\n"))]
    ['too small']
    """
    found = [*unit_slips(table), *shifted_pairs(table)]
    if table.kind in ("bars", "plates") and not any(slip.kind == "shifted" for slip in found):
        found += turned_slips(table, reading_sd_um)
    return tuple(found)


def unit_slips(table: Readings) -> list[Slip]:
    """Suspect millimetres among micrometres, in the whole file or in one pair, and the other way about."""
    if table.kind in SLOPES:
        return _slope_slips(table)
    if table.kind == "wedge":
        return _wedge_slips(table)
    aligned = _aligned_slips(table) if isinstance(table, AlignmentReadings) else []
    return aligned or _gap_slips(table)


def _gap_slips(table: Readings) -> list[Slip]:
    if table.kind not in ("bars", "plates", "squares", "lands", "edge", "one square"):
        return []
    lands = table.kind == "lands"
    ends = np.stack([table.low_um, table.high_um])
    size = np.where(np.isfinite(ends), np.abs(ends), 0.0).max(axis=0)
    some = size[size > 0]
    noun = "proud" if lands else "gap"
    if not some.size:
        return []
    if some.max() <= (PROUD_UM if lands else SEEN_UM):
        return [Slip(kind="too small", figure=float(some.max()), what=f"{noun}_mm, or {noun}_in")]
    if np.median(some) > WIDE_UM:
        return [Slip(kind="too large", figure=float(np.median(some)) / 1000, what=f"{noun}_um, or {noun}_thou")]
    return _small_pairs(table, size) if table.upper.size else []


def _slope_slips(table: Readings) -> list[Slip]:
    """Suspect micrometres a metre under a heading of millimetres a metre, by what the steps of a line differ by."""
    read = np.flatnonzero(np.isfinite(table.reading_arcsec))
    keys = [(table.round[i], table.line[i], table.turned[i] if table.turned.size else 0) for i in read]
    spans: dict[tuple, list[float]] = {}
    for key, i in zip(keys, read, strict=True):
        spans.setdefault(key, []).append(float(table.reading_arcsec[i]))
    differ = [max(one) - min(one) for one in spans.values() if len(one) > 1]
    if not differ or np.median(differ) <= STEEP_ARCSEC:
        return []
    steep = float(np.median(differ)) / (1000 * ARCSEC_OF_URAD)
    return [Slip(kind="too steep", figure=steep, what="reading_um_m, or reading_thou_ft")]


def _wedge_slips(table: Readings) -> list[Slip]:
    """Suspect another unit of the marks of a wedge: nobody tests an eye by millimetres, or by a tenth of a um."""
    gap = table.gap_um[table.gap_um > 0]
    if gap.size and np.median(gap) > BLADE_UM:
        return [Slip(kind="too large", figure=float(np.median(gap)) / 1000, what="gap_um, or gap_thou")]
    if gap.size and gap.max() <= PROUD_UM:
        return [Slip(kind="too small", figure=float(gap.max()), what="gap_mm, or gap_in")]
    return []


def _aligned_slips(table: AlignmentReadings) -> list[Slip]:
    """Suspect millimetres among micrometres on a dial, or in the thickness of a piece."""
    dial, thick = (np.abs(column[np.isfinite(column)]) for column in (table.dial_um, table.thickness_um))
    if dial.size > 1 and 0 < dial.max() <= SEEN_UM:
        return [
            Slip(kind="dial too small", figure=float(dial.max()), what="dial_mm or apart_mm, or dial_in or apart_in")
        ]
    if thick.size and np.median(thick) < THIN_UM:
        return [Slip(kind="too thin", figure=float(np.median(thick)), what="thickness_mm, or thickness_in")]
    return []


def _small_pairs(table: Readings, size: np.ndarray) -> list[Slip]:
    keys, rows = _pairs(np.stack([table.round, table.lower, table.upper], axis=1))
    if len(keys) < 3:
        return []
    most = np.array([size[own].max() for own in rows])
    others = _medians_of_others(most)
    found = []
    for k in np.flatnonzero((most > 0) & (most <= SEEN_UM)):
        apart = others[k] / most[k]
        if _APART[0] <= apart < _APART[1]:
            _, lower, upper = keys[k]
            found.append(
                Slip(
                    kind="pair too small",
                    rows=tuple(int(row) for row in table.row[rows[k]]),
                    what=f"{table.names[upper]} on {table.names[lower]}",
                    figure=float(f"{apart:.1g}"),
                )
            )
    return found if len(found) < len(keys) / 2 else []


def _pairs(keys: np.ndarray) -> tuple[np.ndarray, list[np.ndarray]]:
    """Give what differs among the rows of `keys`, and which rows each of them is in."""
    different, number = np.unique(keys, axis=0, return_inverse=True)
    number = number.reshape(-1)
    order = np.argsort(number, kind="stable")
    return different, np.split(order, np.flatnonzero(np.diff(number[order])) + 1)


def _medians_of_others(values: np.ndarray) -> np.ndarray:
    """Give for each value the median of all the others, sorted once."""
    order = np.argsort(values)
    rank = np.empty(values.size, int)
    rank[order] = np.arange(values.size)
    below, above = (values.size - 2) // 2, (values.size - 1) // 2  # the middle two of what is left
    return (values[order[below + (below >= rank)]] + values[order[above + (above >= rank)]]) / 2


def shifted_pairs(table: Readings) -> list[Slip]:
    """Suspect pairs whose stations all lie off those of the others by one and the same length.

    Returns: none for lands, surveys and wedge tests, where places are those of the instrument.

    >>> from simulate.readings.table.read import read_readings
    >>> rows = [f"{pair},{x + 10 * (pair == 'B,C')},1" for pair in ("A,B", "A,C", "B,C") for x in (0, 50, 100)]
    >>> found = shifted_pairs(read_readings("\\n".join(["lower,upper,position_mm,gap_um", *rows]).encode()))
    >>> [(slip.what, slip.figure, slip.way) for slip in found]
    [('C on B', 10.0, 'beyond')]
    """
    if table.kind not in ("bars", "plates", "squares"):
        return []
    last = table.rows(table.round == table.round.max())
    keys, rows = _pairs(np.stack([last.lower, last.upper], axis=1))
    if len(keys) < 3:
        return []
    places = [np.unique(last.position_mm[own]) for own in rows]
    seen = np.array([_near(places[0], one) for one in places])
    found = []
    for k, (lower, upper) in enumerate(keys):
        if places[k].size < _LEAST_STATIONS:
            continue
        shift = _shift(places[k], places[0][seen.sum(axis=0) - seen[k] == len(keys) - 1] if k else _common(places[1:]))
        if shift:
            found.append(
                Slip(
                    kind="shifted",
                    rows=tuple(int(row) for row in last.row[rows[k]]),
                    figure=abs(shift),
                    what=f"{last.names[upper]} on {last.names[lower]}",
                    way="beyond" if shift > 0 else "before",
                )
            )
    return found if len(found) < len(keys) / 2 else []


def _near(wanted: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Which of the stations wanted are among these places, both from left to right."""
    at = np.searchsorted(places, wanted)
    beside = places[np.stack([np.maximum(at - 1, 0), np.minimum(at, places.size - 1)])]
    return np.abs(beside - wanted).min(axis=0) < _SAME_MM


def _common(places: list[np.ndarray]) -> np.ndarray:
    """The stations of the first pair that every other one has."""
    return places[0][np.all([_near(places[0], one) for one in places], axis=0)]


def _shift(mine: np.ndarray, common: np.ndarray) -> float:
    """How far these stations lie off the ones that the other pairs have in common; 0 where they do not."""
    if common.size != mine.size:
        return 0.0
    apart = mine - common
    return 0.0 if _near(mine, common).any() or np.ptp(apart) > _SAME_MM else float(round(np.median(apart), 3))


def slips_of(table: Readings, reading_sd_um: float | None = None) -> tuple[Slip, ...]:
    """Give every slip of a table: what the reader understood, and what is only suspected."""
    return (*table.slips, *suspected(table, reading_sd_um))


def with_suspicion(refusal: Refusal, slips: tuple[Slip, ...]) -> Refusal:
    """Add to a refusal what may be its cause.

    `slips`: of the table that was refused; those that are only suspected count. Returns: the same one where nothing is
    suspected.
    """
    why = " ".join(slip.sentence for slip in slips if slip.suspected)
    if not why or why in refusal.do:
        return refusal
    do = f"{refusal.do.rstrip('.')}. {why}" if refusal.do else why
    if isinstance(refusal, ReadingsError):
        return ReadingsError(
            refusal.file,
            refusal.found,
            refusal.must_be,
            refusal.row,
            refusal.column,
            refusal.value,
            code=refusal.code,
            do=do,
        )
    return Refusal(
        refusal.code,
        where=refusal.where,
        found=refusal.found,
        must_be=refusal.must_be,
        do=do,
    )
