"""What intervals of bars leave: the posterior of a stated prior, and what holds whatever the prior."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulate.readings.adjustment.bounds import Bounds, interval_bounds
from simulate.readings.adjustment.end_errors import PLACE_MM, EndErrors, end_errors, slope_along
from simulate.readings.adjustment.equations import point_spread
from simulate.readings.adjustment.from_intervals import FromIntervals
from simulate.readings.adjustment.posterior import WIDER, Looks, Posterior, Prior, first_and_last, knee_of, posterior
from simulate.readings.adjustment.repeatability import SCALES, Resolution, assumed_sd
from simulate.readings.adjustment.shape_prior import WORKED_LENGTHS, WORKED_ROUGH, fitted_patterns, smooth_shapes
from simulate.readings.bars.bar_network import Network, design, known_ends, known_gap, lifted, seats, span
from simulate.readings.network.contact import at_rest, resting_shares
from simulate.readings.reference.hold import agreeing
from simulate.readings.table.readings import Readings


def solve_intervals(
    used: Readings,
    network: Network,
    point_sd: float,
    scales: tuple[float, ...] = (1.0,),
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
) -> FromIntervals:
    """Work out what intervals leave of the bars.

    `point_sd`: of point readings among them. `scales`: what `point_sd` may have to be multiplied by, where it is not
    known. `feel_um`, `place_mm`: one standard deviation of the gap at which a blade is felt to go, and of where it went
    in. `bounds`: whether to bound the heights as well; whether the intervals agree is looked at in any case.

    Taken for granted: each bar's shape beyond its line is smooth over a third to two thirds of its half length with
    some roughness, or rough throughout; all bars are out by about as much, by an amount from 0.1 um to 3 mm that is not
    known; they are independent of each other, or were filed to fit each other; and two bars touch on both sides of the
    middle.
    """
    matrix, lines, at_known = design(network), seats(network), known_gap(network)
    both = np.hstack([matrix, lines])
    lift = lifted(network)
    wanted = np.hstack([lift, np.zeros((len(lift), lines.shape[1]))])
    held = _bounded(used, network, both, wanted if bounds else wanted[:0])
    place = PLACE_MM if place_mm is None else place_mm
    prior = _prior(used, network, lines.shape[1])
    looks, errors = _looks(used, both, point_sd, scales, feel_um, np.zeros(len(used)), held.conflict_um, at_known)
    heights = len(lift)
    first = posterior(looks, prior, both)
    slope = slope_of_gaps(network, first.mean + at_known)
    looks, errors = _looks(used, both, point_sd, scales, feel_um, place * slope, held.conflict_um, at_known)
    rests = bars_at_rest(network, first.draws[::4] + at_known, ~used.is_interval | (used.low_um <= 0))
    prior = replace(prior, contacts=at_rest(rests, both, at_known, first.amplitude), wider=WIDER)
    of_errors = np.zeros((0, both.shape[1])) if network.hold is None else network.hold.errors(both.shape[1])
    found = posterior(looks, prior, np.vstack([wanted, both, of_errors]))
    gaps = slice(heights, heights + len(both))
    return FromIntervals(
        of_heights=first_and_last(found, heights, 0),
        gap_um=found.mean[gaps] + at_known,
        bounds=held,
        errors=errors,
        place_mm=place,
        of_errors=None if network.hold is None else errors_of(found, heights, gaps.stop),
    )


def errors_of(found: Posterior, heights: int, start: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Part a posterior: covariance of heights with the references' errors behind `start`, and those by themselves."""
    return found.covariance[:heights, start:], found.mean[start:], found.covariance[start:, start:]


def _bounded(used: Readings, network: Network, both: np.ndarray, wanted: np.ndarray) -> Bounds:
    """Bound the heights; a known bar counts with its guaranteed ends, or with four deviations without them."""
    told, at_known = used.is_interval, known_gap(network)
    low, high = used.low_um[told] - at_known[told], used.high_um[told] - at_known[told]
    if network.hold is None:
        return interval_bounds(both[told], low, high, wanted)
    if network.hold.guaranteed:
        rows, ends = known_ends(network)
        lines = np.kron(
            np.eye(len(network.hold.references)), np.stack([np.ones(network.x_mm.size), network.along], axis=1)
        )
        kept = np.isfinite(ends).any(axis=0)
        rows = np.hstack([rows, np.zeros((len(rows), both.shape[1] - rows.shape[1])), lines])[kept]
        wide = [np.pad(part, ((0, 0), (0, lines.shape[1]))) for part in (both[told], wanted)]
        matrix, ends = np.vstack([wide[0], rows]), ends[:, kept]
        found = interval_bounds(matrix, np.concatenate([low, ends[0]]), np.concatenate([high, ends[1]]), wide[1])
        return replace(found, conflict_rows=tuple(row for row in found.conflict_rows if row < told.sum()))
    return agreeing(network.hold, both[told], low, high, network.hold.rows(both.shape[1]))


