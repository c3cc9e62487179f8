"""What a class knows after a lesson: a row a student, a row a question, and the fifteen beliefs."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import jinja2

from simulate.core.atomic_files import write_whole
from simulate.course.asking.misconceptions import BELIEFS
from simulate.course.classroom.grading import Mark, Marked
from simulate.course.classroom.learning_gain import Gain, gain
from simulate.course.classroom.tables import folder_for, write_table
from simulate.course.exercise.pre_question import asked
from simulate.show.units.switch import in_both

_NAMED = 3


@dataclass(frozen=True, kw_only=True)
class StudentRow:
    """One student in one lesson.

    `asked`, `answered`, `right_at_first`, `right`: exercises of the lesson; those answered; those right at the first
    answer; those right at last. `tries`: all together. `late`: answers given after the time that was set.
    """

    name: str
    word: str
    lesson: str
    asked: int
    answered: int
    right_at_first: int
    right: int
    tries: int
    late: int


@dataclass(frozen=True, kw_only=True)
class QuestionRow:
    """One question over the class.

    `lesson`, `exercise`, `question`: the text has figures of nobody in the class. `right_at_first_pct`, `right_pct`: of
    those who answered; NaN where nobody did. `tries`: on average, of those who answered. `misconceptions`: the
    commonest behind wrong first answers, each with how many and who.
    """

    lesson: str
    exercise: str
    question: str
    students: int
    answered: int
    right_at_first_pct: float
    right_pct: float
    tries: float
    misconceptions: str


@dataclass(frozen=True, kw_only=True)
class BeliefRow:
    """One of the fifteen beliefs in the class.

    `asked`, `said`, `true`: what a learner asks, the belief behind it, what holds instead. `students`, `answered`: who
    showed it by a first answer, of those who answered one of these exercises.
    """

    asked: str
    said: str
    true: str
    exercises: str
    students: int
    answered: int
    names: str


def by_student(rows: Sequence[Mark]) -> list[StudentRow]:
    """Give a row for each student and lesson.

    `rows`: those of the exercises.
    """
    groups = defaultdict(list)
    for row in rows:
        groups[row.name, row.word, row.lesson].append(row)
    return [
        StudentRow(
            name=name,
            word=word,
            lesson=lesson,
            asked=len(of),
            answered=sum(bool(m.right) for m in of),
            right_at_first=_yes(of, "right_at_first"),
            right=_yes(of, "right"),
            tries=sum(m.tries for m in of),
            late=_yes(of, "late"),
        )
        for (name, word, lesson), of in groups.items()
    ]


def by_question(rows: Sequence[Mark], units: str = "mm") -> list[QuestionRow]:
    """Give a row for each question.

    `rows`: those of the exercises. `units` ({"mm", "inch"}).
    """
    groups = defaultdict(list)
    for row in rows:
        groups[row.lesson, row.exercise].append(row)
    found = []
    for (lesson, exercise), of in groups.items():
        answered = [m for m in of if m.right]
        many = len(answered)
        share = [100 * _yes(answered, which) / many if many else float("nan") for which in ("right_at_first", "right")]
        found.append(
            QuestionRow(
                lesson=lesson,
                exercise=exercise,
                question=in_both(asked(exercise, "nobody in the class").text, units),
                students=len(of),
                answered=many,
                right_at_first_pct=share[0],
                right_pct=share[1],
                tries=sum(m.tries for m in answered) / many if many else float("nan"),
                misconceptions=_commonest(answered),
            )
        )
    return found


def by_belief(rows: Sequence[Mark]) -> list[BeliefRow]:
    """Give a row for each of the fifteen beliefs.

    `rows`: those of the exercises.
    """
    found = []
    for belief in BELIEFS:
        exercises = list(dict.fromkeys(exercise for exercise, _ in belief.met))
        shown = dict.fromkeys(m.name for m in rows if (m.exercise, m.first_misconception) in belief.met)
        met = {m.name for m in rows if m.exercise in exercises and m.right}
        found.append(
            BeliefRow(
                asked=belief.asked,
                said=belief.said,
                true=belief.true,
                exercises=", ".join(exercises),
                students=len(shown),
                answered=len(met),
                names=", ".join(shown),
            )
        )
    return found


def _yes(rows: Sequence[Mark], which: str) -> int:
    return sum(getattr(m, which) == "yes" for m in rows)


def _commonest(answered: Sequence[Mark]) -> str:
    who = defaultdict(list)
    for mark in answered:
        if mark.first_misconception:
            who[mark.first_misconception].append(mark.name)
    most = Counter({m: len(names) for m, names in who.items()}).most_common(_NAMED)
    return "; ".join(f"{misconception} ({many}: {', '.join(who[misconception])})" for misconception, many in most)


def write_summary(out: Path, marked: Marked, semicolon: bool = False, units: str = "mm") -> list[Path]:
    """Write the summary as one page and as tables.

    `out`: a folder, made where it is missing. `units` ({"mm", "inch"}). Returns ``summary.html`` first.
    """
    folder_for(out)
    students, questions, beliefs = by_student(marked.rows), by_question(marked.rows, units), by_belief(marked.rows)
    page = out / "summary.html"
    write_whole(
        page, _page(marked, students, questions, beliefs, gain(marked.before + marked.rows)).encode("utf-8", "replace")
    )
    tables = {"students": students, "questions": questions, "beliefs": beliefs}
    for name, rows in tables.items():
        write_table(out / f"summary_{name}.csv", rows, semicolon)
    return [page, *(out / f"summary_{name}.csv" for name in tables)]


def _page(
    marked: Marked,
    students: list[StudentRow],
    questions: list[QuestionRow],
    beliefs: list[BeliefRow],
    gains: list[Gain],
) -> str:
    answered = dict.fromkeys(q.lesson for q in questions if q.answered)
    cells = {(s.name, s.lesson): s for s in students}
    names = dict.fromkeys(s.name for s in students)
    return template("summary.html.j2").render(
        lessons=list(answered),
        names=list(names),
        cells=cells,
        beliefs=beliefs,
        gains=gains,
        questions=[q for q in questions if q.answered],
        aside=marked.aside,
        notes=[m for m in marked.rows if m.note],
    )


def template(name: str) -> jinja2.Template:
    """Return a page to fill in, in which every text is escaped.

    `name`: of a file beside this module.
    """
    loader = jinja2.FileSystemLoader(Path(__file__).parent)
    return jinja2.Environment(loader=loader, autoescape=True, undefined=jinja2.StrictUndefined).get_template(name)
