"""Squares whose blades are bent and whose intervals were felt: what such readings leave of every angle."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.bounds import Bounds, interval_bounds
from simulate.readings.end_errors import PLACE_MM, end_errors
from simulate.readings.network import line_free
from simulate.readings.posterior import Looks, Posterior, Prior, posterior
from simulate.readings.record import Readings
from simulate.readings.shape_prior import for_each, smooth_shapes

BEND_UM = (0.3, 300.0)
"""Least and most bend of a blade that is thought of where none is given: root mean square over the heights read."""
KNEE_UM = 5.0
"""Bends well below this are all as likely as each other (common practice for blades made by hand, no source)."""
OPEN_URAD = 1000.0
"""Standard deviation of an angle before anything is read, where readings without an upper end leave it open."""
WIDE_URAD, WIDE_UM = 2e4, 1e4
"""The same where an angle is settled, and of where a gap starts: so wide that it tells nothing."""
FELT_WEIGHT = (0.1, 0.2, 0.3, 0.4)
"""How likely each of `FEELS_UM` is beforehand where feelers are pushed in by hand (common practice, no source)."""
_STEP = 2.2
_ROUGH = (0.1,)
_LENGTHS = (2.0, 1.0, 0.5)  # from one bow to a wave or two along the blade


@dataclass(frozen=True, kw_only=True)
class BentSquares:
    """What intervals leave of squares with bent blades.

    Attributes
    ----------
    height_mm : numpy.ndarray, shape (heights,)
        Every height that was read.
    posterior : Posterior
        Of all angles, then all starts, then the bends, blade after blade.
    bend_um : numpy.ndarray, shape (squares, heights)
        How far each blade stands beyond its least-squares line.
    feel_um : float
        Root mean square of the feel that the readings leave likely.
    fitted_um : numpy.ndarray, shape (readings,)
        Gaps that the squares give.
    certain : Bounds
        Of the angles, whatever the bends.
    straight : Bounds
        The same for straight blades: where these contradict each other, `conflict_rows` are the rows that do.
    """

    height_mm: np.ndarray
    posterior: Posterior
    bend_um: np.ndarray
    feel_um: float
    fitted_um: np.ndarray
    certain: Bounds
    straight: Bounds


def bent_squares(table: Readings, straight: np.ndarray, point_sd_um: float, feel_um: float | None, bend_um: float | None,
                 settled: np.ndarray, bounds: bool = True) -> BentSquares:
    """Work out what intervals leave of every angle, bends of the blades and feel being counted in.

    Parameters
    ----------
    table : Readings
        One round.
    straight : numpy.ndarray, shape (readings, squares + fits)
        As from ``square_design``.
    point_sd_um : float
        Of a point reading among the intervals.
    feel_um, bend_um : float, optional
        One standard deviation of the gap at which a blade is felt to go, and root mean square bend of a blade; found
        under a stated prior where they are not given. A bend of 0 is a straight blade.
    settled : numpy.ndarray of bool, shape (squares,)
        False where only readings without an upper end speak of an angle; its prior is then `OPEN_URAD` wide.
    bounds : bool

    Returns
    -------
    BentSquares

    Notes
    -----
    gap = start + (angle + angle) * height + bend + bend + feel. Angles and starts have a prior so wide that it tells nothing, bends are smooth
    shapes of unknown amplitude without a line of their own (``shape_prior``), and ends of intervals are blurred by feel
    and place (``end_errors``). An angle is that of the least-squares line through all heights that were read.
    """
    squares, known = settled.size, straight.shape[1]
    height, at = np.unique(table.position_mm, return_inverse=True)
    at = at.reshape(-1)
    free = line_free(height) if height.size > 2 and bend_um != 0 else np.zeros((height.size, 0))
    bends = np.zeros((len(table), squares, free.shape[1]))
    for blade in (table.lower, table.upper):
        bends[np.arange(len(table)), blade] += free[at]
    design = np.hstack([bends.reshape(len(table), -1), straight])
    most = bounds and table.is_interval.any()
    certain, plain = (_bounds(table, part, squares, known) if most else Bounds(None, None) for part in (design, straight))
    low, high = (np.where(table.is_interval, end, table.gap_um) for end in (table.low_um, table.high_um))
    slope = np.abs(straight[:, :squares] @ _rough(straight, table)[:squares]) / np.maximum(table.position_mm, 1e-9)
    blur = end_errors(low, high, feel_um, PLACE_MM * slope, 0.0 if certain.low_um is not None else certain.conflict_um,
                      weight=FELT_WEIGHT)
    both = np.maximum(blur.low_um, blur.high_um)  # one error for a reading: the same feeler feels both ends
    span = float(np.ptp(height)) or 1.0
    kinds = (for_each(smooth_shapes((height - height.mean()) * 2 / span, free, _LENGTHS, _ROUGH), squares) if free.size
             else np.zeros((1, 0, 0)))
    rest = np.concatenate([np.where(settled, WIDE_URAD, OPEN_URAD), np.full(known - squares, WIDE_UM)])
    prior = Prior(shapes=kinds, amplitude=(bend_um, bend_um) if bend_um else BEND_UM, knee=0.0 if bend_um else KNEE_UM,
                  step=_STEP, rest_sd=rest)
    looks = Looks(design=design, low=low, high=high, point_sd=np.full(len(table), point_sd_um), low_blur=both,
                  high_blur=both, feel_weight=blur.weight)
    wanted = np.roll(np.eye(design.shape[1]), known, axis=0)
    found = posterior(looks, prior, wanted)
    every = np.concatenate([found.mean[known:], found.mean[:known]])
    bent = (found.mean[known:].reshape(squares, -1) @ free.T) if free.size else np.zeros((squares, height.size))
    return BentSquares(height_mm=height, posterior=found, bend_um=bent, feel_um=float(np.sqrt(found.feel @ blur.feel_um**2)),
                       fitted_um=design @ every, certain=certain, straight=plain)


def _rough(straight: np.ndarray, table: Readings) -> np.ndarray:
    """Angles and starts by plain least squares over whatever end there is: good enough for what a place makes."""
    ends = np.where(np.isfinite(table.high_um), (table.low_um + np.where(np.isfinite(table.high_um), table.high_um, 0)) / 2, table.low_um)
    return np.linalg.lstsq(straight, np.where(table.is_interval, ends, table.gap_um), rcond=None)[0]


def _bounds(table: Readings, design: np.ndarray, squares: int, known: int) -> Bounds:
    rows = table.is_interval
    wanted = np.zeros((squares, design.shape[1]))
    wanted[:, design.shape[1] - known:][np.arange(squares), np.arange(squares)] = 1.0
    return interval_bounds(design[rows], table.low_um[rows], table.high_um[rows], wanted)
