"""The curve under which the looks of a wedge test are most likely."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.core.refusal import Refusal


def likeliest_eye(
    gap: np.ndarray, hits: np.ndarray, trials: np.ndarray, guess: float = 0.0, miss: float = 0.0
) -> tuple[float, ...]:
    """Fit threshold and spread to a wedge test, the rates of false "open" and of misses being held.

    `gap`, `hits`, `trials` (marks,). `guess`, `miss`: both 0 for a logistic regression. Returns: threshold, spread, and
    the standard deviation of each by Fisher's information.

    >>> round(likeliest_eye(np.array([1.0, 2, 3, 4]), np.array([0, 3, 7, 10]), np.full(4, 10))[0], 3)
    2.5
    """
    middle, scale, part = gap.mean(), max(gap.std(), 1e-12), 1 - guess - miss
    rows = np.stack([np.ones_like(gap), (gap - middle) / scale])

    def chances(b):
        f = scipy.special.expit(b @ rows)
        return np.clip(guess + part * f, 1e-300, 1 - 1e-16), part * f * (1 - f)

    def misfit(b):
        p, slope = chances(b)
        return -(scipy.special.xlogy(hits, p) + scipy.special.xlog1py(trials - hits, -p)).sum(), -rows @ (
            slope * (hits - trials * p) / (p * (1 - p))
        )

    best = scipy.optimize.minimize(misfit, np.zeros(2), jac=True, method="BFGS", options={"gtol": 1e-9}).x
    if best[1] <= 0:
        raise Refusal(
            "contradiction",
            where="seen",
            found="wider gaps were seen less often",
            must_be="seen more often, the wider the gap",
            do="Check which way the wedge opens",
        )
    p, slope = chances(best)
    sure = np.linalg.inv((rows * trials * slope**2 / (p * (1 - p))) @ rows.T)
    threshold, spread = -best[0] / best[1], 1 / best[1]
    along = np.array([-spread, -threshold * spread])  # threshold against both coefficients
    return (
        float(middle + scale * threshold),
        float(scale * spread),
        float(scale * np.sqrt(along @ sure @ along)),
        float(scale * spread**2 * np.sqrt(sure[1, 1])),
    )
