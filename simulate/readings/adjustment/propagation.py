"""Expectation propagation: the normal distribution that stands for a normal prior cut by intervals."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

_ROUNDS, _DAMPED, _SETTLED, _MOVES = 60, 0.85, 2e-3, 0.3
_LOG_ROOT = 0.5 * np.log(2 * np.pi)


@dataclass(frozen=True, kw_only=True)
class Sites:
    """What each reading says of ``design @ unknown``; an interval that is blurred differently at its ends is two.

    `design` (sites, unknowns). `low`, `high` (sites,): equal for a point reading; -inf or inf where a side is open.
    `blur` (cases, sites): standard deviation of a point reading, or of the error with which an interval was read.
    """

    design: np.ndarray
    low: np.ndarray
    high: np.ndarray
    blur: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Propagated:
    """A normal posterior for each case.

    Attributes
    ----------
    mean : numpy.ndarray, shape (cases, unknowns)
    covariance : numpy.ndarray, shape (cases, unknowns, unknowns)
    evidence : numpy.ndarray, shape (cases,)
        Logarithm of how likely the readings are under that prior and that blur; -inf where it did not settle.
    precision, shift : numpy.ndarray, shape (cases, sites)
        What each site came to: of ``exp(shift * g - precision * g**2 / 2)``; a start for a case nearby.
    """

    mean: np.ndarray
    covariance: np.ndarray
    evidence: np.ndarray
    precision: np.ndarray
    shift: np.ndarray


def propagate(
    sites: Sites, prior: np.ndarray, start: tuple[np.ndarray, np.ndarray] | None = None, push: np.ndarray | float = 0.0
) -> Propagated:
    """Approximate the posterior of a normal prior under intervals and points, for several cases at once.

    `prior` (cases, unknowns, unknowns): inverse of the prior's covariance; its mean is zero. `start`: precision and
    shift of each site to begin with. `push` (cases, unknowns): the prior is multiplied by ``exp(push @ unknown)``.
    Returns: the mean and the covariance are those of the cut distribution to about a hundredth of a standard deviation
    here; its skewness is not kept.

    Expectation propagation (T. Minka, 2001) for a normal distribution over a polytope (J. Cunningham, P. Hennig,
    S. Lacoste-Julien, Gaussian probabilities and expectation propagation, 2011), with all sites moved at once and
    damped; the evidence after C. Rasmussen and C. Williams, Gaussian processes for machine learning, 2006, 3.6
    (from memory). Each site's factor is a normal probability between two ends, which is log-concave.

    >>> half = Sites(design=np.eye(1), low=np.array([0.0]), high=np.array([np.inf]), blur=np.full((1, 1), 1e-3))
    >>> found = propagate(half, np.ones((1, 1, 1)))  # half a normal: mean sqrt(2 / pi), half of all
    >>> found.mean.round(3).item(), np.exp(found.evidence).round(3).item()
    (0.798, 0.5)
    """
    design, point = sites.design, sites.low == sites.high
    precision, shift = (part.copy() for part in start) if start else _first(sites)
    fixed = 1 / sites.blur[:, point] ** 2
    precision[:, point], shift[:, point] = fixed, fixed * sites.low[point]
    told, before = ~point, np.inf
    with np.errstate(over="ignore", invalid="ignore"):  # a case that runs away is no answer, and is told below
        for _ in range(_ROUNDS):
            mean, covariance, value, variance = _joined(design, prior, precision, shift, push)
            moved = np.abs(value - before) / np.sqrt(variance)
            if not told.any() or (moved < _SETTLED).all():
                break
            before = value
            now, shifted = _sites(sites, told, value[:, told], variance[:, told], precision[:, told], shift[:, told])
            precision[:, told] += _DAMPED * (now - precision[:, told])
            shift[:, told] += _DAMPED * (shifted - shift[:, told])
    with np.errstate(over="ignore", invalid="ignore"):
        evidence = _evidence(sites, prior, precision, shift, push, mean, covariance, value, variance)
    if told.any():  # what still moves about is no answer
        evidence = np.where((moved < _MOVES).all(axis=1), evidence, -np.inf)
    return Propagated(mean=mean, covariance=covariance, evidence=evidence, precision=precision, shift=shift)


def between(
    low: np.ndarray, high: np.ndarray, mean: np.ndarray, sd: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Give the logarithm of the probability that a normal value lies between two ends, and its first two derivatives.

    `low`, `high`, `mean`, `sd`: of one shape; ends may be infinite. Returns `logarithm`, `first`, `second`: derivatives
    with respect to the mean.

    >>> [round(v.item(), 4) for v in between(*np.array([[-1.0], [1.0], [0.0], [1.0]]))]
    [-0.3817, 0.0, -0.7089]
    """
    a, b = (low - mean) / sd, (high - mean) / sd
    with np.errstate(invalid="ignore"):
        over = a + b > 0
        left, right = np.where(over, -b, a), np.where(over, -a, b)  # in the lower tail, where nothing cancels
        upper = scipy.special.log_ndtr(right)
        gap = np.where(np.isneginf(left), -np.inf, scipy.special.log_ndtr(left) - upper)
    logarithm = upper + np.log(-np.expm1(np.minimum(gap, -1e-14)))
    near = np.log(1 / np.maximum(b - a, 1e-9) + 1)
    at_a, at_b = (_height(z, logarithm, near) for z in (a, b))
    first = (at_a - at_b) / sd
    bend = (np.where(np.isfinite(a), a, 0) * at_a - np.where(np.isfinite(b), b, 0) * at_b) / sd**2
    return logarithm, first, np.minimum(bend - first**2, -1e-300)


