"""What intervals leave of a work that straight edges rest on: each edge stands where the work itself puts it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import scipy

from simulate.readings.adjustment.posterior import Looks, Posterior, Prior, first_and_last, posterior, sites_of
from simulate.readings.network.contact import CLEARANCE, Edges, seated
from simulate.readings.network.slice_draws import Target, slice_draws

CHAINS = 200
MOST_UNKNOWNS, MOST_READINGS = 120, 500
"""Beyond these the chains would keep a panel waiting, and edges rest as ``at_rest`` has it: the result says so."""
_LEAST = 1e-290


def resting_posterior(
    looks: Looks, prior: Prior, wanted: np.ndarray, edges: Edges, at_known: np.ndarray
) -> tuple[Posterior, np.ndarray]:
    """Work out what readings leave of ``wanted @ unknowns`` where edges rest on the work.

    `prior`: its contacts tell where the chains begin. `wanted` (values, unknowns): values that lift and tilt of the
    edges have no part in. `at_known` (readings,): what bodies that are known already put on each reading. Returns
    `reading` (readings,): mean of each as the edges stand.

    What is taken for granted is that of ``posterior``, but for the edges: each lies as much above the lowest place
    over its load that the stations leave as `CLEARANCE` says; where a crown leaves it free to rock it leans as far as
    it can to one side, to the other, or anyhow between, each as likely.
    A normal distribution of that place, and the tilt as free as the intervals leave it, hold shapes likely that leave
    an edge much room, line by line anew. Of heights so found 86 to 95 in 100 lay in ranges of 95 % (five classes of 25
    faces of 25 places, within 3 each), and 88 and 93 on faces of 100 places, which are too many to draw (two classes of
    12). The amplitude of all shapes is summed out, and feels and spreads are drawn with the shapes.
    """
    unknowns = looks.design.shape[1]
    begun = posterior(looks, replace(prior, wider=1.0), np.eye(unknowns))
    onto, back = _felt(looks.design, edges, prior)
    count, loose = len(onto), edges.count
    if count + 2 * loose > MOST_UNKNOWNS or len(looks.low) > MOST_READINGS:
        found = posterior(looks, prior, np.vstack([wanted, looks.design]))
        reading = found.mean[len(wanted) :] + at_known
        return replace(first_and_last(found, len(wanted), 0), coarse_seats=True), reading
    rng = np.random.default_rng(1)
    chosen = np.sort(rng.permutation(len(begun.draws))[:CHAINS])
    start = np.hstack([begun.draws[chosen] @ onto.T, rng.standard_normal((CHAINS, 2 * loose + 2))])
    states, gaps = slice_draws(_target(looks, prior, edges, at_known, back), start)
    draws = states[:, :count] @ (wanted @ back).T
    mean = draws.mean(axis=0)
    covariance = np.cov(draws.T).reshape(mean.size, mean.size)
    low, high = (mean + prior.wider * (np.quantile(draws, part, axis=0) - mean) for part in (0.025, 0.975))
    feel = np.bincount(_lot(states[:, -2], looks.feel_weight), minlength=len(looks.feel_weight)) / len(states)
    found = replace(
        begun,
        mean=mean,
        sd=np.sqrt(np.clip(np.diag(covariance), 0, None)),
        covariance=covariance,
        low_95=low,
        high_95=high,
        draws=mean + prior.wider * (draws - mean),
        feel=feel,
        thinned=False,
    )
    return found, gaps.mean(axis=0) + at_known


def _felt(design: np.ndarray, edges: Edges, prior: Prior) -> tuple[np.ndarray, np.ndarray]:
    """Map unknowns onto those that readings feel with edges seated, and back: lift and tilt of an edge are none."""
    shapes = prior.shapes.shape[1] * prior.mates.shape[1]
    free = shapes + np.flatnonzero(~np.isfinite(prior.rest_sd))
    left = design.copy()
    for rows, at in zip(edges.rows, edges.at, strict=True):
        lines = np.stack([np.ones(at.size), at], axis=1)
        left[rows] -= lines @ (np.linalg.pinv(lines) @ left[rows])
    size = np.linalg.norm(left[:, free], axis=0)
    size[size <= 1e-9 * np.linalg.norm(left)] = 1.0
    _, s, vt = np.linalg.svd(left[:, free] / size, full_matrices=False)
    seen = vt[s > 1e-8 * max(s.max(initial=0.0), 1.0)]
    stay = np.eye(design.shape[1])
    own = np.delete(stay, free, axis=0)
    onto = np.vstack([own, (seen * size) @ stay[free]])
    return onto, np.hstack([own.T, stay[free].T @ (seen / size).T])


def _target(looks: Looks, prior: Prior, edges: Edges, at_known: np.ndarray, back: np.ndarray) -> Target:
    """Say how likely states are: shapes, what else is unknown, then lift, tilt, feel and scale by standard normals."""
    kinds = np.stack([np.kron(m, one) for one in np.linalg.inv(prior.shapes) for m in np.linalg.inv(prior.mates)])
    volume, shapes, count = np.linalg.slogdet(kinds)[1] / 2, kinds.shape[1], back.shape[1]
    size_at, size_likely = _sizes(prior, shapes)
    row, low, high, blur = sites_of(looks)
    point, scales, design = low == high, np.array(looks.scales), looks.design @ back
    firm = np.isfinite(prior.rest_sd)
    known = back[shapes:][firm] / prior.rest_sd[firm, None]
    wide = high - low
    wide = float(np.median(wide[np.isfinite(wide) & ~point])) if (np.isfinite(wide) & ~point).any() else 1.0

    def target(states: np.ndarray, miss: float) -> tuple[np.ndarray, np.ndarray]:
        unknown, seat = states[:, :count], states[:, count:]
        shape = unknown[:, :shapes]
        square = np.maximum(np.einsum("kci,ci->ck", shape @ kinds, shape), 1e-300)
        each = volume + np.interp(np.log(square), size_at, size_likely)
        likely = each.max(axis=1) + np.log(np.exp(each - each.max(axis=1, keepdims=True)).sum(axis=1))
        likely -= ((seat**2).sum(axis=1) + ((unknown @ known.T) ** 2).sum(axis=1)) / 2
        lift = CLEARANCE * np.sqrt((shape**2).mean(axis=1))[:, None] * np.abs(seat[:, : edges.count])
        tilt = np.clip(3 * scipy.special.ndtr(seat[:, edges.count : -2]) - 1, 0.0, 1.0)
        gap = seated(unknown @ design.T + at_known, edges, lift, tilt) - at_known
        scale = scales[_lot(seat[:, -1], np.ones(scales.size))]
        sd = np.hypot(blur[_lot(seat[:, -2], looks.feel_weight)], miss * wide * ~point)
        sd = np.where(point, sd * scale[:, None], sd)
        return likely + _inside(gap[:, row], low, high, sd, point).sum(axis=1), gap

    return target


def _inside(value: np.ndarray, low: np.ndarray, high: np.ndarray, sd: np.ndarray, point: np.ndarray) -> np.ndarray:
    """Logarithm of how likely readings are where values are so."""
    told = scipy.special.ndtr((high - value) / sd) - scipy.special.ndtr((low - value) / sd)
    found = np.log(np.maximum(told, _LEAST))
    if not point.any():
        return found
    return np.where(point, -0.5 * ((np.where(point, low, 0.0) - value) / sd) ** 2 - np.log(sd), found)


def _lot(normal: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Turn a standard normal value into a number drawn by weight."""
    return np.searchsorted(np.cumsum(weight)[:-1] / weight.sum(), scipy.special.ndtr(normal))


def _sizes(prior: Prior, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Sum the amplitude out: how likely a shape is by the logarithm of its square in units of its kind."""
    least, most = prior.amplitude
    log = np.linspace(np.log(least), np.log(most), 300)
    at = np.linspace(2 * log[0] - 10, 2 * log[-1] + 10, 600)
    each = log - np.log(np.exp(log) + prior.knee) - count * log
    return at, scipy.special.logsumexp(each - np.exp(at[:, None] - 2 * log) / 2, axis=1)
