"""The learner's own rounds beside workshops that start, read and put right as the learner does."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

import numpy as np
import scipy

from simulate.bench.cutting.tools import Hands
from simulate.core import checks
from simulate.method.planning.corrections import Habit, corrections
from simulate.readings.outcome.progress_words import Progress
from simulate.readings.outcome.round_record import OwnRounds, RoundErrors

PERCENT = (5, 50, 95)
WORKSHOPS, MOST_ROUNDS = 500, 60
_MOST_NUMBERS = 4_000_000
_FORETOLD = 2  # rounds beyond the last, where there are figures enough
_FIRM = 4.0  # a round that leaves more than so many times what is read of nothing tells how evenly it takes
_USUAL = Hands().scatter  # of an average hand
_USUAL_WEIGHT = 2.0  # which counts as so many rounds (common practice, no source)
_LEAST_KEPT, _MOST_KEPT = 0.02, 0.95


class Where(StrEnum):
    """Where a round of the learner's lies."""

    BELOW = "below"
    INSIDE = "inside"
    ABOVE = "above"


class Without(StrEnum):
    """Why there is no band."""

    SPREAD = "spread"
    """Nothing tells how far readings scatter, or they contradict each other."""
    WORSE = "worse"
    """The worst does not get better, so that no share is told."""
    ROUNDS = "rounds"
    """The rounds are numbered too far apart."""


@dataclass(frozen=True, kw_only=True)
class Beside:
    """The learner's own rounds in the band of simulated workshops.

    `round` (rounds,) of int: rounds of work before each figure, 0 for the start. `form_um`, `low_95_um`, `high_95_um`
    (rounds,): the learner's. `band_um` (3, simulated rounds + 1): what 5, 50 and 95 simulated workshops in 100 read or
    less, the start first. `where`: of every round but the first, which all start from. `habit`: the learner's share,
    hands and evenness. `share_stated`, `hands_stated`: whether the learner stated them; otherwise they are from these
    very rounds. `sight_95_um`: how far one error may be misread, 95 %, the usual one of all.
    """

    round: np.ndarray
    form_um: np.ndarray
    low_95_um: np.ndarray
    high_95_um: np.ndarray
    band_um: np.ndarray
    where: tuple[Where, ...]
    habit: Habit
    share_stated: bool
    hands_stated: bool
    sight_95_um: float
    workshops: int


