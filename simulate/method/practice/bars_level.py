"""The practice bench with three bars: looks along an edge, and files over a stretch of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from simulate.bench.bending.moving_steel import FILE_N, HAND_N, Steel, given_way, pressed_um
from simulate.bench.cutting.rocking import SIDES, WAYS, lead
from simulate.bench.cutting.tools import Tool
from simulate.bench.looking import sight
from simulate.bench.looking.light import KNIFE_EDGE_UM, glow
from simulate.bench.seating.bar_seat import Rest, face, rest
from simulate.bench.seating.pushed_bar import hinge
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.bars.bar_null_space import hidden_bar_errors
from simulate.method.bars.fitting import Shop, fit
from simulate.method.planning.choices import HOLDS
from simulate.method.planning.job import HOLD_S, PACES
from simulate.method.practice.filing_act import WIDTH_MM, hands_of, rack_of, side_of, worn
from simulate.method.practice.state import (
    BODIES,
    MOST_PASSES,
    MOST_STROKES,
    Answer,
    Cut,
    Level,
    PracticeState,
    do_cut,
    frozen,
)
from simulate.surface.starting_bars import starting_bars
from simulate.surface.straightness import least_squares_line, straightness

POINTS, SHORTEST_MM = 101, 20.0
STEEL = Steel("hot rolled", hand_n=HAND_N, file_n=FILE_N)
NEAR_CUT = HOLDS[0]
VICES = HOLDS
_PLAIN = "along the bar"
_PATIENCE = 3  # of a fit, as when the first goes were kept: they are replayed bit for bit
STATIONS = 9
"""Places along the bar where a feeler is tried."""

SIGHTS = frozen(
    light=sight.Sight("light", 2.5),
    feeler=sight.Sight("feeler", 50.0),
    marking_compound=sight.Sight("marking compound", 2.0),
    a_push_at_one_end=sight.Sight("light", 1.0),
)
PUSH = "a push at one end"
COLOURS = (
    f"Light shows whether there is a gap. Only colour shows how wide, and only below {KNIFE_EDGE_UM:g} µm: wider gaps "
    "are white, and the narrowest do not show."
)
EYES = ("light", "marking compound")
"""Ways of looking that show where it touches."""


def fitted(state: PracticeState) -> Rest:
    """Lay the one on the other, as they truly are.

    >>> from simulate.method.practice.acts import start_practice
    >>> float(fitted(start_practice()).gap_um.min())
    0.0
    """
    pair = state.height_um[state.lower] + face(state.height_um[state.upper], state.turned)
    return rest(state.x_mm, pair, state.press_mm)


def ask(
    state: PracticeState, kind: str, film_um: float | None, sights: Mapping = SIGHTS, held: str = "laid down"
) -> Answer:
    """Look along a pair.

    `film_um`: the film is thin. `held`: ``"laid down"``, or ``"in the vice"``, where a hand presses on the upper one.

    >>> from simulate.method.practice.acts import start_practice
    >>> ask(start_practice(), "feeler", None).x_mm.size
    9
    """
    if film_um is not None:
        raise Refusal(
            "act", where="film_um", found=f"{film_um!r}", must_be="empty here, because a film is chosen on plates only"
        )
    settled = fitted(state)
    if kind == PUSH:
        return _pushed(state, settled)
    places = np.arange(state.x_mm.size)
    if kind == "feeler":
        places = np.unique(np.linspace(0, places[-1], STATIONS).round().astype(int))
    gap = settled.gap_um
    if held != "laid down":  # under rules 4 only the upper one bent
        gap = pressed_um(state.x_mm, gap, STEEL, lower_bends=state.rules >= 5)
    gap = gap[places]
    seen, shine = sight.look(gap, sights[kind]), None
    if kind == "light":
        shine = glow(gap, sights[kind].threshold_um)
        if sights[kind].threshold_um <= KNIFE_EDGE_UM:
            seen = replace(seen, cannot_tell=COLOURS)
    return Answer(kind, state.x_mm[places], seen, bool(settled.rocks), shine)


def _pushed(state: PracticeState, settled: Rest) -> Answer:
    """Push the upper bar square at its right end, and see about which place it turns."""
    if state.rules < 4:
        raise Refusal("act", where="kind", found=f"{PUSH!r}", must_be="a check, under the rules of this attempt")
    none = np.zeros(state.x_mm.size, bool)
    seen = sight.Seen(
        none,
        0.0 * state.x_mm,
        np.full(none.shape, np.inf),
        "A push shows where the bar bears, not how wide the gap is; one that bears at three places may turn as if it "
        "bore evenly.",
    )
    return Answer(PUSH, state.x_mm, seen, bool(settled.rocks), hinge=hinge(state.x_mm, settled.gap_um))


def laid(state: PracticeState, press_mm: float | None, slide: str) -> dict:
    """Check where a finger presses.

    `slide`: ``"none"``: bars are not slid.
    """
    if slide != "none":
        raise Refusal("act", where="slide", found=f"{slide!r}", must_be="'none', because only plates are slid")
    if press_mm is not None:
        press_mm = checks.number(press_mm, "press_mm", -state.length_mm / 2, state.length_mm / 2)
    return {"press_mm": press_mm}


def _file(
    state: PracticeState,
    place_mm: float,
    length_mm: float,
    strokes: int,
    tool: str = "second-cut file",
    vice: str = NEAR_CUT,
    side: str = SIDES[0],
    *,
    rng: np.random.Generator,
) -> tuple[dict, Cut]:
    half = state.length_mm / 2
    place = checks.number(place_mm, "place_mm", -half, half)
    length = checks.number(length_mm, "length_mm", SHORTEST_MM, state.length_mm)
    strokes = checks.whole(strokes, "strokes", 1, MOST_STROKES)
    rack, pace = lead(rack_of(state, tool), side=side_of(state, side)), PACES[tool]
    area = strokes * rack.bite * pace.stroke_mm3 * 1000 / WIDTH_MM
    own = -place if state.turned else place
    height = worn(state, own, length, area, rack, rng)
    before = state.height_um[state.upper]
    height = before - (before - height) * _left_of_pass(state, rack, vice)
    given = {"place_mm": place, "length_mm": length, "strokes": strokes, "tool": tool} | _unless_usual(vice, side)
    return given, Cut(height, strokes, 1, 0, strokes * pace.stroke_s + _held_anew_s(state, vice))


def _touch(
    state: PracticeState,
    tool: str,
    passes: int,
    sight: str = "light",
    both: bool = False,
    way: str = _PLAIN,
    vice: str = NEAR_CUT,
    side: str = SIDES[0],
    *,
    rng: np.random.Generator,
) -> tuple[dict, Cut]:
    led = WAYS[checks.choice(way, "way", tuple(WAYS))]
    rack = lead(rack_of(state, tool), **led, side=side_of(state, side))
    pace = replace(PACES[tool], stroke_mm3=rack.bite * PACES[tool].stroke_mm3)
    passes = checks.whole(passes, "passes", 1, MOST_PASSES)
    checks.choice(both, "both", (False, True))
    shop = Shop(state.x_mm, SIGHTS[checks.choice(sight, "sight", EYES)], rack, hands_of(state), rng)
    if _gives_way(state, vice):
        shop = replace(shop, steel=replace(STEEL, stock=None, hand_n=0.0))
    h = state.height_um
    done = fit(
        shop,
        h[state.lower][None],
        face(h[state.upper], state.turned)[None],
        rack.depth_um,
        0.5 * both,
        most=passes,
        patience=_PATIENCE,
    )
    lower, upper = done.lower[0], face(done.upper[0], state.turned)
    taken = metal_mm3(state.x_mm, h[[state.lower, state.upper]] - [lower, upper]).sum()
    strokes, did = math.ceil(taken / pace.stroke_mm3 - 1e-9), int(done.upper_passes[0])
    given = {"tool": tool, "passes": passes, "sight": sight, "both": bool(both)} | (
        {} if way == _PLAIN else {"way": way}
    )
    seconds = strokes * pace.stroke_s + did * _held_anew_s(state, vice)
    cut = Cut(upper, strokes, did, min(did + 1, passes), seconds, lower if both else None)
    return given | _unless_usual(vice, side), cut


def _gives_way(state: PracticeState, vice: str) -> bool:
    """Whether the ends give way to the file, as they do where the bar is held in its middle."""
    moves = state.rules >= 4
    return checks.choice(vice, "vice", VICES if moves else VICES[:1]) != NEAR_CUT


def _left_of_pass(state: PracticeState, rack: Tool, vice: str) -> np.ndarray | float:
    return given_way(state.x_mm, STEEL, rack.depth_um) if _gives_way(state, vice) else 1.0


def _held_anew_s(state: PracticeState, vice: str) -> float:
    """What it takes to hold the bar where it is cut; under rules before 4 it was not counted."""
    return HOLD_S if state.rules >= 4 and vice == NEAR_CUT else 0.0


def _unless_usual(vice: str, side: str) -> dict:
    return ({} if vice == NEAR_CUT else {"vice": vice}) | ({} if side == SIDES[0] else {"side": side})


def file(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """File a stretch: `place_mm`, `length_mm`, `strokes`, `tool`, `vice`, `side` (of the file)."""
    return do_cut(_file, state, given, rng)


def touch(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Look and file where it touches, again and again, with what `work_seen` takes on bars.

    Returns: fewer passes where the light is down to what tool and hands leave, or lessens no more: `fitting.fit`.
    """
    return do_cut(_touch, state, given, rng)


