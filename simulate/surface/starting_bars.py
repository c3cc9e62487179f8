"""Bars as they come to the bench: each out of straight by the same amount, each in its own shape."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.chance import generator
from simulate.surface.straightness import least_squares_line, straightness


def starting_bars(
    length_mm: float,
    error_um: float,
    points: int = 201,
    bars: int = 3,
    workshops: int | None = None,
    seed: int | np.random.Generator | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Edges of rough bars, each out of straight by `error_um`.

    Parameters
    ----------
    length_mm : float
        Length of the bars.
    error_um : float
        Minimum-zone straightness of every bar; 0 gives straight bars.
    points : int
        Points along the bar, 3 or more.
    bars : int
        Bars in a workshop.
    workshops : int, optional
        Many workshops at once; without it there is one, and no axis for it.
    seed : int or numpy.random.Generator, optional
        The same number gives the same bars; a Generator is drawn from.

    Returns
    -------
    x_mm : ndarray, shape (points,)
        Positions from -length/2 to length/2.
    height_um : ndarray, shape ([workshops,] bars, points)
        Heights above each bar's own least-squares line.

    Raises
    ------
    ValueError
        Where a size is out of range.

    Notes
    -----
    A bow one way or the other is the most of it; then an S, waves, an end that
    is worn low, scale and file marks. The mixture is made up for teaching, not
    measured. Each bar is one line along its edge: twist across the edge is not
    in it.

    Examples
    --------
    >>> x_mm, height_um = starting_bars(500, 400, seed=1)
    >>> height_um.shape
    (3, 201)
    >>> straightness(x_mm, height_um).value_um.round(6)
    array([400., 400., 400.])
    """
    length = checks.number(length_mm, "length_mm", 0, above=True)
    error = checks.number(error_um, "error_um", 0)
    points = checks.whole(points, "points", 3)
    bars = checks.whole(bars, "bars", 1)
    shape = (bars,) if workshops is None else (checks.whole(workshops, "workshops", 1), bars)
    checks.room(math.prod(shape) * points, "workshops x bars x points")
    rng = generator(seed)
    x = np.linspace(-0.5, 0.5, points) * length
    if error == 0:
        return x, np.zeros(shape + (points,))
    height = _rough_edges(np.linspace(-1, 1, points), int(np.prod(shape)), rng)
    intercept, slope = least_squares_line(x, height)
    height -= intercept[:, None] + slope[:, None] * x
    height *= (error / np.asarray(straightness(x, height).value_um))[:, None]
    return x, height.reshape(shape + (points,))


def smoothed(values: ArrayLike, times: int, axis: int = -1) -> np.ndarray:
    """Average each value with its neighbours, so that marks are wider than one point.

    `times`: how often to average (1/4, 1/2, 1/4; ends take themselves twice).

    >>> smoothed([0, 4, 0], 1)
    array([1., 2., 1.])
    """
    rows = np.moveaxis(np.array(values, dtype=float), axis, -1)
    for _ in range(times):
        wide = np.concatenate([rows[..., :1], rows, rows[..., -1:]], axis=-1)
        rows = 0.25 * wide[..., :-2] + 0.5 * wide[..., 1:-1] + 0.25 * wide[..., 2:]
    return np.moveaxis(rows, -1, axis)


def _rough_edges(t, count, rng):
    """Shapes over t from -1 to 1, of height about 1: (count, points)."""

    def each(low, high):
        return rng.uniform(low, high, (count, 1))

    def either():
        return rng.choice([-1.0, 1.0], (count, 1))

    bow = either() * each(0.8, 1.2) * (1 - (t - each(-0.15, 0.15)) ** 2)
    s_shape = rng.normal(0, 0.45, (count, 1)) * (t**3 - t)
    waves = sum(
        rng.normal(0, size, (count, 1)) * np.sin(np.pi * each(0.8, 1.2) * halves * t + each(0, 2 * np.pi))
        for halves, size in ((2, 0.08), (4, 0.05), (7, 0.03))
    )
    worn = -each(0, 0.3) * np.exp(-(1 - either() * t) / each(0.1, 0.25))
    scale = 0.04 * smoothed(rng.normal(size=(count, t.size)), 3)
    marks = 0.006 * rng.normal(size=(count, t.size))
    return bow + s_shape + waves + worn + scale + marks
