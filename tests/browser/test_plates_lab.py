"""Lesson 09 in a real browser: the panel steps by keyboard and by button, and its film plays without the kernel."""

import pytest

pytestmark = pytest.mark.browser
LESSON = "lessons/09_three_plates.ipynb"
FILM = ".jp-OutputArea .workshop-panel .workshop-player"
# Pictures that the film shows one after the other, and the milliseconds from the first to the last.
COUNT = """() => new Promise(done => {
    const film = document.querySelector('.jp-OutputArea .workshop-panel .workshop-player');
    const picture = film.querySelector('img'), range = film.querySelector('input');
    let shown = picture.src, first = performance.now(), last = first, count = 0, blank = 0;
    function look() {
        if (!picture.complete || !picture.naturalWidth) { blank += 1; }
        if (picture.src !== shown) { shown = picture.src; last = performance.now(); count += 1; }
        if (+range.value >= +range.max || performance.now() - first > 60000) { done({count, ms: last - first, blank}); }
        else { requestAnimationFrame(look); }
    }
    look();
})"""


def words_of(lesson) -> str:
    return lesson.picture("Step")["alt"]


def test_the_plates_step_and_the_film_of_the_run_plays_quicker_than_the_kernel_can_draw(lesson):
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open(LESSON).run_all()
    assert words_of(lesson).startswith("Marking 1 of 120")
    times = []
    for _ in range(5):
        times.append(lesson.press("Step", "ArrowRight"))
        lesson.settle("Step")
    assert words_of(lesson).startswith("Marking 6 of 120")
    button = lesson.page.get_by_role("button", name="Forward a step").first
    button.click()
    lesson.page.wait_for_function("() => [...document.querySelectorAll('.workshop-panel img')].some(i => i.alt.startsWith('Marking 7 of'))")
    lesson.shot("lesson_09_at_1366_by_768")

    lesson.page.get_by_role("button", name="Film of this run").click()
    film = lesson.page.locator(FILM)
    film.wait_for(timeout=120_000)
    film.get_by_role("button", name="Play").wait_for(timeout=60_000)  # it has played once to its end
    frames = []
    while len(frames) < 3 and max(frames, default=0) < 20:
        film.get_by_role("button", name="Play").click()
        told = lesson.page.evaluate(COUNT)
        assert told["count"] >= 30 and told["blank"] == 0
        frames.append(1000 * told["count"] / told["ms"])
        film.get_by_role("button", name="Play").wait_for()
    assert film.locator("img").get_attribute("alt").startswith("Marking 120 of 120")
    key = 1000 / sorted(times)[2]
    print(f"\nfilm of lesson 09: {max(frames):.1f} pictures a second; a key on its slider answers {key:.1f} times a second")
    assert max(frames) > key
    lesson.page.set_viewport_size({"width": 1920, "height": 1080})
    film.scroll_into_view_if_needed()
    lesson.shot("lesson_09_film_at_1920_by_1080")

    before = words_of(lesson)
    lesson.press("Each plate is out by", "ArrowRight", 60)
    assert lesson.page.locator(FILM).count() == 0  # the film of another run
    assert words_of(lesson) != before and lesson.errors() == []


def test_own_plates_are_told_what_hides_when_their_turned_and_slid_rows_are_deleted(lesson, root):
    lesson.page.set_viewport_size({"width": 1366, "height": 768})
    lesson.open("lessons/10_turns_and_what_hides.ipynb").run_all()
    demo = (root / "simulate" / "readings" / "demo_plates_rounds.csv").read_text().splitlines()
    kept = [row for row in demo if row.startswith(("#", "round")) or row.split(",")[3:5] == ["0", "0"]]
    assert len(kept) < len(demo) - 100
    panel = lesson.page.locator(".jp-OutputArea .workshop-panel").filter(has=lesson.page.get_by_role("button", name="Upload readings"))
    panel.locator("textarea").fill("\n".join(kept))
    panel.get_by_role("button", name="Read what is typed").click()
    told = panel.get_by_role("alert")
    told.wait_for(timeout=60_000)
    assert "does not settle the plates" in told.inner_text() and "would show" in told.inner_text()
    picture = panel.locator("img").last
    assert picture.get_attribute("alt").startswith("Demo file, invented readings. Round 3: Oak")
    picture.scroll_into_view_if_needed()
    lesson.shot("lesson_10_own_plates_refused_at_1366_by_768")
    panel.locator("select").first.select_option(label="1")
    lesson.page.wait_for_function("() => [...document.querySelectorAll('.workshop-panel img')].some(i => i.alt.includes('Round 1: Oak'))")
    lesson.page.set_viewport_size({"width": 1920, "height": 1080})
    picture.scroll_into_view_if_needed()
    lesson.shot("lesson_10_own_plates_at_1920_by_1080")
    assert lesson.errors() == []
