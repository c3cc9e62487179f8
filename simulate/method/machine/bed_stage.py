"""One stage of filing a bed: look with its gauge, mark, take metal off in passes, look again."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from simulate.bench.cutting.filing import depth_map
from simulate.bench.cutting.rocking import end_tips
from simulate.bench.seating.bar_seat import settle
from simulate.method.bars.fitting import LIGHTER, PATIENCE, PROGRESS, STALE, Shop, fit, gap_limit_um
from simulate.method.machine.bed import judge_bed, winding_strips_um
from simulate.method.machine.bed_gauges import LandMap, across_um, told_by_lands

STAGES = ("along each way", "winding strips", "corner to corner", "across both ways")
"""What is done in a round, in its order: across a bed that is still twisted, a straightedge calls twist a lean of the
tops."""

AGAIN = 3
"""How often the maker looks again over strips or diagonals after a wedge is off (common practice, no source)."""


@dataclass(frozen=True)
class BedWork:
    """What every stage of a run has in common.

    `y` (4,): places of the four edges across the bed. `edge` (points,): the straightedge. `gauges`: land gauges in
    place of the straightedge. `zero`: what each land gauge shows on a straight way.
    """

    shop: Shop
    y: np.ndarray
    edge: np.ndarray
    apart: float
    removal: float
    gauges: LandMap | None
    zero: float
    strip: float
    strip_sight: float
    strip_error: float


def do_stage(work: BedWork, edges: np.ndarray, stage: str, turn: int = 1) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Do one stage.

    `edges` (workshops, 4, points). `stage`: one of `STAGES`. `turn`: which round it is. Returns `edges` (workshops, 4,
    points). `passes` (workshops, 2): on each way; a pass over one edge counts as one. `seen_um` (workshops,): what the
    gauge showed first.
    """
    if stage == STAGES[0]:
        return _along(work, edges, turn)
    if stage == STAGES[3]:
        after, passes, seen = _until_dark(work, edges, lambda some: across_um(some, work.y))
        return after, passes.reshape(-1, 2, 2).sum(axis=2), seen
    return _twist(work, edges, stage)


def _along(work: BedWork, edges: np.ndarray, turn: int):
    """File both ways to what lies along them."""
    ways = middles(edges)
    if work.gauges is None:
        after, passes, first = _by_straightedge(work, ways)
    elif turn > 1:
        after, passes, first = _by_lands(work, ways)
    else:
        rough, before, first = _by_straightedge(work, ways)
        after, passes, _ = _by_lands(work, rough)
        passes = passes + before
    return _over_both_edges(work, edges, ways - after, passes), passes, first


def _over_both_edges(work: BedWork, edges: np.ndarray, off: np.ndarray, passes: np.ndarray) -> np.ndarray:
    """Take metal off both ways over their whole width; the hands rock, so one edge of a top gets a little more."""
    hands = work.shop.hands.scatter * work.shop.rng.standard_normal(passes.shape) / np.sqrt(np.maximum(passes, 1))
    rock = np.stack([1 - hands, 1 + hands], axis=-1).reshape(len(edges), 4, 1)
    return edges - np.maximum(rock, 0) * np.repeat(off, 2, axis=1)


def middles(edges: np.ndarray) -> np.ndarray:
    """Give the middles of the ways from their four edges.

    `edges` (..., 4, points). Returns (..., 2, points).

    >>> middles(np.array([[0.0], [2.0], [4.0], [8.0]]))[:, 0].tolist()
    [1.0, 6.0]
    """
    return 0.5 * (edges[..., ::2, :] + edges[..., 1::2, :])


def _by_straightedge(work: BedWork, ways: np.ndarray):
    rows = ways.reshape(-1, ways.shape[-1])
    first = _seated(work, rows + work.edge).reshape(ways.shape).max(axis=(1, 2))
    found = fit(work.shop, np.broadcast_to(work.edge, rows.shape).copy(), rows, work.removal, 0.0)
    return found.upper.reshape(ways.shape), found.upper_passes.reshape(-1, 2).astype(float), first


def _by_lands(work: BedWork, ways: np.ndarray):
    def look(some: np.ndarray) -> np.ndarray:
        told = told_by_lands(work.shop.x_mm, some, work.gauges, work.zero, work.shop.rng)
        return _seated(work, told.reshape(-1, told.shape[-1])).reshape(some.shape)

    return _until_dark(work, ways, look, apart=True)


def _seated(work: BedWork, rows: np.ndarray) -> np.ndarray:
    x = work.shop.x_mm
    return settle(x, rows, 0.5 * (x[0] + x[-1]), np.zeros(len(rows)))


def _until_dark(work: BedWork, faces: np.ndarray, look: Callable[[np.ndarray], np.ndarray], apart: bool = False):
    """File where the gauge touches until no light is seen or filing no longer helps.

    `apart` judges each face for itself by what is told of it; otherwise all of a bed go on together. What is told does
    not show how far the ends are tipped already, so that there the last pass's tip alone is left on each.
    """
    if apart:
        steady = replace(work, shop=replace(work.shop, hands=replace(work.shop.hands, rock_deg=0.0)))
        return _tipped_once(work, *_work_down(steady, faces, look, apart=True))
    return _work_down(work, faces, look)


