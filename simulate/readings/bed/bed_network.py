"""Readings of a bed as a network of heights: the shape of each way in each plane, and what crosses from way to way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.bed.bodies import LEVEL, UPRIGHT, Bodies, Row, bodies_of
from simulate.readings.network.heights import Instrument, Network, instrument_of
from simulate.readings.survey.union_jack_lines import ARCSEC
from simulate.readings.table.readings import BedReadings
from simulate.readings.table.size_limit import refuse_too_many

TOOLS = ("the gap", "the dial", "the level", "the level across", "the strips", "the block")
USUAL = (3.0, 2.0, 1.0, 1.0, 50.0, 3.0)
"""What one reading of each is usually good to: um, arcsec for the levels (common practice, no source)."""
_TOOL_OF = {"edge": 0, "dial": 1, "level": 2, "cross": 3, "strips": 4, "diagonal": 5}
_SLOPES, _DIALS = (2, 3), (1, 4)


@dataclass(frozen=True, kw_only=True)
class BedRows:
    """Readings of a bed, put against heights.

    `bow` (readings,): what a straightedge that is proud by 1 um in its middle does to each reading. `edge_mm`
    (readings,): where along a straightedge each reading was taken, from its middle; nan for a reading without one.
    `how` (readings,). `both_ways_round`: whether winding strips were read, and changed over.
    """

    network: Network
    bodies: Bodies
    bow: np.ndarray
    edge_mm: np.ndarray
    how: np.ndarray
    both_ways_round: bool
    bolts: tuple[tuple[float, float], ...]


def bed_rows(table: BedReadings, reading_sd_um: float | None = None) -> BedRows:
    """Put readings of a bed against the heights of its ways.

    `table`: one round. `reading_sd_um`: of gaps and dials; every other instrument's is found from what the readings
    leave over.
    """
    bodies = bodies_of(table)
    rows = np.flatnonzero(table.how != "bolt")
    spans = _spans(table, rows)
    zeros: dict[tuple, int] = {}
    layings: dict[tuple, int] = {}
    names: dict[str, int] = {}
    heights: list[Row] = []
    at_zero: list[dict[int, float]] = []
    laid, bow, group = np.full(rows.size, -1), np.zeros(rows.size), np.zeros(rows.size, int)
    along = np.full(rows.size, np.nan)
    for r, i in enumerate(rows):
        key = (str(table.how[i]), _set_of(table, int(i)), str(table.plane[i]))
        dial = bool(np.isfinite(table.dial_um[i]))
        part = 0.0
        if key[0] == "edge":
            first, last = spans[key]
            along[r] = float(table.x_mm[i]) - (first + last) / 2
            part = 2 * along[r] / max(last - first, 1e-9)
            bow[r] = (1 - part**2) * (1.0 if dial else -1.0)
            laid[r] = -1 if dial else layings.setdefault(key, len(layings))
        heights.append(_heights_of(table, bodies, int(i)))
        own = _zeros_of(key, part, bool(table.turned[i]))
        at_zero.append({zeros.setdefault(name, len(zeros)): weight for name, weight in own.items()})
        group[r] = names.setdefault(_group(table, int(i)), len(names))
    points = bodies.x_mm.size
    refuse_too_many(table, points + len(zeros), f"{len(bodies.keys)} ways")
    design = np.zeros((rows.size, points + len(zeros)))
    for r in range(rows.size):
        for point, weight in heights[r].items():
            design[r, point] += weight
        for zero, weight in at_zero[r].items():
            design[r, points + zero] += weight
    low, high, tool, tools = _figures(table, rows, reading_sd_um)
    network = Network(
        source=table.source,
        round=int(table.round[0]),
        bodies=tuple(bodies.named(k) for k in range(len(bodies.keys))),
        body=bodies.of_point,
        x_mm=bodies.x_mm,
        y_mm=bodies.y_mm,
        rigid=_rigid(bodies),
        own=np.stack([np.ones(points), _along(bodies.x_mm)], axis=1),
        shape_at=_along(bodies.x_mm)[:, None],
        design=design,
        low=low,
        high=high,
        instrument=tool,
        instruments=tools,
        group=group,
        groups=tuple(names),
        row=table.row[rows],
        along_mm=np.where(laid >= 0, table.x_mm[rows], np.nan),
        laying=laid,
        nuisance=tuple(" ".join(name).strip() for name in zeros),
        nuisance_sd=np.full(len(zeros), np.inf),
    )
    strips = table.turned[table.how == "strips"]
    return BedRows(
        network=network,
        bodies=bodies,
        bow=bow,
        edge_mm=along,
        how=table.how[rows],
        both_ways_round=bool(strips.any() and not strips.all()),
        bolts=tuple((float(table.x_mm[i]), float(table.y_mm[i])) for i in np.flatnonzero(table.how == "bolt")),
    )


def places_on_edge(table: BedReadings) -> np.ndarray:
    """Give where along a straightedge readings were taken, from the middle of what it lay over, either way round.

    Returns (places,): in mm, rising.
    """
    rows = np.flatnonzero(table.how == "edge")
    spans = _spans(table, rows)
    middle = [sum(spans["edge", _set_of(table, int(i)), str(table.plane[i])]) / 2 for i in rows]
    at = table.x_mm[rows] - np.array(middle)
    return np.unique(np.concatenate([at, -at]).round(6))


def _heights_of(table: BedReadings, bodies: Bodies, i: int) -> Row:
    """What heights do to one reading."""
    how, x, to = str(table.how[i]), float(table.x_mm[i]), float(table.to_x_mm[i])
    part, way, plane = str(table.part[i]), str(table.way[i]), str(table.plane[i])
    crossing = how in ("dial", "cross", "strips", "diagonal")
    if crossing and len(bodies.ways) < 2:
        raise Refusal(
            "missing",
            where=f"{table.source}, row {table.row[i]}",
            found=f"one way, but {str(how)!r} goes from way to way",
            must_be="two ways, each with its place across in y_mm",
        )
    front, back = bodies.ways if crossing else (way, way)
    other, sign = front if way == back else back, -1.0 if table.turned[i] else 1.0

    def at(one: str, place: float) -> Row:
        return bodies.at(part, one, plane, place)

    try:
        if how == "edge":
            return _sum((1.0 if np.isfinite(table.dial_um[i]) else -1.0, at(way, x)))
        if how == "dial":
            return _sum((1.0, at(way, x)), (-1.0, at(other, x)))
        if how == "level":
            per = sign / ((to - x) * 1000.0 * ARCSEC)
            return _sum((per, at(way, to)), (-per, at(way, x)))
        if how == "cross":
            per = sign / (bodies.apart_mm * 1000.0 * ARCSEC)
            return _sum((per, at(back, x)), (-per, at(front, x)))
        if how == "strips":
            per = float(table.strip_mm[i]) / bodies.apart_mm
            return _sum((per, at(back, to)), (-per, at(front, to)), (-per, at(back, x)), (per, at(front, x)))
        middle = (x + to) / 2
        return _sum((0.5, at(way, x)), (0.5, at(other, to)), (-0.5, at(way, middle)), (-0.5, at(other, middle)))
    except LookupError:
        span = f"{x:g} to {to:g}" if np.isfinite(to) else f"{x:g}"
        raise Refusal(
            "place",
            where=f"{table.source}, row {table.row[i]}",
            found=f"{str(how)!r} at x {span} mm, beyond the places read on the ways",
            must_be="between those places, or near their ends",
        ) from None


def _sum(*parts: tuple[float, Row]) -> Row:
    total: Row = {}
    for weight, row in parts:
        for point, share in row.items():
            total[point] = total.get(point, 0.0) + weight * share
    return total


def _zeros_of(key: tuple[str, str, str], part: float, turned: bool) -> dict[tuple, float]:
    """What zeros do to one reading: lift and tilt of an edge, what strips differ by, zero of any other instrument."""
    if key[0] == "edge":
        return {("lift", *key): 1.0, ("tilt", *key): part}
    return {("zero", *key): -1.0 if turned and key[0] == "strips" else 1.0}


def _set_of(table: BedReadings, i: int) -> str:
    """Name what shares a zero: a level may keep its own from way to way, an edge is laid anew on each."""
    way, named = str(table.way[i]), str(table.set_up[i]) if table.set_up.size else ""
    if table.how[i] == "edge":
        return f"{way} {named}".rstrip()
    return named or (way if table.how[i] == "level" else "")


def _group(table: BedReadings, i: int) -> str:
    what = {
        "edge": f"the straightedge along {table.way[i]}",
        "dial": f"the dial on {table.way[i]}",
        "level": f"the level along {table.way[i]}",
        "cross": "the level across",
        "strips": "the winding strips",
        "diagonal": "the diagonals",
    }[str(table.how[i])]
    named = f" ({table.set_up[i]})" if table.set_up.size and table.set_up[i] else ""
    return what + (" in the horizontal plane" if table.plane[i] == LEVEL else "") + named


def _spans(table: BedReadings, rows: np.ndarray) -> dict[tuple, tuple[float, float]]:
    """From where to where each laying of an edge goes."""
    found: dict[tuple, tuple[float, float]] = {}
    for i in rows[table.how[rows] == "edge"]:
        key = ("edge", _set_of(table, int(i)), str(table.plane[i]))
        low, high = found.get(key, (np.inf, -np.inf))
        found[key] = (min(low, float(table.x_mm[i])), max(high, float(table.x_mm[i])))
    return found


def _figures(
    table: BedReadings, rows: np.ndarray, sd_um: float | None
) -> tuple[np.ndarray, np.ndarray, np.ndarray, tuple[Instrument, ...]]:
    """Ends of each reading in its own unit, which instrument it came from, and what is known of each."""
    tool = np.array([_TOOL_OF[str(how)] for how in table.how[rows]], int)
    tool = np.where((tool == 0) & np.isfinite(table.dial_um[rows]), 1, tool)
    figure = np.where(np.isin(tool, _SLOPES), table.reading_arcsec[rows], table.dial_um[rows])
    point = np.isin(tool, (*_SLOPES, *_DIALS))
    low, high = (np.where(point, figure, end[rows]) for end in (table.low_um, table.high_um))
    tools = []
    for k, name in enumerate(TOOLS):
        mine = np.where((tool == k) & (low == high), low, np.nan)
        given = sd_um if k in (0, 1) else None
        unit, digit = ("arcsec", table.slope_digit) if k in _SLOPES else ("um", table.last_digit)
        tools.append(instrument_of(name, unit, mine, given, digit, USUAL[k]))
    return low, high, tool, tuple(tools)


def _rigid(bodies: Bodies) -> np.ndarray:
    """What moving the bed as one does: a plane in the upright plane, a line seen from above."""
    plane = np.array([bodies.keys[k][2] for k in bodies.of_point])
    upright, level, u = (plane == UPRIGHT).astype(float), (plane == LEVEL).astype(float), _along(bodies.x_mm)
    across = (bodies.y_mm - bodies.y_mm.mean()) / max(float(np.ptp(bodies.y_mm)), 1e-9)
    return np.stack([upright, upright * u, upright * across, level, level * u], axis=1)


def _along(x: np.ndarray) -> np.ndarray:
    return (x - (x.min() + x.max()) / 2) / max(float(np.ptp(x)) / 2, 1e-9)
