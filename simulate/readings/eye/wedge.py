"""The learner's own eye from a wedge test, with how sure its threshold is and which gap to look at next."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy

from simulate.bench.looking.eye import Eye, chance_seen, fit_eye, gap_seen_um
from simulate.bench.looking.eye_posterior import chance_open
from simulate.core.number_format import three
from simulate.readings.adjustment.observations import needs, of_round
from simulate.readings.table.readings import Readings

OFTEN = 0.95
"""The part of attentive looks in which the gap is seen that stands for dark in readings: 19 of 20."""


@dataclass(frozen=True)
class SolvedWedge:
    """An eye, and how sure it is.

    `eye`: with its rates of false "open" and of misses, and what the looks are too few to tell. `low_um`, `high_um`:
    the threshold lies between them, 95 %. `expected` (marks,): how often each mark should have been called open.
    `often_95_um`: the gap that is seen in 19 of 20 attentive trials lies between them, 95 %.
    """

    eye: Eye
    low_um: float
    high_um: float
    expected: np.ndarray
    often_95_um: tuple[float, float]
    round: int
    sentence: str

    @property
    def low_95_um(self) -> float:
        """Lower end of the threshold's 95 % range."""
        return self.low_um

    @property
    def high_95_um(self) -> float:
        """Upper end of the threshold's 95 % range."""
        return self.high_um


def solve_wedge(table: Readings, round: int | None = None) -> SolvedWedge:
    """Fit the learner's own eye to a wedge test.

    `table`: what `read_readings` gives for ``gap_um, looks, seen``; a gap of 0 is a covered mark. `round`: which round;
    the last of the file where it is not said. Returns: what it cannot see: a tired eye, a wedge with a wrong zero.

    As ``simulate.bench.looking.eye.fit_eye``: a rate of false "open" and a rate of misses are found with the curve,
    under a stated prior, and the range of the threshold counts in that they are not known.

    >>> from simulate.readings.table.read import read_readings
    >>> table = read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n")
    >>> round(solve_wedge(table).eye.threshold_um, 1)
    2.5
    """
    needs(table, "wedge")
    used = of_round(table, round)
    eye = fit_eye(used.gap_um, used.seen, used.looks)
    ends = np.quantile(eye.left.gap_seen_um(OFTEN), (0.025, 0.975))
    often_95 = (float(ends[0]), float(ends[1]))
    return SolvedWedge(
        eye,
        eye.low_95_um,
        eye.high_95_um,
        used.looks * chance_seen(used.gap_um, eye),
        often_95,
        int(used.round[0]),
        eye_words(eye, often_95, lambda um: f"{three(um)} um"),
    )


_FEW = {
    "threshold": "the threshold does not lie between the marks: put marks below and above it, and take more trials",
    "false open": "the trials are too few to tell whether you guess: have {more} trials at covered "
    "marks, and enter each as a gap of 0",
    "missed": (
        "the trials are too few to show how often you miss an open mark: have {more} trials well above the threshold"
    ),
}
_MORE = 25  # with none wrong among so many, the range of a rate is narrower than 10 %


def eye_words(eye: Eye, often_95_um: tuple[float, float], spell: Callable[[float], str]) -> str:
    """Say what a wedge test says, and what its looks are too few to tell.

    `eye`: as fitted, with rates that were found. `spell`: gives a gap with its unit.
    """
    low, high = eye.known_95_um
    guess, miss = (
        (f"{100 * rate:.0f} %", f"{100 * ends[0]:.0f} to {100 * ends[1]:.0f} %")
        for rate, ends in ((eye.false_open, eye.false_open_95), (eye.missed, eye.missed_95))
    )
    said = [
        f"Your threshold is {spell(eye.threshold_um)} (95 %: {spell(eye.low_95_um)} to {spell(eye.high_95_um)}; with "
        f"both rates known, {spell(low)} to {spell(high)}). You see a gap of that width half the time, and one of "
        f"{spell(gap_seen_um(eye, OFTEN))} 19 times out of 20 (95 %: {spell(often_95_um[0])} to "
        f"{spell(often_95_um[1])}).",
        (
            f"You call a dark mark open in {guess[0]} of the trials (95 %: {guess[1]}), and miss an open one in "
            f"{miss[0]} ({miss[1]})."
        ),
    ]
    if eye.unsettled:
        few = "; ".join(_FEW[what].format(more=_MORE) for what in eye.unsettled)
        said.append(f"{few[0].upper()}{few[1:]}.")
    return " ".join(said)


def look_bits(solution: SolvedWedge, gap_um: np.ndarray) -> np.ndarray:
    """How much one more look at a gap tells about the eye.

    `gap_um` (gaps,). Returns (gaps,): in bits; one at the most.

    Entropy of the answer less the entropy it would have if the eye were known, averaged over the eyes that the test
    leaves (D. Lindley, 1956; from memory).

    >>> from simulate.readings.table.read import read_readings
    >>> eye = solve_wedge(read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n"))
    >>> bits = look_bits(eye, np.array([0.1, 2.5]))
    >>> bool(bits[0] < bits[1] < 1)
    True
    """
    chance = _chances(solution, gap_um)
    return np.maximum(_entropy(chance.mean(axis=1)) - _entropy(chance).mean(axis=1), 0.0) / np.log(2)


def threshold_sd_after(solution: SolvedWedge, gap_um: np.ndarray, looks: int) -> np.ndarray:
    """Give the standard deviation of the threshold to be expected after more looks at a gap.

    `gap_um` (gaps,). Returns (gaps,): root of the mean variance over every count that may come out.

    >>> from simulate.readings.table.read import read_readings
    >>> eye = solve_wedge(read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n"))
    >>> sd = threshold_sd_after(eye, np.array([0.1, 2.5]), 10)
    >>> bool(sd[1] < sd[0] <= 1.001 * eye.eye.threshold_sd_um)
    True
    """
    threshold, chance = solution.eye.left.threshold_um, _chances(solution, gap_um)
    threshold = threshold - threshold.mean()
    variance = np.zeros(gap_um.size)
    for count in range(looks + 1):
        weight = scipy.stats.binom.pmf(count, looks, chance) / threshold.size
        whole = np.maximum(weight.sum(axis=1), 1e-300)
        variance += weight @ threshold**2 - (weight @ threshold) ** 2 / whole
    return np.sqrt(np.maximum(variance, 0.0))


def _chances(solution: SolvedWedge, gap_um: np.ndarray) -> np.ndarray:
    left = solution.eye.left
    return chance_open(np.asarray(gap_um)[:, None], left.threshold_um, left.spread_um, left.false_open, left.missed)


def _entropy(chance: np.ndarray) -> np.ndarray:
    return scipy.special.entr(chance) + scipy.special.entr(1 - chance)
