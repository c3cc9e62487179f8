"""One switch, by keyboard: text, questions and panels turn at once and back exactly, in the Lab and on a page without a
kernel."""

import os
import re

import nbformat
import pytest

from simulate.course.notebook.refresh import LESSONS
from simulate.course.publish.static_pages import build, page
from simulate.show.units.lengths import script, with_inches

pytestmark = pytest.mark.browser
TEXT = "() => document.querySelector('main').innerText"
ODD = [
    "28.575 mm",
    "-28.575 µm",
    "+0 µm",
    "0.000 mm",
    "9999.5 mm",
    "25.4 µm",
    "0.1 nm",
    "1000000 mm",
    "5, 5 µm",
    "on bar 3, 5 µm",
    "± 3.5 µm",
    "±10 µm",
    "+0.03 ± 0.39 µm",
    "−7 µm",
    "400 × 250 × 60 mm",
    "2 × 900 µm",
    "10 mm²",
    "7205 mm³",
    "1.6 cm³",
    "3 m",
    "9 µm/m",
    "900 µm in a\nmetre",
    "50 µm (1.97 thou)",
    "50 µm = 1.97 thou",
    "0.10\u00a0mm",
    "3 millimetres and 12 micrometres",
    "5 um.",
    "5 μm",
]


@pytest.fixture
def window(browser):
    context = browser.new_context(viewport={"width": 1366, "height": 768})
    yield context.new_page()
    context.close()


def every_text():
    """The lines of all lessons, and lengths that are odd."""
    texts = list(ODD)
    for path in sorted(LESSONS.glob("*.ipynb")):
        for cell in nbformat.read(path, as_version=4).cells:
            if cell.cell_type == "markdown":
                texts.append(cell.source)
            texts += [
                "".join(o.get("text") or o.get("data", {}).get("text/plain", "")) for o in cell.get("outputs", ())
            ]
    return texts


def test_the_script_says_of_every_text_of_the_course_what_python_says(window):
    window.set_content("<!DOCTYPE html><html lang='en'><title>t</title><main></main>")
    window.add_script_tag(content=script())
    texts = every_text()
    said = window.evaluate("texts => texts.map(window.workshopUnits.both)", texts)
    assert len(said) == len(texts) > 500
    assert sum(s != t for s, t in zip(said, texts, strict=True)) > 200
    for text, got in zip(texts, said, strict=True):
        assert got == with_inches(text)


def test_figures_are_rounded_alike(window):
    window.set_content("<!DOCTYPE html><html lang='en'><title>t</title><main></main>")
    window.add_script_tag(content=script())
    texts = [f"{k / 1000:.3f} {unit}" for unit in ("µm", "mm", "m", "mm³", "µm/m") for k in range(0, 60_000, 25)]
    said = window.evaluate("texts => texts.map(window.workshopUnits.both)", texts)
    assert len(said) == 12_000 and said == [with_inches(t) for t in texts]


def test_a_page_turns_by_keyboard_and_back_and_remembers(window, tmp_path):
    pages = {p.stem: p for p in build(tmp_path / "pages", positions=0)}
    asked, wrong = [], []
    window.on("request", lambda r: asked.append(r.url))
    window.on("pageerror", lambda e: wrong.append(str(e)))
    window.goto(pages["18_the_bar_bends"].as_uri())
    before = window.evaluate(TEXT)
    assert " in)" not in before
    metric = window.get_by_role("radio", name=re.compile("^metric"))
    assert metric.is_checked()
    metric.focus()
    window.keyboard.press("ArrowRight")
    after = window.evaluate(TEXT)
    assert "500 mm (19.7 in) long and 40 mm (1.57 in) deep" in after
    assert "Metric:" not in after and "The lesson is ready" in after, "one switch, and no stored word of another"
    assert window.get_by_role("radio", name=re.compile("^inches")).is_checked()
    window.keyboard.press("ArrowLeft")
    assert window.evaluate(TEXT) == before, "turned back exactly"
    window.keyboard.press("ArrowRight")
    window.screenshot(path=str(tmp_path / "units_page.png"))
    if os.environ.get("WORKSHOP_SCREENSHOTS"):
        window.screenshot(path=os.path.join(os.environ["WORKSHOP_SCREENSHOTS"], "units_page.png"))
    window.goto(pages["04_three_bars"].as_uri())
    assert window.get_by_role("radio", name=re.compile("^inches")).is_checked(), "remembered from page to page"
    assert "2.5 µm (0.0984 thou)" in window.evaluate(TEXT)
    alts = window.evaluate(
        "() => [...document.querySelectorAll('main img')].map(i => i.alt).filter(a => /µm|mm/.test(a))"
    )
    assert alts and all(re.search(r"\((?:[^()]*)(?:thou|in)\)", a) for a in alts)
    assert wrong == [] and all(a.startswith(("file:", "data:")) for a in asked)


