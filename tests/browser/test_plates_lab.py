"""Plates in a real browser: lesson 10 steps by keyboard and by button, its film plays without the kernel, and own
plates are told what hides."""

import pytest

from simulate.readings.table.demo import demo_path

pytestmark = pytest.mark.browser
LESSON = "lessons/10_three_plates.ipynb"
FILM = ".jp-OutputArea .workshop-panel .workshop-player"
# Frames with a fresh picture, looks, and milliseconds from the first to the last; blank where nothing opaque and whole
# stands.
COUNT = """() => new Promise(done => {
    const film = document.querySelector('.jp-OutputArea .workshop-panel .workshop-player');
    const place = film.querySelector('.workshop-looks'), play = film.querySelector('.play');
    const first = performance.now(), looks = new Set();
    let shown = '', last = first, count = 0, blank = 0;
    function look() {
        const all = [...place.querySelectorAll('img')], shares = all.map(i => +getComputedStyle(i).opacity);
        if (!all.length || shares[0] !== 1 || !all.every(i => i.complete && i.naturalWidth)) { blank += 1; }
        const now = all.map((i, k) => i.alt + shares[k].toFixed(4)).join();
        if (now !== shown) { shown = now; last = performance.now(); count += 1; }
        looks.add(all[0].src);
        if (play.textContent === 'Play' || performance.now() - first > 60000) {
            done({count, ms: last - first, blank, looks: looks.size}); }
        else { requestAnimationFrame(look); }
    }
    look();
})"""
# The frames that this page manages with no film playing.
BARE = """() => new Promise(done => {
    const first = performance.now();
    let frames = 0;
    function look() {
        frames += 1;
        const gone = performance.now() - first;
        if (gone < 1000) { requestAnimationFrame(look); } else { done(1000 * frames / gone); }
    }
    look();
})"""


# Whether the film has ended, or shows another look than before.
MOVED = """before => {
    const film = document.querySelector('.jp-OutputArea .workshop-panel .workshop-player');
    const look = film.querySelector('.workshop-looks img');
    return film.querySelector('.play').textContent === 'Play' || (look !== null && look.alt !== before);
}"""


def play_to_its_end(lesson) -> None:
    """Wait while the film moves on, however slowly the machine paints; one that stands still before its end fails."""
    film, before = lesson.page.locator(FILM), None
    while film.locator(".play").inner_text() != "Play":
        lesson.page.wait_for_function(MOVED, arg=before)
        before = film.locator(".workshop-looks img").first.get_attribute("alt")


def words_of(lesson) -> str:
    return lesson.picture("Spottings done")["alt"]


def test_the_plates_step_and_the_film_of_the_run_blends_into_twenty_fresh_pictures_a_second(lesson):
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open(LESSON).run_all()
    assert words_of(lesson).startswith("Spotting 1 of 120")
    for _ in range(5):
        lesson.press("Spottings done", "ArrowRight")
        lesson.settle("Spottings done")
    assert words_of(lesson).startswith("Spotting 6 of 120")
    button = lesson.page.get_by_role("button", name="Forward a step").first
    button.click()
    lesson.page.wait_for_function(
        "() => [...document.querySelectorAll('.workshop-panel img')].some(i => i.alt.startsWith('Spotting 7 of'))"
    )
    lesson.shot("lesson_10_at_1366_by_768")

    lesson.page.get_by_role("button", name="Animation of this run").click()
    film = lesson.page.locator(FILM)
    film.wait_for(timeout=120_000)
    play_to_its_end(lesson)
    frames = []
    while len(frames) < 3 and max(frames, default=0) < 1:
        able = lesson.page.evaluate(BARE)
        film.get_by_role("button", name="Play").click()
        told = lesson.page.evaluate(COUNT)
        assert told["looks"] >= 30 and told["blank"] == 0
        rate = 1000 * told["count"] / told["ms"]
        print(f"\nfilm of lesson 10: {rate:.1f} fresh pictures a second, {able:.1f} frames with no film playing")
        frames.append(rate / min(20.0, 0.7 * able))
        play_to_its_end(lesson)
    assert max(frames) >= 1
    assert film.locator("img").get_attribute("alt").startswith("Spotting 120 of 120")
    lesson.page.set_viewport_size({"width": 1920, "height": 1080})
    film.scroll_into_view_if_needed()
    lesson.shot("lesson_10_film_at_1920_by_1080")

    before = words_of(lesson)
    lesson.press("Starting error of each plate", "ArrowRight", 60)
    assert lesson.page.locator(FILM).count() == 0  # the film of another run
    assert words_of(lesson) != before and lesson.errors() == []


def test_own_plates_are_told_what_hides_when_their_turned_and_slid_rows_are_deleted(lesson):
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open("lessons/23_your_own_workshop.ipynb").run_all()
    demo = demo_path("demo_plates_rounds.csv").read_text().splitlines()
    kept = [row for row in demo if row.startswith(("#", "round")) or row.split(",")[3:5] == ["0", "0"]]
    assert len(kept) < len(demo) - 100
    panel = lesson.page.locator(".jp-OutputArea .workshop-panel:has(.workshop-tabs)").last
    panel.get_by_role("button", name="Readings", exact=True).click()
    panel.get_by_role("button", name="text", exact=True).click()
    panel.get_by_label("or type readings here").fill("\n".join(kept))
    panel.get_by_role("button", name="Read what is typed").click()
    told = panel.get_by_role("alert")
    told.wait_for(timeout=60_000)
    assert "does not settle the plates" in told.inner_text() and "would show" in told.inner_text()
    picture = panel.locator("img").last
    assert picture.get_attribute("alt").startswith("Demo file, invented readings. Round 3: Oak")
    panel.get_by_role("button", name="What they say", exact=True).click()
    picture.scroll_into_view_if_needed()
    lesson.shot("lesson_23_own_plates_refused_at_1366_by_768")
    panel.get_by_label("Round shown").select_option(label="1")
    lesson.page.wait_for_function(
        "() => [...document.querySelectorAll('.workshop-panel img')].some(i => i.alt.includes('Round 1: Oak'))"
    )
    lesson.page.set_viewport_size({"width": 1920, "height": 1080})
    picture.scroll_into_view_if_needed()
    lesson.shot("lesson_23_own_plates_at_1920_by_1080")
    assert lesson.errors() == []
