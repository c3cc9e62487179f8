"""From a straightedge to a flat surface: lines under the edge, and winding strips."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seating.bar_seat import rest
from simulate.core import checks
from simulate.core.least_squares import least_squares
from simulate.core.refusal import Refusal, shape_words
from simulate.core.spaces import smooth_basis
from simulate.core.values import short

LINES = ("along", "across", "corners", "winding")
"""What may be read: every row, every column, both diagonals, winding strips at the two ends."""


@dataclass(frozen=True)
class EdgeReadings:
    """Gaps under a straightedge; None where a kind was not read.

    Attributes
    ----------
    along_um, across_um : ndarray, shape (rows, columns), or None
        Gap at each station with the edge along its row, or along its column.
    corners_um : ndarray, shape (2, stations), or None
        With the edge from the first corner to the last, then over the other diagonal.
    winding_um : float or None
        Twist over the whole plate: first corner and last, less the other two.
    """

    along_um: np.ndarray | None = None
    across_um: np.ndarray | None = None
    corners_um: np.ndarray | None = None
    winding_um: float | None = None


@dataclass(frozen=True)
class EdgeSurvey:
    """A plate as a straightedge tells it.

    Attributes
    ----------
    height_um, sd_um : ndarray, shape (rows, columns)
        Above the plate's own least-squares plane; what stays hidden is taken as none.
    hidden : ndarray, shape (k, rows, columns)
        Every shape that these lines leave unseen, orthonormal.
    """

    height_um: np.ndarray
    sd_um: np.ndarray
    hidden: np.ndarray


def read_edge(
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    height_um: ArrayLike,
    lines: tuple[str, ...] = LINES,
    step_um: float = 0.0,
    blades_um: ArrayLike | None = None,
) -> EdgeReadings:
    """Lay a perfect straightedge on a plate and read the gaps under it.

    Parameters
    ----------
    x_mm, y_mm : array_like
    height_um : array_like, shape (rows, columns)
    lines : tuple of str
        Some of `LINES`.
    step_um : float
        What a dial between plate and edge is read to, the nearest step. 0 reads exactly.
    blades_um : array_like, optional
        A set of feelers in place of the dial, rising: read is the middle between the thickest blade that goes in, or
        nothing, and the next one. Everything under the thinnest blade reads alike.

    Returns
    -------
    EdgeReadings

    Raises
    ------
    ValueError
        Where shapes differ, a kind of line is unknown, corners are asked for
        on a plate that has not as many rows as columns, or a gap takes the
        thickest blade and more.

    Examples
    --------
    >>> read_edge([-1, 0, 1], [-1, 0, 1], [[0, 0, 0], [0, -9, 0], [0, 0, 0]]).along_um[1]
    array([0., 9., 0.])
    """
    x, y, h = _plate(x_mm, y_mm, height_um)
    step = checks.number(step_um, "step_um", 0)
    blades = None if blades_um is None else _set_of(blades_um)
    checks.kind(lines, "lines", (tuple, list))
    for kind in lines:
        checks.choice(kind, "lines", LINES)
    found = {}
    if "along" in lines:
        found["along_um"] = _read(rest(x, h).gap_um, step, blades)
    if "across" in lines:
        found["across_um"] = _read(rest(y, h.T).gap_um.T, step, blades)
    if "corners" in lines:
        slant = _slant(x, y)
        found["corners_um"] = _read(rest(slant, np.stack([h.diagonal(), h[:, ::-1].diagonal()])).gap_um, step, blades)
    if "winding" in lines:
        found["winding_um"] = float(h[0, 0] + h[-1, -1] - h[0, -1] - h[-1, 0])
    return EdgeReadings(**found)


def survey_edge(
    x_mm: ArrayLike, y_mm: ArrayLike, readings: EdgeReadings, reading_sd_um: float = 3.0, winding_sd_um: float = 20.0
) -> EdgeSurvey:
    """Work a plate out from gaps under a straightedge.

    Parameters
    ----------
    x_mm, y_mm : array_like
    readings : EdgeReadings
    reading_sd_um : float
        Standard deviation of one gap, independent from gap to gap. A dial that is read to the nearest step has the
        step over the square root of 12. Gaps under the thinnest feeler err alike, so no such figure holds for them.
    winding_sd_um : float
        Scatter of the winding strips.

    Returns
    -------
    EdgeSurvey
        What it cannot see: the shapes in ``hidden``, an edge that is itself not
        straight, and what lies between the stations.

    Raises
    ------
    ValueError
        Where nothing was read, or shapes differ.

    Notes
    -----
    Least squares of all lines at once. Each line under the edge has a height
    and a slope of its own, for the edge lies on two points that nobody knows.
    Lines along and across, however many, leave one shape unseen: twist, whose
    rows and columns are all straight (derived).

    Examples
    --------
    >>> x = np.linspace(-100, 100, 5)
    >>> twist = 30 * np.outer(x, x) / 100**2
    >>> only = survey_edge(x, x, read_edge(x, x, twist, ("along", "across")))
    >>> len(only.hidden), round(float(np.ptp(only.height_um)), 6)
    (1, 0.0)
    >>> whole = survey_edge(x, x, read_edge(x, x, twist))
    >>> len(whole.hidden), round(float(np.ptp(whole.height_um)), 6)
    (0, 60.0)
    """
    x, y = checks.positions(x_mm), checks.positions(y_mm, "y_mm")
    checks.kind(readings, "readings", EdgeReadings)
    sd = checks.number(reading_sd_um, "reading_sd_um", 0, above=True)
    weight = sd / checks.number(winding_sd_um, "winding_sd_um", 0, above=True)
    design, seen = _design(x, y, readings, weight)
    fit, level = least_squares(design, np.ones(len(design))), _level(x, y)
    spread = level @ fit.cofactor @ level
    height = (level @ fit.solve(seen)).reshape(y.size, x.size)
    hidden = smooth_basis(_beyond(fit.hidden, level).reshape(-1, 1, y.size, x.size))[:, 0]
    return EdgeSurvey(
        height,
        sd * np.sqrt(np.maximum(spread.diagonal(), 0)).reshape(y.size, x.size),
        hidden,
    )


def _design(x, y, readings: EdgeReadings, weight: float):
    """What the lines show of every height, and what was seen; each line beyond its own straight line."""
    place = np.arange(x.size * y.size).reshape(y.size, x.size)
    lines = []
    for name, given in (("along_um", readings.along_um), ("across_um", readings.across_um)):
        if given is not None:
            gaps = checks.numbers(given, name)
            if np.shape(gaps) != place.shape:
                raise Refusal(
                    "shape",
                    where=name,
                    found=shape_words(np.shape(gaps)),
                    must_be=f"{y.size} rows and {x.size} columns",
                )
            rows = zip(place, gaps) if name == "along_um" else zip(place.T, np.transpose(gaps))
            lines += [(x if name == "along_um" else y, at, gap) for at, gap in rows]
    if readings.corners_um is not None:
        slant = _slant(x, y)
        corners = checks.numbers(readings.corners_um, "corners_um")
        if corners.shape != (2, slant.size):
            raise Refusal(
                "shape",
                where="corners_um",
                found=shape_words(corners.shape),
                must_be=f"two diagonals of {slant.size} stations",
            )
        lines += [(slant, at, gap) for at, gap in zip((place.diagonal(), place[:, ::-1].diagonal()), corners)]
    design, seen = [], []
    for along, at, gap in lines:
        own = np.linalg.qr(np.stack([np.ones(along.size), along - along.mean()], axis=1))[0]
        beyond = np.eye(along.size) - own @ own.T
        block = np.zeros((along.size, place.size))
        block[:, at] = beyond
        design.append(block)
        seen.append(-beyond @ gap)
    if readings.winding_um is not None:
        row = np.zeros((1, place.size))
        row[0, place[[0, -1, 0, -1], [0, -1, -1, 0]]] = weight * np.array([1.0, 1, -1, -1])
        design.append(row)
        seen.append([weight * checks.number(readings.winding_um, "winding_um")])
    if not design:
        raise Refusal("count", where="readings", found="nothing", must_be="at least one kind of line")
    return np.vstack(design), np.concatenate(seen)


def _level(x, y) -> np.ndarray:
    """Takes the least-squares plane out of heights, at stations that need not be even: (stations, stations)."""
    along, across = (a.ravel() for a in np.meshgrid((x - x.mean()) / np.ptp(x), (y - y.mean()) / np.ptp(y)))
    own = np.linalg.qr(np.stack([np.ones(along.size), along, across], axis=1))[0]
    return np.eye(along.size) - own @ own.T


def _beyond(unseen: np.ndarray, level: np.ndarray) -> np.ndarray:
    """Unseen shapes beyond a plane, orthonormal: (shapes, stations)."""
    _, size, turned = np.linalg.svd(unseen.T @ level, full_matrices=False)
    return turned[size > 1e-6]


def is_twist(shape: np.ndarray) -> bool:
    """Say whether every row and every column of a shape (rows, columns) is straight."""
    return max(np.abs(np.diff(shape, 2, axis=axis)).max(initial=0.0) for axis in (0, 1)) < 1e-6 * np.abs(shape).max()


def _slant(x, y) -> np.ndarray:
    if x.size != y.size:
        raise Refusal(
            "count", where="corners", found=f"{y.size} rows and {x.size} columns", must_be="as many rows as columns"
        )
    slope = np.diff(x) / np.ptp(x) - np.diff(y) / np.ptp(y)
    if np.abs(slope).max() > 1e-9:
        raise Refusal(
            "spacing",
            where="corners",
            found="different fractions of the two sides",
            must_be="the same fraction of both, so that stations meet on the diagonals",
        )
    return (x - x[0]) * np.hypot(np.ptp(x), np.ptp(y)) / np.ptp(x)


def _set_of(blades_um) -> np.ndarray:
    blades = np.atleast_1d(checks.numbers(blades_um, "blades_um"))
    if blades.ndim != 1 or blades.size < 2 or (np.diff(blades, prepend=0.0) <= 0).any():
        raise Refusal(
            "order",
            where="blades_um",
            found=short(blades_um),
            must_be="at least two thicknesses above 0, in rising order",
        )
    return blades


def _read(gap, step: float, blades: np.ndarray | None) -> np.ndarray:
    """What is written down for true gaps: as they are, to the nearest step of a dial, or by the blades that go in."""
    if blades is None:
        return np.round(gap / step) * step if step else gap
    if gap.max() >= blades[-1]:
        raise Refusal(
            "range",
            where="the widest gap",
            found=f"{gap.max():.0f} µm",
            must_be=f"below the thickest blade, {blades[-1]:g} µm",
            do="Take the corners down first",
        )
    edges = np.concatenate([[0.0], blades])
    place = np.searchsorted(blades, gap, side="right")
    return (edges[place] + edges[place + 1]) / 2


def _plate(x_mm, y_mm, height_um):
    x, y = checks.positions(x_mm), checks.positions(y_mm, "y_mm")
    h = checks.numbers(height_um, "height_um")
    if h.shape != (y.size, x.size):
        raise Refusal(
            "shape", where="height_um", found=shape_words(h.shape), must_be=f"{y.size} rows and {x.size} columns"
        )
    return x, y, h