def form(x_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Give the minimum zone of each.

    `height_um` (..., points). Returns (...).
    """
    return straightness(x_mm, height_um).value_um


def metal_mm3(x_mm: np.ndarray, taken_um: np.ndarray) -> np.ndarray:
    """Give the metal of an edge 10 mm wide.

    `taken_um` (..., points). Returns (...).
    """
    return WIDTH_MM * 1e-3 * np.trapezoid(taken_um, x_mm, axis=-1)


def hidden(x_mm: np.ndarray, height_um: np.ndarray, fits: tuple) -> tuple[np.ndarray, float]:
    """Find the part of what is left that makes no gap in any fit.

    `height_um` (3, points). Returns `hidden_um` (3, points). `share`: of what is left, by squares.
    """
    intercept, slope = least_squares_line(x_mm, height_um)
    left = height_um - intercept[:, None] - slope[:, None] * x_mm
    loose = hidden_bar_errors(x_mm.size, fits, BODIES).reshape(-1, left.size)
    part = (loose.T @ (loose @ left.ravel())).reshape(left.shape)
    whole = float((left**2).sum())
    return part, float((part**2).sum()) / whole if whole else 0.0


def _start(seed: int, error_um: float, length_mm: float) -> tuple[np.ndarray, np.ndarray]:
    return starting_bars(length_mm, error_um, POINTS, BODIES, seed=seed)


LEVEL = Level(
    "bars",
    "bar",
    (200.0, 500.0),
    (20, 1000),
    (100, 2000),
    15.0,
    (False, True),
    SIGHTS,
    _start,
    laid,
    ask,
    file,
    touch,
    form,
    metal_mm3,
    hidden,
    STEEL,
)
