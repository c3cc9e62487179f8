"""The eye as an instrument: how often a gap of each width is seen, from a wedge test.

Near the limit a look is a matter of chance. A psychometric curve says how
often: a half at the threshold, nearly always a few spreads above it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import minimize
from scipy.special import expit, logit, xlog1py, xlogy

from simulate.bench.sight import KINDS, Sight
from simulate.core.refusal import Refusal
from simulate.surface import checks
from simulate.surface.bars import generator


@dataclass(frozen=True)
class Eye:
    """How often a gap is seen: 1 / (1 + exp(-(gap - threshold) / spread)).

    Attributes
    ----------
    kind : str
        As in `Sight`.
    threshold_um : float
        Seen in half of all looks.
    spread_um : float
        Width of the doubtful zone: one spread above the threshold 73 % are seen.
    threshold_sd_um, spread_sd_um : float
        How sure the fit is; 0 for an eye that was not fitted.
    source : str
    """

    kind: str
    threshold_um: float
    spread_um: float
    threshold_sd_um: float = 0.0
    spread_sd_um: float = 0.0
    source: str = "own test"

    def __post_init__(self) -> None:
        """Refuse an eye that no curve fits."""
        checks.choice(self.kind, "kind", KINDS)
        checks.number(self.threshold_um, "threshold_um")
        checks.number(self.spread_um, "spread_um", 0, above=True)

    def sight(self, chance: float | None = None) -> Sight:
        """Give the eye to `three_bars`, `plan_job` and the others.

        Parameters
        ----------
        chance : float, optional
            None for the whole curve, so that each look has a threshold of its
            own; 0.5 for always the middle of the doubtful zone, 0.95 for always
            the gap that is nearly always seen.

        Returns
        -------
        Sight

        Examples
        --------
        >>> EYES["light, knife edge"].sight()
        Sight(kind='light', threshold_um=2.2, spread_um=0.3)
        """
        if chance is None:
            return Sight(self.kind, max(float(self.threshold_um), 0.0), float(self.spread_um))
        return Sight(self.kind, max(float(gap_seen_um(self, chance)), 0.0))


EYES = {
    "light, knife edge": Eye("light", 2.2, 0.3, source="2 to 2.5 µm: published, an encyclopaedia entry and course "
                             "slides; spread: common practice, no source"),
    "light, land 10 mm wide": Eye("light", 6.0, 1.2, source="common practice, no source"),
    "thin marking compound": Eye("marking compound", 2.0, 0.5, source="film of 1 to 3 µm, from memory"),
    "thinnest feeler": Eye("feeler", 52.0, 2.0, source="0.05 mm blade, from memory: DIN 2275; spread: common practice"),
    "fingertip on a step": Eye("light", 5.0, 2.0, source="common practice, no source"),
}


def chance_seen(gap_um: ArrayLike, eye: Eye) -> np.ndarray:
    """How often a gap is seen.

    Parameters
    ----------
    gap_um : array_like
    eye : Eye

    Returns
    -------
    ndarray
        0 to 1.

    Examples
    --------
    >>> float(chance_seen(2.2, EYES["light, knife edge"]))
    0.5
    """
    checks.kind(eye, "eye", Eye)
    return expit((checks.numbers(gap_um, "gap_um") - eye.threshold_um) / eye.spread_um)


def gap_seen_um(eye: Eye, chance: float = 0.95) -> float:
    """The gap that is seen in this part of all looks.

    Parameters
    ----------
    eye : Eye
    chance : float
        Above 0, below 1.

    Returns
    -------
    float

    Raises
    ------
    ValueError
        Where the chance is not between 0 and 1.

    Examples
    --------
    >>> round(gap_seen_um(EYES["light, knife edge"]), 2)
    3.08
    """
    checks.kind(eye, "eye", Eye)
    return eye.threshold_um + eye.spread_um * float(logit(checks.number(chance, "chance", 1e-9, 1 - 1e-9)))


def wedge_test(eye: Eye, gap_um: ArrayLike, looks: int, seed: int | np.random.Generator | None = None) -> np.ndarray:
    """Let an eye look at the marks of a wedge.

    Parameters
    ----------
    eye : Eye
    gap_um : array_like, shape (marks,)
    looks : int
        At each mark.
    seed : int or Generator, optional

    Returns
    -------
    ndarray of int, shape (marks,)
        How often each mark was seen open.

    Examples
    --------
    >>> wedge_test(EYES["light, knife edge"], [0.5, 9.0], 10, seed=1).tolist()
    [0, 10]
    """
    return generator(seed).binomial(checks.whole(looks, "looks", 1), chance_seen(gap_um, eye))


def fit_eye(gap_um: ArrayLike, seen: ArrayLike, looks: ArrayLike = 1, kind: str = "light") -> Eye:
    """Fit the curve to a wedge test: your own eye.

    Parameters
    ----------
    gap_um : array_like, shape (marks,)
    seen : array_like, shape (marks,)
        How often each mark was seen open: 0 or 1, or a count up to `looks`.
    looks : int or array_like, shape (marks,)
    kind : str

    Returns
    -------
    Eye
        With `threshold_sd_um` and `spread_sd_um`.

    Raises
    ------
    ValueError
        Where shapes do not fit, a count is impossible, wider gaps are not seen
        more often, or no width was seen at one time and missed at another.

    Notes
    -----
    Greatest likelihood, by scipy's minimize; how sure, from the curvature
    there. It takes each look as independent. It does not see a guess (an eye
    that expects light sees it), a tired eye, or a wedge with a wrong zero:
    have somebody else cover some marks.

    Examples
    --------
    >>> eye = fit_eye([1, 2, 3, 4], [0, 3, 7, 10], looks=10)
    >>> round(eye.threshold_um, 2)
    2.5
    """
    gap = np.atleast_1d(checks.numbers(gap_um, "gap_um"))
    checks.choice(kind, "kind", KINDS)
    seen = np.asarray(seen) * 1 if np.asarray(seen).dtype == bool else seen
    hits, trials = (np.broadcast_to(checks.numbers(v, n), gap.shape) if np.ndim(v) == 0 else
                    checks.profiles(v, gap.size, n) for v, n in ((seen, "seen"), (looks, "looks")))
    if (trials < 1).any() or (hits < 0).any() or (hits > trials).any():
        raise Refusal(found="seen must be 0 to looks at every mark, and looks 1 or more.")
    _refuse_no_doubt(gap, hits, trials)
    middle, scale = gap.mean(), max(gap.std(), 1e-12)
    rows = np.stack([np.ones_like(gap), (gap - middle) / scale])

    def misfit(b):
        p = expit(b @ rows)
        return -(xlogy(hits, p) + xlog1py(trials - hits, -p)).sum(), -rows @ (hits - trials * p)
    best = minimize(misfit, np.zeros(2), jac=True, method="BFGS", options={"gtol": 1e-9}).x
    if best[1] <= 0:
        raise Refusal(found="seen does not rise with gap_um: wider gaps were seen less often; check which way the wedge opens.")
    p = expit(best @ rows)
    sure = np.linalg.inv((rows * trials * p * (1 - p)) @ rows.T)
    threshold, spread = -best[0] / best[1], 1 / best[1]
    along = np.array([-spread, -threshold * spread])  # threshold against both coefficients
    return Eye(kind, float(middle + scale * threshold), float(scale * spread), float(scale * np.sqrt(along @ sure @ along)),
               float(scale * spread**2 * np.sqrt(sure[1, 1])))


def _refuse_no_doubt(gap: np.ndarray, hits: np.ndarray, trials: np.ndarray) -> None:
    if not hits.any() or (hits == trials).all():
        word = "nothing was" if not hits.any() else "everything was"
        raise Refusal(found=f"seen says that {word} seen; marks on both sides of your threshold are needed.")
    first, last = gap[hits > 0].min(), gap[hits < trials].max()
    if first == last:
        raise Refusal(found=f"seen is doubtful only at {first:g} µm: that tells a threshold but no spread; look again at finer "
                         "steps there.")
    if first > last:
        raise Refusal(found=f"seen jumps from never to always between {last:g} and {first:g} µm: no width was seen "
                         "at one time and missed at another; look again at finer steps there.")
