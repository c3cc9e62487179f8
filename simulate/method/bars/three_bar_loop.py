"""Two bars, which only learn to agree, and three bars, which learn to be straight."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.bending.moving_steel import Steel, bow_shape, settled_part
from simulate.bench.cutting.tools import Hands, Tool, tool_of
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.parallel import fill_parts
from simulate.core.refusal import Refusal, counted, shape_words
from simulate.method.bars.bar_history import BarHistory
from simulate.method.bars.fitting import Fitted, Shop, fit, gap_limit_um
from simulate.method.bars.recorder import Recorder, Recording
from simulate.surface.straightness import straightness

STREAM_HEIGHTS = 1 << 18
"""Heights of each bar in a block of workshops. Each block has a stream of chance of its own and goes to one core, so
that what a seed gives hangs on this number and neither on the cores nor on how many blocks follow: it is part of the
contract."""


def two_bars(
    x_mm: ArrayLike,
    height_um: ArrayLike,
    *,
    removal_um: float | Sequence[float],
    rounds: int = 1,
    share: float = 0.5,
    seed: int | np.random.Generator | None = None,
    sight: Sight = Sight(),
    tool: str | Tool = "second-cut file",
    hands: Hands = Hands(),
    steel: Steel = Steel(),
    record: bool | Recording | None = None,
    executor: Executor | None = None,
) -> BarHistory:
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
    steel : Steel
        How wide the edges are, for the volume of metal, and how the bars move while they are worked; by default they
        do not.
    record : bool or Recording, optional
        Whether every look is kept, or how much of a long run; by default every look of a single workshop.
    executor : concurrent.futures.Executor, optional
        Whoever runs the blocks of many workshops: processes, or a cluster through its own executor. The same seed
        gives the same figures on one core, on threads and there. It stays open.

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
    >>> bool(run.light_um[-1] < 40), bool(run.straightness_um[-1].min() > 150)
    (True, True)
    """
    loop = _Loop(_two_round, 2, executor=executor)
    return _run(loop, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, steel, record)


