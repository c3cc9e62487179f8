"""The learner's figure against what many simulated workshops reached from the same start."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.number_format import three
from simulate.core.refusal import Refusal, shape_words

PERCENT = (10, 50, 90)


@dataclass(frozen=True)
class Band:
    """Straightness that 10, 50 and 90 workshops in 100 stayed within.

    `value_um` (3, rounds + 1): the start first. `workshop_um` (workshops, rounds + 1): the figure of every workshop.
    `of`: ``"worst"`` or ``"best"`` bar.
    """

    percent: tuple[int, ...]
    value_um: np.ndarray
    workshop_um: np.ndarray
    of: str


@dataclass(frozen=True)
class Comparison:
    """Where the learner stands: `share_better` is the part of the workshops that did better, 0 to 1.

    `share` is the part of a split that they give one of two bars, where it was fitted to the learner's own rounds.
    """

    after_rounds: int
    straightness_um: float
    band_um: tuple[float, float, float]
    share_better: float
    sentence: str
    share: float | None = None


def band(straightness_um: np.ndarray, of: str = "worst") -> Band:
    """Return the band of many simulated workshops.

    `straightness_um` (workshops, rounds + 1, bars): as in the history of ``three_bars``. `of`: ``"worst"`` or
    ``"best"`` bar of each workshop.

    >>> band([[[4, 2, 3]], [[6, 1, 1]]]).value_um.ravel().tolist()
    [4.2, 5.0, 5.8]
    """
    values = checks.numbers(straightness_um, "straightness_um")
    if values.ndim != 3 or 0 in values.shape:
        raise Refusal(
            "shape",
            where="straightness_um",
            found=shape_words(values.shape),
            must_be="a table for each workshop, with a row for each state and a column for each bar",
        )
    checks.choice(of, "of", ("worst", "best"))
    each = values.max(-1) if of == "worst" else values.min(-1)
    return Band(PERCENT, np.percentile(each, PERCENT, axis=0), each, of)


def compare(
    simulated: Band, after_rounds: int, straightness_um: float, body: str = "bar", share: float | None = None
) -> Comparison:
    """Say where a learner's figure stands in the band.

    `after_rounds`: rounds of filing the learner had done before the readings; 0 for the start. `straightness_um`: the
    learner's worst (or best) bar, as the band has it; for plates its flatness. `body`: what the sentence calls it.
    `share`: part of a split that the simulated workshops give one of two bars, where that is the learner's own; without
    it the sentence says that they share evenly. Returns: it says nothing of a learner whose bars started otherwise than
    the simulated ones.

    >>> compare(band([[[4.0]], [[6.0]]]), 0, 5.0).share_better
    0.5
    """
    last = simulated.workshop_um.shape[1] - 1
    at = checks.whole(after_rounds, "after_rounds", 0, last)
    value = checks.number(straightness_um, "straightness_um", 0)
    low, middle, high = (float(v) for v in simulated.value_um[:, at])
    better = float(np.mean(simulated.workshop_um[:, at] < value))
    where = (
        "better than nine workshops in ten"
        if value < low
        else "worse than nine workshops in ten"
        if value > high
        else "like most workshops"
    )
    supposed = (
        "share every split evenly, which yours may not"
        if share is None
        else f"share every split as your own rounds do, {100 * share:.0f} to {100 * (1 - share):.0f}"
    )
    said = (
        f"After {at} round{'s' * (at != 1)} your {simulated.of} {body} is {three(value)} um out, {where}. Of simulated "
        f"workshops that start as you did and {supposed}, half are within {three(middle)} um, and eight in ten between "
        f"{three(low)} and {three(high)} um."
    )
    return Comparison(at, value, (low, middle, high), better, said, share)
