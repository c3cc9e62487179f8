"""Links lead from lesson to lesson in the Lab: those of the stored map, and those over and below a lesson."""

import re

import pytest

pytestmark = pytest.mark.browser


def heading(page, words):
    """The first heading of the lesson that is in front."""
    return page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-MarkdownOutput h1", has_text=words).first


def test_the_map_opens_a_lesson_and_the_lesson_leads_on_and_back(lesson):
    lesson.open("lessons/00_start_here.ipynb")
    page = lesson.page
    lesson.roll_to(page.locator(".jp-RenderedHTML a", has_text=re.compile("^04 Three bars$")).first).click()
    heading(page, "04 Three bars").wait_for()
    page.wait_for_selector("#jp-main-statusbar >> text=| Idle")
    lesson.run_all()
    ways = page.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .workshop-way")
    ways.first.wait_for()
    assert ways.first.locator("a").all_text_contents() == [
        "← Before: 03 Two bars agree",
        "Map",
        "Next: 05 What still hides →",
        "Words of the trade",
    ]
    lesson.shot("way_at_the_head")
    lesson.roll_to(ways.last.locator("a", has_text="Next")).click()
    heading(page, "05 What still hides").wait_for()
    page.locator(".lm-TabBar-tab", has_text="04_three_bars.ipynb").first.click()
    lesson.roll_to(ways.first.locator("a", has_text="Map")).click()
    heading(page, "00 Start here").wait_for()
    assert page.locator(".jp-RenderedError").count() == 0
