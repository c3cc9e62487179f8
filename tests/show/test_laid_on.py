"""A bar that comes to lie on another is seen to be lifted, turned over and laid down, and nothing waits for that."""

import json
import re

import numpy as np
import pytest

from simulate.method.bars.three_bar_loop import three_bars
from simulate.show import ThreeBarsPanel, TwoBarsPanel
from simulate.show.drawing.bench_picture import TURNS
from simulate.show.drawing.flash_limit import CALM_MS, blended, quiet_speed
from simulate.show.drawing.focus import FOCUS
from simulate.show.panel.film import three_bars_film
from simulate.surface.starting_bars import starting_bars


@pytest.fixture
def panel():
    return ThreeBarsPanel(error_um=300, rounds=1)


def looks(panel):
    """The pictures in the page, from the one that is under all others on, with their words."""
    found = re.findall(r'alt="([^"]*)"[^>]*--at:(\d)', panel.picture.value)
    return [words for words, _ in sorted(found, key=lambda one: int(one[1]))]


def test_the_next_pair_is_laid_in_three_pictures_over_the_look_before(panel):
    panel.jump()
    assert len(panel.way) == len(TURNS) == 3 and len({*panel.way, panel.png}) == 4
    seen = looks(panel)
    assert len(seen) == 5 and seen[:4] == [""] * 4 and "fitting bar 3 to bar 1" in seen[4]
    panel.move(1)
    assert panel.way == [] and len(looks(panel)) == 1, "the same pair stays where it lies"


def test_neither_a_slider_nor_a_film_nor_a_step_back_waits_for_a_move(panel):
    start = panel.starts()[1]
    panel.position.value = start
    assert panel.way == [] and len(looks(panel)) == 1
    panel.move(1)
    panel.move(-1)
    assert panel.position.value == start and panel.way == []
    panel.position.value = start - 1
    panel.player.playing = True
    panel.position.value = start
    assert panel.way == [] and len(looks(panel)) == 2
    panel.player.playing = False
    panel.jump()
    assert len(panel.way) == 3
    panel.controls["share"].value = 0.6
    assert panel.way == [] and len(looks(panel)) == 1


def rows_of(panel, turn):
    """The rows at which the bar in the air begins and ends, column by column."""
    step = panel.history.steps[panel.starts()[2]]
    panel.bench.turn(panel.history.x_mm, step, turn)
    held = panel.bench._pair._pixels[::-1, :, 3] > 0
    top = held.argmax(axis=0)
    gone = np.where(np.arange(len(held))[:, None] > top, ~held, False)
    return top, gone.argmax(axis=0)


def test_turned_over_its_form_is_its_mirror_image_over_the_same_place(panel):
    (up, back), (lying, down), (top, bottom) = (rows_of(panel, turn) for turn in (TURNS[0], TURNS[2], TURNS[1]))
    assert np.ptp(up) > 10, "a bar of 300 µm has a form to be seen"
    assert np.ptp(up + down) <= 2, "proud above is proud below, at the same place along the bar"
    assert np.ptp(back) == np.ptp(lying) == np.ptp(top) == np.ptp(bottom) == 0, "a back and an edge are straight"


@pytest.mark.parametrize("error_um", [20, 1000])
def test_the_bar_in_the_air_is_free_of_the_one_below_at_either_end_of_the_slider(panel, error_um):
    panel.controls["error_um"].value = error_um
    for turn in TURNS:
        top, bottom = rows_of(panel, turn)
        assert (bottom > top + 4).all() and top.min() >= 0, turn


def test_a_move_is_calm_and_stands_still_for_those_who_ask_for_it(panel):
    before = panel.png
    panel.jump()
    shown = [before, *panel.way, panel.png]
    assert quiet_speed(shown, [1, 1000 / CALM_MS, 4]) == 4 and len(blended(shown)) > 5
    still, moving = FOCUS.split("@media (prefers-reduced-motion: no-preference)")
    assert "animation" not in still and f"{CALM_MS}ms linear calc((var(--at) - 1) * {CALM_MS}ms) backwards" in moving


def test_a_film_begins_with_the_move_and_says_it():
    x, h = starting_bars(500, 300, points=51, bars=3, seed=1)
    words = json.loads(
        re.search(r'-words">(.*?)</script>', three_bars_film(three_bars(x, h, rounds=1, removal_um=20), 8).data, re.S)[
            1
        ]
    )
    assert words[:3] == [f"Bar 2 on its way to bar 1: {turn}." for turn in TURNS] and len(words) == 8


def test_two_bars_are_laid_on_once_the_first_was_filed_and_at_the_end():
    panel = TwoBarsPanel()
    last = panel.position.max
    laid = []
    for place in range(1, last + 1):
        panel.move(1)
        laid += [place] * (len(panel.way) == len(TURNS))
    assert laid == [1, last] and last > 2
    panel.move(-last)
    assert panel.way == []
    panel.jump()
    assert panel.position.value == last and len({*panel.way, panel.png}) == 4
