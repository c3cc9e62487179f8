"""Least squares on a sparse table, and which unknowns it settles at all."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.core.least_squares import least_squares as dense_least_squares

_SMALL_PIVOT = 1e-10  # below this a dense decomposition decides whether it is nought


def least_squares(design: scipy.sparse.csr_matrix, values: np.ndarray, spread: bool = True) -> tuple:
    """Solve weighted readings for all unknowns.

    `design` (readings, unknowns): each row already divided by its reading's standard deviation. `values` (...,
    readings): readings, divided likewise. `spread`: whether the covariance is wanted; it is dense, and costs more than
    the answer. Returns `answer` (..., unknowns), `covariance` (unknowns, unknowns). `open_` (unknowns,) of bool: true
    where no reading settles the unknown; its numbers mean nothing.

    Normal equations scaled to a unit diagonal, factored sparse, and the answer
    refined on the readings' own residuals, which wins back the digits that
    squaring loses. Where a pivot is small, or readings are too few, a
    dense singular value decomposition takes over.

    >>> table = scipy.sparse.csr_matrix([[1.0, 0.0], [1.0, 0.0]])
    >>> answer, covariance, open_ = least_squares(table, np.array([1.0, 3.0]))
    >>> answer.round(9).tolist(), open_.tolist()
    ([2.0, 0.0], [False, True])
    """
    factor, scale = _factor(design)
    if factor is None:
        return _dense(design.toarray(), values)

    def back(right):
        scaled = scale[:, None] * right
        return scale[:, None] * factor.solve(scaled)

    right = values.reshape(-1, design.shape[0]).T
    answer = back(design.T @ right)
    for _ in range(2):
        answer = answer + back(design.T @ (right - design @ answer))
    covariance = _inverse(design, scale) if spread else None
    return answer.T.reshape(values.shape[:-1] + (-1,)), covariance, np.zeros(design.shape[1], dtype=bool)


def _factor(design: scipy.sparse.csr_matrix):
    """The factored, scaled normal equations, or None where they are not safe."""
    readings, unknowns = design.shape
    normal = (design.T @ design).tocsc()
    size = np.sqrt(normal.diagonal())
    if readings < unknowns or not unknowns or not (size > 0).all():
        return None, None
    unit = scipy.sparse.diags(1 / size)
    try:
        factor = scipy.sparse.linalg.splu(
            (unit @ normal @ unit).tocsc(),
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError:  # exactly singular
        return None, None
    return (factor, 1 / size) if np.abs(factor.U.diagonal()).min() > _SMALL_PIVOT else (None, None)


def _inverse(design: scipy.sparse.csr_matrix, scale: np.ndarray) -> np.ndarray:
    unit = design @ scipy.sparse.diags(scale)
    inverse = np.linalg.inv((unit.T @ unit).toarray()) * scale * scale[:, None]
    return (inverse + inverse.T) / 2


def _dense(table: np.ndarray, values: np.ndarray):
    fit = dense_least_squares(table, np.ones(len(table)))
    open_ = np.linalg.norm(fit.hidden, axis=1) > 1e-7
    return values @ fit.reach @ fit.inverse.T, fit.cofactor, open_
