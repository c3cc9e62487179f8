"""Fits of land gauges along a bar, solved together as a levelling network.

A fit compares: each inner land of a gauge stands so far over the line of its
outer two, and says nothing else. All fits together settle some points of the
bar, and leave others open.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.method.lands.design_matrix import beside, known_zeros, reading_rows, row_of, weighted
from simulate.method.lands.land_fit import Fit, fits_of, snapped
from simulate.method.lands.prior import carried, learned, prior_rows, trusted_of
from simulate.method.lands.sparse_least_squares import least_squares


@dataclass(frozen=True)
class Network:
    """What a set of fits settles.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
        Every point touched by a land, held, or asked for.
    reached : ndarray of bool, shape (points,)
    sd_um : ndarray, shape (points,)
        0 where held, nan where not reached.
    covariance_um2 : ndarray, shape (points, points)
    height_um : ndarray, shape (..., points), or None
        Only where readings were given.
    redundancy : ndarray, shape (fits,)
        Readings of each fit that the other fits already foretell: 0 means that
        nothing checks it; the sum is what is left over for checking.
    zero_um : dict
        Gauge name to (shared zero error of each inner land, its deviation).
    worst_mm, worst_um : float
        The reached point that is least sure, and its standard deviation.
    words : str
        What is reached and what is not, in a sentence.
    joint_um2 : ndarray, shape (points + zeros, points + zeros)
        Covariance of the points and of the zeros in `zero_um`, in its order.
    """

    x_mm: np.ndarray
    reached: np.ndarray
    sd_um: np.ndarray
    covariance_um2: np.ndarray
    height_um: np.ndarray | None
    redundancy: np.ndarray
    zero_um: dict
    worst_mm: float
    worst_um: float
    words: str
    joint_um2: np.ndarray


def solve_network(
    fits: Sequence[Fit],
    held_mm: ArrayLike | None = None,
    *,
    wanted_mm: ArrayLike = (),
    readings_um: ArrayLike | None = None,
    zero_sd_um: dict | None = None,
    prior: Network | None = None,
    trusted_mm: ArrayLike | None = None,
    spread: bool = True,
) -> Network:
    """Settle the points of a bar from all its fits at once, by weighted least squares.

    Parameters
    ----------
    fits : sequence of Fit
    held_mm : array_like, optional
        Points taken as straight, without error; the outermost two by default.
    wanted_mm : array_like
        Points that are asked about, touched or not.
    readings_um : array_like, shape (..., readings), optional
        Inner land over the line of the outer two (metal proud is positive), fit
        after fit, from left to right on the bar.
    zero_sd_um : dict, optional
        Gauge name to how well its zero is known: a standard deviation, or inf
        where nothing is known. A gauge not named has none, unless `prior` has
        learned it.
    prior : Network, optional
        Points settled before, weighed in with their covariance (and heights, if
        it holds any).
    trusted_mm : array_like, optional
        Which of those points are still trusted; all that were reached by default.
    spread : bool
        False leaves deviations, covariance and redundancy out (nan): heights
        alone are quicker on a long bar.

    Returns
    -------
    Network

    Raises
    ------
    ValueError
        Where there is no fit, the readings are not one for each inner land, or a
        trusted point was never reached.

    Notes
    -----
    Which points are reached is a question of rank, not of accuracy: a point is
    reached when no movement that all fits leave unseen moves it. Sparse while
    everything is reached; a dense decomposition tells the rest apart. It does
    not see between the points, and it takes the fits' errors as independent
    but for the shared zeros.

    Examples
    --------
    >>> from simulate.method.lands.land_fit import lay
    >>> gauge = [lay((0, 200, 400), at, 1.0) for at in (0, 200)]
    >>> solve_network(gauge, wanted_mm=[100]).words
    'Determined: 0, 200, 400, 600 mm; not touched: 100 mm.'
    """
    fits = fits_of(fits)
    if prior is not None:
        checks.kind(prior, "prior", Network)
    if zero_sd_um is not None:
        checks.kind(zero_sd_um, "zero_sd_um", dict)
    x, held, touched = _points(fits, held_mm, wanted_mm, prior, trusted_mm)
    column = np.where(touched & ~held, np.cumsum(touched & ~held) - 1, -1)
    design, zeros = reading_rows(fits, x, column, {**learned(prior, fits), **(zero_sd_um or {})})
    if prior is not None:
        zeros = carried(prior, zeros, design.shape[1])
        design.resize(design.shape[0], int(column.max()) + 1 + len(zeros))
    values = weighted(readings_um, [len(f.lands_mm) - 2 for f in fits], [f.sd_um for f in fits])
    rows = [design, known_zeros(zeros, design.shape[1])]
    values = beside(values, np.zeros(rows[1].shape[0]))
    if prior is not None:
        more, known = prior_rows(prior, trusted_mm, x, column, design.shape[1], zeros)
        rows.append(more)
        values = beside(values, known)
    full = scipy.sparse.vstack(rows, format="csr")
    answer, covariance, open_ = least_squares(full, values, spread)
    if covariance is None:
        covariance = np.broadcast_to(np.nan, (full.shape[1],) * 2)
    left = (
        1 - np.asarray(design.multiply(design @ covariance).sum(axis=1)).ravel()
        if spread
        else np.full(design.shape[0], np.nan)
    )
    owner = np.repeat(np.arange(len(fits)), [len(f.lands_mm) - 2 for f in fits])
    redundancy = np.bincount(owner, left, minlength=len(fits)).clip(0).round(12)
    heights = None if readings_um is None else answer
    return _told(x, held, column, zeros, heights, covariance, open_, redundancy, spread)


def _points(fits, held_mm, wanted_mm, prior, trusted_mm):
    """All points, and which are held and which are touched."""
    lands = snapped(np.concatenate([f.lands_mm for f in fits]))
    before = np.empty(0) if prior is None else prior.x_mm[prior.reached]
    trusted = before if prior is None else trusted_of(prior, trusted_mm)
    every = np.concatenate([lands, before])
    held = np.array([every.min(), every.max()]) if held_mm is None else checks.numbers(held_mm, "held_mm").ravel()
    held, wanted = snapped(held), snapped(checks.numbers(wanted_mm, "wanted_mm").ravel())
    x = np.unique(np.concatenate([every, held, wanted]))
    touched = np.zeros(x.size, dtype=bool)
    touched[np.searchsorted(x, lands)] = True
    return x, np.isin(x, held), touched | np.isin(x, trusted)


def _told(x, held, column, zeros, answer, covariance, open_, redundancy, spread):
    """Spread the columns over the points, and put it into words."""
    reached = held.copy()
    free = column >= 0
    reached[free] = ~open_[column[free]]
    settled = np.flatnonzero(free & reached)
    if spread:
        full = np.where(reached[:, None] & reached, 0.0, np.nan)
        full[np.ix_(settled, settled)] = covariance[np.ix_(column[settled], column[settled])]
    else:
        full = np.broadcast_to(np.nan, (len(x), len(x)))
    sd = np.where(held, 0.0, np.sqrt(np.maximum(np.diag(full), 0)))
    height = None
    if answer is not None:
        height = np.zeros(answer.shape[:-1] + x.shape)
        height[..., ~reached] = np.nan
        height[..., settled] = answer[..., column[settled]]
    zero = {
        name: (
            np.nan if answer is None or open_[c] else answer[..., c],
            np.nan if open_[c] else float(np.sqrt(covariance[c, c])),
        )
        for name, (c, _) in zeros.items()
    }
    worst = int(np.nan_to_num(sd).argmax())
    return Network(
        x,
        reached,
        sd,
        full,
        height,
        redundancy,
        zero,
        float(x[worst]),
        float(sd[worst]),
        _words(x, reached, free),
        _joint(full, settled, column, zeros, covariance) if zeros else full,
    )


def _joint(full, settled, column, zeros, covariance):
    """The covariance of the points with that of the zeros beside it."""
    points, own = len(full), np.array([c for c, _ in zeros.values()])
    joint = np.full((points + len(own),) * 2, np.nan)
    joint[:points, :points] = full
    joint[points:, points:] = covariance[np.ix_(own, own)]
    held = np.isfinite(np.diag(full))
    joint[:points, points:][held] = joint[points:, :points][:, held] = 0.0
    between = covariance[np.ix_(column[settled], own)]
    joint[settled, points:], joint[points:, settled] = between, between.T
    return joint


def _words(x, reached, free):
    told = [f"Determined: {row_of(x[reached])} mm"]
    if (~reached & ~free).any():
        told.append(f"not touched: {row_of(x[~reached & ~free])} mm")
    if (~reached & free).any():
        told.append(f"touched, but not yet fixed relative to the known points: {row_of(x[~reached & free])} mm")
    return "; ".join(told) + "."
