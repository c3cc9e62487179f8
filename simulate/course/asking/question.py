"""What a question of a lesson is: words, answer, and the likely wrong answers."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np


class Wrong(NamedTuple):
    """A likely wrong answer.

    Attributes
    ----------
    given : float or str
        The number, or the choice, that this way of thinking leads to.
    misconception : str
        The way of thinking, in a few words.
    hint : str
        One or two sentences that lead out of it.
    """

    given: float | str
    misconception: str
    hint: str


@dataclass(frozen=True)
class Question:
    """One question of a lesson, with the student's own figures.

    Attributes
    ----------
    answer : float or str
        A number, or the right one of `options`.
    tolerance : float
        How far a number may be out and still count as right.
    unit : str
        Unit of the answer, ``""`` where it has none.
    why : str
        The arithmetic or the reason, shown once the answer is right.
    options : tuple of str
        The choices in the order shown; empty where a number is asked for.
    """

    text: str
    answer: float | str
    tolerance: float
    unit: str
    wrong: tuple[Wrong, ...]
    why: str
    options: tuple[str, ...] = ()


def numeric(text: str, answer: float, unit: str, why: str, *wrong: tuple, tolerance: float = 0.05) -> Question:
    """Return a question that asks for one number.

    `*wrong`: value, misconception, hint.

    >>> numeric("Twice 3?", 6, "µm", "3 + 3.", (3, "forgets to double", "Add it to itself.")).answer
    6.0
    """
    return Question(text, float(answer), tolerance, unit, tuple(Wrong(float(v), m, h) for v, m, h in wrong), why)


def pick(rng: np.random.Generator, text: str, answer: str, why: str, *wrong: tuple) -> Question:
    """Return a question with choices, in an order drawn from `rng`.

    `*wrong`: choice, misconception, hint.

    >>> q = pick(np.random.default_rng(1), "Which?", "both", "Half each.", ("one", "files one", "Both."))
    >>> sorted(q.options)
    ['both', 'one']
    """
    choices = [answer, *(w[0] for w in wrong)]
    order = rng.permutation(len(choices))
    return Question(text, answer, 0.0, "", tuple(Wrong(*w) for w in wrong), why, tuple(choices[i] for i in order))


def draw(rng: np.random.Generator, low: int, high: int) -> int:
    """Return a whole number from `low` to `high`, both included.

    >>> draw(np.random.default_rng(0), 4, 4)
    4
    """
    return int(rng.integers(low, high + 1))
