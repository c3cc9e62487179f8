"""A sensible learner, written down: it plays the practice bench by what the bench shows, and by nothing else."""

from __future__ import annotations

from simulate.bench.looking.light import BRIGHT, CLEAR
from simulate.method.practice.acts import PracticeState, lay, look, stop, work_seen

COARSE = ("bastard file", "second-cut file", "smooth file")
FINE = COARSE[1:]


def play_bars(start: PracticeState, rounds: int = 2) -> PracticeState:
    """Do the whole job on three bars: the loop of three, coarse first, until every pair is dark or nearly.

    Parameters
    ----------
    start : PracticeState
        A fresh bench of bars.
    rounds : int
        Of the loop, at most.

    Returns
    -------
    PracticeState
        Stopped.

    Notes
    -----
    It lays, looks by lamp and blade, and files where it touches; true heights
    are never read. It cannot see what no maker sees, and stops where three
    looks in a row show no clear light.

    Examples
    --------
    >>> from simulate.method.practice.acts import start_practice
    >>> done = play_bars(start_practice(1, 60))
    >>> done.stopped, len(done.acts) <= 60
    (True, True)
    """
    state, gauge, others = start, 0, (1, 2)
    for number in range(rounds):
        tools = COARSE if number == 0 else FINE
        for body in others:
            state = _worked(lay(state, gauge, body), tools)
        # What shows between these two is twice the gauge's error: half off each.
        state = _worked(lay(state, *others), tools, both=True)
        # The old gauge is made anew from one of the two, which agree now.
        state = _worked(lay(state, others[0], gauge), tools)
        gauge, others = others[0], (gauge, others[1])
        state, dark = _proved(state)
        if dark:
            break
    return stop(state)


def _worked(state: PracticeState, tools: tuple[str, ...], both: bool = False) -> PracticeState:
    """Tool after tool, each as long as blades or lamp say that it has something to do."""
    for tool in tools:
        for _ in range(3):
            state = look(state, "feeler" if tool == "bastard file" else "light")
            if not _worth(state, tool):
                break
            # Only what is led across the bar does not tip over its ends.
            way = "along the bar" if tool == "bastard file" else "draw-filing"
            state = work_seen(state, tool=tool, passes=30, both=both, way=way)
    return state


def _worth(state: PracticeState, tool: str) -> bool:
    answer = state.answer
    if answer.kind == "feeler":
        return bool(answer.seen.open.any())
    return bool((answer.glow >= (BRIGHT if tool == "second-cut file" else CLEAR)).any())


def _proved(state: PracticeState) -> tuple[PracticeState, bool]:
    """Three looks with no cut between."""
    dark = True
    for pair in ((0, 1), (0, 2), (1, 2)):
        state = look(lay(state, *pair), "light")
        dark &= bool((state.answer.glow < CLEAR).mean() > 0.8)
    return state, dark
