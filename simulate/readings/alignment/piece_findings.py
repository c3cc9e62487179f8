"""What a micrometer over a piece says, and what a square on its corners adds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.next_reading import Candidate
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.alignment import piece_words as words
from simulate.readings.alignment.piece_network import CORNERS, OPPOSITE, SQUARE, PieceRows, corner, parallel, piece_rows
from simulate.readings.alignment.straight import Aligned, candidate, next_of_straight
from simulate.readings.alignment.told import first_of, refuse_untold, stop_of, told, worst_of
from simulate.readings.network.features import Feature, linear, slope_weights, spread
from simulate.readings.network.places import line_or_face
from simulate.readings.network.solve_heights import SolvedHeights, solve_heights
from simulate.readings.outcome.face_cut import FaceCut, face_cut
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.outcome.stop_rule import StopRule, not_told, stop_from
from simulate.readings.table.readings import AlignmentReadings


@dataclass(frozen=True, kw_only=True)
class SolvedPiece(Aligned):
    """The thickness of a piece at places, or how its four faces stand to each other.

    `nominal_um`: what heights are counted from where one pair of faces was read. `lines`: empty; as `SolvedLines` has
    it, for pictures. `by_places`: whether one pair of faces was read at places.
    """

    nominal_um: float
    lines: dict[str, np.ndarray]
    by_places: bool


def solve_thickness(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    *,
    feel_um: float | None = None,
) -> SolvedPiece:
    """Work out how parallel faces are from micrometer readings, and how square from a square on the corners.

    `table`: what `read_readings` gives for ``x_mm, y_mm, thickness_mm``; with ``face, against`` for several pairs, and
    ``gap_um`` where a square stood on a corner, read up its blade at ``y_mm`` from the corner. `reading_sd_um`: of one
    point reading; found from what the readings leave over without it. `round`: the last of the file where it is not
    said. `feel_um`: of gaps that are intervals: one standard deviation of the gap at which a blade is felt to go.
    Returns: what it cannot see: a micrometer that reads too much everywhere, hollow faces under flat anvils, a bend
    that both faces share, and twist along the piece under the square.

    Derived: the four corners of a piece make a full turn, so that what they are too wide by adds up to nothing, and two
    opposite faces run apart by what the two corners between them are too wide by (`square_up`). A square that is too
    wide by q shows each corner narrower by q: four corners show it, as four times itself (`square_from_last_corner`).
    """
    needs(table, "thickness")
    return _solved(piece_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um")), feel_um)


def _solved(read: PieceRows, feel_um: float | None = None) -> SolvedPiece:
    heights = solve_heights(read.network, feel_um)
    features = _by_places(heights) if read.corners is None else _by_corners(heights, read)
    refuse_untold(
        heights,
        features,
        "two places or more over one pair of faces, or all four corners with a square that is not known",
        "Read more places, or give its error in square_um_m and square_sd_um_m",
    )
    return SolvedPiece(
        heights=heights,
        features=features,
        nominal_um=read.nominal_um,
        lines={},
        by_places=read.corners is None,
    )


def _by_places(heights: SolvedHeights) -> tuple[Feature, ...]:
    net = heights.network
    every = np.arange(net.points)
    if net.points < 2:
        return ()
    found = [spread(heights, every, "thickness variation", net.bodies[0])]
    away = np.stack([net.x_mm - net.x_mm.mean(), net.y_mm - net.y_mm.mean()], axis=1)
    plane = np.linalg.pinv(np.hstack([np.ones((net.points, 1)), away])) * 1000.0
    in_line, reach = line_or_face(net.x_mm, net.y_mm) is not None, np.ptp(away, axis=0)
    for k in (int(reach.argmax()),) if in_line else (0, 1):
        if reach[k] < 1.0:
            continue
        weights = 1000.0 * slope_weights((net.x_mm, net.y_mm)[k], every) if in_line else plane[1 + k]
        found.append(linear(heights, weights, f"wedge along {'xy'[k]}", "um/m"))
    return tuple(found)


def _by_corners(heights: SolvedHeights, read: PieceRows) -> tuple[Feature, ...]:
    corners, reach = read.corners, read.reach_mm
    if corners is None:
        return ()
    over = f"over {reach:g} mm"
    found = [
        linear(heights, parallel(corners, pair) * reach / 1000.0, "parallelism", "um", f"{pair} {over}", key=pair)
        for pair in OPPOSITE
    ]
    found += [
        linear(heights, corner(corners, one) * reach / 1000.0, "squareness", "um", f"corner {one} {over}", key=one)
        for one in CORNERS
    ]
    if SQUARE in corners.names:
        found.append(linear(heights, corners.at(SQUARE, 0.0), "angle error", "um/m", SQUARE))
    return tuple(one for one in found if one.told)


def of_thickness(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
) -> Findings:
    """Say what a micrometer over a piece says, and what a square on its corners adds."""
    needs(table, "thickness")
    read = piece_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um"))
    found = _solved(read, feel_um)
    heights = found.heights
    following = next_of_straight(heights, _further(read, heights), "um" if read.corners is None else "um/m")
    asks = following.name if following else ""
    if read.corners is None:
        cut = _metal(heights)
        said = told(
            "thickness",
            found,
            first=words.thickness(found),
            hidden=words.hidden_places(heights),
            following=following,
            cut=cut.sentences,
            stop=_stop(heights, found.features[0], target_um, asks),
            form_um=found.features[0].value,
            map=cut,
        )
        heading, rows = words.place_rows(heights, read.nominal_um, cut.remove_um[0])
        return replace(said, detail_heading=heading, detail_rows=rows)
    asked = tuple(one for one in found.features if one.unit == "um")
    return told(
        "thickness",
        found,
        first=first_of(found.features, "the readings determine no corner yet", 7),
        more=("Squareness and angle error are positive where the angle is too wide.",),
        hidden=words.hidden_corners(heights, read),
        following=following,
        cut=words.corner_cuts(asked),
        stop=stop_of(heights, asked, target_um, "face", "true", asks),
        form_um=worst_of(asked),
    )


def _metal(heights: SolvedHeights) -> FaceCut:
    """Metal above the thinnest place: what makes one face parallel to the other."""
    net = heights.network
    level = np.ones((net.points, 1))
    return face_cut(
        ("the face",), net.x_mm, net.y_mm, heights.height_um[None], heights.sd_um[None], heights.factor_95, level
    )


def _stop(heights: SolvedHeights, one: Feature, target_um: float | None, asks: str) -> StopRule:
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    if not one.ranged:
        return not_told(np.array([one.value]), asks=asks)
    floor = float(np.quantile(np.ptp(heights.draws_um, axis=1), 0.95))
    return stop_from(("the piece",), np.array([one.value]), np.array([floor]), target, "piece", "parallel")


def _further(read: PieceRows, heights: SolvedHeights) -> list[Candidate]:
    """Give every pair of faces and every corner again, and the corners that were not read."""
    net = heights.network
    if read.corners is None:
        sd = max(heights.spreads.sd[0], 1e-9)
        every = np.eye(net.points)
        return [Candidate("all places again", every / sd)] + [
            Candidate(f"the place at x {x:g}, y {y:g} mm again", every[k : k + 1] / sd)
            for k, (x, y) in enumerate(zip(net.x_mm, net.y_mm, strict=True))
        ]
    found = [
        candidate(f"{name} again", [one for one in read.readings if one.group == name], heights) for name in net.groups
    ]
    by_square = [one for one in read.readings if one.tool == 1]
    if not by_square:
        return found
    first = by_square[0].key
    like = [one for one in by_square if one.key == first]
    for name in CORNERS:
        if name not in read.read:
            change = corner(read.corners, name) - corner(read.corners, first)
            rows = [replace(one, heights=one.heights + change * _lift(one, read, first)) for one in like]
            found.append(candidate(f"the square on {name}", rows, heights))
    return found


def _lift(one, read: PieceRows, first: str) -> float:
    """How far up the blade a reading of a corner was taken, in m."""
    if read.corners is None:
        raise Refusal("state", where="a piece", found="without readings of its corners", must_be="read on them")
    of = corner(read.corners, first)
    k = int(np.argmax(np.abs(of)))
    return float(one.heights[k] / of[k])
