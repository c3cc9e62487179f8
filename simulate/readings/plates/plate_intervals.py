"""What intervals of plates leave: the posterior of a stated prior, and what holds whatever the prior."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import scipy

from simulate.readings.adjustment.bounds import interval_bounds
from simulate.readings.adjustment.end_errors import PLACE_MM, end_errors
from simulate.readings.adjustment.from_intervals import FromIntervals
from simulate.readings.adjustment.posterior import WIDER, Looks, Prior, first_and_last, knee_of, posterior
from simulate.readings.adjustment.shape_prior import WORKED_LENGTHS, WORKED_ROUGH, fitted_patterns, smooth_shapes
from simulate.readings.bars.bar_intervals import errors_of
from simulate.readings.network.contact import at_rest, resting_plate
from simulate.readings.plates.plate_equations import fits_of, plane_of
from simulate.readings.plates.plate_stations import Stations
from simulate.readings.reference.hold import Hold, agreeing
from simulate.readings.table.readings import Readings


def solve_plate_intervals(
    table: Readings,
    stations: Stations,
    read: np.ndarray,
    design: np.ndarray,
    datum: np.ndarray,
    point_sd: float,
    scales: tuple[float, ...] = (1.0,),
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
    hold: Hold | None = None,
) -> FromIntervals:
    """Work out what intervals leave of the plates.

    `read` (bodies, points) of bool: of the plates that are solved. `design` (readings, all heights + 3 * fits), `datum`
    (heights, all heights + 3 * fits). `point_sd`: of point readings among them. `scales`: what `point_sd` may have to
    be multiplied by, where it is not known. `bounds`: whether to bound the heights as well; whether the intervals agree
    is looked at in any case. `hold`: plates that are known already; nothing is bounded then.

    Taken for granted: each plate's shape beyond its plane is smooth over a third to two thirds of half its side with
    some roughness, or rough throughout; all plates are out by about as much, by an amount from 0.1 um to 3 mm that is
    not known; three or four plates that were read at the same stations may have been worked to fit each other, as bars
    may; and two plates touch at three places about the middle of the upper one. Where those are is worked out in two
    steps: from what the readings leave without them, and then with them.
    """
    told, at_known = table.is_interval, np.zeros(len(table))
    if hold is not None:
        at_known, design, datum = design @ hold.shift, design @ hold.turn, datum @ hold.turn
    low, high = table.low_um - at_known, table.high_um - at_known
    if hold is None:
        held = interval_bounds(design[told], low[told], high[told], datum if bounds else datum[:0])
    else:
        held = agreeing(hold, design[told], low[told], high[told], hold.rows(design.shape[1]))
    place = PLACE_MM if place_mm is None else place_mm
    plane = plane_of(stations)
    free = [_free_of_planes(plane[seen]) for seen in read]
    heights, shapes = int(read.sum()), sum(one.shape[1] for one in free)
    lift = scipy.linalg.block_diag(*free, np.eye(design.shape[1] - heights))
    both, wanted = design @ lift, datum @ lift
    kinds = [smooth_shapes(plane[seen, 1:], one, WORKED_LENGTHS, WORKED_ROUGH) for seen, one in zip(read, free)]
    alike = bool((read == read[0]).all())
    width = (table.high_um - table.low_um)[told]
    errors = np.ones(0 if hold is None else hold.size.size)
    prior = Prior(
        shapes=kinds[0] if alike else np.stack([scipy.linalg.block_diag(*each) for each in zip(*kinds)]),
        mates=fitted_patterns(len(read) if alike else 1),
        rest_sd=np.concatenate([np.full(both.shape[1] - shapes - len(errors), np.inf), errors]),
        knee=knee_of(width),
    )
    ends = end_errors(table.low_um, table.high_um, feel_um, place * slope_of_gaps(table, stations), held.conflict_um)
    looks = Looks(
        design=both,
        low=low,
        high=high,
        point_sd=np.full(len(table), point_sd),
        scales=scales,
        low_blur=ends.low_um,
        high_blur=ends.high_um,
        feel_weight=ends.weight,
    )
    last = np.eye(both.shape[1])[both.shape[1] - len(errors) :]
    first = posterior(looks, prior, both)
    rests = plates_at_rest(table, stations, first.draws[::4] + at_known)
    prior = replace(prior, contacts=at_rest(rests, both, at_known, first.amplitude), wider=WIDER)
    found = posterior(looks, prior, np.vstack([wanted, both, last]))
    gaps = slice(heights, heights + len(both))
    return FromIntervals(
        of_heights=first_and_last(found, heights, 0),
        gap_um=found.mean[gaps] + at_known,
        bounds=held,
        errors=ends,
        place_mm=place,
        of_errors=None if hold is None else errors_of(found, heights, gaps.stop),
    )


def plates_at_rest(table: Readings, stations: Stations, gap_um: np.ndarray) -> list[tuple]:
    """Say for each fit which readings it has, and where the upper plate rests, as ``at_rest`` takes it.

    `gap_um` (draws, readings).
    """
    fit, may, found = fits_of(table)[0], ~table.is_interval | (table.low_um <= 0), []
    for number in range(fit.max() + 1):
        mine = np.flatnonzero(fit == number)
        load = (float(table.slide_x_mm[mine[0]]), float(table.slide_y_mm[mine[0]]))
        at = stations.lower[mine]
        found.append((mine, *resting_plate(stations.x_mm[at], stations.y_mm[at], gap_um[:, mine], may[mine], load)))
    return found


def _free_of_planes(plane: np.ndarray) -> np.ndarray:
    full, _ = np.linalg.qr(plane, mode="complete")
    return full[:, plane.shape[1] :]


def slope_of_gaps(table: Readings, stations: Stations) -> np.ndarray:
    """How fast the gap changes about each reading, um per mm: from there to the four nearest places of the same fit.

    A place that was read again counts as one, by the mean of its middles.
    """
    low = np.where(np.isfinite(table.low_um), table.low_um, 0.0)
    middle = np.where(
        np.isfinite(table.high_um), (low + np.where(np.isfinite(table.high_um), table.high_um, 0.0)) / 2, low
    )
    keys = np.stack([table.lower, table.upper, table.turned, table.slide_x_mm, table.slide_y_mm], axis=1)
    _, fit = np.unique(keys, axis=0, return_inverse=True)
    fit = fit.reshape(-1)
    x, y = stations.x_mm[stations.lower], stations.y_mm[stations.lower]
    slope = np.zeros(len(table))
    for number in range(fit.max() + 1):
        mine = np.flatnonzero(fit == number)
        _, first, which = np.unique(stations.lower[mine], return_index=True, return_inverse=True)
        at, mean = mine[first], np.bincount(which, middle[mine]) / np.bincount(which)
        away = np.hypot(x[at, None] - x[at], y[at, None] - y[at])
        np.fill_diagonal(away, np.inf)
        if at.size > 1:
            near = np.argsort(away, axis=1, kind="stable")[:, :4]
            far = np.take_along_axis(away, near, 1)
            rise = np.abs(mean[near] - mean[:, None]) / far
            slope[mine] = rise.mean(axis=1)[which]
    return slope
