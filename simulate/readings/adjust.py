"""Least squares over readings whose seats are unknown, with what stays hidden and what is certain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import csr_array
from scipy.stats import norm
from scipy.stats import t as student

from simulate.readings.equations import point_spread
from simulate.readings.record import Readings

TOLERANCE = 1e-10
"""Eigenvalues of the normal matrix below this part of the largest count as none."""
MOST_BOUNDS = 600
"""The most values for which certain bounds are sought; each takes two linear programs."""


@dataclass(frozen=True)
class Adjustment:
    """What least squares makes of readings.

    Attributes
    ----------
    value : numpy.ndarray, shape (values,)
        What was asked for, in its own datum.
    covariance : numpy.ndarray, shape (values, values)
    residual : numpy.ndarray, shape (readings,)
        Reading less what the solution says it should have been; nan where a reading has no upper end.
    freedom : int
        How many readings are more than needed.
    reading_sd : float
        Standard deviation of one point reading, given or found.
    hidden : numpy.ndarray, shape (k, values)
        Orthonormal; what no reading shows, beyond the datum.
    note : str
        Where the standard deviation comes from.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"intervals"`` or ``"assumed"``.
    """

    value: np.ndarray
    covariance: np.ndarray
    residual: np.ndarray
    freedom: int
    reading_sd: float
    hidden: np.ndarray
    note: str
    sd_from: str = "given"

    @property
    def factor_95(self) -> float:
        """How many standard deviations either side hold the truth 95 times in 100."""
        found = self.sd_from == "residuals"
        return float(student.ppf(0.975, self.freedom) if found else norm.ppf(0.975))

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation of each value."""
        return np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))


def adjust(design: np.ndarray, reading: np.ndarray, datum: np.ndarray, reading_sd: float | None = None,
           width: np.ndarray | None = None) -> Adjustment:
    """Fit unknowns to readings by weighted least squares, and give the values that have a datum.

    Parameters
    ----------
    design : numpy.ndarray, shape (readings, unknowns)
        What each unknown does to each reading; seats and instrument zeros are unknowns like others.
    reading : numpy.ndarray, shape (readings,)
        nan leaves a row out.
    datum : numpy.ndarray, shape (values, unknowns)
        Turns unknowns into the values asked for, with what cannot be known taken out.
    reading_sd : float, optional
        Standard deviation of a point reading; found from the residuals where it is not given and readings are
        more than needed, otherwise taken as 1.
    width : numpy.ndarray, shape (readings,), optional
        Width of the interval a reading stands for; it counts as equally likely all over (width / sqrt(12)).

    Returns
    -------
    Adjustment
        What it cannot see: a fault that all readings share.

    Examples
    --------
    >>> found = adjust(np.ones((2, 1)), np.array([1.0, 3.0]), np.eye(1))
    >>> float(found.value[0]), found.freedom
    (2.0, 1)
    """
    width = np.zeros(reading.size) if width is None else width
    used, point = np.isfinite(reading), width == 0
    given = 1.0 if reading_sd is None else reading_sd
    sd, note, sd_from = given, "as given", "given"
    points, freedom = int((used & point).sum()), None
    if reading_sd is None and 0 < points < used.sum():
        sd, freedom = point_spread(design[used], reading[used], (width / np.sqrt(12))[used], point[used])
    fitted = _fit(design[used], reading[used], np.hypot(np.where(point, sd, 0), width / np.sqrt(12))[used])
    freedom = int(used.sum()) - fitted[3] if freedom is None else freedom
    if reading_sd is None and points and freedom > 0:
        if points == used.sum():
            sd = float(np.sqrt(((reading - design @ fitted[0])[used] ** 2).sum() / freedom))
        sd_from = "residuals"
        note = f"found from the residuals, with {freedom} reading{'s' * (freedom != 1)} more than needed"
    elif reading_sd is None:
        note = "taken as 1, for no reading is more than needed" if points else "from the widths of the intervals"
        sd_from = "assumed" if points else "intervals"
    scale = sd**2 if reading_sd is None and points == used.sum() else 1.0
    unknown, cofactor, loose, _ = fitted
    return Adjustment(datum @ unknown, datum @ cofactor @ datum.T * scale,
                      np.where(used, reading - design @ unknown, np.nan), freedom, sd, _independent(datum @ loose), note,
                      sd_from)


def certain_bounds(design: np.ndarray, low: np.ndarray, high: np.ndarray,
                   datum: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Find the least and the greatest that each value can be while every interval holds.

    Parameters
    ----------
    design : numpy.ndarray, shape (readings, unknowns)
    low, high : numpy.ndarray, shape (readings,)
        Ends of the intervals; infinite ends allowed.
    datum : numpy.ndarray, shape (values, unknowns)

    Returns
    -------
    low, high : numpy.ndarray, shape (values,)
        -inf and inf where the intervals leave a value free.

    Raises
    ------
    ValueError
        Where the intervals contradict each other.

    Examples
    --------
    >>> low, high = certain_bounds(np.ones((2, 1)), np.array([0.0, 1.0]), np.array([2.0, 5.0]), np.eye(1))
    >>> float(low[0]), float(high[0])
    (1.0, 2.0)
    """
    limits, ends = np.vstack([design, -design]), np.concatenate([high, -low])
    finite = np.isfinite(ends)
    limits, ends = csr_array(limits[finite]), ends[finite]
    found = np.array([[_least(row, limits, ends), -_least(-row, limits, ends)] for row in datum]).reshape(-1, 2)
    return found[:, 0], found[:, 1]


def bounds_of(table: Readings, design: np.ndarray, datum: np.ndarray) -> tuple[np.ndarray, np.ndarray] | None:
    """Give certain bounds from the rows that are intervals, or None.

    Parameters
    ----------
    table : Readings
    design : numpy.ndarray, shape (readings, unknowns)
    datum : numpy.ndarray, shape (values, unknowns)

    Returns
    -------
    tuple of numpy.ndarray, or None
        None where no row is an interval, or more than `MOST_BOUNDS` values are asked for.

    Raises
    ------
    ValueError
        Where the intervals contradict each other.
    """
    rows = table.is_interval
    if not rows.any() or len(datum) > MOST_BOUNDS:
        return None
    return certain_bounds(design[rows], table.low_um[rows], table.high_um[rows], datum)


def _fit(design: np.ndarray, reading: np.ndarray, sd: np.ndarray):
    weighted = design / sd[:, None]
    values, vectors = np.linalg.eigh(weighted.T @ weighted)
    firm = values > TOLERANCE * max(values[-1], 1e-300)
    half = vectors[:, firm] / values[firm]
    cofactor = half @ vectors[:, firm].T
    unknown = cofactor @ (weighted.T @ (reading / sd))
    unknown += cofactor @ (weighted.T @ ((reading - design @ unknown) / sd))  # one more step wins back lost digits
    return unknown, cofactor, vectors[:, ~firm], int(firm.sum())


def _independent(columns: np.ndarray) -> np.ndarray:
    left, size, _ = np.linalg.svd(columns, full_matrices=False)
    return left[:, size > 1e-6].T


def _least(row: np.ndarray, limits: csr_array, ends: np.ndarray) -> float:
    answer = linprog(row, A_ub=limits, b_ub=ends, bounds=(None, None), method="highs")
    if answer.status == 2:
        raise ValueError("The intervals contradict each other; no bodies make all of these gaps, so read one again.")
    return float(answer.fun) if answer.status == 0 else -np.inf
