"""Least squares over readings whose seats are unknown, with what stays hidden and what is certain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core.least_squares import least_squares
from simulate.core.number_format import three
from simulate.core.spaces import canonical_basis
from simulate.readings.adjustment.equations import point_spread
from simulate.readings.adjustment.repeatability import Resolution, least_of_points, repeatability

MOST_BOUNDS = 600
"""The most values for which certain bounds are sought; each takes two linear programs."""


@dataclass(frozen=True)
class Adjustment:
    """What least squares makes of readings.

    `value` (values,): what was asked for, in its own datum. `covariance` (values, values). `residual` (readings,):
    reading less what the solution says it should have been; nan where a reading has no upper end. `freedom`: how many
    readings are more than needed. `reading_sd`: standard deviation of one point reading, given or found. `hidden` (k,
    values): orthonormal and canonical (`canonical_basis`); what no reading shows, beyond the datum. `note`: where the
    standard deviation comes from. `sd_from`: ``"given"``, ``"residuals"``, ``"resolution"``, ``"intervals"`` or
    ``"assumed"``. `over`: degrees of freedom of the ranges, where references have a part in them.
    """

    value: np.ndarray
    covariance: np.ndarray
    residual: np.ndarray
    freedom: int
    reading_sd: float
    hidden: np.ndarray
    note: str
    sd_from: str = "given"
    over: float | None = None

    @property
    def range_dof(self) -> float:
        """Degrees of freedom of the ranges (Student's t); 0 where the spread is known."""
        if self.over is not None:
            return self.over
        return self.freedom if self.sd_from in ("residuals", "resolution") else 0

    @property
    def factor_95(self) -> float:
        """How many standard deviations either side hold the truth 95 times in 100."""
        dof = self.range_dof
        return float(scipy.stats.t.ppf(0.975, dof) if dof else scipy.stats.norm.ppf(0.975))

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation of each value."""
        return np.sqrt(np.clip(np.diag(self.covariance), 0.0, None))


def adjust(
    design: np.ndarray,
    reading: np.ndarray,
    datum: np.ndarray,
    reading_sd: float | None = None,
    width: np.ndarray | None = None,
    resolution: Resolution | None = None,
) -> Adjustment:
    """Fit unknowns to readings by weighted least squares, and give the values that have a datum.

    `design` (readings, unknowns): what each unknown does to each reading; seats and instrument zeros are unknowns like
    others. `reading` (readings,): nan leaves a row out. `datum` (values, unknowns): turns unknowns into the values
    asked for, with what cannot be known taken out. `reading_sd`: standard deviation of a point reading; found from the
    residuals where it is not given and readings are more than needed, otherwise taken as 1. `width` (readings,): width
    of the interval a reading stands for; it counts as equally likely all over (width / sqrt(12)). `resolution`: of the
    point readings; a standard deviation from residuals is never below its floor. Returns: what it cannot see: a fault
    that all readings share.

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
        sd, sd_from = (sd, "residuals") if resolution is None else repeatability(sd**2 * freedom, freedom, resolution)
        note = (
            f"found from the residuals, with {freedom} redundant reading{'s' * (freedom != 1)}"
            if sd_from == "residuals" or resolution is None
            else f"which is what rounding to {three(resolution.step)} leaves, because the readings agree better than "
            "that"
        )
    elif reading_sd is None:
        note = "taken as 1, because no reading is redundant" if points else "from the widths of the intervals"
        sd_from = "assumed" if points else "intervals"
        sd = sd if points else spread_of_widths(width[used])
    scale = sd**2 if reading_sd is None and points == used.sum() else 1.0
    each = np.where(point, sd, 0)
    each = np.maximum(each, least_of_points(design, reading, point & used, sd_from, resolution))
    if (each > sd * (1 + 1e-9)).any():
        fitted = _fit(design[used], reading[used], np.where(point, each / np.sqrt(scale), width / np.sqrt(12))[used])
    unknown, cofactor, loose, _ = fitted
    return Adjustment(
        datum @ unknown,
        datum @ cofactor @ datum.T * scale,
        np.where(used, reading - design @ unknown, np.nan),
        freedom,
        sd,
        _independent(datum @ loose),
        note,
        sd_from,
    )


def spread_of_widths(width: np.ndarray) -> float:
    """Give the standard deviation of the usual interval, root mean square, each value in it being equally likely.

    >>> round(spread_of_widths(np.array([12.0, 12.0])), 3)
    3.464
    """
    return float(np.sqrt(np.mean(width**2 / 12)))


def _fit(design: np.ndarray, reading: np.ndarray, sd: np.ndarray):
    fit = least_squares(design, sd)
    unknown = fit.solve(reading / sd)
    unknown += fit.solve((reading - design @ unknown) / sd)  # one more step wins back lost digits
    return unknown, fit.cofactor, fit.hidden, fit.reach.shape[1]


def _independent(columns: np.ndarray) -> np.ndarray:
    left, size, _ = np.linalg.svd(columns, full_matrices=False)
    return canonical_basis(left[:, size > 1e-6].T)
