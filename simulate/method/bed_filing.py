"""Filing a bed: straightedge along each way, winding strips, then corner to corner, round by round."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cut import Hands, Tool, tool_of
from simulate.bench.sight import Sight
from simulate.method.bed import judge_bed, winding_strips_um
from simulate.method.fitting import Shop, fit
from simulate.surface import checks

STAGES = ("straightedge along each way", "winding strips", "corner to corner")
"""What is done in a round, in its order."""


@dataclass(frozen=True)
class BedLook:
    """The look at the start of a stage, for one workshop.

    Attributes
    ----------
    round : int
        Counted from 1.
    stage : str
        One of `STAGES`.
    height_um : numpy.ndarray, shape (2, points)
        The bed at this look.
    removed_um : numpy.ndarray, shape (2, points)
        Metal that this stage takes.
    seen_um : float
        What the gauge shows: step over the strips, difference of the diagonals; 0 for the straightedge.
    passes : int
        On both ways, in this stage.
    """

    round: int
    stage: str
    height_um: np.ndarray
    removed_um: np.ndarray
    seen_um: float
    passes: int


@dataclass(frozen=True)
class BedHistory:
    """A bed being filed, the start first.

    Attributes
    ----------
    x_mm : numpy.ndarray, shape (points,)
    height_um : numpy.ndarray, shape ([workshops,] rounds + 1, 2, points)
    straightness_um : numpy.ndarray, shape ([workshops,] rounds + 1, 2)
    twist_urad : numpy.ndarray, shape ([workshops,] rounds + 1)
    passes : numpy.ndarray, shape ([workshops,] rounds + 1, 2)
        On each way, since the start.
    looks : tuple of BedLook
        Of a single workshop; empty for many.
    """

    x_mm: np.ndarray
    height_um: np.ndarray
    straightness_um: np.ndarray
    twist_urad: np.ndarray
    passes: np.ndarray
    looks: tuple[BedLook, ...] = ()


def file_bed(x_mm: ArrayLike, height_um: ArrayLike, edge_um: ArrayLike, *, apart_mm: float, rounds: int, removal_um: float,
             strip_mm: float = 400.0, strip_sight_um: float = 50.0, strip_error_urad: float = 0.0, sight: Sight = Sight(),
             tool: str | Tool = "second-cut file", hands: Hands = Hands(), seed: int | None = None) -> BedHistory:
    """File a bed of two ways straight and out of twist.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
    height_um : array_like, shape ([workshops,] 2, points)
        Front way first.
    edge_um : array_like, shape (points,)
        The straightedge's own errors; positive is proud.
    apart_mm : float
        Between the ways.
    rounds : int
    removal_um : float
        Metal a pass takes.
    strip_mm, strip_sight_um, strip_error_urad : float
        Length of the winding strips, the smallest step that the eye sees over them, and how far from parallel
        they are: what an error there files into the bed, unless the diagonals take it out.
    sight, tool, hands : Sight, str or Tool, Hands
    seed : int, optional

    Returns
    -------
    BedHistory
        What it cannot see: a straightedge that bends between its supports, and a bed that bends under its feet.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    A way ends as the opposite of the straightedge (derived). Twist is taken out by two wedges, half on each way,
    so that metal comes off the two high corners only.

    Examples
    --------
    >>> from simulate.method.bed import starting_bed
    >>> x_mm, bed_um = starting_bed(600, 80, 300, points=61, seed=1)
    >>> run = file_bed(x_mm, bed_um, 0 * x_mm, apart_mm=200, rounds=2, removal_um=8.0, seed=1)
    >>> run.height_um.shape, bool(abs(run.twist_urad[-1]) < 60), len(run.looks)
    ((3, 2, 61), True, 6)
    """
    x = checks.positions(x_mm)
    h = checks.profiles(height_um, x.size, bars=2)
    edge = checks.profiles(edge_um, x.size, "edge_um")
    shop = Shop(x, sight, tool_of(tool), hands, np.random.default_rng(seed))
    work = _Work(shop, np.broadcast_to(edge, x.shape), checks.number(apart_mm, "apart_mm", 0, above=True),
                 checks.number(removal_um, "removal_um", 0, above=True), checks.number(strip_mm, "strip_mm", 0, above=True),
                 checks.number(strip_sight_um, "strip_sight_um", 0), checks.number(strip_error_urad, "strip_error_urad"))
    now, done = h.reshape(-1, 2, x.size).copy(), np.zeros((h.size // (2 * x.size), 2))
    kept, counts, looks = [now], [done], []
    for number in range(1, checks.whole(rounds, "rounds", 0) + 1):
        for stage in STAGES:
            after, passes, seen = _along(work, now) if stage == STAGES[0] else _twist(work, now, stage)
            if h.ndim == 2:
                looks.append(BedLook(number, stage, now[0], now[0] - after[0], float(seen[0]), int(passes[0].sum())))
            now, done = after, done + passes
        kept.append(now)
        counts.append(done)
    shape = h.shape[:-2] + (len(kept),)
    heights = np.stack(kept, axis=1).reshape(shape + (2, x.size))
    form = judge_bed(x, heights, work.apart)
    return BedHistory(x, heights, form.straightness_um, form.twist_urad, np.stack(counts, axis=1).reshape(shape + (2,)), tuple(looks))


@dataclass(frozen=True)
class _Work:
    shop: Shop
    edge: np.ndarray
    apart: float
    removal: float
    strip: float
    strip_sight: float
    strip_error: float


def _along(work: _Work, h: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """File both ways to the straightedge."""
    ways = h.reshape(-1, work.shop.x_mm.size)
    found = fit(work.shop, np.broadcast_to(work.edge, ways.shape).copy(), ways, work.removal, 0.0)
    return found.upper.reshape(h.shape), found.upper_passes.reshape(-1, 2).astype(float), np.zeros(len(h))


def _twist(work: _Work, h: np.ndarray, stage: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Read twist from end to end, and take two wedges off where it is seen."""
    x = work.shop.x_mm
    if stage == STAGES[1]:
        seen = winding_strips_um(x, h, work.apart, (x[0], x[-1]), work.strip) + work.strip_error * work.strip / 1000
        across, smallest = seen * work.apart / work.strip, work.strip_sight
    else:
        seen = judge_bed(x, h, work.apart).corners_um
        across, smallest = 2 * seen, work.shop.sight.threshold_um
    across = np.where(np.abs(seen) > smallest, across, 0.0)
    t = (x - x[0]) / (x[-1] - x[0])
    up, down = np.maximum(across, 0)[:, None], np.maximum(-across, 0)[:, None]
    wedge = 0.5 * np.stack([up * (1 - t) + down * t, up * t + down * (1 - t)], axis=1)
    passes = np.ceil(wedge.max(axis=-1) / work.removal - 1e-9)
    chance = work.shop.rng.standard_normal(passes.shape) / np.sqrt(np.maximum(passes, 1))
    uneven = 1 + work.shop.hands.crown * (2 * t - 1) ** 2 + (work.shop.hands.scatter * chance)[..., None]
    return h - wedge * np.maximum(uneven, 0), passes, seen
