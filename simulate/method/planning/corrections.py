"""Work that is put right round by round: read, take off a part of what was read, read again."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal


@dataclass(frozen=True, kw_only=True)
class Habit:
    """How somebody puts work right.

    `share`: part of what was read that a round takes off, above 0 and below 2; above 1 takes too much. `hands_um`: what
    hands leave at each place beside that, one standard deviation. `uneven`: by what part of itself a whole round comes
    out larger or smaller than was meant, one standard deviation.
    """

    share: float
    hands_um: float = 0.0
    uneven: float = 0.0

    def __post_init__(self) -> None:
        """Refuse habits under which errors grow."""
        checks.number(self.share, "share", 0, 2, above=True)
        checks.number(self.hands_um, "hands_um", 0)
        checks.number(self.uneven, "uneven", 0)
        if self.kept >= 1:
            raise Refusal(
                "range",
                where="share with uneven",
                found=f"{self.share:g} with {self.uneven:g}",
                must_be="such that a round leaves less than it found",
            )

    @property
    def left(self) -> float:
        """Part of an error that a round leaves."""
        return 1.0 - self.share

    @property
    def kept(self) -> float:
        """Part of an error's mean square that a round leaves."""
        return self.left**2 + (self.share * self.uneven) ** 2


def corrections(
    read_um: np.ndarray, sight_um: np.ndarray, habit: Habit, rounds: int, workshops: int = 400, seed: int = 1
) -> np.ndarray:
    """Put the same readings right in many simulated workshops.

    `read_um` (errors,): what was read before the first round, the same for all. `sight_um` (draws, errors): errors that
    readings may have, one line for each time the whole is read. Returns (workshops, rounds + 1, errors): what each
    workshop reads at the start and after every round.

    With ``y = e + r`` read of an error e, ``e' = e - share (1 + uneven z) y + hands w``: an autoregression of the first
    order (derived), ``e' = (1 - share) e - share r + hands w`` for even rounds. What a round takes is what was read, so
    that a reading's error goes into the work and comes out again in the next. It cannot see wear, heat, or a part that
    moves while others are put right: each error is put right by itself.

    >>> corrections(np.array([8.0, -4.0]), np.zeros((1, 2)), Habit(share=0.5), 2, workshops=1)[0].tolist()
    [[8.0, -4.0], [4.0, -2.0], [2.0, -1.0]]
    """
    rng = np.random.default_rng(seed)
    shape = (workshops, read_um.size)

    def sight() -> np.ndarray:
        return sight_um[rng.integers(len(sight_um), size=workshops)]

    read = np.broadcast_to(read_um, shape)
    error, told = read - sight(), [read]
    for _ in range(checks.whole(rounds, "rounds", 0, 1000)):
        taken = habit.share * (1 + habit.uneven * rng.standard_normal((workshops, 1))) * read
        error = error - taken + habit.hands_um * rng.standard_normal(shape)
        read = error + sight()
        told.append(read)
    return np.stack(told, axis=1)


def settled_um(sight_sd_um: float, habit: Habit) -> float:
    """Give the standard deviation at which one error ends, however many rounds follow.

    The limit of the autoregression: ``sqrt((share**2 sight**2 + hands**2) / (share (2 - share)))`` for even rounds
    (derived).

    >>> settled_um(3.0, Habit(share=1.0, hands_um=4.0))
    5.0
    """
    added = (habit.share * sight_sd_um) ** 2 * (1 + habit.uneven**2) + habit.hands_um**2
    return float(np.sqrt(added / (1 - habit.kept)))
