"""Filing two faces together: look, take metal where it touches, look again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.bench.cut import Hands, Tool, depth_map
from simulate.bench.seat import contacts, settle
from simulate.bench.sight import Sight

LIGHTER, STALE = 3, 10
"""Passes without progress after which the maker halves the pressure, and after which the maker
stops (common practice, no source)."""

PROGRESS = 0.02
"""Part of a pass by which the widest or the mean gap must shrink to count as progress: the mean
does not change when the bar merely tips over."""


def floor_um(removal_um: float, sight: Sight = Sight(), hands: Hands = Hands()) -> float:
    """About where sight, tool and hands stop the method.

    Parameters
    ----------
    removal_um : float
        Metal per pass.
    sight : Sight
    hands : Hands

    Returns
    -------
    float
        The smallest gap that is seen, and the unevenness of one pass.

    Examples
    --------
    >>> floor_um(10.0, Sight("light", 2.5), Hands(crown=0.05, scatter=0.1))
    5.0
    """
    return sight.threshold_um + removal_um * (hands.crown + 2 * hands.scatter)


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
    The maker stops when the widest gap is down to the floor of sight, tool and hands, or when ten
    passes in a row, lighter and lighter, have not lessened the light.

    Examples
    --------
    >>> from simulate.bench.cut import TOOLS
    >>> x = np.linspace(-50, 50, 3)
    >>> shop = Shop(x, Sight(), TOOLS["stone"], Hands(0, 0), np.random.default_rng(1))
    >>> fit(shop, np.zeros((1, 3)), np.array([[40., 0., 40.]]), 10.0, 0.0).upper[0].round()
    array([0., 0., 0.])
    """
    n = len(lower)
    state = Fitted(lower.copy(), upper.copy(), np.zeros(n, int), np.zeros(n, int), np.zeros(n))
    give = np.array([share_lower, 1 - share_lower])
    depth = removal_um * give / give.max()
    slope, best, stale = np.zeros(n), np.full((n, 2), np.inf), np.zeros(n, int)
    rows = np.arange(n)
    limit, stop = None, floor_um(removal_um, shop.sight, shop.hands)
    while rows.size:
        low, up = state.lower[rows], state.upper[rows]
        tilt = slope[rows]
        gap = settle(shop.x_mm, low + up, 0.5 * (shop.x_mm[0] + shop.x_mm[-1]), tilt)
        slope[rows] = tilt
        widest = gap.max(axis=1)
        state.light_um[rows] = widest
        if limit is None:
            limit = int(10 * widest.max() / removal_um) + 20
        light = np.stack([widest, gap.mean(axis=1)], axis=1)
        better = (light < best[rows] - PROGRESS * removal_um).any(axis=1)
        best[rows] = np.minimum(best[rows], light)
        stale[rows] = np.where(better, 0, stale[rows] + 1)
        going = (widest > stop) & (stale[rows] < STALE) & (limit > 0)
        limit -= 1
        lighter = 0.5 ** (stale[rows[going], None] // LIGHTER)
        taken = _pass(shop, (low[going], up[going]), gap[going], depth * lighter, give)
        if record:
            _keep(state, rows, (gap, *contacts(gap)), low, up, going, taken)
        rows = rows[going]
        state.lower[rows] = low[going] - taken[0]
        state.upper[rows] = up[going] - taken[1]
        state.lower_passes[rows] += depth[0] > 0
        state.upper_passes[rows] += depth[1] > 0
    return state


def _pass(shop, bars, gap, depth, give):
    return [
        depth_map(shop.x_mm, h, gap, d, shop.sight.threshold_um, shop.tool, shop.hands, shop.rng, part)
        if part > 0 and len(h) else np.zeros_like(h)
        for h, d, part in zip(bars, np.hsplit(depth, 2), give)
    ]


def _keep(state, rows, seat, low, up, going, taken):
    k = 0
    for i, row in enumerate(rows):
        cut = [np.zeros_like(low[i])] * 2
        if going[i]:
            cut = [taken[0][k], taken[1][k]]
            k += 1
        state.looks.append((int(row), *(s[i] for s in seat), low[i], up[i], *cut))
