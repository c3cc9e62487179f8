"""The eye as an instrument: how often a gap of each width is seen, from a wedge test.

Near the limit a look is a matter of chance. A psychometric curve says how
often: a half at the threshold, nearly always a few spreads above it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.looking.edge import FLAT_EDGE_UM
from simulate.bench.looking.eye_likelihood import likeliest_eye
from simulate.bench.looking.eye_posterior import EyePosterior, chance_open, eye_posterior
from simulate.bench.looking.sight import KINDS, Sight
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal

MOST_OPEN = 0.1
"""A rate whose 95 % range is wider than this is not settled: the looks are too few to tell it."""


@dataclass(frozen=True)
class Eye:
    """How often a gap is seen: F(gap) = 1 / (1 + exp(-(gap - threshold) / spread)), misses and guesses beside it.

    "Open" is said in ``false_open + (1 - false_open - missed) * F(gap)`` of all looks.

    `kind`: as in `Sight`. `threshold_um`: F is a half: seen in half of all attentive looks. `spread_um`: width of the
    doubtful zone: one spread above the threshold 73 % are seen. `threshold_sd_um`, `spread_sd_um`: standard deviation
    that the fit leaves; 0 for an eye that was not fitted. `false_open`: how often a dark mark is called open, 0 to 1.
    `missed`: how often an open mark is called dark, however wide it is. `low_95_um`, `high_95_um`: the threshold lies
    between them, 95 %; None for an eye that was not fitted. `known_95_um`: the same if both rates were known to be what
    they were found to be. `false_open_95`, `missed_95`: the rates lie between these ends, 95 %; None where they were
    held. `unsettled`: what the looks are too few to tell: ``"threshold"`` where its range reaches past the marks,
    ``"false open"`` or ``"missed"`` where the range of that rate is wider than a tenth. `left`: all eyes that the looks
    leave.
    """

    kind: str
    threshold_um: float
    spread_um: float
    threshold_sd_um: float = 0.0
    spread_sd_um: float = 0.0
    source: str = "own test"
    false_open: float = field(default=0.0, kw_only=True)
    missed: float = field(default=0.0, kw_only=True)
    low_95_um: float | None = field(default=None, kw_only=True)
    high_95_um: float | None = field(default=None, kw_only=True)
    known_95_um: tuple[float, float] | None = field(default=None, kw_only=True)
    false_open_95: tuple[float, float] | None = field(default=None, kw_only=True)
    missed_95: tuple[float, float] | None = field(default=None, kw_only=True)
    unsettled: tuple[str, ...] = field(default=(), kw_only=True)
    left: EyePosterior | None = field(default=None, kw_only=True, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse an eye that no curve fits."""
        checks.choice(self.kind, "kind", KINDS)
        checks.number(self.threshold_um, "threshold_um")
        checks.number(self.spread_um, "spread_um", 0, above=True)
        checks.number(self.missed, "missed", 0, 1 - checks.number(self.false_open, "false_open", 0, 0.99))

    def sight(self, chance: float | None = None) -> Sight:
        """Give the eye to `three_bars`, `plan_job` and the others.

        `chance`: none for the whole curve, so that each look has a threshold of its own; 0.5 for always the middle of
        the doubtful zone, 0.95 for always the gap that is nearly always seen. Returns: of attentive looks: neither
        guesses nor misses are part of it.

        >>> EYES["light, knife edge"].sight()
        Sight(kind='light', threshold_um=2.2, spread_um=0.3)
        """
        if chance is None:
            return Sight(self.kind, max(float(self.threshold_um), 0.0), float(self.spread_um))
        return Sight(self.kind, max(float(gap_seen_um(self, chance)), 0.0))


EYES = {
    "light, knife edge": Eye(
        "light",
        2.2,
        0.3,
        source="2 µm: Wikipedia, German edition, Haarlineal, 2023; 2.5 µm from "
        "memory; slope width: common practice, no source",
    ),
    "light, land 10 mm wide": Eye("light", FLAT_EDGE_UM, 1.2, source="common practice, no source"),
    "thin marking compound": Eye("marking compound", 2.0, 0.5, source="film of 1 to 3 µm, from memory"),
    "thinnest feeler": Eye(
        "feeler", 52.0, 2.0, source="0.05 mm blade, from memory: DIN 2275; slope width: common practice"
    ),
    "fingertip on a step": Eye("light", 5.0, 2.0, source="common practice, no source"),
}


def chance_seen(gap_um: ArrayLike, eye: Eye) -> np.ndarray:
    """How often a gap is called open, guesses and misses counted in.

    Returns: 0 to 1.

    >>> float(chance_seen(2.2, EYES["light, knife edge"]))
    0.5
    """
    checks.kind(eye, "eye", Eye)
    return chance_open(checks.numbers(gap_um, "gap_um"), eye.threshold_um, eye.spread_um, eye.false_open, eye.missed)


def gap_seen_um(eye: Eye, chance: float = 0.95) -> float:
    """The gap that is seen in this part of all attentive looks: a guess does not count, and neither does a miss.

    `chance`: above 0, below 1.

    >>> round(gap_seen_um(EYES["light, knife edge"]), 2)
    3.08
    """
    checks.kind(eye, "eye", Eye)
    return eye.threshold_um + eye.spread_um * float(
        scipy.special.logit(checks.number(chance, "chance", 1e-9, 1 - 1e-9))
    )


