"""Notes on the words of the trade in a real JupyterLab, and beside them the switch of the units."""

import pytest

from simulate.course.publish.static_pages import LESSONS, page

pytestmark = pytest.mark.browser

MARKS = "() => [...document.querySelectorAll('.jp-Notebook .workshop-term')].map(m => m.dataset.word)"


def down_to(page, words: str) -> None:
    """The Lab holds only the cells about those in view: roll down until the words are there."""
    page.mouse.move(900, 600)
    for _ in range(60):
        if page.evaluate("w => document.querySelector('.jp-Notebook').innerText.includes(w)", words):
            return
        page.mouse.wheel(0, 400)
        page.wait_for_timeout(100)
    raise AssertionError(f"{words!r} stands nowhere in the lesson")


def test_the_first_use_of_a_word_has_its_note_and_inches_stand_beside_a_length_once(lesson):
    page = lesson.open("lessons/00_start_here.ipynb").run_all().page
    page.get_by_role("button", name="inch: thou and in").first.click()
    down_to(page, "500 mm (19.7 in) long")
    mark = page.locator(".workshop-term[data-word='marking compound']").first
    mark.wait_for()
    mark.hover()
    said = page.get_by_role("tooltip")
    said.get_by_text("Prussian blue").wait_for()
    lesson.shot("glossary_note")
    page.keyboard.press("Escape")
    said.wait_for(state="hidden")
    text = page.evaluate("() => [...document.querySelectorAll('.jp-RenderedMarkdown')].map(p => p.innerText).join(' ')")
    assert "500 mm (19.7 in) long" in text and " in) (" not in text and " thou) (" not in text
    words = page.evaluate(MARKS)
    assert len(words) == len(set(words)) >= 5


def test_a_static_page_on_a_phone_has_the_notes_too_and_none_lies_off_the_screen(browser, tmp_path):
    file = tmp_path / "02.html"
    file.write_text(page(next(LESSONS.glob("02_*.ipynb"))), encoding="utf-8")
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    phone = context.new_page()
    phone.goto(file.as_uri())
    marks = phone.locator("main .workshop-term")
    marks.first.wait_for()
    words = marks.evaluate_all("all => all.map(m => m.dataset.word)")
    assert len(words) == len(set(words)) >= 8
    for word in words[:4]:
        phone.locator(f".workshop-term[data-word='{word}']").tap()
        said = phone.get_by_role("tooltip")
        said.wait_for()
        box = said.bounding_box()
        assert 0 <= box["x"] and box["x"] + box["width"] <= 390 and box["y"] >= 0
    context.close()
