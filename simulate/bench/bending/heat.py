"""One warm edge: how far a bar bows, and how long until it lies quiet."""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.bending.materials import Material, material_of
from simulate.core import checks
from simulate.core.refusal import Refusal


def heat_bow_um(
    length_mm: ArrayLike, depth_mm: ArrayLike, difference_k: ArrayLike, material: str | Material = "steel"
) -> np.ndarray | float:
    """Bow of a bar whose two edges differ in temperature.

    Parameters
    ----------
    length_mm, depth_mm, difference_k : array_like
        They broadcast. A positive difference is the upper edge warmer.
    material : str or Material

    Returns
    -------
    float or ndarray
        Middle over the line of the ends, on the edge that is `difference_k`
        warmer: positive stands proud, and the sign follows the difference.

    Raises
    ------
    ValueError
        Where a measure is not above 0.

    Notes
    -----
    alpha dT L^2 / (8 h), for a temperature that changes evenly through the
    depth of a free bar (Timoshenko; Roark; both from memory). A spot of heat
    from a hand bends less and unevenly.

    Examples
    --------
    >>> float(round(heat_bow_um(500, 40, 1.0), 2))
    8.98
    """
    matter = material_of(material)
    length, depth = checks.numbers(length_mm, "length_mm"), checks.numbers(depth_mm, "depth_mm")
    for name, value in (("length_mm", length), ("depth_mm", depth)):
        if (value <= 0).any():
            raise Refusal("range", where=name, found=f"{value[value <= 0].ravel()[0]:g}", must_be="more than 0")
    difference = checks.numbers(difference_k, "difference_k")
    length, depth, difference = checks.together(length_mm=length, depth_mm=depth, difference_k=difference)
    return (matter.expansion_per_k * difference * length**2 / (8 * depth) * 1e3)[()]


def heat_bow_left(time_s: ArrayLike, depth_mm: float, material: str | Material = "steel") -> np.ndarray | float:
    """Part of a heat bow that remains after a time, once the heat is taken away.

    Returns: 1 at the start, falling towards 0.

    Derived: heat flows through the depth only, no heat crosses the edges, and
    the temperature starts as a straight slope, which is a sum of odd cosines.
    Their bending moments are 96/(pi n)^4, and each dies with the time
    h^2/(n^2 pi^2 a). It does not see the bar as a whole cooling to the room's
    temperature, which takes far longer and changes length, not form.

    >>> float(round(heat_bow_left(0.0, 40), 6))
    1.0
    """
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    time = checks.numbers(time_s, "time_s")
    if (time < 0).any():
        raise Refusal("range", where="time_s", found=f"{time.min():g}", must_be="0 or more")
    slowest = depth**2 / (np.pi**2 * material_of(material).diffusivity_mm2_s)
    n = np.arange(1, 200, 2)
    return (96 / (np.pi * n) ** 4 * np.exp(-(n**2) * time[..., None] / slowest)).sum(axis=-1)[()]


def settling_time_s(depth_mm: float, material: str | Material = "steel", left: float = 0.1) -> float:
    """How long a bar lies until only the part `left` of a heat bow remains.

    Parameters
    ----------
    depth_mm : float
    material : str or Material
    left : float
        Above 0, below 1.

    Returns
    -------
    float
        Seconds; for small `left` it is h^2/(pi^2 a) ln(96 / (pi^4 left)).

    Raises
    ------
    ValueError
        Where `left` is not between 0 and 1 or the depth not above 0.

    Notes
    -----
    Only the evening-out inside the bar, as `heat_bow_left` says: the shortest
    wait there can be. A bar that was held or brought in from outside wants
    much longer.

    Examples
    --------
    >>> round(settling_time_s(40))
    29
    """
    part = checks.number(left, "left", 1e-9, 0.999)
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    slowest = depth**2 / (np.pi**2 * material_of(material).diffusivity_mm2_s)
    return float(scipy.optimize.brentq(lambda t: heat_bow_left(t, depth, material) - part, 0.0, slowest * 30))
