"""What intervals of plates leave: the posterior of a stated prior, and what holds whatever the prior."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import scipy

from simulate.readings.bounds import interval_bounds
from simulate.readings.end_errors import PLACE_MM, end_errors
from simulate.readings.from_intervals import FromIntervals
from simulate.readings.placement import Stations
from simulate.readings.plate_equations import plane_of
from simulate.readings.posterior import Looks, Prior, posterior
from simulate.readings.record import Readings
from simulate.readings.shape_prior import smooth_shapes

LENGTHS, ROUGH = (0.7, 0.35), (0.1, 0.3)
"""Correlation lengths of a plate's face as parts of half its side, and its roughness as part of its amplitude."""


def solve_plate_intervals(table: Readings, stations: Stations, read: np.ndarray, design: np.ndarray, datum: np.ndarray,
                          point_sd: float, scales: tuple[float, ...] = (1.0,), feel_um: float | None = None,
                          place_mm: float | None = None, bounds: bool = True) -> FromIntervals:
    """Work out what intervals leave of the plates.

    Parameters
    ----------
    table : Readings
    stations : Stations
    read : numpy.ndarray of bool, shape (bodies, points)
    design : numpy.ndarray, shape (readings, heights + 3 * fits)
    datum : numpy.ndarray, shape (heights, heights + 3 * fits)
    point_sd : float
        Of point readings among them.
    scales : tuple of float
        What `point_sd` may have to be multiplied by, where it is not known.
    feel_um, place_mm : float, optional
    bounds : bool
        Whether to bound the heights as well; whether the intervals agree is looked at in any case.

    Returns
    -------
    FromIntervals

    Notes
    -----
    Taken for granted: each plate's shape beyond its plane is smooth over a third to two thirds of half its side with
    some roughness, or rough throughout; all plates are out by about as much, by an amount from 0.1 um to 3 mm that is
    not known.
    """
    told = table.is_interval
    held = interval_bounds(design[told], table.low_um[told], table.high_um[told], datum if bounds else datum[:0])
    place = PLACE_MM if place_mm is None else place_mm
    plane = plane_of(stations)
    free = [_free_of_planes(plane[seen]) for seen in read]
    heights, shapes = int(read.sum()), sum(one.shape[1] for one in free)
    lift = scipy.linalg.block_diag(*free, np.eye(design.shape[1] - heights))
    both, wanted = design @ lift, datum @ lift
    kinds = [smooth_shapes(plane[seen, 1:], one, LENGTHS, ROUGH) for seen, one in zip(read, free)]
    width = (table.high_um - table.low_um)[told]
    prior = Prior(shapes=np.stack([scipy.linalg.block_diag(*each) for each in zip(*kinds)]), rest_sd=np.full(both.shape[1] - shapes, np.inf),
                  knee=float(width[np.isfinite(width) & (width > 0)].min(initial=10.0)))
    errors = end_errors(table.low_um, table.high_um, feel_um, place * _slope(table, stations), held.conflict_um)
    looks = Looks(design=both, low=table.low_um, high=table.high_um, point_sd=np.full(len(table), point_sd), scales=scales,
                  low_blur=errors.low_um, high_blur=errors.high_um, feel_weight=errors.weight)
    found = posterior(looks, prior, np.vstack([wanted, both]))
    of = replace(found, mean=found.mean[:heights], sd=found.sd[:heights], covariance=found.covariance[:heights, :heights],
                 low_95=found.low_95[:heights], high_95=found.high_95[:heights], draws=found.draws[:, :heights])
    return FromIntervals(of_heights=of, gap_um=found.mean[heights:], bounds=held, errors=errors, place_mm=place)


def _free_of_planes(plane: np.ndarray) -> np.ndarray:
    full, _ = np.linalg.qr(plane, mode="complete")
    return full[:, plane.shape[1]:]


def _slope(table: Readings, stations: Stations) -> np.ndarray:
    """How fast the gap changes about each reading, um per mm: from its middle to that of the nearest one in the same fit."""
    low = np.where(np.isfinite(table.low_um), table.low_um, 0.0)
    middle = np.where(np.isfinite(table.high_um), (low + np.where(np.isfinite(table.high_um), table.high_um, 0.0)) / 2, low)
    keys = np.stack([table.lower, table.upper, table.turned, table.slide_x_mm, table.slide_y_mm], axis=1)
    _, fit = np.unique(keys, axis=0, return_inverse=True)
    fit = fit.reshape(-1)
    x, y = stations.x_mm[stations.lower], stations.y_mm[stations.lower]
    slope = np.zeros(len(table))
    for number in range(fit.max() + 1):
        mine = np.flatnonzero(fit == number)
        away = np.hypot(x[mine, None] - x[mine], y[mine, None] - y[mine])
        np.fill_diagonal(away, np.inf)
        if mine.size > 1:
            near = np.argsort(away, axis=1, kind="stable")[:, :4]
            far = np.take_along_axis(away, near, 1)
            rise = np.abs(middle[mine][near] - middle[mine][:, None]) / np.maximum(far, 1e-9)
            slope[mine] = np.where(np.isfinite(far), rise, 0.0).mean(axis=1)
    return slope
