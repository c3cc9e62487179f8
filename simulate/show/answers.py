"""What an answer gets back: right, a likely wrong one with its hint, or what may be typed."""

from __future__ import annotations

import math
import re
import textwrap

from simulate.show.question import Question

_IN_UM = {"µm": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0}
_NAMES = {"micron": "µm", "microns": "µm", "micrometre": "µm", "micrometres": "µm", '"': "in", "inch": "in", "inches": "in"}
_SLACK_UM = 0.13
"""Half of the second decimal of a thou: as fine as anybody types it."""
_NEAR = 0.03
"""Part of the answer within which a figure was rounded too early, and nothing worse."""


def check(question: Question, given: float | str | None) -> str:
    """Return what an answer gets back, in a sentence or two.

    Parameters
    ----------
    question : Question
    given : float or str or None
        A number, a number as typed (a comma and the unit are taken; a length may
        be given in µm, mm, thou or in), or one of the choices.

    Returns
    -------
    str
        Starts with "Right", "Not yet", or says what may be typed.

    Notes
    -----
    It sees the answer only, not the way to it: a right figure found by a wrong
    way passes.

    Examples
    --------
    >>> from simulate.show.question import numeric
    >>> q = numeric("Twice 12.7 µm?", 25.4, "µm", "12.7 + 12.7.", (12.7, "forgets to double", "Add it to itself."))
    >>> check(q, "25.4"), check(q, "1 thou"), check(q, 12.7)
    ('Right. 12.7 + 12.7.', 'Right. 12.7 + 12.7.', 'Not yet (forgets to double). Add it to itself.')
    >>> check(q, "plenty")
    "Type one number in µm, such as 12.5; 'plenty' is not one."
    """
    if question.options:
        return _check_choice(question, given)
    value, slack = _typed(given, question.unit)
    if value is None:
        return _ask_again(question, given)
    within = question.tolerance + slack + 1e-9
    if abs(value - question.answer) <= within:
        return f"Right. {question.why}"
    for wrong in question.wrong:
        if abs(value - wrong.given) <= within:
            return f"Not yet ({wrong.misconception}). {wrong.hint}"
    if question.answer and abs(value + question.answer) <= within:
        return "Not yet: the size is right and the sign is not. Plus is proud, minus is hollow."
    if abs(value - question.answer) <= _NEAR * abs(question.answer) + 1e-9 and not float(question.answer).is_integer():
        return "Not yet, but near: keep one more figure on the way, and round only at the end."
    return "Not yet. Make a small sketch of both faces, write the figures on it, and try again."


def _check_choice(question: Question, given: object) -> str:
    if given == question.answer:
        return f"Right. {question.why}"
    for wrong in question.wrong:
        if given == wrong.given:
            return f"Not yet ({wrong.misconception}). {wrong.hint}"
    return "Choose one of the answers first, then check."


def _typed(given: object, unit: str) -> tuple[float | None, float]:
    """Return what was typed as a number in the question's unit, or None; and how coarsely it can have been typed."""
    text = str(given).strip().replace("μm", "µm").replace("um", "µm")
    factor, slack = 1.0, 0.0
    found = re.fullmatch(r"(.*?)\s*(µm|mm|thou|in|" + "|".join(_NAMES) + ")", text)
    if found and unit in _IN_UM:
        name = _NAMES.get(found[2], found[2])
        text, factor = found[1], _IN_UM[name] / _IN_UM[unit]
        slack = _SLACK_UM / _IN_UM[unit] if name in ("thou", "in") else 0.0
    elif not unit:
        text = re.sub(r"(?<=[0-9])\s+[a-z]+$", "", text)  # "7 passes"
    else:
        text = re.sub(r"\s*(µm (in a|per) met(re|er)|µrad|urad)$", "", text) if unit == "µm/m" else text
        text = text.removesuffix(unit)
    text = text.strip().replace("−", "-").replace(",", ".")
    try:
        value = float(text) * factor
    except ValueError:
        return None, 0.0
    return (value if math.isfinite(value) and not isinstance(given, bool) else None), slack


def _ask_again(question: Question, given: object) -> str:
    number = f"one number in {question.unit}" if question.unit else "one number"
    if given is None or not str(given).strip():
        return f"Type {number} first, then check."
    return f"Type {number}, such as {12.5 if question.unit else 12}; {textwrap.shorten(str(given), 40)!r} is not one."
