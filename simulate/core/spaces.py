"""A space of shapes has many bases; these functions give one that hangs on the space alone."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words

SHARE = float(np.exp(-1.0))
"""A place is taken before a later one if it still carries this share of what the fullest place carries. Shares that
come of symmetry are simple fractions; this one is none, so rounding does not decide."""

RANK = 1e-9
"""Singular values below this part of the largest count as none."""


def canonical_basis(spanning: np.ndarray) -> np.ndarray:
    """Give the one orthonormal basis of a space that hangs on the space alone.

    Parameters
    ----------
    spanning : ndarray, shape (rows, places)
        Rows that span the space, however long, in any order and in any mixture.

    Returns
    -------
    ndarray, shape (k, places)
        Orthonormal rows. Each has a place of its own, positive there, at which all rows behind it are nothing.

    Raises
    ------
    ValueError
        Where what is given is no table of finite numbers.

    Notes
    -----
    Gram-Schmidt on the columns of the projector onto the space (pivoted Cholesky), which does not know from which
    basis it came: take the first place that still carries at least `SHARE` of the fullest, take out its column, and
    so on. The rows are those of a QR decomposition at these places, R's diagonal positive (Golub and Van Loan,
    Matrix Computations, sections on pivoted Cholesky and QR). An earlier place is preferred, so the order of the
    places orders the basis.

    Examples
    --------
    >>> canonical_basis(np.array([[0.0, 3.0, -3.0], [0.0, 1.0, 1.0]])).round(12) + 0.0
    array([[0., 1., 0.],
           [0., 0., 1.]])
    """
    rows = np.asarray(checks.numbers(spanning, "spanning"), dtype=float)
    if rows.ndim != 2:
        raise Refusal("shape", where="spanning", found=shape_words(rows.shape), must_be="rows of places")
    basis = _orthonormal(rows)
    if not len(basis):
        return basis
    turn, upper = np.linalg.qr(basis[:, _places(basis)])
    return (turn * np.where(upper.diagonal() < 0, -1.0, 1.0)).T @ basis


def smooth_basis(shapes: np.ndarray) -> np.ndarray:
    """Give the canonical basis of a space of heights, with broad shapes before narrow ones and first bodies first.

    `shapes` (k, bodies, points) or (k, bodies, rows, columns): orthonormal. Returns: orthonormal; hangs on the space
    alone.

    `canonical_basis` in cosines along each axis (a discrete cosine transform, which is orthonormal), the fewest waves
    first.

    >>> turned = np.array([[0.6, 0.8], [-0.8, 0.6]])
    >>> (smooth_basis((turned @ np.eye(2)).reshape(2, 1, 2))[0] ** 2).round(6).tolist()
    [[0.5, 0.5]]
    """
    if not len(shapes):
        return shapes
    waves, order = shapes, _fewest_waves_first(shapes.shape[1:])
    for axis in range(2, shapes.ndim):
        waves = np.moveaxis(np.moveaxis(waves, axis, -1) @ _cosines(shapes.shape[axis]).T, -1, axis)
    turned = np.zeros((len(shapes), order.size))
    turned[:, order] = canonical_basis(waves.reshape(len(shapes), -1)[:, order])
    found: np.ndarray = turned.reshape(shapes.shape)
    for axis in range(2, shapes.ndim):
        found = np.moveaxis(np.moveaxis(found, axis, -1) @ _cosines(shapes.shape[axis]), -1, axis)
    return found


def least_first(shapes: np.ndarray, parts: np.ndarray) -> np.ndarray:
    """Turn a basis so that a sum of squares rises from member to member, those that are level canonical among
    themselves.

    `shapes` (k, bodies, points) or (k, bodies, rows, columns): orthonormal. `parts` (k, ...): what of each member is
    squared and added up, such as its bends. Returns: spans the same; hangs on the space and on what is squared alone.

    >>> eye = np.eye(3)[:, None, :]
    >>> [int(np.argmax(one)) for one in least_first(eye, eye * [3.0, 1.0, 2.0])]
    [1, 2, 0]
    """
    if not len(shapes):
        return shapes
    flat = parts.reshape(len(shapes), -1)
    values, turn = np.linalg.eigh(flat @ flat.T)
    turned = np.tensordot(turn.T, shapes, axes=1)
    return np.concatenate([smooth_basis(turned[group]) for group in level_groups(values)])


def level_groups(values: np.ndarray) -> list[slice]:
    """Part rising values where they rise by more than rounding.

    `values` (k,): rising.

    >>> level_groups(np.array([1.0, 1.0 + 1e-12, 2.0]))
    [slice(0, 2, None), slice(2, 3, None)]
    """
    if not len(values):
        return []
    step = np.diff(values) > 1e-6 * np.abs(values[1:]) + 1e-11 * np.abs(values).max()
    ends = [0, *(np.flatnonzero(step) + 1).tolist(), len(values)]
    return [slice(a, b) for a, b in zip(ends, ends[1:])]


def symmetric_root(covariance: np.ndarray) -> np.ndarray:
    """Give the root of a covariance that is symmetric, which does not hang on how equal eigenvalues share their
    vectors.

    `covariance` (values, values). Returns (values, values): times itself it is the covariance; eigenvalues that
    rounding made negative count as 0.

    >>> symmetric_root(np.diag([4.0, 9.0])).round(12).tolist()
    [[2.0, 0.0], [0.0, 3.0]]
    """
    values, vectors = np.linalg.eigh(covariance)
    return (vectors * np.sqrt(np.clip(values, 0, None))) @ vectors.T


def _orthonormal(rows: np.ndarray) -> np.ndarray:
    if len(rows) <= rows.shape[1] and np.abs(rows @ rows.T - np.eye(len(rows))).max(initial=0.0) < 1e-12:
        return rows
    _, size, turned = np.linalg.svd(rows, full_matrices=False)
    return turned[size > RANK * size.max(initial=0.0)]


def _places(basis: np.ndarray) -> np.ndarray:
    """The place of each member: where the projector, less what was taken, is first nearly as full as anywhere."""
    taken, places = np.zeros_like(basis), np.zeros(len(basis), dtype=int)
    left = (basis**2).sum(axis=0)
    for k in range(len(basis)):
        place = int(np.argmax(left >= SHARE * left.max()))
        column = basis.T @ basis[:, place] - taken[:k].T @ taken[:k, place]
        taken[k] = column / np.sqrt(column[place])
        left = np.maximum(left - taken[k] ** 2, 0.0)
        left[place], places[k] = 0.0, place
    return places


@lru_cache(maxsize=8)
def _cosines(points: int) -> np.ndarray:
    """Orthonormal rows: cosines of 0, 1, 2 ... half waves along even places."""
    place = np.arange(points)
    rows = np.cos(np.pi * place[:, None] * (place + 0.5) / points) * np.sqrt(2 / points)
    rows[0] = 1 / np.sqrt(points)
    return rows


def _fewest_waves_first(shape: tuple[int, ...]) -> np.ndarray:
    bodies, *along = np.indices(shape)
    keys = [bodies, *along, sum(along)]
    return np.lexsort([key.ravel() for key in keys])
