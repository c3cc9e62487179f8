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

from simulate.bench.bending.moving_steel import Steel, bow_shape, let_go_um, settled_part
from simulate.core import checks
from simulate.core.refusal import Refusal, either
from simulate.method.planning.choices import LOOKS
from simulate.method.planning.job import LAY_DOWN_S
from simulate.method.practice.levels import LEVELS, level_of, look_s, start_practice
from simulate.method.practice.state import BODIES, Act, Answer, Cut, PracticeState, counted, marks_kept

__all__ = [
    "LEVELS",
    "Act",
    "Answer",
    "PracticeState",
    "lay",
    "level_of",
    "look",
    "replay",
    "let_rest",
    "steel_of",
    "start_practice",
    "stop",
    "swap",
    "work",
    "work_seen",
]

LAID_DOWN = LOOKS[0]
HELD = LOOKS
REST_H = (0.5, 48.0)


def lay(
    state: PracticeState,
    lower: int,
    upper: int,
    turned: bool | int = False,
    press_mm: float | None = None,
    slide: str = "none",
) -> PracticeState:
    """Lay one body on another, face down.

    Parameters
    ----------
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
        raise Refusal(
            "same", where=f"{level.body} {lower + 1}", found="laid on itself", must_be=f"laid on another {level.body}"
        )
    chosen = {"lower": lower, "upper": upper, "turned": turned, **level.laid(state, press_mm, slide)}
    if all(getattr(state, name) == value for name, value in chosen.items()):
        return state
    return replace(state, **chosen, answer=None, acts=(*state.acts, Act("lay", chosen)))


def swap(state: PracticeState) -> PracticeState:
    """Let gauge and vice change places; all else as it lies.

    >>> swap(start_practice()).upper
    0
    """
    return lay(state, state.upper, state.lower, state.turned, state.press_mm, state.slide)


def look(
    state: PracticeState, kind: str | None = None, film_um: float | None = None, held: str = LAID_DOWN
) -> PracticeState:
    """Look at the pair, and keep the answer.

    Parameters
    ----------
    state : PracticeState
    kind : str, optional
        One of the level's `sights`; the first of them without it.
    film_um : float, optional
        On plates, how thick the marking is spread.
    held : str
        Of bars that move, one of `HELD`: laid down, which takes a minute more, or in the vice, where a hand steadies
        the upper one and presses on it.

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
    steel = steel_of(state)
    checks.choice(held, "held", HELD if steel else HELD[:1])
    answer = level.look(state, kind, film_um, **({"held": held} if held != LAID_DOWN else {}))
    given = {"kind": kind} if answer.film_um is None else {"kind": kind, "film_um": answer.film_um}
    given |= {} if held == LAID_DOWN else {"held": held}
    seconds = look_s(state) + (LAY_DOWN_S if steel and held == LAID_DOWN else 0.0)
    tally = replace(state.tally, looks=state.tally.looks + 1, seconds=state.tally.seconds + seconds)
    done = replace(state, answer=answer, acts=(*state.acts, Act("look", given)), tally=tally)
    return _moved(done, seconds / 3600)


def let_rest(state: PracticeState, hours: float) -> PracticeState:
    """Lay the bodies down and let them be: what their cuts have freed moves meanwhile.

    `hours`: 0.5 to 48.

    >>> rested = let_rest(work_seen(start_practice(), tool="bastard file", passes=9), 12)
    >>> rested.tally.rested_h, max(rested.to_come_um) < 0.02
    (12.0, True)
    """
    _going(state)
    hours = checks.number(hours, "hours", *REST_H)
    tally = replace(state.tally, rested_h=state.tally.rested_h + hours)
    rested = replace(state, answer=None, acts=(*state.acts, Act("rest", {"hours": hours})), tally=tally)
    return _moved(rested, hours)


def steel_of(state: PracticeState) -> Steel | None:
    """How the bodies of a go move; None where they do not, as under rules before 4."""
    return level_of(state).steel if state.rules >= 4 else None


def _moved(state: PracticeState, hours: float) -> PracticeState:
    """Let come of each body's bow what comes in so many hours."""
    steel = steel_of(state)
    if steel is None or not any(state.to_come_um):
        return state
    come = np.array(state.to_come_um) * settled_part(hours, steel)
    height = state.height_um + come[:, None] * bow_shape(state.x_mm)
    still, so_far = state.to_come_um - come, state.bowed_um + come
    return replace(state, height_um=height, to_come_um=tuple(still.tolist()), bowed_um=tuple(so_far.tolist()))


def work(state: PracticeState, **given: object) -> PracticeState:
    """Take metal off the body in the vice, at a place that the learner names.

    `**given`: bars: `place_mm`, `length_mm`, `strokes`, `tool`, `vice`, `side`. Lands: `lands`, `strokes`, `tool`.
    Plates: `x_mm`, `y_mm`, `region_mm`, `passes`, `depth_um`, `spot_mm`. Returns: nowhere higher than before.

    A file's belly keeps a short deep cut from staying short: `bench.sole`.

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
        Bars and lands: `tool`, `passes`, `sight`, `both`, of bars `way`, `vice` and `side` besides. Plates: `passes`,
        `film_um`, `depth_um`, `spot_mm`, `both`.

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
    laid_down_s = LAY_DOWN_S if steel_of(state) and state.rules >= 5 else 0.0  # as for any look; not counted before
    cut = replace(
        state,
        height_um=height,
        answer=None,
        acts=(*state.acts, Act(kind, given)),
        tally=counted(state.tally, bodies, done, look_s(state) + laid_down_s),
        scraped=marks_kept(state, done),
    )
    steel = steel_of(state)
    if steel is not None:
        freed = state.to_come_um + let_go_um(state.x_mm, state.height_um - height, steel)
        cut = replace(cut, to_come_um=tuple(freed.tolist()))
    return _moved(cut, (cut.tally.seconds - state.tally.seconds) / 3600)


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


_DO = {"lay": lay, "look": look, "file": work, "touch": work_seen, "rest": let_rest, "stop": stop}


def replay(start: PracticeState, acts: Iterable[Act]) -> list[PracticeState]:
    """Do a list of acts over again; an act that is none, or cannot be done, is refused.

    Returns: the start, and the bench after each act.
    """
    states = [start]
    for number, act in enumerate(acts, 1):
        if not _is_act(act, states[-1]):
            raise Refusal(
                "act",
                where=f"action {number}",
                found=f"{act.kind} {act.given or ''}".strip()[:60],
                must_be=f"{either(_DO)}, with what each of them takes",
            )
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
        raise Refusal(
            "state",
            where="this attempt",
            found=f"over: it ended at action {len(state.acts)}",
            must_be="unfinished",
            do="Start a new attempt to go on",
        )
