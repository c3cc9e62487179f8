"""The practice bench: a learner files hidden bars, and every act is kept.

Metal only ever comes off, and no act can be taken back. The same seed and the
same acts give the same bars, so that a log of acts is the whole state.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from simulate.bench import cut, sight
from simulate.bench.seat import face, rest
from simulate.method.planning import PACES
from simulate.method.practice_state import (
    BARS,
    FADE,
    MOST_STROKES,
    POINTS,
    SHORTEST_MM,
    SIGHTS,
    STATIONS,
    WIDTH_MM,
    Act,
    Answer,
    PracticeState,
    start_practice,
)
from simulate.surface import checks

__all__ = ["Act", "Answer", "PracticeState", "file_place", "lay", "look", "replay", "start_practice", "stop"]


def lay(state: PracticeState, lower: int, upper: int, turned: bool = False,
        press_mm: float | None = None) -> PracticeState:
    """Lay one bar on another, face down.

    Parameters
    ----------
    state : PracticeState
    lower, upper : int
        Bars 0 to 2; the upper one is the one in the vice.
    turned : bool
        End for end.
    press_mm : float, optional
        Press there.

    Returns
    -------
    PracticeState
        The same one where nothing changes.

    Raises
    ------
    ValueError
        Where a bar is laid on itself, a value is out of its range, or the learner has stopped.

    Examples
    --------
    >>> lay(start_practice(), 2, 0).upper
    0
    """
    _going(state)
    lower = checks.whole(lower, "lower", 0, BARS - 1)
    upper = checks.whole(upper, "upper", 0, BARS - 1)
    checks.choice(turned, "turned", (False, True))
    if lower == upper:
        raise ValueError(f"bar {lower + 1} is to lie on itself; a fit needs two different bars.")
    if press_mm is not None:
        press_mm = checks.number(press_mm, "press_mm", -state.length_mm / 2, state.length_mm / 2)
    chosen = {"lower": lower, "upper": upper, "turned": bool(turned), "press_mm": press_mm}
    if all(getattr(state, name) == value for name, value in chosen.items()):
        return state
    return replace(state, **chosen, answer=None, acts=(*state.acts, Act("lay", chosen)))


def look(state: PracticeState, kind: str = "light") -> PracticeState:
    """Look along the pair, and keep the answer.

    Parameters
    ----------
    state : PracticeState
    kind : str
        ``"light"``, ``"feeler"`` or ``"marking compound"``.

    Returns
    -------
    PracticeState

    Raises
    ------
    ValueError
        Where there is no such way of looking, or the learner has stopped.

    Notes
    -----
    Cannot see: what each way of looking cannot tell stands in its answer.

    Examples
    --------
    >>> answer = look(start_practice(), "feeler").answer
    >>> answer.x_mm.size
    9
    """
    _going(state)
    checks.choice(kind, "kind", tuple(SIGHTS))
    pair = state.height_um[state.lower] + face(state.height_um[state.upper], state.turned)
    settled = rest(state.x_mm, pair, state.press_mm)
    places = np.arange(POINTS)
    if kind == "feeler":
        places = np.linspace(0, POINTS - 1, STATIONS).round().astype(int)
    seen = sight.look(settled.gap_um[places], SIGHTS[kind])
    answer = Answer(kind, state.x_mm[places], seen, bool(settled.rocks))
    return replace(state, answer=answer, acts=(*state.acts, Act("look", {"kind": kind})))


def file_place(state: PracticeState, place_mm: float, length_mm: float, strokes: int,
               tool: str = "second-cut file") -> PracticeState:
    """File one stretch of the bar in the vice.

    Parameters
    ----------
    state : PracticeState
    place_mm : float
        Middle of the stretch, as the bar lies: turned bars are filed as they are seen.
    length_mm : float
        Length of the stretch; the strokes fade out towards its ends.
    strokes : int
        1 to 300.
    tool : str

    Returns
    -------
    PracticeState
        The bar is nowhere higher than before.

    Raises
    ------
    ValueError
        Where a value is out of its range, or the learner has stopped.

    Notes
    -----
    A stroke takes what `planning.PACES` says (common practice, no source) off
    an edge 10 mm wide, spread over the stretch, and less where the tool bridges.

    Examples
    --------
    >>> state = start_practice()
    >>> filed = file_place(state, 0, 100, 20)
    >>> bool((filed.height_um <= state.height_um).all())
    True
    """
    _going(state)
    half = state.length_mm / 2
    place = checks.number(place_mm, "place_mm", -half, half)
    length = checks.number(length_mm, "length_mm", SHORTEST_MM, state.length_mm)
    strokes = checks.whole(strokes, "strokes", 1, MOST_STROKES)
    rack = cut.tool_of(checks.choice(tool, "tool", tuple(cut.TOOLS)))
    depth = strokes * PACES[tool].stroke_mm3 * 1000 / (length * WIDTH_MM)
    own = -place if state.turned else place
    rng = np.random.default_rng([state.seed, len(state.acts)])
    height = state.height_um.copy()
    height[state.upper] = _filed(state.x_mm, height[state.upper], own, length, depth, rack, rng)
    given = {"place_mm": place, "length_mm": length, "strokes": strokes, "tool": tool}
    return replace(state, height_um=height, answer=None, acts=(*state.acts, Act("file", given)))


def stop(state: PracticeState) -> PracticeState:
    """Lay the tools down: from now on the truth may be seen, and nothing more is done.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    PracticeState

    Raises
    ------
    ValueError
        Where the learner has stopped before.

    Examples
    --------
    >>> stop(start_practice()).stopped
    True
    """
    _going(state)
    return replace(state, stopped=True, acts=(*state.acts, Act("stop")))


_DO = {"lay": lay, "look": look, "file": file_place, "stop": stop}


def replay(start: PracticeState, acts: Iterable[Act]) -> list[PracticeState]:
    """Do a list of acts over again.

    Parameters
    ----------
    start : PracticeState
    acts : iterable of Act

    Returns
    -------
    list of PracticeState
        The start, and the bench after each act.

    Raises
    ------
    ValueError
        Where an act is none, or cannot be done.

    Examples
    --------
    >>> done = look(lay(start_practice(), 1, 2))
    >>> len(replay(start_practice(), done.acts))
    3
    """
    states = [start]
    for number, act in enumerate(acts, 1):
        try:
            states.append(_DO[act.kind](states[-1], **act.given))
        except (KeyError, TypeError):
            raise ValueError(f"act {number} is {str(act)[:60]}; allowed are {', '.join(_DO)}, "
                             "with what each of them takes.") from None
    return states


def _going(state: PracticeState) -> None:
    if state.stopped:
        raise ValueError("these bars were laid aside at act "
                         f"{len(state.acts)}; nothing more can be done to them, so take another go.")


def _filed(x: np.ndarray, h: np.ndarray, place: float, length: float, depth: float, tool: cut.Tool,
           rng: np.random.Generator) -> np.ndarray:
    """Heights after enough passes of the tool over the stretch; outside it nothing is touched."""
    passes = max(1, math.ceil(depth / tool.depth_um))
    each = depth / passes
    step = x[1] - x[0]
    from_middle = np.abs(x - x[np.abs(x - place).argmin()])
    fade = max(FADE * length, step)
    gap = 2 * each * np.clip((from_middle - (length / 2 - fade)) / fade / 2, 0, 1)
    for _ in range(passes):
        h = cut.take(x, h, gap, removal_um=each, sight_um=0, tool=tool, seed=rng)
    return h
