"""Films for the wall: one file, keys, questions at the right places, nothing from the net; and the lessons' films
unchanged."""

import base64
import io
import json
import re

import nbformat
import numpy as np
import pytest
from PIL import Image

from simulate.__main__ import main
from simulate.course.notebook.refresh import LESSONS
from simulate.course.notebook.wall_plan import plan_of
from simulate.course.wall.dark import in_the_dark
from simulate.course.wall.projector import SPEEDS, build, film_page, projected, stored_films
from simulate.course.wall.wall_films import wall_film, white_is_light
from simulate.method.bars.three_bar_loop import three_bars
from simulate.show.bars.gap import GapPanel
from simulate.show.drawing.canvas import encode
from simulate.show.drawing.flash_limit import quiet_speed
from simulate.show.panel.film import three_bars_film
from simulate.show.practice.practice_panel import PracticePanel
from simulate.show.units.lengths import with_inches
from simulate.surface.starting_bars import starting_bars


def data(page, part):
    return json.loads(re.search(rf'id="workshop-player-\w+-{part}">(.*?)</script>', page, re.DOTALL)[1])


@pytest.fixture(scope="module")
def history():
    x_mm, height_um = starting_bars(300, 60, points=51, seed=2)
    return three_bars(x_mm, height_um, rounds=2, removal_um=15, seed=2)


@pytest.fixture(scope="module")
def run_page(history):
    return projected(history, "Three bars at the bench", frames=12)


def test_a_run_asks_where_a_new_stage_begins(run_page):
    asks, words = data(run_page, "asks"), data(run_page, "words")
    assert len(asks) >= 2
    looked = 0
    for place, ask in asks.items():
        before, after = (re.sub(r"bar \d", "bar", words[k].split(": ")[0]) for k in (int(place) - 1, int(place)))
        assert before != after and ask.endswith("whose curve falls?")
        looked += 1
    assert looked == len(asks)


def test_a_panel_asks_what_the_plan_holds_before_the_control_moves_for_the_first_time():
    plan = plan_of("02", "GapPanel")
    panel = GapPanel()
    page = projected(panel, "A gap against the light", plan)
    asks, words = data(page, "asks"), data(page, "words")
    assert list(asks.values()) == [ask.question for ask in plan.asks]
    looked = 0
    for place, ask in zip(map(int, asks), plan.asks, strict=True):
        label = panel.controls[ask.before].description
        assert words[place].startswith(label) and not words[place - 1].startswith(label)
        looked += 1
    assert looked >= 2
    assert data(projected(GapPanel(), "No plan"), "asks") == {}


def test_dark_palettes_go_with_the_pictures_and_only_quiet_speeds_are_offered(run_page):
    frames, inks = data(run_page, "frames"), data(run_page, "dark")
    assert len(inks) == len(frames) and all(base64.b64decode(i)[4:8] == b"PLTE" for i in inks)
    speeds = data(run_page, "speeds")
    assert speeds == list(SPEEDS[: len(speeds)]) and 3 < speeds[-1] <= SPEEDS[-1] == 12
    blink = [encode(np.full((54, 96, 3), grey, np.uint8), 64) for grey in (0, 255)] * 15
    assert data(film_page(blink, ["words"] * 30, "blink", {}), "speeds")[-1] == 6


def test_the_film_of_the_loop_is_drawn_anew_for_the_wall_and_plays_at_every_speed_without_flashing():
    title, stored, told = next(stored_films(nbformat.read(LESSONS / "04_three_bars.ipynb", as_version=4)))
    pictures, sentences = wall_film(title, stored, told, dpi=50)
    assert Image.open(io.BytesIO(pictures[0])).size == (640, 280) and len(pictures) == len(sentences) > 4 * len(stored)
    stages, stored_stages = ({s.split(":")[0] for s in words} for words in (sentences, told))
    assert stages >= stored_stages and sentences[0] == told[0]
    for shown in (pictures, [in_the_dark(p) for p in pictures]):
        assert quiet_speed(shown, SPEEDS) == SPEEDS[-1]


def test_the_page_holds_everything_and_starts_dark_when_told(run_page, history):
    text = re.sub(r"[A-Za-z0-9+/=]{200,}", "", run_page)
    assert not re.search(r"https?:|@import|url\(", text)
    assert 'lang="en"' in text and "<h1>Three bars at the bench</h1>" in text and 'class="dark"' not in text
    assert len(data(run_page, "frames")) == len(data(run_page, "words")) == 12
    assert 'class="dark"' in projected(history, "Dark", frames=2, dark=True, questions={})


