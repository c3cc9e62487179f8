"""What intervals and points say together: the posterior of a stated prior, with ranges that share what readings share."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import scipy

from simulate.readings.propagation import Propagated, Sites, propagate
from simulate.surface.spaces import symmetric_root

STEP = 1.6
"""Neighbouring amplitudes on the lattice differ by this factor where nothing else is said."""
DRAWS = 2000
MOST_CASES = 500
_AT_ONCE, _SMALL, _KEEP, _FLAT = 24, 60, 4.0, 100.0


@dataclass(frozen=True, kw_only=True)
class Prior:
    """What is taken for granted before anything is read.

    Attributes
    ----------
    shapes : numpy.ndarray, shape (kinds, k, k)
        Covariances of the first unknowns of one body, of unit amplitude; every kind is as likely as any other.
    mates : numpy.ndarray, shape (patterns, bodies, bodies)
        Correlation of the bodies' shapes; every pattern is as likely as any other. One body by default.
    amplitude : tuple of float
        Least and most amplitude.
    knee : float
        Well above it every ratio of amplitudes is as likely as any other, well below it every amplitude is: the
        density goes with 1 / (amplitude + knee) (P. Gregory, 2005, who calls it a modified Jeffreys prior; from memory).
    step : float
        Neighbouring amplitudes on the lattice differ by this factor.
    rest_sd : numpy.ndarray, shape (unknowns - n,)
        Standard deviation of each other unknown, zero being its mean; inf where anything is as likely as anything.
    contact : numpy.ndarray, shape (unknowns,), or None
        The prior is multiplied by exp(-contact @ unknown / amplitude): clearances where bodies touch are small.
    seats : int
        How many unknowns that holds: each seat's lift and its tilts.
    """

    shapes: np.ndarray
    mates: np.ndarray = field(default_factory=lambda: np.ones((1, 1, 1)))
    amplitude: tuple[float, float] = (0.1, 3000.0)
    knee: float = 0.0
    step: float = STEP
    rest_sd: np.ndarray = field(default_factory=lambda: np.zeros(0))
    contact: np.ndarray | None = None
    seats: int = 0


@dataclass(frozen=True, kw_only=True)
class Looks:
    """Readings as they were taken.

    Attributes
    ----------
    design : numpy.ndarray, shape (readings, unknowns)
    low, high : numpy.ndarray, shape (readings,)
        Equal for a point reading; inf where a side is open.
    point_sd : numpy.ndarray, shape (readings,)
        Of point readings; not used for intervals.
    scales : tuple of float
        What all `point_sd` may have to be multiplied by, each as likely as any other; (1,) where they are known.
    low_blur, high_blur : numpy.ndarray, shape (feels, readings)
        Standard deviation of the error with which each end was read, for each feel that is thought of.
    feel_weight : numpy.ndarray, shape (feels,)
        How likely each of them is beforehand.
    """

    design: np.ndarray
    low: np.ndarray
    high: np.ndarray
    point_sd: np.ndarray
    scales: tuple[float, ...] = (1.0,)
    low_blur: np.ndarray
    high_blur: np.ndarray
    feel_weight: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """What the readings leave of the values asked for.

    Attributes
    ----------
    mean, sd : numpy.ndarray, shape (values,)
    covariance : numpy.ndarray, shape (values, values)
    low_95, high_95 : numpy.ndarray, shape (values,)
        2.5 and 97.5 of 100 lie below: each value by itself.
    draws : numpy.ndarray, shape (2000, values)
        Of all values together, always the same ones.
    amplitude : float
        Mean of the amplitude's logarithm, as an amplitude.
    scale : float
        What point readings' deviations were multiplied by, root mean square.
    feel : numpy.ndarray, shape (feels,)
        How likely each feel is afterwards.
    thinned : bool
        True where fewer cases than wanted were looked at, for there was too much to work out.
    """

    mean: np.ndarray
    sd: np.ndarray
    covariance: np.ndarray
    low_95: np.ndarray
    high_95: np.ndarray
    draws: np.ndarray
    amplitude: float
    scale: float
    feel: np.ndarray
    thinned: bool


def posterior(looks: Looks, prior: Prior, wanted: np.ndarray) -> Posterior:
    """Work out what readings leave of ``wanted @ unknowns`` under a prior.

    Parameters
    ----------
    looks : Looks
    prior : Prior
    wanted : numpy.ndarray, shape (values, unknowns)

    Returns
    -------
    Posterior
        What it cannot see: a fault that all readings share, and shapes that no kind of the prior holds likely.

    Notes
    -----
    For each kind of shape, amplitude, feel and spread on a lattice the posterior is a normal distribution cut by the
    intervals (``propagation``); the lattice is walked outwards from its best point, and its points are weighed by
    how likely they make the readings (H. Rue, S. Martino, N. Chopin, 2009, who integrate over such a lattice). Errors
    of readings in one wide interval are not taken as independent: what the interval leaves open they have in common.

    Examples
    --------
    >>> eye, one = np.eye(2), np.ones(2)
    >>> looks = Looks(design=eye, low=-one, high=one, point_sd=one, low_blur=np.zeros((1, 2)),
    ...               high_blur=np.zeros((1, 2)), feel_weight=np.ones(1))
    >>> found = posterior(looks, Prior(shapes=np.zeros((1, 0, 0)), rest_sd=np.full(2, np.inf)), eye)
    >>> found.sd.round(3).tolist()  # even from -1 to 1: 2 / sqrt(12)
    [0.577, 0.577]
    """
    lattice = _Lattice(looks, prior)
    cases, thinned = _walk(lattice)
    weight = np.exp(cases.evidence - cases.evidence.max())
    weight /= weight.sum()
    means = cases.mean @ wanted.T
    spread = np.stack([wanted @ one @ wanted.T for one in cases.covariance])
    sds = np.sqrt(np.clip(np.einsum("bkk->bk", spread), 0, None))
    mean = weight @ means
    covariance = np.einsum("b,bij->ij", weight, spread) + (means - mean).T @ ((means - mean) * weight[:, None])
    low, high = (_quantile(weight, means, sds, p) for p in (0.025, 0.975))
    _, amplitude, feel, scale, _ = cases.at.T
    return Posterior(
        mean=mean, sd=np.sqrt(np.clip(np.diag(covariance), 0, None)), covariance=covariance, low_95=low, high_95=high,
        draws=_drawn(weight, means, spread), amplitude=float(np.exp(weight @ np.log(lattice.amplitudes[amplitude]))),
        scale=float(np.sqrt(weight @ np.array(looks.scales)[scale] ** 2)),
        feel=np.bincount(feel, weight, len(looks.feel_weight)), thinned=thinned)


class _Lattice:
    """Kinds, amplitudes, feels and scales, and what each of their combinations makes of the readings."""

    def __init__(self, looks: Looks, prior: Prior) -> None:
        self.looks = looks
        low, high = prior.amplitude
        count = prior.shapes.shape[1] * prior.mates.shape[1]
        self.amplitudes = low * prior.step ** np.arange(int(np.ceil(np.log(high / low) / np.log(prior.step))) + 1 if count else 1)
        self.size = (len(prior.shapes), self.amplitudes.size, len(looks.feel_weight), len(looks.scales), len(prior.mates))
        ends = np.concatenate([looks.low, looks.high])
        flat = _FLAT * max(high * bool(count), float(np.abs(ends[np.isfinite(ends)]).max(initial=1.0)))
        self.rest = 1 / np.where(np.isfinite(prior.rest_sd), prior.rest_sd, flat) ** 2
        self.inverse, self.count = np.linalg.inv(prior.shapes) if count else prior.shapes, count
        self.between = np.linalg.inv(prior.mates)
        self.push = 0.0 if prior.contact is None else -prior.contact
        # each clearance is spread over its own mean, whatever the amplitude
        self.weight = np.log(self.amplitudes / (self.amplitudes + prior.knee)) - prior.seats * np.log(self.amplitudes)
        self.row, self.low, self.high, self.blur = _sites(looks)

    def start(self) -> tuple[int, int, int, int, int]:
        """Return where to begin: smooth shapes, of about the size of the readings."""
        ends = self.looks.low[np.isfinite(self.looks.low)]
        size = max(float(np.std(ends)) if ends.size else 1.0, self.amplitudes[0])
        return (self.size[0] // 2, int(np.argmin(np.abs(np.log(self.amplitudes / size)))),
                int(np.argmax(self.looks.feel_weight)), self.size[3] // 2, 0)

    def look(self, at: np.ndarray, start: tuple[np.ndarray, np.ndarray] | None) -> Propagated:
        """Work out the posterior at some points of the lattice."""
        precision = np.zeros((len(at), self.count + self.rest.size, self.count + self.rest.size))
        within = self.inverse[at[:, 0]] / self.amplitudes[at[:, 1], None, None] ** 2
        both = np.einsum("bij,bkl->bikjl", self.between[at[:, 4]], within)
        precision[:, :self.count, :self.count] = both.reshape(len(at), self.count, self.count)
        each = np.arange(self.count, self.count + self.rest.size)
        precision[:, each, each] = self.rest
        scale = np.where(self.low == self.high, np.array(self.looks.scales)[at[:, 3], None], 1.0)
        sites = Sites(design=self.looks.design[self.row], low=self.low, high=self.high, blur=self.blur[at[:, 2]] * scale)
        return propagate(sites, precision, start, self.push / self.amplitudes[at[:, 1], None])

    def likely(self, at: np.ndarray) -> np.ndarray:
        """Return the logarithm of how likely points of the lattice are before anything is read."""
        return self.weight[at[:, 1]] + np.log(self.looks.feel_weight[at[:, 2]])


@dataclass(frozen=True, kw_only=True)
class _Cases:
    at: np.ndarray
    evidence: np.ndarray
    mean: np.ndarray
    covariance: np.ndarray


def _walk(lattice: _Lattice) -> tuple[_Cases, bool]:
    """Look at the lattice from its best point outwards, until what lies around weighs too little to count."""
    known: dict[tuple[int, ...], tuple] = {}
    unknowns = lattice.count + lattice.rest.size
    most = max(int(MOST_CASES * min(1.0, (_SMALL / unknowns) ** 2)), _AT_ONCE // 2)
    at_once = max(min(_AT_ONCE, int(_AT_ONCE * (2 * _SMALL / unknowns) ** 2)), 4)
    best, todo, thinned, spent = -np.inf, {lattice.start(): None}, False, set()
    while todo:
        batch = list(todo.items())[:at_once]
        at = np.array([one for one, _ in batch])
        starts = [known[parent] for _, parent in batch if parent is not None]
        begun = tuple(np.stack([one[k] for one in starts]) for k in (3, 4)) if len(starts) == len(batch) else None
        found = lattice.look(at, begun)
        weighed = np.nan_to_num(found.evidence + lattice.likely(at), nan=-1e12, posinf=-1e12, neginf=-1e12)  # where it did not settle
        for i, (one, _) in enumerate(batch):
            known[one] = (weighed[i], found.mean[i], found.covariance[i], found.precision[i], found.shift[i])
        best = max(one[0] for one in known.values())
        if len(known) >= most:
            thinned = True
            break
        todo = _around(known, best - _KEEP, lattice.size, spent)
    kept = [(at, one) for at, one in known.items() if one[0] >= best - 2 * _KEEP]
    return _Cases(at=np.array([at for at, _ in kept]), evidence=np.array([one[0] for _, one in kept]),
                  mean=np.stack([one[1] for _, one in kept]), covariance=np.stack([one[2] for _, one in kept])), thinned


def _around(known: dict, least: float, size: tuple[int, ...], spent: set) -> dict:
    """Return points not yet looked at beside points that weigh enough, the heaviest neighbours' first."""
    found: dict[tuple[int, ...], tuple[int, ...]] = {}
    for at in sorted((at for at, one in known.items() if one[0] > least and at not in spent), key=lambda at: -known[at][0]):
        new = False
        for axis, reach in enumerate((2, 1, 1, 1, size[4])):  # kinds alternate between smooth and rough: look past one
            for step in [*range(-reach, 0), *range(1, reach + 1)]:
                near = (*at[:axis], at[axis] + step, *at[axis + 1:])
                if 0 <= near[axis] < size[axis] and near not in known:
                    found.setdefault(near, at)
                    new = True
        if not new:
            spent.add(at)  # all its neighbours are known, and stay so
    return found


