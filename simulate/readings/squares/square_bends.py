"""Squares whose blades are bent and whose intervals were felt: what such readings leave of every angle."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from simulate.readings.adjustment.bounds import Bounds, Contradiction, contradiction, interval_bounds
from simulate.readings.adjustment.end_errors import FEELS_UM, PLACE_MM, end_errors
from simulate.readings.adjustment.posterior import Looks, Posterior, Prior, posterior
from simulate.readings.adjustment.shape_prior import for_each, smooth_shapes
from simulate.readings.bars.bar_network import line_free
from simulate.readings.reference.hold import Hold, agreeing
from simulate.readings.table.readings import Readings

BEND_UM = (0.3, 300.0)
"""Least and most bend of a blade that is thought of where none is given: root mean square over the heights read."""
KNEE_UM = 5.0
"""Bends well below this are all as likely as each other (common practice for blades made by hand, no source)."""
OPEN_URAD = 1000.0
"""Standard deviation of an angle before anything is read, where readings without an upper end leave it open."""
WIDE_URAD, WIDE_UM = 2e4, 1e4
"""The same where an angle is settled, and of where a gap starts: so wide that it tells nothing."""
_ROUGH = (0.1,)
_LENGTHS = (2.0, 1.0, 0.5)  # from one bow to a wave or two along the blade


@dataclass(frozen=True, kw_only=True)
class BentSquares:
    """What intervals leave of squares with bent blades.

    `height_mm` (heights,): every height that was read. `posterior`: of all angles, then all starts, then the bends,
    blade after blade. `bend_um` (squares, heights): how far each blade stands beyond its least-squares line. `feel_um`:
    root mean square of the feel that the readings leave likely. `fitted_um` (readings,): gaps that the squares give.
    `certain`: of the angles, whatever the bends. `against`: intervals that no straight blades fulfil, and whether bends
    and feel do. `of_errors`: where squares were known already: covariance of the angles with the errors of those, and
    the errors' own mean and covariance.
    """

    height_mm: np.ndarray
    posterior: Posterior
    bend_um: np.ndarray
    feel_um: float
    fitted_um: np.ndarray
    certain: Bounds
    against: Contradiction | None
    of_errors: tuple[np.ndarray, np.ndarray, np.ndarray] | None = None


def bent_squares(
    table: Readings,
    straight: np.ndarray,
    point_sd_um: float,
    feel_um: float | None,
    bend_um: float | None,
    settled: np.ndarray,
    bounds: bool = True,
    held: Hold | None = None,
) -> BentSquares:
    """Work out what intervals leave of every angle, bends of the blades and feel being counted in.

    `table`: one round. `straight` (readings, squares + fits): as from ``square_design``. `point_sd_um`: of a point
    reading among the intervals. `feel_um`, `bend_um`: one standard deviation of the gap at which a blade is felt to go,
    and root mean square bend of a blade; found under a stated prior where they are not given. A bend of 0 is a straight
    blade. `settled` (squares,) of bool: false where only readings without an upper end speak of an angle; its prior is
    then `OPEN_URAD` wide. `held`: squares that are known already; they have no guaranteed bounds.

    gap = start + (angle + angle) * height + bend + bend + feel. Angles and starts have a prior so wide that it tells
    nothing, bends are smooth shapes of unknown amplitude without a line of their own (``shape_prior``), and ends of
    intervals are blurred by feel and place (``end_errors``). An angle is that of the least-squares line through all
    heights that were read.
    """
    blades, at_known = len(table.names), np.zeros(len(table))
    lean = straight[:, :blades]
    if held is not None:
        at_known, straight = straight @ held.shift, straight @ held.turn
    squares, known = settled.size, straight.shape[1]
    height, at = np.unique(table.position_mm, return_inverse=True)
    at = at.reshape(-1)
    free = line_free(height) if height.size > 2 and bend_um != 0 else np.zeros((height.size, 0))
    bends = np.zeros((len(table), blades, free.shape[1]))
    for blade in (table.lower, table.upper):
        bends[np.arange(len(table)), blade] += free[at]
    design = np.hstack([bends.reshape(len(table), -1), straight])
    most = bounds and table.is_interval.any()
    certain, plain = (
        _bounds(table, part, squares, known, at_known, held) if most else Bounds(None, None)
        for part in (design, straight)
    )
    low, high = (np.where(table.is_interval, end, table.gap_um) for end in (table.low_um, table.high_um))
    rough = _rough(straight, table, at_known)
    angles = (rough if held is None else held.shift + held.turn @ rough)[:blades]
    slope = np.abs(lean @ angles) / np.maximum(table.position_mm, 1e-9)
    blur = end_errors(
        low,
        high,
        feel_um,
        PLACE_MM * slope,
        0.0 if certain.low_um is not None else certain.conflict_um,
    )
    both = np.maximum(blur.low_um, blur.high_um)  # one error for a reading: the same feeler feels both ends
    span = float(np.ptp(height)) or 1.0
    kinds = (
        for_each(smooth_shapes((height - height.mean()) * 2 / span, free, _LENGTHS, _ROUGH), blades)
        if free.size
        else np.zeros((1, 0, 0))
    )
    errors = np.ones(0 if held is None else held.size.size)
    starts = known - squares - len(errors)
    rest = np.concatenate([np.where(settled, WIDE_URAD, OPEN_URAD), np.full(starts, WIDE_UM), errors])
    prior = Prior(
        shapes=kinds,
        amplitude=(bend_um, bend_um) if bend_um else BEND_UM,
        knee=0.0 if bend_um else KNEE_UM,
        rest_sd=rest,
    )
    looks = Looks(
        design=design,
        low=low - at_known,
        high=high - at_known,
        point_sd=np.full(len(table), point_sd_um),
        low_blur=both,
        high_blur=both,
        feel_weight=blur.weight,
    )
    wanted = np.roll(np.eye(design.shape[1]), known, axis=0)
    found = posterior(looks, prior, wanted)
    every = np.concatenate([found.mean[known:], found.mean[:known]])
    bent = (found.mean[known:].reshape(blades, -1) @ free.T) if free.size else np.zeros((blades, height.size))
    last = slice(squares + starts, known)
    return BentSquares(
        height_mm=height,
        posterior=found,
        bend_um=bent,
        feel_um=float(np.sqrt(found.feel @ blur.feel_um**2)),
        fitted_um=design @ every + at_known,
        certain=certain,
        against=_against(table, plain, design, free, PLACE_MM * slope, (feel_um, bend_um), at_known, len(errors)),
        of_errors=None
        if held is None
        else (found.covariance[:squares, last], found.mean[last], found.covariance[last, last]),
    )


def _against(
    table: Readings,
    plain: Bounds,
    design: np.ndarray,
    free: np.ndarray,
    place_um: np.ndarray,
    stated: tuple[float | None, float | None],
    at_known: np.ndarray,
    errors: int,
) -> Contradiction | None:
    """What it takes of bends and feel to make intervals agree that no straight blades fulfil."""
    rows, blades, width = table.is_interval, len(table.names), design.shape[1]
    ends = table.low_um[rows], table.high_um[rows]
    feel, bend = (usual if one is None else one for one, usual in zip(stated, (FEELS_UM[-1], KNEE_UM), strict=True))
    felt_sd, bent_sd = (
        f"{sd:g} um, {'the usual figure' if one is None else 'as you stated'}"
        for sd, one in zip((feel, bend), stated, strict=True)
    )
    felt = end_errors(*ends, feel, place_um[rows])
    bent = np.pad(np.kron(np.eye(blades), free), ((0, 0), (0, width - blades * free.shape[1])))
    bent = bent if free.size else bent[:0]
    causes, sds = "the feel of the feelers", f"one standard deviation {felt_sd}"
    if free.size:
        causes, sds = f"bends of the blades and {causes}", f"one standard deviation {bent_sd}, and {felt_sd}"
    also = (
        np.vstack([bent, np.eye(width)[width - errors :]]),
        np.concatenate([np.full(len(bent), bend), np.ones(errors)]),
    )
    ends = tuple(end - at_known[rows] for end in ends)
    give = felt.low_um[0], felt.high_um[0]
    found = contradiction(plain, table.row[rows], design[rows], ends, give, causes, sds, also)
    return None if found is None else replace(found, widened=False)


def _rough(straight: np.ndarray, table: Readings, at_known: np.ndarray) -> np.ndarray:
    """Angles and starts by plain least squares over whatever end there is: good enough for what a place makes."""
    ends = np.where(
        np.isfinite(table.high_um),
        (table.low_um + np.where(np.isfinite(table.high_um), table.high_um, 0)) / 2,
        table.low_um,
    )
    return np.linalg.lstsq(straight, np.where(table.is_interval, ends, table.gap_um) - at_known, rcond=None)[0]


def _bounds(
    table: Readings, design: np.ndarray, squares: int, known: int, at_known: np.ndarray, held: Hold | None
) -> Bounds:
    """Bound the angles; with a known square, only look whether all agree within four of its deviations."""
    rows, first = table.is_interval, design.shape[1] - known
    wanted = np.zeros((squares, design.shape[1]))
    wanted[:, first:][np.arange(squares), np.arange(squares)] = 1.0
    ends = [end[rows] - at_known[rows] for end in (table.low_um, table.high_um)]
    if held is None:
        return interval_bounds(design[rows], *ends, wanted)
    return agreeing(held, design[rows], *ends, np.hstack([np.zeros((held.size.size, first)), held.rows(known)]))
