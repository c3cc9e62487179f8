"""A test bar read by dial in headstock, tailstock or both, turned half round, as straight axes with zeros and a bar."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal, listed
from simulate.method.machine.headstock import bar_sag_um
from simulate.readings.alignment.straight import SAME_MM, Reading, Straight, ends_of, straight_network
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.places import places_along
from simulate.readings.table.alignment_kinds import FOOT
from simulate.readings.table.readings import PLANE_WORDS, AlignmentReadings

UPRIGHT, LEVEL = "upright", "level"
SAG_SD = 0.1
"""A bar in its taper hangs by what a rigid hold and a middle value of steel make of it, give or take this part (one
standard deviation; a stated choice)."""


@dataclass(frozen=True, kw_only=True)
class AxisRows:
    """Readings of a test bar, put against the axes that it turned about.

    `axes`: each axis in each plane, by the name `key` gives. `order`: axes from the headstock on. `datum_mm`: where
    each holds its bar, or where it was read nearest to that. `away`: 1 where the bar of an axis points along x, and -1
    where it points back. `bars`: of each axis; None where the sag of its bar is not known. `feet`: of each axis whose
    feet are said. `one_way`: axes in a plane, as `key` names them, and places in mm at which the bar was read one way
    round only.
    """

    network: Network
    axes: Straight
    order: tuple[str, ...]
    datum_mm: dict[str, float]
    away: dict[str, float]
    bars: dict[str, tuple[float, float, float] | None]
    feet: dict[str, tuple[float, float]]
    readings: tuple[Reading, ...]
    one_way: tuple[tuple[str, float], ...]

    def has(self, axis: str, plane: str) -> bool:
        """Say whether an axis was read in a plane."""
        return key(axis, plane) in self.axes.names


def key(axis: str, plane: str) -> str:
    """Name an axis in one plane."""
    return f"{axis}, {PLANE_WORDS[plane]} plane"


def axis_rows(table: AlignmentReadings, reading_sd_um: float | None = None) -> AxisRows:
    """Put readings of a test bar against the axes that it turned about.

    `table`: one round. `reading_sd_um`: of one dial reading; found from what the readings leave over without it.
    """
    read = np.flatnonzero(table.plane != FOOT)
    axis = np.array(table.line)
    order = _order(table, axis, read)
    bars = {one: _bar(table, np.flatnonzero(axis == one), one) for one in order}
    names, ends, places = [], [], {}
    for one in order:
        for plane in (UPRIGHT, LEVEL):
            mine = read[(axis[read] == one) & (table.plane[read] == plane)]
            if mine.size:
                names.append(key(one, plane))
                ends.append(ends_of(table.x_mm[mine]))
                places[names[-1]] = places_along(table.x_mm[mine], SAME_MM)
    axes = Straight(names=tuple(names), ends_mm=tuple(ends))
    known: set[str] = set()
    readings = tuple(_reading(table, axes, int(i), axis[i], places, bars[axis[i]], known) for i in read)
    planes = [[key(one, plane) for one in order if key(one, plane) in names] for plane in (UPRIGHT, LEVEL)]
    dial = np.where(table.plane == FOOT, np.nan, table.dial_um)
    datum = {one: _datum(table, read[axis[read] == one], k) for k, one in enumerate(order)}
    return AxisRows(
        network=straight_network(
            table,
            axes,
            readings,
            (instrument_of("the dial", "um", dial, reading_sd_um, table.last_digit),),
            [axes.on(*own) for own in planes if own],
            known,
        ),
        axes=axes,
        order=order,
        datum_mm=datum,
        away={one: 1.0 if table.x_mm[read[axis[read] == one]].mean() >= datum[one] else -1.0 for one in order},
        bars=bars,
        feet=_feet(table, axis, order),
        readings=readings,
        one_way=_one_way(readings),
    )


def _order(table: AlignmentReadings, axis: np.ndarray, read: np.ndarray) -> tuple[str, ...]:
    if not read.size:
        raise Refusal("count", where=table.source, found="no reading of an axis", must_be="one or more")
    middle = {str(one): float(table.x_mm[read[axis[read] == one]].mean()) for one in dict.fromkeys(axis[read].tolist())}
    if len(middle) > 2:
        raise Refusal(
            "count",
            where=table.source,
            found=f"axes {', '.join(middle)}",
            must_be="one axis or two, those of a headstock and a tailstock",
            do="Give each machine a file of its own, and each axis one name",
        )
    return tuple(sorted(middle, key=lambda one: middle[one]))


def _bar(table: AlignmentReadings, rows: np.ndarray, axis: str) -> tuple[float, float, float] | None:
    diameter, length, held = (float(column[rows[0]]) for column in (table.diameter_mm, table.length_mm, table.held_mm))
    if not np.isfinite(diameter):
        return None
    if not np.isfinite(held):
        raise Refusal(
            "missing",
            where=f"{table.source}, axis {axis!r}",
            found="a bar with diameter_mm but no held_mm",
            must_be="held_mm as well, the place from which its sag is counted",
        )
    upright = rows[table.plane[rows] == UPRIGHT]
    for i in upright[np.abs(table.x_mm[upright] - held) > length][:1]:
        raise Refusal(
            "place",
            where=f"{table.source}, row {table.row[i]}",
            found=f"a reading {abs(table.x_mm[i] - held):g} mm from where the bar is held",
            must_be=f"on the bar, whose length_mm is {length:g}",
        )
    return diameter, length, held


def _datum(table: AlignmentReadings, rows: np.ndarray, number: int) -> float:
    held = table.held_mm[rows]
    if np.isfinite(held).all():
        return float(held[0])
    places = table.x_mm[rows]
    return float(places.max() if number else places.min())


def _feet(table: AlignmentReadings, axis: np.ndarray, order: tuple[str, ...]) -> dict[str, tuple[float, float]]:
    found: dict[str, tuple[float, float]] = {}
    for i in np.flatnonzero(table.plane == FOOT):
        if str(axis[i]) not in order:
            raise Refusal(
                "choice",
                where=f"{table.source}, row {table.row[i]}",
                found=f"a foot of {str(axis[i])!r}, an axis that was not read",
                must_be=f"a foot of {' or '.join(order)}",
            )
    for one in order:
        places = table.x_mm[(axis == one) & (table.plane == FOOT)]
        if places.size and (places.size != 2 or np.ptp(places) <= SAME_MM):
            raise Refusal(
                "count",
                where=f"{table.source}, axis {one!r}",
                found=f"feet at {listed([f'{x:g}' for x in places])} mm",
                must_be="feet at two different places of the bed",
            )
        if places.size:
            found[one] = (float(places.min()), float(places.max()))
    return found


def _reading(
    table: AlignmentReadings,
    axes: Straight,
    i: int,
    axis: str,
    places: dict[str, np.ndarray],
    bar: tuple[float, float, float] | None,
    known: set[str],
) -> Reading:
    plane, x = str(table.plane[i]), float(table.x_mm[i])
    name = key(axis, plane)
    there = places[name][places[name] <= x][-1]
    bar_at = f"the bar of {name} at {there:g} mm"
    zeros = {
        f"zero of the dial, {PLANE_WORDS[plane]} {table.set_up[i]}".rstrip(): 1.0,
        bar_at: -1.0 if table.turned[i] else 1.0,
    }
    sag = 0.0
    if bar is not None and plane == UPRIGHT:
        sag = float(bar_sag_um(abs(x - bar[2]), bar[0], bar[1]))
        zeros[f"sag of the bar of {axis}"] = SAG_SD * sag
        known.add(f"sag of the bar of {axis}")
    figure = float(table.dial_um[i]) - sag
    return Reading(
        row=int(table.row[i]),
        group=name,
        heights=axes.at(name, x),
        low=figure,
        high=figure,
        zeros=zeros,
        x_mm=x,
        turns=bar_at,
    )


def _one_way(readings: tuple[Reading, ...]) -> tuple[tuple[str, float], ...]:
    """Give the places where the bar was not read both ways round."""
    ways: dict[str, set[float]] = {}
    for one in readings:
        ways.setdefault(one.turns, set()).add(one.zeros[one.turns])
    return tuple(dict.fromkeys((one.group, one.x_mm) for one in readings if len(ways[one.turns]) < 2))
