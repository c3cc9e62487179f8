"""When to stop: the aim is reached, or the next round harms as often as it helps."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import two

EVEN = 0.45
"""A round that harms this part of all workshops is as good as a coin: by chance alone it tends to a half."""


def stop_rule(
    reached: np.ndarray,
    worse: np.ndarray,
    wanted_um: float,
    *,
    sure: float = 0.8,
    sight_um: float = 0.0,
    floor_um: float = 0.0,
    share: float = 0.5,
) -> tuple[int, str]:
    """The round after which to stop, and why.

    `reached` (rounds + 1,): part of the workshops that were there by then, at the start first. `worse` (rounds,): part
    whose worst bar each round made worse. `sure`: part of the workshops that makes a plan count as reached. `sight_um`:
    the smallest gap that is seen. `floor_um`: what the worst bar was out by after the last round, in half of the
    workshops. `share`: of the split's metal that one bar gives up. Returns: 0 where even the first round does not pay.

    Far above the floor a round takes out more than it leaves. At the floor
    every round leaves a new draw from the same hat, so that worse and better
    are as likely (derived), and it still takes metal and hours. Nobody can
    stop at a lucky draw, because what is lucky there is too small to be seen.

    >>> stop_rule(np.array([0.0, 0.9]), np.array([0.0]), 10.0)[0]
    1
    """
    done, idle = np.flatnonzero(reached >= sure), np.flatnonzero(worse >= EVEN)
    if done.size and (not idle.size or done[0] <= idle[0] + 1):
        r = int(done[0])
        return r, _there(r, reached[r], wanted_um) + _unseen(wanted_um, sight_um)
    cause = _cause(wanted_um, floor_um, share)
    if idle.size:
        r = int(idle[0])
        start = f"Stop after round {r}" if r else "Do not start like this"
        return r, (
            f"{start}: round {r + 1} made the worst bar worse in {100 * worse[r]:.0f} % of the workshops, so it harms "
            f"as often as it helps. By then {100 * reached[r]:.0f} % were within {wanted_um:g} µm; {cause}"
            + _unseen(wanted_um, sight_um)
        )
    r = len(reached) - 1
    gone = f"After {r} rounds" if r > 1 else "After 1 round"
    return r, (
        f"{gone} {100 * reached[r]:.0f} % of the workshops were within {wanted_um:g} µm, and the last round still "
        f"helped in {100 * (1 - worse[-1]):.0f} %: plan further rounds." + _unseen(wanted_um, sight_um)
    )


def _there(r: int, part: float, wanted: float) -> str:
    if r == 0:
        return f"Do not start: all three bars are within {wanted:g} µm as they are, and a round only costs metal."
    return (
        f"Stop after round {r}: by then {100 * part:.0f} % of the workshops had all three bars within {wanted:g} µm; "
        "for them a further round only costs metal."
    )


def _cause(wanted: float, floor: float, share: float) -> str:
    """What stands in the way of the rest."""
    left = abs(2 * share - 1)
    if left > 0.5:
        return (
            f"a split of {100 * share:.0f} to {100 * (1 - share):.0f} leaves {100 * left:.0f} % of the error in "
            "each round: take from both bars."
        )
    if floor > wanted:
        return (
            f"sight, tool and hands end the worst bar at about {two(floor)} µm in half of them: "
            "the rest needs the file led differently, a finer tool or a sharper eye."
        )
    return "the rest needs the file led differently, a finer tool or a sharper eye."


def _unseen(wanted: float, sight: float) -> str:
    if wanted >= sight:
        return ""
    return (
        f" Nobody could tell: {wanted:g} µm is less than the {sight:g} µm that this eye sees, so a bar that got there "
        "looks like one that did not."
    )
