"""Lessons 14, 16 and 17 in a real browser: own squares uploaded, the bed and what sits on it, a sheet of links by
keyboard alone."""

import pytest

pytestmark = pytest.mark.browser
SIZES = {"small": (1366, 768), "large": (1920, 1080)}


def both_sizes(lesson, name: str, slider: str) -> None:
    """The panel of a slider in a small and in a large window."""
    for size, (wide, high) in SIZES.items():
        lesson.page.set_viewport_size({"width": wide, "height": high})
        lesson.page.wait_for_timeout(300)
        shown = lesson.picture(slider)
        assert shown["whole"] and shown["width"] > 600 and shown["height"] <= 0.76 * high
        lesson.shot(f"{name}_{size}")
    lesson.page.set_viewport_size({"width": 1700, "height": 1100})


def wait_for_words(lesson, slider: str, words: str) -> None:
    for _ in range(300):
        if words in lesson.picture(slider)["alt"]:
            return
        lesson.page.wait_for_timeout(100)
    raise AssertionError(f"the panel says {lesson.picture(slider)['alt']!r}, and not {words!r}")


def test_own_squares_are_uploaded_in_lesson_14(lesson, tmp_path):
    mine = tmp_path / "mine.csv"
    rows = ["lower,upper,height_mm,gap_um"]
    rows += [
        f"{pair},{h},{g}"
        for pair, tops in {"A,B": (0, 30), "A,C": (0, 20), "B,C": (10, 0)}.items()
        for h, g in zip((0, 100), tops)
    ]
    mine.write_text("\n".join(rows))
    lesson.open("lessons/14_square_from_three.ipynb").run_all()
    both_sizes(lesson, "lesson_14_three_squares", "Lean of square 1")
    slider = "Repeatability of a gap"
    lesson.page.get_by_text(slider).scroll_into_view_if_needed()
    lesson.turn_to("Readings")
    with lesson.page.expect_file_chooser() as chooser:
        lesson.page.get_by_role("button", name="Upload").first.click()
    chooser.value.set_files(str(mine))
    wait_for_words(lesson, slider, "A leans over its base by 300 µm in a metre")
    assert lesson.errors() == []
    both_sizes(lesson, "lesson_14_own_squares", slider)


def test_the_bed_the_head_and_the_cross_slide_of_lesson_16(lesson):
    lesson.open("lessons/16_a_bed_from_your_references.ipynb").run_all()
    lesson.press("Step", "ArrowRight")
    wait_for_words(lesson, "Step", "winding strips")
    both_sizes(lesson, "lesson_16_bed", "Step")
    both_sizes(lesson, "lesson_16_head", "Target reading at 300 mm")
    both_sizes(lesson, "lesson_16_cross_slide", "Travel along the blade")
    assert lesson.errors() == []


def test_a_sheet_of_links_is_changed_by_keyboard_alone_in_lesson_17(lesson):
    lesson.open("lessons/17_the_chain.ipynb").run_all()
    both_sizes(lesson, "lesson_17_chain", "Repeatability of a land fit")
    lesson.turn_to("Links")
    add = lesson.page.get_by_role("button", name="Add a link")
    add.focus()
    lesson.page.keyboard.press("Enter")
    field = lesson.page.locator("input[title='row 10, source']")
    field.wait_for()
    field.focus()
    lesson.page.keyboard.type("floor of the room")
    lesson.page.keyboard.press("Tab")
    lesson.page.keyboard.type("seven")
    lesson.page.keyboard.press("Tab")
    lesson.page.get_by_text("floor of the room, uncertainty is 'seven'").first.wait_for()
    lesson.page.keyboard.press("Shift+Tab")
    lesson.page.keyboard.press("Control+A")
    lesson.page.keyboard.type("7")
    lesson.page.keyboard.press("Enter")
    lesson.shot("lesson_17_own_sheet_links")
    lesson.turn_to("What they add up to")
    picture = lesson.page.locator("img[alt*='Improve floor of the room first']")
    picture.wait_for()
    assert lesson.errors() == []
    lesson.shot("lesson_17_own_sheet")
    for size, (wide, high) in SIZES.items():
        lesson.page.set_viewport_size({"width": wide, "height": high})
        picture.scroll_into_view_if_needed()
        lesson.page.wait_for_timeout(300)
        lesson.shot(f"lesson_17_own_sheet_{size}")