def _sites(looks: Looks) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Part readings whose ends are blurred differently into one site for each end: row, low, high, blur."""
    point = looks.low == looks.high
    split = ~point & np.isfinite(looks.low) & np.isfinite(looks.high) & (np.abs(looks.low_blur - looks.high_blur) > 1e-9).any(axis=0)
    whole = np.flatnonzero(~split)
    only = np.where(np.isfinite(looks.high), looks.high_blur, looks.low_blur)
    blur = np.where(point, looks.point_sd, np.maximum(only, LEAST_BLUR))
    ends = np.flatnonzero(split)
    infinite = np.full(ends.size, np.inf)
    return (np.concatenate([whole, ends, ends]), np.concatenate([looks.low[whole], looks.low[ends], -infinite]),
            np.concatenate([looks.high[whole], infinite, looks.high[ends]]),
            np.concatenate([blur[:, whole], np.maximum(looks.low_blur[:, ends], LEAST_BLUR),
                            np.maximum(looks.high_blur[:, ends], LEAST_BLUR)], axis=1))


LEAST_BLUR = 1e-3
"""No end of an interval is taken to be sharper than this, in the unit of the readings."""


def _quantile(weight: np.ndarray, means: np.ndarray, sds: np.ndarray, part: float) -> np.ndarray:
    """Find by bisection where a mixture of normals has `part` of itself below."""
    reach = 12 * sds + 1e-12
    low, high = (means - reach).min(axis=0), (means + reach).max(axis=0)
    for _ in range(50):
        middle = (low + high) / 2
        over = weight @ scipy.special.ndtr((middle - means) / np.maximum(sds, 1e-12)) > part
        low, high = np.where(over, low, middle), np.where(over, middle, high)
    return (low + high) / 2


def _drawn(weight: np.ndarray, means: np.ndarray, spread: np.ndarray) -> np.ndarray:
    """Draw all values together, as many from each case as it weighs."""
    counts = np.diff(np.floor(np.cumsum(weight) * DRAWS + 0.5).astype(int), prepend=0)
    rng = np.random.default_rng(1)
    return np.concatenate([mean + rng.standard_normal((count, mean.size)) @ symmetric_root(one)
                           for count, mean, one in zip(counts, means, spread) if count])
