"""What makes a square lie: a base that is not flat, a blade that is not straight, an edge under it that is bent."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seating.bar_seat import rest
from simulate.core import checks


@dataclass(frozen=True)
class Standing:
    """How a square stands on its base.

    `tilt_urad` (...): what the base adds to the angle of the blade; positive leans the blade over its base. `rocks`
    (...) of bool: whether a light push tips it over onto other places.
    """

    tilt_urad: np.ndarray
    rocks: np.ndarray


def stand(x_mm: ArrayLike, base_um: ArrayLike, centre_mm: float | None = None) -> Standing:
    """Find how a square stands on a flat with a base of its own.

    `x_mm` (points,): places along the base, the blade at the last one. `base_um` (..., points): the underside; positive
    is proud, that is lower as it stands. `centre_mm`: where the square's weight acts; the middle of the base without
    it. Returns: what it cannot see: a base that is twisted, and a flat that is not flat.

    Derived: rigid bodies, two supports around the weight. A base that is proud in its middle rocks, and then
    stands as the hand left it.

    >>> float(stand([0, 50, 100], [0.0, -20.0, 5.0]).tilt_urad)
    50.0
    """
    found = rest(x_mm, base_um, centre_mm)
    return Standing(np.asarray(found.slope_um_per_mm * 1000.0)[()], found.rocks)


def bent_blade_error_urad(bow_um: ArrayLike, blade_mm: float, low_mm: float, high_mm: float) -> np.ndarray | float:
    """Say what a bent blade adds to an angle read at two heights.

    `bow_um`: how far the middle of the blade's edge is proud of the line from foot to top; below 0 where it is hollow.
    `blade_mm`: height of the blade. `low_mm`, `high_mm`: the two heights that are read. Returns: in urad; 0 where the
    two heights lie evenly about the middle, for an even bend.

    Derived for an even bend, 4 bow t (1 - t) with t the part of the height: the angle read is out by
    -4 bow (1 - t_low - t_high) / blade.

    >>> bent_blade_error_urad(10.0, 100.0, 0.0, 50.0).round(6)
    np.float64(-200.0)
    """
    bow, blade = checks.numbers(bow_um, "bow_um"), checks.number(blade_mm, "blade_mm", 0, above=True)
    low = checks.number(low_mm, "low_mm", 0, blade)
    high = checks.number(high_mm, "high_mm", low, blade, above=True)
    return (-4000 * bow * (1 - (low + high) / blade) / blade)[()]


def edge_error_urad(crown_um: ArrayLike, base_mm: float) -> np.ndarray | float:
    """Say what a bent edge under the base does to a reversal.

    `crown_um`: how far the edge is proud in its middle over the line of its ends, along twice the base: the base stands
    left of the middle once, and right of it once. `base_mm`: length of the base. Returns: added to the angle that a
    reversal finds.

    Derived: an even bend of crown c over twice the length slopes by c / base halfway along either side.

    >>> float(edge_error_urad(5.0, 100.0))
    50.0
    """
    return (1000 * checks.numbers(crown_um, "crown_um") / checks.number(base_mm, "base_mm", 0, above=True))[()]
