"""Slips that any question for a number knows by itself: thousands, halves and doubles, units, figures read wrongly."""

from __future__ import annotations

import re

from simulate.course.asking.question import Question, Wrong

_ASK_TWICE = (
    "Is something counted twice, or taken whole where half of it counts: a diameter for a radius, two bodies for one?"
)
_ASK_HALF = "Is something counted once that is there twice: a radius for a diameter, one body where two meet?"
_FACTORS = (
    (1000.0, "a thousand times what is asked", "Was something multiplied by 1000 once too often?"),
    (0.001, "a thousandth of what is asked", "Was something divided by 1000 once too often?"),
    (2.0, "twice what is asked", _ASK_TWICE),
    (0.5, "half of what is asked", _ASK_HALF),
    (10.0, "the decimal point has slipped", "It is ten times what is asked."),
    (0.1, "the decimal point has slipped", "It is ten times too small."),
    (100.0, "the decimal point has slipped", "It is a hundred times what is asked."),
    (0.01, "the decimal point has slipped", "It is a hundred times too small."),
)
_UNITS = {
    "µm": (
        (
            0.001,
            "millimetres are given for micrometres",
            "1 mm is 1000 µm: type the figure in µm, or its unit with it.",
        ),
        (1 / 25.4, "thou are given for micrometres", "1 thou is 25.4 µm: type the figure in µm, or its unit with it."),
    ),
    "mm": (
        (
            1000.0,
            "micrometres are given for millimetres",
            "1 mm is 1000 µm: type the figure in mm, or its unit with it.",
        ),
        (1 / 25.4, "inches are given for millimetres", "1 in is 25.4 mm: type the figure in mm, or its unit with it."),
    ),
}
_ROUNDED = 0.005
"""Part of a figure within which it was rounded on the way."""
_FIGURE = re.compile(r"\d+(?:\.\d+)?")


def slip_of(question: Question, value: float, within: float) -> Wrong | None:
    """Name what a wrong figure has to do with the right one, whatever the way to it was.

    `value`: not the answer, in the question's unit. `within`: how far a figure may be out and still count as the same.
    Returns: none where nothing is known of it. The way to it is not seen: a half may have come about in any way.

    >>> from simulate.course.asking.question import numeric
    >>> q = numeric("A gap of 12 µm, twice?", 24, "µm", "2 × 12 = 24.")
    >>> [slip_of(q, value, 0.05).misconception for value in (0.024, 48, -24, 42)]
    ['millimetres are given for micrometres', 'twice what is asked', 'the size is right and the sign is not', \
'two figures have changed places']
    """
    if not question.answer:
        return _of_the_text(question, value, within)
    if _same(value, -question.answer, within):
        return Wrong(value, SIGN, _sign_hint(question))
    for factor, name, hint in (*_UNITS.get(question.unit, ()), *_FACTORS):
        if _same(value, factor * question.answer, within * min(factor, 1.0)):
            return Wrong(value, name, hint)
    return _of_the_text(question, value, within) or _misread(question, value)


SIGN = "the size is right and the sign is not"


def _sign_hint(question: Question) -> str:
    if question.answer > 0 and not re.search(r"(?<!without its )\bsign\b|\bplus\b", question.text, re.IGNORECASE):
        return "A size is asked for: type it without a minus sign."
    return "Check again which way is plus." if "plus" in question.text else "Plus is proud, minus is hollow."


def _same(value: float, other: float, within: float) -> bool:
    return abs(value - other) <= max(within, _ROUNDED * abs(other))


def _of_the_text(question: Question, value: float, within: float) -> Wrong | None:
    """Name a figure that stands in the question itself."""
    if any(abs(abs(value) - float(found)) <= min(within, 1e-6) for found in _FIGURE.findall(question.text)):
        hint = f"{abs(value):g} is in the question. What still has to be done with it?"
        return Wrong(value, "a figure of the question is given back", hint)
    return None


def _misread(question: Question, value: float) -> Wrong | None:
    """Name two figures that changed places, or one figure of three or more that was read wrongly."""
    given, asked = f"{value:.6g}", f"{question.answer:.6g}"
    if len(given) != len(asked):
        return None
    differ = [place for place, pair in enumerate(zip(given, asked)) if pair[0] != pair[1]]
    if len(differ) == 2 and sorted(given) == sorted(asked):
        return Wrong(value, "two figures have changed places", "Read the figures of your result once more, one by one.")
    if len(differ) == 1 and sum(sign.isdigit() for sign in asked) >= 3 and given[differ[0]].isdigit():
        return Wrong(
            value, "one figure is read wrongly", f"All but one are right: look at the {_place(differ[0], given)}."
        )
    return None


def _place(place: int, given: str) -> str:
    number = sum(sign.isdigit() for sign in given[: place + 1])
    return f"{('first', 'second', 'third')[number - 1] if number < 4 else f'{number}th'} figure"
