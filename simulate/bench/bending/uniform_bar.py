"""How a bar bends: its own weight on two supports, and heat on one edge.

A rigid bar is the lesson's first lie. Sag comes from the weight and does not
turn over with the bar; a warm edge grows and stands proud until the heat evens
out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.bending.heat import heat_bow_um
from simulate.bench.bending.materials import MATERIALS, Material, material_of
from simulate.core import checks
from simulate.core.refusal import Refusal, listed

__all__ = ["MATERIALS", "Material", "Sag", "heat_bow_um", "sag", "sag_at", "sag_on"]

GRAVITY_M_S2 = 9.80665
"""Standard gravity (published: 3rd CGPM, 1901)."""


@dataclass(frozen=True)
class Sag:
    """A bar as it hangs.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
        From ``-length / 2`` to ``length / 2``.
    height_um : ndarray, shape (points,)
        Zero at the supports, negative where the bar hangs lower.
    """

    x_mm: np.ndarray
    height_um: np.ndarray


def sag(
    length_mm: float, depth_mm: float, separation_mm: float, material: str | Material = "steel", points: int = 201
) -> Sag:
    """Hang a uniform rectangular bar on two supports, symmetrical about its middle.

    Parameters
    ----------
    length_mm, depth_mm : float
        Depth is the upright measure of the section; the width cancels out.
    separation_mm : float
        Between the supports: more than 0, no more than the length.
    material : str or Material
        A name in `MATERIALS`, or a material of your own.
    points : int

    Returns
    -------
    Sag
        ``x_mm`` and ``height_um``, each (points,).

    Raises
    ------
    ValueError
        Where a measure is not above 0, or the supports stand wider than the bar.

    Notes
    -----
    Exact for a slender bar (Euler-Bernoulli), overhangs included. It does not
    see shear, which adds some (depth/length)^2 parts of the end-support sag,
    nor the dent at a support. Derived; end supports give the handbooks'
    5wL^4/384EI. On its Airy points the whole bar of the example keeps within
    0.10 um, its middle 0.09 below the supports.

    Examples
    --------
    >>> bool(abs(sag(500, 40, 500).height_um.min() + 2.24) < 0.01)
    True
    """
    points = checks.whole(points, "points", 3)
    length = checks.number(length_mm, "length_mm", 0, above=True)
    separation = checks.number(separation_mm, "separation_mm")
    x = np.linspace(-length / 2, length / 2, points)
    return Sag(x, sag_at(x, length, depth_mm, separation, material))


def sag_at(
    x_mm: ArrayLike, length_mm: float, depth_mm: float, separation_mm: ArrayLike, material: str | Material = "steel"
) -> np.ndarray:
    """Height at any places of a bar that lies on two symmetrical supports.

    `x_mm`: from the bar's middle. Broadcasts against `separation_mm`. Returns: micrometres, zero at the supports.

    >>> sag_at([-150, 150], 500, 40, 300).tolist()
    [0.0, 0.0]
    """
    length, load = _load(length_mm, depth_mm, material)
    x = _inside(x_mm, length, "x_mm")
    separation = checks.numbers(separation_mm, "separation_mm")
    if (separation <= 0).any() or (separation > length).any():
        wrong = separation[(separation <= 0) | (separation > length)].ravel()[0]
        raise Refusal(
            "range",
            where="separation_mm",
            found=f"{wrong:g}",
            must_be=f"above 0 and at most {length:g}, the bar's own length",
        )
    x, separation = checks.together(x_mm=x, separation_mm=separation)
    t, a = np.abs(x) * 2 / length, separation / length
    return load * (shape_on_supports(t, a) - shape_on_supports(a, a))


def sag_on(
    x_mm: ArrayLike, length_mm: float, depth_mm: float, supports_mm: ArrayLike, material: str | Material = "steel"
) -> np.ndarray:
    """Height of a bar on two supports that need not be symmetrical.

    `x_mm`: from the bar's middle. `supports_mm` (2,): places from the middle, one on each side of it (or under it),
    left first. Returns: micrometres, zero at the supports.

    >>> bool(abs(sag_on(0, 500, 40, (-250, 250)) - sag(500, 40, 500).height_um[100]) < 1e-9)
    True
    """
    length, load = _load(length_mm, depth_mm, material)
    t = _inside(x_mm, length, "x_mm") * 2 / length
    supports = _inside(checks.positions(supports_mm, "supports_mm"), length, "supports_mm")
    if supports.size != 2 or supports[0] > 0 or supports[1] < 0:
        raise Refusal(
            "place",
            where="supports_mm",
            found=listed([f"{one:g}" for one in supports]),
            must_be="two places with the bar's middle between them, or it tips",
        )
    left, right = supports * 2 / length

    def bent(z):  # two integrations of the moment; each reaction is its share of the weight 2
        return (2 * right * np.maximum(z - left, 0) ** 3 - 2 * left * np.maximum(z - right, 0) ** 3) / (
            6 * (right - left)
        ) - (z + 1) ** 4 / 24

    ends = bent(np.array([left, right]))
    return load * (bent(t) - ends[0] - (ends[1] - ends[0]) * (t - left) / (right - left))


def _load(length_mm: float, depth_mm: float, material: str | Material) -> tuple[float, float]:
    """Length, and w l^4 / EI in micrometres with l the half length."""
    length = checks.number(length_mm, "length_mm", 0, above=True)
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    matter = material_of(material)
    per_m3 = 12 * matter.density_kg_m3 * GRAVITY_M_S2 / (matter.young_gpa * 1e9 * (depth / 1e3) ** 2)
    return length, per_m3 * (length / 2e3) ** 4 * 1e6


def _inside(x_mm: ArrayLike, length: float, name: str) -> np.ndarray:
    x = checks.numbers(x_mm, name)
    outside = np.abs(x) > length / 2 * (1 + 1e-12)
    if outside.any():
        raise Refusal(
            "range", where=name, found=f"{x[outside].ravel()[0]:g}", must_be=f"{-length / 2:g} to {length / 2:g}"
        )
    return x


def shape_on_supports(t: np.ndarray, a: np.ndarray | float) -> np.ndarray:
    """Heights of the bar with half length 1 and w / EI 1, level and zero at its middle.

    `t`: places from the middle, 0 to 1. `a`: half the separation of the supports.

    The moment is (a - t) inside the supports, for the reaction, less
    (1 - t)^2 / 2 for the weight beyond t; integrated twice.

    >>> float(shape_on_supports(np.array(0.0), 0.5))
    0.0
    """
    return a * t**2 / 2 - t**3 / 6 + np.maximum(t - a, 0) ** 3 / 6 - t**2 / 4 + t**3 / 6 - t**4 / 24
