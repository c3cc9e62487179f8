"""The way through the course: links from lesson to lesson, the map, and what a person at a bench wants to know."""

import re

import nbformat
import pytest

from simulate.course.exercise.standing import standings
from simulate.course.notebook.manifest import lesson_of, manifest
from simulate.course.notebook.map_page import course_map, wants
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.way import neighbours, way
from simulate.course.opening.lesson_head import head_html

EVERY_WANT = [want for group in wants().values() for want in group]
FILES = {path.name for path in LESSONS.glob("*.ipynb")}


def leads(html):
    """Names of the notebooks that HTML links to, in order."""
    return [address.partition("#")[0] for address in re.findall(r'href="([^"]+)"', html)]


def test_thirty_things_or_more_are_wanted_none_twice_and_every_lesson_answers_one():
    assert len(EVERY_WANT) >= 30
    assert (
        len({want.to for want in EVERY_WANT}) == len({(w.lesson.key, w.under) for w in EVERY_WANT}) == len(EVERY_WANT)
    )
    unasked = {one.number for one in manifest()} - {want.lesson.number for want in EVERY_WANT}
    assert not unasked


@pytest.mark.parametrize("want", EVERY_WANT, ids=lambda want: want.to)
def test_what_is_wanted_stands_in_its_lesson_where_it_is_said_to_stand(want):
    cells = nbformat.read(want.lesson.path, as_version=4).cells
    words = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")
    marked = re.findall(r"\*\*([^*]+)\*\*|^#+ (.+)$", words, re.MULTILINE)
    assert want.under in {" ".join(max(pair, key=len).split()) for pair in marked}
    assert re.match("[a-z]", want.to) and want.to[-1] not in ".?"


def test_each_lesson_leads_to_the_one_before_to_the_map_and_to_the_next():
    every = manifest()
    for place, lesson in enumerate(every):
        expected = [every[place - 1], every[0]] if place else []
        expected += [*every[place + 1 : place + 2], every[0]]  # the words of the trade stand in lesson 00 too
        assert leads(way(lesson)) == [f"{one.file}.ipynb" for one in expected], lesson.key
    assert neighbours(every[0])[0] is None and neighbours(every[-1])[1] is None


def test_every_link_of_the_head_and_of_the_map_leads_to_a_lesson_that_is_there():
    for html in (head_html(lesson_of("04"), standings(())), course_map()._repr_html_()):
        assert set(leads(html)) == FILES
    assert leads(head_html(lesson_of("04"), standings(())))[:3] == [
        "03_two_bars_agree.ipynb",
        "00_start_here.ipynb",
        "05_what_still_hides.ipynb",
    ]


def test_the_map_stands_in_lesson_00_as_the_manifest_has_it_and_where_the_links_lead():
    cells = nbformat.read(lesson_of("00").path, as_version=4).cells
    place = next(k for k, cell in enumerate(cells) if "### The map" in cell.source)
    (output,) = cells[place + 1].outputs
    assert output.data["text/html"] == course_map()._repr_html_() and output.data["text/plain"] == repr(course_map())
    assert all(f"{one.file}.ipynb" in output.data["text/html"] for one in manifest())
    assert "#The-map" in way(lesson_of("04"))
