"""The practice bench: a learner works on three hidden bodies, and every act is kept.

Metal only ever comes off, and no act can be taken back. The same seed and the
same acts give the same bodies, so that a log of acts is the whole state. One
set of acts serves lands, bars and plates; what differs stands in their `Level`.
"""

from __future__ import annotations

import inspect
from collections.abc import Iterable, Mapping
from dataclasses import replace

import numpy as np

from simulate.core.refusal import Refusal, either
from simulate.method.job import PACES
from simulate.method.practice_levels import LEVELS, level_of, start_practice
from simulate.method.practice_state import BODIES, Act, Answer, Cut, PracticeState, counted
from simulate.surface import checks

__all__ = ["LEVELS", "Act", "Answer", "PracticeState", "lay", "level_of", "look", "replay", "start_practice", "stop",
           "swap", "work", "work_seen"]

LOOK_S = PACES["second-cut file"].look_s


def lay(state: PracticeState, lower: int, upper: int, turned: bool | int = False, press_mm: float | None = None,
        slide: str = "none") -> PracticeState:
    """Lay one body on another, face down.

    Parameters
    ----------
    state : PracticeState
    lower, upper : int
        0 to 2; the upper one is the one in the vice.
    turned : bool or int
        End for end; on plates 0, 90, 180 or 270 degrees.
    press_mm : float, optional
        Press there; not on plates.
    slide : str
        On plates only: a name of `practice_plates.SLIDES`.

    Returns
    -------
    PracticeState
        The same one where nothing changes.

    Raises
    ------
    ValueError
        Where one is laid on itself, a value is out of its range, or the learner has stopped.

    Examples
    --------
    >>> lay(start_practice(), 2, 0).upper
    0
    """
    _going(state)
    level = level_of(state)
    lower = checks.whole(lower, "lower", 0, BODIES - 1)
    upper = checks.whole(upper, "upper", 0, BODIES - 1)
    turned = type(level.turns[0])(checks.choice(turned, "turned", level.turns))
    if lower == upper:
        raise Refusal("same", where=f"{level.body} {lower + 1}", found="laid on itself",
                      must_be=f"laid on another {level.body}")
    chosen = {"lower": lower, "upper": upper, "turned": turned, **level.laid(state, press_mm, slide)}
    if all(getattr(state, name) == value for name, value in chosen.items()):
        return state
    return replace(state, **chosen, answer=None, acts=(*state.acts, Act("lay", chosen)))


def swap(state: PracticeState) -> PracticeState:
    """Let gauge and vice change places; all else as it lies.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    PracticeState

    Examples
    --------
    >>> swap(start_practice()).upper
    0
    """
    return lay(state, state.upper, state.lower, state.turned, state.press_mm, state.slide)


def look(state: PracticeState, kind: str | None = None, film_um: float | None = None) -> PracticeState:
    """Look at the pair, and keep the answer.

    Parameters
    ----------
    state : PracticeState
    kind : str, optional
        One of the level's `sights`; the first of them without it.
    film_um : float, optional
        On plates, how thick the marking is spread.

    Returns
    -------
    PracticeState

    Examples
    --------
    >>> answer = look(start_practice(), "feeler").answer
    >>> answer.x_mm.size
    9
    """
    _going(state)
    level = level_of(state)
    kind = checks.choice(next(iter(level.sights)) if kind is None else kind, "kind", tuple(level.sights))
    answer = level.look(state, kind, film_um)
    given = {"kind": kind} if answer.film_um is None else {"kind": kind, "film_um": answer.film_um}
    tally = replace(state.tally, looks=state.tally.looks + 1, seconds=state.tally.seconds + LOOK_S)
    return replace(state, answer=answer, acts=(*state.acts, Act("look", given)), tally=tally)


