"""A page for each student to hand back, with the reason of each question; and points for a learning platform."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from simulate.core.atomic_files import write_whole
from simulate.course.asking.check_answer import judge
from simulate.course.asking.question import Question
from simulate.course.classroom.grading import Mark, Marked
from simulate.course.classroom.summary import template
from simulate.course.classroom.tables import folder_for
from simulate.course.exercise.pre_question import asked
from simulate.course.teaching.outcomes import PASS_PERCENT, to_pass
from simulate.show.units.switch import in_both

_NUMBER = re.compile(r"[-+−]?[0-9.,]+")
_ROUNDED = 1e-6
"""What a sum of thirds may lack by rounding."""


@dataclass(frozen=True, kw_only=True)
class Points:
    """What one student gets.

    `points`, `most`: `most` is what every answer right at first and in time would give. `enough`: points that reach the
    pass mark. `passed` ({"yes", "no"}).
    """

    name: str
    points: float
    most: float
    enough: float
    passed: str


def points(
    rows: Sequence[Mark],
    weights: Sequence[float] = (1.0,),
    late: float = 1.0,
    pass_percent: float = PASS_PERCENT,
) -> list[Points]:
    """Give points for right answers; one that was right only after the exercise had shown its working brings none.

    `rows`: those of the exercises. `weights`: for a right answer at the first try, the second, and so on; the last
    holds for all later ones. `late`: part that is left of an answer that came late. `pass_percent`: part of `most` that
    is enough, above 0 and at most 100. Returns: one for each student, in the order of the class.

    >>> rows = [Mark(name="A. Student", right="yes", tries=2), Mark(name="A. Student", right="no", tries=9)]
    >>> points(rows, weights=(1, 0.5))
    [Points(name='A. Student', points=0.5, most=2.0, enough=1.2, passed='no')]
    """
    to_pass(1, pass_percent)
    found: dict[str, list[float]] = {}
    for row in rows:
        weight = weights[min(max(row.tries, 1), len(weights)) - 1] if row.right == "yes" and not row.shown else 0.0
        found.setdefault(row.name, []).append(weight * (late if row.late == "yes" else 1.0))
    return [_points(name, sum(of), len(of) * max(weights), pass_percent) for name, of in found.items()]


def _points(name: str, got: float, most: float, pass_percent: float) -> Points:
    enough = most * pass_percent / 100
    passed = "yes" if got >= enough - _ROUNDED else "no"
    return Points(name=name, points=float(got), most=float(most), enough=enough, passed=passed)


def write_feedback(out: Path, marked: Marked, units: str = "mm") -> list[Path]:
    """Write one page for each student who handed something in.

    `out`: a folder, made where it is missing. A page is named by the student's word. `units` ({"mm", "inch"}).
    """
    folder_for(out)
    pages = []
    for (name, word), rows in itertools.groupby(marked.rows, key=lambda m: (m.name, m.word)):
        lessons = [(lesson, list(of)) for lesson, of in itertools.groupby(rows, key=lambda m: m.lesson)]
        lessons = [(lesson, of) for lesson, of in lessons if any(m.right for m in of)]
        if lessons:
            pages.append(out / f"{word}.html")
            write_whole(pages[-1], _page(name, word, lessons, units).encode("utf-8", "replace"))
    return pages


def _page(name: str, word: str, lessons: list[tuple[str, list[Mark]]], units: str) -> str:
    marks = [m for _, of in lessons for m in of]
    whole = {m.exercise: asked(m.exercise, word) for m in marks}
    hints = {m.exercise: in_both(judge(whole[m.exercise], m.given).hint, units) for m in marks if m.given}
    shown = [
        (
            lesson,
            [
                replace(m, given=_figure(m.given, whole[m.exercise]), first=_figure(m.first, whole[m.exercise]))
                for m in of
            ],
        )
        for lesson, of in lessons
    ]
    return template("feedback.html.j2").render(
        name=name, lessons=shown, hints=hints, questions={e: _spoken(q, units) for e, q in whole.items()}
    )


def _figure(given: str, question: Question) -> str:
    """Return an answer as it is shown: a bare number gets the unit of the question."""
    return f"{given} {question.unit}" if question.unit and _NUMBER.fullmatch(given) else given


def _spoken(question: Question, units: str) -> Question:
    """Return a question whose texts are as they are shown."""
    answer = question.answer if question.options else _figure(f"{question.answer:.6g}", question)
    return replace(
        question, text=in_both(question.text, units), why=in_both(question.why, units), answer=in_both(answer, units)
    )
