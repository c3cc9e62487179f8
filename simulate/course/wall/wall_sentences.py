"""The instructor's plan in words: what to open, how long it takes, what to ask, and what will be answered."""

from __future__ import annotations

from html import escape

from simulate.core.refusal import Refusal, either
from simulate.course.notebook.wall_plan import Plan, wall_plan


def page_name(plan: Plan, stem: str) -> str:
    """Name the projected page of one panel or film.

    `stem`: the lesson's file without its ending.

    >>> page_name(wall_plan()[0], "00_start_here")
    '00_start_here_1.html'
    """
    place = [p.shows for p in wall_plan() if p.lesson == plan.lesson].index(plan.shows) + 1
    return f"{stem}_{place}.html"


class LessonPlan:
    """What the instructor does with the panels and films of some lessons.

    Parameters
    ----------
    *lessons : str
        Two digits each; all where none is given.

    Raises
    ------
    ValueError
        Where a lesson has no record.

    Examples
    --------
    >>> print(LessonPlan("19"))  # doctest: +NORMALIZE_WHITESPACE
    Lesson 19, 8 minutes: python -m simulate projector wall 19 --open
      HeatPanel, 8 minutes
        Ask: One kelvin makes the upper edge 9 µm proud. A hand keeps it at 0.2 kelvin. Laid with that edge on
             a flat, where does light show, and how wide?
        Likely: In the middle, a little more: steel hardly moves. (the warm edge is taken for the hollow one)
        Say: At both ends, 1.8 µm from a hand and 9 from a whole kelvin: the warm edge stands proud in
             its middle. That is why yesterday's fit vanished: heat, handling, or release of residual stress.
        Ask: The hand is taken away. How long until the fit can be believed: a second, half a minute, or half an hour?
        Likely: Immediately. (an error is taken to stay, or to go immediately)
        Say: After half a minute 10 % is left in 40 mm of steel; the time grows with the square of the
             depth. Wait, and check again.
    """

    def __init__(self, *lessons: str) -> None:
        every = tuple(dict.fromkeys(p.lesson for p in wall_plan()))
        strange = [lesson for lesson in lessons if lesson not in every]
        if strange:
            raise Refusal("choice", where="lesson", found=f"{strange[0]!r}", must_be=either(every))
        self.lessons = lessons or every

    def __str__(self) -> str:
        """Return the plan as plain lines."""
        lines = []
        for lesson, plans in self._groups():
            lines.append(f"Lesson {lesson}, {sum(p.minutes for p in plans)} minutes: {_command(lesson)}")
            for plan in plans:
                lines.append(f"  {plan.shows}, {plan.minutes} minutes")
                for ask in plan.asks:
                    lines += [
                        f"    Ask: {ask.question}",
                        f"    Likely: {ask.likely} ({ask.thinking})",
                        f"    Say: {ask.say}",
                    ]
        return "\n".join(lines)

    __repr__ = __str__

    def _groups(self) -> list[tuple[str, list[Plan]]]:
        return [(lesson, [p for p in wall_plan() if p.lesson == lesson]) for lesson in self.lessons]

    def _repr_html_(self) -> str:
        """Return one table for each lesson."""
        parts = []
        for lesson, plans in self._groups():
            parts.append(
                f"<h3>Lesson {lesson}: {sum(p.minutes for p in plans)} minutes</h3>\n"
                f"<p>Opened by <code>{_command(lesson)}</code></p>"
            )
            parts += [plan_table(plan, k) for k, plan in enumerate(plans, 1)]
        return "\n".join(parts)


def _command(lesson: str) -> str:
    return f"python -m simulate projector wall {lesson} --open"


def plan_table(plan: Plan, place: int) -> str:
    """Give the questions of one panel or film as a table."""
    rows = "".join(
        f'<tr><td style="text-align:left">{escape(a.question)}</td>'
        f'<td style="text-align:left">{escape(a.likely)} <em>({escape(a.thinking)})</em></td>'
        f'<td style="text-align:left">{escape(a.say)}</td></tr>'
        for a in plan.asks
    )
    heads = "".join(
        f'<th scope="col" style="text-align:left">{words}</th>'
        for words in ("ask, before it moves", "the likely wrong answer", "say, once it has moved")
    )
    return (
        f'<table><caption style="text-align:left">Page {place}: {escape(plan.shows)}, {plan.minutes} minutes</caption>'
        f"<thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table>"
    )
