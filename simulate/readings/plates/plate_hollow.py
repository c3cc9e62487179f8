"""Where plates are hollow whatever their shape, told by readings that may be open above."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three
from simulate.readings.adjustment.bounds import interval_bounds
from simulate.readings.plates.plate_stations import SAME_MM, Stations
from simulate.readings.table.readings import Readings

_LEAST_UM = 1e-3


@dataclass(frozen=True, kw_only=True)
class PlateHollow:
    """A station that lies below the line between two others of the same face, whatever the shape.

    Attributes
    ----------
    name : str
        The plate; empty for the mean of all plates.
    depth_um : float
        The least by which it lies below.
    at_mm : tuple of float
        The station, x and y.
    ends_mm : tuple of tuple of float
        The two ends of the line.
    """

    name: str
    depth_um: float
    at_mm: tuple[float, float]
    ends_mm: tuple[tuple[float, float], tuple[float, float]]

    @property
    def sentence(self) -> str:
        """The hollow in words, with where metal has to come off."""
        who, mean = (f"{self.name} is", "") if self.name else ("The plates are", " on average")
        at, one, two = (f"x {x:g}, y {y:g}" for x, y in (self.at_mm, *self.ends_mm))
        return (
            f"{who} certainly at least {three(self.depth_um)} um hollow at {at} mm{mean}, below the line from {one} "
            f"to {two} mm: take metal off at the two ends of that line."
        )


def hollow_plates(
    table: Readings, stations: Stations, read: np.ndarray, design: np.ndarray, names: tuple[str, ...]
) -> tuple[PlateHollow, ...]:
    """Find the deepest certain hollow of each plate, or of all plates on average where that is deeper.

    A station is held against the widest line that has it in its middle. Seats and planes of the fits drop out of that
    difference, so intervals bound it, from below also where they have no upper end.
    """
    middle, one, two = _straddled(stations)
    slot = np.full(read.shape, -1)
    slot[read] = np.arange(read.sum())
    wanted, who = [], []
    for body in (*range(len(names)), -1):
        mine = range(len(names)) if body < 0 else (body,)
        for k, ends in enumerate(zip(middle, one, two, strict=True)):
            places = [[slot[b, station] for station in ends] for b in mine]
            if min(map(min, places)) >= 0:
                row = np.zeros(design.shape[1])
                for here, left, right in places:
                    row[[left, right]] += 0.5 / len(places)
                    row[here] -= 1.0 / len(places)
                wanted.append(row)
                who.append((body, k))
    if not wanted:
        return ()
    told = table.is_interval
    low = interval_bounds(design[told], table.low_um[told], table.high_um[told], np.array(wanted)).low_um
    if low is None:
        return ()
    x, y = stations.x_mm + stations.centre_mm[0], stations.y_mm + stations.centre_mm[1]
    deepest: dict[int, PlateHollow] = {}
    for depth, (body, k) in sorted(zip(low, who, strict=True), key=lambda pair: -pair[0]):
        if depth > _LEAST_UM and body not in deepest:
            at, left, right = ((float(x[s]), float(y[s])) for s in (middle[k], one[k], two[k]))
            deepest[body] = PlateHollow(
                name=names[body] if body >= 0 else "", depth_um=float(depth), at_mm=at, ends_mm=(left, right)
            )
    mean = deepest.pop(-1, None)
    if mean is not None and mean.depth_um > max((one.depth_um for one in deepest.values()), default=0.0):
        return (mean,)
    return tuple(deepest[body] for body in sorted(deepest))


def _straddled(stations: Stations) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Stations that lie midway between two others, and the widest such two."""
    place = np.stack([stations.x_mm, stations.y_mm], axis=-1)
    found = []
    for k, here in enumerate(place):
        away = np.abs(place[:, None] + place[None, :] - 2 * here).max(axis=-1) < 2 * SAME_MM
        away[k, k] = False
        if away.any():
            pairs = np.argwhere(away)
            widest = int(np.argmax(np.linalg.norm(place[pairs[:, 0]] - place[pairs[:, 1]], axis=-1)))
            found.append((k, *sorted(pairs[widest].tolist())))
    middle, first, second = np.array(found, int).reshape(-1, 3).T
    return middle, first, second
