"""Three squares filed along the whole blade, against each other on a flat, where blades are not straight and bases do
not stand alike."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cutting.filing import depth_map
from simulate.bench.cutting.rocking import across
from simulate.bench.cutting.tools import Hands, Tool
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.core.chance import generator
from simulate.method.bars.fitting import LIGHTER, PROGRESS, STALE, gap_limit_um
from simulate.method.squares.blade import lean_urad, standing_gap
from simulate.surface.straightness import straightness

STAGES = ("fit", "fit", "split", "remake")
"""What is done in a round, in its order."""


@dataclass(frozen=True)
class BladeLook:
    """The look at the start of a stage, for one workshop.

    `round`: counted from 1. `stage`: one of `STAGES`. `lower`, `upper`: the two that stand blade to blade; in a fit the
    first is the gauge. `face_um` (3, points): the blades as they stand at this look; positive is proud, towards the
    other blade. `gap_um` (points,). `passes`: passes taken in the stage that this look begins.
    """

    round: int
    stage: str
    lower: int
    upper: int
    filed: tuple[int, ...]
    face_um: np.ndarray
    gap_um: np.ndarray
    passes: int


@dataclass(frozen=True)
class BladeHistory:
    """A run of three squares with blades of their own, the start first.

    `z_mm` (points,): height on the blade. `face_um` ([workshops,] rounds + 1, 3, points). `angle_urad`,
    `straightness_um`, `passes` ([workshops,] rounds + 1, 3): angle of the least-squares line of each blade,
    straightness as minimum zone, passes since the start. `floor_um`: about where sight, tool and hands stop the method.
    `looks`: of a single workshop; empty for many.
    """

    z_mm: np.ndarray
    face_um: np.ndarray
    angle_urad: np.ndarray
    straightness_um: np.ndarray
    passes: np.ndarray
    floor_um: float
    looks: tuple[BladeLook, ...] = ()


def three_blades(
    z_mm: ArrayLike,
    face_um: ArrayLike,
    *,
    rounds: int,
    removal_um: float,
    share: float = 0.5,
    stand_sd_urad: float = 0.0,
    sight: Sight = Sight(),
    tool: str | Tool = "smooth file",
    hands: Hands = Hands(),
    seed: int | None = None,
) -> BladeHistory:
    """Make three squares true and their blades straight, against each other on a flat.

    `z_mm` (points,): evenly spaced heights on the blade. `face_um` ([workshops,] 3, points): as `blade_faces` makes
    them. `removal_um`: metal that a pass takes at the contact. `share`: part of the split's metal that the first square
    gives up. `stand_sd_urad`: how differently one base stands from look to look: a base that is not flat, a grain of
    dust under it. `tool`: a file given by its name is led across the blade. `hands`: as for bars. Returns: what it
    cannot see: a flat that is not flat under one of the two squares.

    As three bars, with one difference: squares on a flat cannot turn until they fit, so what goes to zero is the
    whole face against the upright, angle and bend alike (derived; three sums for three faces at every height).

    >>> from simulate.method.squares.blade import blade_faces
    >>> z = np.linspace(0, 100, 21)
    >>> faces_um = blade_faces(z, [400.0, -200.0, 300.0], [9.0, 0.0, -6.0])
    >>> run = three_blades(z, faces_um, rounds=3, removal_um=3.0, seed=1)
    >>> run.angle_urad.shape, bool(abs(run.angle_urad[-1]).max() < 60), len(run.looks)
    ((4, 3), True, 12)
    """
    z = checks.even_positions(z_mm, "z_mm", 3)
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    face = checks.profiles(face_um, z.size, "face_um", bars=3)
    share = checks.number(share, "share", 0, 1)
    removal = checks.number(removal_um, "removal_um", 0, above=True)
    bench = _Bench(
        z,
        removal,
        checks.number(stand_sd_urad, "stand_sd_urad", 0),
        sight,
        across(tool),
        hands,
        generator(seed),
        gap_limit_um(removal, sight, hands),
    )
    now = face.reshape(-1, 3, z.size).copy()
    done = np.zeros(now.shape[:2])
    kept, passed, looks, gauge = [now.copy()], [done.copy()], [], 0
    for number in range(1, checks.whole(rounds, "rounds", 0) + 1):
        one, two = (gauge + 1) % 3, (gauge + 2) % 3
        pairs = ((gauge, one, 0.0), (gauge, two, 0.0), (one, two, share), (one, gauge, 0.0))
        for stage, (lower, upper, part) in zip(STAGES, pairs):
            before = now.copy()
            passes = _file(bench, now, lower, upper, part, done)
            if face.ndim == 2:
                gap = standing_gap(z, before[0, lower] + before[0, upper], np.zeros(()))
                filed = tuple(s for s, p in ((lower, part), (upper, 1 - part)) if p > 0 and passes[0])
                looks.append(BladeLook(number, stage, lower, upper, filed, before[0], gap, int(passes[0])))
        gauge = one
        kept.append(now.copy())
        passed.append(done.copy())
    faces = np.stack(kept, axis=1).reshape(face.shape[:-2] + (len(kept), 3, z.size))
    counts = np.stack(passed, axis=1).reshape(face.shape[:-2] + (len(kept), 3))
    return BladeHistory(
        z, faces, lean_urad(z, faces), straightness(z, faces).value_um, counts, bench.floor, tuple(looks)
    )


@dataclass(frozen=True)
class _Bench:
    z: np.ndarray
    removal: float
    stand_sd: float
    sight: Sight
    tool: Tool
    hands: Hands
    rng: np.random.Generator
    floor: float


def _file(bench: _Bench, faces: np.ndarray, lower: int, upper: int, part: float, done: np.ndarray) -> np.ndarray:
    """File pairs in place until no light is seen or filing no longer helps; return the passes of each workshop."""
    n = len(faces)
    give = np.array([part, 1 - part]) / max(part, 1 - part)
    stale, best, count = np.zeros(n, int), np.full(n, np.inf), np.zeros(n, int)
    rows, left = np.arange(n), np.full(n, 1)
    first = True
    while rows.size:
        tilt = bench.stand_sd * bench.rng.standard_normal((rows.size, 2)).sum(axis=1)
        gap = standing_gap(bench.z, faces[rows, lower] + faces[rows, upper], tilt)
        widest = gap.max(axis=1)
        if first:
            left, first = (10 * widest / bench.removal).astype(int) + 21, False
        stale[rows] = np.where(widest < best[rows] - PROGRESS * bench.removal, 0, stale[rows] + 1)
        best[rows] = np.minimum(best[rows], widest)
        going = (widest > bench.floor) & (stale[rows] < STALE) & (count[rows] < left[rows])
        rows, gap = rows[going], gap[going]
        lighter = 0.5 ** (stale[rows, None] // LIGHTER)
        for square, share, depth in zip((lower, upper), (part, 1 - part), give):
            if share > 0 and rows.size:
                faces[rows, square] -= depth_map(
                    bench.z,
                    faces[rows, square],
                    gap,
                    depth * bench.removal * lighter,
                    bench.sight.threshold_um,
                    bench.tool,
                    bench.hands,
                    bench.rng,
                    share,
                )
                done[rows, square] += 1
        count[rows] += 1
    return count
