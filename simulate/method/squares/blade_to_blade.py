"""Three squares made from each other, blade to blade on a flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal


@dataclass(frozen=True)
class SquareStep:
    """One comparison and the filing that followed it, for one workshop.

    `round`: counted from 1. `stage`: ``"fit"`` to the gauge, ``"split"`` the difference, ``"remake"`` the old gauge.
    `lower`, `upper`: squares that stand blade to blade; in a fit the first is the gauge. `filed`: squares whose blade
    was filed; empty when all was dark. `angle_urad` (3,): as the squares stood at this look. `foot_um`, `top_um`: gap
    at the foot and at the top of the blades; one of them is zero. `passes`: passes taken after this look, on both
    squares.
    """

    round: int
    stage: str
    lower: int
    upper: int
    filed: tuple[int, ...]
    angle_urad: np.ndarray
    foot_um: float
    top_um: float
    passes: int


@dataclass(frozen=True)
class SquareHistory:
    """A run of three squares, the start first.

    `angle_urad` ([workshops,] rounds + 1, 3): positive leans away from the other blade. `passes`, `metal_mm3`
    ([workshops,] rounds + 1, 3): on each square, since the start. `gauge` (rounds + 1,) of int: the square that serves
    as gauge after that round. `light_um` ([workshops,] rounds + 1): gap left in the last look of the round; nan at the
    start. `floor_urad`: about where sight and tool stop the method: one gap that shows no light, over the height of the
    blade. `steps`: every look of a single workshop; empty for many.
    """

    angle_urad: np.ndarray
    passes: np.ndarray
    metal_mm3: np.ndarray
    gauge: np.ndarray
    light_um: np.ndarray
    floor_urad: float
    steps: tuple[SquareStep, ...] = ()


def three_squares(
    angle_urad: ArrayLike,
    *,
    rounds: int,
    removal_um: float,
    share: float = 0.5,
    blade_mm: float = 150.0,
    width_mm: float = 5.0,
    threshold_um: float = 2.5,
    scatter: float = 0.2,
    seed: int | None = None,
) -> SquareHistory:
    """Make three squares true against each other.

    Two squares are fitted to the gauge, blade to blade on a flat, by filing foot or top until no light shows.
    Both then carry the gauge's error the other way, and together show double of it; they share that between
    them (the split), and the old gauge is made anew to one of them, which is the next gauge.

    `angle_urad` ([workshops,] 3): how far each square is out at the start. `removal_um`: metal one pass takes at the
    end of the blade where it is filed, tapering to none at the other end. `share`: part of the split's metal that the
    first square gives up, 0 to 1. `blade_mm`, `width_mm`: height and width of the blade's edge. `threshold_um`: the
    widest gap that shows no light. `scatter`: how unlike one pass is to another, as a part of `removal_um` (standard
    deviation). Returns: what it cannot see: blades that are not straight, and a flat that is not flat; a flat that
    slopes the same under both squares goes into neither angle sum.

    Fitted to a master that is out by e, two others are out by 2 e against each other (J. Rose, Modern
    Machine-Shop Practice, Figs 2438-2440). One round leaves abs(2 share - 1) of the gauge's error, until sight
    and tool stop it.

    >>> run = three_squares([900.0, -300.0, 500.0], rounds=4, removal_um=1.0, seed=1)
    >>> run.angle_urad.shape, bool(np.abs(run.angle_urad[-1]).max() < 3 * run.floor_urad)
    ((5, 3), True)
    """
    angle = checks.numbers(angle_urad, "angle_urad")
    if angle.ndim < 1 or angle.shape[-1] != 3:
        raise Refusal("shape", where="angle_urad", found=f"{angle.shape}", must_be="three angles along its last axis")
    rounds = checks.whole(rounds, "rounds", 0)
    bench = _Bench(
        checks.number(removal_um, "removal_um", 0, above=True),
        checks.number(blade_mm, "blade_mm", 0, above=True),
        checks.number(width_mm, "width_mm", 0, above=True),
        checks.number(threshold_um, "threshold_um", 0),
        checks.number(scatter, "scatter", 0, 1),
        generator(seed),
    )
    share = checks.number(share, "share", 0, 1)
    state = _State(angle.copy(), np.zeros(angle.shape), np.zeros(angle.shape))
    kept = [(state.angle.copy(), state.passes.copy(), state.metal.copy(), np.full(angle.shape[:-1], np.nan))]
    steps: list[SquareStep] = []
    gauge, gauges = 0, [0]
    for number in range(1, rounds + 1):
        one, two = (gauge + 1) % 3, (gauge + 2) % 3
        plan = (
            ("fit", gauge, one, 0.0),
            ("fit", gauge, two, 0.0),
            ("split", one, two, share),
            ("remake", one, gauge, 0.0),
        )
        for stage, lower, upper, part in plan:
            light = _work(state, bench, number, stage, (lower, upper), part, steps)
        gauge = one
        gauges.append(gauge)
        kept.append((state.angle.copy(), state.passes.copy(), state.metal.copy(), light))
    angles, passes, metal = (np.stack([k[i] for k in kept], axis=-2) for i in range(3))
    light_um = np.stack([k[3] for k in kept], axis=-1)
    return SquareHistory(
        angles, passes, metal, np.array(gauges), light_um, bench.threshold / bench.blade * 1000, tuple(steps)
    )


@dataclass(frozen=True)
class _Bench:
    removal: float
    blade: float
    width: float
    threshold: float
    scatter: float
    rng: np.random.Generator


@dataclass(frozen=True)
class _State:
    """Arrays that the acts write into."""

    angle: np.ndarray
    passes: np.ndarray
    metal: np.ndarray


def _work(
    state: _State, bench: _Bench, number: int, stage: str, pair: tuple[int, int], part: float, steps: list[SquareStep]
) -> np.ndarray:
    """File a pair until no light shows; the lower square gives up `part` of the passes. Return the gap left."""
    before = state.angle.copy()
    opening = (before[..., pair[0]] + before[..., pair[1]]) * bench.blade / 1000
    passes = np.ceil(np.maximum(np.abs(opening) - bench.threshold, 0) / bench.removal - 1e-9)
    # Passes are shared as whole strokes of the same file; a part of a pass is a lighter one.
    for square, mine in zip(pair, (part * passes, (1 - part) * passes)):
        taken = mine * bench.removal + bench.scatter * bench.removal * np.sqrt(mine) * bench.rng.standard_normal(
            mine.shape
        )
        taken = np.maximum(taken, 0.0)
        state.angle[..., square] -= np.sign(opening) * taken / bench.blade * 1000
        state.passes[..., square] += mine
        state.metal[..., square] += taken / 1000 * bench.blade / 2 * bench.width
    if not state.angle.shape[:-1]:
        count = int(passes)
        filed = tuple(s for s, p in zip(pair, (part, 1 - part)) if p > 0 and count)
        steps.append(
            SquareStep(number, stage, *pair, filed, before, max(-float(opening), 0.0), max(float(opening), 0.0), count)
        )
    return np.abs((state.angle[..., pair[0]] + state.angle[..., pair[1]]) * bench.blade / 1000)
