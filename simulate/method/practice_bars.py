"""The practice bench with three bars: looks along an edge, and files over a stretch of it."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from simulate.bench import sight, tools
from simulate.bench.glow import KNIFE_EDGE_UM, glow
from simulate.bench.seat import Rest, face, rest
from simulate.core.refusal import Refusal
from simulate.method.fitting import Shop, fit
from simulate.method.hidden import hidden_bar_errors
from simulate.method.job import PACES
from simulate.method.practice_filing import WIDTH_MM, worn
from simulate.method.practice_state import BODIES, MOST_PASSES, MOST_STROKES, Answer, Cut, Level, PracticeState, do_cut, frozen
from simulate.surface import checks
from simulate.surface.bars import starting_bars
from simulate.surface.form import least_squares_line, straightness

POINTS, SHORTEST_MM = 101, 20.0
_PATIENCE = 3  # of a fit, as when the first goes were kept: they are replayed bit for bit
STATIONS = 9
"""Places along the bar where a feeler is tried."""

SIGHTS = frozen(light=sight.Sight("light", 2.5), feeler=sight.Sight("feeler", 50.0),
                marking_compound=sight.Sight("marking compound", 2.0))
COLOURS = (f"Light tells open from shut. How wide, only colour tells, and only below {KNIFE_EDGE_UM:g} µm: all wider gaps are white, "
           "and the narrowest look shut.")
EYES = ("light", "marking compound")
"""Ways of looking that show where it touches."""


def fitted(state: PracticeState) -> Rest:
    """Lay the one on the other, as they truly are.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    Rest

    Examples
    --------
    >>> from simulate.method.practice import start_practice
    >>> float(fitted(start_practice()).gap_um.min())
    0.0
    """
    pair = state.height_um[state.lower] + face(state.height_um[state.upper], state.turned)
    return rest(state.x_mm, pair, state.press_mm)


def ask(state: PracticeState, kind: str, film_um: float | None, sights: Mapping = SIGHTS) -> Answer:
    """Look along a pair.

    Parameters
    ----------
    state : PracticeState
    kind : str
    film_um : None
        The film is thin.
    sights : Mapping of str to Sight

    Returns
    -------
    Answer

    Raises
    ------
    ValueError
        Where a film is chosen.

    Examples
    --------
    >>> from simulate.method.practice import start_practice
    >>> ask(start_practice(), "feeler", None).x_mm.size
    9
    """
    if film_um is not None:
        raise Refusal("act", where="film_um", found=f"{film_um!r}",
                      must_be="empty here, for a film is chosen on plates only")
    settled = fitted(state)
    places = np.arange(state.x_mm.size)
    if kind == "feeler":
        places = np.unique(np.linspace(0, places[-1], STATIONS).round().astype(int))
    gap = settled.gap_um[places]
    seen, shine = sight.look(gap, sights[kind]), None
    if kind == "light":
        shine = glow(gap, sights[kind].threshold_um)
        if sights[kind].threshold_um <= KNIFE_EDGE_UM:
            seen = replace(seen, cannot_tell=COLOURS)
    return Answer(kind, state.x_mm[places], seen, bool(settled.rocks), shine)


def laid(state: PracticeState, press_mm: float | None, slide: str) -> dict:
    """Check where a finger presses.

    Parameters
    ----------
    state : PracticeState
    press_mm : float or None
    slide : str
        ``"none"``: bars are not slid.

    Returns
    -------
    dict

    Raises
    ------
    ValueError
        Where it is beside the bar, or a slide is asked for.
    """
    if slide != "none":
        raise Refusal("act", where="slide", found=f"{slide!r}", must_be="'none', for only plates are slid")
    if press_mm is not None:
        press_mm = checks.number(press_mm, "press_mm", -state.length_mm / 2, state.length_mm / 2)
    return {"press_mm": press_mm}


def _file(state: PracticeState, place_mm: float, length_mm: float, strokes: int,
          tool: str = "second-cut file", *, rng: np.random.Generator) -> tuple[dict, Cut]:
    half = state.length_mm / 2
    place = checks.number(place_mm, "place_mm", -half, half)
    length = checks.number(length_mm, "length_mm", SHORTEST_MM, state.length_mm)
    strokes = checks.whole(strokes, "strokes", 1, MOST_STROKES)
    rack, pace = tools.tool_of(checks.choice(tool, "tool", tuple(tools.TOOLS))), PACES[tool]
    area = strokes * pace.stroke_mm3 * 1000 / WIDTH_MM
    own = -place if state.turned else place
    height = worn(state, own, length, area, rack, rng)
    given = {"place_mm": place, "length_mm": length, "strokes": strokes, "tool": tool}
    return given, Cut(height, strokes, 1, 0, strokes * pace.stroke_s)


def _touch(state: PracticeState, tool: str, passes: int, sight: str = "light", both: bool = False, *,
           rng: np.random.Generator) -> tuple[dict, Cut]:
    rack, pace = tools.tool_of(checks.choice(tool, "tool", tuple(tools.TOOLS))), PACES[tool]
    passes = checks.whole(passes, "passes", 1, MOST_PASSES)
    checks.choice(both, "both", (False, True))
    shop = Shop(state.x_mm, SIGHTS[checks.choice(sight, "sight", EYES)], rack, tools.Hands(), rng)
    h = state.height_um
    done = fit(shop, h[state.lower][None], face(h[state.upper], state.turned)[None], rack.depth_um, 0.5 * both, most=passes,
               patience=_PATIENCE)
    lower, upper = done.lower[0], face(done.upper[0], state.turned)
    taken = metal_mm3(state.x_mm, h[[state.lower, state.upper]] - [lower, upper]).sum()
    strokes, did = math.ceil(taken / pace.stroke_mm3 - 1e-9), int(done.upper_passes[0])
    given = {"tool": tool, "passes": passes, "sight": sight, "both": bool(both)}
    return given, Cut(upper, strokes, did, min(did + 1, passes), strokes * pace.stroke_s, lower if both else None)


def file(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """File a stretch: `place_mm`, `length_mm`, `strokes`, `tool`.

    Parameters
    ----------
    state : PracticeState
    given : Mapping
    rng : numpy.random.Generator

    Returns
    -------
    given : dict
    Cut
    """
    return do_cut(_file, state, given, rng)


def touch(state: PracticeState, given: Mapping, rng: np.random.Generator) -> tuple[dict, Cut]:
    """Look and file where it touches, again and again: `tool`, `passes`, `sight`, `both`.

    Parameters
    ----------
    state : PracticeState
    given : Mapping
    rng : numpy.random.Generator

    Returns
    -------
    given : dict
    Cut
        Fewer passes where the light is down to what tool and hands leave, or lessens no more: `fitting.fit`.
    """
    return do_cut(_touch, state, given, rng)


def form(x_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Give the minimum zone of each.

    Parameters
    ----------
    x_mm : ndarray
    height_um : ndarray, shape (..., points)

    Returns
    -------
    ndarray, shape (...)
    """
    return straightness(x_mm, height_um).value_um


