"""Filing two faces together: look, take metal where it touches, look again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.bench.cut import Hands, Tool, depth_map
from simulate.bench.seat import settle
from simulate.bench.sight import Sight

STALE = 4
"""Passes without progress after which the maker stops (common practice, no source)."""


@dataclass(frozen=True)
class Shop:
    """What every pass of a run has in common.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
    sight : Sight
    tool : Tool
    hands : Hands
    rng : numpy.random.Generator
    """

    x_mm: np.ndarray
    sight: Sight
    tool: Tool
    hands: Hands
    rng: np.random.Generator


@dataclass
class Fitted:
    """The state of fits under way, one a row.

    Attributes
    ----------
    lower, upper : ndarray, shape (fits, points)
    lower_passes, upper_passes : ndarray of int, shape (fits,)
    light_um : ndarray, shape (fits,)
        The widest gap of the last look.
    looks : list
        For a record: (row, gap, first, last, lower, upper, taken from lower, taken from upper).
    """

    lower: np.ndarray
    upper: np.ndarray
    lower_passes: np.ndarray
    upper_passes: np.ndarray
    light_um: np.ndarray
    looks: list = field(default_factory=list)


def fit(shop: Shop, lower: np.ndarray, upper: np.ndarray, removal_um: float, share_lower: float,
        record: bool = False) -> Fitted:
    """File pairs of bars until no light shows between them, or filing no longer helps.

    Parameters
    ----------
    shop : Shop
    lower, upper : ndarray, shape (fits, points)
    removal_um : float
        Metal that a pass takes at the contact, from the bar that gives up more.
    share_lower : float
        Share of the metal that the lower bars give up: 0 for a gauge.
    record : bool
        Whether every look is kept.

    Returns
    -------
    Fitted

    Notes
    -----
    The maker stops when the widest gap is below what can be seen, or when four
    passes in a row have not narrowed it.

    Examples
    --------
    >>> from simulate.bench.cut import TOOLS
    >>> x = np.linspace(-50, 50, 3)
    >>> shop = Shop(x, Sight(), TOOLS["stone"], Hands(0, 0), np.random.default_rng(1))
    >>> fit(shop, np.zeros((1, 3)), np.array([[0., 40., 0.]]), 10.0, 0.0).upper[0].round()
    array([0., 0., 0.])
    """
    n = len(lower)
    state = Fitted(lower.copy(), upper.copy(), np.zeros(n, int), np.zeros(n, int), np.zeros(n))
    give = np.array([share_lower, 1 - share_lower])
    depth = removal_um * give / give.max()
    slope, best, stale = np.zeros(n), np.full(n, np.inf), np.zeros(n, int)
    rows = np.arange(n)
    limit = None
    while rows.size:
        low, up = state.lower[rows], state.upper[rows]
        tilt = slope[rows]
        gap, first, last = settle(shop.x_mm, low + up, 0.5 * (shop.x_mm[0] + shop.x_mm[-1]), tilt)
        slope[rows] = tilt
        widest = gap.max(axis=1)
        state.light_um[rows] = widest
        if limit is None:
            limit = int(4 * widest.max() / removal_um) + 20
        better = widest < best[rows] - 0.1 * removal_um
        best[rows] = np.minimum(best[rows], widest)
        stale[rows] = np.where(better, 0, stale[rows] + 1)
        going = (widest > shop.sight.threshold_um) & (stale[rows] < STALE) & (limit > 0)
        limit -= 1
        taken = _pass(shop, (low[going], up[going]), gap[going], depth, give)
        if record:
            _keep(state, rows, (gap, first, last), low, up, going, taken)
        rows = rows[going]
        state.lower[rows] = low[going] - taken[0]
        state.upper[rows] = up[going] - taken[1]
        state.lower_passes[rows] += depth[0] > 0
        state.upper_passes[rows] += depth[1] > 0
    return state


def _pass(shop, bars, gap, depth, give):
    return [
        depth_map(shop.x_mm, h, gap, d, shop.sight.threshold_um, shop.tool, shop.hands, shop.rng, part)
        if d > 0 and len(h) else np.zeros_like(h)
        for h, d, part in zip(bars, depth, give)
    ]


def _keep(state, rows, seat, low, up, going, taken):
    k = 0
    for i, row in enumerate(rows):
        cut = [np.zeros_like(low[i])] * 2
        if going[i]:
            cut = [taken[0][k], taken[1][k]]
            k += 1
        state.looks.append((int(row), *(s[i] for s in seat), low[i], up[i], *cut))
