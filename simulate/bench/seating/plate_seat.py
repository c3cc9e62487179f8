"""How a rigid plate settles on another: on three points around its centre of mass."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seating.bar_seat import LIGHT_PUSH
from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words

_CHUNK = 1 << 19  # heights worked on at once: fewer calls, so that threads seldom wait for each other
_ROUND = np.array([0, 1, 2, 0, 1])  # three corners, and on
_ASIDE = np.array([1.0e-8, 1.7e-8])  # of half the side: puts a load that is exactly over an edge on one side of it


@dataclass(frozen=True)
class PlateRest:
    """How a plate rests: what is open, where it touches, whether it rocks.

    `gap_um` (..., rows, columns): open height between the two faces, never below 0; nan where they do not lie over each
    other. `contacts_mm` (..., 3, 2): x and y of three touching points whose triangle holds the load. `rocks` (...) of
    bool: true where a light push near a corner tips the plate onto other points. `tilt_um_per_mm` (..., 2): slope of
    the seat along x and along y.
    """

    gap_um: np.ndarray
    contacts_mm: np.ndarray
    rocks: np.ndarray
    tilt_um_per_mm: np.ndarray


def seat_plate(
    x_mm: ArrayLike, y_mm: ArrayLike, summed_height_um: ArrayLike, centre_mm: tuple[float, float] | None = None
) -> PlateRest:
    """How a rigid plate settles on the summed heights of two plates.

    `x_mm` (columns,). `y_mm` (rows,): rising positions. `summed_height_um` (..., rows, columns): the lower plate's
    heights and the faced upper plate's heights. Whole rows and columns at the edges may be nan where a slid plate does
    not lie over the other. `centre_mm`: where the load acts; the middle of the grid by default. A plate slid by (sx,
    sy) has its centre of mass there.

    Exact, not sampled: of all planes with nothing above them, the one that is
    lowest under the load, found by exchange of one point at a time, each of
    which raises it. A load exactly over an edge between two such planes is
    counted to one of them. What this cannot see: plates that bend.

    >>> seated = seat_plate([-1, 0, 1], [-1, 0, 1], [[0, 0, 0], [0, -7, 0], [0, 0, 0]])
    >>> seated.gap_um[1, 1], seated.gap_um.min(), seated.rocks
    (np.float64(7.0), np.float64(0.0), np.False_)
    """
    x, y = checks.positions(x_mm), checks.positions(y_mm, "y_mm")
    s, rows, columns = _meeting(summed_height_um, y.size, x.size)
    centre = _centre(x, y, centre_mm, x[columns], y[rows])
    block = s[..., rows, columns]
    flat = np.ascontiguousarray(block.reshape(-1, block.shape[-1] * block.shape[-2]))
    gap, tri, tilt = settle_plate(x[columns], y[rows], flat, centre)
    yy, xx = (a.ravel() for a in np.meshgrid(y[rows], x[columns], indexing="ij"))
    whole = np.full(s.shape, np.nan)
    whole[..., rows, columns] = gap.reshape(block.shape)
    rocks = _rocks(x[columns], y[rows], flat, gap, centre)
    lead = s.shape[:-2]
    contacts = np.stack([xx[tri], yy[tri]], axis=-1)
    return PlateRest(whole, contacts.reshape(lead + (3, 2)), rocks.reshape(lead)[()], tilt.reshape(lead + (2,)))


def settle_plate(
    x: np.ndarray, y: np.ndarray, s: np.ndarray, centre: tuple[float, float], start: np.ndarray | None = None
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Seat plates without checking them: the inner loop of every method.

    `x`, `y`: positions of a full grid. `s` (plates, rows * columns): summed heights. `start` (plates, 3) of int:
    contacts of an earlier seat under the same load: from there it is not far. Returns `gap` (plates, rows * columns).
    `triangle` (plates, 3) of int: places of the three contacts. `tilt` (plates, 2).

    >>> gap, tri, tilt = settle_plate(np.arange(2.), np.arange(2.), np.zeros((1, 4)), (0.5, 0.5))
    >>> gap
    array([[0., 0., 0., 0.]])
    """
    half = 0.5 * max(np.ptp(x), np.ptp(y))
    ox = (x - centre[0]) / half - _ASIDE[0]
    oy = (y - centre[1]) / half - _ASIDE[1]
    basis = np.stack([np.ones(x.size * y.size), np.tile(ox, y.size), np.repeat(oy, x.size)])
    gap = np.empty_like(s)
    tri = np.empty((len(s), 3), dtype=int)
    tilt = np.empty((len(s), 2))
    size = max(1, _CHUNK // s.shape[1])
    for a in range(0, len(s), size):
        part = slice(a, a + size)
        first = _on_a_few(basis, s[part], ox, oy) if start is None else start[part].T.copy()
        corners, coef = _exchange(basis, s[part], first, gap[part])
        tri[part], tilt[part] = corners.T, coef[1:].T / half
    return gap, tri, tilt


def contacts_on_points(
    x: np.ndarray, y: np.ndarray, s: np.ndarray, centre: tuple[float, float] = (0.0, 0.0)
) -> tuple[np.ndarray, np.ndarray, np.ndarray] | None:
    """Seat plates on points that need not lie in a grid.

    `x`, `y` (points,). `s` (plates, points): summed heights. Returns `places` (plates, 3) of int: of the three
    contacts. `shares` (plates, 3): of the load, one in all. `gap` (plates, points): none in place of all where no three
    points hold the load between them.

    >>> x, y = np.array([-1.0, 1, 0, 0]), np.array([-1.0, -1, 1, 0])
    >>> places, shares, gap = contacts_on_points(x, y, np.array([[0.0, 0, 0, -7]]))
    >>> places.tolist(), shares.round(3).tolist(), gap.round(3).tolist()
    ([[0, 1, 2]], [[0.25, 0.25, 0.5]], [[0.0, 0.0, 0.0, 7.0]])
    """
    half = max(np.ptp(x), np.ptp(y)) / 2
    at = np.stack([x - centre[0], y - centre[1]]) / half - _ASIDE[:, None]
    side = at[0][:, None] * at[1] - at[1][:, None] * at[0]  # above 0: counterclockwise about the load
    first = int(np.argmax((at**2).sum(axis=0)))
    holds = (side[first][:, None] > 1e-9) & (side > 1e-9) & (side[:, first] > 1e-9)
    if not holds.any():
        return None
    second, third = np.unravel_index(int(np.argmax(np.where(holds, side, 0.0))), side.shape)
    corners = np.array([first, second, third])
    basis = np.vstack([np.ones(x.size), at])
    gap = np.empty_like(s)
    places = _exchange(basis, s, np.repeat(corners[:, None], len(s), axis=1), gap)[0]
    return places.T, np.clip(_lever(basis, places)[0].T, 0, 1), gap


def _on_a_few(basis, s, ox, oy) -> np.ndarray:
    """Contacts of a seat on some of the points: what is left to exchange on all of them is then soon done."""
    r, c = _sparse(oy.size, ox.size)
    few = (r[:, None] * ox.size + c).ravel()
    start = np.searchsorted(few, _corners(ox, oy))
    return few[_exchange(np.ascontiguousarray(basis[:, few]), s[:, few], np.repeat(start[:, None], len(s), axis=1))[0]]


def _exchange(basis, s, tri, gap=None):
    """Raise the plane under the load point by point until nothing stands above it; changes `tri` (3, plates), fills
    `gap`."""
    high, deep = s.max(axis=1), s.min(axis=1)
    tolerance = 1e-11 * (high - deep) + 1e-13 * np.maximum(np.abs(high), np.abs(deep)) + 1e-13
    coef, space = np.empty((3, len(s))), np.empty_like(s)
    live, work, near, corners = np.arange(len(s)), s, tolerance, tri
    for _ in range(40 + 4 * s.shape[1]):
        rows = np.arange(live.size)
        lever = _lever(basis, corners)
        height = work[rows, corners]
        first = height[0].copy()
        height -= first
        plane = (lever * height).sum(axis=1)
        plane[0] += first
        coef[:, live] = plane
        above = np.matmul(plane.T, basis, out=space[: live.size])
        np.subtract(work, above, out=above)
        enters = above.argmax(axis=1)
        short = above[rows, enters] > near
        going = np.count_nonzero(short)
        if not going:
            break
        if going < live.size:
            keep = np.flatnonzero(short)
            live, work, near, enters, lever = live[keep], work[keep], near[keep], enters[keep], lever[..., keep]
        # How the load, and the entering point, divide over the three contacts.
        point = lever[1] * basis[1, enters]
        point += lever[2] * basis[2, enters]
        point += lever[0]
        ratio = np.where(point > 1e-13, lever[0] / np.maximum(point, 1e-13), np.inf)
        tri[ratio.argmin(axis=0), live] = enters
        corners = tri[:, live]
    if gap is not None:
        np.matmul(coef.T, basis, out=gap)
        gap -= s
        gap[gap <= 2 * tolerance[:, None]] = 0.0
    return tri, coef


def _lever(basis, corners) -> np.ndarray:
    """How three points share the load, and what a height on each adds to both slopes: (3 of these, 3 points,
    plates)."""
    x, y = basis[1, corners[_ROUND]], basis[2, corners[_ROUND]]
    lever = np.empty((3,) + corners.shape)
    np.multiply(x[1:4], y[2:], out=lever[0])
    lever[0] -= x[2:] * y[1:4]
    np.subtract(y[1:4], y[2:], out=lever[1])
    np.subtract(x[2:], x[1:4], out=lever[2])
    lever /= lever[0].sum(axis=0)
    return lever


def _sparse(rows: int, columns: int) -> tuple[np.ndarray, np.ndarray]:
    """About every third row and column, the edges among them."""
    return tuple(np.unique(np.rint(np.linspace(0, n - 1, n // 3 + 2)).astype(int)) for n in (rows, columns))


def _corners(ox, oy) -> np.ndarray:
    """Three corners of the grid whose triangle holds the origin."""
    rows, columns = oy.size, ox.size
    first, last = 0, rows * columns - 1
    side = (ox[-1] - ox[0]) * (0 - oy[0]) - (oy[-1] - oy[0]) * (0 - ox[0])
    return np.array([first, last, columns * (rows - 1) if side > 0 else columns - 1])


def _rocks(x, y, s, gap, centre) -> np.ndarray:
    """Whether a push of LIGHT_PUSH weights near any corner finds a lower seat there."""
    rocks = np.zeros(len(s), dtype=bool)
    scale = 1e-9 * (np.ptp(s, axis=1) + 1e-3)
    for corner in ((x[0], y[0]), (x[0], y[-1]), (x[-1], y[0]), (x[-1], y[-1])):
        load = tuple((c + LIGHT_PUSH * e) / (1 + LIGHT_PUSH) for c, e in zip(centre, corner))
        # The gaps are the same surface seen from the present seat: a lower seat shows as a plane below 0 at the load.
        _, tri, tilt = settle_plate(x, y, -gap, load)
        at = tri[:, 0]
        columns = x.size
        height = (
            -gap[np.arange(len(s)), at]
            - tilt[:, 0] * (x[at % columns] - load[0])
            - tilt[:, 1] * (y[at // columns] - load[1])
        )
        rocks |= height < -scale
    return rocks


def _meeting(heights, rows: int, columns: int):
    s = checks.table(heights, "summed_height_um")
    if s.ndim < 2 or s.shape[-2:] != (rows, columns):
        raise Refusal(
            "shape",
            where="summed_height_um",
            found=shape_words(s.shape),
            must_be=f"{rows} rows and {columns} columns",
        )
    there = ~np.isnan(s.reshape(-1, rows, columns)).any(axis=0)
    r, c = np.flatnonzero(there.any(axis=1)), np.flatnonzero(there.any(axis=0))
    if r.size < 2 or c.size < 2:
        raise Refusal(
            "count",
            where="summed_height_um",
            found="too few heights",
            must_be="at least 2 rows and 2 columns that meet",
        )
    row, column = slice(r[0], r[-1] + 1), slice(c[0], c[-1] + 1)
    checks.numbers(s[..., row, column], "summed_height_um where the plates meet")
    return s, row, column


def _centre(x, y, centre, met_x, met_y) -> tuple[float, float]:
    middle = (0.5 * (x[0] + x[-1]), 0.5 * (y[0] + y[-1])) if centre is None else centre
    try:
        cx, cy = middle
    except (TypeError, ValueError):
        raise Refusal("type", where="centre_mm", found=f"{centre!r}", must_be="two numbers, x and y") from None
    cx, cy = checks.number(cx, "centre_mm along x"), checks.number(cy, "centre_mm along y")
    if not (met_x[0] < cx < met_x[-1] and met_y[0] < cy < met_y[-1]):
        raise Refusal(
            "place",
            where="centre_mm",
            found=f"({cx:g}, {cy:g})",
            must_be=f"over the faces that meet, {met_x[0]:g} to {met_x[-1]:g} along x and {met_y[0]:g} to "
            f"{met_y[-1]:g} along y, or the plate tips off",
        )
    return cx, cy
