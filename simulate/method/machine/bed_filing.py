"""Filing a bed round by round: along each way, winding strips, corner to corner, across both ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cutting.rocking import across
from simulate.bench.cutting.tools import Hands, Tool
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal, shape_words
from simulate.method.bars.fitting import Shop
from simulate.method.machine.bed import judge_bed
from simulate.method.machine.bed_gauges import ALONG, across_um, edge_heights, edges_mm, land_map
from simulate.method.machine.bed_stage import STAGES, BedWork, do_stage, middles

__all__ = ["STAGES", "BedHistory", "BedLook", "file_bed"]


@dataclass(frozen=True)
class BedLook:
    """The look at the start of a stage, for one workshop.

    `round`: counted from 1. `stage`: one of `STAGES`. `height_um` (2, points): the middles of both ways at this look.
    `lean_urad` (2,): how the tops lean, on the mean; positive where the back edge is higher. `removed_um` (2, points):
    metal that this stage takes, the mean of both edges. `seen_um`: what the gauge shows first: widest gap along or
    across, step over the strips, difference of the diagonals. `passes`: on both ways, in this stage.
    """

    round: int
    stage: str
    height_um: np.ndarray
    lean_urad: np.ndarray
    removed_um: np.ndarray
    seen_um: float
    passes: int


@dataclass(frozen=True)
class BedHistory:
    """A bed being filed, the start first.

    `x_mm` (points,), `height_um` ([workshops,] rounds + 1, 2, points), `straightness_um` ([workshops,] rounds + 1, 2),
    `twist_urad` ([workshops,] rounds + 1). `across_um` ([workshops,] rounds + 1): widest gap under a straightedge
    across both ways, over all stations. `passes` ([workshops,] rounds + 1, 2): on each way, since the start. `looks`:
    of a single workshop; empty for many.
    """

    x_mm: np.ndarray
    height_um: np.ndarray
    straightness_um: np.ndarray
    twist_urad: np.ndarray
    across_um: np.ndarray
    passes: np.ndarray
    looks: tuple[BedLook, ...] = ()


def file_bed(  # noqa: PLR0913  (figures of one job, by their names)
    x_mm: ArrayLike,
    height_um: ArrayLike,
    edge_um: ArrayLike,
    *,
    apart_mm: float,
    rounds: int,
    removal_um: float,
    lean_urad: ArrayLike = 0.0,
    way_mm: float = 30.0,
    along: str = "straightedge",
    lands: int = 13,
    land_sd_um: float = 0.8,
    land_zero_um: float = 0.0,
    strip_mm: float = 400.0,
    strip_sight_um: float = 50.0,
    strip_error_urad: float = 0.0,
    sight: Sight = Sight(),
    tool: str | Tool = "second-cut file",
    hands: Hands = Hands(),
    seed: int | None = None,
) -> BedHistory:
    """File a bed of two ways straight, out of lean and out of twist.

    `x_mm` (points,): evenly spaced, the middle of the bed at 0. `height_um` ([workshops,] 2, points): middles of the
    ways, front way first. `edge_um` (points,): the straightedge's own errors; positive is proud. `apart_mm`: between
    the middles of the ways. `removal_um`: metal a pass takes. `lean_urad`: how the top of each way leans at the start,
    front and back; positive where its back edge is higher. `way_mm`: width of a way. `along` ({"straightedge",
    "straightedge, then land gauges"}): what lies along the ways. `lands`, `land_sd_um`, `land_zero_um`: points that
    land gauges tie along a way, the spread of one fit, and what each gauge shows on a straight way. `strip_mm`,
    `strip_sight_um`, `strip_error_urad`: length of the winding strips, the smallest step that the eye sees over them,
    and how far from parallel they are: what an error there files into the bed, unless the diagonals take it out.
    `tool`: a file given by its name is led across the ways. `hands`: as for bars. Returns: what it cannot see: a
    straightedge that bends between its supports, a way between the lands, and a bed that bends under its feet.

    A way ends as the opposite of the straightedge, or where the gauges' zero leaves it (derived). Twist is marked
    as a wedge on each edge, so that metal comes off the two high corners only; the wedge goes off in passes, each
    where the most is left, and the strips are looked at again.

    >>> from simulate.method.machine.bed import starting_bed
    >>> x_mm, bed_um = starting_bed(600, 80, 300, points=61, seed=1)
    >>> run = file_bed(x_mm, bed_um, 0 * x_mm, apart_mm=200, rounds=2, removal_um=8.0, seed=1)
    >>> run.height_um.shape, bool(abs(run.twist_urad[-1]) < 60), len(run.looks)
    ((3, 2, 61), True, 8)
    """
    x = checks.even_positions(x_mm)
    h = checks.profiles(height_um, x.size, bars=2)
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    number, y = checks.number, edges_mm(apart_mm, way_mm)
    checks.choice(along, "along", ALONG)
    gauges = None
    if along == ALONG[1]:
        gauges = land_map(float(x[-1] - x[0]), lands, max(number(land_sd_um, "land_sd_um", 0), 1e-9))
    work = BedWork(
        Shop(x, sight, across(tool), hands, generator(seed)),
        y,
        checks.profiles(edge_um, x.size, "edge_um"),
        number(apart_mm, "apart_mm", 0, above=True),
        number(removal_um, "removal_um", 0, above=True),
        gauges,
        number(land_zero_um, "land_zero_um"),
        number(strip_mm, "strip_mm", 0, above=True),
        number(strip_sight_um, "strip_sight_um", 0),
        number(strip_error_urad, "strip_error_urad"),
    )
    lean = checks.numbers(lean_urad, "lean_urad")
    if checks.together(lean_urad=lean, ways=h[..., 0])[0].shape != h.shape[:-1]:
        raise Refusal(
            "shape",
            where="lean_urad",
            found=shape_words(lean.shape),
            must_be=f"{shape_words(h.shape[:-1])}, one lean for each way",
        )
    lean = np.broadcast_to(lean, h.shape[:-1])
    now = edge_heights(h, lean, way_mm).reshape(-1, 4, x.size)
    done = np.zeros((len(now), 2))
    kept, counts, looks = [now], [done], []
    for turn in range(1, checks.whole(rounds, "rounds", 0) + 1):
        for stage in STAGES:
            after, passes, seen = do_stage(work, now, stage, turn)
            if h.ndim == 2:
                looks.append(_look(turn, stage, now[0], after[0], way_mm, float(seen[0]), int(passes[0].sum())))
            now, done = after, done + passes
        kept.append(now)
        counts.append(done)
    return _history(work, np.stack(kept, axis=1), np.stack(counts, axis=1), h.shape[:-2], tuple(looks))


def _look(
    turn: int, stage: str, now: np.ndarray, after: np.ndarray, way_mm: float, seen: float, passes: int
) -> BedLook:
    lean = (now[1::2] - now[::2]).mean(axis=-1) / way_mm * 1000
    return BedLook(turn, stage, middles(now), lean, middles(now - after), seen, passes)


def _history(
    work: BedWork, edges: np.ndarray, counts: np.ndarray, lead: tuple[int, ...], looks: tuple[BedLook, ...]
) -> BedHistory:
    heights = middles(edges).reshape(lead + (edges.shape[1], 2, edges.shape[-1]))
    form = judge_bed(work.shop.x_mm, heights, work.apart)
    across = across_um(edges, work.y).max(axis=(-2, -1)).reshape(lead + (edges.shape[1],))
    return BedHistory(
        work.shop.x_mm,
        heights,
        form.straightness_um,
        form.twist_urad,
        across,
        counts.reshape(lead + counts.shape[1:]),
        looks,
    )
