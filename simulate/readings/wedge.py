"""The learner's own eye from a wedge test, with how sure its threshold is and which gap to look at next."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq, minimize_scalar
from scipy.special import entr, expit, xlog1py, xlogy
from scipy.stats import chi2

from simulate.bench.eye import Eye, chance_seen, fit_eye, gap_seen_um
from simulate.readings.gaps import needs, of_round
from simulate.readings.record import Readings

_DROP = float(chi2.ppf(0.95, 1)) / 2


@dataclass(frozen=True)
class SolvedWedge:
    """An eye, and how sure it is.

    Attributes
    ----------
    eye : Eye
    low_um, high_um : float
        The threshold lies between them 95 times in 100, by the likelihood itself; inf where the looks set no end.
    covariance : numpy.ndarray, shape (2, 2)
        Of ``slope * (gap - threshold)``: of the constant and of the slope.
    expected : numpy.ndarray, shape (marks,)
        How often each mark should have been seen.
    round : int
    sentence : str
    """

    eye: Eye
    low_um: float
    high_um: float
    covariance: np.ndarray
    expected: np.ndarray
    round: int
    sentence: str


def solve_wedge(table: Readings, round: int | None = None) -> SolvedWedge:
    """Fit the learner's own eye to a wedge test.

    Parameters
    ----------
    table : Readings
        What `read_readings` gives for ``gap_um, looks, seen``.
    round : int, optional
        Which round; the last of the file where it is not said.

    Returns
    -------
    SolvedWedge
        What it cannot see: a guess, a tired eye, a wedge with a wrong zero.

    Raises
    ------
    ValueError
        Where the looks set no threshold or no spread.

    Notes
    -----
    The range holds every threshold whose likelihood, at the spread that suits it best, is within a factor of
    exp(-1.92) of the greatest (S. Wilks, 1938; from memory). It is wider on the side where fewer looks were had.

    Examples
    --------
    >>> from simulate.readings.table import read_readings
    >>> table = read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n")
    >>> round(solve_wedge(table).eye.threshold_um, 2)
    2.5
    """
    needs(table, "wedge")
    used = of_round(table, round)
    gap, looks, seen = used.gap_um, used.looks.astype(float), used.seen.astype(float)
    eye = fit_eye(gap, seen, looks)
    low, high = _range(gap, looks, seen, eye)
    chance = chance_seen(gap, eye)
    rows = np.stack([np.ones_like(gap), gap])
    covariance = np.linalg.inv((rows * looks * chance * (1 - chance)) @ rows.T)
    often = gap_seen_um(eye)
    said = (f"Your threshold is {eye.threshold_um:.3g} um (95 % sure from {low:.3g} to {high:.3g} um): a gap of that width you "
            f"see in half of all looks, and one of {often:.3g} um 19 times in 20.")
    return SolvedWedge(eye, low, high, covariance, looks * chance, int(used.round[0]), said)


def look_bits(solution: SolvedWedge, gap_um: np.ndarray) -> np.ndarray:
    """How much one more look at a gap tells about threshold and spread together.

    Parameters
    ----------
    solution : SolvedWedge
    gap_um : numpy.ndarray, shape (gaps,)

    Returns
    -------
    numpy.ndarray, shape (gaps,)
        In bits; one at the most.

    Notes
    -----
    Entropy of the answer less the entropy it would have if the eye were known, averaged over the normal that
    the fit leaves; the constant and the slope act only through their sum at this gap, so that one integral over
    that sum, by Gauss and Hermite, is exact.

    Examples
    --------
    >>> from simulate.readings.table import read_readings
    >>> eye = solve_wedge(read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n"))
    >>> bits = look_bits(eye, np.array([0.1, 2.5]))
    >>> bool(bits[0] < bits[1] < 1)
    True
    """
    rows = np.stack([np.ones_like(gap_um), gap_um], axis=-1)
    middle = (gap_um - solution.eye.threshold_um) / solution.eye.spread_um
    spread = np.sqrt(np.einsum("gi,ij,gj->g", rows, solution.covariance, rows))
    at, weight = np.polynomial.hermite_e.hermegauss(41)
    chance = expit(middle[:, None] + spread[:, None] * at)
    weight = weight / weight.sum()
    return (_entropy(chance @ weight) - _entropy(chance) @ weight) / np.log(2)


def _entropy(chance: np.ndarray) -> np.ndarray:
    return entr(chance) + entr(1 - chance)


def _range(gap: np.ndarray, looks: np.ndarray, seen: np.ndarray, eye: Eye) -> tuple[float, float]:
    """Ends of the threshold by its profile likelihood."""
    best = _misfit(gap, looks, seen, eye.threshold_um, np.log(eye.spread_um))
    scale = float(np.ptp(gap))

    def over(threshold: float) -> float:
        middle = np.log(eye.spread_um)
        found = minimize_scalar(lambda log: _misfit(gap, looks, seen, threshold, log), bounds=(middle - 5, middle + 7),
                                method="bounded")
        return float(found.fun) - best - _DROP

    ends = []
    for side in (-1, 1):
        step, end = max(eye.threshold_sd_um, 1e-6 * scale), side * np.inf
        for _ in range(12):
            if over(eye.threshold_um + side * step) > 0:
                end = float(brentq(over, *sorted((eye.threshold_um, eye.threshold_um + side * step)), xtol=1e-6 * scale))
                break
            step *= 2
        ends.append(end)
    return max(ends[0], 0.0), ends[1]


def _misfit(gap: np.ndarray, looks: np.ndarray, seen: np.ndarray, threshold: float, log_spread: float) -> float:
    chance = np.clip(expit((gap - threshold) / np.exp(log_spread)), 1e-300, 1 - 1e-16)
    return -float((xlogy(seen, chance) + xlog1py(looks - seen, -chance)).sum())
