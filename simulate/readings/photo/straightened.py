"""A photograph of a flat face, taken aslant, laid out as the face is: four corners tell how."""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words

CORNERS = "left and right of the near side, then right and left of the far side"
"""Order in which corners are given."""
LEAST_PX_PER_MM = 2.0
"""Of the photograph, where it shows the face smallest: a mark of 1 mm² is then four pixels."""
MOST_PX_PER_MM = 8.0
"""Finer than that nothing is gained: compound blurs the border of a mark by more."""
MOST_STEPS = 6_000_000


def projection(from_xy: ArrayLike, to_xy: ArrayLike) -> np.ndarray:
    """Return the projection of one plane on another that takes four points to four points.

    `from_xy`, `to_xy` (4, 2): no three of them in one line. Returns (3, 3): for homogeneous coordinates, the last entry
    1.

    A lens that draws straight lines straight is taken for granted: every pair of points gives two linear equations in
    the eight unknowns.

    >>> square = [(0, 0), (1, 0), (1, 1), (0, 1)]
    >>> projection(square, [(2, 3), (4, 3), (4, 5), (2, 5)]).round(6).tolist()
    [[2.0, 0.0, 2.0], [0.0, 2.0, 3.0], [0.0, 0.0, 1.0]]
    """
    rows, right = [], []
    for (x, y), (u, v) in zip(np.asarray(from_xy, float), np.asarray(to_xy, float), strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)


def projected(through: np.ndarray, x: ArrayLike, y: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Take points through a projection.

    >>> [float(part) for part in projected(np.diag([2.0, 3.0, 1.0]), 1.0, 1.0)]
    [2.0, 3.0]
    """
    x, y = np.broadcast_arrays(np.asarray(x, float), np.asarray(y, float))
    u, v, w = np.einsum("ij,j...->i...", through, np.stack([x, y, np.ones_like(x)]))
    return u / w, v / w


def corners_of(corner_px: ArrayLike, rows: int, columns: int) -> np.ndarray:
    """Check four corners placed on a photograph.

    `corner_px` (4, 2): column and row of each, in the order of `CORNERS`; rows count downwards. `rows`, `columns`: of
    the photograph.

    >>> corners_of([(0, 90), (90, 90), (80, 10), (10, 10)], 100, 100).shape
    (4, 2)
    """
    corner = checks.table(corner_px, "corners")
    if corner.shape != (4, 2):
        raise Refusal(
            "shape", where="corners", found=shape_words(corner.shape), must_be="four of them, a column and a row each"
        )
    inside = (corner >= -0.5) & (corner <= np.array([columns, rows]) - 0.5)
    if not inside.all():
        place = int(np.flatnonzero(~inside.all(axis=1))[0])
        raise Refusal(
            "place",
            where=f"corner {place + 1}",
            found=f"at {corner[place, 0]:g}, {corner[place, 1]:g}",
            must_be=f"on the photograph, 0 to {columns - 1} across and 0 to {rows - 1} down",
        )
    side = np.roll(corner, -1, axis=0) - corner
    turn = side[:, 0] * np.roll(side[:, 1], -1) - side[:, 1] * np.roll(side[:, 0], -1)
    if not (turn < 0).all():  # rows count downwards: this way round as the face is seen
        raise Refusal("places", where="the corners", found="not in order round the face", must_be=f"given {CORNERS}")
    return corner


def straightened(
    photo: np.ndarray, corner_px: ArrayLike, width_mm: float, depth_mm: float
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lay a photograph out as the face is.

    `photo` (rows, columns). `corner_px` (4, 2): column and row of each corner of the face, in the order of `CORNERS`.
    `width_mm`, `depth_mm`: of the face: along its near side, and away. Returns `x_mm`, `y_mm`: middles of evenly spaced
    cells of the face, the near left corner being 0, 0. `face` (y, x).

    >>> photo = np.repeat(np.arange(100.0)[:, None], 100, axis=1)
    >>> x, y, face = straightened(photo, [(0, 99), (99, 99), (99, 0), (0, 0)], 20, 20)
    >>> bool(face[0].mean() > face[-1].mean())
    True
    """
    wide = checks.number(width_mm, "width_mm", 0, above=True)
    deep = checks.number(depth_mm, "depth_mm", 0, above=True)
    corner = corners_of(corner_px, *photo.shape)
    lengths = np.linalg.norm(np.roll(corner, -1, axis=0) - corner, axis=1)
    fine = float((lengths / np.array([wide, deep, wide, deep])).min())
    if fine < LEAST_PX_PER_MM:
        raise Refusal(
            "count",
            where="the photograph",
            found=f"{fine:.2g} pixels to a millimetre where the face is smallest",
            must_be=f"{LEAST_PX_PER_MM:g} or more",
            do="Move the camera closer, or photograph one part of the face",
        )
    step = max(1 / min(fine, MOST_PX_PER_MM), (wide * deep / MOST_STEPS) ** 0.5)
    x_mm, y_mm = ((np.arange(max(2, round(a / step))) + 0.5) * (a / max(2, round(a / step))) for a in (wide, deep))
    through = projection([(0, 0), (wide, 0), (wide, deep), (0, deep)], corner)
    column, row = projected(through, x_mm[None, :], y_mm[:, None])
    face = scipy.ndimage.map_coordinates(photo.astype(np.float32), [row, column], order=1, mode="nearest")
    return x_mm, y_mm, face
