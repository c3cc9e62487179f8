"""What a bed comes to: shape of each way, twist, parallelism, offset and angle of a joint, each beside its limit."""

from __future__ import annotations

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.bed.bodies import LEVEL, UPRIGHT, Bodies
from simulate.readings.network.features import Feature, Limit, crown_weights, level_weights, linear, slope_weights, zone
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.surface.tolerances.edge_grades import lathe_bed_limit_um
from simulate.surface.tolerances.lathe import ISO_1708

FROM_MEMORY = "ISO 1708\u2020"


def bed_features(heights: SolvedHeights, bodies: Bodies) -> tuple[Feature, ...]:
    """Give the form of every way, and how the two lie to each other in both planes."""
    found = []
    for k, places in enumerate(bodies.places):
        if places.size > 2:
            found.append(zone(heights, places, "straightness", bodies.named(k)))
            if bodies.keys[k][2] == UPRIGHT:
                weights = crown_weights(bodies.x_mm, places)
                found.append(linear(heights, weights, "crown", "um", bodies.named(k), crown_limit(bodies.x_mm[places])))
    for part in dict.fromkeys(key[0] for key in bodies.keys):
        found += [one for one in (_twist(heights, bodies, part), _running_out(heights, bodies, part)) if one]
    return tuple(found)


def joint_features(heights: SolvedHeights, bodies: Bodies) -> tuple[Feature, ...]:
    """Give offset and angle of the second part against the first, for each way in each plane that both were read in."""
    found = []
    for first, second in joined_pairs(bodies):
        of = bodies.named(second)
        at = joint_mm(bodies)
        a, b = bodies.places[first], bodies.places[second]
        if min(a.size, b.size) < 2:
            continue
        offset = level_weights(bodies.x_mm, b, at) - level_weights(bodies.x_mm, a, at)
        angle = (slope_weights(bodies.x_mm, b) - slope_weights(bodies.x_mm, a)) * 1000.0
        found.append(linear(heights, offset, "offset", "um", of))
        found.append(linear(heights, angle, "angle", "um/m", of))
    return tuple(found)


def joined_pairs(bodies: Bodies) -> list[tuple[int, int]]:
    """Give for each way and plane the body of the first part and that of the second."""
    parts = in_order(bodies)
    if len(parts) != 2:
        return []
    found = []
    for k, (part, way, plane) in enumerate(bodies.keys):
        if part == parts[0] and (parts[1], way, plane) in bodies.keys:
            found.append((k, bodies.keys.index((parts[1], way, plane))))
    return found


def in_order(bodies: Bodies) -> tuple[str, ...]:
    """Give the parts from left to right."""
    middle = {}
    for part in dict.fromkeys(key[0] for key in bodies.keys):
        mine = np.concatenate([p for p, key in zip(bodies.places, bodies.keys, strict=True) if key[0] == part])
        middle[part] = float(bodies.x_mm[mine].mean())
    return tuple(sorted(middle, key=lambda part: middle[part]))


def joint_mm(bodies: Bodies) -> float:
    """Give where the joint is: midway between the last place of the first part and the first of the second."""
    ends = []
    for part, take in zip(in_order(bodies), (np.max, np.min), strict=False):
        mine = np.concatenate([p for p, key in zip(bodies.places, bodies.keys, strict=True) if key[0] == part])
        ends.append(float(take(bodies.x_mm[mine])))
    return float(np.mean(ends))


def crown_limit(x_mm: np.ndarray) -> Limit | None:
    """Give how far a way may be convex; it may not be hollow at all."""
    try:
        return Limit(low=0.0, high=lathe_bed_limit_um(float(np.ptp(x_mm))), source=FROM_MEMORY)
    except Refusal:
        return None


def _pair(bodies: Bodies, part: str, plane: str) -> tuple[np.ndarray, np.ndarray] | None:
    if len(bodies.ways) < 2:
        return None
    keys = [(part, way, plane) for way in bodies.ways]
    if not all(key in bodies.keys for key in keys):
        return None
    front, back = (bodies.places[bodies.keys.index(key)] for key in keys)
    return (front, back) if min(front.size, back.size) > 1 else None


def _twist(heights: SolvedHeights, bodies: Bodies, part: str) -> Feature | None:
    """Change of the slope from the front way to the back one, over the length that both share."""
    pair = _pair(bodies, part, UPRIGHT)
    if pair is None:
        return None
    long = min(float(np.ptp(bodies.x_mm[one])) for one in pair)
    weights = (
        (slope_weights(bodies.x_mm, pair[1]) - slope_weights(bodies.x_mm, pair[0])) * long / bodies.apart_mm * 1000
    )
    limit = ISO_1708["twist of the bed"]
    return linear(
        heights,
        weights,
        "twist",
        "um/m",
        f"{part} over {long:g} mm".strip(),
        Limit(low=limit.low_um, high=limit.high_um, source=FROM_MEMORY),
    )


def _running_out(heights: SolvedHeights, bodies: Bodies, part: str) -> Feature | None:
    """How far the sides of the two ways run out of parallel in the level plane."""
    pair = _pair(bodies, part, LEVEL)
    if pair is None:
        return None
    long = min(float(np.ptp(bodies.x_mm[one])) for one in pair)
    weights = (slope_weights(bodies.x_mm, pair[1]) - slope_weights(bodies.x_mm, pair[0])) * long
    return linear(heights, weights, "parallelism of the sides", "um", f"{part} over {long:g} mm".strip())
