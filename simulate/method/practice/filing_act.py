"""A file over a chosen stretch of a practice bar: what it takes, and how far it spreads."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from simulate.bench.cutting import filing as cut
from simulate.bench.cutting import tools
from simulate.bench.cutting.file_belly import stretch_um
from simulate.bench.cutting.rocking import SIDES, lead
from simulate.core import checks
from simulate.method.planning.job import PACES
from simulate.method.practice.state import PracticeState

WIDTH_MM = 10.0
_FIRST_HANDS = tools.Hands(rock_deg=0, scatter=0.10, crown=0.06)
_FIRST_SMOOTH = replace(tools.TOOLS["smooth file"], length_mm=200.0)
"""Until rules 3 hands rocked by a part of the depth, and the smooth file was shorter."""

FADE = 0.3  # under the first rules: part of the stretch, at either end of it, over which the strokes fade out


def hands_of(state: PracticeState) -> tools.Hands:
    """The hands by whose rules a go is played."""
    return _FIRST_HANDS if state.rules < 3 else tools.Hands()


def rack_of(state: PracticeState, tool: str) -> tools.Tool:
    """The tool of that name as it was when the go was begun."""
    chosen = tools.tool_of(checks.choice(tool, "tool", tuple(tools.TOOLS)))
    return _FIRST_SMOOTH if state.rules < 3 and chosen.name == _FIRST_SMOOTH.name else chosen


def side_of(state: PracticeState, side: str) -> str:
    """Check the side of the file: under rules before 5 all files had the one with the belly."""
    return checks.choice(side, "side", SIDES if state.rules >= 5 else SIDES[:1])


def reach_um(
    state: PracticeState, place_mm: float, length_mm: float, strokes: int, tool: str, side: str = SIDES[0]
) -> tuple[float, float]:
    """Foretell how deep and how wide a cut on a level face would come out.

    >>> from simulate.method.practice.levels import start_practice
    >>> deep, wide = reach_um(start_practice(), 0, 20, 100, "second-cut file")
    >>> deep < 150, wide > 80
    (True, True)
    """
    rack = lead(tool, side=side)
    area = strokes * rack.bite * PACES[tool].stroke_mm3 * 1000 / WIDTH_MM
    taken = stretch_um(state.x_mm, _stretch(state.x_mm, place_mm, length_mm), area, rack.radius_mm)
    return float(taken.max()), float(np.count_nonzero(taken > 0.02 * taken.max()) * (state.x_mm[1] - state.x_mm[0]))


def _stretch(x: np.ndarray, place: float, length: float) -> np.ndarray:
    return np.abs(x - x[np.abs(x - place).argmin()]) <= length / 2 + 1e-9


def worn(
    state: PracticeState, place: float, length: float, area: float, tool: tools.Tool, rng: np.random.Generator
) -> np.ndarray:
    """Heights after enough passes of the tool over the stretch; what lies hollow under its sole is spared.

    `place`, `length`: on the bar in the vice, as it is marked. `area`: metal in µm times mm, seen from the side.
    Returns (points,).
    """
    x, h = state.x_mm, state.height_um[state.upper]
    if state.rules == 1:
        depth = area / length
        fade = max(FADE * length, x[1] - x[0])
        from_middle = np.abs(x - x[np.abs(x - place).argmin()])
        spared = 2 * np.clip((from_middle - (length / 2 - fade)) / fade / 2, 0, 1)
    else:
        taken = stretch_um(x, _stretch(x, place, length), area, tool.radius_mm)
        depth = taken.max()
        spared = 1 - taken / depth
    passes = max(1, math.ceil(depth / tool.depth_um))
    for _ in range(passes):
        each = depth / passes
        filed = cut.take(x, h, each * spared, removal_um=each, sight_um=0, tool=tool, hands=hands_of(state), seed=rng)
        h = np.where(spared < 1, filed, h)  # a file that tips does so where it is led
    if state.rules < 3:
        return h
    before = state.height_um[state.upper]  # strokes that tip take no more than others
    return before - (before - h) * min(1.0, area / max(float(np.trapezoid(before - h, x)), 1e-12))
