"""Three land gauges made from each other at the bench: seated on their lands, looked at, filed.

What `simulate.method.lands.stepping.three_land_gauges` works out on paper with one
number a gauge is done here with lands that have a width, with sight and with
tools, round the very loop in which three whole bars are made.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cutting.tools import Hands, Tool
from simulate.bench.looking.sight import Seen, Sight, look
from simulate.bench.seating.bar_seat import rest
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.bars.bar_history import BarHistory
from simulate.method.bars.three_bar_loop import three_bars

LANDS = 3


@dataclass(frozen=True)
class LandGaugeHistory:
    """A run of three land gauges, the start first.

    `lands_mm` (3,): middles of the lands, from the first one. `middle_um` ([workshops,] rounds + 1, 3): what touches at
    each gauge's middle land over the line of what touches at its outer ones. `history`: every point of every land, with
    passes, metal, the floor, and each look of a single workshop.
    """

    lands_mm: np.ndarray
    middle_um: np.ndarray
    history: BarHistory


@dataclass(frozen=True)
class LandFit:
    """How two land gauges lie on each other.

    `gap_um` (..., 3): narrowest gap at each land. `rocks` (...) of bool: where it stands on its middle land. `sum_um`
    (...): the two middles together, as the open gaps give them: plus where it rocks, minus where light shows in the
    middle. `seen`: what a way of looking shows of the gaps.
    """

    gap_um: np.ndarray
    rocks: np.ndarray
    sum_um: np.ndarray
    seen: Seen


def land_points(lands_mm: Sequence[float], width_mm: float, points: int = 5) -> np.ndarray:
    """Give the positions that stand for the lands, land after land.

    `lands_mm`: middles of three lands, rising. `width_mm`: of each land. `points`: on each land, 3 or more. Returns (3
    * points,).

    >>> land_points((0, 100, 200), 10, 3).tolist()
    [-5.0, 0.0, 5.0, 95.0, 100.0, 105.0, 195.0, 200.0, 205.0]
    """
    lands = checks.positions(lands_mm, "lands_mm", at_least=LANDS)
    if lands.size != LANDS:
        raise Refusal("count", where="lands_mm", found=f"{lands.size} lands", must_be=f"{LANDS}")
    width = checks.number(width_mm, "width_mm", 0, float(np.diff(lands).min()) / 2, above=True)
    across = np.linspace(-width / 2, width / 2, checks.whole(points, "points", 3))
    return (lands[:, None] + across).ravel()


def make_land_gauges(
    middle_um: ArrayLike,
    *,
    rounds: int,
    removal_um: float = 4.0,
    share: float = 0.5,
    lands_mm: Sequence[float] = (0.0, 100.0, 200.0),
    width_mm: float = 10.0,
    seed: int | np.random.Generator | None = None,
    sight: Sight = Sight(),
    tool: str | Tool = "scraper",
    hands: Hands = Hands(),
    record: bool | None = None,
) -> LandGaugeHistory:
    """Make three land gauges from each other at the bench.

    `middle_um` ([workshops,] 3): each gauge's middle land over the line of its outer lands, at the start. `removal_um`:
    metal a pass takes from a land. `share`: share of the split's metal that the first of the two gauges gives up, 0 to
    1. `lands_mm`: middles of the lands, even or uneven. `width_mm`: of each land, along the gauge. `record`: whether
    every look is kept; by default for a single workshop.

    The loop, the seating and the tools are those of `three_bars`; land meets
    land, and a land is filed only where it is seen to touch. So a round leaves
    ``|2 share - 1|`` of the error until the floor of sight and hands, the algebra
    of three bars with one number. Cannot see: an error smaller than that
    floor, and anything between the lands.

    >>> made = make_land_gauges([12.0, -20.0, 5.0], rounds=2, seed=1)
    >>> bool(abs(made.middle_um[-1]).max() < 2 * made.history.floor_um)
    True
    """
    start = checks.profiles(middle_um, LANDS, "middle_um")
    x = land_points(lands_mm, width_mm)
    each = x.size // LANDS
    height = np.repeat(np.stack([0 * start, start, 0 * start], axis=-1), each, axis=-1)
    run = three_bars(
        x,
        height,
        rounds=rounds,
        removal_um=removal_um,
        share=share,
        seed=seed,
        sight=sight,
        tool=tool,
        hands=hands,
        record=record,
        lands=LANDS,
    )
    lands = checks.positions(lands_mm, "lands_mm")
    return LandGaugeHistory(lands - lands[0], middle_of(x, run.height_um), run)


def middle_of(x_mm: ArrayLike, height_um: ArrayLike) -> np.ndarray:
    """Height of what touches at the middle land over the line of what touches at the outer two.

    `x_mm` (points,): as from `land_points`. `height_um` (..., points). Returns (...).

    The highest point of each land touches; on a flat a gauge stands on those of its outer lands.

    >>> middle_of([-1, 0, 1, 9, 10, 11, 19, 20, 21], [0, 0, 0, 7, 7, 7, 0, 0, 0])
    np.float64(7.0)
    """
    x = checks.positions(x_mm, at_least=3 * LANDS)
    h = checks.profiles(height_um, x.size)
    if x.size % LANDS:
        raise Refusal(
            "count", where="x_mm", found=f"{x.size} points", must_be=f"the same number on each of {LANDS} lands"
        )
    faces, places = h.reshape(h.shape[:-1] + (LANDS, x.size // LANDS)), x.reshape(LANDS, -1)
    top = faces.argmax(axis=-1)
    high = faces.max(axis=-1)
    at = places[np.arange(LANDS), top]
    part = (at[..., 1] - at[..., 0]) / (at[..., 2] - at[..., 0])
    return high[..., 1] - (1 - part) * high[..., 0] - part * high[..., 2]


def fit_of_two(x_mm: ArrayLike, lower_um: ArrayLike, upper_um: ArrayLike, sight: Sight = Sight()) -> LandFit:
    """Lay one land gauge face down on another, land on land, and look.

    `x_mm` (points,): as from `land_points`. `lower_um`, `upper_um` (..., points).

    >>> x = land_points((0, 100, 200), 10)
    >>> proud = np.repeat([0.0, 12.0, 0.0], 5)
    >>> fit = fit_of_two(x, proud, proud / 2)
    >>> bool(fit.rocks), fit.sum_um, fit.seen.open.tolist()
    (True, np.float64(18.0), [True, False, True])
    """
    x = checks.positions(x_mm, at_least=3 * LANDS)
    both = checks.profiles(lower_um, x.size, "lower_um") + checks.profiles(upper_um, x.size, "upper_um")
    gap = rest(x, both).gap_um
    narrow = gap.reshape(gap.shape[:-1] + (LANDS, x.size // LANDS)).min(axis=-1)
    part = (x.reshape(LANDS, -1).mean(axis=1) @ [-1, 1, 0]) / (x.reshape(LANDS, -1).mean(axis=1) @ [-1, 0, 1])
    total = (1 - part) * narrow[..., 0] + part * narrow[..., 2] - narrow[..., 1]
    return LandFit(narrow, (narrow[..., 1] == 0) & (total > 0), total[()], look(narrow, sight))
