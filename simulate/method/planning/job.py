"""One job given to many workshops: blocks of them through all rounds, and what each round took."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from itertools import islice

import numpy as np

from simulate.bench.bending.moving_steel import Steel
from simulate.bench.cutting.tools import Hands, tool_of
from simulate.bench.looking.sight import Sight
from simulate.core.parallel import shared_out
from simulate.core.refusal import Refusal, counted, either
from simulate.method.bars.three_bar_loop import three_bars
from simulate.surface.starting_bars import starting_bars

FIRST, BLOCK = (200, 300, 500, 1000), 2000
"""Workshops of the first blocks and of all later ones: few at first, so that a first answer comes at once; many later,
so that threads seldom wait for each other."""


@dataclass(frozen=True)
class Pace:
    """How quickly metal goes.

    `stroke_mm3`: metal that one stroke takes. A loaded file on a testing machine took 1.6 to 13 mm³ (published:
    American Engineer and Railroad Journal, 1905); by hand less (common practice, no source). `look_s`: clean, lay on,
    look, mark, clamp again: for every pass.
    """

    stroke_mm3: float
    stroke_s: float = 1.2
    look_s: float = 120.0


LAY_DOWN_S, HOLD_S = 60.0, 40.0
"""To take a bar out of the vice, lay it down, and hold it again; to hold a bar anew, near the place that is cut (common
practice, no source)."""

PACES = {
    "bastard file": Pace(2.0),
    "second-cut file": Pace(1.0),
    "smooth file": Pace(0.3),
    "scraper": Pace(0.05, 0.8),
    "stone": Pace(0.02, 0.8),
}
"""Common practice, no source; right to a factor of two or three."""


@dataclass(frozen=True)
class Job:
    """What all workshops are given.

    `removal`, `tools`: one for each round. `bars`: three bars from which every workshop starts; None draws new ones.
    `steel`: how the bars move; its width is not used.
    """

    length_mm: float
    start_um: float
    points: int
    removal: list
    tools: list
    share: float
    sight: Sight
    hands: Hands
    width_mm: float
    pace: Pace | None
    bars: tuple[np.ndarray, np.ndarray] | None = None
    steel: Steel = Steel()


def handling_s(steel: Steel) -> float:
    """What a pass takes longer where a pair that moves is laid down for its look, and held near the cut.

    >>> handling_s(Steel("hot rolled")), handling_s(Steel("hot rolled", hand_n=20, file_n=100)), handling_s(Steel())
    (100.0, 0.0, 0.0)
    """
    if not steel.moves:
        return 0.0
    return (0.0 if steel.hand_n else LAY_DOWN_S) + (0.0 if steel.file_n else HOLD_S)


def each_round(value, rounds: int, name: str) -> list:
    """One figure for all rounds, or a list as long as the rounds, as a list.

    `name`: for the refusal.

    >>> each_round("stone", 2, "tool")
    ['stone', 'stone']
    """
    if isinstance(value, str) or np.ndim(value) == 0:
        return [value] * rounds
    if len(value) != rounds:
        raise Refusal(
            "count",
            where=name,
            found=counted(len(value), "figure"),
            must_be=f"one, or one for each of {counted(rounds, 'round')}",
        )
    return list(value)


def blocks(
    job: Job, workshops: int, seed: int | None, executor: Executor | None = None
) -> Iterator[dict[str, np.ndarray]]:
    """Run the workshops block by block.

    `executor`: whoever runs the blocks; threads of this process where none is given. Yields (workshops of the block,
    rounds + 1): ``worst`` (µm), ``passes``, ``strokes``, ``metal`` (mm³), ``hours`` and ``stock`` (µm), the start
    first.

    Each block has chance of its own, drawn from the seed, so that the first
    workshops are the same however many follow.

    >>> job = Job(500, 60, 41, [10.0], ["stone"], 0.5, Sight(), Hands(), 10.0, None)
    >>> [len(block["hours"]) for block in blocks(job, 210, 1)]
    [200, 10]
    """
    starts = _starts(job, workshops, seed)
    for task in islice(starts, 1):  # alone, so that the first answer waits for nothing else
        yield _run(job, task)
    yield from shared_out(partial(_run, job), starts, executor=executor)


def _starts(job: Job, workshops: int, seed: int | None) -> Iterator[tuple[int, np.random.Generator]]:
    """How many workshops each block holds, and its chance."""
    root, done, sizes = np.random.SeedSequence(seed), 0, iter(FIRST)
    while done < workshops:
        size = min(next(sizes, BLOCK), workshops - done)
        done += size
        yield size, np.random.default_rng(root.spawn(1)[0])


def _run(job: Job, task: tuple[int, np.random.Generator]) -> dict[str, np.ndarray]:
    """One block through all rounds: a stretch of rounds with one tool is one call."""
    size, rng = task
    if job.bars is None:
        x, h = starting_bars(job.length_mm, job.start_um, points=job.points, workshops=size, seed=rng)
    else:
        x, h = job.bars[0], np.repeat(job.bars[1][None], size, axis=0)
    first, parts = h, []
    starts = [r for r, t in enumerate(job.tools) if r == 0 or t != job.tools[r - 1]] + [len(job.tools)]
    for a, b in zip(starts, starts[1:]):
        run = three_bars(
            x,
            h,
            rounds=b - a,
            removal_um=job.removal[a:b],
            share=job.share,
            seed=rng,
            sight=job.sight,
            tool=job.tools[a],
            hands=job.hands,
            steel=replace(job.steel, width_mm=job.width_mm),
        )
        pace = job.pace or _pace(job.tools[a])
        parts.append(_stretch(run, first, replace(pace, look_s=pace.look_s + handling_s(job.steel))))
        order = np.argsort(np.arange(3) != run.gauge[:, -1:], axis=1, kind="stable")[..., None]
        h, first = (np.take_along_axis(v, order, axis=1) for v in (run.height_um[:, -1], first))
    whole = parts[0]
    for part in parts[1:]:
        for name, values in part.items():
            base = whole[name][:, -1:] if name in ("passes", "strokes", "hours", "metal") else 0
            whole[name] = np.concatenate([whole[name], base + values[:, 1:]], axis=1)
    return whole


def _stretch(run, first: np.ndarray, pace: Pace) -> dict[str, np.ndarray]:
    passes, metal = run.passes.sum(axis=-1).astype(float), run.metal_mm3.sum(axis=-1)
    strokes = metal / pace.stroke_mm3
    return {
        "worst": run.straightness_um.max(axis=-1),
        "passes": passes,
        "strokes": strokes,
        "metal": metal,
        "hours": (strokes * pace.stroke_s + passes * pace.look_s) / 3600,
        "stock": (first[:, None] - run.height_um).max(axis=(-2, -1)),
    }


def _pace(tool) -> Pace:
    led = tool_of(tool)
    name = led.name
    if name not in PACES:
        raise Refusal(
            "choice",
            where="tool",
            found=f"{name!r}, whose pace is not known",
            must_be=either(PACES),
            do="For another tool, give pace as well",
        )
    return replace(PACES[name], stroke_mm3=led.bite * PACES[name].stroke_mm3)
