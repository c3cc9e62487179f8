"""What the instructor asks before a picture moves: one record for each panel and film of the lessons."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from simulate.core.refusal import Refusal
from simulate.course.notebook.manifest import lesson_of

MOST_LETTERS = 400
"""Of the words under a picture: four lines of a wall."""
PLAN = Path(__file__).with_name("wall_plan.toml")


@dataclass(frozen=True)
class Ask:
    """One question to the class.

    Attributes
    ----------
    before : str
        Name of the control whose first move waits for it, or ``"position"``. In a
        film: words of the sentence before whose first picture it is asked.
    likely : str
        What many will say, and is wrong.
    thinking : str
        The misconception behind it, in a few words.
    say : str
        What to answer once the picture has moved.
    belief : str
        What a learner asks, as in `simulate.course.asking.misconceptions`; empty where the question meets none.
    goes_to : float or str
        Setting that the control takes right after the question, so that the next picture answers it; in a run, words of
        the sentence at whose first place the run goes on. Empty for the control's first move.
    asked_at : dict
        Settings of controls while the question stands, by name; for a run, words as above. Empty as the panel opened.
    told : str
        Words that the picture after the question says and the one before it does not; empty where nothing is pinned.
    """

    before: str
    question: str
    likely: str
    thinking: str
    say: str
    belief: str = ""
    goes_to: float | str = ""
    asked_at: Mapping[str, float | str] = field(default_factory=dict)
    told: str = ""


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
    """

    lesson: str
    shows: str
    minutes: int
    asks: tuple[Ask, ...]


@cache
def wall_plan() -> tuple[Plan, ...]:
    """Return the record of every panel and film, in the order of the lessons.

    >>> wall_plan()[0].shows, wall_plan()[0].asks[0].thinking
    ('GapPanel', 'dark is taken for touching')
    """
    rows = tomllib.loads(PLAN.read_text(encoding="utf-8"))["panel"]
    return tuple(
        Plan(lesson_of(r["lesson"]).number, r["shows"], r["minutes"], tuple(Ask(**a) for a in r["ask"])) for r in rows
    )


def plan_of(lesson: str, shows: str) -> Plan | None:
    """Return the record of one panel or film, or None where there is none.

    `lesson`: two digits. `shows`: the panel's class, or the film's title.

    >>> plan_of("04", "ThreeBarsPanel").minutes
    12
    """
    return next((p for p in wall_plan() if (p.lesson, p.shows) == (lesson, shows)), None)


def in_parts(
    pictures: Sequence[bytes], sentences: Sequence[str], questions: Mapping[int, str]
) -> tuple[list[bytes], list[str], dict[int, str]]:
    """Show a picture with more words than a wall carries once for each part of them.

    `questions`: picture before which the page stops -> question.

    >>> in_parts([b"", b""], ["Dark. " * 99, "Light."], {1: "And now?"})[2]
    {2: 'And now?'}
    """
    if len(pictures) != len(sentences):
        raise Refusal(
            "count",
            where="the wall",
            found=f"{len(pictures)} pictures and {len(sentences)} sentences",
            must_be="one sentence for each picture",
        )
    shown, words, asks = [], [], {}
    for place, (picture, text) in enumerate(zip(pictures, sentences, strict=True)):
        if place in questions:
            asks[len(shown)] = questions[place]
        parts = _parts(text)
        shown += [picture] * len(parts)
        words += [f"{part} (part {k} of {len(parts)})" for k, part in enumerate(parts, 1)] if len(parts) > 1 else parts
    return shown, words, asks


def _parts(text: str) -> list[str]:
    """Cut between sentences into parts of about four lines of a wall, about as long as each other."""
    aim = len(text) / -(-len(text) // MOST_LETTERS) if text else 1
    parts = [""]
    for sentence in re.split(r"(?<=[.?]) (?=[A-Z])", text):
        whole = len(parts[-1]) + len(sentence)
        if parts[-1] and (whole > MOST_LETTERS or len(parts[-1]) + len(sentence) / 2 > aim):
            parts.append("")
        parts[-1] = f"{parts[-1]} {sentence}".strip()
    return parts


def stops(plan: Plan, moved: Sequence[str]) -> dict[int, str]:
    """Say before which pictures the class predicts.

    `moved`: for each picture the name of what moved, or a film's sentence. Returns: picture, counted from 0 and never
    the first -> question.

    >>> stops(plan_of("00", "GapPanel"), ["", "widest_um", "widest_um"])[1][:15]
    'The gap is 30 µ'
    """
    found = {}
    for ask in plan.asks:
        fitting = [k for k, words in enumerate(moved) if k and ask.before in words]
        if not fitting:
            raise Refusal(
                "choice",
                where=f"the question in lesson {plan.lesson}, {plan.shows}",
                found=f"before {ask.before!r}, which does not move",
                must_be=f"before one of {', '.join(sorted(set(moved) - {''}))[:300]}",
            )
        found[fitting[0]] = ask.question
    return found
