"""The line or plane that touches a body from below and costs the least metal to come down to."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.core.refusal import Refusal


def metal_over(basis: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Return the metal above the line or plane that leaves the least of it.

    `basis` (points, k): what a line (1, x) or a plane (1, x, y) can do at each place, scaled to about 1. `height_um`
    (points,). Returns (points,).

    Two linear programs (HiGHS): the greatest sum of heights that stay below every height; and, where several lines
    do equally well, as under a hollow, the one that leaves the least to take at the worst place, so that no end is
    filed for the other's sake.

    >>> x = np.array([-2.0, -1, 0, 1, 2])
    >>> metal_over(np.stack([np.ones(5), x], -1), np.array([9.0, 4, 0, 4, 9])).round(6).tolist()
    [9.0, 4.0, 0.0, 4.0, 9.0]
    """
    unit = max(float(np.ptp(height_um)), 1e-9)
    level = (height_um - height_um.min()) / unit
    least = scipy.optimize.linprog(-basis.sum(axis=0), A_ub=basis, b_ub=level, bounds=(None, None), method="highs")
    if least.status != 0:
        raise Refusal(
            "count",
            where="height_um",
            found=f"{len(basis)} places, which define no line or plane",
            must_be="more, and not in one row",
        )
    metal = level - basis @ least.x
    ones = np.ones((len(basis), 1))
    limits = np.vstack([np.hstack([basis, 0 * ones]), np.hstack([-basis, -ones]), np.append(-basis.sum(axis=0), 0.0)])
    ends = np.concatenate([level, -level, [least.fun + 1e-9]])
    even = scipy.optimize.linprog(
        np.append(np.zeros(basis.shape[1]), 1.0), A_ub=limits, b_ub=ends, bounds=(None, None), method="highs"
    )
    if (
        even.status == 0 and even.x[-1] < metal.max() - 1e-6
    ):  # otherwise the corner of the first program is the more exact
        metal = level - basis @ even.x[:-1]
    return np.where(metal < 1e-12, 0.0, metal) * unit
