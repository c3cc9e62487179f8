"""Fit the pair that lies there as the last pair was fitted by hand."""

from __future__ import annotations

from simulate.core.refusal import Refusal
from simulate.method.practice.acts import work_seen
from simulate.method.practice.state import Act, PracticeState


def last_fit(state: PracticeState) -> tuple[Act, ...]:
    """Give the cuts where it touches by which the last other pair was fitted, in their order.

    Returns: empty where only one pair, or none, was worked.

    >>> from simulate.method.practice.acts import lay, start_practice
    >>> bench = work_seen(start_practice(), tool="bastard file", passes=2)
    >>> [act.given["passes"] for act in last_fit(lay(bench, 0, 2))]
    [2]
    """
    pairs: list[list[Act]] = [[]]
    for act in state.acts:
        if act.kind == "lay":
            pairs.append([])
        elif act.kind == "touch":
            pairs[-1].append(act)
    worked = [tuple(pair) for pair in pairs[:-1] if pair]
    return worked[-1] if worked else ()


def fit_again(state: PracticeState) -> PracticeState:
    """Do the cuts of `last_fit` over again on the pair that lies there; each is an act of its own and costs its time.

    >>> from simulate.method.practice.acts import lay, start_practice
    >>> bench = lay(work_seen(start_practice(), tool="bastard file", passes=2), 0, 2)
    >>> fit_again(bench).tally.cuts
    (0, 2, 2)
    """
    steps = last_fit(state)
    if not steps:
        raise Refusal(
            "state",
            where="the pair before this one",
            found="not filed where it touches",
            must_be="fitted by hand first",
            do="Fit one pair yourself, then lay the next",
        )
    for act in steps:
        state = work_seen(state, **act.given)
    return state
