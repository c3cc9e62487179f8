"""What makes a square lie: a base that is not flat, a blade that is not straight; and two proofs without a third square."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seat import rest
from simulate.surface import checks


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


@dataclass(frozen=True)
class Reversed:
    """One square proved against itself.

    Attributes
    ----------
    angle_urad, sd_urad : float
        Positive leans over its own base, away from a blade that faces it.
    top_um : float
        How far the top is out, over the height between the two places that were read.
    sentence : str
    """

    angle_urad: float
    sd_urad: float
    top_um: float
    sentence: str


@dataclass(frozen=True)
class SolvedCylinder:
    """A square read against a cylinder that was turned between readings.

    Attributes
    ----------
    square_urad, sd_urad : float
        Angle of the square, and how sure.
    lean_urad, lean_at_deg : float
        How far the cylinder's axis leans on its end, and towards which mark.
    residual_urad : numpy.ndarray, shape (readings,)
    sentence : str
    """

    square_urad: float
    sd_urad: float
    lean_urad: float
    lean_at_deg: float
    residual_urad: np.ndarray
    sentence: str


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


def reverse_square(apart_top_um: float, height_mm: float, apart_foot_um: float = 0.0, *, reading_sd_um: float = 0.0,
                   edge_sd_urad: float = 0.0) -> Reversed:
    """Prove one square by scribing a line, turning it over, and scribing again from the same place.

    Parameters
    ----------
    apart_top_um : float
        How far apart the two lines are; positive where each leans over the base that it was scribed from.
    height_mm : float
        Between the two places that are read.
    apart_foot_um : float
        The same at the foot.
    reading_sd_um : float
        Standard deviation of one such distance: the width of a scribed line, or of the light.
    edge_sd_urad : float
        Standard uncertainty that the edge under the base brings, see `edge_error_urad`.

    Returns
    -------
    Reversed
        What it cannot see: the shape of the blade between the two places, and an edge that is proud in its
        middle, which leans both lines the same way.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    Derived: each line is out by the angle, to either side, so the distance is twice the error: a = (top -
    foot) / (2 height). A slope of the edge takes part in both lines with opposite signs and drops out.

    Examples
    --------
    >>> reverse_square(60.0, 100.0, reading_sd_um=10.0).sentence
    'The square leans over its base by 300 urad ± 71, that is 30 um over 100 mm; the lines are apart by twice that.'
    """
    height = checks.number(height_mm, "height_mm", 0, above=True)
    apart = checks.number(apart_top_um, "apart_top_um") - checks.number(apart_foot_um, "apart_foot_um")
    read = checks.number(reading_sd_um, "reading_sd_um", 0) * np.sqrt(2) / 2 / height * 1000
    sd = float(np.hypot(read, checks.number(edge_sd_urad, "edge_sd_urad", 0)))
    angle = apart / (2 * height) * 1000
    way = "leans over its base" if angle >= 0 else "leans away from its base"
    sentence = (f"The square {way} by {abs(angle):.0f} urad ± {sd:.0f}, that is {abs(apart) / 2:.3g} um over {height:g} mm; "
                "the lines are apart by twice that.")
    return Reversed(angle, sd, apart / 2, sentence)


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


def cylinder_side_urad(turn_deg: ArrayLike, lean_urad: float, lean_at_deg: float = 0.0, taper_um: float = 0.0,
                       height_mm: float = 100.0) -> np.ndarray:
    """Give the angle that the side of a standing cylinder shows to a square.

    Parameters
    ----------
    turn_deg : array_like
        Which mark of the cylinder faces away from the square.
    lean_urad, lean_at_deg : float
        How far the axis leans because the end is not square to it, and towards which mark.
    taper_um : float
        Diameter at the foot less diameter at the top.
    height_mm : float

    Returns
    -------
    numpy.ndarray
        Positive leans away from the square.

    Raises
    ------
    ValueError
        Where the height is not above 0.

    Notes
    -----
    Derived: half the taper on every side, and the lean as a cosine of the turn. Opposite sides have the lean
    with opposite signs, so their mean is free of it.

    Examples
    --------
    >>> cylinder_side_urad([0, 180], 50.0, taper_um=4.0, height_mm=100.0)
    array([ 70., -30.])
    """
    height = checks.number(height_mm, "height_mm", 0, above=True)
    turn = np.radians(checks.numbers(turn_deg, "turn_deg") - checks.number(lean_at_deg, "lean_at_deg"))
    return checks.number(lean_urad, "lean_urad") * np.cos(turn) + checks.number(taper_um, "taper_um") / (2 * height) * 1000


def solve_cylinder(turn_deg: ArrayLike, sum_urad: ArrayLike, *, taper_um: float = 0.0, taper_sd_um: float = 0.0,
                   height_mm: float = 100.0, reading_sd_urad: float = 1.0) -> SolvedCylinder:
    """Find a square's angle from readings against a cylinder in several turns.

    Parameters
    ----------
    turn_deg : array_like, shape (readings,)
    sum_urad : array_like, shape (readings,)
        Square and cylinder together: change of gap over height.
    taper_um, taper_sd_um : float
        Diameter at the foot less diameter at the top, as measured, and how sure.
    height_mm : float
    reading_sd_urad : float

    Returns
    -------
    SolvedCylinder
        What it cannot see: a taper that was not measured, and a cylinder that is a barrel.

    Raises
    ------
    ValueError
        Where the turns do not tell lean and square apart.

    Notes
    -----
    Derived: least squares for a mean, a cosine and a sine of the turn.

    Examples
    --------
    >>> solve_cylinder([0, 90, 180, 270], [170, 100, 30, 100]).sentence
    'The square is out by +100.0 urad ± 0.5; the cylinder leans by 70 urad towards its mark at 0 degrees.'
    """
    turn = np.radians(checks.numbers(turn_deg, "turn_deg"))
    total = checks.numbers(sum_urad, "sum_urad")
    if turn.ndim != 1 or total.shape != turn.shape:
        raise ValueError(f"sum_urad has shape {total.shape}; it needs one reading for each of the turns, {turn.shape}.")
    design = np.stack([np.ones_like(turn), np.cos(turn), np.sin(turn)], axis=1)
    if np.linalg.matrix_rank(design, 1e-6) < 3:
        raise ValueError("turn_deg does not tell the square from the cylinder's lean; read three different turns or "
                         "more, best four a quarter turn apart.")
    height = checks.number(height_mm, "height_mm", 0, above=True)
    found = np.linalg.lstsq(design, total, rcond=None)[0]
    spread = checks.number(reading_sd_urad, "reading_sd_urad", 0) * np.sqrt(np.linalg.inv(design.T @ design)[0, 0])
    sd = float(np.hypot(spread, checks.number(taper_sd_um, "taper_sd_um", 0) / (2 * height) * 1000))
    square = float(found[0] - checks.number(taper_um, "taper_um") / (2 * height) * 1000)
    lean, at = float(np.hypot(*found[1:])), float(np.degrees(np.arctan2(found[2], found[1])) % 360)
    at = 0.0 if round(at) == 360 else at
    sentence = (f"The square is out by {square:+.1f} urad ± {sd:.1f}; the cylinder leans by {lean:.0f} urad towards its "
                f"mark at {abs(at):.0f} degrees.")
    return SolvedCylinder(square, sd, lean, at, total - design @ found, sentence)
