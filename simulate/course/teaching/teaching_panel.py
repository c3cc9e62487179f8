"""The courses in one table, and a button that writes the plan of one of them to print."""

from __future__ import annotations

from html import escape
from pathlib import Path

import ipywidgets as widgets

from simulate.core.atomic_files import write_whole
from simulate.core.refusal import Refusal
from simulate.course.notebook.manifest import Lesson, manifest
from simulate.course.publish.paper import plain
from simulate.course.teaching.course_records import Course, course_of, courses
from simulate.course.teaching.outcomes import PASS_PERCENT
from simulate.course.teaching.plan_sheets import period_told, plan_pdf, time_told
from simulate.course.teaching.timetable import Timetable, timetable
from simulate.show.drawing import style
from simulate.show.drawing.fault import faults_shown
from simulate.show.drawing.focus import FOCUS
from simulate.show.own.pulse import Pulse
from simulate.show.units.switch import chosen_units

_LEFT = 'style="text-align:left"'


class TeachingPlan:
    """Courses of the lessons: which lesson in which period, and one of them to print with all its sheets.

    By keyboard: Tab goes from field to field and to the button, Space presses it.

    Examples
    --------
    >>> print(str(TeachingPlan()).splitlines()[4])
    04 Three bars: One afternoon 1; 6 double periods 4, 5; 12 double periods 4, 5; 20 double periods 3, 4
    """

    def __init__(self) -> None:
        wide = {"style": {"description_width": "11em"}, "layout": widgets.Layout(width="24em", max_width="100%")}
        self.course = widgets.Dropdown(
            options=[(one.name, one.key) for one in courses()], value="6", description="Course", **wide
        )
        self.students = widgets.IntText(value=30, description="Learners", **wide)
        self.pass_percent = widgets.FloatText(value=PASS_PERCENT, description="Pass mark, %", **wide)
        self.button = widgets.Button(
            description="Write the plan to print", layout=widgets.Layout(width="16em", max_width="100%")
        )
        self.told, self.message = widgets.HTML(), widgets.HTML()
        self.course.observe(lambda _: self._show(), "value")
        self.button.on_click(lambda _: self._press())
        self.view = widgets.VBox(
            [
                widgets.HTML(FOCUS),
                self.course,
                self.students,
                self.pass_percent,
                self.button,
                self.message,
                self.told,
                Pulse(lambda: self.view).view,
            ]
        )
        self.view.add_class("workshop-panel")
        self._show()

    def _show(self) -> None:
        self.told.value = periods_html(timetable(course_of(self.course.value)))

    def _press(self) -> None:
        with faults_shown(self.message):
            try:
                path = self.write()
            except Refusal as refusal:
                self.message.value = (
                    f'<p role="alert" style="border-left:6px solid {style.ORANGE};padding:4px 10px">'
                    f"Not possible: {escape(str(refusal))}</p>"
                )
            else:
                self.message.value = f"<p role='status'>Written: {path}, beside this lesson. Print it.</p>"

    def write(self) -> Path:
        """Write the plan of the course that is chosen beside the lesson.

        Returns
        -------
        Path

        Raises
        ------
        Refusal
            Where learners or the pass mark cannot be, or the folder refuses.
        """
        drawn = plan_pdf(course_of(self.course.value), self.students.value, self.pass_percent.value, chosen_units())
        path = Path(f"my_plan_{self.course.value}.pdf")
        write_whole(path, drawn)
        return path

    def __str__(self) -> str:
        """Return every lesson with its periods in each course as plain lines."""
        tables = [timetable(one) for one in courses()]
        return "\n".join(
            f"{one.number} {plain(one.title())}: "
            + ("; ".join(f"{t.course.name} {_periods(t, one)}" for t in tables if t.periods_of(one)) or _left_out(one))
            for one in manifest()
        )

    __repr__ = __str__

    def _repr_mimebundle_(self, **_kwargs: object) -> dict:
        """Return the panel, with the table of all courses beside it for where no lesson runs."""
        return {**self.view._repr_mimebundle_(), "text/plain": str(self), "text/html": courses_html()}


def _left_out(lesson: Lesson) -> str:
    return "left out" if lesson.questions else "the instructor's own"


def _periods(table: Timetable, lesson: Lesson) -> str:
    return ", ".join(map(str, table.periods_of(lesson)))


def courses_html() -> str:
    """Return one table of every lesson and course: in which periods a lesson is given, or that it is left out."""
    tables = [timetable(one) for one in courses()]
    heads = "".join(f'<th scope="col" {_LEFT}>{escape(t.course.name)}</th>' for t in tables)
    rows = "".join(
        f'<tr><th scope="row" {_LEFT}>{one.number} {escape(plain(one.title()))}</th>'
        + "".join(f"<td {_LEFT}>{_periods(t, one) or _left_out(one)}</td>" for t in tables)
        + "</tr>"
        for one in manifest()
    )
    aims = "".join(f"<li>{escape(t.course.name)}: {escape(t.course.aim)}. {escape(time_told(t))}</li>" for t in tables)
    return (
        f'<table><caption {_LEFT}>Period of each lesson</caption><thead><tr><th scope="col" {_LEFT}>lesson</th>{heads}'
        f"</tr></thead><tbody>{rows}</tbody></table><ul>{aims}</ul>"
    )


def periods_html(table: Timetable) -> str:
    """Return the periods of one course as a table."""
    course: Course = table.course
    rows = "".join(
        f'<tr><th scope="row" {_LEFT}>{k}</th><td {_LEFT}>{escape(period_told(table, k - 1))}</td>'
        f"<td>{table.spare_minutes(k - 1)}</td></tr>"
        for k in range(1, course.periods + 1)
    )
    return (
        f"<p>{escape(time_told(table))}</p><table><caption {_LEFT}>{escape(course.name)}</caption><thead><tr>"
        f'<th scope="col">period</th><th scope="col" {_LEFT}>lessons, with minutes</th><th scope="col">spare</th></tr>'
        f"</thead><tbody>{rows}</tbody></table>"
    )
