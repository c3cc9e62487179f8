"""A flag or an angle ``turned`` that was written wrongly: try each fit the other way, and all bars at once."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy

from simulate.readings.adjustment.repeatability import ASSUMED_SD
from simulate.readings.bars.bar_network import build, design, seats, span
from simulate.readings.plates.plate_equations import plate_design, stations_read
from simulate.readings.plates.plate_stations import stations_of
from simulate.readings.table.readings import Readings, ReadingsError
from simulate.readings.table.slip_record import Slip

CLEAR = 2.0
"""The scatter has to fall by this factor before a flag is doubted."""
CHANCE = 0.02
"""And by more than comes by chance this often, however many flips were tried."""
ALIKE = 1.5
"""Flips that leave no more than this many times the variance of the best one explain the readings as well."""
_MOST_ROWS = {"bars": 600, "plates": 300}


@dataclass(frozen=True, kw_only=True)
class _Fit:
    """What a table leaves unexplained: sum of squared weighted residuals, and how many readings are to spare."""

    square: float
    dof: int

    @property
    def variance(self) -> float:
        return self.square / self.dof


def turned_slips(table: Readings, reading_sd_um: float | None = None) -> list[Slip]:
    """Suspect turns of bars and plates that the other readings contradict.

    `table`: of bars or plates; its last round counts. Returns: at most one. What it cannot see: a wrong flag where no
    reading is to spare, or on bars that are alike end for end.

    The ratio of two mean squares is held against Fisher's F, the chance being shared among the flips that were tried
    (C. Bonferroni; from memory). Where the spread is known, the readings as they stand must also be improbable.
    """
    used = table.rows(table.round == table.round.max())
    used = used.rows(np.isfinite(used.high_um))
    if not 0 < len(used) <= _MOST_ROWS[table.kind]:
        return []
    sd = _weights(used, reading_sd_um)
    now = _solved(table, used, sd, settled=False)
    if now is None:
        return []
    units = _units(used)
    tried = [
        (which, way, _solved(table, replace(used, turned=np.where(np.isin(units, which), turned, used.turned)), sd))
        for which, way, turned in _other_ways(used, units)
    ]
    known = reading_sd_um is not None or bool(used.is_interval.all())
    better = sorted(
        (
            (fit.variance, which, way)
            for which, way, fit in tried
            if fit is not None and _clear(now, fit, len(tried), known)
        ),
        key=lambda one: (one[0], len(one[1])),
    )
    if not better:
        return []
    slips = [
        _slip(used, units, which, way, min(float(np.sqrt(now.variance / variance)), 1000.0))
        for variance, which, way in better
        if variance <= ALIKE * better[0][0]
    ]
    return [
        replace(
            slips[0],
            others=tuple(f"{one.what} {one.way}" if one.what else "all of them the other way" for one in slips[1:3]),
        )
    ]


def _other_ways(used: Readings, units: np.ndarray) -> list[tuple[tuple[int, ...], str, np.ndarray]]:
    """Which units, what the other way is called, and what would stand in the column; of bars all at once as well."""
    each = range(int(units.max()) + 1)
    if used.kind == "bars":
        sets = [(k,) for k in each] + ([tuple(each)] if len(each) > 1 else [])
        return [
            (which, "not turned" if used.turned[np.isin(units, which)][0] else "turned", ~used.turned.astype(bool))
            for which in sets
        ]
    return [
        ((k,), f"turned {angle} degrees", np.full(len(used), angle))
        for k in each
        for angle in (0, 90, 180, 270)
        if angle != used.turned[units == k][0]
    ]


def _slip(used: Readings, units: np.ndarray, which: tuple[int, ...], way: str, factor: float) -> Slip:
    if len(which) > 1:
        return Slip(kind="all turned", rows=tuple(int(row) for row in used.row), figure=factor)
    mine = np.isin(units, which)
    first = int(np.flatnonzero(mine)[0])
    return Slip(
        kind="turned",
        rows=tuple(int(row) for row in used.row[mine]),
        figure=factor,
        what=f"{used.names[used.upper[first]]} on {used.names[used.lower[first]]}",
        way=way,
    )


def _clear(now: _Fit, then: _Fit, tried: int, known: bool) -> bool:
    """Whether the flip makes readings agree that do not agree as they stand."""
    if now.variance < CLEAR**2 * then.variance or now.square < 1e-9:
        return False
    chance = float(scipy.stats.f.sf(now.variance / max(then.variance, 1e-300), now.dof, then.dof)) * tried
    return chance < CHANCE and (not known or float(scipy.stats.chi2.sf(now.square, now.dof)) < CHANCE)


def _weights(used: Readings, sd: float | None) -> np.ndarray:
    """The deviation of each reading: its own where it is an interval, as a uniform one has it (width / sqrt(12))."""
    point = ASSUMED_SD if sd is None else sd
    width = used.high_um - used.low_um
    return np.where(width > 0, np.hypot(width / np.sqrt(12), sd or 0.0), point)


def _units(used: Readings) -> np.ndarray:
    """Number what may have been flagged wrongly as one: a fit as it was read through once."""
    plates = used.kind == "plates"
    slid = [np.round(used.slide_x_mm, 3), np.round(used.slide_y_mm, 3)] if plates else []
    keys = np.stack([used.lower, used.upper, used.turned, *slid], axis=1)
    _, fit = np.unique(keys, axis=0, return_inverse=True)
    again = np.zeros(len(used), int)
    seen: dict[tuple[int, ...], int] = {}
    places = [used.position_mm.tolist(), *([used.y_mm.tolist()] if plates else [])]
    for k, key in enumerate(zip(fit.reshape(-1).tolist(), *places)):
        again[k] = seen[key] = seen.get(key, -1) + 1
    _, unit = np.unique(np.stack([fit.reshape(-1), again], axis=1), axis=0, return_inverse=True)
    return unit.reshape(-1)


def _solved(table: Readings, used: Readings, sd: np.ndarray, settled: bool = True) -> _Fit | None:
    """Least squares with every fit's own seat; None where nothing is to spare, or the bodies are not settled and have
    to be."""
    if used.kind == "plates":
        return _plates_solved(used, sd, settled)
    try:
        network = build(table, used)
    except ReadingsError:
        return None
    middle = (used.low_um + used.high_um) / 2
    lines = span(seats(network) / sd[:, None])
    matrix, right = design(network) / sd[:, None], middle / sd
    matrix, right = matrix - lines @ (lines.T @ matrix), right - lines @ (lines.T @ right)
    reach = span(matrix)
    left = right - reach @ (reach.T @ right)
    dof = right.size - lines.shape[1] - reach.shape[1]
    return (
        None
        if dof < 2 or (settled and reach.shape[1] < matrix.shape[1])
        else _Fit(square=float(left @ left) + 1e-12, dof=dof)
    )


def _plates_solved(used: Readings, sd: np.ndarray, settled: bool) -> _Fit | None:
    """The same of plates; each plate's own plane is never settled."""
    bodies = len(used.names)
    stations = stations_of(used)
    weighted = plate_design(used, stations, stations_read(used, stations, bodies)) / sd[:, None]
    right = (used.low_um + used.high_um) / 2 / sd
    reach = span(weighted)
    left = right - reach @ (reach.T @ right)
    dof = right.size - reach.shape[1]
    hidden = weighted.shape[1] - reach.shape[1] - 3 * bodies
    return None if dof < 2 or (settled and hidden > 0) else _Fit(square=float(left @ left) + 1e-12, dof=dof)
