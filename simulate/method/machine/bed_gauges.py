"""What the gauges tell of a bed: land gauges along a way, a straightedge across both."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seating.bar_seat import settle
from simulate.core import checks
from simulate.core.byte_cache import remembered
from simulate.core.chance import generator
from simulate.core.refusal import Refusal
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import anchored_levels, usual_counts

ALONG = ("straightedge", "straightedge, then land gauges")
"""What may lie along a way; land gauges tie points only, so a straightedge goes before them once and takes what lies
between."""


@dataclass(frozen=True)
class LandMap:
    """Land gauges along a way, long ones first and shorter ones between their points, as one step of arithmetic.

    Attributes
    ----------
    x_mm : numpy.ndarray, shape (lands,)
        Points of the way that the gauges tie, its ends held.
    show : numpy.ndarray, shape (fits, lands)
        What each fit shows of the heights.
    tell : numpy.ndarray, shape (lands, fits)
        What the fits tell of the heights, over the line of the ends.
    sd_um : numpy.ndarray, shape (lands,)
        How sure each point is.
    """

    x_mm: np.ndarray
    show: np.ndarray
    tell: np.ndarray
    sd_um: np.ndarray
    fit_sd_um: float


@remembered
def land_map(length_mm: float, lands: int = 13, fit_sd_um: float = 0.8) -> LandMap:
    """Lay land gauges along a way, three points first, and then each space divided.

    Parameters
    ----------
    length_mm : float
        Of the way, its middle at 0.
    lands : int
        Points at the end: an odd number, 3 or more.
    fit_sd_um : float
        Standard deviation of one fit of a gauge; above 0.

    Returns
    -------
    LandMap
        What it cannot see: what the way does between the points.

    Raises
    ------
    ValueError
        Where the points have no middle one, or a figure is impossible.

    Examples
    --------
    >>> land_map(600, 7, 1.0).sd_um.round(2).tolist()
    [0.0, 1.53, 1.63, 1.0, 1.63, 1.53, 0.0]
    """
    sd = checks.number(fit_sd_um, "fit_sd_um", 0, above=True)
    fits = [fit for level in anchored_levels(usual_counts(lands), length_mm, sd) for fit in level.fits]
    network = solve_network(fits, readings_um=np.eye(len(fits)))
    show = np.zeros((len(fits), network.x_mm.size))
    for row, fit in zip(show, fits):
        left, middle, right = np.searchsorted(network.x_mm, np.array(fit.lands_mm) - 1e-6)
        part = (fit.lands_mm[1] - fit.lands_mm[0]) / (fit.lands_mm[2] - fit.lands_mm[0])
        row[[left, middle, right]] = part - 1, 1, -part
    return LandMap(network.x_mm - length_mm / 2, show, network.height_um.T, network.sd_um, sd)


def told_by_lands(
    x_mm: ArrayLike,
    height_um: ArrayLike,
    gauges: LandMap,
    zero_um: float = 0.0,
    seed: int | np.random.Generator | None = None,
) -> np.ndarray:
    """Read a way with land gauges.

    `x_mm` (points,): the middle of the way at 0. `height_um` (..., points). `zero_um`: what each gauge shows on a
    straight way. Returns (..., points): the way as the gauges tell it, over the line of its ends, straight from land to
    land.

    >>> x = np.linspace(-300, 300, 25)
    >>> told = told_by_lands(x, 20 * (1 - (x / 300) ** 2), land_map(600, 7, 1e-9), seed=1)
    >>> told.round(1)[[0, 4, 12]].tolist(), round(float(told[2]), 1)
    ([0.0, 11.1, 20.0], 5.6)
    """
    x = checks.positions(x_mm)
    h = checks.profiles(height_um, x.size)
    checks.kind(gauges, "gauges", LandMap)
    zero_um = checks.number(zero_um, "zero_um")
    at = np.clip(np.searchsorted(x, gauges.x_mm), 1, x.size - 1)
    part = (gauges.x_mm - x[at - 1]) / (x[at] - x[at - 1])
    lands = (1 - part) * h[..., at - 1] + part * h[..., at]
    chance = gauges.fit_sd_um * generator(seed).standard_normal(lands.shape[:-1] + (len(gauges.show),))
    told = (lands @ gauges.show.T + chance + zero_um) @ gauges.tell.T
    to = np.clip(np.searchsorted(gauges.x_mm, x), 1, gauges.x_mm.size - 1)
    share = (x - gauges.x_mm[to - 1]) / (gauges.x_mm[to] - gauges.x_mm[to - 1])
    return (1 - share) * told[..., to - 1] + share * told[..., to]


def edges_mm(apart_mm: float, way_mm: float) -> np.ndarray:
    """Give the places of the four edges across a bed: outer and inner of the front way, inner and outer of the back.

    `apart_mm`: from middle to middle of the ways. `way_mm`: width of a way. Returns (4,).

    >>> edges_mm(200, 30)
    array([-115.,  -85.,   85.,  115.])
    """
    apart = checks.number(apart_mm, "apart_mm", 0, above=True)
    half = checks.number(way_mm, "way_mm", 0, apart, above=True) / 2
    if 2 * half >= apart:
        raise Refusal(
            "range", where="way_mm", found=f"{way_mm:g}", must_be=f"less than the {apart:g} mm between the ways"
        )
    return np.array([-apart / 2 - half, -apart / 2 + half, apart / 2 - half, apart / 2 + half])


def edge_heights(height_um: ArrayLike, lean_urad: ArrayLike, way_mm: float) -> np.ndarray:
    """Turn the middles of two ways and the lean of their tops into the heights of their four edges.

    `height_um` (..., 2, points): front way first. `lean_urad` (..., 2) or (..., 2, points): positive where the back
    edge of a top is higher. Returns (..., 4, points).

    >>> edge_heights([[0.0, 0.0], [5.0, 5.0]], [100.0, 0.0], 30.0)[:, 0].tolist()
    [-1.5, 1.5, 5.0, 5.0]
    """
    h, lean = checks.numbers(height_um, "height_um"), checks.numbers(lean_urad, "lean_urad")
    half = (lean if lean.ndim == h.ndim else lean[..., None]) * way_mm / 2000
    return np.stack(
        [
            h[..., 0, :] - half[..., 0, :],
            h[..., 0, :] + half[..., 0, :],
            h[..., 1, :] - half[..., 1, :],
            h[..., 1, :] + half[..., 1, :],
        ],
        axis=-2,
    )


def across_um(edges_um: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Lay a straightedge across both ways at every station, and give the gaps under it at the four edges.

    `edges_um` (..., 4, points). `y_mm` (4,): as `edges_mm` gives them. Returns (..., 4, points): what it cannot see: a
    step from one way to the other shows as lean of both tops, about width over distance of it.

    >>> across_um(np.array([[0.0], [-6.0], [0.0], [0.0]]), edges_mm(200, 30))[:, 0].tolist()
    [0.0, 6.0, 0.0, 0.0]
    """
    stations = np.moveaxis(edges_um, -2, -1)
    rows = stations.reshape(-1, 4)
    return np.moveaxis(settle(y_mm, rows, 0.0, np.zeros(len(rows))).reshape(stations.shape), -1, -2)
