"""What intervals of bars leave: the posterior of a stated prior, and what holds whatever the prior."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulate.readings.bounds import interval_bounds
from simulate.readings.end_errors import PLACE_MM, EndErrors, end_errors
from simulate.readings.from_intervals import FromIntervals
from simulate.readings.equations import point_spread
from simulate.readings.network import Network, design, seats, span
from simulate.readings.posterior import Looks, Posterior, Prior, posterior
from simulate.readings.record import Readings
from simulate.readings.repeatability import Resolution, assumed_sd
from simulate.readings.shape_prior import smooth_shapes

MATED = 0.9
"""Correlation of the shapes of bars that were filed to fit each other."""
CLEARANCE = 0.4
"""Mean gap at a station beside which two bars touch, as part of their amplitude."""
SCALES = (0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0)
_LENGTHS, _ROUGH = (0.7, 0.35), (0.1, 0.3)
_MOST_MATED = 4


def solve_intervals(used: Readings, network: Network, point_sd: float, scales: tuple[float, ...] = (1.0,),
                    feel_um: float | None = None, place_mm: float | None = None, bounds: bool = True) -> FromIntervals:
    """Work out what intervals leave of the bars.

    Parameters
    ----------
    used : Readings
    network : Network
    point_sd : float
        Of point readings among them.
    scales : tuple of float
        What `point_sd` may have to be multiplied by, where it is not known.
    feel_um, place_mm : float, optional
        One standard deviation of the gap at which a blade is felt to go, and of where it went in.
    bounds : bool
        Whether to bound the heights as well; whether the intervals agree is looked at in any case.

    Returns
    -------
    FromIntervals

    Notes
    -----
    Taken for granted: each bar's shape beyond its line is smooth over a third to two thirds of its half length with
    some roughness, or rough throughout; all bars are out by about as much, by an amount from 0.1 um to 3 mm that is not
    known; they are independent of each other, or were filed to fit each other; and two bars touch on both sides of the
    middle.
    """
    matrix, lines = design(network), seats(network)
    both = np.hstack([matrix, lines])
    lift = np.kron(np.eye(len(network.names)), network.basis)
    wanted = np.hstack([lift, np.zeros((len(lift), lines.shape[1]))])
    told = used.is_interval
    held = interval_bounds(both[told], used.low_um[told], used.high_um[told], wanted if bounds else wanted[:0])
    place = PLACE_MM if place_mm is None else place_mm
    prior = _prior(used, network, lines.shape[1])
    looks, errors = _looks(used, both, point_sd, scales, feel_um, np.zeros(len(used)), held.conflict_um)
    first = posterior(looks, prior, np.vstack([wanted, both]))
    heights = len(lift)
    slope = _slope(network, first.mean[heights:])
    looks, errors = _looks(used, both, point_sd, scales, feel_um, place * slope, held.conflict_um)
    touching = contact_weights(network, first.draws[::4, :heights].reshape(-1, len(network.names), network.x_mm.size))
    prior = replace(prior, contact=2 * (touching @ both) / CLEARANCE, seats=lines.shape[1])
    found = posterior(looks, prior, np.vstack([wanted, both]))
    return FromIntervals(of_heights=_part(found, heights), gap_um=found.mean[heights:], bounds=held, errors=errors, place_mm=place)


def contact_weights(network: Network, height_um: np.ndarray) -> np.ndarray:
    """Say how often each reading stands where the bars touch.

    Parameters
    ----------
    network : Network
    height_um : numpy.ndarray, shape (draws, bodies, points)

    Returns
    -------
    numpy.ndarray, shape (readings,)
        One for each fit in all: of the two stations that straddle the middle and carry, half each.
    """
    weight, along = np.zeros(network.fit.size), network.along
    middle = (along[0] + along[-1]) / 2
    for number, (lower, upper, _) in enumerate(network.fits):
        mine = np.flatnonzero(network.fit == number)
        at = along[network.at_lower[mine]] - middle
        left, right = np.flatnonzero(at <= 1e-9), np.flatnonzero(at > 1e-9)
        if not left.size or not right.size:
            continue
        summed = height_um[:, lower][:, network.at_lower[mine]] + height_um[:, upper][:, network.at_upper[mine]]
        i, j = (part.ravel() for part in np.meshgrid(left, right, indexing="ij"))
        wide = at[j] - at[i]
        over = np.argmax(at[j] / wide * summed[:, i] - at[i] / wide * summed[:, j], axis=1)  # the lowest line over the load
        for end in (i, j):
            np.add.at(weight, mine[end[over]], 0.5 / len(summed))
    return weight


def hollow_for_sure(used: Readings, network: Network) -> np.ndarray:
    """Give by how much each bar, and all bars on average, are hollow whatever the prior.

    Parameters
    ----------
    used : Readings
    network : Network

    Returns
    -------
    numpy.ndarray, shape (bodies + 1, points)
        Least depth below the line of the bar's own end stations; below 0 where it may stand proud, -inf where nothing
        is certain; the last row is the mean of all bars.
    """
    bodies, points = len(network.names), network.x_mm.size
    part = (network.x_mm - network.x_mm[0]) / np.ptp(network.x_mm)
    below = -np.eye(points)
    below[:, 0] += 1 - part
    below[:, -1] += part
    each = np.kron(np.vstack([np.eye(bodies), np.full(bodies, 1 / bodies)]), below @ network.basis)
    lines = seats(network)
    told = used.is_interval
    wanted = np.hstack([each, np.zeros((len(each), lines.shape[1]))])
    found = interval_bounds(np.hstack([design(network), lines])[told], used.low_um[told], used.high_um[told], wanted)
    return np.full((bodies + 1, points), -np.inf) if found.low_um is None else found.low_um.reshape(bodies + 1, points)


def weights_of(used: Readings, network: Network, sd: float | None, step: Resolution | None
               ) -> tuple[np.ndarray, np.ndarray, str, tuple[float, ...], int]:
    """Give what each reading says by itself.

    Parameters
    ----------
    used : Readings
    network : Network
    sd : float or None
        Of a point reading, where it is given.
    step : Resolution or None
        Of point readings, where there are any.

    Returns
    -------
    middle_um, row_sd_um : numpy.ndarray, shape (readings,)
        Middle and width / sqrt(12) of an interval; inf where it is open.
    sd_from : str
    scales : tuple of float
        What the deviation of points may have to be multiplied by.
    dof : int
        Readings to spare.
    """
    point, closed = ~used.is_interval, np.isfinite(used.high_um)
    middle = np.where(closed, (used.low_um + np.where(closed, used.high_um, 0)) / 2, used.low_um)
    width = np.where(closed, used.high_um - used.low_um, np.inf)
    one = sd if sd is not None else assumed_sd(step) if step is not None else 1.0
    row_sd = np.where(point, one, np.maximum(width / np.sqrt(12), 1e-3))
    both = np.hstack([design(network), seats(network)])
    dof = int(closed.sum()) - span(both[closed]).shape[1] if closed.any() else 0
    if not point.any() or sd is not None:
        return middle, row_sd, "given" if sd is not None and point.any() else "intervals", (1.0,), dof
    found, freedom = point_spread(both[closed], middle[closed], row_sd[closed], point[closed])
    if not freedom:
        return middle, row_sd, "assumed", (1.0,), dof
    floor = step.least_sd
    source = "residuals" if found > floor else "resolution"
    scales = SCALES if source == "residuals" else tuple(s for s in SCALES if s >= 1)
    return middle, np.where(point, max(found, floor), row_sd), source, scales, dof


def _prior(used: Readings, network: Network, lines: int) -> Prior:
    bodies = len(network.names)
    mates = [np.eye(bodies)]
    if 3 <= bodies <= _MOST_MATED:
        for signs in np.ndindex(*(2,) * (bodies - 1)):
            sign = np.array([1, *(1 - 2 * s for s in signs)])
            mates.append((1 - MATED) * np.eye(bodies) + MATED * np.outer(sign, sign))
    width = (used.high_um - used.low_um)[used.is_interval]
    return Prior(shapes=smooth_shapes(network.along, network.basis, _LENGTHS, _ROUGH), mates=np.stack(mates),
                 knee=float(width[np.isfinite(width) & (width > 0)].min(initial=10.0)), rest_sd=np.full(lines, np.inf))


def _looks(used: Readings, both: np.ndarray, point_sd: float, scales: tuple[float, ...], feel_um: float | None,
           place_um: np.ndarray, conflict_um: float) -> tuple[Looks, EndErrors]:
    errors = end_errors(used.low_um, used.high_um, feel_um, place_um, conflict_um)
    return Looks(design=both, low=used.low_um, high=used.high_um, point_sd=np.full(len(used), point_sd), scales=scales,
                 low_blur=errors.low_um, high_blur=errors.high_um, feel_weight=errors.weight), errors


def _slope(network: Network, gap_um: np.ndarray) -> np.ndarray:
    """How fast the gap changes along each fit at each reading, um per mm."""
    slope = np.zeros(gap_um.size)
    for number in range(len(network.fits)):
        mine = np.flatnonzero(network.fit == number)
        at = network.x_mm[network.at_lower[mine]]
        order = np.argsort(at, kind="stable")
        if np.unique(at).size == at.size > 1:
            slope[mine[order]] = np.abs(np.gradient(gap_um[mine][order], at[order]))
    return slope


def _part(found: Posterior, count: int) -> Posterior:
    """The first values of a posterior."""
    return replace(found, mean=found.mean[:count], sd=found.sd[:count], covariance=found.covariance[:count, :count],
                   low_95=found.low_95[:count], high_95=found.high_95[:count], draws=found.draws[:, :count])
