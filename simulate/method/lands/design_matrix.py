"""The rows of a levelling network: readings, and zeros that are doubtful."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words
from simulate.core.spaces import canonical_basis
from simulate.core.values import short
from simulate.method.lands.land_fit import Fit, snapped

_MOST_NAMED = 12


def reading_rows(
    fits: Sequence[Fit], x: np.ndarray, column: np.ndarray, zero_sd_um: dict
) -> tuple[scipy.sparse.csr_matrix, dict]:
    """Weighted readings as rows over points, then shared zeros as further columns.

    `x` (points,). `column` (points,) of int: which unknown a point is; -1 where it is held or never touched. Returns
    `design` (readings, unknowns). `zeros`: (gauge, inner land) to (column, deviation).

    >>> rows, zeros = reading_rows([Fit((0, 1, 3), 1.0)], np.array([0.0, 1.0, 3.0]), np.array([-1, 0, 1]), {})
    >>> rows.toarray().round(3).tolist(), zeros
    ([[1.0, -0.333]], {})
    """
    count = np.array([len(f.lands_mm) for f in fits])
    first = np.cumsum(count) - count
    lands = snapped(np.concatenate([f.lands_mm for f in fits]))
    owner = np.repeat(np.arange(len(fits)), count - 2)
    place = np.arange(len(owner)) - np.repeat(np.cumsum(count - 2) - (count - 2), count - 2)
    inner, left, right = first[owner] + 1 + place, first[owner], first[owner] + count[owner] - 1
    part = (lands[inner] - lands[left]) / (lands[right] - lands[left])
    weight = 1 / np.array([f.sd_um for f in fits])[owner]
    zeros, which = _zeros(fits, owner, place, count, zero_sd_um, int(column.max()) + 1)
    at = column[np.searchsorted(x, lands)]
    columns = np.concatenate([at[inner], at[left], at[right], which])
    numbers = np.concatenate([weight, (part - 1) * weight, -part * weight, weight])
    rows = np.tile(np.arange(len(owner)), 4)
    free = columns >= 0
    shape = (len(owner), int(column.max()) + 1 + len(zeros))
    return scipy.sparse.csr_matrix((numbers[free], (rows[free], columns[free])), shape=shape), zeros


def free_moves(fits: Sequence[Fit], x_mm: np.ndarray, free: np.ndarray) -> np.ndarray:
    """Give the movements of points that no fit sees, by the canonical basis of their space, the largest part 1.

    `x_mm` (points,). `free` (points,) of bool: touched and not held. Returns (ways, points).

    >>> two = [Fit((0, 1, 2), 1.0), Fit((2, 3, 4), 1.0)]
    >>> free_moves(two, np.arange(5.0), np.array([False, True, True, True, False])).round(9).tolist()
    [[0.0, 0.5, 1.0, 0.5, 0.0]]
    """
    rows, _ = reading_rows(fits, x_mm, np.where(free, np.cumsum(free) - 1, -1), {})
    shapes = canonical_basis(scipy.linalg.null_space(rows.toarray()).T)
    moves = np.zeros((len(shapes), x_mm.size))
    moves[:, free] = shapes / np.abs(shapes).max(axis=1, keepdims=True, initial=1e-12)
    return moves


def _zeros(fits, owner, place, count, zero_sd_um, start):
    """A column for each inner land of a gauge whose zero is not sure, and each reading's column."""
    for name, sd in zero_sd_um.items():
        if not sd >= 0:
            raise Refusal(
                "range",
                where=f"zero_sd_um of {name!r}",
                found=short(sd),
                must_be="0 or more, or inf where nothing is known",
            )
        checks.choice(name, "a gauge in zero_sd_um", sorted({f.gauge for f in fits}))
    which = np.full(len(owner), -1)
    zeros: dict = {}
    if any(zero_sd_um.values()):
        for row, (f, p) in enumerate(zip(owner, place)):
            fit = fits[f]
            if zero_sd_um.get(fit.gauge, 0) > 0:
                own = (fit.gauge, int(count[f] - 3 - p if fit.turned else p))
                which[row] = zeros.setdefault(own, (start + len(zeros), zero_sd_um[fit.gauge]))[0]
    return zeros, which


def known_zeros(zeros: dict, columns: int) -> scipy.sparse.csr_matrix:
    """What is known of the zeros beforehand, a row for each that has a deviation.

    `zeros`: as from `reading_rows`.

    >>> known_zeros({("gauge", 0): (1, 0.5)}, 2).toarray().tolist()
    [[0.0, 2.0]]
    """
    known = [(column, sd) for column, sd in zeros.values() if np.isfinite(sd)]
    weight = [1 / sd for _, sd in known]
    return scipy.sparse.csr_matrix((weight, (range(len(known)), [c for c, _ in known])), shape=(len(known), columns))


def weighted(readings_um: ArrayLike | None, inner: list[int], sd: list[float]) -> np.ndarray:
    """Readings divided by their deviations; noughts where none were given.

    `readings_um` (..., readings). `inner`: inner lands of each fit. Returns (..., readings).

    >>> weighted([1.0, 2.0], [1, 1], [0.5, 1.0]).tolist()
    [2.0, 2.0]
    """
    count = sum(inner)
    if readings_um is None:
        return np.zeros(count)
    readings = checks.numbers(readings_um, "readings_um")
    if readings.ndim < 1 or readings.shape[-1] != count:
        raise Refusal(
            "shape",
            where="readings_um",
            found=shape_words(readings.shape),
            must_be=f"{count} figures in each row, one for each inner land",
        )
    return readings / np.repeat(sd, inner)


def beside(values: np.ndarray, more: np.ndarray) -> np.ndarray:
    """Join along the last axis, spreading the axes before it.

    >>> beside(np.zeros((2, 3)), np.zeros(1)).shape
    (2, 4)
    """
    shape = np.broadcast_shapes(values.shape[:-1], more.shape[:-1])
    return np.concatenate([np.broadcast_to(v, shape + v.shape[-1:]) for v in (values, more)], axis=-1)


def row_of(x: np.ndarray) -> str:
    """Positions in words; many are told as rows of even steps, where they lie so.

    >>> row_of(np.array([0.0, 2.5]))
    '0, 2.5'
    >>> row_of(np.append(np.arange(0, 325, 25.0), 600))
    '0 to 300 every 25, 600'
    """
    if len(x) <= _MOST_NAMED:
        return ", ".join(f"{v:g}" for v in x) if len(x) else "no points"
    told, k = [], 0
    while k < len(x):
        steps = np.diff(x[k:])
        even = 0 if not steps.size else int(np.argmin(np.append(np.abs(steps - steps[0]) < 0.02 + 1e-9, False)))
        told.append(f"{x[k]:g} to {x[k + even]:g} every {steps[0]:.4g}" if even > 2 else f"{x[k]:g}")
        k += even + 1 if even > 2 else 1
    return ", ".join(told) if len(told) <= _MOST_NAMED else f"{len(x)} points from {x[0]:g} to {x[-1]:g}"
