"""From three straight points to seven and more: levels of gauges along a bar.

A level is one gauge, laid here and there. Anchored, it starts from the points
that the longer gauge before it gave; chained, it steps alone from end to end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import Network, solve_network


@dataclass(frozen=True)
class Level:
    """One step of a progression.

    `trusted_mm`: points kept from the level before; None keeps all that it reached.
    """

    fits: tuple[Fit, ...]
    trusted_mm: tuple[float, ...] | None = None
    name: str = ""


@dataclass(frozen=True)
class Way:
    """One row of the table of progressions.

    Attributes
    ----------
    points : int
        Straight points at the end.
    counts : tuple of int
        Points after each level.
    chained_um, anchored_um : float
        Worst standard deviation, the small gauge alone and anchored.
    """

    points: int
    counts: tuple[int, ...]
    chained_fits: int
    chained_um: float
    anchored_fits: int
    anchored_um: float


def progression(
    levels: Sequence[Level],
    held_mm: ArrayLike | None = None,
    *,
    wanted_mm: ArrayLike = (),
    zero_sd_um: dict | None = None,
) -> tuple[Network, ...]:
    """Follow a progression level by level.

    `held_mm`: points without error; the outermost two of all levels by default. `wanted_mm`: points that are asked
    about. `zero_sd_um`: as in `solve_network`, by gauge. Returns: what stands settled after each level.

    With everything trusted, the last level equals all fits solved at once. Where
    a level trusts only some points, the others are forgotten, and so is what
    the levels before left loose; the zero of a gauge that was learned
    there stays known. Redundancy counts the fits of the levels that were solved
    together, in their order. Common practice, no source, makes three points
    straight first and seven after.

    >>> last = progression(anchored_levels((3, 7), 600, 1.0))[-1]
    >>> last.sd_um.round(2).tolist()
    [0.0, 1.53, 1.63, 1.0, 1.63, 1.53, 0.0]
    """
    checks.kind(levels, "levels", (tuple, list))
    levels = [checks.kind(level, f"levels[{k}]", Level) for k, level in enumerate(levels)]
    if not levels:
        raise Refusal("count", where="levels", found="nothing", must_be="one or more")
    if held_mm is None:
        lands = [land for level in levels for fit in level.fits for land in fit.lands_mm]
        held_mm = (min(lands), max(lands)) if lands else None
    done: list[Network] = []
    fits, before, trusted = (), None, None
    for level in levels:
        if done and level.trusted_mm is not None:
            fits, before, trusted = (), done[-1], level.trusted_mm
        fits += tuple(level.fits)
        doubtful = {g: s for g, s in (zero_sd_um or {}).items() if g in {f.gauge for f in fits}}
        done.append(
            solve_network(fits, held_mm, wanted_mm=wanted_mm, zero_sd_um=doubtful, prior=before, trusted_mm=trusted)
        )
    return tuple(done)


def chained_level(points: int, length_mm: float, sd_um: float) -> Level:
    """Step the smallest three-land gauge alone over a bar, over every inner point once.

    `points`: 3 or more, evenly spaced, ends included.

    >>> len(chained_level(7, 600, 1.0).fits)
    5
    """
    points = checks.whole(points, "points", 3)
    x = np.linspace(0, checks.number(length_mm, "length_mm", 0, above=True), points)
    name = f"{points} points"
    return Level(tuple(Fit(tuple(x[i : i + 3]), sd_um, name) for i in range(points - 2)), (), name)


def anchored_levels(counts: Sequence[int], length_mm: float, sd_um: float, bridged: bool = False) -> tuple[Level, ...]:
    """Each level divides the spaces of the one before, with a gauge of its own.

    `counts`: points after each level, as (3, 7, 13). `bridged`: also lay each gauge across the points it starts from:
    more fits, which check.

    >>> [len(level.fits) for level in anchored_levels((3, 7), 600, 1.0)]
    [1, 4]
    """
    before, levels = 1, []
    for points in counts:
        spaces = checks.whole(points, "counts", 3) - 1
        if spaces % before or spaces == before:
            raise Refusal(
                "order",
                where="counts",
                found=f"{points} after {before + 1}",
                must_be=f"{before} times a whole number above 1, plus 1",
            )
        chain, each = chained_level(points, length_mm, sd_um), spaces // before
        kept = tuple(f for i, f in enumerate(chain.fits) if bridged or (i + 1) % each)
        levels.append(Level(kept, None, chain.name))
        before = spaces
    return tuple(levels)


def usual_counts(points: int) -> tuple[int, ...]:
    """Three points first, seven after where that leads there, then halves, then what is left.

    >>> usual_counts(25), usual_counts(9)
    ((3, 7, 13, 25), (3, 5, 9))
    """
    spaces = checks.whole(points, "points", 3) - 1
    if spaces % 2:
        raise Refusal(
            "number", where="points", found=f"{points}", must_be="an odd number, so that one is in the middle"
        )
    counts = [2, 6] if spaces % 6 == 0 else [2]
    while counts[-1] < spaces:
        left = spaces // counts[-1]
        counts.append(counts[-1] * (2 if left % 2 == 0 else left))
    return tuple(c + 1 for c in counts)


def progression_table(points: Sequence[int] = (7, 9, 13, 25), sd_um: float = 1.0) -> tuple[Way, ...]:
    """Chained against anchored, for bars of any length.

    `sd_um`: of every fit; a long gauge is taken to be as good as a short one.

    >>> [(w.chained_fits, round(w.chained_um, 1), w.anchored_fits, round(w.anchored_um, 1))
    ...  for w in progression_table((7, 13))]
    [(5, 4.4, 5, 1.6), (11, 12.1, 11, 1.8)]
    """
    rows = []
    for n in checks.kind(points, "points", (tuple, list)):
        counts = usual_counts(n)
        levels, chain = anchored_levels(counts, n - 1.0, sd_um), chained_level(n, n - 1.0, sd_um)
        rows.append(
            Way(
                n,
                counts,
                len(chain.fits),
                solve_network(chain.fits).worst_um,
                sum(len(v.fits) for v in levels),
                progression(levels)[-1].worst_um,
            )
        )
    return tuple(rows)