def metal_mm3(x_mm: np.ndarray, taken_um: np.ndarray) -> np.ndarray:
    """Give the metal of an edge 10 mm wide.

    Parameters
    ----------
    x_mm : ndarray
    taken_um : ndarray, shape (..., points)

    Returns
    -------
    ndarray, shape (...)
    """
    return WIDTH_MM * 1e-3 * np.trapezoid(taken_um, x_mm, axis=-1)


def hidden(x_mm: np.ndarray, height_um: np.ndarray, fits: tuple) -> tuple[np.ndarray, float]:
    """Find the part of what is left that makes no gap in any fit.

    Parameters
    ----------
    x_mm : ndarray
    height_um : ndarray, shape (3, points)
    fits : tuple of (lower, upper, turned)

    Returns
    -------
    hidden_um : ndarray, shape (3, points)
    share : float
        Of what is left, by squares.
    """
    intercept, slope = least_squares_line(x_mm, height_um)
    left = height_um - intercept[:, None] - slope[:, None] * x_mm
    loose = hidden_bar_errors(x_mm.size, fits, BODIES).reshape(-1, left.size)
    part = (loose.T @ (loose @ left.ravel())).reshape(left.shape)
    whole = float((left**2).sum())
    return part, float((part**2).sum()) / whole if whole else 0.0


def _start(seed: int, error_um: float, length_mm: float) -> tuple[np.ndarray, np.ndarray]:
    return starting_bars(length_mm, error_um, POINTS, BODIES, seed=seed)


LEVEL = Level("bars", "bar", (200.0, 500.0), (20, 1000), (100, 2000), 15.0, (False, True), SIGHTS, _start, laid, ask, file,
              touch, form, metal_mm3, hidden)
