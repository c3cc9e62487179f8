"""What a go at the practice bench came to, once the learner has stopped."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.method.bars import three_bars
from simulate.method.hidden import hidden_bar_errors
from simulate.method.planning import PACES
from simulate.method.practice import replay
from simulate.method.practice_state import BARS, WIDTH_MM, PracticeState, start_practice
from simulate.surface.form import least_squares_line, straightness

LOOP_ROUNDS, LOOP_REMOVAL_UM = 4, 10.0
"""The plain loop that a go is held against."""


@dataclass(frozen=True)
class Debrief:
    """True shapes all along, what they cost, and what could not have been seen.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
    height_um : ndarray, shape (acts + 1, 3, points)
        At the start and after each act.
    straightness_um : ndarray, shape (acts + 1, 3)
        Minimum zone.
    metal_mm3 : ndarray, shape (acts + 1, 3)
        Taken since the start.
    strokes, filings : ndarray of int, shape (3,)
        On each bar.
    looks : int
    hours : float
        By the pace of `planning.PACES`; right to a factor of two or three.
    loop_worst_um, loop_metal_mm3, loop_hours : ndarray, shape (rounds + 1,)
        The worst bar, the metal and the time of the plain three-bar loop from the same start, with the same seed.
    loop_passes : ndarray of int, shape (rounds + 1,)
    fits : tuple of (int, int, bool)
        Fits that still held at the stop: neither bar was filed since they were looked at.
    hidden_um : ndarray, shape (3, points)
        The part of what is left that makes no gap in any of those fits.
    hidden_share : float
        Its share of what is left, by squares: 1 where those fits could have shown nothing of it.
    """

    x_mm: np.ndarray
    height_um: np.ndarray
    straightness_um: np.ndarray
    metal_mm3: np.ndarray
    strokes: np.ndarray
    filings: np.ndarray
    looks: int
    hours: float
    loop_worst_um: np.ndarray
    loop_metal_mm3: np.ndarray
    loop_hours: np.ndarray
    loop_passes: np.ndarray
    fits: tuple[tuple[int, int, bool], ...]
    hidden_um: np.ndarray
    hidden_share: float


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
    A fit counts as still holding where neither of its bars was filed since.
    What is hidden is found from the fits alone, as if every gap could be
    measured; what is narrower than sight hides besides.

    Examples
    --------
    >>> from simulate.method.practice import look, stop
    >>> told = debrief(stop(look(start_practice())))
    >>> told.fits, 0.3 < told.hidden_share <= 1
    (((0, 1, False),), True)
    """
    if not state.stopped:
        raise ValueError(f"the bars are still hidden after act {len(state.acts)}; allowed is a debrief after the stop.")
    states = replay(start_practice(state.seed, state.error_um, state.length_mm), state.acts)
    heights = np.array([s.height_um for s in states])
    x = state.x_mm
    metal = WIDTH_MM * 1e-3 * np.trapezoid(heights[0] - heights, x, axis=-1)
    strokes, filings, hours = _work(states)
    looks = sum(act.kind == "look" for act in state.acts)
    fits = fits_that_hold(state)
    hidden, share = _unseen(x, heights[-1], fits)
    loop = three_bars(x, heights[0], rounds=LOOP_ROUNDS, removal_um=LOOP_REMOVAL_UM, seed=state.seed, record=False)
    passes, loop_metal = loop.passes.sum(axis=-1), loop.metal_mm3.sum(axis=-1)
    pace = PACES["second-cut file"]
    loop_hours = (passes * pace.look_s + loop_metal / pace.stroke_mm3 * pace.stroke_s) / 3600
    return Debrief(x, heights, straightness(x, heights).value_um, metal, strokes, filings, looks,
                   hours + looks * pace.look_s / 3600, loop.straightness_um.max(axis=-1), loop_metal, loop_hours,
                   passes, fits, hidden, share)


def fits_that_hold(state: PracticeState) -> tuple[tuple[int, int, bool], ...]:
    """Name the fits that were looked at and whose bars have not been filed since.

    Parameters
    ----------
    state : PracticeState

    Returns
    -------
    tuple of (lower, upper, turned)

    Examples
    --------
    >>> from simulate.method.practice import file_place, look
    >>> looked = look(start_practice())
    >>> fits_that_hold(looked), fits_that_hold(file_place(looked, 0, 100, 5))
    (((0, 1, False),), ())
    """
    lower, upper, turned = 0, 1, False
    fits: list[tuple[int, int, bool]] = []
    for act in state.acts:
        if act.kind == "lay":
            lower, upper, turned = act.given["lower"], act.given["upper"], act.given["turned"]
        elif act.kind == "look" and (lower, upper, turned) not in fits:
            fits.append((lower, upper, turned))
        elif act.kind == "file":
            fits = [fit for fit in fits if upper not in fit[:2]]
    return tuple(fits)


def _work(states: list[PracticeState]) -> tuple[np.ndarray, np.ndarray, float]:
    strokes, filings, seconds = np.zeros(BARS, int), np.zeros(BARS, int), 0.0
    for state in states:
        if state.acts and state.acts[-1].kind == "file":
            given = state.acts[-1].given
            strokes[state.upper] += given["strokes"]
            filings[state.upper] += 1
            seconds += given["strokes"] * PACES[given["tool"]].stroke_s
    return strokes, filings, seconds / 3600


def _unseen(x: np.ndarray, height: np.ndarray, fits: tuple) -> tuple[np.ndarray, float]:
    intercept, slope = least_squares_line(x, height)
    left = height - intercept[:, None] - slope[:, None] * x
    loose = hidden_bar_errors(x.size, fits, BARS).reshape(-1, left.size)
    hidden = (loose.T @ (loose @ left.ravel())).reshape(left.shape)
    whole = float((left**2).sum())
    return hidden, float((hidden**2).sum()) / whole if whole else 0.0
