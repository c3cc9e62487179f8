"""A newcomer does what lesson 00 says, in its own words: each step names what is clicked, and the test clicks that and
no more."""

import re

import nbformat
import pytest

from simulate.course.notebook.refresh import LESSONS

pytestmark = pytest.mark.browser
IDLE = "| Idle"
START = LESSONS / "00_start_here.ipynb"


def steps():
    """The numbered steps of the lesson, each with what stands bold, slanted and in code in it."""
    source = next(c.source for c in nbformat.read(START, as_version=4).cells if "never seen such a page" in c.source)
    found = re.findall(r"^\d\. (.*?)(?=\n\d\. |\n\n)", source, re.MULTILINE | re.DOTALL)
    return [
        (
            text,
            re.findall(r"\*\*(.+?)\*\*", text),
            re.findall(r"(?<!\*)\*([^*]+)\*(?!\*)", text),
            re.findall(r"`(.+?)`", text),
        )
        for text in found
    ]


def bring(page, words):
    """Scroll to a heading of the lesson."""
    heading = page.locator(".jp-MarkdownOutput h2", has_text=re.compile(f"^{words}"))
    heading.first.scroll_into_view_if_needed()
    page.wait_for_timeout(400)
    return heading.first


def test_lesson_00_says_what_to_do_in_five_steps():
    assert len(steps()) == 5


def test_a_newcomer_gets_through_lesson_00_by_its_own_words(lesson):
    lesson.open("lessons/00_start_here.ipynb")
    page, (one, two, three, four, five) = lesson.page, steps()

    row = page.get_by_role("menubar").first
    assert [row.get_by_role("menuitem", name=name, exact=True).count() for name in (*one[2], *one[1])] == [1, 1, 1]
    row.get_by_role("menuitem", name=one[1][0], exact=True).click()

    page.locator(".lm-Menu-item", has_text=re.compile(f"^{two[1][0]}")).first.click()
    page.wait_for_function(
        "() => document.querySelectorAll('.jp-Notebook .workshop-panel').length > 0", timeout=180_000
    )
    page.wait_for_selector(f"#jp-main-statusbar >> text=| {two[2][0]}", timeout=180_000)
    page.wait_for_timeout(1000)

    bring(page, three[2][0])
    knob = lesson.handle(three[2][1])
    before, box = lesson.settle(three[2][1]), knob.bounding_box()
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(box["x"] + box["width"] / 2 - 12, box["y"] + box["height"] / 2, steps=4)
    page.mouse.up()
    after = lesson.settle(three[2][1])
    assert after["src"] != before["src"] and after["alt"] != before["alt"], "picture and sentence change"
    lesson.shot("first_run_slider")

    heading = bring(page, four[2][0])
    below = heading.bounding_box()["y"]
    page.wait_for_timeout(500)
    fields = page.locator(".jp-OutputArea-output .workshop-panel input[type=text]")
    field = next(f for f in fields.all() if (f.bounding_box() or {"y": 0})["y"] > below - 5)
    field.click()
    page.keyboard.type("50")
    page.keyboard.press("Enter")
    panel = field.locator("xpath=ancestor::*[contains(@class, 'workshop-panel')][1]")
    panel.get_by_role("status").first.wait_for()
    assert re.match(r"Right|Not yet", panel.get_by_role("status").first.inner_text())
    lesson.shot("first_run_answer")

    for word in five[1]:
        (
            page.get_by_role("menuitem", name=word, exact=True).first
            if word == five[1][0]
            else page.locator(".lm-Menu-item", has_text=re.compile(f"^{word}")).first
        ).click()
    page.wait_for_timeout(500)
    page.locator(".jp-DirListing-item", has_text=re.compile(f"^{five[3][0]}")).first.dblclick()
    page.locator(".jp-MarkdownOutput h1", has_text="01 What straight means").first.wait_for()
    lesson.shot("first_run_next_lesson")
    page.locator(".lm-TabBar-tab", has_text="00_start_here.ipynb").first.click()
    page.locator(".jp-MarkdownOutput h1", has_text="00 Start here").first.wait_for()
    assert page.locator(".jp-RenderedError, [data-mime-type='application/vnd.jupyter.stderr']").count() == 0


IN_HAND = """() => [document.querySelector('.jp-WindowedPanel-outer').scrollTop,
    [...document.querySelectorAll('.jp-Notebook .jp-Cell')].findIndex(cell => cell.matches('.jp-mod-active'))]"""


def test_run_all_leaves_the_reader_at_the_top_and_one_cell_leaves_him_where_he_is(lesson):
    page = lesson.open("lessons/00_start_here.ipynb").run_all().page
    page.wait_for_timeout(1000)
    assert page.evaluate(IN_HAND) == [0, 0]
    page.locator(".jp-CodeCell").first.locator(".cm-content").click()
    page.keyboard.press("Shift+Enter")
    page.wait_for_selector(f"#jp-main-statusbar >> text={IDLE}", timeout=90_000)
    page.wait_for_timeout(1000)
    assert page.evaluate(IN_HAND)[1] == 3, "the cell after the one that was run"
