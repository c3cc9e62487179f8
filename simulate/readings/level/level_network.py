"""Slopes along lines as a network of heights: each step is a difference of two, each set-up has a zero of its own."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.places import flat_rigid, rough_places, scaled
from simulate.readings.survey.union_jack_lines import ARCSEC, distinct_places
from simulate.readings.table.line_kinds import same_place_mm
from simulate.readings.table.readings import LineReadings, Readings
from simulate.readings.table.size_limit import refuse_too_many

UNEVEN = 0.2
"""Steps of one line that differ by more than this part of the longest were not all taken on one foot."""


@dataclass(frozen=True, kw_only=True)
class LevelLines:
    """Slopes along lines, put against heights.

    `lines`: places of each line in order. `uneven`: lines with steps of different length. `step_mm`: the usual step.
    """

    network: Network
    lines: dict[str, np.ndarray]
    uneven: tuple[str, ...]
    step_mm: float


def as_level(table: Readings) -> LineReadings:
    """Take the eight lines of a union jack for any lines, each with a zero of its own.

    >>> from simulate.readings.table.demo import demo_path
    >>> from simulate.readings.table.read import read_readings
    >>> as_level(read_readings(demo_path("demo_survey.csv"))).kind
    'level'
    """
    if isinstance(table, LineReadings):
        return table
    own = {one.name: getattr(table, one.name) for one in fields(table)}
    return LineReadings(**own | {"kind": "level", "turned": np.zeros(len(table), bool), "set_up": np.array(table.line)})


def level_lines(table: LineReadings, reading_sd_arcsec: float | None = None) -> LevelLines:
    """Put slopes along lines against heights.

    `table`: one round. `reading_sd_arcsec`: of one reading; found from what the readings leave over without it.
    """
    line, station = np.array(table.line), table.station
    refuse_too_many(table, rough_places(table.x_mm, table.y_mm), f"{len(table.names)} lines")
    same = same_place_mm(line, station, table.x_mm, table.y_mm)
    point, x, y = distinct_places(table.x_mm, table.y_mm, same)
    sets = list(dict.fromkeys(table.set_up[station > 0].tolist()))
    refuse_too_many(table, x.size + len(sets), f"{len(table.names)} lines")
    lines = {name: _in_order(table, np.flatnonzero(line == name), point, same) for name in table.names}
    rows = np.flatnonzero(station > 0)
    design, length = np.zeros((rows.size, x.size + len(sets))), np.zeros(rows.size)
    for k, i in enumerate(rows):
        before, after = lines[table.line[i]][station[i] - 1 : station[i] + 1]
        length[k] = np.hypot(x[after] - x[before], y[after] - y[before])
        way = (-1.0 if table.turned[i] else 1.0) / (length[k] * 1000.0 * ARCSEC)
        design[k, after] += way
        design[k, before] -= way
        design[k, x.size + sets.index(table.set_up[i])] = 1.0
    reading = table.reading_arcsec[rows]
    network = Network(
        source=table.source,
        round=int(table.round[0]),
        bodies=("the plate",),
        body=np.zeros(x.size, int),
        x_mm=x,
        y_mm=y,
        rigid=flat_rigid(x, y),
        own=flat_rigid(x, y),
        shape_at=scaled(x, y),
        design=design,
        low=reading,
        high=reading,
        instrument=np.zeros(rows.size, int),
        instruments=(instrument_of("the level", "arcsec", reading, reading_sd_arcsec, table.last_digit),),
        group=np.array([table.names.index(table.line[i]) for i in rows]),
        groups=tuple(f"line {name}" for name in table.names),
        row=table.row[rows],
        along_mm=np.full(rows.size, np.nan),
        laying=np.full(rows.size, -1),
        nuisance=tuple(f"zero of {name}" for name in sets),
        nuisance_sd=np.full(len(sets), np.inf),
    )
    return LevelLines(network=network, lines=lines, uneven=_uneven(lines, x, y), step_mm=float(np.median(length)))


def _in_order(table: LineReadings, rows: np.ndarray, point: np.ndarray, same: float) -> np.ndarray:
    """Give the place of each station of a line, the same however often it was read."""
    first: dict[int, int] = {}
    for i in rows:
        k = int(table.station[i])
        if k in first and point[first[k]] != point[i]:
            raise Refusal(
                "place",
                where=f"{table.source}, row {table.row[i]}, station {k} of line {table.line[i]!r}",
                found=f"at x {table.x_mm[i]:g}, y {table.y_mm[i]:g} mm",
                must_be=f"where row {table.row[first[k]]} has it, because it is the same station",
            )
        first.setdefault(k, int(i))
    order = [first[k] for k in sorted(first)]
    x, y = table.x_mm[order], table.y_mm[order]
    length = max(float(np.hypot(x[-1] - x[0], y[-1] - y[0])), 1e-9)
    ex, ey = (x[-1] - x[0]) / length, (y[-1] - y[0]) / length
    along, beside = (x - x[0]) * ex + (y - y[0]) * ey, (y - y[0]) * ex - (x - x[0]) * ey
    off = np.flatnonzero((np.abs(beside) > same) | (np.diff(along, prepend=-1.0) <= same * (along > 0)))
    if off.size:
        k = int(off[0])
        raise Refusal(
            "place",
            where=f"{table.source}, row {table.row[order[k]]}, station {k} of line {table.line[order[k]]!r}",
            found=f"at x {x[k]:g}, y {y[k]:g} mm, out of order",
            must_be="on the straight line between its ends, after the station before it",
        )
    return point[order]


def _uneven(lines: dict[str, np.ndarray], x: np.ndarray, y: np.ndarray) -> tuple[str, ...]:
    steps = {name: np.hypot(np.diff(x[places]), np.diff(y[places])) for name, places in lines.items()}
    return tuple(name for name, step in steps.items() if step.min() < (1 - UNEVEN) * step.max())
