"""What shapes a body may have before anything is read: smooth ones, rough ones, and mixtures."""

from __future__ import annotations

import numpy as np

LENGTHS = (2.0, 1.0, 0.5, 0.25)
"""Correlation lengths, as parts of half the body's length: from one bow to waves."""
ROUGH = (0.03, 0.2)
"""Standard deviation of independent roughness, as part of the smooth amplitude."""

WORKED_LENGTHS, WORKED_ROUGH = (0.7, 0.35), (0.1, 0.3)
"""The same of faces and edges that were worked by hand (a stated choice, no source)."""
FITTED, _MOST_FITTED = 0.7, 4
"""Correlation of the shapes of bodies that were worked to fit each other, and up to how many of them it is thought of
(a stated choice, no source)."""


def smooth_shapes(
    place: np.ndarray, free: np.ndarray, lengths: tuple[float, ...] = LENGTHS, rough: tuple[float, ...] = ROUGH
) -> np.ndarray:
    """Give the covariance of heights beyond a body's own line or plane, for each kind of shape.

    `place` (points,) or (points, 2): where the stations lie, scaled so that the body reaches from about -1 to 1. `free`
    (points, k): orthonormal basis of shapes without a line or a plane. `lengths`, `rough`: correlation lengths, and how
    much of independent roughness stands beside them. Returns (kinds, k, k): in coordinates of `free`, each of unit mean
    square height over the stations; first wholly independent heights, then from the shortest length to the longest.

    Gaussian processes with a squared-exponential covariance (C. Rasmussen, C. Williams, Gaussian processes for machine
    learning, 2006, 4.2; from memory).

    >>> from simulate.readings.bars.bar_network import line_free
    >>> x = np.linspace(-1, 1, 7)
    >>> smooth_shapes(x, line_free(x)).shape
    (9, 5, 5)
    """
    at = np.asarray(place, float).reshape(len(free), -1)
    square = ((at[:, None] - at[None]) ** 2).sum(-1)
    kinds = [np.eye(free.shape[1])]
    for length in sorted(lengths):
        smooth = free.T @ np.exp(-square / (2 * length**2)) @ free
        smooth /= max(np.trace(smooth), 1e-300)
        for part in sorted(rough, reverse=True):
            kinds.append(smooth + part**2 * np.eye(free.shape[1]) / free.shape[1])
    return np.stack([one / np.trace(one) * len(free) for one in kinds])


def fitted_patterns(bodies: int) -> np.ndarray:
    """Give the correlations of several bodies' shapes: none, or each pattern of signs where they were made to fit.

    Returns (patterns, bodies, bodies).

    >>> fitted_patterns(3)[:3, 0].tolist()
    [[1.0, 0.0, 0.0], [1.0, 0.7, 0.7], [1.0, 0.7, -0.7]]
    """
    found = [np.eye(bodies)]
    if 3 <= bodies <= _MOST_FITTED:
        for signs in np.ndindex(*(2,) * (bodies - 1)):
            sign = np.array([1, *(1 - 2 * s for s in signs)])
            found.append((1 - FITTED) * np.eye(bodies) + FITTED * np.outer(sign, sign))
    return np.stack(found)


def for_each(kinds: np.ndarray, bodies: int) -> np.ndarray:
    """Give the covariance of several bodies of one kind, independent of each other.

    `kinds` (kinds, k, k). Returns (kinds, bodies * k, bodies * k).

    >>> for_each(np.ones((2, 1, 1)), 3).shape
    (2, 3, 3)
    """
    return np.stack([np.kron(np.eye(bodies), one) for one in kinds])
