"""Where three points go under a plate so that it lies flattest."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import scipy
from numpy.polynomial import legendre

from simulate.bench.bending.plate_sag import hung_terms
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.surface.flatness import flatness

_U = np.linspace(-1.0, 1.0, 17)
_START = ((0.6, 0.45, 0.65), (0.75, 0.6, 0.55), (0.5, 0.7, 0.6))
_LEAST = 0.05


def three_points(apart: float, near: float, far: float) -> np.ndarray:
    """Two points side by side on the near half, one in the middle of the far half.

    `apart`: of the pair, as a part of the side they lie along. `near`, `far`: of the pair and of the single point from
    the middle, as parts of half the other side. Returns (3, 2): from -1 to 1 each way.

    >>> three_points(1.0, 1.0, 1.0).tolist()
    [[-1.0, -1.0], [1.0, -1.0], [0.0, 1.0]]
    """
    return np.array([[-apart, -near], [apart, -near], [0.0, far]])


def best_three(width_mm: float, depth_mm: float, *, poisson: float = 0.25) -> np.ndarray:
    """Three points under a solid plate so that it lies flattest, found by minimising.

    `width_mm`, `depth_mm`: the sides along x and along y. `poisson`: sideways growth, 0 to 0.49. Returns (3, 2): x and
    y from the middle of the plate, in mm: a pair, and one by itself on the line between them. Thickness and material do
    not move them.

    The least flatness (minimum zone) among all placements with the pair along
    either side, from three starts each; the least is broad, so that places are
    good to some hundredths of a side and the flatness to two in a hundred. It
    does not see ribs, handles or a plate that is cut out: their
    best points are elsewhere.

    >>> best_three(600, 400).shape
    (3, 2)
    """
    width, depth = (checks.number(v, n, 0, above=True) for v, n in ((width_mm, "width_mm"), (depth_mm, "depth_mm")))
    nu = checks.number(poisson, "poisson", 0, 0.49)
    if max(width, depth) > 5 * min(width, depth):
        raise Refusal(
            "range",
            where="width_mm by depth_mm",
            found=f"{width:g} by {depth:g}",
            must_be="such that one side is at most five times the other",
            do="Treat a longer one as a bar",
        )
    along_x, along_y = _best(round(depth / width, 6), nu), _best(round(width / depth, 6), nu)
    half = np.array([width, depth]) / 2
    if along_x[0] * width**4 <= along_y[0] * depth**4:
        return half * three_points(*along_x[1])
    return half * three_points(*along_y[1])[:, ::-1]


@lru_cache(maxsize=256)
def _best(ratio: float, nu: float) -> tuple[float, tuple[float, float, float]]:
    """Least flatness and where, for a plate 2 wide and 2 * ratio deep under a load of 1, the pair along its width."""

    def out(parts: np.ndarray) -> float:
        inside = np.clip(parts, _LEAST, 1.0)
        height = legendre.leggrid2d(_U, _U, hung_terms(1.0, ratio, nu, three_points(*inside)))
        return float(flatness(_U, _U * ratio, height).value_um) * (1 + np.abs(parts - inside).sum())

    options = {"xatol": 2e-3, "fatol": 1e-3 * out(np.array(_START[0])), "maxfev": 250}
    runs = (scipy.optimize.minimize(out, start, method="Nelder-Mead", options=options) for start in _START)
    best = min(runs, key=lambda run: run.fun)
    return best.fun, tuple(np.clip(best.x, _LEAST, 1.0).tolist())
