"""How one body settles on another: seating, turning end for end, pressing.

The upper body is rigid and lies face down. What holds it is the sum of the two
profiles: the seat is the edge of the upper convex hull of that sum which lies
over the centre of mass, because that is the lowest the centre can sink to.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal

LIGHT_PUSH = 0.25
"""A light push: a finger's force near an end, as a part of the bar's own weight."""

_CHUNK = 1 << 18  # numbers worked on at once: few calls, so that threads seldom wait for each other


@dataclass(frozen=True)
class Rest:
    """How a body rests: what is open, where it touches, whether it rocks.

    Attributes
    ----------
    gap_um : ndarray, shape (..., points)
        Open height between the two faces, never below 0.
    contacts_mm : ndarray, shape (..., 2)
        The outermost touching points left and right of the centre of mass.
    rocks : ndarray of bool, shape (...)
        True where a light push near an end tips the bar onto other points.
    slope_um_per_mm : ndarray, shape (...)
        Tilt of the seat.
    """

    gap_um: np.ndarray
    contacts_mm: np.ndarray
    rocks: np.ndarray
    slope_um_per_mm: np.ndarray


def face(height_um: ArrayLike, turned: bool = False) -> np.ndarray:
    """Heights of the upper bar as they meet the lower one.

    Parameters
    ----------
    height_um : array_like, shape (..., points)
        Heights on a grid that is symmetrical about the middle.
    turned : bool
        False faces the bar over its long axis, so x meets x. True swings it
        end for end, so x meets -x.

    Returns
    -------
    ndarray, shape (..., points)

    Raises
    ------
    ValueError
        Where `turned` is not yes or no, or heights are not numbers in a row.

    Examples
    --------
    >>> face([0, 1, 5], turned=True)
    array([5., 1., 0.])
    """
    h = checks.numbers(height_um, "height_um")
    if h.ndim < 1:
        raise Refusal("shape", where="height_um", found="a single figure", must_be="a row of heights")
    checks.choice(turned, "turned", (False, True))
    return (h[..., ::-1] if turned else h).copy()


def rest(x_mm: ArrayLike, height_um: ArrayLike, centre_mm: float | None = None) -> Rest:
    """How a rigid bar settles on the summed heights of two bars.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Rising positions.
    height_um : array_like, shape (..., points)
        Sum of the lower bar's heights and the faced upper bar's heights.
    centre_mm : float, optional
        Where the load acts: the centre of mass by default (the middle of the
        bar). Another place stands for pressing there.

    Returns
    -------
    Rest
        ``gap_um``, ``contacts_mm``, ``rocks`` and ``slope_um_per_mm``.

    Raises
    ------
    ValueError
        Where positions do not rise, shapes differ, a height is not finite, or
        the load lies outside the bar.

    Notes
    -----
    Exact, not sampled: the two hull points around the load are found by
    exchange, each step of which raises the seat until nothing stands above it.
    A load exactly over a touching point is counted to that point's right-hand
    edge of the hull. Bars are rigid here; what bends is told in `sag`.

    Examples
    --------
    >>> rest([-100, 0, 100], [0, -30, 0]).gap_um
    array([ 0., 30.,  0.])
    """
    x = checks.positions(x_mm)
    s = checks.profiles(height_um, x.size)
    centre = 0.5 * (x[0] + x[-1]) if centre_mm is None else checks.number(centre_mm, "centre_mm", x[0], x[-1])
    flat = s.reshape(-1, x.size)
    slope = np.zeros(len(flat))
    gap = settle(x, flat, centre, slope)
    touch = np.stack([x[place] for place in contacts(gap)], axis=-1)
    rocks = _tips(x, touch, centre)
    shape = s.shape[:-1]
    return Rest(gap.reshape(s.shape), touch.reshape(shape + (2,)), rocks.reshape(shape)[()], slope.reshape(shape)[()])


def settle(x: np.ndarray, s: np.ndarray, centre: float, slope: np.ndarray) -> np.ndarray:
    """Seat profiles without checking them: the inner loop of every method.

    `x` (points,). `s` (bars, points): summed heights. `centre`: where the load acts. `slope` (bars,): a first guess of
    the tilt; holds the found tilt afterwards. Returns (bars, points): gaps, exactly 0 where the bars touch.

    >>> settle(np.array([0., 1., 2.]), np.array([[0., 1., 0.]]), 1.0, np.zeros(1))
    array([[2., 0., 0.]])
    """
    gap = np.empty_like(s)
    size = max(1, _CHUNK // x.size)
    for a in range(0, len(s), size):
        part = slice(a, a + size)
        gap[part], slope[part] = _settle(x, s[part], centre, slope[part])
    return gap


def contacts(gap: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places of the outermost contacts.

    `gap` (bars, points). Returns `first`, `last` (bars,) of int.

    >>> contacts(np.array([[0., 3., 0.]]))
    (array([0]), array([2]))
    """
    touching = gap == 0
    return touching.argmax(axis=1), gap.shape[1] - 1 - touching[:, ::-1].argmax(axis=1)


def _sides(x, centre):
    """How many points lie left of the load or under it; never all of them."""
    return min(int(np.searchsorted(x, centre, side="right")), x.size - 1)


def _edge(x, s, above, split, offset):
    """The chord over the load between the points that stand highest on either side: its tilt and its height there."""
    rows = np.arange(len(s))
    i = above[:, :split].argmax(axis=1)
    j = above[:, split:].argmax(axis=1) + split
    left = s[rows, i]
    tilt = (s[rows, j] - left) / (x[j] - x[i])
    return tilt, left - tilt * offset[i]


def _settle(x, s, centre, slope):
    split, offset = _sides(x, centre), x - centre
    slope, best = _edge(x, s, s - slope[:, None] * offset, split, offset)
    above = s - slope[:, None] * offset
    tilt, seat = _edge(x, s, above, split, offset)
    rows = np.arange(len(s))
    while True:
        # A point right under the load fixes the seat there, and then the tilt may only rise: where points lie in one
        # line it would otherwise swing for ever between chords that rounding alone tells apart.
        turns = tilt - slope[rows] > 1e-12 * (np.abs(tilt) + np.abs(slope[rows]))
        rising = (seat > best[rows]) | ((seat == best[rows]) & turns)
        if not rising.any():
            break
        rows = rows[rising]
        slope[rows], best[rows] = tilt[rising], seat[rising]
        part = s[rows]
        stands = part - slope[rows, None] * offset
        above[rows] = stands
        tilt, seat = _edge(x, part, stands, split, offset)
    gap = best[:, None] - above
    tolerance = 1e-12 * (np.abs(best) + gap.max(axis=1)) + 1e-13
    gap[gap <= tolerance[:, None]] = 0.0
    return gap, slope


def _tips(x, touch, centre):
    """Whether a push of LIGHT_PUSH weights at either end moves the load past a contact."""
    rocks = np.zeros(len(touch), dtype=bool)
    for end, contact in ((x[0], touch[:, 0]), (x[-1], touch[:, 1])):
        load = (centre + LIGHT_PUSH * end) / (1 + LIGHT_PUSH)
        beyond = np.abs(load - centre) > np.abs(contact - centre) + 1e-12 * (x[-1] - x[0])
        rocks |= beyond & (np.abs(contact - end) > 0)
    return rocks
