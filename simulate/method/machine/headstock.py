"""A headstock or tailstock on the bed: rise and turn from two readings, the shims that cure them, and the turned
bar."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.bending.materials import Material, material_of
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2
from simulate.core import checks
from simulate.core.refusal import Refusal


@dataclass(frozen=True)
class Axis:
    """How an axis stands to the bed, in one plane.

    Attributes
    ----------
    rise_um, rise_sd_um : numpy.ndarray, shape (...)
        Height over where it should be, at the part's own datum.
    turn_urad, turn_sd_urad : numpy.ndarray, shape (...)
        Positive rises away from the part.
    """

    rise_um: np.ndarray
    rise_sd_um: np.ndarray
    turn_urad: np.ndarray
    turn_sd_urad: np.ndarray


@dataclass(frozen=True)
class Shims:
    """What goes under the two feet of the part.

    Attributes
    ----------
    thickness_um : numpy.ndarray, shape (..., 2)
        None below 0, in the order of the feet.
    turn_urad : numpy.ndarray, shape (...)
        By how much the shims turn the part.
    left_um : numpy.ndarray, shape (...)
        How far the axis then stands too high at its datum: metal that has to come off the feet, or a taller
        partner. 0 where shims alone do it.
    """

    thickness_um: np.ndarray
    turn_urad: np.ndarray
    left_um: np.ndarray


@dataclass(frozen=True)
class TurnedBar:
    """A test bar read twice, half a turn apart.

    Attributes
    ----------
    axis_um : numpy.ndarray, shape (...)
        Where the axis of rotation stands: the mean.
    bar_um : numpy.ndarray, shape (...)
        How far the bar is off that axis: half the difference.
    """

    axis_um: np.ndarray
    bar_um: np.ndarray


def turned_bar(first_um: ArrayLike, turned_um: ArrayLike) -> TurnedBar:
    """Take the error of a test bar out of its readings.

    Parameters
    ----------
    first_um, turned_um : array_like, shape (...)
        Readings at the same place, before and after half a turn of the spindle.

    Returns
    -------
    TurnedBar
        What it cannot see: the sag of the bar, which does not turn with it, and a bar that is not round.

    Raises
    ------
    ValueError
        Where a reading is not finite.

    Notes
    -----
    Derived: what turns with the bar enters once plus and once minus.

    Examples
    --------
    >>> turned_bar([12, 30], [8, 10]).axis_um
    array([10., 20.])
    """
    a, b = checks.together(
        first_um=checks.numbers(first_um, "first_um"), turned_um=checks.numbers(turned_um, "turned_um")
    )
    return TurnedBar((a + b) / 2, (a - b) / 2)


def bar_sag_um(
    reach_mm: ArrayLike, diameter_mm: float, length_mm: float, material: str | Material = "steel"
) -> np.ndarray:
    """Say how far a plain round test bar, held at one end, hangs at a place.

    Parameters
    ----------
    reach_mm : array_like
        From where it is held.
    diameter_mm, length_mm : float
    material : str or Material

    Returns
    -------
    numpy.ndarray
        Below 0; add its opposite to a reading in the upright plane.

    Raises
    ------
    ValueError
        Where a place is off the bar.

    Notes
    -----
    -w x^2 (6 L^2 - 4 L x + x^2) / (24 E I), a cantilever under its own weight (Roark, from memory).

    Examples
    --------
    >>> bar_sag_um(300, 40, 300).round(1)
    np.float64(-3.7)
    """
    length, matter = checks.number(length_mm, "length_mm", 0, above=True), material_of(material)
    diameter = checks.number(diameter_mm, "diameter_mm", 0, above=True)
    x = checks.numbers(reach_mm, "reach_mm")
    if (x < 0).any() or (x > length).any():
        raise Refusal(
            "range",
            where="reach_mm",
            found=f"{x[(x < 0) + (x > length)].ravel()[0]:g}",
            must_be=f"0 to {length:g}, the bar's own length",
        )
    per_mm4 = 16 * matter.density_kg_m3 * GRAVITY_M_S2 / (24 * matter.young_gpa * 1e9 * (diameter / 1000) ** 2)
    return (-per_mm4 * x**2 * (6 * length**2 - 4 * length * x + x**2) * 1e-12 * 1e6)[()]


def rise_and_turn(
    near_um: ArrayLike, far_um: ArrayLike, near_mm: float, far_mm: float, reading_sd_um: float = 0.0
) -> Axis:
    """Find how an axis stands from readings at two distances.

    Parameters
    ----------
    near_um, far_um : array_like, shape (...)
        How far the axis is above (or beside) where it should be.
    near_mm, far_mm : float
        Distances from the part's datum.
    reading_sd_um : float

    Returns
    -------
    Axis

    Raises
    ------
    ValueError
        Where the two distances are not apart.

    Notes
    -----
    Derived: a straight line through two points. The deviation of the turn is sqrt 2 times that of a reading
    over the distance; the rise, carried back, has sqrt(near^2 + far^2) over it.

    Examples
    --------
    >>> found = rise_and_turn(10, 40, 100, 400)
    >>> float(found.rise_um), float(found.turn_urad)
    (0.0, 100.0)
    """
    near, far = checks.number(near_mm, "near_mm"), checks.number(far_mm, "far_mm")
    if far <= near:
        raise Refusal("range", where="far_mm", found=f"{far:g}", must_be=f"more than near_mm, {near:g}")
    a, b = checks.together(near_um=checks.numbers(near_um, "near_um"), far_um=checks.numbers(far_um, "far_um"))
    slope, sd = (b - a) / (far - near), checks.number(reading_sd_um, "reading_sd_um", 0)
    rise_sd = sd * np.hypot(near, far) / (far - near)
    turn_sd = sd * np.sqrt(2) / (far - near) * 1000
    return Axis(
        a - slope * near, np.broadcast_to(rise_sd, slope.shape), slope * 1000, np.broadcast_to(turn_sd, slope.shape)
    )


def shims(axis: Axis, feet_mm: ArrayLike, target_um: ArrayLike = 0.0) -> Shims:
    """Find the shims that bring an axis to its place.

    Parameters
    ----------
    axis : Axis
    feet_mm : array_like, shape (2,)
        Where the two feet stand, from the datum, in rising order.
    target_um : array_like
        Where the axis is wanted over the bed's line, such as a little high for wear.

    Returns
    -------
    Shims
        What it cannot see: feet that do not bear evenly, and a part that bends when it is bolted down.

    Raises
    ------
    ValueError
        Where the feet are not two different places.

    Notes
    -----
    Derived: each foot is to move by target - rise - turn x place. Nothing goes under a foot that would have to
    come down: the whole part is lifted until the lowest shim is nothing, and what is then too high is said.

    Examples
    --------
    >>> found = shims(rise_and_turn(-20, -50, 100, 400), [-50, 150])
    >>> found.thickness_um, float(found.left_um)
    (array([ 5., 25.]), 0.0)
    """
    checks.kind(axis, "axis", Axis)
    feet = checks.positions(feet_mm, "feet_mm")
    if feet.size != 2:
        raise Refusal("count", where="feet_mm", found=f"{feet.size} places", must_be="two, in rising order")
    wanted = checks.numbers(target_um, "target_um")
    move = (wanted - axis.rise_um)[..., None] - np.asarray(axis.turn_urad)[..., None] * feet / 1000
    lift = np.maximum(-move.min(axis=-1), 0.0)
    return Shims(move + lift[..., None], -np.asarray(axis.turn_urad), lift)