def _tipped_once(work: BedWork, faces: np.ndarray, count: np.ndarray, first: np.ndarray):
    """Leave on the ends of faces that were filed what one pass tips."""
    shop, filed = work.shop, (count > 0).reshape(-1, 1)
    rows = faces.reshape(-1, faces.shape[-1])
    for end, tip in end_tips(shop.x_mm, len(rows), shop.tool, shop.hands, shop.rng):
        rows[:, end] -= filed * tip
    return rows.reshape(faces.shape), count, first


def _work_down(work: BedWork, faces: np.ndarray, look: Callable[[np.ndarray], np.ndarray], apart: bool = False):
    """Look, file, and look again."""
    now, shop = faces.copy(), work.shop
    count = np.zeros(faces.shape[:2])
    best, stale, left, first = np.full(count.shape, np.inf), np.zeros(count.shape), None, None
    stop = gap_limit_um(work.removal, shop.sight, shop.hands)
    going = np.ones(len(faces), bool)
    while going.any():
        rows = np.flatnonzero(going)
        gap = look(now[rows])
        widest = gap.max(axis=-1)
        widest = widest if apart else np.broadcast_to(widest.max(axis=1, keepdims=True), widest.shape)
        if left is None:
            left, first = PATIENCE * widest / work.removal + STALE + 1, widest.max(axis=1)
        stale[rows] = np.where(widest < best[rows] - PROGRESS * work.removal, 0, stale[rows] + 1)
        best[rows] = np.minimum(best[rows], widest)
        on = (widest > stop) & (stale[rows] < STALE) & (count[rows] < left[rows])
        depth = np.where(on, work.removal * 0.5 ** (stale[rows] // LIGHTER), 0.0)
        _pass(work, now, rows, gap, depth)
        count[rows] += on
        going[rows] = on.any(axis=1)
    return now, count, first


def _twist(work: BedWork, edges: np.ndarray, stage: str):
    """Read twist from end to end, mark a wedge on each way where it is seen, take it off, and look again."""
    now, passes, first = edges, np.zeros((len(edges), 2)), None
    for _ in range(AGAIN):
        seen, lift = _read_twist(work, middles(now), stage)
        first = seen if first is None else first
        if not lift.any():
            break
        ways = middles(now)
        after, more = _off(work, ways, _wedge(work, lift))
        now, passes = _over_both_edges(work, now, ways - after, more), passes + more
    return now, passes, first


def _read_twist(work: BedWork, ways: np.ndarray, stage: str) -> tuple[np.ndarray, np.ndarray]:
    """Return what is seen, and how much the back way gains on the front one from head to tail, 0 where unseen."""
    x = work.shop.x_mm
    if stage == STAGES[1]:
        seen = winding_strips_um(x, ways, work.apart, (x[0], x[-1]), work.strip) + work.strip_error * work.strip / 1000
        lift, smallest = seen * work.apart / work.strip, work.strip_sight
    else:
        seen = judge_bed(x, ways, work.apart).corners_um
        lift, smallest = 2 * seen, work.shop.sight.threshold_um
    return seen, np.where(np.abs(seen) > smallest, lift, 0.0)


def _wedge(work: BedWork, lift: np.ndarray) -> np.ndarray:
    """Metal that takes a twist out: on each way from nothing at its low end to half of the twist at the other."""
    x = work.shop.x_mm
    error = lift[:, None, None] * np.array([-0.5, 0.5])[:, None] * (x - x[0]) / (x[-1] - x[0])
    return error - error.min(axis=-1, keepdims=True)


def _off(work: BedWork, ways: np.ndarray, meant: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Take a marked wedge off in passes, each where the most is left by the maker's own count; the file lies on the
    face, and does not reach again where it tipped deeper before."""
    now, left, rows = ways.copy(), meant.copy(), np.arange(len(ways))
    count = np.zeros(ways.shape[:2])
    while (left > 1e-9).any():
        most = left.max(axis=-1)
        depth = np.minimum(most, work.removal)
        deeper = np.maximum(ways - (meant - left) - now, 0.0)
        _pass(work, now, rows, most[..., None] - left + deeper, depth)
        left = np.minimum(left, (most - depth)[..., None])
        count += depth > 0
    return now, count


def _pass(work: BedWork, faces: np.ndarray, rows: np.ndarray, gap: np.ndarray, depth: np.ndarray) -> None:
    """Take one pass in place; faces whose depth is 0 are left alone."""
    shop, points = work.shop, faces.shape[-1]
    some = faces[rows].reshape(-1, points)
    off = depth_map(
        shop.x_mm,
        some,
        gap.reshape(-1, points),
        depth.reshape(-1, 1),
        shop.sight.threshold_um,
        shop.tool,
        shop.hands,
        shop.rng,
    )
    faces[rows] -= np.where(depth[..., None] > 0, off.reshape(gap.shape), 0.0)
