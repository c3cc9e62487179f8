"""The narrowest pair of parallel planes that hold all points of a surface."""

from __future__ import annotations

import numpy as np

_CHUNK = 1 << 17  # numbers worked on at once, so that they stay in the processor's cache
_CLOSE = 1e-12  # how near the zone and its proof must come, as a part of the zone
_NOTHING = (
    1e-14  # of the greatest height: a zone as narrow is rounding, as where all points but copies lie on one plane
)
_WEIGHTS = np.array([1.0, 0.7548777, 0.5698403, 0.4301597])  # breaks ties the same way each time, so none comes twice
_MOST = 5000  # exchanges; some tens are usual


def narrowest(plane: np.ndarray, height: np.ndarray) -> np.ndarray:
    """Plane of the minimum zone of each surface.

    `plane` (3, points): ones, and two coordinates of size about 1. `height` (surfaces, points). Returns (surfaces, 3):
    what to multiply `plane` by to get the reference plane.

    This is the simplex method on the dual of "least t with -t <= height -
    plane <= t", on all surfaces at once. Four points with a side each carry
    weights that balance like a lever; they prove a least width. The point that
    sticks out most comes in, and the one whose weight first falls to 0 goes.

    >>> corners = np.array([[1., 1, 1, 1], [-1, 1, -1, 1], [-1, -1, 1, 1]])
    >>> narrowest(corners, np.array([[0., 0, 0, 4]])).round(9)
    array([[1., 1., 1.]])
    """
    if plane.shape[1] == 3:
        return np.linalg.solve(plane.T, height.T).T
    start = _first_four(plane)
    found = np.empty((len(height), 3))
    size = max(1, _CHUNK // plane.shape[1])
    for a in range(0, len(height), size):
        found[a : a + size] = _narrowest(plane, height[a : a + size], start)
    return found


def laid(plane: np.ndarray, tilt: np.ndarray) -> np.ndarray:
    """Heights of planes at every point.

    `plane` (3, points): ones, and two coordinates. `tilt` (surfaces, 3). Returns (surfaces, points).

    >>> laid(np.array([[1., 1], [0, 1], [0, 2]]), np.array([[5., 1, 1]]))
    array([[5., 8.]])
    """
    # Written out: with three terms this is quicker than a matrix product that wakes several threads.
    height = tilt[:, 1:2] * plane[1]
    height += tilt[:, 2:3] * plane[2]
    height += tilt[:, :1]
    return height


def _first_four(plane):
    """Four points that are not on one line: two far apart, and the outermost on either side of their line."""
    _, u, v = plane
    a = int(np.argmin(u + v))
    b = int(np.argmax((u - u[a]) ** 2 + (v - v[a]) ** 2))
    side = (u[b] - u[a]) * (v - v[a]) - (v[b] - v[a]) * (u - u[a])
    c, d = int(np.argmax(side)), int(np.argmin(side))
    chosen = list(dict.fromkeys([a, b, d, c] if -side[d] > side[c] else [a, b, c, d]))
    spare = (i for i in range(u.size) if i not in chosen)
    return np.array(chosen + [next(spare) for _ in range(4 - len(chosen))])


def _columns(plane, four, side):
    """What each point adds to the balance: 1 to the total, its side to the other three sums."""
    part = plane[:, four].transpose(1, 0, 2) * side[:, None, :]
    return np.concatenate([np.ones_like(side)[:, None, :], part], axis=1)


def _narrowest(plane, height, start):
    balance = np.linalg.svd(plane[:, start])[2][-1]
    four = np.tile(start, (len(height), 1))
    side = np.tile(np.where(balance >= 0, 1.0, -1.0), (len(height), 1))
    first = _columns(plane, four[:1], side[:1])[0] @ _WEIGHTS
    best, width = np.zeros((len(height), 3)), np.full(len(height), np.inf)
    nothing = _NOTHING * np.abs(height).max(axis=1)
    rows, moved = np.arange(len(height)), np.ones(len(height), dtype=bool)
    for _ in range(_MOST):
        here = np.arange(len(rows))
        inverse = np.linalg.inv(_columns(plane, four, side))
        proved, tilt = _price(height, here, four, side, inverse)
        off = laid(plane, tilt)
        np.subtract(height, off, out=off)
        high, low = off.argmax(axis=1), off.argmin(axis=1)
        top, bottom = off[here, high], off[here, low]
        found = top - bottom
        better = found < width[rows]
        width[rows[better]], best[rows[better]] = found[better], tilt[better]
        going = moved & (found > 2 * proved + _CLOSE * found + nothing[rows])
        if not going.any():
            return best
        top_first = top >= -bottom
        if not going.all():
            parts = (rows, height, four, side, inverse, top_first, high, low)
            rows, height, four, side, inverse, top_first, high, low = (part[going] for part in parts)
        sign = np.where(top_first, 1.0, -1.0)
        moved = _take_in(plane, height, four, side, inverse, np.where(top_first, high, low), sign, first)
        moved |= _take_in(plane, height, four, side, inverse, np.where(top_first, low, high), -sign, first)
    raise ArithmeticError(f"No proof was found within {_MOST} exchanges that the zone is the narrowest.")


def _price(height, here, four, side, inverse):
    """Half the proved width, and the plane that stands level to the four points."""
    level = (side * height[here[:, None], four])[:, None, :] @ inverse
    return level[:, 0, 0], level[:, 0, 1:]


def _take_in(plane, height, four, side, inverse, points, signs, first):
    """Bring in a point for each surface where it still sticks out, in place; say for which."""
    here = np.arange(len(four))
    proved, tilt = _price(height, here, four, side, inverse)
    column = np.concatenate([np.ones((len(four), 1)), signs[:, None] * plane[:, points].T], axis=1)
    ahead = signs * (height[here, points] - (tilt * plane[:, points].T).sum(axis=1)) - proved
    move = (inverse @ column[:, :, None])[:, :, 0]
    falls = move > 1e-9
    safe = np.where(falls, move, 1.0)
    ratio = np.where(falls, inverse[:, :, 0] / safe, np.inf)
    least = ratio.min(axis=1, keepdims=True)
    tie = np.where(ratio <= least + 1e-12, (inverse @ first) / safe, np.inf)
    out = tie.argmin(axis=1)
    use = (ahead > 1e-15 * np.abs(proved)) & falls[here, out]
    here, out = here[use], out[use]
    four[here, out], side[here, out] = points[use], signs[use]
    row = inverse[here, out] / move[here, out][:, None]
    inverse[here] -= move[here][:, :, None] * row[:, None, :]
    inverse[here, out] = row
    return use
