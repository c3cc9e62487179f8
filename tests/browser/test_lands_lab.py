"""Lessons 07 to 09 in a real browser: gauges are laid with the keyboard alone, readings are uploaded, and the words
follow."""

import pytest

pytestmark = pytest.mark.browser
LESSON = "lessons/08_three_points_to_seven.ipynb"
PLACE = "Place of its left land"


def wait_for_words(lesson, words: str, tries: int = 300) -> dict:
    """The panel's picture, once its words hold these."""
    for _ in range(tries):
        shown = lesson.picture(PLACE)
        if words in shown["alt"]:
            return shown
        lesson.page.wait_for_timeout(100)
    raise AssertionError(f"the panel says {shown['alt']!r}, and not {words!r}")


def test_gauges_are_laid_by_keyboard_and_the_words_follow(lesson):
    lesson.open(LESSON).run_all()
    wait_for_words(lesson, "Not touched: 100, 200, 300, 400, 500 mm.")
    button = lesson.page.get_by_role("button", name="Lay the gauge here")
    button.focus()
    lesson.page.keyboard.press("Space")
    once = wait_for_words(lesson, "not yet fixed relative to the two ends: 100, 200 mm.")
    lesson.press(PLACE, "ArrowRight")
    assert lesson.settle(PLACE)["src"] != once["src"]
    lesson.press(PLACE, "ArrowLeft")
    on = lesson.page.get_by_role("button", name="One space on")
    on.focus()
    lesson.page.keyboard.press("Space")
    lesson.settle(PLACE)
    button.focus()
    lesson.page.keyboard.press("Enter")
    wait_for_words(lesson, "not yet fixed relative to the two ends: 100, 200, 300 mm.")
    assert lesson.errors() == []
    lesson.shot("lesson_08_two_gauges_laid")
    a_spacing_is_typed_beside_its_slider(lesson, button)
    assert lesson.errors() == []


def a_spacing_is_typed_beside_its_slider(lesson, button):
    lesson.page.get_by_role("button", name="Take all off").click()
    row = lesson.page.locator(".widget-hslider").filter(
        has=lesson.page.locator(".widget-label", has_text="Gauge: first space")
    )
    figure = row.first.locator(".widget-readout")
    figure.click()
    lesson.page.keyboard.press("Control+A")
    lesson.page.keyboard.type("137")
    lesson.page.keyboard.press("Enter")
    lesson.settle(PLACE)
    button.focus()
    lesson.page.keyboard.press("Space")
    wait_for_words(lesson, "not yet fixed relative to the two ends: 100, 237, 337 mm.")


def test_a_gauge_passes_over_a_hill_between_its_lands_in_lesson_07(lesson):
    hill = "Place of the hill"
    lesson.open("lessons/07_three_small_gauges.ipynb").run_all()
    rocks = "under the middle land. The gauge rocks on its middle, 20 µm open at both ends when level."
    assert rocks in lesson.picture(hill)["alt"]
    for _ in range(15):
        lesson.press(hill, "ArrowLeft")
    assert "between two lands" in lesson.settle(hill)["alt"]
    lesson.shot("lesson_07_one_gauge")
    lesson.handle("Starting error of gauge A")
    lesson.shot("lesson_07_three_gauges")
    assert lesson.errors() == []


def test_a_file_of_land_readings_is_uploaded_in_lesson_09(lesson, tmp_path):
    mine = tmp_path / "mine.csv"
    mine.write_text(
        "gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\nlong,0,300,600,-2.5,2.5\n"
        "short,0,100,200,-2.5,2.5\nshort,100,200,300,20,50\n"
    )
    name = "Repeatability of bench fits"
    lesson.open("lessons/09_how_far_lands_go.ipynb").run_all()
    assert lesson.picture(name)["alt"].startswith("Demo file, invented readings. Round 2.")
    lesson.turn_to("Readings")
    with lesson.page.expect_file_chooser() as chooser:
        lesson.page.get_by_role("button", name="Upload").first.click()
    chooser.value.set_files(str(mine))
    for _ in range(300):
        shown = lesson.picture(name)
        if "For certain, by the intervals alone" in shown["alt"]:
            break
        lesson.page.wait_for_timeout(100)
    assert "File the lands at 200 mm" in shown["alt"] and not shown["alt"].startswith("Demo")
    assert lesson.errors() == []
    lesson.shot("lesson_09_own_readings")
