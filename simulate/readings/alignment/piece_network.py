"""A piece read by micrometer, and by a square on its corners: thickness at places, or how its four faces stand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.method.squares.faces import FACES
from simulate.readings.alignment.straight import Reading, Straight, straight_network
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.places import flat_rigid, rough_places, scaled
from simulate.readings.survey.union_jack_lines import distinct_places
from simulate.readings.table.readings import AlignmentReadings
from simulate.readings.table.size_limit import refuse_too_many

SQUARE = "the square"
CORNERS = ("A-B", "B-C", "C-D", "D-A")
OPPOSITE = {"A-C": ("A-B", "B-C"), "B-D": ("D-A", "A-B")}
"""Opposite faces, and the two corners at the side that their places across are counted from: that of B, that of A."""


@dataclass(frozen=True, kw_only=True)
class PieceRows:
    """Readings of a piece, put against its thickness at each place, or against its corners.

    `network`: heights are the thickness over `nominal_um`, or by how much each corner is too wide, um in a metre.
    `corners`: the corners, and the square where nothing is known of it; None where one pair of faces was read at
    places. `readings`: of corners and faces; empty otherwise. `read`: corners and pairs of faces that were read.
    `reach_mm`: greatest distance across that was read.
    """

    network: Network
    corners: Straight | None
    readings: tuple[Reading, ...]
    nominal_um: float
    read: tuple[str, ...]
    reach_mm: float


def corner(corners: Straight, name: str) -> np.ndarray:
    """Give what a corner's excess, um in a metre, takes of each height; the four of them make a full turn.

    >>> three = Straight(names=CORNERS[:3], ends_mm=((0.0,),) * 3)
    >>> corner(three, "B-C").tolist(), corner(three, "D-A").tolist()
    ([0.0, 1.0, 0.0], [-1.0, -1.0, -1.0])
    """
    if name == CORNERS[-1]:
        return -sum((corners.at(one, 0.0) for one in CORNERS[:-1]), np.zeros(corners.points))
    return corners.at(name, 0.0)


def parallel(corners: Straight, pair: str) -> np.ndarray:
    """Give what the slope of two opposite faces to each other, um in a metre, takes of each height."""
    one, two = OPPOSITE[pair]
    return corner(corners, one) + corner(corners, two)


def piece_rows(table: AlignmentReadings, reading_sd_um: float | None = None) -> PieceRows:
    """Put readings of a piece against its thickness, or against its corners.

    `table`: one round. `reading_sd_um`: of one point reading; found from what the readings leave over without it.
    """
    if len(table.names) == 1 and (table.how == "micrometer").all():
        return _one_pair(table, reading_sd_um)
    return _faces(table, reading_sd_um)


def _one_pair(table: AlignmentReadings, sd_um: float | None) -> PieceRows:
    refuse_too_many(table, rough_places(table.x_mm, table.y_mm), f"faces {table.names[0]}")
    point, x, y = distinct_places(table.x_mm, table.y_mm, 0.5)
    refuse_too_many(table, x.size, f"faces {table.names[0]}")
    count, nominal = len(table), float(np.round(np.median(table.thickness_um), 3))
    design = np.zeros((count, x.size))
    design[np.arange(count), point] = 1.0
    figure = table.thickness_um - nominal
    network = Network(
        source=table.source,
        round=int(table.round[0]),
        bodies=(table.names[0],),
        body=np.zeros(x.size, int),
        x_mm=x,
        y_mm=y,
        rigid=np.zeros((x.size, 0)),
        own=flat_rigid(x, y),
        shape_at=scaled(x, y),
        design=design,
        low=figure,
        high=figure,
        instrument=np.zeros(count, int),
        instruments=(instrument_of("the micrometer", "um", table.thickness_um, sd_um, table.last_digit),),
        group=np.zeros(count, int),
        groups=(f"the faces {table.names[0]}",),
        row=table.row,
        along_mm=np.full(count, np.nan),
        laying=np.full(count, -1),
    )
    return PieceRows(
        network=network,
        corners=None,
        readings=(),
        nominal_um=nominal,
        read=table.names,
        reach_mm=float(np.ptp(y)),
    )


def _faces(table: AlignmentReadings, sd_um: float | None) -> PieceRows:
    pairs = [_pair(table, i) for i in range(len(table))]
    wide, sd = float(table.square_urad[0]), float(table.square_sd_urad[0])
    said = bool(np.isfinite(sd))
    known = {SQUARE} if said and sd > 0 else set()
    asked = (*CORNERS[:-1], *((SQUARE,) if not said and "square" in table.how else ()))
    corners = Straight(names=asked, ends_mm=((0.0,),) * len(asked))
    readings = tuple(
        _gauged(table, i, pair, corners)
        if table.how[i] == "micrometer"
        else _squared(table, i, pair, corners, wide if np.isfinite(wide) else 0.0, said, bool(known))
        for i, pair in enumerate(pairs)
    )
    tools = tuple(
        instrument_of(name, "um", np.where(table.how == how, column, np.nan), sd_um, table.last_digit, usual)
        for name, how, column, usual in (
            ("the micrometer", "micrometer", table.thickness_um, 1.0),
            ("the gap under the square", "square", table.gap_um, 3.0),
        )
    )
    return PieceRows(
        network=straight_network(table, corners, readings, tools, [], known),
        corners=corners,
        readings=readings,
        nominal_um=0.0,
        read=tuple(one for one in (*CORNERS, *OPPOSITE) if one in pairs),
        reach_mm=_reach(table, pairs),
    )


def _pair(table: AlignmentReadings, i: int) -> str:
    """Name a pair of faces as `CORNERS` and `OPPOSITE` do."""
    where = f"{table.source}, row {table.row[i]}"
    first, second = str(table.face[i]).upper(), str(table.against[i]).upper()
    if first not in FACES or second not in FACES or first == second:
        raise Refusal(
            "table",
            where=where,
            found=f"faces {str(table.face[i])!r} and {str(table.against[i])!r} appear among other pairs",
            must_be="two of A, B, C and D, in order round the piece",
        )
    found = next(one for one in (*CORNERS, *OPPOSITE) if {first, second} == set(one.split("-")))
    if (found in OPPOSITE) != (table.how[i] == "micrometer"):
        raise Refusal(
            "act",
            where=where,
            found=f"{'a micrometer' if table.how[i] == 'micrometer' else 'a square'} on faces {first} and {second}",
            must_be="a micrometer on opposite faces (A and C, B and D), and a square on neighbours",
        )
    return found


def _gauged(table: AlignmentReadings, i: int, pair: str, corners: Straight) -> Reading:
    y = float(table.y_mm[i])
    figure = float(table.thickness_um[i])
    return Reading(
        row=int(table.row[i]),
        group=f"the micrometer over {pair}",
        heights=parallel(corners, pair) * y / 1000.0,
        low=figure,
        high=figure,
        zeros={f"thickness {pair}": 1.0, f"taper along {pair}": float(table.x_mm[i]) / 100.0},
    )


def _squared(
    table: AlignmentReadings, i: int, pair: str, corners: Straight, wide_urad: float, said: bool, known: bool
) -> Reading:
    lift, x = float(table.y_mm[i]) / 1000.0, float(table.x_mm[i])
    heights, zeros = corner(corners, pair) * lift, {f"start on {pair} at {x:g} mm": 1.0}
    if not said:
        heights = heights - corners.at(SQUARE, 0.0) * lift
    elif known:
        zeros[SQUARE] = -lift * float(table.square_sd_urad[i])
    low, high = float(table.low_um[i]) + wide_urad * lift, float(table.high_um[i]) + wide_urad * lift
    return Reading(
        row=int(table.row[i]),
        group=f"the square on {pair}",
        heights=heights,
        low=low,
        high=high,
        zeros=zeros,
        tool=1,
        key=pair,
    )


def _reach(table: AlignmentReadings, pairs: list[str]) -> float:
    """How far across the faces were read, at the most."""
    wide = [float(np.ptp(table.y_mm[[own == pair for own in pairs]])) for pair in dict.fromkeys(pairs)]
    if max(wide) < 0.5:
        raise Refusal(
            "count",
            where=table.source,
            found="each pair of faces read at one place across",
            must_be="readings at two places across or more, as far apart as the faces are wide",
        )
    return max(wide)
