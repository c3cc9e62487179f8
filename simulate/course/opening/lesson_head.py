"""The head of a lesson: the way on, what is done of the whole course, and old questions that are worth asking anew."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from html import escape
from pathlib import PurePath

import ipywidgets as widgets
from IPython import get_ipython

from simulate.course.exercise.again import Again
from simulate.course.exercise.hand_in import ANSWERS
from simulate.course.exercise.lesson_foot import as_output, told
from simulate.course.exercise.standing import REST_DAYS, Standing, due_again, next_lesson, standings
from simulate.course.notebook.manifest import Lesson, manifest
from simulate.course.notebook.way import builds_on, link, way
from simulate.show.drawing.fault import faults_shown

_OPEN_NOTEBOOK = "JPY_SESSION_NAME"
"""Where a Jupyter server tells a kernel which notebook it was started for."""


def open_lesson() -> Lesson | None:
    """Return the lesson that this kernel runs; None where the server does not say, or the file was renamed.

    The words of the name come first: a notebook that was handed out earlier may have the number of another lesson.
    """
    name = re.match(r"(\d\d)_(.*)", PurePath(os.environ.get(_OPEN_NOTEBOOK, "")).name)
    if not name:
        return None
    named = next((one for one in manifest() if name[2].startswith(one.file[3:])), None)
    return named or next((one for one in manifest() if one.number == name[1]), None)


def own_word() -> str:
    """Return the word that stands as `student` in the open notebook; empty where there is none."""
    shell = get_ipython()
    return str(shell.user_ns.get("student", "")) if shell else ""


class LessonHead:
    """What stands over a lesson, shown anew after each answer.

    `lesson`: the one that is open, where that is known. `student`: whose answers are counted; without one only the way
    is shown. `view` (ipywidgets.VBox).
    """

    def __init__(self, lesson: Lesson | None, student: str) -> None:
        self.lesson, self.student = lesson, student
        self._told = widgets.Output()
        self.offer = widgets.Button(layout=widgets.Layout(width="max-content", max_width="100%"))
        self.offer.on_click(lambda _: self._ask())
        self._fault = widgets.HTML()
        self.asked = widgets.VBox()
        self.view = widgets.VBox([self._told, self.offer, self._fault, self.asked])
        self.view.add_class("workshop-panel")
        self.update(ANSWERS)
        self._show_offer(self._due())
        ANSWERS.follow("head", self)

    def update(self, hand: object) -> None:
        """Show where the learner stands now."""
        self._told.outputs = as_output(head_html(self.lesson, standings(ANSWERS.all_of(self.student))))

    def _due(self) -> tuple[str, ...]:
        here = self.lesson.key if self.lesson else ""
        return due_again(ANSWERS.all_of(self.student), ANSWERS.clock(), here)

    def _show_offer(self, due: Sequence[str]) -> None:
        many = f"{len(due)} question{'s' if len(due) > 1 else ''}"
        self.offer.description = f"Review {many} from earlier lessons"
        self.offer.tooltip = (
            f"From {REST_DAYS} days ago or earlier, with new figures; those that went wrong come first. "
            "They do not count towards the mark."
        )
        self.offer.layout.display = None if due else "none"

    def _ask(self) -> None:
        with faults_shown(self._fault):
            day = ANSWERS.clock().strftime("%Y-%m-%d")
            self.asked.children = [Again(name, self.student, day) for name in self._due()]
            self.offer.layout.display = "none"


def head_html(lesson: Lesson | None, found: Sequence[Standing]) -> str:
    """Return the way and the standing of a lesson, with the table of the whole course folded below.

    `lesson`: the one that is open. `found`: as `standings` gives them.
    """
    here = next((one for one in found if one.lesson is lesson), None)
    done, asked, first = (sum(counts) for counts in zip(*((s.done, s.asked, len(s.right_at_first)) for s in found)))
    again = sum(len(one.again) for one in found)
    onward = next_lesson(found)
    parts = [way(lesson)] if lesson else []
    parts += [f"<p>{escape(told(here))}</p>"] if here else []
    if onward and onward is not lesson:
        parts.append(f"<p>{link(onward, 'Not finished yet: ')}</p>")
    summary = (
        f"The whole course: {done} of {asked} questions done, {first} right at first, {again} to be looked at again"
    )
    return f"{''.join(parts)}<details><summary>{summary}</summary>{_table(found)}</details>"


def _table(found: Sequence[Standing]) -> str:
    """Return one row a lesson; a sign and words say how it stands, never colour alone."""
    of = {one.lesson: one for one in found}
    rows = []
    for lesson in manifest():
        one = of.get(lesson)
        cells = (
            [f"{_sign(one)} {one.done} of {one.asked}", str(len(one.right_at_first)), str(len(one.again) or "")]
            if one
            else ["", "", ""]
        )
        rows.append(
            f'<tr><th scope="row" style="text-align:left">{link(lesson)}</th>'
            + "".join(f'<td style="text-align:left">{cell}</td>' for cell in (*cells, builds_on(lesson)))
            + "</tr>"
        )
    heads = "".join(
        f'<th scope="col" style="text-align:left">{words}</th>'
        for words in ("lesson", "done", "right at first", "look at again", "builds on")
    )
    return f"<table><thead><tr>{heads}</tr></thead><tbody>{''.join(rows)}</tbody></table>"


def _sign(one: Standing) -> str:
    return "✓" if one.finished else "–" if one.done else "○"


def lesson_head() -> LessonHead:
    """Return the head of the lesson that is open."""
    return LessonHead(open_lesson(), own_word())
