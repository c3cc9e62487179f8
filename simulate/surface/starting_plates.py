"""Plates as they come to the bench: each out of flat by the same amount, each in its own shape."""

from __future__ import annotations

import math

import numpy as np

from simulate.core import checks
from simulate.core.chance import generator
from simulate.surface.flatness import flatness
from simulate.surface.starting_bars import smoothed


def starting_plates(
    width_mm: float,
    depth_mm: float,
    error_um: float,
    points: int = 31,
    plates: int = 3,
    workshops: int | None = None,
    seed: int | np.random.Generator | None = None,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Faces of rough plates, each out of flat by `error_um`.

    Parameters
    ----------
    width_mm, depth_mm : float
        Size along x and along y.
    error_um : float
        Minimum-zone flatness of every plate; 0 gives flat plates.
    points : int
        Points along each side, 3 or more.
    plates : int
        Plates in a workshop.
    workshops : int, optional
        Many workshops at once; without it there is one, and no axis for it.
    seed : int or numpy.random.Generator, optional
        The same number gives the same plates; a Generator is drawn from.

    Returns
    -------
    x_mm, y_mm : ndarray, shape (points,)
        Positions of the columns and the rows, from minus half to half the size.
    height_um : ndarray, shape ([workshops,] plates, rows, columns)
        Heights above each plate's own least-squares plane.

    Raises
    ------
    ValueError
        Where a size is out of range.

    Notes
    -----
    A bowl or a dome, twist, a saddle, waves, corners that hang low, and the
    roughness of a casting. The mixture is made up for teaching, not measured.

    Examples
    --------
    >>> x_mm, y_mm, height_um = starting_plates(400, 250, 120, seed=1)
    >>> height_um.shape
    (3, 31, 31)
    >>> flatness(x_mm, y_mm, height_um).value_um.round(6)
    array([120., 120., 120.])
    """
    width = checks.number(width_mm, "width_mm", 0, above=True)
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    error = checks.number(error_um, "error_um", 0)
    points = checks.whole(points, "points", 3)
    plates = checks.whole(plates, "plates", 1)
    many = () if workshops is None else (checks.whole(workshops, "workshops", 1),)
    shape = (*many, plates, points, points)
    checks.room(math.prod(shape), "workshops x plates x points each way")
    rng = generator(seed)
    half = np.linspace(-0.5, 0.5, points)
    x, y = half * width, half * depth
    if error == 0:
        return x, y, np.zeros(shape)
    height = _rough_faces(2 * half, int(np.prod(shape[:-2])), rng)
    height = flatness(x, y, height, "least squares").residual_um
    height *= (error / np.asarray(flatness(x, y, height).value_um))[:, None, None]
    return x, y, height.reshape(shape)


def _rough_faces(t, count, rng):
    """Shapes over a square from -1 to 1 each way, of height about 1: (count, rows, columns)."""
    u, v = t[None, None, :], t[None, :, None]

    def each(low, high):
        return rng.uniform(low, high, (count, 1, 1))

    def either():
        return rng.choice([-1.0, 1.0], (count, 1, 1))

    bowl = either() * each(0.4, 0.8) * ((u - each(-0.2, 0.2)) ** 2 + (v - each(-0.2, 0.2)) ** 2 - 1)
    twist = rng.normal(0, 0.3, (count, 1, 1)) * u * v
    saddle = rng.normal(0, 0.2, (count, 1, 1)) * (u**2 - v**2)
    waves = sum(
        rng.normal(0, size, (count, 1, 1))
        * np.sin(np.pi * each(0.8, 1.2) * halves * (u * np.cos(way) + v * np.sin(way)) + each(0, 2 * np.pi))
        for halves, size, way in ((2, 0.08, each(0, np.pi)), (4, 0.05, each(0, np.pi)))
    )
    corners = sum(
        -each(0, 0.25) * np.exp(-((u - a) ** 2 + (v - b) ** 2) / each(0.05, 0.2)) for a in (-1, 1) for b in (-1, 1)
    )
    casting = 0.08 * smoothed(smoothed(rng.normal(size=(count, t.size, t.size)), 2), 2, axis=-2)
    return bowl + twist + saddle + waves + corners + casting
