"""How good one reading is: from what is left over, and never better than the readings are written."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

ASSUMED_SD = 1.0
"""Standard deviation of one reading where nothing tells it, in the unit of the readings."""
SCALES = (0.5, 0.7, 1.0, 1.4, 2.0, 2.8, 4.0)
"""What the spread of point readings among intervals may have to be multiplied by, where it was found from few."""
_SAME = 1e-5  # readings nearer than this are one, in the unit of the readings


@dataclass(frozen=True, kw_only=True)
class Resolution:
    """The smallest step of readings.

    Attributes
    ----------
    step : float
        In the unit of the readings (um, or seconds of arc).
    source : str
        ``"given"``; ``"readings"`` where the figures themselves show it; ``"assumed"`` where all are equal, and the
        last digit that was written stands for it.
    """

    step: float
    source: str

    @property
    def least_sd(self) -> float:
        """Standard deviation of rounding to the step: step / sqrt(12), an even spread over one step."""
        return self.step / np.sqrt(12)


def resolution_of(reading: np.ndarray, given: float | None = None, last_digit: float = 1.0) -> Resolution:
    """Find the smallest step that readings show.

    `reading`: point readings; nan is left out. `given`: the step as the learner states it, which counts before all
    else. `last_digit`: step of the last digit that was written; it stands in, as assumed, where all readings are equal.
    Returns: the largest step that all differences of readings are whole multiples of. What it cannot see: an instrument
    that is coarser than the last digit somebody guessed, and one that is finer where a few readings happen to lie even
    steps apart.

    >>> resolution_of([0.0, 5.0, 15.0]), resolution_of([4.0, 4.0]).source
    (Resolution(step=5.0, source='readings'), 'assumed')
    """
    if given is not None:
        return Resolution(step=float(given), source="given")
    values = np.asarray(reading, float)
    values = np.sort(values[np.isfinite(values)])
    steps = np.diff(values)
    steps = steps[steps > _SAME]
    if not steps.size:
        return Resolution(step=float(last_digit), source="assumed")
    common = float(steps[0])
    for step in steps[1:]:
        common = _common(common, float(step))
        if common <= 2 * _SAME:
            break
    return Resolution(step=common, source="readings")


def marked_step(figures: np.ndarray, last_digit: float) -> float:
    """Give the coarsest step of a scale that a few figures may have been read to.

    `figures`: that were read, each once. `last_digit`: step of the last digit that was written. Returns: 1, 2, 5 or 10
    times the last digit, whichever is the greatest that all figures are whole multiples of. Scales are marked in such
    steps (common practice, no source), and a figure that is good to the last digit is a multiple of ten of them once in
    ten times.

    >>> marked_step(np.array([0.0, 10.0, 30.0]), 1.0), marked_step(np.array([0.0, 12.0]), 1.0)
    (10.0, 2.0)
    """
    counts = np.asarray(figures, float) / last_digit
    fits = [times for times in (10, 5, 2) if np.all(np.abs(counts - times * np.round(counts / times)) < 1e-3)]
    return float(last_digit * (fits[0] if fits and np.any(counts) else 1))


def step_asked(resolution: Resolution | None) -> tuple[str, ...]:
    """Ask for the step of the readings where their figures show none."""
    if resolution is None or resolution.source != "assumed":
        return ()
    return (
        f"The readings do not show their smallest step, so the last digit written, {resolution.step:g} um, is used. "
        "State the step that you read to.",
    )


def repeatability(sum_of_squares: float, dof: float, resolution: Resolution) -> tuple[float, str]:
    """Give the standard deviation of one reading from residuals, floored by rounding.

    `sum_of_squares`: of the residuals. `dof`: degrees of freedom, above zero. Returns `sd`: never below the step of the
    readings over sqrt(12). `source`: ``"residuals"``, or ``"resolution"`` where the floor is what counts.

    Readings that agree to the last digit show that the scatter is small beside the step, not that there is none: a
    rounded figure stands for all values in its step alike, with standard deviation step / sqrt(12) (JCGM 100:2008, the
    Guide to the Expression of Uncertainty in Measurement, F.2.2.1).

    >>> repeatability(8.0, 2, Resolution(step=1.0, source="given"))
    (2.0, 'residuals')
    >>> sd, source = repeatability(0.0, 3, Resolution(step=1.0, source="given"))
    >>> round(sd, 4), source
    (0.2887, 'resolution')
    """
    sd = float(np.sqrt(sum_of_squares / dof))
    return (sd, "residuals") if sd > resolution.least_sd else (float(resolution.least_sd), "resolution")


def least_of_alike(of: np.ndarray, reading: np.ndarray, resolution: Resolution) -> np.ndarray:
    """Give the least standard deviation of each reading, so that readings alike count as one rounded figure.

    `of` (readings, any): what each reading is of, such as bodies and place; two that differ anywhere are not the same.
    `reading` (readings,). Returns (readings,): the step over sqrt(12), times the root of how often the same was read
    with the same figure.

    The same thing read again is rounded alike where the scatter is small: the error is the same, and no number of such
    readings makes their mean better than one (JCGM 100:2008, F.2.2.1, of a figure that repeats).

    >>> step = Resolution(step=1.0, source="given")
    >>> least_of_alike(np.array([[1.0], [1.0], [2.0]]), np.array([5.0, 5.0, 5.0]), step).round(3).tolist()
    [0.408, 0.408, 0.289]
    """
    rows = [row.tobytes() for row in np.column_stack([of, reading]).round(6) + 0.0]  # a nought has no sign
    times = Counter(rows)
    return resolution.least_sd * np.sqrt([times[row] for row in rows])


def least_of_points(
    of: np.ndarray, reading: np.ndarray, point: np.ndarray, sd_from: str, resolution: Resolution | None
) -> np.ndarray:
    """Give the least deviation of each point reading whose spread was found, so that figures alike count as one.

    `of` (readings, any), `reading` (readings,): as `least_of_alike` takes them. `point` (readings,) of bool. Returns
    (readings,): 0 for the others.

    >>> step, both = Resolution(step=1.0, source="given"), np.array([True, True])
    >>> least_of_points(np.ones((2, 1)), np.array([5.0, 5.0]), both, "resolution", step).round(3).tolist()
    [0.408, 0.408]
    """
    least = np.zeros(reading.size)
    if resolution is not None and sd_from in ("residuals", "resolution"):
        least[point] = least_of_alike(of[point], reading[point], resolution)
    return least


def rounding_sd(sd_from: str, resolution: Resolution | None) -> float:
    """Give the deviation that rounding alone makes of readings whose spread was found; 0 of others.

    >>> round(rounding_sd("residuals", Resolution(step=1.0, source="given")), 3), rounding_sd("given", None)
    (0.289, 0.0)
    """
    return float(resolution.least_sd) if resolution and sd_from in ("residuals", "resolution") else 0.0


def coarse(sd: float, source: str, resolution: Resolution | None) -> bool:
    """Say whether rounding is most of the scatter of readings: a spread that was found is under twice its floor.

    >>> coarse(0.5, "residuals", Resolution(step=1.0, source="given")), coarse(0.5, "given", None)
    (True, False)
    """
    found = source in ("residuals", "resolution")
    return found and resolution is not None and bool(sd < 2 * resolution.least_sd)


def assumed_sd(resolution: Resolution) -> float:
    """Give the standard deviation to assume for one reading where no reading is to spare.

    Returns: 1 in the unit of the readings, or what rounding alone makes where that is more.
    """
    return float(max(ASSUMED_SD, resolution.least_sd))


def _common(a: float, b: float) -> float:
    """Largest step that both are whole multiples of (Euclid), with room for rounding."""
    while b > _SAME:
        a, b = b, abs(a - b * round(a / b))  # the remainder of least size, so that rounding stays near 0
    return a
