"""What a test bar in headstock, tailstock or both says: how each axis runs, shims, swing, and offset."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.method.machine.cross_slide import swing
from simulate.method.machine.headstock import Axis, shims
from simulate.readings.adjustment.next_reading import Candidate
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.alignment import axis_words as words
from simulate.readings.alignment.axis_network import LEVEL, UPRIGHT, AxisRows, axis_rows, key
from simulate.readings.alignment.straight import Aligned, candidate, next_of_straight
from simulate.readings.alignment.told import SECURED, first_of, refuse_untold, stop_of, told, worst_of
from simulate.readings.network.features import Feature, Limit, linear
from simulate.readings.network.solve_heights import SolvedHeights, solve_heights
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.readings import PLANE_WORDS, AlignmentReadings
from simulate.surface.tolerances.lathe import ISO_1708

FROM_MEMORY = "ISO 1708\u2020"
OVER_MM = 300.0
"""Length over which an axis is said to be out of parallel, that of the published limit."""


@dataclass(frozen=True, kw_only=True)
class SolvedAxes(Aligned):
    """How a headstock, a tailstock or both stand to the path of the carriage, and what puts them right.

    `left_um`: how far the tail then stands too high: nothing goes under a foot that would have to come down.
    """

    left_um: float = 0.0


def solve_head(table: AlignmentReadings, reading_sd_um: float | None = None, round: int | None = None) -> SolvedAxes:
    """Work out how the axes of a headstock and a tailstock stand, from a test bar that was turned half round.

    `table`: what `read_readings` gives for ``axis, plane, x_mm, turned, dial_um``. `reading_sd_um`: of one dial
    reading; found from what the readings leave over without it. `round`: the last of the file where it is not said.
    Returns: what it cannot see: a bar that is not round, a carriage whose path is not straight, and bars of different
    diameters in headstock and tailstock.

    Derived: what turns with the bar enters a reading once plus and once minus, so that at each place the mean of both
    is the axis (`turned_bar`); it is a straight line through two places or more. The sag of the bar, a cantilever under
    its own weight (`bar_sag_um`), does not turn with it and is put back.
    """
    needs(table, "head")
    read = axis_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um"))
    return _solved(read)


def _solved(read: AxisRows) -> SolvedAxes:
    heights = solve_heights(read.network)
    features = (*_turns(heights, read), *_offsets(heights, read))
    refuse_untold(
        heights,
        features,
        "an axis read at two places or more, at each of them before and after half a turn of the spindle",
        "Give the bar half a turn, read the same places again, and write yes in the column turned",
    )
    work, left = _work(heights, read, features)
    return SolvedAxes(heights=heights, features=features, work=work, left_um=left)


def of_head(
    table: AlignmentReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
) -> Findings:
    """Say what a test bar in a headstock, a tailstock or both says."""
    needs(table, "head")
    read = axis_rows(of_round(table, round), given_sd(reading_sd_um, "reading_sd_um"))
    found = _solved(read)
    following = next_of_straight(found.heights, _further(read, found.heights))
    return told(
        "head",
        found,
        first=first_of(found.features, "the readings determine no axis yet"),
        hidden=words.hidden(found.heights, read),
        following=following,
        cut=words.work_words(found.features, found.work, read, found.left_um),
        stop=stop_of(
            found.heights, found.features, target_um, "alignment", "true", following.name if following else ""
        ),
        form_um=worst_of(found.features),
        care=(words.HEAVY, SECURED),
    )


def _turns(heights: SolvedHeights, read: AxisRows) -> list[Feature]:
    """How far the free end of a bar of 300 mm is off."""
    found = []
    for axis in read.order:
        for plane in (UPRIGHT, LEVEL):
            if not read.has(axis, plane) or not read.axes.has_slope(key(axis, plane)):
                continue
            limit = ISO_1708[f"axis in the {PLANE_WORDS[plane]} plane"]
            found.append(
                linear(
                    heights,
                    read.away[axis] * OVER_MM * read.axes.slope(key(axis, plane)),
                    "parallelism",
                    "um",
                    f"{key(axis, plane)}, over {OVER_MM:g} mm",
                    None if axis != read.order[0] else Limit(low=limit.low_um, high=limit.high_um, source=FROM_MEMORY),
                    key=key(axis, plane),
                )
            )
    return found


def _offsets(heights: SolvedHeights, read: AxisRows) -> list[Feature]:
    """How far the tailstock's axis is above or beside that of the headstock, each where it holds its bar."""
    if len(read.order) < 2:
        return []
    head, tail = read.order
    limit = ISO_1708["height of the tailstock over the headstock"]
    return [
        linear(
            heights,
            _datum(read, tail, plane) - _datum(read, head, plane),
            "offset",
            "um",
            f"{tail} against {head}, {PLANE_WORDS[plane]} plane",
            Limit(low=limit.low_um, high=limit.high_um, source=FROM_MEMORY) if plane == UPRIGHT else None,
        )
        for plane in (UPRIGHT, LEVEL)
        if read.has(head, plane) and read.has(tail, plane)
    ]


