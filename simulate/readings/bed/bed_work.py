"""What to do about a bed: where metal comes off each way, and which shims go under the bolts of a joint."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.bed.bed_features import in_order, joined_pairs
from simulate.readings.bed.bed_network import BedRows
from simulate.readings.bed.bodies import LEVEL, UPRIGHT, Bodies
from simulate.readings.network.features import Feature, level_weights, linear
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.face_cut import FaceCut, face_cut


@dataclass(frozen=True, kw_only=True)
class JointShims:
    """What goes under the second part so that it carries the first one on.

    `part`: the part that is moved. `thickness`: under each bolt, none below 0; the range is that of how far the bolt
    has to rise. `aside`: how far each bolt moves in the level plane, plus towards proud; empty where that was not read.
    `left_um`: how far the part then stands too high: nothing goes under a foot that would have to come down.
    """

    part: str
    bolts: tuple[tuple[float, float], ...]
    thickness: tuple[Feature, ...]
    aside: tuple[Feature, ...]
    left_um: float


def joint_shims(heights: SolvedHeights, read: BedRows) -> JointShims | None:
    """Find the shims under the bolts of the second part; None where no bolt is named or the joint is not told.

    Derived: a bolt at x has to rise by what the second part's way lies below the first one's line there. With two ways
    the rise goes in proportion across; with one it is the same all across.
    """
    if not read.bolts:
        return None
    rises = [_rise(heights, read.bodies, x, y, UPRIGHT) for x, y in read.bolts]
    if any(one is None or not one.told for one in rises):
        return None
    told = [one for one in rises if one is not None]
    least = min(one.value for one in told)
    left = max(-least, 0.0)
    thickness = tuple(
        Feature(
            name="shim",
            of=one.of,
            value=one.value + left,
            low_95=one.low_95 + left,
            high_95=one.high_95 + left,
            unit="um",
        )
        for one in told
    )
    aside = [_rise(heights, read.bodies, x, y, LEVEL) for x, y in read.bolts]
    sides = tuple(one for one in aside if one is not None and one.told)
    return JointShims(
        part=in_order(read.bodies)[1],
        bolts=read.bolts,
        thickness=thickness,
        aside=sides if len(sides) == len(read.bolts) else (),
        left_um=left,
    )


def _rise(heights: SolvedHeights, bodies: Bodies, x: float, y: float, plane: str) -> Feature | None:
    """How far the second part has to move at a bolt."""
    pairs = [(a, b) for a, b in joined_pairs(bodies) if bodies.keys[a][2] == plane]
    pairs = [(a, b) for a, b in pairs if min(bodies.places[a].size, bodies.places[b].size) > 1]
    if not pairs:
        return None
    each = [
        level_weights(bodies.x_mm, bodies.places[a], x) - level_weights(bodies.x_mm, bodies.places[b], x)
        for a, b in pairs
    ]
    if len(each) == 2 and plane == UPRIGHT and np.isfinite(y):
        front = float(bodies.y_mm[bodies.places[pairs[0][0]][0]])
        back = float(bodies.y_mm[bodies.places[pairs[1][0]][0]])
        share = (y - front) / (back - front)
        weights = (1 - share) * each[0] + share * each[1]
    else:
        weights = np.mean(each, axis=0)
    where = f"x {x:g}" + (f", y {y:g}" if np.isfinite(y) else "") + " mm"
    return linear(heights, weights, "rise", "um", where)


def bed_cut(heights: SolvedHeights, read: BedRows) -> FaceCut:
    """Say where metal comes off: to one plane where the twist is told, otherwise each way to its own line."""
    bodies, net = read.bodies, heights.network
    plane = np.array([bodies.keys[k][2] for k in net.body])
    whole = [np.flatnonzero(plane == UPRIGHT)] if _coplanar(heights, bodies) else []
    rows = [("the bed", places, net.rigid[:, :3]) for places in whole]
    for k, places in enumerate(bodies.places):
        if places.size > 2 and not (whole and bodies.keys[k][2] == UPRIGHT):
            rows.append((bodies.named(k), places, net.own))
    cuts = []
    for name, places, carried in rows:
        height, sd = np.full((1, net.points), np.nan), np.full((1, net.points), np.nan)
        height[0, places], sd[0, places] = heights.height_um[places], heights.sd_um[places]
        cuts.append(face_cut((name,), net.x_mm, net.y_mm, height, sd, heights.factor_95, _firm(carried, places)))
    none = np.zeros((0, net.points))
    return FaceCut(
        names=tuple(one.names[0] for one in cuts),
        x_mm=net.x_mm,
        y_mm=net.y_mm,
        remove_um=np.vstack([none, *(one.remove_um for one in cuts)]),
        sd_um=np.vstack([none, *(one.sd_um for one in cuts)]),
        sure=np.vstack([none.astype(bool), *(one.sure for one in cuts)]),
        sentences=tuple(one.sentences[0] for one in cuts),
    )


def _coplanar(heights: SolvedHeights, bodies: Bodies) -> bool:
    """Whether one plane for all upright ways can be laid: two ways of one part, and nothing of them hidden."""
    upright = [k for k, key in enumerate(bodies.keys) if key[2] == UPRIGHT]
    if len(upright) != 2 or len({bodies.keys[k][0] for k in upright}) > 1:
        return False
    places = np.concatenate([bodies.places[k] for k in upright])
    return not len(heights.hidden) or float(np.abs(heights.hidden[:, places]).max()) < 1e-6


def _firm(carried: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Columns that can be told apart at these places."""
    left, size, right = np.linalg.svd(carried[places], full_matrices=False)
    return carried @ right[size > 1e-9 * max(size[0], 1e-300)].T
