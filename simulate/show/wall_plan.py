"""What the instructor asks before a picture moves: one record for each panel and film of the lessons."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

_PLAN = Path(__file__).with_name("wall_plan.toml")


@dataclass(frozen=True)
class Ask:
    """One question to the class.

    Attributes
    ----------
    before : str
        Name of the control whose first move waits for it, or ``"position"``. In a
        film: words of the sentence before whose first picture it is asked.
    question : str
    likely : str
        What many will say, and is wrong.
    thinking : str
        The misconception behind it, in a few words.
    say : str
        What to answer once the picture has moved.
    belief : str
        What a learner asks, as in `simulate.show.beliefs`; empty where the question meets none.
    """

    before: str
    question: str
    likely: str
    thinking: str
    say: str
    belief: str = ""


@dataclass(frozen=True)
class Plan:
    """What to do with one panel or film in front of a class.

    Attributes
    ----------
    lesson : str
        Two digits.
    shows : str
        The panel's class, or the film's title.
    minutes : int
        With the class predicting aloud.
    asks : tuple of Ask
    """

    lesson: str
    shows: str
    minutes: int
    asks: tuple[Ask, ...]


@cache
def wall_plan() -> tuple[Plan, ...]:
    """Return the record of every panel and film, in the order of the lessons.

    Returns
    -------
    tuple of Plan

    Examples
    --------
    >>> wall_plan()[0].shows, wall_plan()[0].asks[0].thinking
    ('GapPanel', 'dark is taken for touching')
    """
    rows = tomllib.loads(_PLAN.read_text(encoding="utf-8"))["panel"]
    return tuple(Plan(r["lesson"], r["shows"], r["minutes"], tuple(Ask(**a) for a in r["ask"])) for r in rows)


def plan_of(lesson: str, shows: str) -> Plan | None:
    """Return the record of one panel or film, or None where there is none.

    Parameters
    ----------
    lesson : str
        Two digits.
    shows : str
        The panel's class, or the film's title.

    Returns
    -------
    Plan or None

    Examples
    --------
    >>> plan_of("04", "ThreeBarsPanel").minutes
    12
    """
    return next((p for p in wall_plan() if (p.lesson, p.shows) == (lesson, shows)), None)


def stops(plan: Plan, moved: Sequence[str]) -> dict[int, str]:
    """Say before which pictures the class predicts.

    Parameters
    ----------
    plan : Plan
    moved : sequence of str
        For each picture the name of what moved, or a film's sentence.

    Returns
    -------
    dict of int to str
        Picture, counted from 0 and never the first -> question.

    Raises
    ------
    ValueError
        Where a question stands before nothing that moves.

    Examples
    --------
    >>> stops(plan_of("00", "GapPanel"), ["", "widest_um", "widest_um"])[1][:15]
    'The gap is 30 µ'
    """
    found = {}
    for ask in plan.asks:
        fitting = [k for k, words in enumerate(moved) if k and ask.before in words]
        if not fitting:
            raise ValueError(f"lesson {plan.lesson}, {plan.shows}: the question before {ask.before!r} stands before nothing "
                             f"that moves; allowed are {', '.join(sorted(set(moved) - {''}))[:300]}.")
        found[fitting[0]] = ask.question
    return found
