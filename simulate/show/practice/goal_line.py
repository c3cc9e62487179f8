"""What a go is for, told from its start: the aim, the par, the learner's own best; and what it has earned."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from simulate.method.practice.acts import PracticeState, level_of
from simulate.method.practice.par import Way
from simulate.method.practice.records import MEDALS, medals, records
from simulate.method.practice.score import score_sheet
from simulate.show.drawing.style import spell
from simulate.show.practice.debrief_sentences import metal_words

_MEDAL_WORDS = {"aim": "the aim", "hours": "the hours", "metal": "the metal"}


def goal_words(state: PracticeState, goes: Sequence[PracticeState], par: Way | None, units: str = "mm") -> str:
    """Say what is to be reached, and after the stop whether it was.

    `goes`: all goes of the learner. `par`: the best plan; None while it is being worked out.

    >>> from simulate.method.practice.acts import start_practice
    >>> goal_words(start_practice(), [], None)
    'Aim: all three bars within 15 µm. Par is being worked out.'
    """
    level = level_of(state)
    aim = f"Aim: all three {level.body}s within {spell(level.aim_um, units)}."
    scores = score_sheet(goes, state)
    if state.stopped and scores:
        return " ".join([_reached(scores[-1], state, units), _won(medals(scores[-1], state))])
    told = [aim, _par_words(par, level.aim_um, units)]
    if scores:
        last = scores[-1]
        told.append(
            f"Your previous attempt: {spell(last.worst_um, units)}, {last.hours:.1f} h, {metal_words(last.metal_mm3)}."
        )
    return " ".join(told)


def _par_words(par: Way | None, aim_um: float, units: str) -> str:
    if par is None:
        return "Par is being worked out."
    if par.worst_um[-1] > aim_um:
        return f"No plan that was tried reaches it; the nearest leaves {spell(par.worst_um[-1], units)}."
    return f"Par, the best plan: {par.hours[-1]:.1f} h and {metal_words(par.metal_mm3[-1])}."


def _reached(score, state: PracticeState, units: str) -> str:
    aim_um = level_of(state).aim_um
    if score.worst_um <= aim_um:
        return f"Reached: the worst is {spell(score.worst_um, units)}, within the aim of {spell(aim_um, units)}."
    return f"Not reached: the worst is {spell(score.worst_um, units)}, the aim is {spell(aim_um, units)}."


def _won(won: Sequence[str]) -> str:
    if not won:
        return ""
    names = [_MEDAL_WORDS[name] for name in won]
    lost = [_MEDAL_WORDS[name] for name in MEDALS if name not in won]
    left = f"; still to win: {' and '.join(lost)}" if lost else ""
    return f"{'Medal' if len(won) == 1 else 'Medals'} for {' and '.join(names)}{left}."


def goal_html(state: PracticeState, goes: Sequence[PracticeState], par: Way | None, units: str = "mm") -> str:
    """Set the line of the goal."""
    words = escape(goal_words(state, goes, par, units))
    return f'<div class="workshop-goal" role="status" style="font-size:15px;line-height:1.4"><b>{words}</b></div>'


def records_html(goes: Sequence[PracticeState], units: str = "mm") -> str:
    """Set the learner's records, to stand under the score sheet."""
    told = "".join(f"<li>{escape(line)}</li>" for line in record_words(goes, units))
    return f'<p style="font-size:15px;margin:8px 0 0"><b>Your records</b></p><ul style="font-size:15px">{told}</ul>'


def record_words(goes: Sequence[PracticeState], units: str = "mm") -> list[str]:
    """Tell the learner's records, a sentence for each level.

    >>> from simulate.method.practice.acts import start_practice, stop
    >>> record_words([stop(start_practice())])
    ['Bars: 1 attempt, 0 of which reached the aim; least left 200 µm.']
    """
    told = []
    for one in records(goes):
        least = (
            f", fewest hours {one.hours:.1f}, least metal {metal_words(one.metal_mm3)}" if one.hours is not None else ""
        )
        many = f"{one.goes} attempt{'s' * (one.goes != 1)}"
        told.append(
            f"{one.level.capitalize()}: {many}, {one.reached} of which reached the aim; "
            f"least left {spell(one.worst_um, units)}{least}."
        )
    return told
