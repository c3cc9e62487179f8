"""From a range for each height by itself to a band that holds a whole body."""

from __future__ import annotations

import numpy as np

from simulate.core.spaces import symmetric_root

LEVEL = 0.95
DRAWS = 4000


def whole_band(
    draws: np.ndarray, value: np.ndarray, low: np.ndarray, high: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Widen ranges in one ratio until 95 in 100 draws lie inside all along.

    `draws` (draws, values): values of one body together. `value`, `low`, `high` (values,): what stands in the middle,
    and the range of each value by itself. Returns `low`, `high` (values,): a band that holds all values at once 95
    times in 100; nan where a value is.

    The sup-t band (J. Montiel Olea, M. Plagborg-Moller, Simultaneous confidence bands, 2019; from memory): of all bands
    that are one multiple of the pointwise ranges, the narrowest of the level asked for.

    >>> draws = np.random.default_rng(1).standard_normal((20000, 10))
    >>> whole_band(draws, np.zeros(10), np.full(10, -1.96), np.full(10, 1.96))[1].round(1).tolist()[0]  # Sidak: 2.80
    2.8
    """
    seen = np.isfinite(value) & (high > low)
    if not seen.any():
        return low, high
    away = draws[:, seen] - value[seen]
    reach = np.where(away > 0, high[seen] - value[seen], value[seen] - low[seen])
    factor = max(float(np.quantile((np.abs(away) / np.maximum(reach, 1e-12)).max(axis=1), LEVEL)), 1.0)
    return value - factor * (value - low), value + factor * (high - value)


def spread_draws(covariance: np.ndarray, dof: int = 0, seed: int = 1) -> np.ndarray:
    """Draw errors of several values together.

    `covariance` (values, values). `dof`: degrees of freedom that the spread rests on (Student's t in several
    dimensions); 0 where it is known. Returns (4000, values).

    >>> spread_draws(np.eye(2)).shape
    (4000, 2)
    """
    rng = np.random.default_rng(seed)
    normal = rng.standard_normal((DRAWS, len(covariance))) @ symmetric_root(covariance)
    return normal / np.sqrt(rng.chisquare(dof, (DRAWS, 1)) / dof) if dof else normal
