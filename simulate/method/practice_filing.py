"""A file over a chosen stretch of a practice bar: what it takes, and how far it spreads."""

from __future__ import annotations

import math

import numpy as np

from simulate.bench import cut, tools
from simulate.bench.sole import stretch_um
from simulate.method.job import PACES
from simulate.method.practice_state import PracticeState

WIDTH_MM = 10.0
FADE = 0.3  # under the first rules: part of the stretch, at either end of it, over which the strokes fade out


def reach_um(state: PracticeState, place_mm: float, length_mm: float, strokes: int, tool: str) -> tuple[float, float]:
    """Foretell how deep and how wide a cut on a level face would come out.

    Parameters
    ----------
    state : PracticeState
    place_mm, length_mm : float
    strokes : int
    tool : str

    Returns
    -------
    depth_um, width_mm : float

    Examples
    --------
    >>> from simulate.method.practice_levels import start_practice
    >>> deep, wide = reach_um(start_practice(), 0, 20, 100, "second-cut file")
    >>> deep < 150, wide > 80
    (True, True)
    """
    area = strokes * PACES[tool].stroke_mm3 * 1000 / WIDTH_MM
    taken = stretch_um(state.x_mm, _stretch(state.x_mm, place_mm, length_mm), area, tools.TOOLS[tool].radius_mm)
    return float(taken.max()), float(np.count_nonzero(taken > 0.02 * taken.max()) * (state.x_mm[1] - state.x_mm[0]))


def _stretch(x: np.ndarray, place: float, length: float) -> np.ndarray:
    return np.abs(x - x[np.abs(x - place).argmin()]) <= length / 2 + 1e-9


def worn(state: PracticeState, place: float, length: float, area: float, tool: tools.Tool,
         rng: np.random.Generator) -> np.ndarray:
    """Heights after enough passes of the tool over the stretch; what lies hollow under its sole is spared.

    Parameters
    ----------
    state : PracticeState
    place, length : float
        On the bar in the vice, as it is marked.
    area : float
        Metal in µm times mm, seen from the side.
    tool : Tool
    rng : numpy.random.Generator

    Returns
    -------
    ndarray, shape (points,)
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
        h = cut.take(x, h, each * spared, removal_um=each, sight_um=0, tool=tool, seed=rng)
    return h
