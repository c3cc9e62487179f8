"""What a go at the practice bench came to, once the learner has stopped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.method.planning.choices import ChoiceCost
from simulate.method.practice.acts import level_of, replay, start_practice
from simulate.method.practice.bars_level import PUSH
from simulate.method.practice.own_choices import own_costs
from simulate.method.practice.par import Way, best_plan, plain_loop
from simulate.method.practice.state import PracticeState


@dataclass(frozen=True)
class Debrief:
    """True shapes all along, what they cost, and what could not have been seen.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
    states : tuple of PracticeState
        At the start and after each act: the film.
    height_um : ndarray, shape (acts + 1, 3, points) or (acts + 1, 3, points, points)
    worst_um : ndarray, shape (acts + 1, 3)
        Straightness of bars and gauges by the minimum zone; of plates peak to valley from their least-squares plane.
    metal_mm3 : ndarray, shape (acts + 1, 3)
        Taken since the start.
    strokes, cuts : ndarray of int, shape (3,)
        On each body.
    rested_h : float
        Hours in which the bodies lay and nobody worked.
    to_come_um : ndarray, shape (3,)
        How far each will still bow, by what was cut from it and has not yet come.
    bowed_um : ndarray, shape (3,)
        How far each bowed by itself meanwhile.
    hours : float
        By the pace of `planning.PACES`; right to a factor of two or three.
    loop, best : Way
        The plain loop of three and the best plan, from the same start.
    fits : tuple
        Fits that still held at the stop: neither body was cut since they were looked at.
    hidden_um : ndarray
        The part of what is left that makes no gap in any of those fits.
    hidden_share : float
        Its share of what is left, by squares: 1 where those fits could have shown nothing of it.
    costs : tuple of ChoiceCost
        What each choice of the go costs in the loop of three from the same bars.
    """

    level: str
    x_mm: np.ndarray
    states: tuple[PracticeState, ...]
    height_um: np.ndarray
    worst_um: np.ndarray
    metal_mm3: np.ndarray
    strokes: np.ndarray
    cuts: np.ndarray
    looks: int
    rested_h: float
    to_come_um: np.ndarray
    bowed_um: np.ndarray
    hours: float
    loop: Way
    best: Way
    fits: tuple
    hidden_um: np.ndarray
    hidden_share: float
    costs: tuple[ChoiceCost, ...] = ()


def debrief(state: PracticeState) -> Debrief:
    """Tell the truth about a go that has been stopped.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    Debrief

    Raises
    ------
    ValueError
        Where the learner has not stopped: the truth stays hidden until then.

    Notes
    -----
    A fit counts as still holding where neither of its bodies was cut since.
    What is hidden is found from the fits alone, as if every gap could be
    measured; what is narrower than sight hides besides.

    Examples
    --------
    >>> from simulate.method.practice.acts import look, stop
    >>> told = debrief(stop(look(start_practice())))
    >>> told.fits, 0.3 < told.hidden_share <= 1
    (((0, 1, False),), True)
    """
    if not state.stopped:
        raise Refusal(
            "state",
            where="the attempt",
            found=f"still going after action {len(state.acts)}",
            must_be="stopped",
            do="Stop first; then you may see the truth",
        )
    level, x = level_of(state), state.x_mm
    states = replay(start_practice(state.seed, state.error_um, state.length_mm, state.level, state.rules), state.acts)
    heights = np.array([s.height_um for s in states])
    fits, tally = fits_that_hold(state), state.tally
    hidden, share = level.hidden(x, heights[-1], fits)
    return Debrief(
        state.level,
        x,
        tuple(states),
        heights,
        level.form(x, heights),
        level.metal_mm3(x, heights[0] - heights),
        np.array(tally.strokes),
        np.array(tally.cuts),
        tally.looks,
        tally.rested_h,
        np.array(state.to_come_um),
        np.array(state.bowed_um),
        tally.seconds / 3600,
        plain_loop(state),
        best_plan(state),
        fits,
        hidden,
        share,
        own_costs(state),
    )


def fits_that_hold(state: PracticeState) -> tuple:
    """Name the fits that were looked at and whose bodies have not been cut since.

    >>> from simulate.method.practice.acts import look, work
    >>> looked = look(start_practice())
    >>> fits_that_hold(looked), fits_that_hold(work(looked, place_mm=0, length_mm=100, strokes=5))
    (((0, 1, False),), ())
    """
    now = (0, 1, level_of(state).turns[0], "none")
    fits: list[tuple] = []
    for act in state.acts:
        if act.kind == "lay":
            now = (*(act.given[name] for name in ("lower", "upper", "turned")), act.given.get("slide", "none"))
        elif act.kind == "look" and act.given["kind"] != PUSH and now not in fits:
            fits.append(now)
        elif act.kind in ("file", "touch"):
            cut = set(now[:2] if act.given.get("both") else now[1:2])
            fits = [fit for fit in fits if not cut & set(fit[:2])]
    return tuple(fits) if state.level == "plates" else tuple(fit[:3] for fit in fits)
