"""Filing two faces together: look, take metal where it touches, look again."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.bench.bending.moving_steel import Steel, bow_shape, given_way, let_go_um, pressed_um, settled_part
from simulate.bench.cutting.filing import depth_map
from simulate.bench.cutting.tools import Hands, Tool
from simulate.bench.looking.sight import Sight
from simulate.bench.seating.bar_seat import contacts, settle
from simulate.core import checks
from simulate.method.bars.recorder import Recorder

LIGHTER, STALE = 3, 10
"""Passes without progress after which the maker halves the pressure, and after which the maker
stops (common practice, no source)."""

_NUMBERS = 1 << 18  # as in seating

PATIENCE = 6
"""How many times the passes that the first light alone would ask for the maker gives a fit, where light goes on
shrinking (common practice, no source). With 3, a fit is given up while the light still shrinks in one workshop of seven
that starts 400 µm out with a smooth file; with 6 in one of twenty, and with more hardly any others are cured."""

PROGRESS = 0.02
"""Part of a pass by which the widest or the mean gap must shrink to count as progress: the mean
does not change when the bar merely tips over."""


def gap_limit_um(removal_um: float, sight: Sight = Sight(), hands: Hands = Hands()) -> float:
    """The gap at which a maker leaves a fit: the smallest that is seen, and the unevenness of one pass.

    Bars end further out than this: `floor_table.worst_bar`.

    >>> gap_limit_um(10.0, Sight("light", 2.5), Hands(scatter=0.1))
    4.5
    """
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    return sight.threshold_um + removal_um * (hands.crown + 2 * hands.scatter)


@dataclass(frozen=True)
class Shop:
    """What every pass of a run has in common.

    `x_mm` (points,). `lands`: faces of a body that are filed each for itself, as many points on each; 1 is a whole
    edge. `steel`: how the bars move; None for bars that do not. `to_come` (workshops, bars): how far each bar will
    still bow by what earlier fits freed; written by the loop.
    """

    x_mm: np.ndarray
    sight: Sight
    tool: Tool
    hands: Hands
    rng: np.random.Generator
    lands: int = 1
    steel: Steel | None = None
    to_come: np.ndarray = field(default_factory=lambda: np.zeros((1, 1)))


@dataclass
class Fitted:
    """The state of fits under way, one a row.

    `lower`, `upper` (fits, points), `lower_passes`, `upper_passes` (fits,) of int. `light_um` (fits,): the widest gap
    of the last look. `to_come` (2, fits): how far lower and upper bars will still bow by themselves.
    """

    lower: np.ndarray
    upper: np.ndarray
    lower_passes: np.ndarray
    upper_passes: np.ndarray
    light_um: np.ndarray
    to_come: np.ndarray


def fit(
    shop: Shop,
    lower: np.ndarray,
    upper: np.ndarray,
    removal_um: float,
    share_lower: float,
    record: Recorder | None = None,
    most: int | None = None,
    patience: float = PATIENCE,
) -> Fitted:
    """File pairs of bars until no light shows between them, or filing no longer helps.

    `lower`, `upper` (fits, points). `removal_um`: metal that a pass takes at the contact, from the bar that gives up
    more. `share_lower`: share of the metal that the lower bars give up: 0 for a gauge. `record`: is shown every look.
    `most`: passes after which the maker lays the file down, fitted or not. `patience`: how many times the passes that
    the first light asks for are made at the most.

    An eye with a spread sees more at one look and less at the next, and a fit that looks dark once is left.
    The maker stops when the widest gap is down to the floor of sight, tool and hands, or when ten
    passes in a row, lighter and lighter, have not lessened the light.

    >>> from simulate.bench.cutting.tools import TOOLS
    >>> x = np.linspace(-50, 50, 3)
    >>> shop = Shop(x, Sight(), TOOLS["stone"], Hands(0, 0), np.random.default_rng(1))
    >>> fit(shop, np.zeros((1, 3)), np.array([[40., 0., 40.]]), 10.0, 0.0).upper[0].round()
    array([0., 0., 0.])
    """
    n = len(lower)
    out = Fitted(
        np.empty_like(lower), np.empty_like(upper), np.zeros(n, int), np.zeros(n, int), np.zeros(n), np.zeros((2, n))
    )
    give = np.array([share_lower, 1 - share_lower])
    depth = removal_um * give / give.max()
    stop = gap_limit_um(removal_um, shop.sight, shop.hands)
    now, done = _Going.start(lower, upper), 0
    while now.rows.size:
        gap = settle(shop.x_mm, now.low + now.up, 0.5 * (shop.x_mm[0] + shop.x_mm[-1]), now.slope)
        if shop.steel is not None:
            gap = pressed_um(shop.x_mm, gap, shop.steel)
        widest = gap.max(axis=1)
        out.light_um[now.rows] = widest
        now.watch(widest, gap.mean(axis=1), patience, removal_um)
        blink = eye_of_the_moment(shop, len(widest))
        going = (widest > stop + blink[:, 0]) & (now.stale < STALE) & (now.left > 0) & (most is None or done < most)
        done += 1
        looked = now
        if not going.all():
            now.leave(~going, out)
            now, gap_left, blink = now.only(going), gap[going], blink[going]
        else:
            gap_left = gap
        seen = np.maximum(shop.sight.threshold_um + blink, 0.0)
        kept = [now.low.copy(), now.up.copy()] if record is not None or shop.steel is not None else None
        for k, (bars, count) in enumerate(((now.low, out.lower_passes), (now.up, out.upper_passes))):
            if give[k] > 0:
                _file(shop, bars, gap_left, depth[k] * 0.5 ** (now.stale[:, None] // LIGHTER), give[k], seen)
                count[now.rows] += 1
        if shop.steel is not None:
            now.move(shop, kept)
        if record is not None:
            _tell(record, looked, gap, going, kept, now)
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
    to_come: np.ndarray

    @classmethod
    def start(cls, lower: np.ndarray, upper: np.ndarray) -> _Going:
        n = len(lower)
        best, none = np.full((2, n), np.inf), np.zeros(n, int)
        return cls(np.arange(n), lower.copy(), upper.copy(), np.zeros(n), best, none, np.full(n, -1), np.zeros((2, n)))

    def watch(self, widest: np.ndarray, mean: np.ndarray, patience: float, removal_um: float) -> None:
        """Count the passes without progress, and those that patience has left."""
        fresh = self.left < 0
        if fresh.any():
            self.left = np.where(fresh, (patience * widest / removal_um).astype(int) + STALE + 1, self.left)
        self.left = self.left - 1
        light = np.stack([widest, mean])
        better = (light < self.best - PROGRESS * removal_um).any(axis=0)
        self.best = np.minimum(self.best, light)
        self.stale = np.where(better, 0, self.stale + 1)

    def move(self, shop: Shop, before: list[np.ndarray]) -> None:
        """Let go what the last pass has freed, as far as it comes until the next look."""
        for k, (bars, older) in enumerate(zip((self.low, self.up), before)):
            self.to_come[k] += let_go_um(shop.x_mm, older - bars, shop.steel)
            come = self.to_come[k] * settled_part(shop.steel.pass_h, shop.steel)
            self.to_come[k] -= come
            np.add(bars, come[:, None] * bow_shape(shop.x_mm), out=bars)

    def leave(self, done: np.ndarray, out: Fitted) -> None:
        """Lay finished bars aside."""
        out.to_come[:, self.rows[done]] = self.to_come[:, done]
        out.lower[self.rows[done]], out.upper[self.rows[done]] = self.low[done], self.up[done]

    def only(self, keep: np.ndarray) -> _Going:
        """The fits that go on."""
        return _Going(
            self.rows[keep],
            self.low[keep],
            self.up[keep],
            self.slope[keep],
            self.best[:, keep],
            self.stale[keep],
            self.left[keep],
            self.to_come[:, keep],
        )


def eye_of_the_moment(shop: Shop, looks: int) -> np.ndarray:
    """How far the threshold stands from its middle, afresh for each look along a fit.

    Returns (looks, 1): micrometres; 0 for an eye that always sees alike.

    Drawn so that a gap is seen as often as the eye's curve says. One draw
    holds for the whole length: lamp and attention are those of the moment.

    >>> shop = Shop(np.zeros(3), Sight(), None, Hands(), np.random.default_rng(1))
    >>> eye_of_the_moment(shop, 2).tolist()
    [[0.0], [0.0]]
    """
    spread = shop.sight.spread_um
    return shop.rng.logistic(0.0, spread, (looks, 1)) if spread else np.zeros((looks, 1))


def _file(shop: Shop, bars: np.ndarray, gap: np.ndarray, depth: np.ndarray, part: float, seen_um: np.ndarray) -> None:
    """Take a pass from the bars in place, a few rows at once so that they stay in the processor's cache."""
    if shop.lands > 1:
        _file_lands(shop, bars, gap, depth, part, seen_um)
        return
    rows = max(1, _NUMBERS // bars.shape[1])
    for a in range(0, len(bars), rows):
        some = slice(a, a + rows)
        taken = depth_map(
            shop.x_mm, bars[some], gap[some], depth[some], seen_um[some], shop.tool, shop.hands, shop.rng, part
        )
        if shop.steel is not None:
            taken *= given_way(shop.x_mm, shop.steel, shop.tool.depth_um)
        bars[some] -= taken


def _file_lands(
    shop: Shop, bars: np.ndarray, gap: np.ndarray, depth: np.ndarray, part: float, seen_um: np.ndarray
) -> None:
    """Take a pass from the lands that touch, each a face of its own; what rocks is filed only where it rocks."""
    each = bars.shape[1] // shop.lands
    faces, gaps = bars.reshape(-1, each), gap.reshape(-1, each)
    seen = np.repeat(seen_um, shop.lands, axis=0)
    touch = (gaps <= seen).any(axis=1).reshape(-1, shop.lands)
    rocking = touch[:, 1:-1].any(axis=1) & ~(touch[:, 0] & touch[:, -1])
    touch[:, [0, -1]] &= ~rocking[:, None]
    deep = np.repeat(np.broadcast_to(depth, (len(bars), 1)), shop.lands, axis=0)
    taken = depth_map(shop.x_mm[:each], faces, gaps, deep, seen, shop.tool, shop.hands, shop.rng, part)
    bars -= (taken * touch.reshape(-1, 1)).reshape(bars.shape)


def _tell(record: Recorder, looked: _Going, gap: np.ndarray, going: np.ndarray, before: list, after: _Going) -> None:
    first, last = contacts(gap)
    place = np.cumsum(going) - 1
    taken = [b - a for b, a in zip(before, (after.low, after.up))]
    for i, row in enumerate(looked.rows):
        bars = [b[place[i]] for b in before] if going[i] else [looked.low[i], looked.up[i]]
        cut = [t[place[i]] if going[i] else np.zeros(gap.shape[1]) for t in taken]
        record.look(int(row), not going[i], gap[i], (first[i], last[i]), bars, cut)