def test_every_key_that_the_page_promises_is_bound(run_page):
    for key in (
        " ",
        "ArrowRight",
        "ArrowLeft",
        "PageDown",
        "PageUp",
        "ArrowUp",
        "ArrowDown",
        "Home",
        "End",
        "d",
        "b",
        ".",
        "f",
    ):
        assert f'"{key}": ' in run_page, key


def test_words_of_a_title_or_a_question_are_not_taken_for_tags():
    page = film_page([b"", b""], ["<b>one", "two"], "<i>", {1: "</script><b>?"})
    assert "<i>" not in page and page.count("</script>") == page.count("<script")
    assert data(page, "asks") == {"1": "</script><b>?"}


def test_a_question_before_no_picture_is_refused():
    with pytest.raises(ValueError, match=r"the picture that a question stands before is 2; it must be 1 to 1\."):
        film_page([b"", b""], ["one", "two"], "film", {2: "What?"})


def test_the_films_of_the_lessons_are_found_with_their_words():
    found = list(stored_films(nbformat.read(LESSONS / "04_three_bars.ipynb", as_version=4)))
    assert len(found) == 1
    title, pictures, words = found[0]
    assert title == "Three bars at the bench, picture by picture"
    assert len(pictures) == len(words) > 10 and all(p.startswith(b"\x89PNG") for p in pictures)


def test_a_film_in_a_lesson_still_refuses_a_history_without_looks():
    x_mm, height_um = starting_bars(300, 60, points=21, workshops=2, seed=2)
    empty = three_bars(x_mm, height_um, rounds=1, removal_um=30, seed=2)
    for make in (three_bars_film, lambda h: projected(h, "none")):
        with pytest.raises(
            ValueError,
            match=r"the history holds no steps; it must hold a run of one workshop with at least one round\.",
        ):
            make(empty)


def test_a_lesson_without_a_page_on_the_wall_adds_none(tmp_path):
    pages = build(tmp_path / "wall", ["24", "02"])
    assert [page.name for page in pages] == ["02_seeing_a_gap_1.html"] and pages[0].is_file()


def test_a_lesson_that_is_not_there_is_refused(tmp_path):
    with pytest.raises(ValueError, match=r"'99' is the start of 0 files in lessons/; it must be the start of one\."):
        build(tmp_path / "wall", ["99"])


def test_the_command_opens_what_it_wrote_when_asked(tmp_path, capsys, monkeypatch):
    opened = []
    monkeypatch.setattr("webbrowser.open", opened.append)
    assert main(["projector", str(tmp_path / "wall"), "02", "--open"]) == 0
    assert opened == [(tmp_path / "wall" / "02_seeing_a_gap_1.html").resolve().as_uri()]
    assert "1 pages, " in capsys.readouterr().out


def test_where_white_means_light_the_picture_stays_as_it_is_on_a_dark_wall(tmp_path):
    panel = PracticePanel(log=str(tmp_path / "go.json"))
    inks = data(projected(panel, "The practice bench"), "dark")
    assert len(inks) > 5 and not any(inks)
    assert all(data(projected(GapPanel(), "A gap"), "dark"))
    titles = [
        title for title, _, _ in stored_films(nbformat.read(LESSONS / "22_the_practice_bench.ipynb", as_version=4))
    ]
    assert titles and all(white_is_light(title) for title in titles), "its looks by light are drawn as they were seen"


def test_the_wall_in_inches_speaks_draws_and_asks_so(tmp_path, history):
    assert main(["projector", str(tmp_path / "inch"), "02", "--inch"]) == 0
    assert main(["projector", str(tmp_path / "mm"), "02"]) == 0
    inch, metric = (
        (tmp_path / units / "02_seeing_a_gap_1.html").read_text(encoding="utf-8") for units in ("inch", "mm")
    )
    said, asks = data(inch, "words"), data(inch, "asks")
    assert len(said) > 10 and all("thou" in words and not re.search("µm(?! \\()", words) for words in said)
    assert data(inch, "frames")[0] != data(metric, "frames")[0]
    before = data(metric, "asks")
    assert list(asks.values()) == [with_inches(ask) for ask in before.values()] and list(asks.values()) != list(
        before.values()
    )
    words = data(projected(history, "Three bars", frames=4, units="inch"), "words")
    assert words and all("thou" in w and "µm" not in w for w in words)


def test_a_film_that_is_not_drawn_anew_keeps_its_pictures_and_gets_inches_in_its_words():
    assert wall_film("a film of nobody", [b"x"], ["Open 25.4 µm."], units="inch") == (
        [b"x"],
        ["Open 25.4 µm (1 thou)."],
    )
