"""Which bodies of a set may be known already, and which a set gives as references for others."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.alignment.one_square_findings import SQUARE, solve_one_square
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.bed.bed_findings import solve_bed
from simulate.readings.bed.bed_network import places_on_edge as places_on_bed
from simulate.readings.bed.bodies import bodies_of
from simulate.readings.edge.edge_findings import solve_edge
from simulate.readings.edge.edge_network import places_on_edge
from simulate.readings.lands.solve_lands import solve_lands
from simulate.readings.level.level_findings import solve_level
from simulate.readings.level.level_network import as_level
from simulate.readings.network.against_known import STRAIGHTEDGE
from simulate.readings.network.line_work import spans
from simulate.readings.plates.plate_stations import stations_of
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.reference.known import Known
from simulate.readings.squares.flat_opening import FLAT
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.survey.union_jack import union_jack
from simulate.readings.table.readings import NAMED, BedReadings, LineReadings, Readings


def _solve_survey(table: Readings, reading_sd_arcsec: float | None = None, *, known: Sequence[Known] = ()) -> Any:
    """Solve eight lines, as any lines where the plate is known already."""
    return (
        solve_level(as_level(table), reading_sd_arcsec, known=known) if known else union_jack(table, reading_sd_arcsec)
    )


SOLVERS: dict[str, Callable[..., Any]] = {
    "bars": solve_bars,
    "plates": solve_plates,
    "squares": solve_squares,
    "lands": solve_lands,
    "union jack": _solve_survey,
    "level": solve_level,
    "edge": solve_edge,
    "bed": solve_bed,
    "joint": solve_bed,
    "one square": solve_one_square,
}
"""Kind of readings to what solves them, where a body of them may be known further on."""

ALONE = {"lands": ("the bar", "bars"), "union jack": ("the plate", "plates"), "one square": (SQUARE, "squares")}
"""Kinds of readings that give one body without a name of its own: what it is called, and its kind."""


def may_be_known(table: Readings) -> dict[str, str]:
    """Say which bodies of a table may be known already, each with its kind; a flat may be a plate or a line of one.

    >>> from simulate.readings.table.demo import demo_path
    >>> from simulate.readings.table.read import read_readings
    >>> may_be_known(read_readings(demo_path("demo_edge.csv")))
    {'the straightedge': 'bars', 'the plate': 'plates'}
    """
    if table.kind in NAMED:
        flat = {FLAT: FLAT} if table.kind == "squares" and FLAT not in table.names else {}
        return dict.fromkeys(table.names, table.kind) | flat
    if table.kind == "edge":
        return {STRAIGHTEDGE: "bars", "the plate": "plates"}
    if table.kind in ("level", "union jack"):
        return {"the plate": "plates"}
    if isinstance(table, BedReadings):
        edge = {STRAIGHTEDGE: "bars"} if (table.how == "edge").any() else {}
        return edge | dict.fromkeys(_ways(table), "bars")
    return {}


def gives(table: Readings) -> dict[str, str]:
    """Say which bodies a table gives as references, each with its kind.

    >>> from simulate.readings.table.demo import demo_path
    >>> from simulate.readings.table.read import read_readings
    >>> gives(read_readings(demo_path("demo_lands.csv"))), gives(read_readings(demo_path("demo_wedge.csv")))
    ({'the bar': 'bars'}, {})
    """
    if table.kind in NAMED:
        return dict.fromkeys(table.names, table.kind)
    if table.kind in ALONE:
        return dict((ALONE[table.kind],))
    if isinstance(table, BedReadings):
        return dict.fromkeys(_ways(table), "bars")
    if table.kind in ("edge", "level"):
        plate = {"the plate": "plates"} if spans(table.x_mm, table.y_mm) else {}
        return plate | {f"line {name}": "bars" for name in table.names}
    return {}


def _ways(table: BedReadings) -> tuple[str, ...]:
    try:
        bodies = bodies_of(table)
    except Refusal:
        return ()
    return tuple(bodies.named(k) for k in range(len(bodies.keys)))


def places_of(table: Readings, body: str) -> dict[str, np.ndarray]:
    """Give the places at which a body has to be known for these readings; empty for a square.

    Returns ``x_mm``, and ``y_mm`` of a plate.
    """
    if isinstance(table, BedReadings):
        return _way(table, body)
    if body == STRAIGHTEDGE and isinstance(table, LineReadings):
        return {"x_mm": places_on_edge(table)}
    if table.kind == "plates":
        stations = stations_of(table)
        return {"x_mm": stations.x_mm + stations.centre_mm[0], "y_mm": stations.y_mm + stations.centre_mm[1]}
    if table.kind == "bars":
        mirrored = table.position_mm.min() + table.position_mm.max() - table.position_mm
        return {"x_mm": np.unique(np.concatenate([table.position_mm, mirrored]).round(6))}
    if table.x_mm.size:
        x, y = np.unique(np.stack([table.x_mm, table.y_mm]).round(3), axis=1)
        return {"x_mm": x, "y_mm": y}
    return {}


def _way(table: BedReadings, body: str) -> dict[str, np.ndarray]:
    if body == STRAIGHTEDGE:
        return {"x_mm": places_on_bed(table)}
    bodies = bodies_of(table)
    names = [bodies.named(k) for k in range(len(bodies.keys))]
    return {"x_mm": bodies.x_mm[bodies.places[names.index(body)]]}
