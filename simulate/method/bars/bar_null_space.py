"""What a list of fits between bars leaves unseen."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.core.spaces import smooth_basis
from simulate.core.values import short

TOLERANCE = 1e-9
"""Singular values below this part of the largest count as none."""


def hidden_bar_errors(points: int, fits: Sequence[tuple[int, int, bool]], bars: int = 3) -> np.ndarray:
    """Every error of a set of bars that all the fits leave unseen.

    Parameters
    ----------
    points : int
        Points along each bar, evenly spaced.
    fits : sequence of (lower, upper, turned)
        Bars numbered from 0; `turned` swings the upper bar end for end.
    bars : int
        How many bars there are.

    Returns
    -------
    ndarray, shape (k, bars, points)
        Orthonormal; each of the k members is a set of shapes, beyond each
        bar's own line, that makes no gap in any of the fits. Broad shapes and
        first bars first, each positive at its own leading wave (`smooth_basis`).

    Raises
    ------
    ValueError
        Where a fit names a bar that is not there, or a bar against itself.

    Notes
    -----
    What a fit's own line takes up counts as unseen by that fit. Two bars hide
    every shape that one has and the other has the other way up. Three bars in
    three plain fits hide nothing that a fit can show, because
    a = (ab + ac - bc) / 2.

    Examples
    --------
    >>> hidden_bar_errors(11, [(0, 1, False)], bars=2).shape
    (9, 2, 11)
    >>> hidden_bar_errors(11, [(0, 1, False), (0, 2, False), (1, 2, False)]).shape
    (0, 3, 11)
    """
    points = checks.whole(points, "points", 3)
    bars = checks.whole(bars, "bars", 1)
    checks.room((bars * points) ** 2, "(bars x points) squared")
    shapes = _beyond_line(points)
    blocks = [_gap_rows(shapes, fit, k, bars) for k, fit in enumerate(_listed(fits))]
    loose = null_space(np.vstack(blocks)) if blocks else np.eye(bars * len(shapes))
    return smooth_basis(loose.reshape(-1, bars, len(shapes)) @ shapes)


def null_space(matrix: np.ndarray) -> np.ndarray:
    """Orthonormal rows that the matrix turns into nothing.

    `matrix` (rows, columns). Returns (k, columns).

    >>> np.abs(null_space(np.array([[1.0, 0.0]])))
    array([[0., 1.]])
    """
    values, vectors = np.linalg.eigh(matrix.T @ matrix)
    top = max(values[-1], 0.0) if values.size else 0.0
    return vectors[:, values <= TOLERANCE * top + 1e-300].T


def _beyond_line(points: int) -> np.ndarray:
    """Orthonormal shapes of one bar that are orthogonal to its line, each even or odd about the middle."""
    x = np.linspace(-1, 1, points)
    full, _ = np.linalg.qr(np.polynomial.legendre.legvander(x, points - 1))
    return full[:, 2:].T


def _listed(fits) -> list:
    try:
        return list(fits)
    except TypeError:
        raise Refusal("type", where="fits", found=short(fits), must_be="a list of (lower, upper, turned)") from None


def _gap_rows(shapes: np.ndarray, fit, number: int, bars: int) -> np.ndarray:
    try:
        lower, upper, turned = fit
    except (TypeError, ValueError):
        raise Refusal("type", where=f"fits[{number}]", found=short(fit), must_be="(lower, upper, turned)") from None
    lower = checks.whole(lower, f"fits[{number}] lower", 0, bars - 1)
    upper = checks.whole(upper, f"fits[{number}] upper", 0, bars - 1)
    checks.choice(turned, f"fits[{number}] turned", (False, True))
    if lower == upper:
        raise Refusal("same", where=f"fits[{number}]", found=f"bar {lower} on itself", must_be="two different bars")
    met = shapes[:, ::-1] if turned else shapes
    rows = np.zeros((len(shapes), bars, len(shapes)))
    rows[:, lower] = np.eye(len(shapes))
    rows[:, upper] = shapes @ met.T
    return rows.reshape(len(shapes), -1)
