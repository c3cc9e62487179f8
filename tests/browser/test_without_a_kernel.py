"""Static pages and films for the wall in Chromium: they step, play, ask, and load nothing."""

import os
from pathlib import Path

import nbformat
import pytest

from simulate.show.gap import GapPanel
from simulate.show.pages import LESSONS, page
from simulate.show.projected import DPI, film_page, projected, stored_films

pytestmark = pytest.mark.browser
WATCH = """() => new Promise(done => {
  const picture = document.querySelector('.workshop-player img'), start = performance.now(), first = window.workshopShown;
  let blank = 0, looks = 0;
  (function look() {
    looks += 1;
    if (!picture.complete || !picture.naturalWidth) { blank += 1; }
    const gone = performance.now() - start;
    if (gone < 2000) { requestAnimationFrame(look); } else {
      done({shown: window.workshopShown - first, seconds: gone / 1000, blank: blank, looks: looks});
    }
  })();
})"""


@pytest.fixture
def shots(tmp_path):
    place = Path(os.environ.get("WORKSHOP_SCREENSHOTS", tmp_path)).resolve()
    place.mkdir(parents=True, exist_ok=True)
    return place


@pytest.fixture
def opened(browser, tmp_path):
    """A function that opens a page of text and keeps what it asked for and what went wrong."""
    context = browser.new_context(viewport={"width": 1920, "height": 1080})

    def open_text(text):
        file = tmp_path / "page.html"
        file.write_text(text, encoding="utf-8")
        window = context.new_page()
        window.asked, window.wrong = [], []
        window.on("request", lambda r: window.asked.append(r.url))
        window.on("pageerror", lambda e: window.wrong.append(str(e)))
        window.goto(file.as_uri())
        return window

    yield open_text
    context.close()


def outside(window):
    return [url for url in window.asked if not url.startswith(("data:", "file:"))]


def test_a_film_in_a_static_page_steps_and_plays(opened, shots):
    window = opened(page(LESSONS / "04_three_bars.ipynb"))
    film = window.locator(".workshop-player")
    before = film.locator("img").get_attribute("src")
    film.get_by_role("button", name="Next").click()
    assert film.locator("img").get_attribute("src") != before
    assert film.locator("img").get_attribute("alt") == film.locator("p").text_content()
    film.get_by_role("slider").press("ArrowRight")
    assert film.get_by_role("slider").input_value() == "2"
    film.get_by_role("button", name="Play").click()
    window.wait_for_function("() => +document.querySelector('.workshop-player input').value >= 4")
    film.get_by_role("button", name="Pause").click()
    window.screenshot(path=str(shots / "static_page.png"))
    assert not outside(window) and not window.wrong


def test_a_clicker_stops_at_the_question_and_goes_on(opened, shots):
    window = opened(projected(GapPanel(dpi=DPI), "A gap against the light"))
    ask, place = window.locator(".ask"), window.locator("input")
    window.keyboard.press("PageDown")
    assert ask.is_visible() and place.input_value() == "0" and "Predict" in ask.text_content()
    window.screenshot(path=str(shots / "wall_asks.png"))
    window.keyboard.press("PageDown")
    assert ask.is_hidden() and place.input_value() == "1"
    window.keyboard.press("PageUp")
    assert place.input_value() == "0"
    window.keyboard.press("PageDown")
    assert ask.is_hidden() and place.input_value() == "1"  # asked once
    window.keyboard.press("d")
    window.screenshot(path=str(shots / "wall_dark.png"))
    window.keyboard.press(".")
    assert window.locator("img").is_hidden()
    window.keyboard.press("b")
    assert window.locator("img").is_visible()
    window.keyboard.press("End")
    assert place.input_value() == place.get_attribute("max")
    assert not outside(window) and not window.wrong


def test_everything_fits_a_screen_of_1920_by_1080(opened):
    window = opened(projected(GapPanel(dpi=DPI), "A gap against the light"))
    assert window.evaluate("() => document.documentElement.scrollHeight") <= 1080
    box = window.locator("img").bounding_box()
    assert box["width"] >= 0.95 * 1920 and box["height"] >= 0.7 * 1080
    assert window.evaluate("() => parseFloat(getComputedStyle(document.querySelector('p')).fontSize)") >= 28


def test_playing_shows_no_blank_picture_and_the_speed_is_reported(opened):
    title, pictures, words = next(stored_films(nbformat.read(LESSONS / "04_three_bars.ipynb", as_version=4)))
    window = opened(film_page(pictures * 2, words * 2, title, {}))
    for _ in range(6):
        window.keyboard.press("ArrowUp")
    assert window.locator(".speed").text_content() == "25 pictures a second"
    window.keyboard.press("Space")
    seen = window.evaluate(WATCH)
    print(f"{seen['shown'] / seen['seconds']:.1f} pictures a second, {seen['looks'] / seen['seconds']:.0f} looks a second")
    assert seen["shown"] >= 5 and seen["looks"] > 10 and seen["blank"] == 0
