"""A kernel that dies under an open page: a press of a button says so, and what was typed comes back."""

from pathlib import Path

import pytest

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(not Path("/proc").is_dir(), reason="kernels are found in /proc, which this system has not"),
]
LESSON = "lessons/23_your_own_workshop.ipynb"


def own_panel(page):
    return page.locator(".workshop-panel:has(.workshop-tabs)").first


def test_a_press_on_a_panel_whose_kernel_died_says_so_and_the_draft_comes_back(lesson, kill_kernels):
    page = lesson.open(LESSON).run_all().page
    panel = own_panel(page)
    panel.scroll_into_view_if_needed()
    lesson.turn_to("Readings")
    panel.get_by_role("button", name="Read this file").click()
    panel.get_by_text("is not a file").first.wait_for()
    page.wait_for_timeout(6000)
    assert panel.locator(".workshop-no-answer").count() == 0, "a kernel that answers is not called dead"
    panel.get_by_role("button", name="text", exact=True).click()
    panel.get_by_label("or type readings here").fill("lower,upper,position_mm,gap_um\nA,B,0,1\n")
    panel.get_by_text("kept as a draft").wait_for()

    told = page.locator(".jp-Dialog")  # the Lab says so too, sooner or later
    page.add_locator_handler(told, lambda dialog: dialog.get_by_role("button").last.click())
    assert kill_kernels(lesson.lab) >= 1
    panel.get_by_role("button", name="Read what is typed").click()
    panel.locator(".workshop-no-answer").wait_for(timeout=20_000)
    assert "choose Kernel, then Restart Kernel and Run All Cells" in panel.locator(".workshop-no-answer").inner_text()
    lesson.shot("lesson_23_dead_kernel")
    page.remove_locator_handler(told)

    page = lesson.open(LESSON).run_all().page
    panel = own_panel(page)
    panel.get_by_text("Brought back: what was typed here").wait_for()
    lesson.turn_to("Readings")
    panel.get_by_role("button", name="text", exact=True).click()
    assert panel.get_by_label("or type readings here").input_value().startswith("lower,upper,position_mm,gap_um\nA,B")
