"""What a learner does in JupyterLab, done in a real browser: open, run, steer, play, upload."""

import base64
import io

import numpy as np
import pytest
from PIL import Image

pytestmark = pytest.mark.browser
LESSON = "lessons/04_three_bars.ipynb"
OWN = "lessons/06_your_own_bars.ipynb"
SLIDER = "Starting error of each bar"
PLACE = "Step"


@pytest.fixture
def three_bars(lesson):
    """Lesson 04, run from the menu."""
    lesson.open(LESSON).run_all()
    return lesson


def ink(png: bytes, place: dict) -> float:
    """Spread of grey inside the middle of the picture's place on a filmed frame; nearly 0 where it is blank."""
    frame = np.asarray(Image.open(io.BytesIO(png)).convert("L"), dtype=float)
    top, left = max(0, int(place["y"])), max(0, int(place["x"]))
    return frame[top : top + int(place["height"]), left : left + int(place["width"])].std()


def on_the_screen(lesson, name: str) -> dict:
    """Roll until the whole picture of a slider lies on the screen, and its slider with it."""
    high = lesson.page.viewport_size["height"]
    lesson.page.mouse.move(900, 500)
    for _ in range(20):
        place = lesson.settle(name)
        beyond = place["y"] + place["height"] - (high - 40)
        if beyond <= 0:
            return place
        lesson.page.mouse.wheel(0, min(beyond + 20, 400))
    raise AssertionError(f"the picture of {name} does not come onto a screen {high} px high: {place}")


class Film:
    """Every frame that Chromium paints between `start` and `stop`."""

    def __init__(self, page):
        self.frames: list[bytes] = []
        self.door = page.context.new_cdp_session(page)
        self.door.on("Page.screencastFrame", self._keep)

    def _keep(self, event) -> None:
        self.frames.append(base64.b64decode(event["data"]))
        self.door.send("Page.screencastFrameAck", {"sessionId": event["sessionId"]})

    def start(self) -> None:
        self.door.send("Page.startScreencast", {"format": "png", "everyNthFrame": 1})

    def stop(self) -> list[bytes]:
        self.door.send("Page.stopScreencast")
        return self.frames


def drag(lesson, name: str, to: float, steps: int = 25) -> None:
    """Pull a slider's handle fast to a part of its way, 0 at the left end and 1 at the right."""
    box = lesson.handle(name).bounding_box()
    way = lesson.handle(name).evaluate(
        "h => { const r = h.closest('.noUi-target').getBoundingClientRect(); return [r.left, r.width]; }"
    )
    mouse = lesson.page.mouse
    mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    mouse.down()
    for step in range(1, steps + 1):
        there = way[0] + way[1] * (0.02 + (to - 0.02) * step / steps)
        mouse.move(there, box["y"] + box["height"] / 2)
    mouse.up()


def test_lesson_04_runs_and_its_slider_answers_to_the_keyboard_with_no_error_in_sight(three_bars):
    before = three_bars.settle(SLIDER)
    three_bars.press(SLIDER, "ArrowRight")
    after = three_bars.settle(SLIDER)
    assert after["src"] != before["src"]
    assert after["alt"] != before["alt"], "the words beside the picture follow the slider"
    assert len(after["alt"]) > 40
    assert three_bars.errors() == []
    three_bars.shot("lesson_04_after_a_key")


