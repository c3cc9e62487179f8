"""Draws of a posterior that no normal distribution stands for: many chains at once, each moved along ellipses."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

WARM, KEPT, EVERY = 32, 10, 3
"""Moves before draws count, draws that are kept of each chain, and moves from one to the next."""
_WIDE = 1.3
"""Ellipses are this much wider than what the chains make of the posterior, so that its tails are reached."""
_TRIES = 60
_FAR = 2.0

Target = Callable[[np.ndarray, float], tuple[np.ndarray, np.ndarray]]
"""From states, and by how much they may still miss (1 to 0), to how likely they are (a logarithm) and what is kept."""


@dataclass(frozen=True, kw_only=True)
class _Ellipse:
    middle: np.ndarray
    root: np.ndarray
    inverse: np.ndarray

    def beyond(self, off: np.ndarray) -> np.ndarray:
        """How unlikely the normal distribution of the ellipses holds what is `off` its middle, as a logarithm."""
        return ((off @ self.inverse.T) ** 2).sum(axis=1) / 2


def slice_draws(target: Target, start: np.ndarray, seed: int = 1) -> tuple[np.ndarray, np.ndarray]:
    """Draw states from a target.

    `target`: gives logarithms, shape (states,), and what is to be kept of each state, shape (states, values). `start`
    (chains, unknowns): draws of something like the target; more of them than unknowns. Returns `states`, `values`
    (chains * 10, ...).

    Elliptical slice sampling (I. Murray, R. Adams, D. MacKay, 2010) about a normal distribution that the chains
    themselves give while they warm up, as R. Nishihara, I. Murray and R. Adams do (2014); a chain that is left behind
    then, as J. Vrugt (2009) tells one, begins anew where another is. All from memory.

    >>> def even(states, miss):  # 0 to 1
    ...     return np.where(np.abs(states[:, 0] - 0.5) < 0.5 + miss, 0.0, -1e9), states
    >>> found = slice_draws(even, np.random.default_rng(0).normal(0.5, 0.2, (300, 1)))[0]
    >>> [round(float(v), 1) for v in (found.mean(), 12 * found.var())]
    [0.5, 1.0]
    """
    rng = np.random.default_rng(seed)
    states, first = start.copy(), (start.mean(axis=0), np.cov(start.T).reshape(2 * (start.shape[1],)))
    ellipse = _ellipse(*first)
    kept: list[tuple[np.ndarray, np.ndarray]] = []
    for move in range(WARM + KEPT * EVERY):
        miss = 10 ** (-8 * move / WARM) if move < WARM // 2 else 0.0
        likely, values = target(states, miss)
        if 0 < move <= WARM and move % (WARM // 4) == 0:
            if move >= WARM // 2:
                ahead = _ahead(likely, rng)
                states, likely, values = states[ahead], likely[ahead], values[ahead]
            ellipse = _ellipse(*_shrunk(states, *first))
        states, values = _moved(target, miss, states, likely, values, ellipse, rng)
        if move >= WARM and (move - WARM) % EVERY == EVERY - 1:
            kept.append((states, values))
    return np.concatenate([one for one, _ in kept]), np.concatenate([one for _, one in kept])


def _ellipse(middle: np.ndarray, covariance: np.ndarray) -> _Ellipse:
    size = np.maximum(np.diag(covariance), 1e-12)
    root = np.linalg.cholesky(_WIDE**2 * (covariance + 1e-6 * np.diag(size)))
    return _Ellipse(middle=middle, root=root, inverse=np.linalg.inv(root))


def _shrunk(states: np.ndarray, middle: np.ndarray, covariance: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take middle and covariance from the chains, and the more from where they began the fewer they are."""
    chains, unknowns = states.shape
    own = chains / (chains + unknowns)
    mean = states.mean(axis=0)
    return mean, own * np.cov(states.T).reshape(covariance.shape) + (1 - own) * covariance


def _ahead(likely: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Number each chain, and in place of those that are left behind another one."""
    low, high = np.quantile(likely, (0.25, 0.75))
    behind = likely < low - _FAR * (high - low)
    ahead = np.arange(likely.size)
    ahead[behind] = rng.choice(ahead[~behind], int(behind.sum()))
    return ahead


def _moved(
    target: Target,
    miss: float,
    states: np.ndarray,
    likely: np.ndarray,
    values: np.ndarray,
    ellipse: _Ellipse,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """Move each chain to a place on its ellipse that is likely enough."""
    off = states - ellipse.middle
    aside = rng.standard_normal(states.shape) @ ellipse.root.T
    least = likely + ellipse.beyond(off) + np.log(rng.random(len(states)))
    angle = rng.uniform(0, 2 * np.pi, len(states))
    low, high = angle - 2 * np.pi, angle.copy()
    states, values, todo = states.copy(), values.copy(), np.arange(len(states))
    for _ in range(_TRIES):  # who finds nothing until then stays
        tried = off[todo] * np.cos(angle[todo])[:, None] + aside[todo] * np.sin(angle[todo])[:, None]
        found, found_values = target(tried + ellipse.middle, miss)
        good = found + ellipse.beyond(tried) > least[todo]
        states[todo[good]], values[todo[good]] = tried[good] + ellipse.middle, found_values[good]
        todo = todo[~good]
        if not todo.size:
            break
        back = angle[todo] < 0
        low[todo[back]], high[todo[~back]] = angle[todo[back]], angle[todo[~back]]
        angle[todo] = rng.uniform(low[todo], high[todo])
    return states, values
