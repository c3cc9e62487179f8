"""The working of a question for a number, with the student's own figures: its first line, and the whole of it."""

from __future__ import annotations

import re

from simulate.course.asking.question import Question

_FIGURE = re.compile(r"\d+(?:\.\d+)?")
_RESULT = re.compile(r"(= |: |\bis )[-−+]?$")
"""What stands before a result."""


def first_line(question: Question) -> str:
    """Return how the working begins, without its result.

    `question`: for a number.

    >>> from simulate.course.asking.question import numeric
    >>> first_line(numeric("A gap of 12 µm, twice?", 24, "µm", "Count it twice: 12 + 12 = 24."))
    'Count it twice: 12 + 12 = …'
    """
    places = [found for found in _FIGURE.finditer(question.why) if _is_answer(question, float(found[0]))]
    begun = question.why
    if places:
        result = next((found for found in places if _RESULT.search(question.why[: found.start()])), places[-1])
        begun = re.sub(r"[-−+(|]*$", "", question.why[: result.start()]).rstrip() + " …"
        begun = begun if re.search(r"\w", begun) else ""
    if not _own(begun, question.text):
        figures = ", ".join(dict.fromkeys(_with_units(question.text) or _FIGURE.findall(question.text)))
        begun = f"{begun} Work with {figures}." if figures else begun
    return begun.strip()


def whole(question: Question) -> str:
    """Return the working with its result.

    >>> from simulate.course.asking.question import numeric
    >>> whole(numeric("Half of ten looks?", 5, "looks", "Half of ten is five."))
    'Half of ten is five. The answer is 5 looks.'
    """
    return f"{question.why} The answer is {f'{question.answer:.4g} {question.unit}'.rstrip()}."


def _is_answer(question: Question, figure: float) -> bool:
    within = max(question.tolerance, 0.005 * abs(question.answer))
    return any(abs(factor * figure - abs(question.answer)) <= within for factor in (1, 1000))


def _own(begun: str, text: str) -> bool:
    """Return whether a figure of the question stands in the line."""
    return bool(set(_FIGURE.findall(begun)) & set(_FIGURE.findall(text)))


def _with_units(text: str) -> list[str]:
    """Return the figures of a question that carry a unit."""
    return re.findall(r"[+-]?\d+(?:\.\d+)? (?:µm|mm|K|seconds|%|thou)(?![\w/³²])", text)
