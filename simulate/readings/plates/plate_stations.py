"""Where the stations of one plate meet the stations of another."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.table.readings import Readings

SAME_MM = 0.02
"""Positions nearer than this count as one."""
QUARTERS = ((1, 0), (0, 1), (-1, 0), (0, -1))
"""Cosine and sine of 0, 90, 180 and 270 degrees."""


@dataclass(frozen=True)
class Stations:
    """The stations of all plates, and which of them meet in each reading.

    `x_mm`, `y_mm` (points,): measured from the centre. `centre_mm`: the centre in the positions of the table. `lower`,
    `upper` (readings,) of int: which station of the lower and of the upper plate meet.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    centre_mm: tuple[float, float]
    lower: np.ndarray
    upper: np.ndarray


def upper_point(
    x_mm: np.ndarray,
    y_mm: np.ndarray,
    turned: np.ndarray,
    slide_x_mm: np.ndarray | float = 0.0,
    slide_y_mm: np.ndarray | float = 0.0,
) -> tuple[np.ndarray, np.ndarray]:
    """Find the point of the upper plate that lies over a point of the lower.

    The upper plate was turned over about its y axis, then turned counterclockwise seen from above, then slid;
    undone in the other order.

    `x_mm`, `y_mm`: on the lower plate, from the centre. `turned`: 0, 90, 180 or 270 degrees. Returns `x_mm`, `y_mm`: on
    the upper plate's own face, from its centre.

    >>> [float(v) for v in upper_point(np.array(10.0), np.array(3.0), np.array(0))]
    [-10.0, 3.0]
    >>> [float(v) for v in upper_point(np.array(10.0), np.array(3.0), np.array(90))]
    [-3.0, -10.0]
    """
    quarter = np.array(QUARTERS)[np.asarray(turned) // 90]
    cosine, sine = quarter[..., 0], quarter[..., 1]
    x, y = x_mm - slide_x_mm, y_mm - slide_y_mm
    return -(cosine * x + sine * y) + 0.0, -sine * x + cosine * y + 0.0


def stations_of(table: Readings, centre_mm: tuple[float, float] | None = None) -> Stations:
    """Collect the stations of a table of plate readings.

    `table`: of plates. `centre_mm`: where the turning centre lies; the middle of the extent of the positions if not
    given.

    >>> from simulate.readings.table.read import read_readings
    >>> met = stations_of(read_readings(b"lower,upper,x_mm,y_mm,gap_um\\nA,B,0,0,1\\nA,B,40,0,1\\n"))
    >>> met.lower.tolist(), met.upper.tolist()
    ([0, 1], [1, 0])
    """
    x, y = table.position_mm, table.y_mm
    if centre_mm is None:
        centre_mm = (float(x.min() + x.max()) / 2, float(y.min() + y.max()) / 2)
    x, y = x - centre_mm[0], y - centre_mm[1]
    over = upper_point(x, y, table.turned, table.slide_x_mm, table.slide_y_mm)
    every = _merged(np.concatenate([x, y, *over])).reshape(4, -1)
    places = np.concatenate([every[1::-1].T, every[:1:-1].T])  # (y, x), so that stations are sorted row by row
    stations, which = np.unique(places, axis=0, return_inverse=True)
    which = which.reshape(2, -1)
    return Stations(stations[:, 1], stations[:, 0], centre_mm, which[0], which[1])


def meetings(stations: Stations, turned: int, slide_mm: tuple[float, float] = (0.0, 0.0)) -> np.ndarray:
    """Pair the stations of a lower plate with those of an upper one in a placement nobody has read yet.

    Returns (k, 2) of int: only stations that meet a station.

    >>> meetings(Stations(np.array([-1.0, 1.0]), np.zeros(2), (0, 0), None, None), 0).tolist()
    [[0, 1], [1, 0]]
    """
    x, y = upper_point(stations.x_mm, stations.y_mm, np.full(stations.x_mm.size, turned), *slide_mm)
    away = np.maximum(np.abs(x[:, None] - stations.x_mm), np.abs(y[:, None] - stations.y_mm))
    return np.argwhere(away < 2 * SAME_MM)


def _merged(values: np.ndarray) -> np.ndarray:
    """Give positions that differ by less than `SAME_MM` one value, the same on both sides of the centre."""
    size = np.abs(values)
    order = np.argsort(size)
    group = np.concatenate([[0], np.cumsum(np.diff(size[order]) > SAME_MM)])
    mean = np.bincount(group, size[order]) / np.bincount(group)
    if mean[0] < SAME_MM:
        mean[0] = 0.0
    found = np.empty_like(size)
    found[order] = mean[group]
    return np.where(values < 0, -found, found) + 0.0