def test_a_film_keeps_its_words_in_inches_while_it_steps(window, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(page(LESSONS / "02_seeing_a_gap.ipynb", positions=2, units="inch"), encoding="utf-8")
    window.goto(path.as_uri())
    caption = window.locator(".workshop-player p").first
    seen = set()
    for _ in range(3):
        window.wait_for_timeout(100)
        seen.add(caption.inner_text())
        window.get_by_role("button", name="Next").first.click()
    assert len(seen) == 3 and all("thou" in words and not re.search(r"µm(?! \()", words) for words in seen)


def test_a_page_without_its_script_reads_metric_and_shows_no_dead_switch(browser, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(page(LESSONS / "04_three_bars.ipynb"), encoding="utf-8")
    context = browser.new_context(java_script_enabled=False)
    window = context.new_page()
    window.goto(path.as_uri())
    assert not window.locator("fieldset.workshop-units").is_visible()
    assert "2.5 µm" in window.locator("main").inner_text() and "thou)" not in window.locator("main").inner_text()
    context.close()


def markdown(page):
    return page.evaluate(
        "() => [...document.querySelectorAll('.jp-RenderedMarkdown, .jp-RenderedText')].map(m => m.textContent)"
    )


def test_the_text_of_a_lesson_turns_at_once_by_keyboard_and_the_next_lesson_opens_so(lesson):
    kept = lesson.lab.folder / "lessons" / "my_units.txt"
    kept.unlink(missing_ok=True)
    try:
        page = lesson.open("lessons/02_seeing_a_gap.ipynb").run_all().page
        switch = page.locator(".workshop-units button", has_text="metric").first
        switch.scroll_into_view_if_needed()
        page.wait_for_timeout(300)
        before = markdown(page)
        assert any("200 mm" in text for text in before) and not any("thou)" in text for text in before)
        switch.focus()
        page.keyboard.press("Tab")
        page.keyboard.press("Enter")
        page.wait_for_function(
            "() => [...document.querySelectorAll('.jp-RenderedMarkdown')].some(m => m.textContent.includes(' in)'))"
        )
        lesson.shot("units_lab_inch")
        assert markdown(page) == [with_inches(t) for t in before]
        assert kept.read_text() == "inch"
        page.keyboard.press("Shift+Tab")
        page.keyboard.press("Enter")
        page.wait_for_function(
            "() => ![...document.querySelectorAll('.jp-RenderedMarkdown')].some(m => m.textContent.includes(' in)'))"
        )
        assert markdown(page) == before, "turned back exactly"
        kept.write_text("inch")
        page = lesson.open("lessons/03_two_bars_agree.ipynb").run_all().page
        page.wait_for_function(
            "() => [...document.querySelectorAll('.jp-RenderedMarkdown')].some(m => m.textContent.includes('300 "
            "µm (11.8 thou)'))"
        )
        assert lesson.errors() == []
    finally:
        kept.unlink(missing_ok=True)


def sentence(page):
    return page.locator(".workshop-words").first.inner_text()


def questions(page):
    """The questions and choices that hold a length, also those out of sight."""
    texts = page.locator(
        ".workshop-panel p:not([class]):not([role]), .workshop-panel .widget-radio-box label"
    ).all_text_contents()
    return [text for text in texts if "µm" in text]


def turned(page, to):
    """Move the switch and wait until the controls of the other unit have gone."""
    page.locator(".workshop-units button", has_text=re.compile(f"^{to}")).first.focus()
    page.keyboard.press("Enter")
    new, old = ("(thou)", "(µm)") if to == "inch" else ("(µm)", "(thou)")
    page.wait_for_function(
        """units => {
        const labels = [...document.querySelectorAll('.widget-hslider .widget-label')].map(l => l.textContent);
        return labels.some(l => l.includes(units[0])) && !labels.some(l => l.includes(units[1]));
    }""",
        arg=[new, old],
    )
    page.wait_for_timeout(500)


def test_panels_and_questions_turn_where_they_stand_by_keyboard(lesson):
    kept = lesson.lab.folder / "lessons" / "my_units.txt"
    kept.unlink(missing_ok=True)
    try:
        page = lesson.open("lessons/04_three_bars.ipynb").run_all().page
        lesson.press("Starting error of each bar", "ArrowRight")
        lesson.press("Step", "ArrowRight")
        before = lesson.settle("Step")
        asked = questions(page)
        assert len(asked) >= 2 and not any("thou)" in text for text in asked)
        said, at = sentence(page), lesson.handle("Starting error of each bar").get_attribute("aria-valuenow")
        assert "µm" in said and "thou" not in said and said == before["alt"]
        turned(page, "inch")
        page.wait_for_function("() => document.querySelector('.workshop-words').innerText.includes(' thou')")
        page.get_by_text("change immediately").first.wait_for()
        now = lesson.settle("Step")
        assert "µm" not in sentence(page) and now["alt"] == sentence(page) and now["src"] != before["src"]
        assert float(lesson.handle("Starting error of each bar").get_attribute("aria-valuenow")) == pytest.approx(
            float(at) / 25.4, abs=0.051
        )
        assert lesson.handle("Step").get_attribute("aria-valuenow") == "1.0", "the same look"
        assert page.get_by_role("slider", name=re.compile(r"Starting error of each bar \(thou\)")).count() == 1, (
            "named for a screen reader"
        )
        assert questions(page) == [with_inches(text) for text in asked]
        for wide, high in ((1366, 768), (1920, 1080)):
            page.set_viewport_size({"width": wide, "height": high})
            lesson.handle("Starting error of each bar")
            page.wait_for_timeout(500)
            lesson.shot(f"units_panel_inch_{wide}")
        turned(page, "metric")
        page.wait_for_function("() => !document.querySelector('.workshop-words').innerText.includes('thou')")
        back = lesson.settle("Step")
        assert (sentence(page), back["src"]) == (said, before["src"]), "turned back exactly"
        assert (
            lesson.handle("Starting error of each bar").get_attribute("aria-valuenow") == at
            and questions(page) == asked
        )
        lesson.press("Step", "ArrowRight")
        assert sentence(page) != said, "the panel still answers"
        assert lesson.errors() == []
    finally:
        kept.unlink(missing_ok=True)