def _datum(read: AxisRows, axis: str, plane: str) -> np.ndarray:
    return read.axes.at(key(axis, plane), read.datum_mm[axis])


def _work(heights: SolvedHeights, read: AxisRows, features: tuple[Feature, ...]) -> tuple[tuple[Feature, ...], float]:
    """Shims under the feet, how far a headstock is swung, and by how much the tailstock stays too high."""
    turn = {one.key: one for one in features if one.name == "parallelism"}
    found: list[Feature] = []
    for number, axis in enumerate(read.order):
        if axis not in read.feet:
            continue
        first, second = read.feet[axis]
        for plane in (UPRIGHT, LEVEL):
            one = turn.get(key(axis, plane))
            if one is None or not one.told or (number and plane == UPRIGHT):
                continue
            mrad = read.away[axis] * one.value / OVER_MM
            axis_now = Axis(np.zeros(()), np.zeros(()), np.array(1000.0 * mrad), np.zeros(()))
            half = one.half * (second - first) / OVER_MM
            if plane == LEVEL:
                move = float(swing(axis_now, first, second).move_um)
                found.append(_feature("swing", axis, second, move, half))
            else:
                under = shims(axis_now, [first, second]).thickness_um
                at, thick = (first, second)[int(np.argmax(under))], float(np.ptp(under))
                found.append(_feature("shim", axis, at, thick, half))
    tail, left = _tail_shims(heights, read, turn)
    return (*found, *tail, *_set_over(heights, read)), left


def _feature(name: str, axis: str, foot_mm: float, value: float, half: float) -> Feature:
    low, high = value - half, value + half
    return Feature(name=name, of=_foot(axis, foot_mm), value=value, low_95=low, high_95=high, unit="um", key=axis)


def _foot(axis: str, foot_mm: float) -> str:
    return f"{axis}, foot at {foot_mm:g} mm"


def _tail_shims(heights: SolvedHeights, read: AxisRows, turn: dict[str, Feature]) -> tuple[list[Feature], float]:
    """What goes under the tailstock so that it lies in the headstock's axis, once that has its own shim."""
    if len(read.order) < 2 or read.order[1] not in read.feet:
        return [], 0.0
    head, tail = read.order
    if not all(read.has(axis, UPRIGHT) and read.axes.has_slope(key(axis, UPRIGHT)) for axis in read.order):
        return [], 0.0
    wanted = _datum(read, head, UPRIGHT)
    if head in read.feet:  # the headstock turns about the foot that gets no shim
        about = read.feet[head][1 if read.away[head] * turn[key(head, UPRIGHT)].value > 0 else 0]
        wanted = read.axes.at(key(head, UPRIGHT), about)
    moves = [
        linear(heights, wanted - read.axes.at(key(tail, UPRIGHT), foot), "shim", "um", _foot(tail, foot), key=tail)
        for foot in read.feet[tail]
    ]
    if not all(one.told for one in moves):
        return [], 0.0
    left = max(-min(one.value for one in moves), 0.0)
    return [
        replace(one, value=one.value + left, low_95=one.low_95 + left, high_95=one.high_95 + left) for one in moves
    ], left


def _set_over(heights: SolvedHeights, read: AxisRows) -> list[Feature]:
    """How far the tailstock moves aside into the headstock's axis, each swung about the foot that is held."""
    if len(read.order) < 2 or not all(read.has(axis, LEVEL) for axis in read.order):
        return []
    head, tail = (
        read.axes.at(key(axis, LEVEL), read.feet[axis][0]) if axis in read.feet else _datum(read, axis, LEVEL)
        for axis in read.order
    )
    found = linear(heights, head - tail, "set-over", "um", key(read.order[1], LEVEL), key=read.order[1])
    return [found] if found.told else []


def _further(read: AxisRows, heights: SolvedHeights) -> list[Candidate]:
    """Give every axis again in each plane, at every place both ways round."""
    found = []
    for name in read.axes.names:
        rows = {}
        for one in (one for one in read.readings if one.group == name):
            for way in (1.0, -1.0):
                zeros = {k: way * abs(v) if k == one.turns else v for k, v in one.zeros.items()}
                rows[tuple(sorted(zeros.items()))] = replace(one, zeros=zeros)
        again = "" if any(axis == name for axis, _ in read.one_way) else " again"
        found.append(candidate(f"the bar before and after half a turn{again} ({name})", list(rows.values()), heights))
    return found
