"""How flat a surface is: the reference planes and the value that each gives."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal, listed, shape_words
from simulate.surface.minimum_zone_plane import laid, narrowest

REFERENCES = ("minimum zone", "least squares")
"""Reference planes that `flatness` knows (the least-squares one is LSPL in ISO 12781-1:2011)."""


@dataclass(frozen=True)
class Flatness:
    """A surface against its reference plane.

    Attributes
    ----------
    value_um : float or ndarray, shape (...)
        Peak to valley against the reference plane (FLTt).
    residual_um : ndarray, shape of the heights
        Heights above the reference plane. For the minimum zone the plane runs
        midway, so the highest and the lowest stand equally far off; for least
        squares the mean is 0.
    slope_x_um_per_mm, slope_y_um_per_mm : float or ndarray, shape (...)
        Slopes of the reference plane.
    """

    value_um: float | np.ndarray
    residual_um: np.ndarray
    slope_x_um_per_mm: float | np.ndarray
    slope_y_um_per_mm: float | np.ndarray


def flatness(x_mm: ArrayLike, y_mm: ArrayLike, height_um: ArrayLike, reference: str = "minimum zone") -> Flatness:
    """How far a surface is from flat.

    Parameters
    ----------
    x_mm, y_mm : array_like, 1-D
        On a grid, the rising positions of its columns and of its rows. For
        scattered points, where each of them lies, in any order.
    height_um : array_like, shape (..., rows, columns) or (points,)
        Two or more axes are a grid, one axis is scattered points. Leading axes
        of grids are worked through together.
    reference : {"minimum zone", "least squares"}
        The plane that heights are taken from. The minimum zone is the narrowest
        pair of parallel planes that hold every point.

    Returns
    -------
    Flatness
        ``value_um``, ``residual_um`` and the slopes of the plane.

    Raises
    ------
    ValueError
        Where shapes do not fit together, a number is not finite, the points
        are fewer than three or lie on one line, or the reference is unknown.

    Notes
    -----
    The minimum zone is exact, not sampled: four points prove that no narrower
    zone holds them, and points that stick out are exchanged in until nothing
    does. Terms follow ISO 12781-1:2011 (from memory). It cannot see what lies
    between the points.

    Examples
    --------
    >>> twist = flatness([0, 1], [0, 1], [[0, 1], [1, 0]])
    >>> round(twist.value_um, 9)
    1.0
    >>> round(flatness([0, 9, 0, 3], [0, 0, 9, 3], [0, 0, 0, 6]).value_um, 9)
    6.0
    """
    checks.choice(reference, "reference", REFERENCES)
    x, y, z, shape = _points(x_mm, y_mm, height_um)
    plane, scale = _plane(x, y)
    residual, tilt = _referred(plane, z.reshape(-1, x.size), reference)
    value = np.ptp(residual, axis=1)
    slope = tilt[:, 1:] @ scale
    if not shape:
        return Flatness(float(value[0]), residual.reshape(z.shape), float(slope[0, 0]), float(slope[0, 1]))
    shape = shape[0]
    return Flatness(
        value.reshape(shape), residual.reshape(z.shape), slope[:, 0].reshape(shape), slope[:, 1].reshape(shape)
    )


def zones_um(x_mm: np.ndarray, y_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Give the minimum zones of many surfaces over the same scattered places.

    `x_mm`, `y_mm` (points,), `height_um` (surfaces, points). Returns (surfaces,).

    >>> zones_um(np.array([0, 9.0, 0, 3]), np.array([0, 0, 9.0, 3]), np.array([[0, 0, 0, 6.0], [0, 0, 0, 0]])).tolist()
    [6.0, 0.0]
    """
    plane, _ = _plane(x_mm, y_mm)
    return np.ptp(_referred(plane, height_um, "minimum zone")[0], axis=1)


def _referred(plane: np.ndarray, flat: np.ndarray, reference: str) -> tuple[np.ndarray, np.ndarray]:
    """Heights over the reference plane, and how that lies."""
    residual = flat - flat[:, :1]
    tilt = np.einsum("sp,cp->sc", residual, plane) / np.einsum("cp,cp->c", plane, plane)
    residual -= laid(plane, tilt)
    residual -= residual.mean(axis=1, keepdims=True)
    if reference == "minimum zone":
        more = narrowest(plane, residual)
        residual -= laid(plane, more)
        residual -= 0.5 * (residual.max(axis=1) + residual.min(axis=1))[:, None]
        tilt = tilt + more
    return residual, tilt


def _points(x_mm, y_mm, height_um):
    """Where each point lies, the heights, and the leading axes: () where one surface was given."""
    z = checks.numbers(height_um, "height_um")
    if z.ndim < 2:
        x, y = checks.numbers(x_mm, "x_mm"), checks.numbers(y_mm, "y_mm")
        if not (x.ndim == y.ndim == z.ndim == 1 and x.size == y.size == z.size):
            raise Refusal(
                "shapes",
                where="x_mm, y_mm and height_um",
                found=listed([shape_words(one.shape) for one in (x, y, z)]),
                must_be="of one length, where the points are scattered",
            )
        if x.size < 3:
            raise Refusal(
                "count",
                where="height_um",
                found=f"{x.size} point{'s' if x.size != 1 else ''}",
                must_be="at least 3, for a plane",
            )
        return x, y, z, ()
    x, y = checks.positions(x_mm, "x_mm"), checks.positions(y_mm, "y_mm")
    if z.shape[-2:] != (y.size, x.size):
        raise Refusal(
            "shape",
            where="height_um",
            found=shape_words(z.shape),
            must_be=f"{y.size} rows (one for each y_mm) and {x.size} columns (one for each x_mm)",
        )
    across, along = np.meshgrid(x, y)
    return across.ravel(), along.ravel(), z, (z.shape[:-2],) if z.ndim > 2 else ()


def _plane(x, y):
    """Rows 1, u, v with u and v at right angles over the points, and how they turn back into x and y."""
    plane = np.empty((3, x.size))
    plane[0] = 1.0
    across, along = np.subtract(x, x.mean(), out=plane[1]), np.subtract(y, y.mean(), out=plane[2])
    wide, deep = np.abs(across).max(), np.abs(along).max()
    straight = wide == 0 or deep == 0
    if not straight:
        across /= wide
        along /= deep
        lean = (along * across).sum() / (across * across).sum()
        along -= lean * across
        reach = np.abs(along).max()
        straight = reach <= 1e-9
    if straight:
        raise Refusal(
            "places", where="the points", found="all on one line", must_be="at least 3 that do not lie on one line"
        )
    along /= reach
    return plane, np.array([[1 / wide, 0.0], [-lean / wide / reach, 1 / deep / reach]])
