"""What land readings that are intervals leave of a bar's points: the posterior under a stated prior of shapes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulate.method.lands.design_matrix import reading_rows
from simulate.method.lands.levelling import Network
from simulate.readings.adjustment.end_errors import end_errors
from simulate.readings.adjustment.posterior import WIDER, Looks, Posterior, Prior, posterior, thinned_words
from simulate.readings.adjustment.shape_prior import smooth_shapes
from simulate.readings.adjustment.whole_band import spread_draws, whole_band
from simulate.readings.lands.land_intervals import fits_and_columns
from simulate.readings.table.readings import Readings

MOST_POINTS = 60
"""Points beyond which intervals weigh as their middles: the posterior of more would keep a panel waiting."""

_FELT_UM = 1e4
LEAST_KNEE_UM = 1.0
"""Shapes smaller than this, or than an interval is wide, are as likely as each other (a stated choice, no source)."""
ROUGH = (0.3,)
"""Independent roughness beside a smooth shape, as part of it: lands are worked one by one (a stated choice, no
source)."""

FEEL_KNOWN_WIDER = 1.07
"""What stands for `WIDER` where the feel is stated: readings of lands outnumber points, so that little but the feel
hangs on the prior. Chosen on simulated bars. On others, as the prior has them, 97 % of heights lay in their ranges
without any feel and 96 % with one of 2 um (600 sets each); 96 % over all feels that are thought of where none is stated
(120 sets). Where cells are narrow, there is no feel and none is stated nearly all do: it pays to state it."""


def over_the_ends(x_mm: np.ndarray) -> np.ndarray:
    """Give the map from heights to heights of the inner points over the line of the two ends.

    `x_mm` (points,). Returns (points - 2, points).

    >>> over_the_ends(np.array([0.0, 1.0, 4.0])).tolist()
    [[-0.75, 1.0, -0.25]]
    """
    part = (x_mm - x_mm[0]) / (x_mm[-1] - x_mm[0])
    found = np.eye(x_mm.size)
    found[:, 0] -= 1 - part
    found[:, -1] -= part
    return found[1:-1]


def points_left(
    table: Readings, network: Network, point_sd_um: float, feel_um: float | None, conflict_um: float, zero_sd_um: dict
) -> Posterior:
    """Work out what readings leave of every point over the line of the ends.

    `table`: one round; points and intervals, open ones too. `network`: points and held ends. `point_sd_um`: of one
    point reading. `feel_um`: one standard deviation of the end of an interval; several are thought of without it.
    `conflict_um`: the least by which intervals must give way to agree. `zero_sd_um`: gauges whose zero is doubtful, and
    by how much. Returns: of all points in `network`, 0 where they are held.

    Beforehand the bar is a smooth or a rough shape of unknown amplitude over the line of its ends (``shape_prior``);
    intervals cut it (``posterior``), and their ends are blurred by feel (``end_errors``).
    """
    held = network.sd_um == 0
    fits, column = fits_and_columns(table, network)
    named = {name: sd for name, sd in zero_sd_um.items() if sd > 0 and name in {f.gauge for f in fits}}
    rows, zeros = reading_rows(fits, network.x_mm, column, named)
    low, high = (np.where(table.is_interval, end, table.proud_um) for end in (table.low_um, table.high_um))
    # a reading of nought is a difference of two gaps that were felt, so feel is not held to a part of the reading
    blur = end_errors(low + _FELT_UM, high + _FELT_UM, feel_um, 0.0, conflict_um, -np.inf)
    both = np.maximum(blur.low_um, blur.high_um)
    place = 2 * (network.x_mm - network.x_mm[0]) / np.ptp(network.x_mm) - 1
    inner = over_the_ends(network.x_mm).T if held.sum() == 2 and held[[0, -1]].all() else np.eye(held.size)[:, ~held]
    width = (high - low)[table.is_interval & np.isfinite(high - low)]
    # what is much smaller than an interval is wide cannot be told from nothing, so that all such sizes are as likely
    knee = max(LEAST_KNEE_UM, float(np.median(width)) if width.size else 0.0)
    prior = Prior(
        shapes=smooth_shapes(place, inner, rough=ROUGH),
        knee=knee,
        rest_sd=np.array([sd for _, sd in zeros.values()]),
        wider=WIDER if feel_um is None else FEEL_KNOWN_WIDER,
    )
    looks = Looks(
        design=rows.toarray(),
        low=low,
        high=high,
        point_sd=np.full(len(table), point_sd_um),
        low_blur=both,
        high_blur=both,
        feel_weight=blur.weight,
    )
    wanted = np.zeros((held.size, rows.shape[1]))
    wanted[np.flatnonzero(~held), np.arange((~held).sum())] = 1.0
    return posterior(looks, prior, wanted)


def ends_alone(whole: Network) -> Network:
    """Leave of a network its points and its held ends."""
    held = whole.sd_um == 0
    return replace(
        whole,
        reached=held,
        sd_um=np.where(held, 0.0, np.nan),
        height_um=np.where(held, 0.0, np.nan),
        covariance_um2=np.where(held[:, None] & held, 0.0, np.nan),
    )


def with_ranges(
    part: Readings,
    found: Network,
    row_sd: np.ndarray,
    source: str,
    factor: float,
    over: int,
    feel_um: float | None,
    conflict_um: float,
    zero_sd_um: dict,
) -> tuple[Network, tuple, np.ndarray, list[str]]:
    """Give points with their 95 % ranges, each by itself and all together; by the posterior where intervals were read.

    `part`: one round. `found`: by least squares. `row_sd` (readings,). `source`: where the spread of a point reading
    comes from. `factor`: half of the 95 % range over the deviation, for least squares. `over`: degrees of freedom of
    the spread; 0 where it is known. Returns `ranges`: lower and upper end of each point by itself, then of all
    together; None where the spread is only assumed. `draws` (draws, points): errors behind them. `remarks`: what is to
    be said of them.
    """
    own, remarks = found.reached & (found.sd_um != 0), []
    # where points check each other, their own scatter tells the spread: Student's t, as without intervals
    checked = source in ("residuals", "resolution") and np.isfinite(row_sd).all() and conflict_um == 0
    if part.is_interval.any() and not checked and own.any() and found.x_mm.size <= MOST_POINTS:
        points = row_sd[~part.is_interval]
        left = points_left(part, found, float(points.min()) if points.size else 1.0, feel_um, conflict_um, zero_sd_um)
        spread = np.where(found.reached[:, None] & found.reached, left.covariance, np.nan)
        found = replace(
            found,
            height_um=np.where(found.reached, left.mean, np.nan),
            covariance_um2=spread,
            sd_um=np.where(found.reached, np.where(found.sd_um == 0, 0.0, left.sd), np.nan),
        )
        low, high, errors = left.low_95, left.high_95, left.draws - left.mean
        remarks = thinned_words(left.thinned)
    else:
        low, high = found.height_um - factor * found.sd_um, found.height_um + factor * found.sd_um
        errors = spread_draws(np.nan_to_num(found.covariance_um2), over)
    errors = np.where(own, errors, 0.0)
    if source == "assumed":
        return found, (None, None, None, None), errors, remarks
    low, high = (np.where(found.reached, np.where(found.sd_um == 0, 0.0, end), np.nan) for end in (low, high))
    whole = whole_band(found.height_um + errors, np.where(own, found.height_um, np.nan), low, high)
    return found, (low, high, *(np.where(own, end, low) for end in whole)), errors, remarks
