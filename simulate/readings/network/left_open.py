"""What intervals leave of a network of heights: the posterior of a stated prior of smooth shapes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import scipy

from simulate.readings.adjustment.end_errors import PLACE_MM, end_errors, slope_along
from simulate.readings.adjustment.posterior import (
    WIDER,
    Looks,
    Posterior,
    Prior,
    first_and_last,
    knee_of,
    posterior,
)
from simulate.readings.adjustment.repeatability import SCALES
from simulate.readings.adjustment.shape_prior import WORKED_LENGTHS, WORKED_ROUGH, smooth_shapes
from simulate.readings.network.contact import at_rest, edges_alike, resting_shares
from simulate.readings.network.heights import Network
from simulate.readings.network.resting import resting_posterior
from simulate.readings.network.spreads import Spreads

_KINDS = 1 + len(WORKED_LENGTHS) * len(WORKED_ROUGH)


@dataclass(frozen=True, kw_only=True)
class LeftOpen:
    """What intervals leave.

    `reading` (readings,): each reading as the posterior's mean has it. `feel_um`: how far an end is off, root mean
    square over the feels that are thought of. `slope` (readings,): how fast each gap changes along its edge, um per mm.
    `of_errors`: covariance of the heights with the errors of known bodies, and the errors' own mean and covariance.
    """

    of_heights: Posterior
    reading: np.ndarray
    feel_um: float
    slope: np.ndarray
    of_errors: tuple[np.ndarray, np.ndarray, np.ndarray]


def left_by_intervals(
    network: Network,
    spreads: Spreads,
    datum: np.ndarray,
    conflict_um: float,
    feel_um: float | None = None,
    place_mm: float | None = None,
) -> LeftOpen:
    """Work out what intervals, and points among them, leave of the heights.

    Taken for granted: the shape of each body beyond its own line or plane is smooth over a third to two thirds of half
    its length with some roughness, or rough throughout; all bodies are out by about as much, by an amount from 0.1 um
    to 3 mm that is not known; an edge that can rest on the
    work does, near its middle's two sides; nothing is taken for granted of how bodies lie to each other, nor of zeros.
    """
    shapes, lines, kinds = _parts(network)
    rest = scipy.linalg.block_diag(lines, np.eye(network.design.shape[1] - network.points))
    known = np.concatenate([np.zeros(lines.shape[1], bool), np.isfinite(network.nuisance_sd)])
    shown = _shown(network.design, rest[:, ~known])
    lift = np.hstack([np.pad(shapes, ((0, len(rest) - network.points), (0, 0))), shown, rest[:, known]])
    both, wanted = network.design @ lift, datum @ lift
    width = network.width[~network.point_reading]
    prior = Prior(
        shapes=kinds,
        rest_sd=np.concatenate([np.full(shown.shape[1], np.inf), network.nuisance_sd[known[lines.shape[1] :]]]),
        knee=knee_of(width),
    )
    errors_at = np.eye(both.shape[1])[both.shape[1] - int(known.sum()) :]
    asked, count, end = np.vstack([wanted, both, errors_at]), len(wanted), len(wanted) + len(both)
    first = posterior(_looks(network, spreads, both, 0.0, conflict_um, feel_um)[0], prior, asked)
    slope = _slope(network, first.mean[count:end] + network.at_known)
    place = (PLACE_MM if place_mm is None else place_mm) * slope
    looks, errors = _looks(network, spreads, both, place, conflict_um, feel_um)
    layings = _resting(network)
    rests = _at_rest(network, layings, first.draws[::4, count:end] + network.at_known)
    prior = replace(prior, contacts=at_rest(rests, both, network.at_known, first.amplitude), wider=WIDER)
    at_known = np.broadcast_to(network.at_known, len(both))
    if layings and prior.shapes.shape[1]:
        found, reading = resting_posterior(looks, prior, np.vstack([wanted, errors_at]), edges_alike(layings), at_known)
    else:
        found = posterior(looks, prior, asked)
        reading = found.mean[count:end] + at_known
        found = first_and_last(found, count, len(errors_at))
    of = first_and_last(found, count, 0)
    feel = float(np.sqrt(of.feel @ errors.feel_um**2))
    of_errors = found.covariance[:count, count:], found.mean[count:], found.covariance[count:, count:]
    return LeftOpen(of_heights=of, reading=reading, feel_um=feel, slope=slope, of_errors=of_errors)


def _shown(design: np.ndarray, free: np.ndarray) -> np.ndarray:
    """Give those combinations of what may be anything that some reading shows; of the others nothing is ever told."""
    seen = design @ free
    size = np.linalg.norm(seen, axis=0)
    size[size <= 1e-9 * size.max(initial=0.0)] = 1.0  # what is nought but for rounding stays so
    _, s, vt = np.linalg.svd(seen / size, full_matrices=False)
    return free / size @ vt[s > 1e-8 * max(s.max(initial=0.0), 1e-300)].T


def _parts(network: Network) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Part heights into shapes of each body and what moves it by itself, with covariances of the shapes."""
    shapes: list[np.ndarray] = []
    lines: list[np.ndarray] = []
    kinds: list[np.ndarray] = []
    for k in range(len(network.bodies)):
        mine = np.flatnonzero(network.body == k)
        left, size, _ = np.linalg.svd(network.own[mine], full_matrices=True)
        rank = int((size > 1e-9 * max(size.max(initial=0.0), 1e-300)).sum())
        moved, free = left[:, :rank], left[:, rank:]
        for part, into in ((moved, lines), (free, shapes)):
            full = np.zeros((network.points, part.shape[1]))
            full[mine] = part
            into.append(full)
        kinds.append(
            smooth_shapes(network.shape_at[mine], free, WORKED_LENGTHS, WORKED_ROUGH)
            if free.shape[1]
            else np.zeros((_KINDS, 0, 0))
        )
    both = np.stack([scipy.linalg.block_diag(*each) for each in zip(*kinds, strict=True)])
    both = both if both.shape[1] else both[:1]
    return np.hstack(shapes), np.hstack(lines), both


