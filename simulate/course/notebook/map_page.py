"""The map of the course: every lesson with what it builds on, and what a person at a bench wants to know."""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path

from simulate.course.notebook.manifest import Lesson, lesson_of, manifest
from simulate.course.notebook.way import Address, builds_on, in_the_lab, link

WANTS = Path(__file__).with_name("wants.toml")


@dataclass(frozen=True, kw_only=True)
class Want:
    """What somebody wants, and where the answer stands.

    `to`: goes on from "I want to". `under`: words of that lesson, under which the answer stands.
    """

    to: str
    lesson: Lesson
    under: str


@cache
def wants() -> dict[str, tuple[Want, ...]]:
    """Return what a person at a bench wants to know, by subject.

    >>> wants()["See a gap"][0].lesson.number
    '02'
    """
    groups = tomllib.loads(WANTS.read_text(encoding="utf-8"))["group"]
    return {
        group["name"]: tuple(Want(to=w["to"], lesson=lesson_of(w["lesson"]), under=w["under"]) for w in group["wants"])
        for group in groups
    }


def lesson_rows(address: Address = in_the_lab, lessons: Sequence[Lesson] | None = None) -> str:
    """Return the table of the lessons as HTML, of all where not given, each with links to those that it builds on."""
    left = ' style="text-align:left"'
    rows = "\n".join(
        f'<tr><th scope="row"{left}>{link(one, "", address)}</th><td>{one.minutes}</td>'
        f"<td{left}>{escape(one.promise)}</td><td{left}>{builds_on(one, address)}</td></tr>"
        for one in (manifest() if lessons is None else lessons)
    )
    heads = "".join(
        f'<th scope="col"{left}>{words}</th>' for words in ("lesson", "minutes", "what it lets you do", "builds on")
    )
    return f"<table><thead><tr>{heads}</tr></thead>\n<tbody>\n{rows}\n</tbody></table>"


def want_lists(address: Address = in_the_lab) -> str:
    """Return what a person at a bench wants to know as HTML, each with the lesson that answers it."""
    parts = []
    for name, group in wants().items():
        lines = "\n".join(
            f"<li>{escape(want.to)}: {link(want.lesson, '', address)}, <em>{escape(want.under.rstrip('.'))}</em></li>"
            for want in group
        )
        parts.append(f"<p><strong>{escape(name)}.</strong> I want to …</p>\n<ul>\n{lines}\n</ul>")
    return "\n".join(parts)


class CourseMap:
    """The map as a lesson shows it.

    Examples
    --------
    >>> print(repr(CourseMap()).splitlines()[4])
    04 Three bars, builds on 03
    """

    def __repr__(self) -> str:
        """Return one line a lesson."""
        return "\n".join(
            f"{one.name}, builds on {', '.join(lesson_of(key).number for key in one.builds_on)}"
            if one.builds_on
            else one.name
            for one in manifest()
        )

    def _repr_html_(self) -> str:
        """Return the table of lessons, and what a person at a bench wants to know."""
        return f"{lesson_rows()}\n{want_lists()}"


def course_map() -> CourseMap:
    """Return the map of the course: all lessons, what each builds on, and where a question from the bench is answered.

    Examples
    --------
    >>> "04_three_bars.ipynb" in course_map()._repr_html_()
    True
    """
    return CourseMap()
