"""What is said of a piece that was read by micrometer, and by a square on its corners."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from simulate.core.number_format import three
from simulate.readings.alignment.piece_network import CORNERS, OPPOSITE, SQUARE, PieceRows, corner
from simulate.readings.alignment.told import first_of, sure
from simulate.readings.network import network_words
from simulate.readings.network.features import Feature
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.findings_record import UNKNOWN

if TYPE_CHECKING:
    from simulate.readings.alignment.piece_findings import SolvedPiece


def thickness(found: SolvedPiece) -> str:
    """Say how thick a piece is and how parallel."""
    mean = found.nominal_um + float(found.heights.height_um.mean())
    count = found.heights.network.points
    return (
        f"Thickness {mean / 1000:.4f} mm, the mean of {count} place{'s' * (count != 1)}. {first_of(found.features, '')}"
    )


def place_rows(
    heights: SolvedHeights, nominal_um: float, remove_um: np.ndarray
) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Give every place as a row of a table: how thick, with its range, and what to take off."""
    net, low, high = heights.network, heights.low_95_um, heights.high_95_um
    rows = []
    for k in range(net.points):
        half = UNKNOWN if low is None or high is None else f"± {three((high[k] - low[k]) / 2)}"
        thick = f"{(nominal_um + heights.height_um[k]) / 1000:.4f} mm"
        rows.append((f"{net.x_mm[k]:g}", f"{net.y_mm[k]:g}", thick, half, three(float(remove_um[k]))))
    return ("x, mm", "y, mm", "thickness", "95 %, um", "to take off, um"), tuple(rows)


def hidden_places(heights: SolvedHeights) -> tuple[str, ...]:
    """Say what a micrometer over one pair of faces cannot show."""
    return (
        "A bend or a twist that both faces share leaves the thickness as it is, and no reading would reveal it: "
        "parallel is not "
        "flat.",
        "A micrometer that reads too much by the same amount everywhere makes the piece too thick by that, and no less "
        "parallel.",
        "Flat anvils lie on high places, and a hollow between them does not show; what lies between two places is "
        "unknown.",
    )


def hidden_corners(heights: SolvedHeights, read: PieceRows) -> tuple[str, ...]:
    """Say what micrometer and square cannot show of four faces."""
    corners = read.corners
    shapes = {}
    if corners is not None:
        if SQUARE in corners.names:
            shapes[
                "The error of the square cannot be separated from that of the corners: read all four, or give its "
                "error in square_um_m and square_sd_um_m."
            ] = corners.at(SQUARE, 0.0) + sum(corner(corners, one) for one in CORNERS[:-1])
            turns = sum(way * corner(corners, one) for way, one in zip((1, -1, 1), CORNERS[:-1], strict=True))
            shapes[
                "The error of the square stays in every corner: put it on one more corner, or give that error in "
                "square_um_m and square_sd_um_m."
            ] = corners.at(SQUARE, 0.0) + turns
        for one in CORNERS[:-1]:
            shapes[f"Nothing shows corner {one}: put the square on it."] = corner(corners, one)
    return (
        *network_words.hidden_words(heights, shapes),
        "All of this is the end view: faces that twist along the piece are square at every place, but not flat.",
        "A burr under the base of the square, or a hollow face, tilts it, and that counts as an error of the corner.",
    )


def corner_cuts(features: tuple[Feature, ...]) -> tuple[str, ...]:
    """Say where metal comes off each face, the opposite pairs first."""
    said = []
    for one in features:
        first, second = ("A", "D") if one.key == "D-A" else one.key.split("-")
        metal = three(abs(one.value))
        if one.key in OPPOSITE:
            what, true = f"face {second}", f"parallel to {first}"
            near, far = ("B", "D") if one.key == "A-C" else ("A", "C")
            take = f"take {metal} um off along the side of {far if one.value > 0 else near}"
        else:
            what, true = f"corner {one.key}", "square"
            take = f"take {metal} um off face {second} {'away from' if one.value > 0 else 'at'} {first}"
        do = (
            network_words.not_yet(one)
            if not one.ranged
            else f"{take}{network_words.plus_minus(one)}, running out to zero"
            if sure(one)
            else f"leave it alone; it is {true} as far as the readings show"
        )
        said.append(f"{what}: {do}")
    return (
        (*said, "Make one of these cuts and read again: each changes two corners")
        if said
        else ("No face is determined.",)
    )
