"""Lesson 07 in a real browser: gauges are laid with the keyboard alone, and the words follow."""

import pytest

pytestmark = pytest.mark.browser
LESSON = "lessons/07_three_points_to_seven.ipynb"
PLACE = "Lay its left land at"


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
    wait_for_words(lesson, "Nothing touches 100, 200, 300, 400, 500 mm.")
    button = lesson.page.get_by_role("button", name="Lay the gauge here")
    button.focus()
    lesson.page.keyboard.press("Space")
    once = wait_for_words(lesson, "not tied to the held ends: 100, 200 mm.")
    for _ in range(2):
        lesson.press(PLACE, "ArrowRight")
    assert lesson.settle(PLACE)["src"] != once["src"]
    button.focus()
    lesson.page.keyboard.press("Enter")
    wait_for_words(lesson, "not tied to the held ends: 100, 200, 300 mm.")
    assert lesson.errors() == []
    lesson.shot("lesson_07_two_gauges_laid")
