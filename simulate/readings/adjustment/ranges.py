"""How far each solved value may be out: by itself, and all along a body at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from simulate.readings.adjustment.whole_band import spread_draws, whole_band

_SPREADS, _HALVINGS = 500, 40


@dataclass(frozen=True, kw_only=True)
class Ranges:
    """Ranges at 95 %, and draws behind them.

    `low_95`, `high_95` (bodies, points): of each value by itself; None where the spread of a reading is only assumed.
    `low_whole`, `high_whole` (bodies, points): a band that holds a whole body 95 times in 100. `draws` (draws, bodies,
    points): errors that the readings may have put on the values, their mean being zero.
    """

    low_95: np.ndarray | None
    high_95: np.ndarray | None
    low_whole: np.ndarray | None
    high_whole: np.ndarray | None
    draws: np.ndarray


def normal_ranges(
    value: np.ndarray, sd: np.ndarray, covariance: np.ndarray, dof: int = 0, known: bool = True
) -> Ranges:
    """Give the ranges of values whose errors are normal.

    `value`, `sd` (bodies, points): nan where nothing was read. `covariance` (bodies * points, bodies * points). `dof`:
    readings to spare that the spread was found from (Student's t); 0 where it is known. `known`: false where the spread
    is only assumed: no range is given then.

    >>> found = normal_ranges(np.zeros((1, 2)), np.ones((1, 2)), np.eye(2))
    >>> found.high_95.round(2).tolist(), found.high_whole.round(1).tolist()
    ([[1.96, 1.96]], [[2.2, 2.2]])
    """
    draws = spread_draws(np.nan_to_num(covariance), dof).reshape(-1, *value.shape)
    if not known:
        return Ranges(low_95=None, high_95=None, low_whole=None, high_whole=None, draws=draws)
    half = float(scipy.stats.t.ppf(0.975, dof) if dof else scipy.stats.norm.ppf(0.975)) * sd
    return with_whole(value, value - half, value + half, draws)


def half_range(variance: np.ndarray, dof: np.ndarray) -> np.ndarray:
    """Give half of the 95 % range of sums of errors from sources whose own spread is not quite known.

    `variance` (sources, values): what each source puts into each value. `dof` (sources,): degrees of freedom that its
    spread rests on; inf where it is known. Returns (values,).

    Where one source counts this is Student's t. A sum of several is normal once their spreads are given, so that its
    distribution is the mean of normal ones over spreads drawn evenly (a scale mixture). No value hangs on the others.

    >>> half_range(np.array([[4.0, 0.0], [0.0, 1.0]]), np.array([3.0, np.inf])).round(2).tolist()
    [6.36, 1.96]
    """
    total = variance.sum(axis=0)
    share = variance / np.maximum(total, 1e-300)
    first = np.take(dof, share.argmax(axis=0))
    factor = np.where(
        np.isfinite(first), scipy.stats.t.ppf(0.975, np.minimum(first, 1e12)), scipy.stats.norm.ppf(0.975)
    )
    mixed = np.flatnonzero((share.max(axis=0) < 1 - 1e-9) & (total > 0))
    if mixed.size and np.isfinite(dof).any():
        part, rng = (np.arange(_SPREADS) + 0.5) / _SPREADS, np.random.default_rng(1)
        scale = [
            rng.permutation(scipy.stats.chi2.ppf(part, k) / k) if np.isfinite(k) else np.ones(_SPREADS) for k in dof
        ]
        sd = np.sqrt(share[:, mixed].T @ (1 / np.stack(scale)))
        low, high = np.zeros(mixed.size), np.full(mixed.size, float(sd.max()) * 5)
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            outside = scipy.special.ndtr(-middle[:, None] / sd).mean(axis=1) > 0.025
            low, high = np.where(outside, middle, low), np.where(outside, high, middle)
        factor[mixed] = high
    return factor * np.sqrt(total)


def with_whole(value: np.ndarray, low: np.ndarray, high: np.ndarray, draws: np.ndarray) -> Ranges:
    """Set bands for whole bodies beside ranges for single values.

    `value`, `low`, `high` (bodies, points). `draws` (draws, bodies, points): about zero.
    """
    ends = [whole_band(draws[:, i] + np.nan_to_num(value[i]), value[i], low[i], high[i]) for i in range(len(value))]
    return Ranges(
        low_95=low,
        high_95=high,
        low_whole=np.stack([one for one, _ in ends]),
        high_whole=np.stack([one for _, one in ends]),
        draws=draws,
    )


def ends_of_form(
    value: float, around: np.ndarray, alone: np.ndarray, by_intervals: bool = False, rounded: bool = False
) -> tuple[float, float]:
    """Give the ends of the 95 % range of a figure of form, such as a minimum zone or the greatest of several errors.

    `value`: as it was found. `around` (draws,): the figure of what was found with errors that the readings may have put
    on it. `alone` (draws,): the figure of those errors by themselves. `by_intervals`: whether the draws are those of a
    posterior. `rounded`: whether rounding is most of the scatter.

    Such a figure Z is a seminorm, so that Z(found) - Z(error) <= Z(true), and Z(error) <= Z(found) + Z(true): where
    less is found than the error alone would show, the rest of it may have hidden as much. Its lower end is no higher
    and its upper one no lower than these allow with 95 %; they are those of the reflected draws otherwise, and the
    upper one is never below the figure itself. Rounding, unlike scatter, takes from a figure as easily as it adds, so
    that its upper end is that of the draws as they are.

    >>> ends_of_form(5.0, np.array([4.0, 6.0]), np.array([1.0, 1.0]))
    (4.0, 5.95)
    >>> ends_of_form(0.0, np.array([1.0, 3.0]), np.array([1.0, 3.0]))
    (0.0, 2.9)
    """
    low, high = (float(np.quantile(around, part)) for part in (0.025, 0.975))
    if by_intervals:
        return min(low, value), max(high, value)
    scatter = float(np.quantile(alone, 0.95))
    upper = max(value, 2 * value - low, scatter - value)
    return max(0.0, min(2 * value - high, value - scatter)), max(upper, high) if rounded else upper
