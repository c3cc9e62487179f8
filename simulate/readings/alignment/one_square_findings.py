"""What proves one square against itself: scribed lines, light beside a strip, a dial up a column, a roller."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.alignment import one_square_words as words
from simulate.readings.alignment.straight import (
    Reading,
    Straight,
    candidate,
    ends_of,
    next_of_straight,
    straight_network,
)
from simulate.readings.alignment.told import first_of, half_of, refuse_untold, stop_of, told, worst_of
from simulate.readings.network import network_words
from simulate.readings.network.features import Feature, Limit, linear
from simulate.readings.network.heights import Network, instrument_of
from simulate.readings.network.solve_heights import SolvedHeights, solve_heights
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.squares.solve_squares import SolvedSquares
from simulate.readings.squares.square_cut import square_cut
from simulate.readings.table.readings import AlignmentReadings
from simulate.surface.tolerances.edge_grades import square_limits_um

SQUARE = "the square"
_BASE = "the flat or the edge under the base"
_TOOLS = ("the gap", "the dial", "the scribed line")
_USUAL = (2.0, 2.0, 15.0)
"""What one reading of each is usually good to, um (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class SolvedOneSquare(SolvedSquares):
    """One square proved against itself; a reference for other squares, as any that was solved among them.

    `heights`: of the blade at its lowest and its highest place. `features`: how far it is out up to where it was
    read, and its angle. `work`: empty: the wedge that comes off is in `Findings.map`.
    """

    heights: SolvedHeights
    features: tuple[Feature, ...]
    work: tuple[Feature, ...] = ()


@dataclass(frozen=True, kw_only=True)
class SquareRows:
    """Readings that prove one square, put against its blade.

    `ways`: how each gauge was turned. `taper_said`: whether every strip and roller has a taper. `base_sd_urad`: nan
    where it is not said.
    """

    network: Network
    blade: Straight
    readings: tuple[Reading, ...]
    ways: dict[str, set]
    taper_said: bool
    base_sd_urad: float


def solve_one_square(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    *,
    feel_um: float | None = None,
) -> SolvedOneSquare:
    """Prove one square by turning it over, or the gauge that it is held against.

    `table`: what `read_readings` gives for ``by, height_mm, turned`` and ``gap_um`` (strip, roller), ``apart_um``
    (line) or ``dial_um`` (dial); ``taper_um, taper_sd_um`` say by how much a strip or a roller is wider at the lowest
    height read than at the highest, ``base_sd_um_m`` how true the flat under the base is. `reading_sd_um`: of one point
    reading; found from what the readings leave over without it. `round`: the last of the file where it is not said.
    `feel_um`: of gaps that are intervals: one standard deviation of the gap at which a blade is felt to go. Returns:
    what it cannot see: a flat that is bent, a taper that was not measured, a roller that is a barrel, and a blade that
    is bent, whose bend counts as scatter about its line.

    Reversal, m1 = M + S and m2 = M - S (C. Evans, R. Hocken, W. Estler, CIRP Annals 45/2, 1996, from memory).
    The equations are those of `reverse_square`, `reverse_by_light` and `solve_cylinder`, all heights in one adjustment.
    """
    needs(table, "one square")
    return _solved(_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um")), feel_um)


def _rows(table: AlignmentReadings, sd_um: float | None) -> SquareRows:
    blade = Straight(names=(SQUARE,), ends_mm=(ends_of(table.x_mm),))
    if not blade.has_slope(SQUARE):
        raise Refusal(
            "count",
            where=table.source,
            found=f"readings at one height, {table.x_mm[0]:g} mm",
            must_be="readings at two heights or more, as far apart as the blade is high",
        )
    base = float(table.base_sd_urad[0])
    known = {_BASE} if base > 0 else set()
    readings = tuple(_reading(table, blade, i, known) for i in range(len(table)))
    ways: dict[str, set] = {}
    for i in range(len(table)):
        way = table.turn_deg[i] if table.how[i] == "roller" else bool(table.turned[i])
        ways.setdefault(str(table.how[i]), set()).add(way)
    tapered = np.isin(table.how, ("strip", "roller"))
    tools = tuple(
        instrument_of(
            name,
            "um",
            np.where(_tool(table) == k, table.gap_um if k == 0 else table.dial_um, np.nan),
            sd_um,
            table.last_digit,
            _USUAL[k],
        )
        for k, name in enumerate(_TOOLS)
    )
    return SquareRows(
        network=straight_network(table, blade, readings, tools, [blade.on(SQUARE)], known),
        blade=blade,
        readings=readings,
        ways=ways,
        taper_said=bool(np.isfinite(table.taper_um[tapered]).all()),
        base_sd_urad=base,
    )


def _tool(table: AlignmentReadings) -> np.ndarray:
    return np.where(table.how == "dial", 1, np.where(table.how == "line", 2, 0))


def _reading(table: AlignmentReadings, blade: Straight, i: int, known: set[str]) -> Reading:
    by, height = str(table.how[i]), float(table.x_mm[i])
    first, last = blade.ends_mm[0]
    degrees, set_up = float(table.turn_deg[i]), str(table.set_up[i])
    turned = f"turned {degrees:g} degrees" if by == "roller" else "turned over" if table.turned[i] else "as first laid"
    group = (f"by {by}" if by == "line" else f"by {by}, {turned}") + f" {set_up}".rstrip()
    lift, twice, base = height / 1000.0, 2.0 if by == "line" else 1.0, float(table.base_sd_urad[i])
    zeros = {f"start, {group}": 1.0} | ({_BASE: twice * lift * base} if _BASE in known else {})
    if by == "roller":
        part = np.radians(degrees)
        for mark, share in ((0, np.cos(part)), (90, np.sin(part))):
            if abs(share) > 1e-9:  # half a turn on, the roller leans neither more nor less towards its mark 90
                zeros[f"lean of the roller towards its mark {mark}"] = lift * float(share)
    elif by != "line":
        zeros[f"lean of the {'column' if by == 'dial' else 'strip'}"] = -lift if table.turned[i] else lift
    shift = 0.0
    if by in ("strip", "roller") and np.isfinite(table.taper_um[i]):
        share = (height - first) / (last - first) / 2
        shift = float(table.taper_um[i]) * share
        if table.taper_sd_um[i] > 0:
            zeros[f"taper of the {by}"] = share * float(table.taper_sd_um[i])
            known.add(f"taper of the {by}")
    tool = int(_tool(table)[i])
    low, high = (float(end[i]) for end in ((table.low_um, table.high_um) if tool == 0 else [table.dial_um] * 2))
    return Reading(
        row=int(table.row[i]),
        group=group,
        heights=twice * blade.at(SQUARE, height),
        low=low - shift,
        high=high - shift,
        zeros=zeros,
        tool=tool,
        key=by,
    )


def _solved(read: SquareRows, feel_um: float | None = None) -> SolvedOneSquare:
    heights = solve_heights(read.network, feel_um)
    first, last = read.blade.ends_mm[0]  # the limit is of the whole blade, which stands on its foot
    grades = square_limits_um(last)
    angle = linear(heights, 1000.0 * read.blade.slope(SQUARE), "angle error", "um/m", SQUARE)
    out = linear(heights, last * read.blade.slope(SQUARE), "squareness", "um", f"over {last:g} mm")
    refuse_untold(
        heights,
        (angle,),
        "readings on both sides of the strip or the column, by two scribed lines, or with the roller half a turn on",
        "Turn the square over, or turn the roller further, read the same heights again, and say so in the column "
        "turned",
    )
    grade = next((name for name, most in grades.items() if abs(out.value) <= most), list(grades)[-1])
    limit = Limit(low=-grades[grade], high=grades[grade], source=f"DIN 875 grade {grade}")
    out = Feature(**{**vars(out), "limit": limit})
    weights = 1000.0 * read.blade.slope(SQUARE)
    variance = float(weights @ heights.covariance @ weights)
    ranged = angle.ranged
    low, high = (np.array([end]) if ranged else None for end in (angle.low_95, angle.high_95))
    sd = float(np.sqrt(max(variance, 0.0)))
    factor = float(half_of([angle])[0]) / sd if ranged and sd > 0 else 1.96 if ranged else float("inf")
    return SolvedOneSquare(
        names=(SQUARE,),
        angle_urad=np.array([angle.value]),
        sd_urad=np.array([sd]),
        covariance=np.array([[variance]]),
        residual_um=heights.residual,
        reading_sd_um=heights.spreads.sd[0],
        low_urad=None,
        high_urad=None,
        sentence=first_of((out, angle), ""),
        factor_95=factor,
        sd_from=heights.sd_from,
        round=read.network.round,
        freedom=heights.freedom,
        read_mm=np.array([[first, last]]),
        low_95_urad=low,
        high_95_urad=high,
        whole_low_95_urad=low,
        whole_high_95_urad=high,
        settled=np.array([True]),
        height_mm=np.array([first, last]),
        against=heights.against,
        heights=heights,
        features=(out, angle),
    )


def of_one_square(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
) -> Findings:
    """Say what readings that prove one square say."""
    needs(table, "one square")
    read = _rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um"))
    found = _solved(read, feel_um)
    heights, angle = found.heights, found.features[1]
    again = [
        candidate(f"the square {name} again", [one for one in read.readings if one.group == name], heights)
        for name in read.network.groups
    ]
    whole = [
        candidate(
            f"the square by {by} in every position, again", [one for one in read.readings if one.key == by], heights
        )
        for by in read.ways
        if by != "line"
    ]
    following = next_of_straight(heights, [*again, *whole])
    tall = read.blade.ends_mm[0][1]
    cut = square_cut((SQUARE,), found.angle_urad, found.sd_urad, tall, found.factor_95)
    return told(
        "one square",
        found,
        first=found.sentence,
        hidden=words.hidden(heights, read.ways, read.taper_said, read.base_sd_urad),
        following=following,
        cut=cut.sentences if angle.ranged else (f"The square: {network_words.not_yet(found.features[0])}",),
        stop=stop_of(heights, found.features[:1], target_um, "square", "true", following.name if following else ""),
        form_um=worst_of(found.features[:1]),
        map=cut,
    )
