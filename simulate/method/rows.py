"""The rows of a levelling network: readings, zeros that are doubtful, points settled before."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy import sparse

from simulate.method.fits import Fit
from simulate.surface import checks

PLACES = 6  # positions closer than a nanometre are one point


def reading_rows(fits: Sequence[Fit], x: np.ndarray, column: np.ndarray,
                 zero_sd_um: dict) -> tuple[sparse.csr_matrix, dict]:
    """Weighted readings as rows over points, then shared zeros as further columns.

    Parameters
    ----------
    fits : sequence of Fit
    x : ndarray, shape (points,)
    column : ndarray of int, shape (points,)
        Which unknown a point is; -1 where it is held or never touched.
    zero_sd_um : dict

    Returns
    -------
    design : sparse matrix, shape (readings, unknowns)
    zeros : dict
        (gauge, inner land) to (column, deviation).

    Raises
    ------
    ValueError
        Where a zero names no gauge or its deviation is below 0.

    Examples
    --------
    >>> rows, zeros = reading_rows([Fit((0, 1, 3), 1.0)], np.array([0.0, 1.0, 3.0]), np.array([-1, 0, 1]), {})
    >>> rows.toarray().round(3).tolist(), zeros
    ([[1.0, -0.333]], {})
    """
    count = np.array([len(f.lands_mm) for f in fits])
    first = np.cumsum(count) - count
    lands = np.concatenate([f.lands_mm for f in fits]).round(PLACES)
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
    return sparse.csr_matrix((numbers[free], (rows[free], columns[free])), shape=shape), zeros


def _zeros(fits, owner, place, count, zero_sd_um, start):
    """A column for each inner land of a gauge whose zero is not sure, and each reading's column."""
    for name, sd in zero_sd_um.items():
        if not sd >= 0:
            raise ValueError(f"zero_sd_um of {name!r} is {sd!r}; allowed is 0 or more, or inf where nothing is known.")
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


def known_zeros(zeros: dict, columns: int) -> sparse.csr_matrix:
    """What is known of the zeros beforehand, a row for each that has a deviation.

    Parameters
    ----------
    zeros : dict
        As from `reading_rows`.
    columns : int

    Returns
    -------
    sparse matrix

    Examples
    --------
    >>> known_zeros({("gauge", 0): (1, 0.5)}, 2).toarray().tolist()
    [[0.0, 2.0]]
    """
    known = [(column, sd) for column, sd in zeros.values() if np.isfinite(sd)]
    weight = [1 / sd for _, sd in known]
    return sparse.csr_matrix((weight, (range(len(known)), [c for c, _ in known])), shape=(len(known), columns))


def prior_rows(prior, trusted_mm: ArrayLike | None, x: np.ndarray, column: np.ndarray,
               columns: int) -> tuple[sparse.csr_matrix, np.ndarray]:
    """Rows that weigh in what was settled before, and their values.

    Parameters
    ----------
    prior : Network
    trusted_mm : array_like or None
        None trusts all that it reached.
    x : ndarray
    column : ndarray of int
    columns : int

    Returns
    -------
    rows : sparse matrix
    values : ndarray, shape (..., rows)

    Raises
    ------
    ValueError
        Where a trusted point was not reached.

    Examples
    --------
    >>> from simulate.method.network import solve_network
    >>> before = solve_network([Fit((0, 1, 2), 0.5)])
    >>> abs(prior_rows(before, [1], before.x_mm, np.array([-1, 0, -1]), 1)[0].toarray()).round(6).tolist()
    [[2.0]]
    """
    trusted = prior.x_mm[prior.reached] if trusted_mm is None else checks.numbers(trusted_mm, "trusted_mm").ravel()
    lost = ~np.isin(trusted.round(PLACES), prior.x_mm[prior.reached])
    if lost.any():
        raise ValueError(f"trusted_mm holds {trusted[lost][0]:g}, which the level before did not reach; "
                         f"allowed are {row_of(prior.x_mm[prior.reached])}.")
    before = np.searchsorted(prior.x_mm, trusted.round(PLACES))
    at = column[np.searchsorted(x, trusted.round(PLACES))]
    before, at = before[at >= 0], at[at >= 0]
    value, axis = np.linalg.eigh(prior.covariance_um2[np.ix_(before, before)])
    white = (axis / np.sqrt(np.maximum(value, 1e-18))).T
    rows = np.zeros((len(at), columns))
    rows[:, at] = white
    known = None if prior.height_um is None else prior.height_um[..., before] @ white.T
    return sparse.csr_matrix(rows), np.zeros(len(at)) if known is None else known


def weighted(readings_um: ArrayLike | None, inner: list[int], sd: list[float]) -> np.ndarray:
    """Readings divided by their deviations; noughts where none were given.

    Parameters
    ----------
    readings_um : array_like, shape (..., readings), or None
    inner : list of int
        Inner lands of each fit.
    sd : list of float

    Returns
    -------
    ndarray, shape (..., readings)

    Raises
    ------
    ValueError
        Where there is not one reading for each inner land.

    Examples
    --------
    >>> weighted([1.0, 2.0], [1, 1], [0.5, 1.0]).tolist()
    [2.0, 2.0]
    """
    count = sum(inner)
    if readings_um is None:
        return np.zeros(count)
    readings = checks.numbers(readings_um, "readings_um")
    if readings.ndim < 1 or readings.shape[-1] != count:
        raise ValueError(f"readings_um must hold {count} along its last axis, one for each inner land; "
                         f"got shape {readings.shape}.")
    return readings / np.repeat(sd, inner)


def beside(values: np.ndarray, more: np.ndarray) -> np.ndarray:
    """Join along the last axis, spreading the axes before it.

    Parameters
    ----------
    values, more : ndarray

    Returns
    -------
    ndarray

    Examples
    --------
    >>> beside(np.zeros((2, 3)), np.zeros(1)).shape
    (2, 4)
    """
    shape = np.broadcast_shapes(values.shape[:-1], more.shape[:-1])
    return np.concatenate([np.broadcast_to(v, shape + v.shape[-1:]) for v in (values, more)], axis=-1)


def row_of(x: np.ndarray) -> str:
    """Positions in words, shortened where there are many.

    Parameters
    ----------
    x : ndarray

    Returns
    -------
    str

    Examples
    --------
    >>> row_of(np.array([0.0, 2.5]))
    '0, 2.5'
    """
    if len(x) > 12:
        return f"{len(x)} points from {x[0]:g} to {x[-1]:g}"
    return ", ".join(f"{v:g}" for v in x) if len(x) else "no points"