def beside(
    own: OwnRounds,
    gone: Progress,
    share: float | None = None,
    hands_um: float | None = None,
    seed: int = 1,
) -> Beside | Without:
    """Lay the learner's own rounds into the band of simulated workshops.

    `own`: two or more. `gone`: the law that fits them. `share`: part of what was read that a round takes off; from the
    rounds themselves where it is not stated. `hands_um`: what hands leave beside that, one standard deviation; from
    where the rounds end without it. Returns: a share that is taken from the rounds themselves lays them about the
    middle of the band: what the band then tells is whether single rounds leave that course. It cannot see readings that
    got better or worse from round to round: all are simulated as the first was read.

    >>> from simulate.readings.rounds.progress import progress
    >>> sight = np.random.default_rng(1).normal(size=(99, 1))
    >>> first = RoundErrors(form_um=40.0, value_um=np.array([40.0]), sight_um=sight, measure=lambda e: abs(e[..., 0]))
    >>> k, form = np.arange(3), np.array([40.0, 20.0, 10.0])
    >>> own = OwnRounds(round=k, form_um=form, low_95_um=form - 2, high_95_um=form + 2, first=first)
    >>> found = beside(own, progress(k, form))
    >>> round(found.habit.share, 2), [str(one) for one in found.where]
    (0.5, ['inside', 'inside'])
    """
    step = own.round - own.round[0]
    if own.first is None or own.first.sight_um is None:
        return Without.SPREAD
    if step[-1] > MOST_ROUNDS:
        return Without.ROUNDS
    if share is None and (gone.factor is None or gone.factor >= np.sqrt(_MOST_KEPT)):
        return Without.WORSE
    habit = _habit(own, gone, share, hands_um)
    rounds = int(step[-1]) + (_FORETOLD if step.size > 2 else 0)
    workshops = int(np.clip(_MOST_NUMBERS // (own.first.value_um.size * (rounds + 1)), 50, WORKSHOPS))
    read = corrections(own.first.value_um, own.first.sight_um, habit, rounds, workshops, seed)
    band = np.percentile(own.first.measure(read), PERCENT, axis=0)
    where = [_where(form, band[:, k]) for k, form in zip(step[1:], own.form_um[1:], strict=True)]
    return Beside(
        round=step,
        form_um=own.form_um,
        low_95_um=own.low_95_um,
        high_95_um=own.high_95_um,
        band_um=band,
        where=tuple(where),
        habit=habit,
        share_stated=share is not None,
        hands_stated=hands_um is not None,
        sight_95_um=1.96 * float(np.median(own.first.sight_um.std(axis=0))),
        workshops=workshops,
    )


def _where(form: float, band: np.ndarray) -> Where:
    return Where.BELOW if form < band[0] else Where.ABOVE if form > band[2] else Where.INSIDE


def _habit(own: OwnRounds, gone: Progress, share: float | None, hands_um: float | None) -> Habit:
    """Give the learner's habit: what is stated, and the rest from the rounds."""
    taken = 1.0 - float(gone.factor or 0.0) if share is None else checks.number(share, "share", 0, 2, above=True)
    floor = float(gone.floor_um or 0.0)
    uneven = _uneven(own, taken, floor)
    if hands_um is None:
        hands_um = _hands_um(own.first, Habit(share=taken, uneven=uneven), floor)
    return Habit(share=taken, hands_um=hands_um, uneven=uneven)


def _uneven(own: OwnRounds, share: float, floor_um: float) -> float:
    """By what part a round takes more or less than was meant, from round to round.

    The squares of what each round took beside what they took on the average, with those of an average hand counted as
    two rounds more, so that few rounds do not tell of a hand that never errs. A share that is stated takes no part, for
    rounds that take another share may do so evenly; nor does a round that comes near to where they all end, for what it
    leaves is sight and hands.
    """
    nothing = max(floor_um, _misread_um(own))
    tells = (np.diff(own.round) == 1) & (own.form_um[1:] > _FIRM * nothing)
    taken = (1 - own.form_um[1:] / own.form_um[:-1])[tells]
    count = max(taken.size - 1, 0)
    square = ((taken / share - taken.mean() / share) ** 2).sum() if count else 0.0
    square = (_USUAL_WEIGHT * _USUAL**2 + square) / (_USUAL_WEIGHT + count)
    most = max(_MOST_KEPT - (1 - share) ** 2, _LEAST_KEPT * (1 - (1 - share) ** 2)) / share**2
    return float(np.sqrt(min(square, most)))


def _misread_um(own: OwnRounds) -> float:
    """What the worst of no errors at all is read to be, as often more as less."""
    first = own.first
    return (
        0.0 if first is None or first.sight_um is None else float(np.median(first.measure(first.sight_um[:WORKSHOPS])))
    )


def _hands_um(first: RoundErrors | None, habit: Habit, floor_um: float) -> float:
    """What hands leave at each place, so that half of the workshops end at the learner's floor or below; 0 where sight
    alone explains it, or none is seen."""
    if first is None or first.sight_um is None or floor_um <= 0:
        return 0.0
    some = first.sight_um[:WORKSHOPS]
    rest = np.random.default_rng(1).standard_normal(some.shape)
    kept = 1 - habit.kept
    sight = some * np.sqrt(1 + habit.share**2 * (1 + habit.uneven**2) / kept)

    def over(hands: float) -> float:
        return float(np.median(first.measure(sight + rest * hands / np.sqrt(kept)))) - floor_um

    most = floor_um
    for _ in range(60):
        if over(most) >= 0:
            break
        most *= 2
    if not over(0.0) < 0 <= over(most):  # nothing is left for hands to explain
        return 0.0
    return float(scipy.optimize.brentq(over, 0.0, most, xtol=1e-3 * floor_um))
