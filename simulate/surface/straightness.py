"""How straight a profile is: the reference lines and the value that each gives."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal

REFERENCES = ("minimum zone", "least squares", "end points")
"""Reference lines that `straightness` knows (MZLI and LSLI in ISO 12780-1:2011, and the workshop's end points)."""

_CHUNK = 1 << 16  # numbers worked on at once, so that they stay in the processor's cache
_CLOSE = 1e-13  # how near the zone and its proof must come, as a part of the zone


@dataclass(frozen=True)
class Straightness:
    """A profile against its reference line.

    Attributes
    ----------
    value_um : float or ndarray, shape (...)
        Peak to valley against the reference line (STRt).
    residual_um : ndarray, shape (..., points)
        Heights above the reference line. For the minimum zone the line runs
        midway, so the highest and the lowest stand equally far off; for least
        squares the mean is 0; for end points both ends are 0.
    slope_um_per_mm : float or ndarray, shape (...)
        Slope of the reference line.
    """

    value_um: float | np.ndarray
    residual_um: np.ndarray
    slope_um_per_mm: float | np.ndarray


def straightness(x_mm: ArrayLike, height_um: ArrayLike, reference: str = "minimum zone") -> Straightness:
    """How far a profile is from straight.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Rising positions, evenly spaced or not. Least squares also takes
        several readings in one place.
    height_um : array_like, shape (..., points)
        Heights; leading axes are worked through together.
    reference : {"minimum zone", "least squares", "end points"}
        The line that heights are taken from. The minimum zone is the narrowest
        pair of parallel lines that hold the whole profile.

    Returns
    -------
    Straightness
        ``value_um``, ``residual_um`` and ``slope_um_per_mm``.

    Raises
    ------
    ValueError
        Where positions do not rise, shapes differ, a height is not a finite
        number, or the reference is unknown.

    Notes
    -----
    The minimum zone is exact, not sampled: three points that stand low, high,
    low (or high, low, high) prove that no narrower zone holds them; points
    that stick out are exchanged in until nothing does. Terms follow ISO
    12780-1:2011 (from memory). It cannot see what lies between the points, nor
    twist: a profile is one line along a face.

    Examples
    --------
    >>> straightness([0, 100, 200], [0, 3, 0]).value_um
    3.0
    >>> straightness([0, 100, 200], [0, 3, 0], "least squares").residual_um
    array([-1.,  2., -1.])
    """
    checks.choice(reference, "reference", REFERENCES)
    x = _places(x_mm) if reference == "least squares" else checks.positions(x_mm)
    h = checks.profiles(height_um, x.size)
    flat = h.reshape(-1, x.size)
    value, slope, residual = np.empty(len(flat)), np.empty(len(flat)), np.empty(flat.shape)
    size = max(1, _CHUNK // x.size)
    for a in range(0, len(flat), size):
        part = slice(a, a + size)
        value[part], slope[part] = _refer(x, flat[part], reference, residual[part])
    shape = h.shape[:-1]
    if not shape:
        return Straightness(float(value[0]), residual[0], float(slope[0]))
    return Straightness(value.reshape(shape), residual.reshape(h.shape), slope.reshape(shape))


def least_squares_line(x_mm: ArrayLike, height_um: ArrayLike) -> tuple[np.ndarray, np.ndarray]:
    """Intercept and slope of the least-squares line (LSLI).

    `x_mm` (points,): positions in any order; several readings may share one place. `height_um` (..., points). Returns
    `intercept_um`, `slope_um_per_mm` (...): height at x = 0, and slope.

    >>> intercept, slope = least_squares_line([0, 1, 2], [1, 3, 5])
    >>> round(float(intercept), 9), round(float(slope), 9)
    (1.0, 2.0)
    """
    x = checks.numbers(x_mm, "x_mm")
    if x.ndim != 1 or x.size < 2 or np.ptp(x) == 0:
        raise Refusal(
            "count",
            where="x_mm",
            found=f"{np.unique(x).size} different position{'s' if np.unique(x).size != 1 else ''}",
            must_be="at least two, in one row",
        )
    h = checks.profiles(height_um, x.size)
    middle = x.mean()
    away = x - middle
    mean = h.mean(axis=-1)
    slope = (h - mean[..., None]) @ away / (away @ away)
    return mean - slope * middle, slope


def _places(x_mm):
    x = checks.numbers(x_mm, "x_mm")
    if x.ndim == 1 and x.size > 1 and (np.diff(x) >= 0).all() and x[-1] > x[0]:
        return x
    return checks.positions(x_mm)


def _refer(x, h, reference, residual):
    """Value and slope of each profile; the residuals are written in place."""
    away = x - x[0]
    chord = (h[:, -1] - h[:, 0]) / away[-1]
    np.multiply(chord[:, None], away, out=residual)
    np.subtract(h, residual, out=residual)
    residual -= h[:, :1]
    residual[:, -1] = 0.0
    if reference == "end points":
        return np.ptp(residual, axis=1), chord
    if reference == "least squares":
        intercept, slope = least_squares_line(away, residual)
        residual -= slope[:, None] * away
        residual -= intercept[:, None]
        return np.ptp(residual, axis=1), chord + slope
    slope = _zone_slope(away, residual)
    residual -= slope[:, None] * away
    high, low = residual.max(axis=1), residual.min(axis=1)
    residual -= 0.5 * (high + low)[:, None]
    return high - low, chord + slope


def _zone_slope(x, h):
    """Slope of the narrowest zone of each profile (rows, points), by exchange of three points."""
    slope = np.zeros(len(h))
    width = np.full(len(h), np.inf)
    if x.size < 3:
        return slope
    rows = np.arange(len(h))
    three, proof = _first_three(h), np.full(len(h), -np.inf)
    for _ in range(10 * x.size):
        here = np.arange(len(h))
        i, j, k, side = three
        left = h[here, i]
        tilt = (h[here, k] - left) / (x[k] - x[i])
        off = h - tilt[:, None] * x
        p, q = off.argmax(axis=1), off.argmin(axis=1)
        found = off[here, p] - off[here, q]
        ends, inner = left - tilt * x[i], off[here, j]
        proved = side * (ends - inner)
        better = found < width[rows]
        width[rows[better]], slope[rows[better]] = found[better], tilt[better]
        going = (found > proved * (1 + _CLOSE)) & (proved > proof)
        if not going.any():
            break
        # The one that sticks out most comes in last, so that the other cannot push it out again.
        over = off[here, p] - np.maximum(ends, inner) > np.minimum(ends, inner) - off[here, q]
        three = _exchange(three, np.where(over, q, p), np.where(over, -1, 1))
        three = _exchange(three, np.where(over, p, q), np.where(over, 1, -1))
        proof = proved
        if going.mean() < 0.75:
            rows, h, proof = rows[going], h[going], proof[going]
            three = tuple(part[going] for part in three)
    return slope


def _first_three(h):
    """Both ends, and the point that stands farthest from the line through them (which is 0)."""
    top, bottom = h.argmax(axis=1), h.argmin(axis=1)
    here = np.arange(len(h))
    high = h[here, top] >= -h[here, bottom]
    middle = np.clip(np.where(high, top, bottom), 1, h.shape[1] - 2)
    return np.zeros_like(middle), middle, np.full_like(middle, h.shape[1] - 1), np.where(high, -1, 1)


def _exchange(three, p, sign):
    """Take point p (sign 1 the highest, -1 the lowest) into the three so that high and low still alternate.

    The outer two are on the side `side` of the zone, the inner one on the other.
    """
    i, j, k, side = three
    outer = side == sign
    before, after = ~outer & (p < i), ~outer & (p > k)
    first = np.where(before | (outer & (p < j)), p, np.where(after, j, i))
    last = np.where(after | (outer & (p > j)), p, np.where(before, j, k))
    inner = np.where(before, i, np.where(after, k, np.where(outer, j, p)))
    return first, inner, last, np.where(before | after, -side, side)
