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
    out = Fitted(np.empty_like(lower), np.empty_like(upper), np.zeros(n, int), np.zeros(n, int), np.zeros(n))
    give = np.array([share_lower, 1 - share_lower])
    depth = removal_um * give / give.max()
    stop = floor_um(removal_um, shop.sight, shop.hands)
    now = _Going.start(lower, upper)
    while now.rows.size:
        gap = settle(shop.x_mm, now.low + now.up, 0.5 * (shop.x_mm[0] + shop.x_mm[-1]), now.slope)
        widest = gap.max(axis=1)
        out.light_um[now.rows] = widest
        now.watch(widest, gap.mean(axis=1), removal_um)
        going = (widest > stop) & (now.stale < STALE) & (now.left > 0)
        looked = now
        if not going.all():
            now.leave(~going, out)
            now, gap_left = now.only(going), gap[going]
        else:
            gap_left = gap
        taken = _pass(shop, now, gap_left, depth, give)
        if record:
            _keep(out, looked, gap, going, taken)
        for bars, cut, count in ((now.low, taken[0], out.lower_passes), (now.up, taken[1], out.upper_passes)):
            if cut is not None:
                bars -= cut
                count[now.rows] += 1
    return out


@dataclass
class _Going:
    """The fits that are still filed, packed close."""

    rows: np.ndarray
    low: np.ndarray
    up: np.ndarray
    slope: np.ndarray
    best: np.ndarray
    stale: np.ndarray
    left: np.ndarray

    @classmethod
    def start(cls, lower: np.ndarray, upper: np.ndarray) -> _Going:
        n = len(lower)
        best, none = np.full((2, n), np.inf), np.zeros(n, int)
        return cls(np.arange(n), lower.copy(), upper.copy(), np.zeros(n), best, none, np.full(n, -1))

    def watch(self, widest: np.ndarray, mean: np.ndarray, removal_um: float) -> None:
        """Count the passes without progress, and those that patience has left."""
        fresh = self.left < 0
        if fresh.any():
            self.left = np.where(fresh, (10 * widest / removal_um).astype(int) + 21, self.left)
        self.left = self.left - 1
        light = np.stack([widest, mean])
        better = (light < self.best - PROGRESS * removal_um).any(axis=0)
        self.best = np.minimum(self.best, light)
        self.stale = np.where(better, 0, self.stale + 1)

    def leave(self, done: np.ndarray, out: Fitted) -> None:
        """Lay finished bars aside."""
        out.lower[self.rows[done]], out.upper[self.rows[done]] = self.low[done], self.up[done]

    def only(self, keep: np.ndarray) -> _Going:
        """The fits that go on."""
        return _Going(self.rows[keep], self.low[keep], self.up[keep], self.slope[keep], self.best[:, keep],
                      self.stale[keep], self.left[keep])


def _pass(shop: Shop, now: _Going, gap: np.ndarray, depth: np.ndarray, give: np.ndarray) -> list:
    """Metal taken from the lower and the upper bars; None from those that stay as they are."""
    lighter = 0.5 ** (now.stale[:, None] // LIGHTER)
    return [
        depth_map(shop.x_mm, h, gap, d * lighter, shop.sight.threshold_um, shop.tool, shop.hands, shop.rng, part)
        if part > 0 and len(h) else None
        for h, d, part in zip((now.low, now.up), depth, give)
    ]


def _keep(out: Fitted, looked: _Going, gap: np.ndarray, going: np.ndarray, taken: list) -> None:
    first, last = contacts(gap)
    place = np.cumsum(going) - 1
    for i, row in enumerate(looked.rows):
        cut = [np.zeros(gap.shape[1]) if t is None or not going[i] else t[place[i]] for t in taken]
        out.looks.append((int(row), gap[i], first[i], last[i], looked.low[i].copy(), looked.up[i].copy(), *cut))
