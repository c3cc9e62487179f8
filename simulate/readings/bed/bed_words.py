"""What is said of a bed, and of two parts of one that are bolted together."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three, with_sign
from simulate.readings.bed.bed_features import in_order, joint_mm
from simulate.readings.bed.bed_network import BedRows
from simulate.readings.bed.bed_work import JointShims
from simulate.readings.bed.bodies import LEVEL, UPRIGHT
from simulate.readings.network import network_words
from simulate.readings.network.against_known import STRAIGHTEDGE
from simulate.readings.network.features import Feature
from simulate.readings.network.solve_heights import SolvedHeights


def first(read: BedRows, features: tuple[Feature, ...], kind: str) -> str:
    """Say in one sentence what the readings come to."""
    wanted = ("offset", "angle") if kind == "joint" else ("twist", "straightness")
    told = [one for name in wanted for one in features if one.told and one.name == name]
    what = " and ".join(in_order(read.bodies)) if kind == "joint" else " and ".join(read.bodies.ways)
    if not told:
        return f"{what}: the readings determine nothing yet."
    figures = ", ".join(
        f"{network_words.named(one)} {network_words.value_words(one)}"
        + (f" ({network_words.range_words(one)}, 95 %)" if one.ranged else "")
        for one in told[:4]
    )
    return f"{what}: {figures}."


def hidden(heights: SolvedHeights, read: BedRows) -> tuple[str, ...]:
    """Say what these readings of a bed cannot show."""
    said = list(network_words.hidden_words(heights, _candidates(read)))
    laid = heights.network.laid
    if read.bow.any() and not (laid is not None and any(one.name == STRAIGHTEDGE for one in laid.references)):
        said.append(network_words.shared_words(heights, read.bow, "A straightedge that is proud by 1 um in its middle"))
    if (read.how == "strips").any() and not read.both_ways_round:
        said.append(
            "The winding strips were read one way only: their own parallelism error counts as twist. Change "
            "them over, and the mean of both is free of it."
        )
    said.append("A bed bolted down or on other feet has another shape; these readings hold for the bed as read.")
    said.append("What lies between two places of a way is unknown.")
    return tuple(said)


def shim_words(shims: JointShims | None, read: BedRows) -> tuple[str, ...]:
    """Say which shim goes under which bolt, how far the part is pushed aside, and what remains."""
    if shims is None:
        if not read.bolts:
            return ("Give the bolts of the second part (how: bolt, with x_mm and y_mm), and the shims follow.",)
        return ("The readings do not show how the second part lies relative to the first, so no shims can be given.",)
    said = []
    for one in shims.thickness:
        said.append(f"{shims.part}, bolt at {one.of}: shim {three(max(one.value, 0.0))} um{_range(one)}")
    for one in shims.aside:
        move = f"move it sideways by {with_sign(one.value)} um{_range(one)}; plus is outwards, as for a proud side"
        said.append(f"{shims.part}, bolt at {one.of}: {move}")
    if shims.left_um > 0.05:
        said.append(
            f"No shim can be thinner than zero: with these, {shims.part} is {three(shims.left_um)} um too high "
            "along its whole length. Take that off its feet, or put it under the other part"
        )
    else:
        said.append(f"With these, {shims.part} continues the other part; bolt it down evenly, and read the joint again")
    return tuple(said)


def _range(one: Feature) -> str:
    return network_words.plus_minus(one) or " (its range is not known: take more readings first)"


def joint_place(read: BedRows) -> str:
    """Say where offset and angle are counted."""
    return f"Offset and angle are counted at x {joint_mm(read.bodies):g} mm, midway between the parts' last places."


def _candidates(read: BedRows) -> dict[str, np.ndarray]:
    """Shapes that readings of a bed often leave unseen, by their sentence."""
    bodies = read.bodies
    body = bodies.of_point
    u = read.network.own[:, 1]
    shapes: dict[str, np.ndarray] = {}
    parts = in_order(bodies)
    keys = [bodies.keys[k] for k in body]
    if len(parts) == 2:
        for plane in (UPRIGHT, LEVEL):
            mine = np.array([key[0] == parts[1] and key[2] == plane for key in keys], float)
            over = mine * read.network.rigid[:, 2]
            for what, shape in (("how high", mine), ("how steep", mine * u), ("how far to the side", over)):
                where = "" if plane == UPRIGHT else " in the horizontal plane"
                against = f"{parts[1]} lies relative to {parts[0]}{where}"
                shapes[f"Nothing shows {what} {against}: lay a straightedge over the joint."] = shape
    whole = [("", np.ones(body.size, bool))]
    for of, within in whole + [(f" of {part}", np.array([key[0] == part for key in keys])) for part in parts if part]:
        back = within & np.array([len(bodies.ways) == 2 and key[1] == bodies.ways[-1] for key in keys])
        upright = back & np.array([key[2] == UPRIGHT for key in keys])
        level = back & ~upright
        sweep = "sweep a dial from one way to the other"
        shapes[f"Twist{of} stays unseen: no reading crosses from way to way."] = upright * u
        shapes[f"Whether the sides{of} are parallel stays unseen: {sweep}."] = level * u
        shapes[f"How far the sides{of} are apart is not known, and not needed."] = level * 1.0
    return shapes