def _resting(network: Network) -> list[tuple[np.ndarray, np.ndarray]]:
    """Give the readings of each laying that rests on the work, and where they lie from its middle, in mm.

    An edge with a gap that may be nothing on both sides of its middle rests on the work; one with an open gap all along
    a side stands on blocks.
    """
    found = []
    for number in np.unique(network.laying[network.laying >= 0]):
        mine = np.flatnonzero(network.laying == number)
        at = network.along_mm[mine] - (network.along_mm[mine].min() + network.along_mm[mine].max()) / 2
        touching = network.low[mine] <= 0
        if touching[at <= 1e-9].any() and touching[at >= -1e-9].any():
            found.append((mine, at))
    return found


def _at_rest(network: Network, layings: list[tuple[np.ndarray, np.ndarray]], reading: np.ndarray) -> list[tuple]:
    """Say for each laying that rests which readings it has and where it rests, as ``at_rest`` takes it."""
    return [(mine, *resting_shares(at, reading[:, mine], network.low[mine] <= 0)) for mine, at in layings]


def _looks(network: Network, spreads: Spreads, both, place_um, conflict_um: float, feel_um: float | None):
    errors = end_errors(network.low, network.high, feel_um, place_um, conflict_um)
    points = network.point_reading
    free = any(s in ("residuals", "resolution") for s in spreads.source)
    scales = (1.0,) if not free else SCALES if "residuals" in spreads.source else tuple(s for s in SCALES if s >= 1)
    looks = Looks(
        design=both,
        low=network.ends[0],
        high=network.ends[1],
        point_sd=np.where(points, np.array(spreads.sd)[network.instrument], 1.0),
        scales=scales,
        low_blur=errors.low_um,
        high_blur=errors.high_um,
        feel_weight=errors.weight,
    )
    return looks, errors


def _slope(network: Network, reading: np.ndarray) -> np.ndarray:
    """How fast a gap changes along the edge over it, um per mm."""
    slope = np.zeros(reading.size)
    for number in range(len(network.groups)):
        mine = np.flatnonzero((network.group == number) & np.isfinite(network.along_mm))
        slope[mine] = slope_along(network.along_mm[mine], reading[mine])
    return slope
