"""Weighted least squares of a dense table, with one rule for what the readings settle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

RANK = 1e-9
"""Singular values of a table with columns of one size below this part of the largest count as none."""


@dataclass(frozen=True, kw_only=True)
class LeastSquares:
    """What a table of weighted readings makes of its unknowns, whatever was read.

    `reach` (readings, rank): orthonormal; what the unknowns can do to readings divided by their deviations. `inverse`
    (unknowns, rank): turns what was reached back into unknowns. `hidden` (unknowns, k): orthonormal; what moves no
    reading, of which a solution has none.
    """

    reach: np.ndarray
    inverse: np.ndarray
    hidden: np.ndarray

    @property
    def cofactor(self) -> np.ndarray:
        """Covariance of the unknowns as far as they are told, shape (unknowns, unknowns)."""
        return self.inverse @ self.inverse.T

    def solve(self, weighted: np.ndarray) -> np.ndarray:
        """Give the unknowns of readings that are divided by their deviations, shape (unknowns,)."""
        return self.inverse @ (self.reach.T @ weighted)


def least_squares(design: np.ndarray, sd: np.ndarray) -> LeastSquares:
    """Decompose a table of readings for weighted least squares.

    `design` (readings, unknowns): what each unknown does to each reading. `sd` (readings,): above 0.

    What is settled hangs on the table alone, its columns scaled to one size, and neither on units nor on weights: one
    reading that is much surer than the others makes nothing hidden. Within what is settled the weighted table has full
    rank, and is factored by orthogonal columns (G. Golub and C. Van Loan, Matrix Computations, 5.3; from memory).

    >>> found = least_squares(np.array([[1.0, 1.0], [1.0, 1.0]]), np.array([1.0, 1.0]))
    >>> found.solve(np.array([2.0, 4.0])).round(6).tolist(), found.hidden.shape
    ([1.5, 1.5], (2, 1))
    """
    size = np.linalg.norm(design, axis=0)
    size[size == 0] = 1.0
    lacking = max(0, design.shape[1] - design.shape[0])  # rows of noughts, so that every unknown has its axis
    _, s, vt = np.linalg.svd(np.pad(design / size, ((0, lacking), (0, 0))), full_matrices=False)
    firm = s > RANK * s.max(initial=1e-300)
    told, hidden = vt[firm].T / size[:, None], np.linalg.qr(vt[~firm].T / size[:, None])[0]
    reach, triangle = np.linalg.qr(design @ told / sd[:, None])
    inverse = scipy.linalg.solve_triangular(triangle, told.T, trans="T").T if len(triangle) else told
    return LeastSquares(reach=reach, inverse=inverse - hidden @ (hidden.T @ inverse), hidden=hidden)