def three_bars(  # noqa: PLR0913  (figures of one job, by their names)
    x_mm: ArrayLike,
    height_um: ArrayLike,
    *,
    rounds: int,
    removal_um: float | Sequence[float],
    share: float = 0.5,
    seed: int | np.random.Generator | None = None,
    sight: Sight = Sight(),
    tool: str | Tool = "second-cut file",
    hands: Hands = Hands(),
    steel: Steel = Steel(),
    record: bool | Recording | None = None,
    lands: int = 1,
    executor: Executor | None = None,
) -> BarHistory:
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
    steel : Steel
        How wide the edges are, for the volume of metal, and how the bars move while they are worked; by default they
        do not.
    record : bool or Recording, optional
        Whether every look is kept, or how much of a long run; by default every look of a single workshop.
    lands : int
        1 for whole edges. Otherwise the points lie on so many lands, equally
        many on each and evenly spaced there, and each land is filed for itself.
    executor : concurrent.futures.Executor, optional
        Whoever runs the blocks of many workshops: processes, or a cluster through its own executor. The same seed
        gives the same figures on one core, on threads and there. It stays open.

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
    >>> bool(run.straightness_um[-1].max() < 60)
    True
    """
    loop = _Loop(_three_round, 3, checks.whole(lands, "lands", 1), executor)
    return _run(loop, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, steel, record)


class _Loop(NamedTuple):
    """One round of the trade, for so many bars, each with its points on so many lands, and who does the work."""

    one_round: Callable
    bars: int
    lands: int = 1
    executor: Executor | None = None


def _run(loop, x_mm, height_um, removal_um, rounds, share, seed, sight, tool, hands, steel, record):
    _, bars, lands, executor = loop
    x = checks.even_positions(x_mm, at_least=3 * lands, lands=lands)
    h = checks.profiles(height_um, x.size, bars=bars)
    if h.ndim > 3:
        raise Refusal(
            "shape",
            where="height_um",
            found=shape_words(h.shape),
            must_be=f"{bars} rows of heights, one for each bar",
        )
    rounds = checks.whole(rounds, "rounds", 0)
    metal = _per_round(removal_um, rounds)
    share = checks.number(share, "share", 0, 1)
    chosen, one = tool_of(tool), h.ndim == 2
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    checks.kind(steel, "steel", Steel)
    if not isinstance(record, Recording):
        checks.choice(record, "record", (None, False, True))
    if record and not one:
        raise Refusal(
            "count",
            where="height_um",
            found=f"{len(h)} workshops",
            must_be="one, because record keeps the history of one workshop",
        )
    start = h[None] if one else h
    recorder = _recorder(x, sight, record, one)
    out = _empty(start.shape, rounds)
    out[0][:, 0] = start

    at_once = max(1, STREAM_HEIGHTS // x.size)
    pieces = [slice(a, a + at_once) for a in range(0, len(start), at_once)]
    chances = generator(seed).spawn(len(pieces))  # each piece its own: it does not matter which is first

    shop = Shop(x, sight, chosen, hands, generator(0), lands, steel if steel.moves else None)
    job = partial(_through_all_rounds, loop.one_round, shop, steel, metal, share, recorder)
    fill_parts(job, out, pieces, chances, executor if recorder is None else None)  # a record grows here
    made = rounds if recorder is None else recorder.rounds
    floor = gap_limit_um(metal[made - 1] if made else 0.0, sight, hands)
    return _history(x, out, floor, one, recorder)


def _through_all_rounds(one_round, shop, steel, metal, share, recorder, arrays, rng):
    """Take some workshops from their start to their end, and fill what is kept of them."""
    *piece, form, filed_off = arrays
    shop = replace(shop, rng=rng, to_come=np.zeros(piece[1][:, 0].shape))
    for r in range(piece[0].shape[1] - 1):
        if recorder is None or recorder.goes_on():
            one_round(shop, piece, r, metal[r], share, recorder)
    if steel.moves:  # bars are told as they lie once all has come
        piece[0][:, -1] += shop.to_come[..., None] * bow_shape(shop.x_mm)
    form[:] = straightness(shop.x_mm, piece[0]).value_um
    filed_off[:] = _filed_off_mm3(shop.x_mm, piece[0], shop.lands, steel.width_mm)


def _recorder(x, sight, record, one):
    if not (one if record is None else record):
        return None
    return Recorder(x, sight.threshold_um, record if isinstance(record, Recording) else Recording())


def _per_round(removal_um, rounds):
    metal = np.atleast_1d(checks.numbers(removal_um, "removal_um"))
    if metal.ndim > 1 or metal.size not in (1, rounds):
        raise Refusal(
            "count",
            where="removal_um",
            found=f"{metal.size} figures",
            must_be=f"one figure, or one for each of {counted(rounds, 'round')}",
        )
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
    along = np.concatenate(
        [np.trapezoid(np.eye(land.size), land) for land in x.reshape(lands, -1)]
    )  # mm for each point
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
    h, rows = np.stack([done.lower, done.upper], axis=1), np.arange(len(heights))
    _lie(shop, h, _took_h(shop, done), [(rows, k, bow) for k, bow in enumerate(done.to_come)])
    heights[:, r + 1] = h
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
    hours = sum(np.split(_took_h(shop, both), 2))
    _lie(shop, h, hours, [(rows, which, bow) for which, bow in zip((a, b), np.split(both.to_come[1], 2))])
    count[rows, a] += both.upper_passes[: len(rows)]
    count[rows, b] += both.upper_passes[len(rows) :]

    pair = fit(shop, h[rows, a], h[rows, b], removal, share, recorder)
    if recorder:
        recorder.add(h[0], r + 1, "split", [(a[0], b[0])])
    _put(shop, h, count, rows, a, b, pair)

    new = np.where(_seen_error(shop, h[rows, b]) < _seen_error(shop, h[rows, a]), b, a)
    again = fit(shop, h[rows, new], h[rows, g], removal, 0.0, recorder)
    if recorder:
        recorder.add(h[0], r + 1, "remake", [(new[0], g[0])])
    _put(shop, h, count, rows, new, g, again)
    heights[:, r + 1], passes[:, r + 1], gauge[:, r + 1] = h, count, new
    light[:, r + 1] = np.maximum(pair.light_um, again.light_um)


def _put(
    shop: Shop, h: np.ndarray, count: np.ndarray, rows: np.ndarray, low: np.ndarray, up: np.ndarray, done: Fitted
) -> None:
    h[rows, low], h[rows, up] = done.lower, done.upper
    _lie(shop, h, _took_h(shop, done), [(rows, which, bow) for which, bow in zip((low, up), done.to_come)])
    count[rows, low] += done.lower_passes
    count[rows, up] += done.upper_passes


def _took_h(shop: Shop, done: Fitted) -> np.ndarray:
    """Hours of each fit, by its passes."""
    passes = np.maximum(done.lower_passes, done.upper_passes)
    return passes * (shop.steel.pass_h if shop.steel is not None else 0.0)


def _lie(shop: Shop, h: np.ndarray, hours: np.ndarray, freed: list[tuple]) -> None:
    """Let come, of all bars, what comes while a fit goes on and they rest after it; `freed` is what its cuts left to
    come, as (workshops, bar, µm)."""
    if shop.steel is None:
        return
    rest = shop.steel.rest_h
    come = shop.to_come * settled_part(hours + rest, shop.steel)[:, None]
    for rows, which, bow in freed:
        shop.to_come[rows, which] += bow
        come[rows, which] += bow * settled_part(rest, shop.steel)
    np.subtract(shop.to_come, come, out=shop.to_come)
    h += come[..., None] * bow_shape(shop.x_mm)


def _seen_error(shop: Shop, h: np.ndarray) -> np.ndarray:
    """How far a bar is out as the three fits tell it, in whole steps of what can be seen."""
    line = np.stack([np.ones_like(shop.x_mm), shop.x_mm - shop.x_mm.mean()])
    line /= np.linalg.norm(line, axis=1, keepdims=True)
    out = np.ptp(h - h @ line.T @ line, axis=1)
    return np.floor(out / max(shop.sight.threshold_um, 1e-9))
