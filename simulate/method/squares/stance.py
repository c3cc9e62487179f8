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

    Attributes
    ----------
    tilt_urad : numpy.ndarray, shape (...)
        What the base adds to the angle of the blade; positive leans the blade over its base.
    rocks : numpy.ndarray of bool, shape (...)
        Whether a light push tips it over onto other places.
    """

    tilt_urad: np.ndarray
    rocks: np.ndarray


def stand(x_mm: ArrayLike, base_um: ArrayLike, centre_mm: float | None = None) -> Standing:
    """Find how a square stands on a flat with a base of its own.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Places along the base, the blade at the last one.
    base_um : array_like, shape (..., points)
        The underside; positive is proud, that is lower as it stands.
    centre_mm : float, optional
        Where the square's weight acts; the middle of the base without it.

    Returns
    -------
    Standing
        What it cannot see: a base that is twisted, and a flat that is not flat.

    Raises
    ------
    ValueError
        Where places and heights do not fit together.

    Notes
    -----
    Derived: rigid bodies, two supports around the weight. A base that is proud in its middle rocks, and then
    stands as the hand left it.

    Examples
    --------
    >>> float(stand([0, 50, 100], [0.0, -20.0, 5.0]).tilt_urad)
    50.0
    """
    found = rest(x_mm, base_um, centre_mm)
    return Standing(np.asarray(found.slope_um_per_mm * 1000.0)[()], found.rocks)


def bent_blade_error_urad(bow_um: ArrayLike, blade_mm: float, low_mm: float, high_mm: float) -> np.ndarray | float:
    """Say what a bent blade adds to an angle read at two heights.

    Parameters
    ----------
    bow_um : array_like
        How far the middle of the blade's edge is proud of the line from foot to top; below 0 where it is hollow.
    blade_mm : float
        Height of the blade.
    low_mm, high_mm : float
        The two heights that are read.

    Returns
    -------
    float or numpy.ndarray
        In urad; 0 where the two heights lie evenly about the middle, for an even bend.

    Raises
    ------
    ValueError
        Where the heights are not on the blade, or not apart.

    Notes
    -----
    Derived for an even bend, 4 bow t (1 - t) with t the part of the height: the angle read is out by
    -4 bow (1 - t_low - t_high) / blade.

    Examples
    --------
    >>> bent_blade_error_urad(10.0, 100.0, 0.0, 50.0).round(6)
    np.float64(-200.0)
    """
    bow, blade = checks.numbers(bow_um, "bow_um"), checks.number(blade_mm, "blade_mm", 0, above=True)
    low = checks.number(low_mm, "low_mm", 0, blade)
    high = checks.number(high_mm, "high_mm", low, blade, above=True)
    return (-4000 * bow * (1 - (low + high) / blade) / blade)[()]


def edge_error_urad(crown_um: ArrayLike, base_mm: float) -> np.ndarray | float:
    """Say what a bent edge under the base does to a reversal.

    Parameters
    ----------
    crown_um : array_like
        How far the edge is proud in its middle over the line of its ends, along twice the base: the base stands
        left of the middle once, and right of it once.
    base_mm : float
        Length of the base.

    Returns
    -------
    float or numpy.ndarray
        Added to the angle that a reversal finds.

    Raises
    ------
    ValueError
        Where the base is not above 0.

    Notes
    -----
    Derived: an even bend of crown c over twice the length slopes by c / base halfway along either side.

    Examples
    --------
    >>> float(edge_error_urad(5.0, 100.0))
    50.0
    """
    return (1000 * checks.numbers(crown_um, "crown_um") / checks.number(base_mm, "base_mm", 0, above=True))[()]
