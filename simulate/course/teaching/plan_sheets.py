"""A course on paper: its timetable, outcomes, assessment, observation sheet, materials and risks, as a PDF of a few
pages."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from simulate.core import values
from simulate.core.atomic_files import write_whole
from simulate.course.notebook.manifest import Lesson
from simulate.course.publish.paper import Paper, head, paper, plain, ruled, say
from simulate.course.teaching.course_records import SEEN, Course, courses, risks_of, things_for
from simulate.course.teaching.outcomes import BENCH_MOST, PASS_PERCENT, Outcome, outcomes, questions_of, to_pass
from simulate.course.teaching.timetable import Timetable, timetable
from simulate.show.units.switch import in_both

_SIZE = 9.5
_DOES = ("wall", "lesson", "bench")
_SCALE = "0 not yet, 1 with help, 2 alone."
_CRITERIA = {
    "safe": "keeps every caution of the lesson and the rules of this workshop, unasked.",
    "method": "goes in the order of the bench card, and says before each cut which body is the gauge and why.",
    "measured": "gives a result with its uncertainty at 95 %, and says where both come from.",
    "log": "has written each check and cut down so that somebody else could go on.",
}
_HEADS = {"safe": "Safe", "method": "Method", "measured": "Measured, ± 95 %", "log": "Log"}
MOST_STUDENTS = 200


@dataclass(frozen=True, kw_only=True)
class _Plan:
    """What every sheet is made from."""

    course: Course
    table: Timetable
    students: int
    pass_percent: float
    units: str


def plan_pdf(course: Course, students: int = 30, pass_percent: float = PASS_PERCENT, units: str = "mm") -> bytes:
    """Draw the plan of a course for a class.

    `students`: from 1 to 200. `pass_percent`: part of the exercises, and of the marks at the bench, that is enough.
    `units`: ``"mm"`` for A4, ``"inch"`` for letter paper and inches beside lengths.

    >>> plan_pdf(courses()[0], 12)[:5]
    b'%PDF-'
    """
    students = values.whole(students, "students", 1, MOST_STUDENTS)
    to_pass(1, pass_percent)
    plan = _Plan(course=course, table=timetable(course), students=students, pass_percent=pass_percent, units=units)
    page = paper(f"Plan: {course.name}", units, numbered=True)
    for sheet in (_timetable_sheet, _outcomes_sheet, _observation_sheet, _materials_sheet, _risk_sheet):
        if page.get_y() > page.t_margin:
            page.add_page()
        sheet(page, plan)
    return bytes(page.output())


def write_plans(
    out: Path,
    chosen: list[Course] | None = None,
    students: int = 30,
    pass_percent: float = PASS_PERCENT,
    units: str = "mm",
) -> list[Path]:
    """Write the plans of the courses chosen, or of all, one file each.

    `out`: a folder, made where it is not there.
    """
    drawn = {out / f"course_{one.key}.pdf": plan_pdf(one, students, pass_percent, units) for one in chosen or courses()}
    out.mkdir(parents=True, exist_ok=True)
    for path, data in drawn.items():
        write_whole(path, data)
    return list(drawn)


def _timetable_sheet(page: Paper, plan: _Plan) -> None:
    course, table = plan.course, plan.table
    head(page, course.name, size=18)
    say(page, f"Aim: {course.aim}.", _SIZE, after=2)
    say(page, time_told(table), _SIZE, after=2)
    rows = [
        [str(k), period_told(table, k - 1), str(table.spare_minutes(k - 1)), ""] for k in range(1, course.periods + 1)
    ]
    size, row_mm = (8.0, 9.4) if course.periods > 12 else (_SIZE, 13.0)
    ruled(
        page,
        ["Period", "Lessons, with minutes", "Spare", "Date, what was done"],
        rows,
        (0.9, 5, 0.75, 2.2),
        size,
        row_mm,
    )
    page.ln(2)
    left = "; ".join(f"{one.number} {plain(one.title())}" for one in course.left_out)
    say(page, f"Left out: {left}. Lesson 24 is the instructor's own.", 8.5, after=1)


def time_told(table: Timetable) -> str:
    """Say how long a course is, what its time goes into, and what that is worth."""
    course = table.course
    minutes = {does: table.minutes(does) for does in _DOES}
    read = f"{minutes['lesson']} minutes for the lessons" if course.reads_in_class else "lessons read at home"
    return (
        f"{course.periods} × {course.period_minutes} minutes, each with {course.start_and_clear_minutes} to start and "
        f"to clear up: {minutes['wall']} minutes on the projector, {read}, {minutes['bench']} at the bench. The bench "
        f"has about {100 * table.bench_share:.0f} % of what the lessons would take there. Minutes at the bench are "
        f"common "
        "practice, without a source: they teach the actions. A workpiece finished to a figure takes the hours that "
        "lesson 21 predicts."
    )


def period_told(table: Timetable, period: int) -> str:
    """Say what is done in a period, counted from 0."""
    told: dict[Lesson, list[str]] = {}
    for part in table.periods[period]:
        told.setdefault(part.lesson, []).append(f"{part.does} {part.minutes}")
    return "; ".join(f"{one.number} {plain(one.title())}: {', '.join(parts)}" for one, parts in told.items())


def _outcomes_sheet(page: Paper, plan: _Plan) -> None:
    every = questions_of(plan.course)
    head(page, "Outcomes, and the exercises that ask for them")
    say(
        page,
        f"Pass mark: {plan.pass_percent:g} %. Of the {len(every)} exercises of this course "
        f"{to_pass(len(every), plan.pass_percent)} right; an outcome is reached with the number in the last column. "
        "Names are those of the table of marks.",
        _SIZE,
        after=2,
    )
    rows = [
        [one.lesson.number, in_both(plain(one.words), plan.units), _asked_by(one), _enough(one, plan.pass_percent)]
        for one in outcomes(plan.course)
    ]
    ruled(page, ["Lesson", "The learner can", "Exercises", "To pass"], rows, (0.8, 4.4, 3.4, 1.2), 8)


def _asked_by(one: Outcome) -> str:
    return ", ".join((*one.exercises, *(f"at the bench: {_HEADS[mark]}" for mark in one.seen)))


def _enough(one: Outcome, percent: float) -> str:
    parts = [f"{to_pass(len(one.exercises), percent)} of {len(one.exercises)}"] if one.exercises else []
    return ", ".join(parts + ["seen"] * bool(one.seen))


def _observation_sheet(page: Paper, plan: _Plan) -> None:
    head(page, "Observation at the bench")
    say(page, "Lesson: ______________   Date: ______________   Observer: ____________________________", _SIZE, after=2)
    for key in SEEN:
        say(page, f"- {_HEADS[key]}: {_CRITERIA[key]}", _SIZE, hang=True)
    enough = to_pass(BENCH_MOST, plan.pass_percent)
    say(
        page,
        f"{_SCALE} Enough: {enough} of {BENCH_MOST}, and 2 for safe work. Whoever does not work "
        "safely is stopped, whatever "
        "the other marks. Points say what was seen on one day, and no more.",
        _SIZE,
        after=2,
    )
    rows = [[str(k), "", *[""] * len(SEEN), "", ""] for k in range(1, plan.students + 1)]
    heads = ["", "Name", *(_HEADS[key] for key in SEEN), "Sum", "Result ± (95 %), note"]
    ruled(page, heads, rows, (0.45, 2.8, 0.8, 0.95, 1.25, 0.7, 0.7, 2.6), 8.5, 6.6)


def _materials_sheet(page: Paper, plan: _Plan) -> None:
    course, table = plan.course, plan.table
    head(page, f"Materials for a class of {plan.students}")
    say(
        page,
        "Numbers follow from who shares what (common practice, no source). Hours are those at the bench in which the "
        "thing is needed. Prices are yours to fill in.",
        _SIZE,
        after=2,
    )
    rows = []
    for one in things_for(course.lessons):
        users = tuple(lesson for lesson in course.lessons if one.key in lesson.needs)
        hours = table.minutes("bench", users) / 60
        shared = {0: "one lot for the room", 1: "each"}.get(one.sharers, f"{one.count} to {one.sharers} learners")
        number = str(one.number_for(plan.students)) + (", used up" if one.used_up else "")
        rows.append(
            [in_both(one.name, plan.units), shared, number, ", ".join(u.number for u in users), f"{hours:.1f}", "", ""]
        )
    heads = ["Thing", "Shared", "Number", "Lessons", "Hours", "There", "Price"]
    ruled(page, heads, rows, (3.6, 1.6, 1.2, 2.0, 0.8, 0.8, 0.9), 8, 7)
    page.ln(2)
    bench = table.minutes("bench") / 60
    say(
        page,
        f"Hours of the class: {sum(map(table.minutes, _DOES)) / 60:.1f}, of them {bench:.1f} at the bench. Hours of "
        f"all learners at the bench together: {bench * plan.students:.0f}. As well as these: a computer for each "
        "learner or pair, a projector, one closed metal bin for oily rags, and paper for the cards.",
        _SIZE,
    )


def _risk_sheet(page: Paper, plan: _Plan) -> None:
    head(page, "Risks, to be judged under local rules")
    say(
        page,
        "This is a list to begin with, not a risk assessment. The rules of your workshop, the law of your country and "
        "a person qualified for it decide what is missing, what is enough and who may work. Nobody starts before the "
        "last two columns are filled in and signed.",
        _SIZE,
        after=2,
    )
    rows = [[one.name, one.measure, "", ""] for one in risks_of(things_for(plan.course.lessons))]
    rows += [["", "", "", ""]] * 4
    heads = ["What can harm", "What the lessons say", "Rule here, what is added", "Who answers for it"]
    ruled(page, heads, rows, (2, 3.4, 3, 1.6), 8.5, 12)
    page.ln(3)
    say(
        page, "Judged by: __________________________   Qualified as: ____________________   Date: ______________", _SIZE
    )
