"""What an answer gets back: right, a likely wrong one with its hint, or what may be typed."""

from __future__ import annotations

import math
import re
import textwrap
from dataclasses import dataclass
from enum import StrEnum

from simulate.course.asking.question import Question, Wrong
from simulate.course.asking.slips_of_figures import slip_of

_IN_UM = {"µm": 1.0, "mm": 1000.0, "thou": 25.4, "in": 25400.0}
_NAMES = {
    name: unit
    for unit, names in {
        "µm": "µ micron microns micrometre micrometres micrometer micrometers",
        "mm": "millimetre millimetres millimeter millimeters",
        "thou": "mil mils",
        "in": '" ″ ” inch inches',
    }.items()
    for name in names.split()
}
_MEASURED = re.compile(r"(\d+(?:\.\d+)?) (µm|mm)(?![\w/³²])")
_THOUSANDS = re.compile(r"(?<![\d.,])[1-9]\d{0,2},\d{3}(?![\d.,])")
_SHOWN_TO = 0.005
"""Part of a figure by which it may be rounded where the question shows it in inches: three figures of each."""
_MOST_SLACK, _FINEST_UM = 0.02, 0.13
"""By how much a figure in inches may be out at most, however coarsely it was typed: this part of the answer, or half of
the second decimal of a thou, which is as fine as anybody types it."""
_NO_NOUNS = {
    *(*_IN_UM, *_NAMES, "nm", "um", "cm", "m", "ft", "k", "urad", "arcsec", "percent", "seconds", "minutes", "hours"),
    *("minus", "plus", "not", "no", "wrong", "false", "half", "squared", "hundred", "thousand", "million"),
}
"""Words behind a figure that are a unit or turn it into another one; any other is what was counted."""
NOTHING_KNOWN = "Make a small sketch, write the figures of the question on it with their units, and try again."
_NEAR = 0.03
"""Part of the answer within which a figure was rounded too early, and nothing worse."""


ROUNDED = "rounded too early"
"""A way to be wrong that any question with a number knows by itself; `slip_of` knows more."""

SHOWN = "after the working was shown"
"""What an answer is that is right by then: it brings no point."""


class Kind(StrEnum):
    """What an answer is."""

    RIGHT = "right"
    NEAR = "near"
    WRONG = "wrong"
    NOT_UNDERSTOOD = "not understood"


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """How an answer was judged.

    `misconception`: the way of thinking behind a wrong answer, where it has a name; of a right one, that it came too
    late to count. `hint`: what leads out of a wrong answer, or what may be typed where it was not understood. `why`:
    the reason of the question, where the answer is right.
    """

    kind: Kind
    misconception: str = ""
    hint: str = ""
    why: str = ""

    @property
    def taken(self) -> bool:
        """Whether it is a try: what was not understood is none."""
        return self.kind is not Kind.NOT_UNDERSTOOD


def judge(question: Question, given: float | str | None) -> Verdict:
    """Judge an answer.

    `given`: a number, a number as typed (a comma and the unit are taken; a length may be given in µm, mm, thou or in),
    or one of the choices.

    It sees the answer only, not the way to it: a right figure found by a wrong
    way passes.

    >>> from simulate.course.asking.question import numeric
    >>> q = numeric("Twice 12.7 µm?", 25.4, "µm", "12.7 + 12.7.", (12.7, "forgets to double", "Add it to itself."))
    >>> judge(q, "1 thou").kind.value, judge(q, 12.7).misconception, judge(q, "12 qm").taken
    ('right', 'forgets to double', False)
    """
    if question.options:
        return _judge_choice(question, given)
    value, half_digit = _read(question, given)
    if value is None:
        return Verdict(kind=Kind.NOT_UNDERSTOOD, hint=_ask_again(question, given))
    within = question.tolerance + _slack(question, half_digit) + 1e-9
    if abs(value - question.answer) <= within:
        return Verdict(kind=Kind.RIGHT, why=question.why)
    return _judge_wrong(question, value, within)


def _judge_wrong(question: Question, value: float, within: float) -> Verdict:
    """Name what led to a wrong figure: a belief that the question knows, a sign, a rounding, or nothing known."""
    for wrong in question.wrong:
        if abs(value - wrong.given) <= within:
            return _named(wrong)
    if abs(value - question.answer) <= _NEAR * abs(question.answer) + 1e-9 and not float(question.answer).is_integer():
        return Verdict(
            kind=Kind.NEAR,
            misconception=ROUNDED,
            hint="Keep one more figure in the working, and round at the end.",
        )
    slip = slip_of(question, value, within)
    return _named(slip) if slip else Verdict(kind=Kind.WRONG, hint=NOTHING_KNOWN)


def say(verdict: Verdict) -> str:
    """Say what an answer gets back, in a sentence or two.

    >>> say(Verdict(kind=Kind.WRONG, misconception="forgets to double", hint="Add it to itself."))
    'Not yet (forgets to double). Add it to itself.'
    """
    if verdict.kind is Kind.RIGHT:
        shown = f", {verdict.misconception}: it earns no point" if verdict.misconception else ""
        return f"Right{shown}. {verdict.why}"
    if verdict.kind is Kind.NOT_UNDERSTOOD:
        return verdict.hint
    near = ", but near" if verdict.kind is Kind.NEAR else ""
    named = f" ({verdict.misconception})" if verdict.misconception else ""
    return f"Not yet{near}{named}. {verdict.hint}"


