"""Lesson 23 in a real JupyterLab: a published survey typed in, kept, and there again after the kernel was killed."""

import os
import re
from pathlib import Path

import numpy as np
import pytest

from simulate.readings.logbook.logbook import open_logbook

pytestmark = pytest.mark.browser
LESSON = "lessons/23_your_own_workshop.ipynb"
READINGS = (130, 133, 137, 128, 130, 134)


def survey_text() -> str:
    """The autocollimator line of published course slides (130, 130, 133, 137, 128, 130, 134 seconds on 100 mm) as a
    survey of a plate that is level across: 3 um out at half a micrometre to the second, 2.91 um with the exact
    second."""
    ends = {
        "d1": (0, 0, 6, 6),
        "d2": (6, 0, 0, 6),
        "front": (0, 0, 6, 0),
        "back": (0, 6, 6, 6),
        "left": (0, 0, 0, 6),
        "right": (6, 0, 6, 6),
        "along": (0, 3, 6, 3),
        "across": (3, 0, 3, 6),
    }
    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for name, (x, y, u, v) in ends.items():
        way = READINGS if u > x else READINGS[::-1]
        for k in range(7):
            read = (
                130
                if u == x
                else way[k - 1]
                if v == y
                else 130 + (way[k - 1] - 130) * (1 if u > x else -1) / np.sqrt(2)
            )
            place = f"{100 * (x + (u - x) * k / 6):g},{100 * (y + (v - y) * k / 6):g}"
            rows.append(f"{name},{k},{place},{'' if k == 0 else f'{read:.6f}'}")
    return "\n".join(rows)


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="kernels are found in /proc, which this system has not")
def test_a_published_survey_is_typed_kept_and_there_after_the_kernel_was_killed(lesson, kill_kernels):
    page = lesson.open(LESSON).run_all().page
    panel = page.locator(".workshop-panel:has(.workshop-tabs)").first
    panel.scroll_into_view_if_needed()
    lesson.shot("lesson_23_as_it_opens")
    lesson.turn_to("Readings").get_by_role("button", name="text", exact=True).click()
    panel.get_by_label("or type readings here").fill(survey_text())
    panel.get_by_role("button", name="Read what is typed").click()
    page.wait_for_function(
        "() => [...document.querySelectorAll('.workshop-panel img')].some(i => /Flatness 2.91 µm/.test(i.alt))"
    )
    lesson.shot("lesson_23_published_survey")
    lesson.turn_to("Logbook").get_by_label("Name of the work").fill("published line")
    panel.get_by_label("Note", exact=True).fill("published line, typed in")
    panel.get_by_role("button", name="Add as a new set").focus()
    page.keyboard.press("Enter")
    panel.get_by_text("Added. 1 set in my_logbook.json.").wait_for()
    panel.get_by_label("Sets in the logbook").scroll_into_view_if_needed()
    lesson.shot("lesson_23_logbook")
    kept = lesson.lab.folder / "lessons" / "my_logbook.json"
    assert [entry.note for entry in open_logbook(kept)] == ["published line, typed in"]
    assert lesson.errors() == []

    assert kill_kernels(lesson.lab) >= 1
    page = lesson.open(LESSON).run_all().page
    panel = page.locator(".workshop-panel:has(.workshop-tabs)").first
    lesson.turn_to("Logbook").get_by_role("button", name="Open logbook").click()
    panel.get_by_text("Opened: 1 set; the last one is shown.").wait_for()
    page.wait_for_function(
        "() => [...document.querySelectorAll('.workshop-panel img')].some(i => /Flatness 2.91 µm/.test(i.alt))"
    )
    line = panel.get_by_label("Sets in the logbook").locator("option").first.text_content().replace("\u00a0", " ")
    assert re.match(r"1\. survey along eight lines, 56 rows, published line, .*published line, typed in", line)

    lesson.turn_to("Logbook").get_by_role("button", name="Write the report").click()
    panel.get_by_text("Written: my_report").wait_for()
    assert "published line, typed in" in (lesson.lab.folder / "lessons" / "my_report" / "report.html").read_text()
    unnamed = panel.evaluate(
        "p => [...p.querySelectorAll('input:not([type=file]), select, textarea')].filter(f => "
        "!f.getAttribute('aria-label')).length"
    )
    assert unnamed == 0, "every field has a name for a screen reader"
    if not os.environ.get("CI"):
        pytest.importorskip("axe_playwright_python")
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page, context=".workshop-panel")
    assert found.violations_count == 0, found.generate_report()
    assert lesson.errors() == []