def wedge_test(eye: Eye, gap_um: ArrayLike, looks: int, seed: int | np.random.Generator | None = None) -> np.ndarray:
    """Let an eye look at the marks of a wedge.

    `gap_um` (marks,). `looks`: at each mark. Returns (marks,) of int: how often each mark was seen open.

    >>> wedge_test(EYES["light, knife edge"], [0.5, 9.0], 10, seed=1).tolist()
    [0, 10]
    """
    return generator(seed).binomial(checks.whole(looks, "looks", 1), chance_seen(gap_um, eye))


def fit_eye(
    gap_um: ArrayLike,
    seen: ArrayLike,
    looks: ArrayLike = 1,
    kind: str = "light",
    *,
    false_open: float | None = None,
    missed: float | None = None,
) -> Eye:
    """Fit the curve to a wedge test: your own eye.

    `gap_um` (marks,): 0 is a mark that was covered. `seen` (marks,): how often each mark was seen open: 0 or 1, or a
    count up to `looks`. `looks` (marks,). `false_open`, `missed`: a rate that is held, 0 to 0.5; found from the looks
    where it is not given. Returns: medians of what the looks leave, with `low_95_um` and `high_95_um`.

    `eye_posterior` says which eyes the looks leave. Where both rates are held, threshold and spread are those of
    greatest likelihood and their standard deviations come from the curvature there (a logistic regression for rates
    of 0). It takes each look as independent. It does not see a tired eye, or a wedge with a wrong zero.

    >>> eye = fit_eye([1, 2, 3, 4], [0, 3, 7, 10], looks=10)
    >>> round(eye.threshold_um, 1), eye.unsettled
    (2.5, ('false open', 'missed'))
    """
    gap, hits, trials = _counts(gap_um, seen, looks)
    checks.choice(kind, "kind", KINDS)
    held = tuple(
        None if rate is None else checks.number(rate, name, 0, 0.5)
        for rate, name in ((false_open, "false_open"), (missed, "missed"))
    )
    _refuse_no_doubt(gap, hits, trials)
    likeliest = likeliest_eye(gap, hits, trials, *(rate or 0.0 for rate in held))
    left = eye_posterior(gap, hits, trials, *held)
    rates = [float(part.mean()) if h is None else h for part, h in zip((left.false_open, left.missed), held)]
    found = (
        likeliest
        if None not in held
        else (
            float(np.median(left.threshold_um)),
            float(np.median(left.spread_um)),
            float(left.threshold_um.std()),
            float(left.spread_um.std()),
        )
    )
    known = left if None not in held else eye_posterior(gap, hits, trials, *rates)
    low, high = left.threshold_95_um
    ranges = [None if h is not None else left.range_95(name) for name, h in zip(("false_open", "missed"), held)]
    return Eye(
        kind,
        *found,
        false_open=rates[0],
        missed=rates[1],
        low_95_um=low,
        high_95_um=high,
        known_95_um=known.threshold_95_um,
        false_open_95=ranges[0],
        missed_95=ranges[1],
        unsettled=_unsettled(gap, (low, high), *ranges),
        left=left,
    )


def _unsettled(gap: np.ndarray, threshold: tuple[float, float], *rates: tuple[float, float] | None) -> tuple[str, ...]:
    told = ("threshold",) if threshold[0] < gap[gap > 0].min() or threshold[1] > gap.max() else ()
    return told + tuple(
        name
        for name, ends in zip(("false open", "missed"), rates)
        if ends is not None and ends[1] - ends[0] > MOST_OPEN
    )


def _counts(gap_um: ArrayLike, seen: ArrayLike, looks: ArrayLike) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    gap = np.atleast_1d(checks.numbers(gap_um, "gap_um"))
    seen = np.asarray(seen) * 1 if np.asarray(seen).dtype == bool else seen
    hits, trials = (
        np.broadcast_to(checks.numbers(v, n), gap.shape) if np.ndim(v) == 0 else checks.profiles(v, gap.size, n)
        for v, n in ((seen, "seen"), (looks, "looks"))
    )
    if (trials < 1).any() or (hits < 0).any() or (hits > trials).any():
        raise Refusal(
            "range",
            where="seen",
            found="below 0, or more than looks, at one mark or more",
            must_be="from 0 to looks, and looks 1 or more",
        )
    return gap, hits, trials


def _refuse_no_doubt(gap: np.ndarray, hits: np.ndarray, trials: np.ndarray) -> None:
    if not hits.any() or (hits == trials).all():
        word, ask = ("everything", "narrower") if hits.any() else ("nothing", "wider")
        raise Refusal(
            "unsettled",
            where="seen",
            found=f"{word} was seen",
            must_be="marks on both sides of your threshold",
            do=f"Add {ask} marks and test again",
        )
    first, last = gap[hits > 0].min() + 0.0, gap[hits < trials].max()
    if first == last:
        raise Refusal(
            "unsettled",
            where="seen",
            found=f"only the mark at {first:g} µm was seen some of the time, which gives a threshold but no slope",
            must_be="two or more that are seen some of the time",
            do="Test again in finer steps there",
        )
    if first > last:
        raise Refusal(
            "unsettled",
            where="seen",
            found=f"it jumps from never to always between {last:g} and {first:g} µm",
            must_be="a width that was seen at one time and missed at another",
            do="Test again in finer steps there",
        )