def believed(question: Question, given: str) -> str:
    """Say what was answered before the lesson, now that it may be judged.

    `question`: as it was asked then, with other figures than after the lesson. `given`: what was kept.

    >>> from simulate.course.asking.question import numeric
    >>> believed(numeric("Twice 3 µm?", 6, "µm", "3 + 3.", (3, "forgets to double", "Add it to itself.")), "3")
    'Before the lesson you answered 3 µm, with other figures, where 6 µm was right (forgets to double).'
    """
    verdict, unit = judge(question, given), question.unit and f" {question.unit}"
    if not verdict.taken:
        return ""
    answer = f"“{given}”" if question.options else f"{_read(question, given)[0]:.4g}{unit}, with other figures"
    said = f"Before the lesson you answered {answer}"
    if verdict.kind is Kind.RIGHT:
        return f"{said}: already right then."
    named = f" ({verdict.misconception})" if verdict.misconception else ""
    if question.options:
        return f"{said}{named or ', which was not right'}."
    return f"{said}, where {question.answer:.4g}{unit} was right{named}."


def check(question: Question, given: float | str | None) -> str:
    """Judge an answer and say what it gets back.

    `given`: as for `judge`.

    >>> from simulate.course.asking.question import numeric
    >>> check(numeric("Twice 3 µm?", 6, "µm", "3 + 3."), "plenty")
    "Type one number in µm, such as 12.5; 'plenty' is not one."
    """
    return say(judge(question, given))


def _named(wrong: Wrong) -> Verdict:
    return Verdict(kind=Kind.WRONG, misconception=wrong.misconception, hint=wrong.hint)


def _judge_choice(question: Question, given: object) -> Verdict:
    if given == question.answer:
        return Verdict(kind=Kind.RIGHT, why=question.why)
    for wrong in question.wrong:
        if given == wrong.given:
            return _named(wrong)
    return Verdict(kind=Kind.NOT_UNDERSTOOD, hint="Choose one of the answers first, then check.")


def same_answer(question: Question, one: object, other: object) -> bool:
    """Say whether two answers are the same try: one choice, or one figure however it is written.

    >>> from simulate.course.asking.question import numeric
    >>> q = numeric("Twice 5 µm?", 10, "µm", "5 + 5.")
    >>> same_answer(q, "10", "10.0 µm"), same_answer(q, "10", "11"), same_answer(q, "ten", "ten ")
    (True, False, True)
    """
    if str(one).strip() == str(other).strip():
        return True
    if question.options:
        return False
    values = _read(question, one)[0], _read(question, other)[0]
    return None not in values and math.isclose(*values, rel_tol=1e-9)


def _slack(question: Question, half_digit: float | None) -> float:
    """How far a figure in inches may be out: by its own last digit, and by those of the figures that were shown.

    `half_digit`: in the question's unit; None where the figure is not in inches. It is never so far that a known wrong
    answer would pass.
    """
    if half_digit is None:
        return 0.0
    lengths = [
        float(found[1]) * _IN_UM[found[2]] / _IN_UM[question.unit] for found in _MEASURED.finditer(question.text)
    ]
    wrong = [abs(one.given - question.answer) / 2 for one in question.wrong]
    most = max(_MOST_SLACK * abs(question.answer), _FINEST_UM / _IN_UM[question.unit])
    return min(half_digit + _SHOWN_TO * max(lengths, default=0.0), most, *wrong)


def _read(question: Question, given: object) -> tuple[float | None, float | None]:
    """Return what was typed as `_typed` does; 1,250 in the way that is nearer to the answer."""
    value, half_digit = _typed(question, given)
    if value is None or not _THOUSANDS.search(str(given)):
        return value, half_digit
    return min(value, 1000 * value, key=lambda one: abs(one - question.answer)), half_digit


def _typed(question: Question, given: object) -> tuple[float | None, float | None]:
    """Return what was typed as a number in the question's unit, or None; and half of its last digit, of inches."""
    text, unit = str(given).strip().removesuffix(".").replace("μ", "µ"), question.unit
    factor, inches = 1.0, False
    text = re.sub(r"(?i)\b(u|µ)m\b|(?<=\d)(u|µ)m\b", "µm", text)
    found = re.fullmatch(r"(?i)(.*?)\s*(µm|mm|thou|in|" + "|".join(_NAMES) + ")", text)
    if found and unit in _IN_UM:
        name = _NAMES.get(found[2].lower(), found[2].lower())
        text, factor, inches = found[1], _IN_UM[name] / _IN_UM[unit], name in ("thou", "in")
    elif not unit or (unit.isalpha() and len(unit) > 1 and unit not in _NO_NOUNS):
        text = _without_noun(text)
    else:
        text = re.sub(r"\s*(µm (in a|per) met(re|er)|µrad|urad)$", "", text) if unit == "µm/m" else text
        text = text.removesuffix(unit)
    text = re.sub("[−–‐‑]", "-", text.strip())
    text = text.replace(",", ".").replace("_", "?")  # a float of Python may hold underscores, a figure of a learner not
    try:
        value = float("" if isinstance(given, bool) else text) * factor
    except ValueError:
        return None, None
    decimals = len(text.lower().partition("e")[0].partition(".")[2])
    return (value if math.isfinite(value) else None), (0.5 * 10.0**-decimals * factor if inches else None)


def _without_noun(text: str) -> str:
    """Take off what is counted, whatever it is called: 7 passes. A unit, and a word that turns the figure, stay."""
    found = re.fullmatch(r"(.*[0-9])\s+([a-z]+)", text, re.IGNORECASE)
    return found[1] if found and found[2].lower() not in _NO_NOUNS else text


def _ask_again(question: Question, given: object) -> str:
    number = f"one number in {question.unit}" if question.unit else "one number"
    if given is None or not str(given).strip():
        return f"Type {number} first, then check."
    return f"Type {number}, such as {12.5 if question.unit else 12}; {textwrap.shorten(str(given), 40)!r} is not one."
