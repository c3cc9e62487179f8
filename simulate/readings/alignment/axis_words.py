"""What is said of axes that a test bar was read in."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three, with_sign
from simulate.method.machine.headstock import bar_sag_um
from simulate.readings.alignment.axis_network import LEVEL, SAG_SD, UPRIGHT, AxisRows, key
from simulate.readings.alignment.told import sure
from simulate.readings.network import network_words
from simulate.readings.network.features import Feature
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.table.readings import PLANE_WORDS

HEAVY = "A headstock or a tailstock is heavy: use a hoist, keep to the local rules, and put no hand under it."
_THICK_MM = 30.0


def hidden(heights: SolvedHeights, read: AxisRows) -> tuple[str, ...]:
    """Say what a test bar read like this cannot show."""
    return (
        *network_words.hidden_words(heights, _candidates(read)),
        *(
            f"{name} at {x:g} mm: the bar was read in one position only. Its own error there is not known, so the "
            "reading does not count. Give it half a turn, and read it again."
            for name, x in read.one_way
        ),
        *_sag(read),
        *(
            (
                "Bars of different diameters in headstock and tailstock put half the difference into the offset, and "
                "no reading would reveal it.",
            )
            if len(read.order) > 1
            else ()
        ),
        "Readings half a turn apart do not show that a bar is not round.",
        "Everything is counted from the path of the carriage: where the bed is worn or bent, the dial follows it.",
    )


def _sag(read: AxisRows) -> list[str]:
    said = []
    for axis in read.order:
        name = key(axis, UPRIGHT)
        if name not in read.axes.names:
            continue
        if read.bars[axis] is not None:
            said.append(
                f"The sag of the bar on {axis} was corrected as for a plain steel bar, to within "
                f"{100 * SAG_SD:.0f} % (one standard deviation); a hollow or stepped bar sags differently."
            )
            continue
        ends = np.array(read.axes.ends_mm[read.axes.names.index(name)])
        reach = float(np.abs(ends - read.datum_mm[axis]).max())
        if reach > 1.0:
            said.append(
                f"The sag of the bar of {axis} was not corrected for: its diameter_mm, length_mm and held_mm are not "
                f"given. A steel bar of {_THICK_MM:g} mm sags by "
                f"{three(-float(bar_sag_um(reach, _THICK_MM, reach)))} um at {reach:g} mm, and the axis looks too low "
                "by that much there."
            )
    return said


def _candidates(read: AxisRows) -> dict[str, np.ndarray]:
    """Shapes that such readings often leave unseen, by their sentence."""
    shapes = {}
    for plane in (UPRIGHT, LEVEL):
        if len(read.order) == 2 and all(read.has(axis, plane) for axis in read.order):
            head, tail = read.order
            shapes[
                f"Nothing shows how {'high' if plane == UPRIGHT else 'far to the side'} {tail} "
                f"lies relative to {head}: "
                f"read both in the {PLANE_WORDS[plane]} plane with the same zero of the dial."
            ] = read.axes.on(key(tail, plane))
        for axis in read.order:
            name = key(axis, plane)
            if name in read.axes.names and read.axes.has_slope(name):
                where = read.axes.slope(name) != 0
                shapes[
                    f"Nothing shows how {axis} runs in the {PLANE_WORDS[plane]} plane: read the bar at two places, "
                    "each before and after half a turn."
                ] = where * np.cumsum(where) - 1.5 * where
    return shapes


def work_words(
    features: tuple[Feature, ...], work: tuple[Feature, ...], read: AxisRows, left_um: float
) -> tuple[str, ...]:
    """Say what goes under which foot, how far a headstock is swung, and by how much the tailstock is set over."""
    said = []
    told = {one.key: one for one in features if one.name == "parallelism" and one.told}
    for axis in read.order:
        mine = [one for one in work if one.key == axis]
        if axis not in read.feet and any(key(axis, plane) in told for plane in (UPRIGHT, LEVEL)):
            said.append(
                f"Say where the feet of {axis} stand (rows with foot in the column plane), and the shims follow"
            )
        for one in mine:
            plane = UPRIGHT if one.name == "shim" else LEVEL
            turn = told.get(key(axis, plane))
            if not one.ranged:
                what = one if one.name == "set-over" or turn is None else turn
                said.append(f"{key(axis, plane)}: {network_words.not_yet(what)}")
            elif axis == read.order[0] and turn is not None and not sure(turn):
                said.append(f"{key(axis, plane)}: leave it alone; its error is within the uncertainty of the readings")
            elif one.name == "set-over":
                half = network_words.plus_minus(one)
                away = f"set it over by {with_sign(one.value)} um{half}; plus is towards the tool"
                said.append(f"{one.of}: {away if sure(one) else f'leave it alone{half}'}")
            elif one.name == "swing":
                said.append(
                    f"{key(axis, LEVEL)}: keep its other foot tight. Swing it until a dial at the "
                    f"foot at {read.feet[axis][1]:g} mm has moved by {with_sign(one.value)} um"
                    f"{network_words.plus_minus(one)}; plus is towards the tool"
                )
            else:
                said.append(f"{one.of}: shim {three(max(one.value, 0.0))} um{network_words.plus_minus(one)}")
    if left_um > 0.05:
        said.append(
            f"No shim can be thinner than zero: {read.order[1]} is then still {three(left_um)} um too high. Take that "
            "off its feet, or raise the headstock by as much"
        )
    return tuple(dict.fromkeys(said)) or ("Nothing to shim or swing: no axis is determined.",)