def work(state: PracticeState, **given: object) -> PracticeState:
    """Take metal off the body in the vice, at a place that the learner names.

    Parameters
    ----------
    state : PracticeState
    **given
        Bars: `place_mm`, `length_mm`, `strokes`, `tool`. Lands: `lands`, `strokes`, `tool`. Plates: `x_mm`, `y_mm`,
        `region_mm`, `passes`, `depth_um`, `spot_mm`.

    Returns
    -------
    PracticeState
        Nowhere higher than before.

    Raises
    ------
    ValueError
        Where a value is out of its range, or the learner has stopped.

    Notes
    -----
    A file's belly keeps a short deep cut from staying short: `bench.sole`.

    Examples
    --------
    >>> work(start_practice(level="lands"), lands="both end lands", strokes=5).acts[0].kind
    'file'
    """
    return _cut(state, "file", given)


def work_seen(state: PracticeState, **given: object) -> PracticeState:
    """Look, and take metal where it touches; again and again.

    Parameters
    ----------
    state : PracticeState
    **given
        Bars and lands: `tool`, `passes`, `sight`, `both`. Plates: `passes`, `film_um`, `depth_um`, `spot_mm`, `both`.

    Returns
    -------
    PracticeState
        Nowhere higher than before; it ends early once nothing is seen open.

    Notes
    -----
    One pass is a pass of `three_bars` or `three_plates`, and costs a look. All
    the metal comes off the one in the vice, or half off each with `both`.

    Examples
    --------
    >>> worked = work_seen(start_practice(), tool="bastard file", passes=3)
    >>> worked.tally.looks, worked.tally.cuts
    (3, (0, 3, 0))
    """
    return _cut(state, "touch", given)


def _cut(state: PracticeState, kind: str, given: Mapping) -> PracticeState:
    _going(state)
    rng = np.random.default_rng([state.seed, len(state.acts)])
    done: Cut
    given, done = getattr(level_of(state), kind)(state, given, rng)
    height = state.height_um.copy()
    height[state.upper] = done.height_um
    bodies: tuple[int, ...] = (state.upper,)
    if done.lower_um is not None:
        height[state.lower] = done.lower_um
        bodies = (state.lower, state.upper)
    return replace(state, height_um=height, answer=None, acts=(*state.acts, Act(kind, given)),
                   tally=counted(state.tally, bodies, done, LOOK_S))


def stop(state: PracticeState) -> PracticeState:
    """Lay the tools down: from now on the truth may be seen, and nothing more is done.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    PracticeState

    Examples
    --------
    >>> stop(start_practice()).stopped
    True
    """
    _going(state)
    return replace(state, stopped=True, acts=(*state.acts, Act("stop")))


_DO = {"lay": lay, "look": look, "file": work, "touch": work_seen, "stop": stop}


def replay(start: PracticeState, acts: Iterable[Act]) -> list[PracticeState]:
    """Do a list of acts over again; an act that is none, or cannot be done, is refused.

    Parameters
    ----------
    start : PracticeState
    acts : iterable of Act

    Returns
    -------
    list of PracticeState
        The start, and the bench after each act.
    """
    states = [start]
    for number, act in enumerate(acts, 1):
        if not _is_act(act, states[-1]):
            raise Refusal("act", where=f"act {number}", found=str(act)[:60],
                          must_be=f"{either(_DO)}, with what each of them takes")
        states.append(_DO[act.kind](states[-1], **act.given))
    return states


def _is_act(act: Act, state: PracticeState) -> bool:
    """Whether there is such an act and it takes what it is given; what it is worth is checked by the act itself."""
    if not isinstance(act.kind, str) or act.kind not in _DO:
        return False
    try:
        inspect.signature(_DO[act.kind]).bind(state, **act.given)
    except TypeError:
        return False
    return True


def _going(state: PracticeState) -> None:
    if state.stopped:
        raise Refusal("state", where="this attempt", found=f"ended since act {len(state.acts)}", must_be="still going",
                      do="Start a new attempt to go on")