def bars_at_rest(network: Network, gap_um: np.ndarray, may: np.ndarray) -> list[tuple]:
    """Say for each fit which readings it has, and where the upper bar rests, as ``at_rest`` takes it.

    `gap_um` (draws, readings). `may` (readings,) of bool: readings that allow a gap of nought.
    """
    found, along = [], network.along - (network.along[0] + network.along[-1]) / 2
    for number in range(len(network.fits)):
        mine = np.flatnonzero(network.fit == number)
        found.append((mine, *resting_shares(along[network.at_lower[mine]], gap_um[:, mine], may[mine])))
    return found


def hollow_for_sure(used: Readings, network: Network) -> np.ndarray:
    """Give by how much each bar, and all bars on average, are hollow whatever the prior.

    Returns (bodies + 1, points): least depth below the line of the bar's own end stations; below 0 where it may stand
    proud, -inf where nothing is certain; the last row is the mean of all bars.
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


def weights_of(
    used: Readings, network: Network, sd: float | None, step: Resolution | None
) -> tuple[np.ndarray, np.ndarray, str, tuple[float, ...], int]:
    """Give what each reading says by itself.

    `sd`: of a point reading, where it is given. `step`: of point readings, where there are any. Returns `middle_um`,
    `row_sd_um` (readings,): middle and width / sqrt(12) of an interval; inf where it is open. `scales`: what the
    deviation of points may have to be multiplied by. `dof`: readings to spare.
    """
    point, closed = ~used.is_interval, np.isfinite(used.high_um)
    middle = np.where(closed, (used.low_um + np.where(closed, used.high_um, 0)) / 2, used.low_um)
    width = np.where(closed, used.high_um - used.low_um, np.inf)
    one = sd if sd is not None else assumed_sd(step) if step is not None else 1.0
    row_sd = np.where(point, one, np.maximum(width / np.sqrt(12), 1e-3))
    both = np.hstack([design(network), seats(network)])[closed]
    right, spread, points = (middle - known_gap(network))[closed], row_sd[closed], point[closed]
    if network.hold is not None:
        errors = network.hold.size.size
        both = np.vstack([both, network.hold.rows(both.shape[1])])
        right, spread = np.pad(right, (0, errors)), np.concatenate([spread, network.hold.size])
        points = np.pad(points, (0, errors))
    dof = len(both) - span(both).shape[1] if closed.any() else 0
    if not point.any() or sd is not None:
        return middle, row_sd, "given" if sd is not None and point.any() else "intervals", (1.0,), dof
    found, freedom = point_spread(both, right, spread, points)
    if not freedom:
        return middle, row_sd, "assumed", (1.0,), dof
    floor = step.least_sd
    source = "residuals" if found > floor else "resolution"
    scales = SCALES if source == "residuals" else tuple(s for s in SCALES if s >= 1)
    return middle, np.where(point, max(found, floor), row_sd), source, scales, dof


def _prior(used: Readings, network: Network, lines: int) -> Prior:
    width = (used.high_um - used.low_um)[used.is_interval]
    return Prior(
        shapes=smooth_shapes(network.along, network.basis, WORKED_LENGTHS, WORKED_ROUGH),
        mates=fitted_patterns(len(network.free)),
        knee=knee_of(width),
        rest_sd=np.concatenate(
            [() if network.hold is None else np.ones(network.hold.size.size), np.full(lines, np.inf)]
        ),
    )


def _looks(
    used: Readings,
    both: np.ndarray,
    point_sd: float,
    scales: tuple[float, ...],
    feel_um: float | None,
    place_um: np.ndarray,
    conflict_um: float,
    at_known: np.ndarray,
) -> tuple[Looks, EndErrors]:
    errors = end_errors(used.low_um, used.high_um, feel_um, place_um, conflict_um)
    return Looks(
        design=both,
        low=used.low_um - at_known,
        high=used.high_um - at_known,
        point_sd=np.full(len(used), point_sd),
        scales=scales,
        low_blur=errors.low_um,
        high_blur=errors.high_um,
        feel_weight=errors.weight,
    ), errors


def slope_of_gaps(network: Network, gap_um: np.ndarray) -> np.ndarray:
    """How fast the gap changes along each fit at each reading, um per mm."""
    slope = np.zeros(gap_um.size)
    for number in range(len(network.fits)):
        mine = np.flatnonzero(network.fit == number)
        slope[mine] = slope_along(network.x_mm[network.at_lower[mine]], gap_um[mine])
    return slope
