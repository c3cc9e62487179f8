"""Films for the wall: one file, keys, questions at the right places, nothing from the net; and the lessons' films unchanged."""

import json
import re

import nbformat
import pytest

from simulate.method.bars import three_bars
from simulate.show.gap import GapPanel
from simulate.show.player import three_bars_film
from simulate.show.projected import DPI, build, film_page, projected, stored_films
from simulate.show.refresh import LESSONS
from simulate.surface.bars import starting_bars


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


def test_a_panel_asks_before_each_control_moves_for_the_first_time():
    panel = GapPanel(dpi=DPI)
    page = projected(panel, "A gap against the light")
    asks, words = data(page, "asks"), data(page, "words")
    named = [re.search("changed: (.*)\\. Predict", ask)[1] for ask in asks.values()]
    assert named == [control.description for control in panel.controls.values()]
    assert [words[int(k)].split(": ")[0] for k in asks] == named


def test_the_page_holds_everything_and_starts_dark_when_told(run_page, history):
    text = re.sub(r"[A-Za-z0-9+/=]{200,}", "", run_page)
    assert not re.search(r"https?:|@import|url\(", text)
    assert 'lang="en"' in text and "<h1>Three bars at the bench</h1>" in text and 'class="dark"' not in text
    assert len(data(run_page, "frames")) == len(data(run_page, "words")) == 12
    assert 'class="dark"' in projected(history, "Dark", frames=2, dark=True, questions={})


def test_every_key_that_the_page_promises_is_bound(run_page):
    for key in (" ", "ArrowRight", "ArrowLeft", "PageDown", "PageUp", "ArrowUp", "ArrowDown", "Home", "End", "d", "b", ".", "f"):
        assert f'"{key}": ' in run_page, key


def test_words_of_a_title_or_a_question_are_not_taken_for_tags():
    page = film_page([b"", b""], ["<b>one", "two"], "<i>", {1: "</script><b>?"})
    assert "<i>" not in page and page.count("</script>") == page.count("<script")
    assert data(page, "asks") == {"1": "</script><b>?"}


def test_a_question_before_no_picture_is_refused():
    with pytest.raises(ValueError, match="a question stands before picture 2; allowed is 1 to 1"):
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
        with pytest.raises(ValueError, match="the history holds no looks; films need a run of one workshop"):
            make(empty)


def test_the_command_writes_a_page_for_each_panel(tmp_path):
    assert [p.name for p in build(tmp_path / "wall", ["02"])] == ["02_seeing_a_gap_1.html"]
    with pytest.raises(ValueError, match="'99' names no lesson"):
        build(tmp_path / "wall", ["99"])
