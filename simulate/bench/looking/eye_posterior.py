"""What a wedge test leaves of an eye: threshold, spread, false "open" and misses together, by summing over a grid."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

RATE_PRIOR = (1.0, 10.0)
"""Beta distribution of either rate before the test: a tenth or less in two of three, a quarter at most in 19 of 20."""
_PASSES = ((14, 6, 4, 4), (16, 8, 5, 5), (32, 10, 7, 5))
_MOST_RATE, _KEEP, _NODES = 0.5, 1e-4, 1500


@dataclass(frozen=True, kw_only=True)
class EyePosterior:
    """Eyes that a wedge test leaves, each as likely as any other.

    `threshold_um`, `spread_um`, `false_open`, `missed` (1500,). `threshold_95_um`: ends between which the threshold
    lies, 95 %.
    """

    threshold_um: np.ndarray
    spread_um: np.ndarray
    false_open: np.ndarray
    missed: np.ndarray
    threshold_95_um: tuple[float, float]

    def range_95(self, name: str) -> tuple[float, float]:
        """Give the ends between which one of the four lies, 95 %.

        `name` ({"threshold_um", "spread_um", "false_open", "missed"}).
        """
        low, high = np.quantile(getattr(self, name), (0.025, 0.975))
        return float(low), float(high)

    def gap_seen_um(self, chance: float) -> np.ndarray:
        """Give the gap that each eye sees in this part of its attentive looks.

        Returns (1500,).
        """
        return self.threshold_um + self.spread_um * scipy.special.logit(chance)


def chance_open(gap_um: np.ndarray, threshold_um, spread_um, false_open, missed) -> np.ndarray:
    """Give how often "open" is said at each gap.

    `gap_um`, `threshold_um`, `spread_um`, `false_open`, `missed` (array_like): of shapes that broadcast.

    F. Wichmann and N. Hill, The psychometric function I, Perception and Psychophysics 63 (2001), equation 1; from
    memory. Without a rate of misses one slip at a wide gap flattens the whole curve, and without one of false "open"
    a guess at a dark mark draws the threshold down.

    >>> chance_open([0.0, 2.0, 99.0], 2.0, 0.1, 0.08, 0.02).round(3).tolist()
    [0.08, 0.53, 0.98]
    """
    return false_open + (1 - np.asarray(false_open) - missed) * scipy.special.expit(
        (np.asarray(gap_um) - threshold_um) / spread_um
    )


def eye_posterior(
    gap_um: np.ndarray,
    seen: np.ndarray,
    looks: np.ndarray,
    false_open: float | None = None,
    missed: float | None = None,
) -> EyePosterior:
    """Work out which eyes a wedge test leaves.

    `gap_um`, `seen`, `looks` (marks,): of two distinct gaps or more. `false_open`, `missed`: a rate that is known;
    where it is not, it has the prior `RATE_PRIOR`. Returns: what it cannot see: looks that hang on each other, and a
    curve that is not logistic.

    Bayes' rule on a grid of all four that is narrowed twice to where the posterior lies. Before the test every
    threshold from half the range of the marks below them to half above, never below 0, and every spread up to the range
    is as likely as any other; the rates have a beta distribution (H. Schuett, S. Harmeling, J. Macke, F. Wichmann,
    Vision Research 122, 2016; from memory). Coverage is held by tests.

    >>> found = eye_posterior(np.array([1.0, 2, 3, 4]), np.array([0, 3, 7, 10]), np.full(4, 10))
    >>> bool(found.threshold_95_um[0] < 2.5 < found.threshold_95_um[1])
    True
    """
    gap, where = np.unique(gap_um, return_inverse=True)
    seen, looks = np.bincount(where, seen), np.bincount(where, looks)
    span = float(np.ptp(gap))
    least = max(float(np.diff(gap).min()) / 10, span / 1000)
    low = [max(float(gap[0]) - span / 2, 0.0), np.log(least), 0.0, 0.0]
    high = [float(gap[-1]) + span / 2, np.log(span), np.sqrt(_MOST_RATE), np.sqrt(_MOST_RATE)]
    held = (None, None, false_open, missed)
    for sizes in _PASSES:
        axes = [
            _middles(a, b, n) if h is None else np.array([np.sqrt(h)]) for a, b, n, h in zip(low, high, sizes, held)
        ]
        weight = _weights(axes, held, gap, seen, looks)
        low, high = _narrowed(axes, weight, low, high)
    return _spread_out(axes, weight)


def _middles(low: float, high: float, n: int) -> np.ndarray:
    edges = np.linspace(low, high, n + 1)
    return (edges[1:] + edges[:-1]) / 2


def _weights(axes, held, gap: np.ndarray, seen: np.ndarray, looks: np.ndarray) -> np.ndarray:
    """Posterior of each cell: axes are threshold, log spread, and the roots of the two rates."""
    threshold, log_spread = axes[0][:, None, None, None], axes[1][None, :, None, None]
    guess, miss = axes[2][None, None, :, None] ** 2, axes[3][None, None, None, :] ** 2
    total = np.zeros(tuple(a.size for a in axes)) + log_spread  # even in the spread, not in its logarithm
    for at, k, n in zip(gap, seen, looks):
        chance = chance_open(at, threshold, np.exp(log_spread), guess, miss)
        with np.errstate(divide="ignore"):  # a chance of 0 or 1, where a rate is held at 0, rules an eye out
            total += (k * np.log(chance) if k else 0.0) + ((n - k) * np.log1p(-chance) if k < n else 0.0)
    a, b = RATE_PRIOR
    for rate, known in ((guess, held[2]), (miss, held[3])):
        if known is None:  # the half stands for the root in which the rate is laid out
            total += (a - 0.5) * np.log(rate) + (b - 1) * np.log1p(-rate)
    weight = np.exp(total - total.max())
    return weight / weight.sum()


def _along(weight: np.ndarray, axis: int) -> np.ndarray:
    return weight.sum(axis=tuple(k for k in range(weight.ndim) if k != axis))


def _narrowed(axes, weight: np.ndarray, low: list[float], high: list[float]) -> tuple[list[float], list[float]]:
    """Leave out, along each axis, the cells at both ends that weigh next to nothing."""
    lows, highs = list(low), list(high)
    for k, at in enumerate(axes):
        if at.size > 1:
            part = _along(weight, k)
            on = np.flatnonzero(part > _KEEP * part.max())
            half = (at[1] - at[0]) / 2
            lows[k] = max(low[k], float(at[max(on[0] - 1, 0)]) - half)
            highs[k] = min(high[k], float(at[min(on[-1] + 1, at.size - 1)]) + half)
    return lows, highs


def _within(axis: np.ndarray, at: np.ndarray, k: int) -> np.ndarray:
    """Place eyes inside their cells, evenly by a sequence of Weyl, so that quantiles do not come in steps."""
    if axis.size == 1:
        return axis[at]
    part = (np.arange(at.size) * np.sqrt((2, 3, 5, 7)[k])) % 1 - 0.5
    return np.abs(axis[at] + part * (axis[1] - axis[0])) if k > 1 else axis[at] + part * (axis[1] - axis[0])


def _spread_out(axes, weight: np.ndarray) -> EyePosterior:
    """Put as many eyes into each cell as it weighs, evenly through it along the threshold."""
    part, half = _along(weight, 0), (axes[0][1] - axes[0][0]) / 2
    below = np.concatenate([[0.0], np.cumsum(part)])
    edges = np.append(axes[0] - half, axes[0][-1] + half)
    ends = np.interp((0.025, 0.975), below, edges)
    flat = np.concatenate([[0.0], np.cumsum(weight.ravel())])
    wanted = (np.arange(_NODES) + 0.5) / _NODES * flat[-1]
    cell = np.clip(np.searchsorted(flat, wanted, side="right") - 1, 0, weight.size - 1)
    _, spread, guess, miss = (
        _within(axis, at, k) for k, (axis, at) in enumerate(zip(axes, np.unravel_index(cell, weight.shape)))
    )
    return EyePosterior(
        threshold_um=np.interp(wanted, below, edges),
        spread_um=np.exp(spread),
        false_open=guess**2,
        missed=miss**2,
        threshold_95_um=(float(ends[0]), float(ends[1])),
    )
