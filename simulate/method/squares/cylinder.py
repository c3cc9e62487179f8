"""A cylinder or a roller as a square: what its sides show, and a square read against it in several turns."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words


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
    """

    square_urad: float
    sd_urad: float
    lean_urad: float
    lean_at_deg: float
    residual_urad: np.ndarray
    sentence: str


def solve_cylinder(
    turn_deg: ArrayLike,
    sum_urad: ArrayLike,
    *,
    taper_um: float = 0.0,
    taper_sd_um: float = 0.0,
    height_mm: float = 100.0,
    reading_sd_urad: float = 1.0,
) -> SolvedCylinder:
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
    'The square is out by +100.0 µrad ± 0.5; the cylinder leans by 70 µrad towards its mark at 0 degrees.'
    """
    turn = np.radians(checks.numbers(turn_deg, "turn_deg"))
    total = checks.numbers(sum_urad, "sum_urad")
    if turn.ndim != 1 or total.shape != turn.shape:
        raise Refusal(
            "shape",
            where="sum_urad",
            found=shape_words(total.shape),
            must_be=f"{shape_words(turn.shape)}, one reading for each of the turns",
        )
    design = np.stack([np.ones_like(turn), np.cos(turn), np.sin(turn)], axis=1)
    if np.linalg.matrix_rank(design, 1e-6) < 3:
        raise Refusal(
            "unsettled",
            where="turn_deg",
            found="it does not separate the square from the cylinder's lean",
            must_be="three different turns or more, best four a quarter turn apart",
        )
    height = checks.number(height_mm, "height_mm", 0, above=True)
    found = np.linalg.lstsq(design, total, rcond=None)[0]
    spread = checks.number(reading_sd_urad, "reading_sd_urad", 0) * np.sqrt(np.linalg.inv(design.T @ design)[0, 0])
    sd = float(np.hypot(spread, checks.number(taper_sd_um, "taper_sd_um", 0) / (2 * height) * 1000))
    square = float(found[0] - checks.number(taper_um, "taper_um") / (2 * height) * 1000)
    lean, at = float(np.hypot(*found[1:])), float(np.degrees(np.arctan2(found[2], found[1])) % 360)
    at = 0.0 if round(at) == 360 else at
    sentence = (
        f"The square is out by {square:+.1f} µrad ± {sd:.1f}; the cylinder leans by {lean:.0f} µrad towards its "
        f"mark at {abs(at):.0f} degrees."
    )
    return SolvedCylinder(square, sd, lean, at, total - design @ found, sentence)