def _height(z: np.ndarray, logarithm: np.ndarray, near: np.ndarray) -> np.ndarray:
    """Density at an end over the probability of the interval; 0 at an end that is open."""
    told = np.isfinite(z)
    z = np.where(told, z, 0.0)
    with np.errstate(
        under="ignore"
    ):  # far out the difference of two huge logarithms is no longer one: |z| + 1 / width bounds it
        return np.exp(np.minimum(-0.5 * z**2 - _LOG_ROOT - logarithm, np.logaddexp(np.log(np.abs(z) + 1), near))) * told


def _first(sites: Sites) -> tuple[np.ndarray, np.ndarray]:
    """Begin with each interval as its middle and its width; an open one is taken to be as wide as the figures are
    large."""
    low, high = sites.low, sites.high
    wide = max(1.0, *(float(np.abs(end[np.isfinite(end)]).max(initial=0.0)) for end in (low, high)))
    low = np.where(np.isfinite(low), low, np.where(np.isfinite(high), high, wide / 2) - wide)
    high = np.where(np.isfinite(high), high, low + wide)
    precision = 1 / np.maximum((high - low) ** 2 / 12 + sites.blur**2, 1e-12)
    return precision, precision * (low + high) / 2


def _joined(design: np.ndarray, prior: np.ndarray, precision: np.ndarray, shift: np.ndarray, push: np.ndarray | float):
    covariance = _inverse(prior + (design.T * precision[:, None, :]) @ design)
    covariance = (covariance + covariance.transpose(0, 2, 1)) / 2
    mean = (covariance @ (shift @ design + push)[..., None])[..., 0]
    variance = np.maximum(((design @ covariance) * design).sum(-1), 1e-14)
    return mean, covariance, mean @ design.T, variance


def _inverse(matrix: np.ndarray) -> np.ndarray:
    """Of matrices where one may be singular, for its case has run away and will not settle."""
    try:
        return np.linalg.inv(matrix)
    except np.linalg.LinAlgError:
        return np.linalg.pinv(np.nan_to_num(matrix), hermitian=True)


def _cavity(
    value: np.ndarray, variance: np.ndarray, precision: np.ndarray, shift: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """What all other sites and the prior say of this one."""
    left = np.maximum(1 / variance - precision, 1e-9 / variance)
    return (value / variance - shift) / left, 1 / left


def _sites(sites: Sites, told: np.ndarray, value, variance, precision, shift) -> tuple[np.ndarray, np.ndarray]:
    mean, spread = _cavity(value, variance, precision, shift)
    _, first, second = between(sites.low[told], sites.high[told], mean, np.sqrt(spread + sites.blur[:, told] ** 2))
    left = np.maximum(1 + spread * second, 1e-9)
    now = -second / left
    return now, now * mean + first / left


def _evidence(sites: Sites, prior, precision, shift, push, mean, covariance, value, variance) -> np.ndarray:
    point = sites.low == sites.high
    cavity, spread = _cavity(value, variance, precision, shift)
    sd = np.sqrt(spread + sites.blur**2)
    each = np.where(
        point,
        -0.5 * ((sites.low - cavity) / sd) ** 2 - np.log(sd) - _LOG_ROOT,
        between(np.where(point, -np.inf, sites.low), np.where(point, np.inf, sites.high), cavity, sd)[0],
    )
    each = each + (cavity**2 / spread - value**2 / variance + np.log(spread / variance)) / 2
    whole = ((shift @ sites.design + push) * mean).sum(-1)
    return each.sum(-1) + (whole + np.linalg.slogdet(covariance)[1] + np.linalg.slogdet(prior)[1]) / 2
