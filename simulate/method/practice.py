"""The practice bench: a learner files hidden bars, and every act is kept.

Metal only ever comes off, and no act can be taken back. The same seed and the
same acts give the same bars, so that a log of acts is the whole state.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from simulate.bench import cut, sight
from simulate.bench.seat import face, rest
from simulate.method.planning import PACES
from simulate.surface import checks
from simulate.surface.bars import starting_bars

BARS, POINTS, WIDTH_MM = 3, 101, 10.0
STATIONS = 9
"""Places along the bar where a feeler is tried."""

SIGHTS = {"light": sight.Sight("light", 2.5), "feeler": sight.Sight("feeler", 50.0),
          "marking compound": sight.Sight("marking compound", 2.0)}
SHORTEST_MM, MOST_STROKES = 20.0, 300
_FADE = 0.3  # part of the chosen stretch, at either end of it, over which the strokes fade out


@dataclass(frozen=True)
class Act:
    """One thing that the learner did.

    Attributes
    ----------
    kind : str
        ``"lay"``, ``"look"``, ``"file"`` or ``"stop"``.
    given : dict
        What was chosen, by the names that the function of that kind takes.
    """

    kind: str
    given: Mapping = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What a look gave back; nothing else of the bars is known.

    Attributes
    ----------
    kind : str
    x_mm : ndarray, shape (places,)
        Where it was looked at: everywhere, or at the feeler's stations.
    seen : Seen
    rocks : bool
        Felt by a light push at either end.
    """

    kind: str
    x_mm: np.ndarray
    seen: sight.Seen
    rocks: bool


@dataclass(frozen=True)
class PracticeState:
    """The bench after some acts.

    Attributes
    ----------
    seed : int
    length_mm, error_um : float
    x_mm : ndarray, shape (points,)
    height_um : ndarray, shape (3, points)
        True heights, which the learner does not see before the stop.
    lower, upper : int
        The bar below and the bar in the vice, which is laid on it face down.
    turned : bool
        Whether the upper bar lies end for end.
    press_mm : float or None
        Where a finger presses; None for its own weight.
    acts : tuple of Act
    answer : Answer or None
        The last look, as long as nothing has been moved or filed since.
    stopped : bool
    """

    seed: int
    length_mm: float
    error_um: float
    x_mm: np.ndarray
    height_um: np.ndarray
    lower: int = 0
    upper: int = 1
    turned: bool = False
    press_mm: float | None = None
    acts: tuple[Act, ...] = ()
    answer: Answer | None = None
    stopped: bool = False


def start_practice(seed: int = 1, error_um: float = 200.0, length_mm: float = 500.0) -> PracticeState:
    """Put three hidden bars on the bench.

    Parameters
    ----------
    seed : int
        Which bars: the same number gives everybody the same.
    error_um : float
        How far each of them is out of straight, 20 to 1000.
    length_mm : float
        100 to 2000.

    Returns
    -------
    PracticeState

    Raises
    ------
    ValueError
        Where a figure is out of its range.

    Examples
    --------
    >>> start_practice(3).height_um.shape
    (3, 101)
    """
    seed = checks.whole(seed, "seed", 0, 10**9)
    error = checks.number(error_um, "error_um", 20, 1000)
    length = checks.number(length_mm, "length_mm", 100, 2000)
    x, height = starting_bars(length, error, POINTS, BARS, seed=seed)
    return PracticeState(seed, length, error, x, height)


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
    fade = max(_FADE * length, step)
    gap = 2 * each * np.clip((from_middle - (length / 2 - fade)) / fade / 2, 0, 1)
    for _ in range(passes):
        h = cut.take(x, h, gap, removal_um=each, sight_um=0, tool=tool, seed=rng)
    return h
