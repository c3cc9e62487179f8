"""Gaps between plates as equations: what each height and each seat does to each reading."""

from __future__ import annotations

import numpy as np

from simulate.readings.adjustment.observations import seats_of
from simulate.readings.plates.plate_stations import Stations
from simulate.readings.table.readings import Readings
from simulate.readings.table.size_limit import refuse_too_many


def stations_read(table: Readings, stations: Stations, bodies: int) -> np.ndarray:
    """Say which station of which plate takes part in a gap.

    Returns (bodies, points) of bool.
    """
    read = np.zeros((bodies, stations.x_mm.size), bool)
    read[table.lower, stations.lower] = True
    read[table.upper, stations.upper] = True
    return read


def plane_of(stations: Stations) -> np.ndarray:
    """Return what a plane does at each station, scaled to about 1.

    Returns (points, 3).
    """
    reach = max(float(np.abs([stations.x_mm, stations.y_mm]).max()), 1e-9)
    return np.stack([np.ones(stations.x_mm.size), stations.x_mm / reach, stations.y_mm / reach], axis=-1)


def fits_of(table: Readings) -> tuple[np.ndarray, np.ndarray]:
    """Number the fits: rows with one pair and one placement lie in one, as ``seats_of`` gives it."""
    return seats_of(table, table.turned, np.round(table.slide_x_mm, 3), np.round(table.slide_y_mm, 3))


def plate_unknowns(table: Readings, read: np.ndarray) -> int:
    """Count heights that were read, and three for each fit's plane."""
    return int(read.sum()) + 3 * fits_of(table)[1].size


def plate_design(table: Readings, stations: Stations, read: np.ndarray) -> np.ndarray:
    """Return what each height that was read, and each fit's plane, does to each gap.

    `read` (bodies, points) of bool. Returns (readings, heights + 3 * fits).
    """
    slot = np.full(read.shape, -1)
    slot[read] = np.arange(read.sum())
    fit, first = fits_of(table)
    unknowns = plate_unknowns(table, read)
    refuse_too_many(table, unknowns, f"{len(read)} plates at {read.shape[1]} stations in {first.size} fits")
    design = np.zeros((len(table), unknowns))
    each = np.arange(len(table))
    below, above = slot[table.lower, stations.lower], slot[table.upper, stations.upper]
    design[each[below >= 0], below[below >= 0]] -= 1.0
    design[each[above >= 0], above[above >= 0]] -= 1.0
    plane = plane_of(stations)[stations.lower]
    for k in range(3):
        design[each, int(read.sum()) + 3 * fit + k] = plane[:, k]
    return design


def plate_datum(stations: Stations, read: np.ndarray, unknowns: int) -> np.ndarray:
    """Take each plate's own least-squares plane out of its heights.

    `read` (bodies, points) of bool. Returns (heights, unknowns).
    """
    datum, start, plane = np.zeros((int(read.sum()), unknowns)), 0, plane_of(stations)
    for seen in read:
        part = slice(start, start + int(seen.sum()))
        mine = plane[seen]
        datum[part, part] = np.eye(int(seen.sum())) - mine @ np.linalg.pinv(mine)
        start = part.stop
    return datum
