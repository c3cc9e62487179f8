"""A straightedge laid along lines of a plate as a network of heights: each laying has a lift and a tilt of its own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three
from simulate.core.refusal import Refusal
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.places import flat_rigid, rough_places, scaled
from simulate.readings.survey.union_jack_lines import distinct_places
from simulate.readings.table.readings import LineReadings
from simulate.readings.table.size_limit import refuse_too_many


@dataclass(frozen=True, kw_only=True)
class EdgeLines:
    """Gaps under a straightedge, or a dial against it, put against heights.

    `lines`: places of each line in order. `same_mm`: places nearer than this are one. `bow` (readings,): what an edge
    that is proud by 1 um in the middle of what it lay over does to each reading. `edge_mm` (readings,): where along the
    edge each reading was taken, from the middle of what it lay over.
    """

    network: Network
    lines: dict[str, np.ndarray]
    same_mm: float
    bow: np.ndarray
    edge_mm: np.ndarray


def edge_lines(table: LineReadings, reading_sd_um: float | None = None) -> EdgeLines:
    """Put gaps under a straightedge against the heights of a plate.

    `table`: one round. `reading_sd_um`: of one point reading; found from what the readings leave over without it.
    """
    line = np.array(table.line)
    along = _along(table, line)
    refuse_too_many(table, rough_places(table.x_mm, table.y_mm), f"{len(table.names)} lines")
    same = _same(table, line, along)
    point, x, y = distinct_places(table.x_mm, table.y_mm, same)
    keys = list(zip(table.line, table.set_up.tolist(), strict=True))
    sets = list(dict.fromkeys(keys))
    refuse_too_many(table, x.size + 2 * len(sets), f"{len(table.names)} lines")
    dial = np.isfinite(table.dial_um)
    each, sign = np.arange(len(table)), np.where(dial, 1.0, -1.0)
    design = np.zeros((len(table), x.size + 2 * len(sets)))
    bow, edge = np.zeros(len(table)), _on_edge(table, along)
    design[each, point] = sign
    for at, key in enumerate(sets):
        mine = np.array([k for k, own in enumerate(keys) if own == key])
        part = edge[mine] / max(float(np.abs(edge[mine]).max()), 1e-9)
        design[mine, x.size + 2 * at] = 1.0
        design[mine, x.size + 2 * at + 1] = part
        bow[mine] = sign[mine] * (1 - part**2)
    lines = {}
    for name in table.names:
        mine = np.flatnonzero(line == name)
        first = np.unique(point[mine], return_index=True)[1]
        lines[name] = point[mine][first[np.argsort(along[mine][first], kind="stable")]]
    low, high = (np.where(dial, table.dial_um, end) for end in (table.low_um, table.high_um))
    gap = np.where(dial, np.nan, table.gap_um)
    return EdgeLines(
        network=Network(
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
            low=low,
            high=high,
            instrument=dial.astype(int),
            instruments=(
                instrument_of("the gap", "um", gap, reading_sd_um, table.last_digit),
                instrument_of("the dial", "um", table.dial_um, reading_sd_um, table.last_digit),
            ),
            group=np.array([table.names.index(name) for name in table.line]),
            groups=tuple(f"line {name}" for name in table.names),
            row=table.row,
            along_mm=np.where(dial, np.nan, along),
            laying=np.where(dial, -1, np.array([sets.index(key) for key in keys])),
            nuisance=tuple(f"{what} on {name}" for name, _ in sets for what in ("lift", "tilt")),
            nuisance_sd=np.full(2 * len(sets), np.inf),
        ),
        lines=lines,
        same_mm=same,
        bow=bow,
        edge_mm=edge,
    )


def places_on_edge(table: LineReadings) -> np.ndarray:
    """Give where along the straightedge readings were taken, from the middle of what it lay over, either way round.

    Returns (places,): in mm, rising.
    """
    at = _on_edge(table, _along(table, np.array(table.line)))
    return np.unique(np.concatenate([at, -at]).round(6))


def _on_edge(table: LineReadings, along: np.ndarray) -> np.ndarray:
    """Place of each reading along the edge, from the middle of what it lay over: a short one is stepped along a line.

    Returns (readings,).
    """
    _, laid = np.unique(np.stack([table.line, table.set_up], axis=1), axis=0, return_inverse=True)
    edge = np.zeros(len(table))
    for k in range(int(laid.max()) + 1):
        mine = laid.reshape(-1) == k
        edge[mine] = along[mine] - (along[mine].min() + along[mine].max()) / 2
    return edge


def _along(table: LineReadings, line: np.ndarray) -> np.ndarray:
    """Place of each reading along its line, from the end that comes first in x and then in y."""
    along = np.zeros(len(table))
    for name in table.names:
        mine = np.flatnonzero(line == name)
        x, y = table.x_mm[mine], table.y_mm[mine]
        reach = np.hypot(x[:, None] - x, y[:, None] - y)
        a, b = np.unravel_index(int(reach.argmax()), reach.shape)
        long = float(reach[a, b])
        if long <= 0:
            raise Refusal(
                "count",
                where=f"{table.source}, line {name!r}",
                found="one place",
                must_be="two or more, with a reading at each",
            )
        if (x[b], y[b]) < (x[a], y[a]):
            a, b = b, a
        ex, ey = (x[b] - x[a]) / long, (y[b] - y[a]) / long
        along[mine] = (x - x[a]) * ex + (y - y[a]) * ey
        beside = np.abs((y - y[a]) * ex - (x - x[a]) * ey)
        k = int(beside.argmax())
        if beside[k] > 0.02 * long:
            raise Refusal(
                "place",
                where=f"{table.source}, row {table.row[mine[k]]}, line {name!r}",
                found=f"at x {x[k]:g}, y {y[k]:g} mm, {three(beside[k])} mm off the line of the others",
                must_be="on the straight line from one end of the edge to the other",
            )
    return along


def _same(table: LineReadings, line: np.ndarray, along: np.ndarray) -> float:
    """A tenth of the shortest step from place to place along a line; places nearer than 0.5 mm are one in any case."""
    steps = [np.diff(np.unique(along[line == name])) for name in table.names]
    step = np.concatenate([one[one > 0.5] for one in steps])
    return 0.1 * float(step.min(initial=100.0))