def bars(picture):
    """Pixels of the part with the bars: beside it earlier runs stay, so that no two pictures of the law are alike."""
    whole = Image.open(io.BytesIO(base64.b64decode(picture["src"].split(",")[1]))).convert("RGB")
    return whole.crop((0, 0, whole.width * 55 // 100, whole.height)).tobytes()


def test_a_fast_drag_shows_no_blank_frame_and_ends_on_the_last_position(three_bars):
    place = on_the_screen(three_bars, SLIDER)
    film = Film(three_bars.page)
    film.start()
    for to in (0.9, 0.2, 0.7):
        drag(three_bars, SLIDER, to)
    last = three_bars.settle(SLIDER)
    frames = film.stop()
    assert len(frames) >= 5
    full = ink(frames[0], place)
    assert full > 5
    assert min(ink(frame, place) for frame in frames) > full / 3
    three_bars.press(SLIDER, "ArrowLeft")
    three_bars.settle(SLIDER)
    three_bars.press(SLIDER, "ArrowRight")
    again = three_bars.settle(SLIDER)
    assert again["alt"] == last["alt"]
    assert bars(again) == bars(last), "the picture belongs to the last position"
    three_bars.shot("lesson_04_after_a_drag")


# Fresh pictures a second of the panel that plays, and whether in a frame nothing opaque and whole stood there.
FRESH = """() => new Promise(done => {
    const start = performance.now(), looks = new Set();
    let fresh = 0, blank = 0, last = '';
    function look() {
        const all = [...document.querySelectorAll('.workshop-rise img')];
        const shares = all.map(i => +getComputedStyle(i).opacity);
        const drawn = all.every(i => i.complete && i.naturalWidth && i.offsetWidth);
        if (all.length !== 2 || shares[1] !== 1 || !drawn) { blank += 1; }
        const now = all.length ? all[0].alt + shares[0].toFixed(4) : '';
        if (now !== last) { fresh += 1; last = now; }
        looks.add(all.length ? all[0].alt : '');
        const gone = performance.now() - start;
        if (gone < 3000) { requestAnimationFrame(look); }
        else { done({fresh: 1000 * fresh / gone, blank, looks: looks.size}); }
    }
    look();
})"""
BARE = """() => new Promise(done => {
    const start = performance.now();
    let frames = 0;
    function look() {
        frames += 1;
        const gone = performance.now() - start;
        if (gone < 1000) { requestAnimationFrame(look); } else { done(1000 * frames / gone); }
    }
    look();
})"""


def test_lesson_04_plays_and_steps_and_jumps_by_mouse_and_by_keyboard(three_bars):
    page = three_bars.page
    seen = [three_bars.settle(PLACE)["alt"]]

    def button(name: str):
        panel = page.locator(".workshop-panel").filter(has=page.get_by_role("button", name="Next stage")).first
        return panel.get_by_role("button", name=name, exact=True)

    for name in ("Forward a step", "Next stage", "Back a step"):
        button(name).click()
        seen.append(three_bars.settle(PLACE)["alt"])
    button("Next stage").focus()
    page.keyboard.press("Enter")
    seen.append(three_bars.settle(PLACE)["alt"])
    assert len(seen) == 5
    assert all(now != before for before, now in zip(seen, seen[1:]))

    button("Play").click()
    played = set()
    for _ in range(30):
        page.wait_for_timeout(100)
        played.add(three_bars.picture(PLACE)["src"])
    assert len(played) >= 4
    three_bars.shot("lesson_04_playing")
    tries = []
    while len(tries) < 3 and not (tries and tries[-1] >= 1):
        able = page.evaluate(BARE)
        told = page.evaluate(FRESH)
        assert told["blank"] == 0 and told["looks"] >= 4
        print(f"\nlesson 04 playing: {told['fresh']:.1f} fresh pictures a second, {able:.1f} frames while it plays")
        tries.append(told["fresh"] / min(20.0, 0.7 * able))
    assert max(tries) >= 1, tries
    button("Pause").click()
    three_bars.settle(PLACE)
    assert three_bars.errors() == []


# Which picture of a move is seen most, frame by frame, until the last has stood alone for a while.
MOVE = """() => new Promise(done => {
    const seen = [], start = performance.now();
    function look() {
        const all = [...document.querySelectorAll('.workshop-rise img')].sort((a, b) =>
            getComputedStyle(a).zIndex - getComputedStyle(b).zIndex);
        const top = all.length - 1 - all.map(i => +getComputedStyle(i).opacity > 0.5).reverse().indexOf(true);
        if (all.length > 2 && seen.at(-1) !== top) { seen.push(top); }
        if (performance.now() - start < 5000) { requestAnimationFrame(look); }
        else { done({seen, moving: all.some(i => i.getAnimations().some(a => a.playState === 'running')),
            words: all.map(i => i.alt !== '')}); }
    }
    look();
})"""


@pytest.mark.parametrize("motion", ["no-preference", "reduce"])
def test_next_stage_lays_a_bar_on_another_before_the_eyes_unless_less_motion_is_asked_for(three_bars, motion):
    page = three_bars.page
    page.emulate_media(reduced_motion=motion)
    three_bars.settle(PLACE)
    page.evaluate(f"() => {{ window.move = ({MOVE})(); }}")
    page.locator(".workshop-moves").get_by_role("button", name="Next stage").first.click()
    told = page.evaluate("window.move")
    assert told["words"] == [False] * 4 + [True] and not told["moving"]
    seen = told["seen"]  # on a slow machine a picture may lie between two frames
    assert seen == sorted(seen) and seen[-1] == 4 and (len(seen) >= 3) == (motion == "no-preference"), seen
    three_bars.shot(f"lesson_04_laid_{motion}")


GOOD = """lower,upper,turned,position_mm,gap_um
oak,elm,no,-100,0
oak,elm,no,0,41
oak,elm,no,100,0
oak,ash,no,-100,0
oak,ash,no,0,22
oak,ash,no,100,0
elm,ash,no,-100,0
elm,ash,no,0,19
elm,ash,no,100,0
"""


def test_lesson_06_takes_a_readings_file_and_refuses_a_bad_one_with_what_was_there_kept(lesson, tmp_path):
    good, bad = tmp_path / "invented.csv", tmp_path / "spoilt.csv"
    good.write_text(GOOD)
    bad.write_text(GOOD.replace("0,41", "0,plenty"))
    page = lesson.open(OWN).run_all().page
    panel = page.locator(".workshop-panel:has(.workshop-tabs)").first
    picture = panel.locator("img").last

    def upload(path) -> None:
        lesson.turn_to("Readings")
        with page.expect_file_chooser() as chooser:
            panel.get_by_role("button", name="Upload readings").click()
        chooser.value.set_files(str(path))

    upload(good)
    page.wait_for_function("() => [...document.querySelectorAll('.workshop-panel img')].some(i => /elm/.test(i.alt))")
    words, source = picture.get_attribute("alt"), picture.get_attribute("src")
    assert "oak" in words and "elm" in words and "ash" in words
    lesson.shot("lesson_06_own_readings")

    upload(bad)
    refusal = panel.get_by_role("alert")
    refusal.wait_for()
    said = refusal.inner_text()
    assert "plenty" in said and "gap_um" in said and "row" in said
    assert "Traceback" not in page.inner_text(".jp-Notebook")
    assert picture.get_attribute("src") == source, "the picture of the good file stays"
    lesson.shot("lesson_06_refusal")
    assert lesson.errors() == []
