"""What one round was read to be out by: every error, how its reading scatters, and how the worst is told of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.adjustment.bounds import Contradiction
from simulate.readings.adjustment.repeatability import coarse
from simulate.readings.adjustment.whole_band import DRAWS
from simulate.readings.alignment.axis_findings import solve_head
from simulate.readings.alignment.one_square_findings import solve_one_square
from simulate.readings.alignment.piece_findings import solve_thickness
from simulate.readings.alignment.slide_findings import solve_cross_slide
from simulate.readings.alignment.told import Told, worst_of
from simulate.readings.alignment.told import left_open as straight_open
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.bed.bed_findings import form_of_bed, solve_bed
from simulate.readings.bed.bed_findings import left_open as ways_open
from simulate.readings.edge.edge_findings import solve_edge
from simulate.readings.lands.solve_lands import solve_lands
from simulate.readings.level.level_findings import solve_level
from simulate.readings.level.level_network import as_level
from simulate.readings.network.features import Feature, worst_zone, zone_of
from simulate.readings.network.heights import Network
from simulate.readings.network.line_work import SolvedLines, form_of, form_parts
from simulate.readings.network.line_work import left_open as lines_open
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.round_record import Measure, RoundErrors
from simulate.readings.outcome.stop_rule import no_order
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.reference.known import Known
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.survey.union_jack import union_jack
from simulate.readings.table.readings import AlignmentReadings, BedReadings, LineReadings, Readings
from simulate.surface.flatness import flatness, zones_um
from simulate.surface.straightness import straightness


def _bars(table: Readings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    s = solve_bars(table, sd, round, bounds=False, **more)
    _refuse(table, s.against, s.left_open)
    shape = s.height_um.shape

    def worst(values: np.ndarray) -> np.ndarray:
        each = straightness(s.x_mm, values.reshape(*values.shape[:-1], *shape)).value_um
        return np.asarray(each).max(axis=-1)

    sight = None if s.low_95_um is None or s.draws_um is None else s.draws_um.reshape(len(s.draws_um), -1)
    form = float(s.straightness_um.max())
    return RoundErrors(
        form_um=form,
        value_um=s.height_um.ravel(),
        sight_um=sight,
        measure=worst,
        by_intervals=s.sd_from == "intervals",
        rounded=coarse(s.reading_sd_um, s.sd_from, s.resolution),
    )


def _plates(table: Readings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    s = solve_plates(table, sd, round=round, bounds=False, **more)
    _refuse(table, s.against, s.left_open)
    read = np.isfinite(s.height_um)
    body, place = np.nonzero(read)

    def worst(values: np.ndarray) -> np.ndarray:
        flat = values.reshape(-1, values.shape[-1])
        each = [zones_um(s.x_mm[place[body == k]], s.y_mm[place[body == k]], flat[:, body == k]) for k in set(body)]
        return np.max(each, axis=0).reshape(values.shape[:-1])

    sight = None if s.low_95_um is None or s.draws_um is None else s.draws_um[:, read]
    return RoundErrors(
        form_um=float(s.flatness_um.max()),
        value_um=s.height_um[read],
        sight_um=sight,
        measure=worst,
        by_intervals=s.sd_from == "intervals",
        rounded=coarse(s.reading_sd_um, s.sd_from, s.resolution),
    )


def _squares(table: Readings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    s = solve_squares(table, sd, round, bounds=False, **more)
    _refuse(table, s.against, s.left_open)
    reach = float(s.tall_mm.max()) / 1000.0
    return RoundErrors(
        form_um=float(np.abs(s.angle_urad).max()) * reach,
        value_um=reach * s.angle_urad,
        sight_um=None if s.low_95_urad is None or s.draws_urad is None else reach * s.draws_urad,
        measure=_greatest,
        by_intervals=s.sd_from == "intervals",
        rounded=coarse(s.reading_sd_um, s.sd_from, s.resolution),
    )


def _lands(table: Readings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    s = solve_lands(table, sd, round=round, **more)
    _refuse(table, s.against, s.left_open)
    there, x = s.network.reached, s.network.x_mm[s.network.reached]
    if s.network.height_um is None:
        raise Refusal("unsettled", where=table.source, found="a round that gives no heights")
    height = s.network.height_um[there]
    sight = None if s.low_95_um is None or s.draws_um is None else s.draws_um[:, there]

    def worst(values: np.ndarray) -> np.ndarray:
        return np.asarray(straightness(x, values).value_um)

    return RoundErrors(
        form_um=float(worst(height)),
        value_um=height,
        sight_um=sight,
        measure=worst,
        by_intervals=s.sd_from == "intervals",
        rounded=coarse(s.reading_sd_um, s.sd_from, s.resolution),
    )


def _survey(table: Readings, sd: float | None, round: int, known: Sequence[Known] = ()) -> RoundErrors:
    if known:
        return _lines(solve_level(as_level(table), sd, round, known=known))
    s = union_jack(table, sd, round)
    return RoundErrors(
        form_um=float(flatness(s.x_mm, s.y_mm, s.least_squares_height_um).value_um),
        value_um=s.least_squares_height_um,
        sight_um=s.draws_um,
        measure=_batched(zone_of(s.x_mm, s.y_mm)),
    )


def _level(table: LineReadings, sd: float | None, round: int, known: Sequence[Known] = ()) -> RoundErrors:
    return _lines(solve_level(table, sd, round, known=known))


def _edge(table: LineReadings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    return _lines(solve_edge(table, sd, round, bounds=False, **more))


def _lines(found: SolvedLines) -> RoundErrors:
    """The flatness of a face, or else the straightness of its worst line."""
    net, form = found.heights.network, form_of(found.features)
    if form is None:
        raise _left_open(net.source)
    _refuse(net, found.heights.against, lines_open(found.features))
    return _zones(found.heights, form, *form_parts(found))


def _bed(table: BedReadings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    """The worst offset of a joint, or else the straightness of the worst way."""
    found = solve_bed(table, sd, round, bounds=False, **more)
    form = form_of_bed(found.features)
    if form is None:
        raise _left_open(table.source)
    _refuse(table, found.heights.against, ways_open(found))
    offsets = tuple(one for one in found.features if one.told and one.name == "offset")
    if offsets:
        return _figures(offsets)
    told = {one.of for one in found.features if one.told and one.name == "straightness"}
    parts = [places for k, places in enumerate(found.bodies.places) if found.bodies.named(k) in told]
    return _zones(found.heights, form, parts, True)


def _thickness(table: AlignmentReadings, sd: float | None, round: int, **more: Any) -> RoundErrors:
    """How far a piece is out of parallel by places, or the worst of its corners and faces."""
    found = solve_thickness(table, sd, round, **more)
    if not found.by_places:
        return _straight(found)
    return _of_heights(found.heights, worst_of(found.features[:1]) or 0.0, lambda values: np.ptp(values, axis=-1))


def _straight(found: Told) -> RoundErrors:
    """The greatest of what readings of straight bodies were asked."""
    _refuse(found.heights.network, found.heights.against, straight_open(found.features))
    return _figures(found.features)


def _figures(features: Sequence[Feature]) -> RoundErrors:
    """The greatest of single figures, whose errors count as independent of each other."""
    mine = [one for one in features if one.unit == "um" and one.told]
    value = np.array([one.value for one in mine])
    sight = None
    if mine and all(one.ranged for one in mine):
        half = np.array([one.half for one in mine])
        sight = np.random.default_rng(1).standard_normal((DRAWS, value.size)) * half / 1.96
    form = float(np.abs(value).max(initial=0.0))
    return RoundErrors(form_um=form, value_um=value, sight_um=sight, measure=_greatest)


def _zones(heights: SolvedHeights, form_um: float, parts: Sequence[np.ndarray], lines: bool) -> RoundErrors:
    return _of_heights(heights, form_um, _batched(worst_zone(heights.network, parts, lines)))


def _of_heights(heights: SolvedHeights, form_um: float, measure: Measure) -> RoundErrors:
    return RoundErrors(
        form_um=form_um,
        value_um=heights.height_um,
        sight_um=None if heights.low_95_um is None else heights.draws_um,
        measure=measure,
        by_intervals=heights.by_intervals,
        rounded=heights.coarse,
    )


def _batched(zone: Measure) -> Measure:
    """Have a measure of rows take any leading axes."""
    return lambda values: zone(values.reshape(-1, values.shape[-1])).reshape(values.shape[:-1])


def _greatest(values: np.ndarray) -> np.ndarray:
    return np.abs(values).max(axis=-1)


def _refuse(of: Readings | Network, against: Contradiction | None, open_: tuple[str, ...]) -> None:
    """Refuse a round by which no order to stop or to file would be given."""
    if no_order(np.array([np.nan]), against, open_):
        raise _left_open(of.source)


def _left_open(source: str) -> Refusal:
    return Refusal("unsettled", where=source, found="a round that leaves its form undetermined")


ERRORS: dict[str, Callable[..., RoundErrors]] = {
    "bars": _bars,
    "plates": _plates,
    "squares": _squares,
    "lands": _lands,
    "union jack": _survey,
    "level": _level,
    "edge": _edge,
    "bed": _bed,
    "joint": _bed,
    "head": lambda table, sd, round: _straight(solve_head(table, sd, round)),
    "cross slide": lambda table, sd, round: _straight(solve_cross_slide(table, sd, round)),
    "one square": lambda table, sd, round, **more: _straight(solve_one_square(table, sd, round, **more)),
    "thickness": _thickness,
}
"""Kind to what a round of it is out by; a wedge test has no rounds of work."""
