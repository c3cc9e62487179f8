"""What a go is for is told from its start, reaching it is said, and a pair is fitted again by one button."""

import datetime
from dataclasses import replace

import numpy as np
import pytest

from simulate.method.practice.acts import LEVELS, Act, lay, start_practice, stop, work_seen
from simulate.method.practice.fit_again import fit_again, last_fit
from simulate.method.practice.par import best_plan
from simulate.method.practice.records import MEDALS, medals, number_of_the_day, records
from simulate.method.practice.score import score_sheet
from simulate.show.practice.act_sentences import passes_words
from simulate.show.practice.goal_line import goal_words
from simulate.show.practice.practice_panel import PracticePanel


@pytest.fixture
def panel(tmp_path):
    return PracticePanel(log=str(tmp_path / "go.json"))


def score(state, **better):
    return replace(score_sheet([state], state)[0], **better)


def test_the_aim_stands_from_the_start_and_whether_it_was_reached_is_said_at_the_stop(panel):
    assert "Aim: all three bars within 15 µm." in panel.goal.value
    panel.stop.click()
    assert "Not reached: the worst is 200 µm, the aim is 15 µm." in panel.goal.value and "Medal" not in panel.goal.value
    assert "Your records" in panel.sheet.value and "Bars: 1 attempt, 0 of which reached the aim" in panel.sheet.value


def test_par_is_the_best_plan_and_a_go_that_reached_is_told_its_medals():
    start = start_practice(level="lands")
    plan = best_plan(start)
    assert f"{plan.hours[-1]:.1f} h" in goal_words(start, [], plan)
    level = start.height_um * 0
    done = stop(replace(start, height_um=level))
    assert goal_words(done, [done], plan).startswith("Reached: the worst is 0.0 µm, within the aim of 6.0 µm.")
    assert "Medals for the aim and the hours" in goal_words(done, [done], plan)


@pytest.mark.parametrize("level", LEVELS)
def test_the_best_plan_does_not_miss_the_aim_of_its_level(level):
    aim = LEVELS[level].aim_um
    for seed in (1, 2):
        assert best_plan(start_practice(seed, level=level)).worst_um[-1] <= aim


def test_each_medal_is_for_its_own_and_none_is_without_the_aim():
    go = stop(start_practice(level="lands"))
    plan = best_plan(go)
    cheap = {"hours": 0.5 * float(plan.hours[-1]), "metal_mm3": 0.5 * float(plan.metal_mm3[-1])}
    assert medals(score(go, worst_um=6.1, **cheap), go) == ()
    assert medals(score(go, worst_um=6.0, **cheap), go) == MEDALS
    assert medals(score(go, worst_um=1.0, **cheap | {"hours": 1e3}), go) == ("aim", "metal")
    assert medals(score(go, worst_um=1.0, **cheap | {"metal_mm3": 1e6}), go) == ("aim", "hours")


def test_records_keep_each_go_once_and_levels_apart():
    bars, lands = stop(start_practice()), stop(start_practice(level="lands"))
    told = {one.level: one for one in records([bars, lands, bars, start_practice(3)])}
    assert {level: one.goes for level, one in told.items()} == {"lands": 1, "bars": 2}


def test_a_pair_is_fitted_again_by_the_very_cuts_of_the_last_one():
    bench = start_practice()
    for tool, passes in (("bastard file", 2), ("smooth file", 3)):
        bench = work_seen(bench, tool=tool, passes=passes)
    laid = lay(bench, 0, 2)
    by_hand = work_seen(work_seen(laid, tool="bastard file", passes=2), tool="smooth file", passes=3)
    again = fit_again(laid)
    assert np.array_equal(again.height_um, by_hand.height_um) and again.acts == by_hand.acts
    assert again.tally == by_hand.tally
    assert last_fit(replace(laid, acts=(*laid.acts, Act("lay")))) == last_fit(laid)


def test_the_button_stays_shut_until_a_pair_was_fitted_and_then_saves_what_it_did(panel):
    assert panel.again_fit.disabled
    panel.controls["passes"].value = 2
    panel.touch.click()
    panel.controls["upper"].value = 2
    assert not panel.again_fit.disabled
    panel.act("fit")
    assert panel.message.value == "" and panel.state.acts[-1].kind == "touch" and panel.state.tally.cuts[2] == 2
    assert PracticePanel(log=panel.log).state.acts == panel.state.acts


def test_why_passes_ended_is_said_first(panel):
    panel.controls["passes"].value = 3
    panel.touch.click()
    assert panel.sentence.startswith(passes_words(3, 3, "light"))
    assert "ended after 2 passes of 5" in passes_words(5, 2, "light")


def test_what_a_look_came_to_stands_first_and_the_places_are_folded(panel):
    panel.look.click()
    assert panel.sentence.startswith(("Shut at", "Open", "No gap"))
    shown = panel.picture.value
    assert shown.index("<summary>Place by place</summary>") < shown.index(panel.folded[:20], shown.index("<details>"))


def test_what_takes_hours_says_so_on_its_button(tmp_path):
    bench = PracticePanel(log=str(tmp_path / "bars.json"))
    bench.controls["hours"].value = 8
    assert bench.rest.description == "Let all rest 8 h"
    plates = PracticePanel(log=str(tmp_path / "plates.json"), level="plates")
    plates.controls["passes"].value = 30
    assert "h at the most" in plates.touch.description


def test_everybody_has_the_same_bodies_on_one_day(panel):
    panel.today.click()
    assert panel.state.seed == number_of_the_day(datetime.date.today()) and panel.state.error_um == 200
