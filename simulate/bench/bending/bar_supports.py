"""Where two supports go, by minimising what matters."""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.bending.profiled_bar import profile_sag
from simulate.bench.bending.uniform_bar import shape_on_supports
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.surface.straightness import straightness

AIMS = ("least sag", "ends parallel", "no change of length")
CLASSIC = {"least sag": 0.554, "ends parallel": 0.5773503, "no change of length": 0.55938}
"""What handbooks give, as parts of the length (published: handbooks; Airy, L / sqrt 3; Bessel): for comparison only."""


def best_separation(length_mm: float, what: str = "least sag") -> float:
    """Where to put two supports so that what matters is least.

    Parameters
    ----------
    length_mm : float
    what : str
        ``"least sag"``: the least height from the highest to the lowest place
        of the whole bar (about 0.554 of the length); ``"ends parallel"``: the
        end faces stay upright (Airy, length / sqrt 3); ``"no change of
        length"``: the bar's middle line seen from above shortens least
        (Bessel, 0.55938).

    Returns
    -------
    float
        Separation in mm, found by minimising, not looked up.

    Raises
    ------
    ValueError
        Where the length is not above 0 or the aim is not one of `AIMS`.

    Examples
    --------
    >>> round(best_separation(1000, "ends parallel"), 2)
    577.35
    """
    length = checks.number(length_mm, "length_mm", 0, above=True)
    checks.choice(what, "what", AIMS)
    if what == "ends parallel":
        return length * float(scipy.optimize.brentq(lambda a: _slope(1.0, a), 0.3, 0.9, xtol=1e-14))
    aim = _range if what == "least sag" else _shortening
    return length * float(
        scipy.optimize.minimize_scalar(aim, bounds=(0.3, 0.9), method="bounded", options={"xatol": 1e-10}).x
    )


def best_supports(
    x_mm: ArrayLike, depth_mm: ArrayLike, *, hole_mm: ArrayLike = 0.0, way: str = "edge up"
) -> np.ndarray:
    """Where to put two supports under a bar of any depth profile so that it lies straightest.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Rising, the bar's two ends first and last.
    depth_mm, hole_mm : float or array_like, shape (points,)
        As `profile_sag`.
    way : str
        ``"edge up"`` or ``"flat"``.

    Returns
    -------
    ndarray, shape (2,)
        Places in mm, left first. Material and thickness do not move them.

    Raises
    ------
    ValueError
        As `profile_sag`.

    Notes
    -----
    The least straightness (minimum zone), left and right sought apart from each
    other, from supports that stand 0.554 of the length apart. The least is
    broad: places are good to about a hundredth of the length.

    Examples
    --------
    >>> [round(float(p)) for p in best_supports(np.linspace(-500, 500, 101), 40)]
    [-277, 277]
    """
    x = checks.positions(x_mm, at_least=3)
    length, middle = float(np.ptp(x)), float(x[0] + x[-1]) / 2
    profile_sag(x, depth_mm, x[[0, -1]], hole_mm=hole_mm, way=way)  # a wrong bar is refused here

    def out(parts: np.ndarray) -> float:
        inside = np.clip(parts, -0.5, 0.5)
        try:
            height = profile_sag(x, depth_mm, middle + length * inside, hole_mm=hole_mm, way=way)
        except Refusal:  # it tips on these
            return np.inf
        return float(straightness(x, height).value_um) * (1 + np.abs(parts - inside).sum())

    start = CLASSIC["least sag"] / 2 * np.array([-1.0, 1.0]) + _centre(x, depth_mm, hole_mm, middle) / length
    height = profile_sag(x, depth_mm, middle + length * start, hole_mm=hole_mm, way=way)
    options = {
        "xatol": 1e-4,
        "fatol": 1e-4 * float(np.ptp(height)),
        "initial_simplex": start + 0.03 * np.array([[0, 0], [1, 0], [0, 1]]),
    }
    return middle + length * np.clip(
        scipy.optimize.minimize(out, start, method="Nelder-Mead", options=options).x, -0.5, 0.5
    )


def _centre(x: np.ndarray, depth_mm: ArrayLike, hole_mm: ArrayLike, middle: float) -> float:
    """How far the centre of gravity lies from the middle."""
    metal = np.broadcast_to(checks.numbers(depth_mm, "depth_mm") - checks.numbers(hole_mm, "hole_mm"), x.shape)
    return float(np.trapezoid(metal * (x - middle), x) / np.trapezoid(metal, x))


# In these, the half length is 1, w / EI is 1, t is the place from the middle, a half the separation.


def _slope(t, a):
    return a * t - t**2 / 2 + np.maximum(t - a, 0) ** 2 / 2 - t / 2 + t**2 / 2 - t**3 / 6


def _range(a: float) -> float:
    """Highest to lowest place: middle, end, and where the bar lies level between."""
    level = [0.0, 1.0, min(np.sqrt(max(6 * (a - 0.5), 0)), a), max(1 - np.cbrt(max(1 - 3 * a**2, 0)), a)]
    return float(np.ptp(shape_on_supports(np.array(level), a)))


def _shortening(a: float) -> float:
    """Twice the length lost to slope over one half: exact by Gauss points on each side of the support."""
    node, weight = np.polynomial.legendre.leggauss(6)
    inner, outer = a * (node + 1) / 2, a + (1 - a) * (node + 1) / 2
    return float(a / 2 * weight @ _slope(inner, a) ** 2 + (1 - a) / 2 * weight @ _slope(outer, a) ** 2)
