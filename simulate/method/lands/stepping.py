"""Gauges with three lands: made three at a time, and stepped along a bar.

A three-land gauge holds one number only: how far its middle land stands over
the line of its outer two. Everything a bar learns from it is that number, laid
down at one place after another.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal


@dataclass(frozen=True)
class Steps:
    """What stepping does to the heights of the stations.

    Attributes
    ----------
    bias_um : ndarray, shape (..., intervals + 1)
        Error that a constant zero error of the gauge builds up; 0 at both ends.
    sd_um : ndarray, shape (..., intervals + 1)
        Standard deviation that independent errors of the fits build up.
    """

    bias_um: np.ndarray
    sd_um: np.ndarray


def step_lands(intervals: int, *, zero_um: ArrayLike = 0.0, sd_um: ArrayLike = 0.0) -> Steps:
    """Step a gauge of three evenly spaced lands along a bar, both ends held.

    Parameters
    ----------
    intervals : int
        Equal steps between the held ends, 2 or more; the gauge spans two, and
        is laid once over every inner station.
    zero_um : array_like
        Added to every reading of the middle over its neighbours: positive where
        the gauge calls a straight bar proud (its own middle land is proud by
        that much). A bar worked down to such a gauge ends up hollow by the
        same figures.
    sd_um : array_like
        Standard deviation of one such reading, independent from fit to fit.

    Returns
    -------
    Steps
        ``bias_um`` and ``sd_um``, each (..., intervals + 1).

    Raises
    ------
    ValueError
        Where there are fewer than two intervals, or a deviation is below 0.

    Notes
    -----
    Derived. A reading d is a height less the mean of its neighbours, so
    ``h[k-1] - 2 h[k] + h[k+1] = -2 d[k]``. With both ends at 0 and d the same
    everywhere, ``h[k] = d k (n - k)``: the square of the number of steps.
    Otherwise ``h = 2 G d``, where ``G[k, j] = min(k, j) (n - max(k, j)) / n``, and
    the squares of a row of G add up to ``k m (2 k m + 1) / (6 n)``, m = n - k: the
    deviation at the middle comes near ``sd n^(3/2) / sqrt 12``.

    It does not see what lies between the stations.

    Examples
    --------
    >>> step_lands(4, zero_um=1.0).bias_um
    array([0., 3., 4., 3., 0.])
    >>> step_lands(2, sd_um=1.0).sd_um
    array([0., 1., 0.])
    """
    n = checks.whole(intervals, "intervals", 2)
    zero, sd = checks.numbers(zero_um, "zero_um"), checks.numbers(sd_um, "sd_um")
    if (sd < 0).any():
        raise Refusal("range", where="sd_um", found=f"{sd.min():g}", must_be="0 or more")
    k = np.arange(n + 1.0)
    both = k * (n - k)
    return Steps(zero[..., None] * both, sd[..., None] * np.sqrt(2 * both * (2 * both + 1) / (3 * n)))


def gauges_from_pairs(ab_um: ArrayLike, ac_um: ArrayLike, bc_um: ArrayLike) -> np.ndarray:
    """Tell three land gauges apart from their three fits, two by two.

    Parameters
    ----------
    ab_um, ac_um, bc_um : array_like
        Sum of the two middles over the outer lands: positive where the middles
        touch and it rocks, negative where light shows there. They broadcast.

    Returns
    -------
    ndarray, shape (..., 3)
        How far each middle land stands over the line of its own outer lands.

    Raises
    ------
    ValueError
        Where something is not a number.

    Notes
    -----
    ``a = (ab + ac - bc) / 2``. Equal independent errors s of the three fits leave
    each gauge with s sqrt(3) / 2 (derived).

    Examples
    --------
    >>> gauges_from_pairs(3.0, 4.0, 5.0)
    array([1., 2., 3.])
    """
    ab, ac, bc = checks.together(
        **{n: checks.numbers(v, n) for v, n in ((ab_um, "ab_um"), (ac_um, "ac_um"), (bc_um, "bc_um"))}
    )
    return np.stack([ab + ac - bc, ab + bc - ac, ac + bc - ab], axis=-1) / 2


def three_land_gauges(
    middle_um: ArrayLike,
    rounds: int,
    *,
    share: float = 0.5,
    sd_um: float = 0.0,
    unseen_um: float = 0.0,
    seed: int | None = None,
) -> np.ndarray:
    """Make three land gauges from each other on paper, one number each.

    `middle_um` (..., 3): each gauge's middle land over the line of its outer lands, at the start. `share`: part of the
    split that the one gauge gives up, 0 to 1. `sd_um`: standard deviation with which each fit comes out. `unseen_um`: a
    fit closer than this shows no light and is left alone; 0 sees all. Returns (..., rounds + 1, 3): the start first.

    A round: B and C are fitted to A, then B and C share what shows between
    them, then A is fitted to the better of the two (taken to be B in every
    round, since nobody at the bench sees the truth). It leaves |2 share - 1|
    of the error (derived). A proud middle loses its own metal; a hollow one
    loses it from the outer lands. Seating needs no search: two three-land
    gauges either touch at the outer lands or rock on the middle. With lands
    that have a width, with sight and tools, `make_land_gauges` of
    `simulate.method.lands.gauge_making` does the same at the bench.

    >>> three_land_gauges([8.0, -30.0, 5.0], 1, share=0.75)[-1].tolist()
    [-4.0, 4.0, -4.0]
    """
    start = checks.profiles(middle_um, 3, "middle_um")
    rounds = checks.whole(rounds, "rounds", 0)
    share = checks.number(share, "share", 0, 1)
    sd, unseen = checks.number(sd_um, "sd_um", 0), checks.number(unseen_um, "unseen_um", 0)
    rng = generator(seed)
    a, b, c = np.moveaxis(start, -1, 0)
    told = [start]

    def shown(fit):
        seen = fit + sd * rng.standard_normal(np.shape(fit))
        return np.where(np.abs(fit) >= unseen, seen, 0.0)

    for _ in range(rounds):
        b = b - shown(a + b)
        c = c - shown(a + c)
        split = shown(b + c)
        b, c = b - share * split, c - (1 - share) * split
        a = a - shown(a + b)
        told.append(np.stack([a, b, c], axis=-1))
    return np.stack(told, axis=-2)
