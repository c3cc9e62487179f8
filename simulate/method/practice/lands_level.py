"""The practice bench with three land gauges: three lands each, and one number, the middle over the outer two."""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import partial

import numpy as np

from simulate.bench.cutting import tools
from simulate.bench.looking import sight
from simulate.bench.seating.bar_seat import face
from simulate.core import checks
from simulate.method.planning.job import PACES
from simulate.method.practice import bars_level as bars
from simulate.method.practice.filing_act import hands_of, rack_of
from simulate.method.practice.state import BODIES, MOST_PASSES, MOST_STROKES, Cut, Level, PracticeState, do_cut, frozen

LAND_MM2 = 100.0
"""A land of 10 by 10 mm."""

LANDS = {"the middle land": (1,), "both end lands": (0, 2), "the left land": (0,), "the right land": (2,)}
SIGHTS = frozen(
    light=sight.Sight("light", 6.0),
    feeler=sight.Sight("feeler", 50.0),
    marking_compound=sight.Sight("marking compound", 2.0),
)
"""A land 10 mm wide hides more than a knife edge: white light from 6 µm (common practice, no source)."""


def middle_um(height_um: np.ndarray) -> np.ndarray:
    """Give the one number of each gauge.

    `height_um` (..., 3). Returns (...): how far the middle land stands over the line of the outer two.

    >>> middle_um(np.array([0.0, 5.0, 2.0]))
    np.float64(4.0)
    """
    return height_um[..., 1] - (height_um[..., 0] + height_um[..., 2]) / 2


def _start(seed: int, error_um: float, length_mm: float) -> tuple[np.ndarray, np.ndarray]:
    """Three gauges, each out by so much at most; one of them by all of it."""
    rng = np.random.default_rng([seed, 3])
    sizes = rng.permutation(np.array([1.0, rng.uniform(0.5, 0.9), rng.uniform(0.2, 0.7)]))
    middle = error_um * sizes * rng.choice([-1.0, 1.0], BODIES)
    return np.array([-0.5, 0.0, 0.5]) * length_mm, middle[:, None] * np.array([-1 / 3, 2 / 3, -1 / 3])


def _land_um(tool: str) -> float:
    """What one stroke takes off one land."""
    return PACES[tool].stroke_mm3 * 1000 / LAND_MM2


def _file(
    state: PracticeState, lands: str, strokes: int, tool: str = "smooth file", *, rng: np.random.Generator
) -> tuple[dict, Cut]:
    chosen = LANDS[checks.choice(lands, "lands", tuple(LANDS))]
    strokes = checks.whole(strokes, "strokes", 1, MOST_STROKES)
    checks.choice(tool, "tool", tuple(tools.TOOLS))
    places, uneven = np.zeros(3), rng.normal(1, hands_of(state).scatter / 2, len(chosen)).clip(0.5)
    places[list(chosen)] = strokes * _land_um(tool) / len(chosen) * uneven
    height = state.height_um[state.upper] - face(places, bool(state.turned))
    return {"lands": lands, "strokes": strokes, "tool": tool}, Cut(
        height, strokes, 1, 0, strokes * PACES[tool].stroke_s
    )


def _touch(
    state: PracticeState, tool: str, passes: int, sight: str = "light", both: bool = False, *, rng: np.random.Generator
) -> tuple[dict, Cut]:
    rack = rack_of(state, tool)
    passes = checks.whole(passes, "passes", 1, MOST_PASSES)
    checks.choice(both, "both", (False, True))
    least = SIGHTS[checks.choice(sight, "sight", bars.EYES)].threshold_um
    pair = [state.lower, state.upper] if both else [state.upper]
    height, done = state.height_um.copy(), 0
    for _ in range(passes):
        stands = middle_um(height[state.lower]) + middle_um(height[state.upper])
        if abs(stands) <= least:
            break
        own = np.array([0.0, 1.0, 0.0] if stands > 0 else [1.0, 0.0, 1.0])
        height[pair] -= (
            own * rack.depth_um / len(pair) * rng.normal(1, hands_of(state).scatter / 2, (len(pair), 3)).clip(0.5)
        )
        done += 1
    strokes = math.ceil(_metal(state.x_mm, state.height_um - height).sum() / PACES[tool].stroke_mm3 - 1e-9)
    given = {"tool": tool, "passes": passes, "sight": sight, "both": bool(both)}
    return given, Cut(
        height[state.upper],
        strokes,
        done,
        min(done + 1, passes),
        strokes * PACES[tool].stroke_s,
        height[state.lower] if both else None,
    )


def file(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """File one land or two: `lands`, `strokes`, `tool`."""
    return do_cut(_file, state, given, rng)


def touch(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Look and file what touches, again and again: `tool`, `passes`, `sight`, `both`.

    Returns: the middle where the gauge rocks on it, else both ends; no pass where nothing shows.
    """
    return do_cut(_touch, state, given, rng)


def _metal(_x_mm: np.ndarray, taken_um: np.ndarray) -> np.ndarray:
    return LAND_MM2 * 1e-3 * taken_um.sum(axis=-1)


LEVEL = Level(
    "lands",
    "gauge",
    (60.0, 100.0),
    (5, 500),
    (30, 600),
    6.0,
    (False, True),
    SIGHTS,
    _start,
    bars.laid,
    partial(bars.ask, sights=SIGHTS),
    file,
    touch,
    bars.form,
    _metal,
    bars.hidden,
)
