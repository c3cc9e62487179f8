"""Two bars, which only learn to agree, and three bars, which learn to be straight."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cut import Hands, Tool, tool_of
from simulate.bench.sight import Sight
from simulate.core.chance import generator
from simulate.core.refusal import Refusal
from simulate.method.fitting import Fitted, Shop, fit, floor_um
from simulate.method.history import BarHistory
from simulate.method.record import Recorder, Recording
from simulate.surface import checks
from simulate.surface.cores import shared_out
from simulate.surface.form import straightness

STREAM_HEIGHTS = 1 << 18
"""Heights of each bar in a block of workshops. Each block has a stream of chance of its own and goes to one core, so that
what a seed gives hangs on this number and neither on the cores nor on how many blocks follow: it is part of the contract."""


def two_bars(x_mm: ArrayLike, height_um: ArrayLike, *, removal_um: float | Sequence[float], rounds: int = 1,
             share: float = 0.5, seed: int | np.random.Generator | None = None, sight: Sight = Sight(),
             tool: str | Tool = "second-cut file", hands: Hands = Hands(), width_mm: float = 10.0,
             record: bool | Recording | None = None) -> BarHistory:
    """Two bars filed until they fit each other.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Evenly spaced positions, symmetrical about the middle.
    height_um : array_like, shape ([workshops,] 2, points)
    removal_um : float or sequence of float
        Metal per pass, the same in all rounds or one figure a round.
    rounds : int
    share : float
        Share of the metal that bar 1 gives up, 0 to 1.
    seed : int or Generator, optional
    sight : Sight
    tool : str or Tool
    hands : Hands
    width_mm : float
        Width of the edge, for the volume of metal.
    record : bool or Recording, optional
        Whether every look is kept, or how much of a long run; by default every look of a single workshop.

    Returns
    -------
    BarHistory

    Raises
    ------
    ValueError
        Where shapes differ, a number is not finite or out of its range.

    Notes
    -----
    Cannot see: any shape that one bar has and the other has the other way up.
    Two bars that agree prove only that they are opposites.

    Examples
    --------
    >>> x = np.linspace(-250, 250, 101)
    >>> bow = 300 * (1 - (x / 250) ** 2)
    >>> run = two_bars(x, [bow, -0.5 * bow], removal_um=15, seed=1)
    >>> bool(run.light_um[-1] < 10), bool(run.straightness_um[-1].min() > 150)
    (True, True)
    """
    return _run(_two_round, 2, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, width_mm, record)


def three_bars(x_mm: ArrayLike, height_um: ArrayLike, *, rounds: int, removal_um: float | Sequence[float],
               share: float = 0.5, seed: int | np.random.Generator | None = None, sight: Sight = Sight(),
               tool: str | Tool = "second-cut file", hands: Hands = Hands(), width_mm: float = 10.0,
               record: bool | Recording | None = None, lands: int = 1) -> BarHistory:
    """Three bars taken round the loop of the trade.

    Two bars are fitted to the gauge; they are put on each other, where twice
    the gauge's error shows, and that split is taken from both; the old gauge is
    made again from the better of the two, which is the gauge of the next round.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Evenly spaced positions, symmetrical about the middle.
    height_um : array_like, shape ([workshops,] 3, points)
        The first bar is the first gauge.
    rounds : int
    removal_um : float or sequence of float
        Metal per pass, the same in all rounds or one figure a round.
    share : float
        Share of the split's metal that the first of the two bars gives up, 0 to 1.
    seed : int or Generator, optional
    sight : Sight
    tool : str or Tool
    hands : Hands
    width_mm : float
        Width of the edge, for the volume of metal.
    record : bool or Recording, optional
        Whether every look is kept, or how much of a long run; by default every look of a single workshop.
    lands : int
        1 for whole edges. Otherwise the points lie on so many lands, equally
        many on each and evenly spaced there, and each land is filed for itself.

    Returns
    -------
    BarHistory

    Raises
    ------
    ValueError
        Where shapes differ, a number is not finite or out of its range.

    Notes
    -----
    One round leaves ``|2 * share - 1|`` of the error, until the floor (derived:
    both bars carry the gauge's error e turned over, together 2e, and share s
    takes 2se from the one). Cannot see: a bend that all bars get from lying on
    each other, twist, and any gap smaller than sight. The better of the two
    bars is judged from the three fits, to within what can be seen.

    Examples
    --------
    >>> x = np.linspace(-250, 250, 101)
    >>> bow = 300 * (1 - (x / 250) ** 2)
    >>> run = three_bars(x, [bow, 0 * bow, -bow], rounds=2, removal_um=10, seed=1)
    >>> bool(run.straightness_um[-1].max() < 15)
    True
    """
    return _run(_three_round, 3, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, width_mm,
                record, checks.whole(lands, "lands", 1))


def _run(one_round, bars, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, width_mm, record,
         lands=1):
    x = checks.even_positions(x_mm, at_least=3 * lands, lands=lands)
    h = checks.profiles(height_um, x.size, bars=bars)
    if h.ndim > 3:
        raise Refusal("shape", where="height_um", found=f"{h.shape}", must_be=f"([workshops,] {bars}, points)")
    rounds = checks.whole(rounds, "rounds", 0)
    metal = _per_round(removal_um, rounds)
    share = checks.number(share, "share", 0, 1)
    width = checks.number(width_mm, "width_mm", 0, above=True)
    chosen, one = tool_of(tool), h.ndim == 2
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    if not isinstance(record, Recording):
        checks.choice(record, "record", (None, False, True))
    if record and not one:
        raise Refusal("count", where="height_um", found=f"{len(h)} workshops",
                      must_be="one, for record keeps the looks of one workshop")
    start = h[None] if one else h
    recorder = _recorder(x, sight, record, one)
    out = _empty(start.shape, rounds)
    out[0][:, 0] = start

    at_once = max(1, STREAM_HEIGHTS // x.size)
    pieces = [slice(a, a + at_once) for a in range(0, len(start), at_once)]
    chances = generator(seed).spawn(len(pieces))  # each piece its own: it does not matter which is first

    def through_all_rounds(task):
        some, rng = task
        *piece, form, filed_off = (part[some] for part in out)
        for r in range(rounds):
            if recorder is None or recorder.goes_on():
                one_round(Shop(x, sight, chosen, hands, rng, lands), piece, r, metal[r], share, recorder)
        form[:] = straightness(x, piece[0]).value_um
        filed_off[:] = _filed_off_mm3(x, piece[0], lands, width)

    for _ in shared_out(through_all_rounds, zip(pieces, chances)):
        pass
    made = rounds if recorder is None else recorder.rounds
    floor = floor_um(metal[made - 1] if made else 0.0, sight, hands)
    return _history(x, out, floor, one, recorder)


def _recorder(x, sight, record, one):
    if not (one if record is None else record):
        return None
    return Recorder(x, sight.threshold_um, record if isinstance(record, Recording) else Recording())


def _per_round(removal_um, rounds):
    metal = np.atleast_1d(checks.numbers(removal_um, "removal_um"))
    if metal.ndim > 1 or metal.size not in (1, rounds):
        raise Refusal("count", where="removal_um", found=f"{metal.size} figures",
                      must_be=f"one figure, or one for each of {rounds} rounds")
    if (metal <= 0).any():
        raise Refusal("range", where="removal_um", found=f"{metal.min():g}", must_be="more than 0")
    return np.broadcast_to(metal, (rounds,)) if metal.size == 1 else metal


def _empty(shape, rounds):
    workshops, bars, points = shape
    heights = np.zeros((workshops, rounds + 1, bars, points))  # of no pages before they are written
    passes = np.zeros((workshops, rounds + 1, bars), dtype=int)
    gauge = np.zeros((workshops, rounds + 1), dtype=int)
    light = np.full((workshops, rounds + 1), np.nan)
    form, metal = np.zeros((2, workshops, rounds + 1, bars))
    return [heights, passes, gauge, light, form, metal]


def _filed_off_mm3(x, heights, lands, width):
    """Metal since the start, by the trapezium rule on each land."""
    along = np.concatenate([np.trapezoid(np.eye(land.size), land) for land in x.reshape(lands, -1)])  # mm for each point
    return width * 1e-3 * np.einsum("wrbp,p->wrb", heights[:, :1] - heights, along)


def _history(x, out, floor, one, recorder):
    heights, passes, gauge, light, form, metal = out
    parts = [heights, form, passes, metal, gauge, light]
    if recorder:
        parts = [p[:, : recorder.rounds + 1] for p in parts]
    if one:
        parts = [p[0] for p in parts]
    return BarHistory(x, *parts, float(floor), *((recorder.steps(), recorder.every) if recorder else ()))


def _two_round(shop, piece, r, removal, share, recorder):
    heights, passes, gauge, light = piece
    done = fit(shop, heights[:, r, 0], heights[:, r, 1], removal, share, recorder)
    if recorder:
        recorder.add(heights[0, r], r + 1, "fit", [(0, 1)])
    heights[:, r + 1] = np.stack([done.lower, done.upper], axis=1)
    passes[:, r + 1] = passes[:, r] + np.stack([done.lower_passes, done.upper_passes], axis=1)
    gauge[:, r + 1], light[:, r + 1] = gauge[:, r], done.light_um


def _three_round(shop, piece, r, removal, share, recorder):
    heights, passes, gauge, light = piece
    rows = np.arange(len(heights))
    g = gauge[:, r]
    a, b = np.where(g == 0, 1, 0), np.where(g == 2, 1, 2)
    h, count = heights[:, r].copy(), passes[:, r].copy()

    master = np.concatenate([h[rows, g], h[rows, g]])
    both = fit(shop, master, np.concatenate([h[rows, a], h[rows, b]]), removal, 0.0, recorder)
    if recorder:
        recorder.add(h[0], r + 1, "fit", [(g[0], a[0]), (g[0], b[0])])
    h[rows, a], h[rows, b] = np.split(both.upper, 2)
    count[rows, a] += both.upper_passes[: len(rows)]
    count[rows, b] += both.upper_passes[len(rows):]

    pair = fit(shop, h[rows, a], h[rows, b], removal, share, recorder)
    if recorder:
        recorder.add(h[0], r + 1, "split", [(a[0], b[0])])
    _put(h, count, rows, a, b, pair)

    new = np.where(_seen_error(shop, h[rows, b]) < _seen_error(shop, h[rows, a]), b, a)
    again = fit(shop, h[rows, new], h[rows, g], removal, 0.0, recorder)
    if recorder:
        recorder.add(h[0], r + 1, "remake", [(new[0], g[0])])
    _put(h, count, rows, new, g, again)
    heights[:, r + 1], passes[:, r + 1], gauge[:, r + 1] = h, count, new
    light[:, r + 1] = np.maximum(pair.light_um, again.light_um)


def _put(h: np.ndarray, count: np.ndarray, rows: np.ndarray, low: np.ndarray, up: np.ndarray, done: Fitted) -> None:
    h[rows, low], h[rows, up] = done.lower, done.upper
    count[rows, low] += done.lower_passes
    count[rows, up] += done.upper_passes


def _seen_error(shop: Shop, h: np.ndarray) -> np.ndarray:
    """How far a bar is out as the three fits tell it, in whole steps of what can be seen."""
    line = np.stack([np.ones_like(shop.x_mm), shop.x_mm - shop.x_mm.mean()])
    line /= np.linalg.norm(line, axis=1, keepdims=True)
    out = np.ptp(h - h @ line.T @ line, axis=1)
    return np.floor(out / max(shop.sight.threshold_um, 1e-9))
