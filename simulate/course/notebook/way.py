"""The way through the course as HTML, made of the manifest: where a lesson lies, and the links to those about it."""

from __future__ import annotations

from collections.abc import Callable
from html import escape

from simulate.course.notebook.manifest import Lesson, lesson_of, manifest

Address = Callable[[Lesson], str]
WORDS = "Words-of-the-trade"
"""The heading in the first lesson under which the terms stand."""


def in_the_lab(lesson: Lesson) -> str:
    """Return the address of a lesson from the folder of the lessons."""
    return f"{lesson.file}.ipynb"


def link(lesson: Lesson, words: str = "", address: Address = in_the_lab) -> str:
    """Return a link to a lesson.

    >>> link(lesson_of("04"), "Next: ")
    '<a href="04_three_bars.ipynb">Next: 04 Three bars</a>'
    """
    return f'<a href="{escape(address(lesson))}">{escape(words + lesson.name)}</a>'


def neighbours(lesson: Lesson) -> tuple[Lesson | None, Lesson | None]:
    """Return the lesson before one, and the next."""
    every = manifest()
    place = every.index(lesson)
    return (every[place - 1] if place else None), (every[place + 1] if place + 1 < len(every) else None)


def way(lesson: Lesson, address: Address = in_the_lab, here: str = "lesson") -> str:
    """Return the links from a lesson: the one before, the map, the next, and what it builds on.

    `address`: gives the address of a lesson. `here`: what tells this row of links from another one on the same page.
    """
    before, after = neighbours(lesson)
    parts = [link(before, "← Before: ", address)] if before else []
    if lesson is not manifest()[0]:
        parts.append(f'<a href="{escape(address(manifest()[0]))}#The-map">Map</a>')
    parts += [link(after, "Next: ", address).replace("</a>", " →</a>")] if after else []
    parts.append(f'<a href="{escape(address(manifest()[0]))}#{WORDS}">Words of the trade</a>')
    return f'<nav class="workshop-way" aria-label="From this {here}">{" · ".join(parts)}</nav>'


def builds_on(lesson: Lesson, address: Address = in_the_lab) -> str:
    """Return links to the lessons that one takes for read, each as its number."""
    found = map(lesson_of, lesson.builds_on)
    return ", ".join(f'<a href="{escape(address(one))}" title="{escape(one.name)}">{one.number}</a>' for one in found)
