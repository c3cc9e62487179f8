"""Three plates scraped against each other in turn, in any order of pairs and turns."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import Executor
from functools import partial

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.bending.moving_iron import Casting, dome_shape, freed_before, let_go_curvature, settled_share
from simulate.bench.cutting.scraping import Scraper, laid, places_on, scrape_um, unevenness
from simulate.bench.seating.placement import fit_of, meeting, overlap
from simulate.bench.seating.plate_seat import settle_plate
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.parallel import fill_parts, side_by_side
from simulate.core.refusal import Refusal, shape_words
from simulate.core.values import short
from simulate.method.plates.plate_history import PlateHistory, PlateStep
from simulate.method.plates.symmetry import beyond_plane

FACE_TO_FACE = ((0, 1, 0), (0, 2, 0), (1, 2, 0))
"""Every pair once, never turned: twist, pinwheel and lopsided errors stay."""

HALF_TURNS = FACE_TO_FACE + ((0, 1, 180), (0, 2, 180), (1, 2, 180))
"""Every pair plain and after a half turn: twist and pinwheel stay."""

QUARTER_TURNS = FACE_TO_FACE + ((0, 1, 90), (0, 2, 90), (1, 2, 90))
"""Every pair plain and after a quarter turn: the pinwheel stays."""

_MOST_PRINTS, _LITTLE_PRINTS = 0.97, 0.6  # finer any earlier, and a corner that hangs low keeps all the rest busy
STREAM_HEIGHTS = 1 << 19
"""Heights in a block of workshops that run side by side, few enough to stay near the processor. Each block has a stream
of chance of its own, so that what a seed gives hangs on this number and on nothing else of the machine: it is part of
the contract."""
_MOST_JOINED = 3  # blocks at once: more were not faster, and take more memory


def three_plates(  # noqa: PLR0913  (settings of one run, by their names)
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    height_um: ArrayLike,
    *,
    removal_um: float,
    schedule: Sequence[tuple] | None = None,
    passes: int = 30,
    film_um: float = 2.0,
    share: float = 0.5,
    seed: int | None = None,
    scraper: Scraper = Scraper(),
    casting: Casting = Casting(),
    record: bool = True,
    executor: Executor | None = None,
) -> PlateHistory:
    """Scrape plates against each other, pair after pair.

    `x_mm`, `y_mm`: evenly spaced positions about the middle of the plate. `height_um` ([workshops,] plates, rows,
    columns). `removal_um`: deepest cut of the roughing passes. Once nearly all of the face prints, cut and film get
    finer, down to `film_um` and the scraper's finishing cut. `schedule`: one round, in order; `QUARTER_TURNS` by
    default, where both sides of the plate carry whole grid steps alike, else `HALF_TURNS`. `passes`: markings in all;
    the last round may be a part of one. `film_um`: thickness of the finishing film. `share`: part of the metal that the
    upper plate gives up, 0 to 1. `casting`: how the plates move by themselves once metal is off. `record`: whether a
    single workshop keeps every step. `executor`: whoever runs the blocks of many workshops: processes, or a cluster
    through its own executor. The same seed gives the same figures on one core, on threads and there. It stays open.

    Each workshop sees its own marks, and its cut is chosen by what prints. Many
    workshops are shared out over the cores of the machine; the figures do not
    depend on how many there are. What this cannot see: plates that bend under
    their weight, and burrs. At the bench: scraped edges and scrapers cut hands; lift plates with help, and follow the
    rules of your own shop.

    >>> x = np.linspace(-100, 100, 11)
    >>> twist = 40 * np.outer(x, x) / 100**2
    >>> run = three_plates(x, x, np.stack([twist] * 3), removal_um=40, passes=120, seed=1)
    >>> run.flatness_um[0].round(), bool(run.flatness_um[-1].max() < 3)
    (array([80., 80., 80.]), True)
    """
    x, y = checks.even_positions(x_mm), checks.even_positions(y_mm, "y_mm")
    h, single = _plates(height_um, y.size, x.size)
    fits = _schedule(schedule, h.shape[1], x, y)
    passes = checks.whole(passes, "passes", 0)
    depth = checks.number(removal_um, "removal_um", 0, above=True)
    film = checks.number(film_um, "film_um", 0, above=True)
    share = checks.number(share, "share", 0, 1)
    checks.kind(scraper, "scraper", Scraper)
    checks.kind(casting, "casting", Casting)
    checks.choice(record, "record", (False, True))
    rng = generator(seed)
    stretch = unevenness(x, y, scraper, rng)
    steps: list | None = [] if single and record else None
    run = (x, y, fits, passes, depth, film, share, scraper, stretch, casting)
    rounds = -(-passes // len(fits))
    height = np.empty((len(h), rounds + 1) + h.shape[1:])
    flat, metal = (np.zeros(height.shape[:3]) for _ in range(2))
    close, settled = np.full((len(h), rounds + 1), np.nan), np.empty(h.shape[:2])
    size = max(1, STREAM_HEIGHTS // int(np.prod(h.shape[1:])))
    parts = [slice(a, a + size) for a in range(0, len(h), size)]
    chances = [rng, *rng.spawn(max(0, len(parts) - 1))]  # each part its own, so that it does not matter which is first

    job = partial(_run, run, steps)
    spans = side_by_side(len(parts), _MOST_JOINED)
    runs = [slice(parts[span[0]].start, parts[span[-1]].stop) for span in spans]
    streams = [[(len(h[parts[k]]), chances[k]) for k in span] for span in spans]
    fill_parts(job, [h, height, flat, metal, close, settled], runs, streams, executor if steps is None else None)
    metal *= (x[1] - x[0]) * (y[1] - y[0]) * 1e-3
    counts = np.minimum(np.arange(rounds + 1) * len(fits), passes)
    height, flat, close, metal, settled = (a[0] if single else a for a in (height, flat, close, metal, settled))
    return PlateHistory(x, y, height, flat, close, counts, metal, tuple(fits), tuple(steps or ()), settled)


def _run(run, steps, arrays, streams):
    """Some workshops side by side from start to end; fills all of the arrays but the first.

    `streams`: how many workshops each block has, and its chance.
    """
    start, height, flatness, metal, close, settled = arrays
    x, y, fits, passes, *_, casting = run
    now, whole = np.moveaxis(start, 1, 0).copy(), start.sum(axis=(-2, -1))  # all first plates, all second ones, ...
    seen = np.zeros((len(fits), len(start)))
    fineness = np.ones((len(fits), len(start)))  # each fit of the round has a film of its own
    contacts = [None] * len(fits)
    to_come, dome = np.full(now.shape[:2], freed_before(casting)), dome_shape(x, y)
    height[:, 0], flatness[:, 0] = start, _flatness(start)
    for number in range(passes):
        k, kept = number % len(fits), number // len(fits) + 1
        metal_on = now.sum(axis=(-2, -1)) if casting.stock is not None else None
        seen[k], contacts[k] = _pass(now, fits[k], number, run, fineness[k], contacts[k], streams, steps)
        if metal_on is not None:
            _rest(now, to_come, (metal_on - now.sum(axis=(-2, -1))) / dome.size, dome, casting)
        if k == len(fits) - 1 or number == passes - 1:
            height[:, kept], flatness[:, kept] = np.moveaxis(now, 0, 1), _flatness(now).T
            metal[:, kept] = whole - now.sum(axis=(-2, -1)).T
            close[:, kept] = seen[: k + 1].mean(axis=0)
    settled[:] = _flatness(now + to_come[..., None, None] * dome).T


def _rest(now, to_come, taken_um, dome, casting) -> None:
    """Let all plates bow by what has come meanwhile of what was freed; changes `now` and `to_come`."""
    to_come += let_go_curvature(taken_um, casting)
    comes = settled_share(casting) * to_come
    to_come -= comes
    now += comes[..., None, None] * dome


def _flatness(height) -> np.ndarray:
    return np.ptp(beyond_plane(height), axis=(-2, -1))


def _pass(now, fit, number, run, fineness, contacts, streams, steps):
    """Mark one pair and scrape it; changes `now` and `fineness`, returns the close and where they touched."""
    x, y, fits, _, depth, film, share, scraper, stretch, _ = run
    lower, upper, turned, slide = fit
    below, above, (row, column) = meeting(now[lower], now[upper], turned, slide)
    summed = np.add(below, above, order="C").reshape(len(fineness), -1)
    gap, tri, _ = settle_plate(x[column], y[row], summed, _load(x, y, slide), contacts)
    cut = np.maximum(depth * fineness, min(depth, scraper.finish_um))[:, None, None]
    paint = np.maximum(depth * fineness, film)[:, None]
    close, printed = (
        np.bitwise_count(np.packbits(gap < thick, axis=1)).sum(axis=1) / gap.shape[1] for thick in (film, paint)
    )
    places = np.concatenate([places_on(stretch, count, rng) for count, rng in streams], axis=1)
    marks = laid(stretch, places)[:, row, column]
    taken = scrape_um(gap.reshape(below.shape), cut, paint[:, None], marks)
    before = now.copy() if steps is not None else None
    part = summed.reshape(below.shape)  # has served, and room that is at hand is quicker than new room
    above -= np.multiply(taken, share, out=part)
    below -= np.multiply(taken, 1 - share, out=part)
    # Little prints: a thicker film and a deeper cut. All but a corner prints: a thinner film tells more.
    fineness *= np.where(printed > _MOST_PRINTS, 0.6, np.where(printed < _LITTLE_PRINTS, 1.4, 1.0))
    np.clip(fineness, 1e-3, 1.0, out=fineness)
    if steps is not None:
        low, _ = overlap(y.size, x.size, turned, slide)
        steps.append(
            _step(number, fit, x, y, before[:, 0], now[:, 0], gap[0], low, tri[0], paint[0, 0], cut[0, 0, 0], close[0])
        )
    return close, tri


def _step(number, fit, x, y, before, after, gap, low, tri, paint, cut, close) -> PlateStep:
    shape = (y.size, x.size)
    shown = np.full(y.size * x.size, np.nan)
    shown[low] = gap
    shown = shown.reshape(shape)
    at = low[tri]
    return PlateStep(
        number + 1,
        *fit,
        before,
        shown,
        np.nan_to_num(shown, nan=np.inf) < paint,
        np.stack([x[at % x.size], y[at // x.size]], axis=1),
        float(paint),
        float(cut),
        float(close),
        before - after,
        _flatness(before),
    )


def _load(x, y, slide) -> tuple[float, float]:
    """Where the centre of mass of the slid plate stands."""
    return (0.5 * (x[0] + x[-1]) + slide[0] * (x[1] - x[0]), 0.5 * (y[0] + y[-1]) + slide[1] * (y[1] - y[0]))


def _schedule(schedule, plates: int, x, y) -> list:
    if schedule is None:
        alike = (x.size - y.size) % 2 == 0 and np.isclose(x[1] - x[0], y[1] - y[0])
        schedule = QUARTER_TURNS if alike else HALF_TURNS
    try:
        schedule = list(schedule)
    except TypeError:
        raise Refusal(
            "type", where="schedule", found=short(schedule), must_be="a list of (lower, upper, turned)"
        ) from None
    if not schedule:
        raise Refusal("count", where="schedule", found="nothing", must_be="at least one fit of two plates")
    listed = [fit_of(fit, f"schedule[{k}]", plates) for k, fit in enumerate(schedule)]
    for k, (_, _, turned, slide) in enumerate(listed):
        if turned in (90, 270) and not np.isclose(x[1] - x[0], y[1] - y[0]):
            raise Refusal(
                "place",
                where=f"schedule[{k}] turned",
                found=f"{turned}, with steps of {x[1] - x[0]:g} and {y[1] - y[0]:g} mm",
                must_be="0 or 180, because a quarter turn needs the same step along x and y",
            )
        overlap(y.size, x.size, turned, slide)
        if 2 * abs(slide[0]) >= x.size - 1 or 2 * abs(slide[1]) >= y.size - 1:
            raise Refusal(
                "place",
                where=f"schedule[{k}]",
                found=f"slid by {slide} grid steps",
                must_be="slid by less than half of the plate, or it tips off",
            )
    return listed


def _plates(height_um, rows: int, columns: int) -> tuple[np.ndarray, bool]:
    h = checks.numbers(height_um, "height_um")
    if h.ndim not in (3, 4) or h.shape[-2:] != (rows, columns) or h.shape[-3] < 2:
        raise Refusal(
            "shape",
            where="height_um",
            found=shape_words(h.shape),
            must_be=f"{rows} by {columns} heights for each of two plates or more",
        )
    return (h[None], True) if h.ndim == 3 else (h, False)
