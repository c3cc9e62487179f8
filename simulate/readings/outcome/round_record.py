"""What the learner's own rounds were out by, each with its range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simulate.readings.adjustment.ranges import ends_of_form

Measure = Callable[[np.ndarray], np.ndarray]
_RANGE_DRAWS = 400


@dataclass(frozen=True, kw_only=True)
class RoundErrors:
    """What a round was read to be out by.

    Attributes
    ----------
    form_um : float
        The worst body, way or axis, by which progress is told.
    value_um : numpy.ndarray, shape (errors,)
        Heights, or single figures such as offsets.
    sight_um : numpy.ndarray, shape (draws, errors), or None
        Errors that the readings may have put on them; None where the spread of a reading is only assumed.
    measure : callable
        Gives `form_um` of such values, along their last axis.
    by_intervals : bool
        Whether `sight_um` are draws of a posterior.
    rounded : bool
        Whether rounding is most of the scatter.
    """

    form_um: float
    value_um: np.ndarray
    sight_um: np.ndarray | None
    measure: Measure
    by_intervals: bool = False
    rounded: bool = False

    @property
    def range_um(self) -> tuple[float, float]:
        """Ends of the 95 % range of the worst; nan where nothing tells them."""
        if self.sight_um is None:
            return float("nan"), float("nan")
        some = self.sight_um[:: max(1, len(self.sight_um) // _RANGE_DRAWS)]
        around, alone = self.measure(self.value_um + some), self.measure(some)
        return ends_of_form(self.form_um, around, alone, self.by_intervals, self.rounded)


@dataclass(frozen=True, kw_only=True)
class OwnRounds:
    """The learner's own rounds, those that can be solved.

    Attributes
    ----------
    round : numpy.ndarray of int, shape (rounds,)
        As the readings number them.
    form_um, low_95_um, high_95_um : numpy.ndarray, shape (rounds,)
        Straightness of bars and lands, flatness of plates and surveys, how far out a square is up to
        where one was read, the greatest error of an alignment; nan where nothing tells a range.
    first : RoundErrors or None
        What the first of them was out by, with the sight of a later one where its own readings tell none; None where
        there is no round.
    """

    round: np.ndarray
    form_um: np.ndarray
    low_95_um: np.ndarray
    high_95_um: np.ndarray
    first: RoundErrors | None
