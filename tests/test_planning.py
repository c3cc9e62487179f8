"""A plan: bands over workshops, the stop rule, schedules and what matters most."""

import tracemalloc

import ipywidgets as widgets
import numpy as np
import pytest

from simulate.bench.cut import TOOLS, Hands
from simulate.bench.sight import Sight
from simulate.method import planning
from simulate.method.bars import three_bars
from simulate.method.planning import PACES, Pace, plan_job
from simulate.method.schedule import best_schedule, best_tools, every_schedule, halving
from simulate.method.sensitivity import sensitivity
from simulate.method.tally import Binned, Kept
from simulate.show.planning import METAL, PlanPanel
from simulate.surface.bars import starting_bars

SMALL = {"workshops": 40, "points": 41}


def test_a_plan_is_read_off_the_same_runs_that_the_bench_makes():
    """The workshops of one block, run and counted here by hand."""
    plan = plan_job(120, 12, rounds=3, seed=4, **SMALL)
    rng = np.random.default_rng(np.random.SeedSequence(4).spawn(1)[0])
    x, h = starting_bars(500, 120, points=41, workshops=40, seed=rng)
    run = three_bars(x, h, rounds=3, removal_um=10, seed=rng)
    worst = run.straightness_um.max(axis=-1)
    np.testing.assert_allclose(plan.worst_um, np.quantile(worst, (0.1, 0.5, 0.9), axis=0))
    done, hours, looped = [], [], 0
    for i in range(40):
        there = [r for r in range(4) if worst[i, r] <= 12]
        end = there[0] if there else 3
        done.append(end)
        hours.append((run.metal_mm3[i, end].sum() / 1.0 * 1.2 + run.passes[i, end].sum() * 120) / 3600)
        looped += 1
    assert looped == 40
    np.testing.assert_allclose(plan.rounds, np.quantile(done, (0.1, 0.5, 0.9)))
    np.testing.assert_allclose(plan.hours, np.quantile(hours, (0.1, 0.5, 0.9)))
    assert plan.hours_mean == pytest.approx(np.mean(hours))
    assert plan.worse.tolist() == [np.mean(worst[:, r + 1] > worst[:, r]) for r in range(3)]


def test_bands_are_in_order_and_more_workshops_ever_get_there():
    plan = plan_job(120, 8, rounds=4, seed=1, **SMALL)
    looped = 0
    for name in ("worst_um", "rounds", "passes", "strokes", "hours", "metal_mm3", "stock_um"):
        assert (np.diff(getattr(plan, name), axis=0) >= 0).all(), name
        looped += 1
    assert looped == 7
    assert (np.diff(plan.reached) >= 0).all() and plan.reached[0] == 0
    assert plan.stock_to_leave_um >= plan.stock_um[2] > 120 / 2


def test_stop_when_the_aim_is_reached():
    plan = plan_job(120, 20, rounds=4, seed=1, **SMALL)
    assert plan.reached[plan.stop_after] >= 0.8 > plan.reached[plan.stop_after - 1]
    assert f"Stop after round {plan.stop_after}: by then" in plan.why and "only costs metal" in plan.why


def test_stop_when_a_round_harms_as_often_as_it_helps():
    """At the floor of sight and hands a round is a coin: derived, equal chances of up and down are one half each."""
    plan = plan_job(60, 1, rounds=5, seed=1, workshops=200, points=41)
    assert plan.worse[0] < 0.05
    assert plan.worse[plan.stop_after] >= planning.EVEN > plan.worse[plan.stop_after - 1]
    assert np.mean(plan.worse[plan.stop_after:]) == pytest.approx(0.5, abs=0.08)
    assert "harms as often as it helps" in plan.why and "finer tool" in plan.why


def test_rounds_that_still_help_ask_for_more():
    plan = plan_job(500, 5, rounds=1, seed=1, share=0.9, **SMALL)
    assert plan.stop_after == 1 and "plan further rounds" in plan.why


def test_a_change_of_tool_keeps_count_of_metal_and_gauge():
    """Derived: with the same figures for both and steady hands, two tools of one kind are one tool."""
    twin = dict(removal_um=10, share=0.4, rounds=2, hands=Hands(0, 0), sight=Sight("light", 1.0), pace=Pace(1.0), seed=3, **SMALL)
    whole = plan_job(100, 1, tool="second-cut file", **twin)
    other = TOOLS["second-cut file"]
    renamed = type(other)("a second one", other.depth_um, other.length_mm, other.reach_mm, other.radius_mm, other.source)
    split = plan_job(100, 1, tool=("second-cut file", renamed), **twin)
    np.testing.assert_allclose(split.worst_um, whole.worst_um, rtol=1e-9)
    np.testing.assert_allclose(split.metal_mm3, whole.metal_mm3, rtol=1e-9)
    np.testing.assert_allclose(split.stock_um, whole.stock_um, rtol=1e-9)


def test_a_stroke_by_hand_takes_no_more_than_a_loaded_file_on_a_machine():
    """Published: American Engineer and Railroad Journal, 1905: 1.6 to 13 mm³ a stroke on a testing machine."""
    assert all(p.stroke_mm3 <= 13 for p in PACES.values())
    assert 1 <= PACES["bastard file"].stroke_mm3 <= 13
    assert set(PACES) == set(TOOLS)


def test_bins_agree_with_the_values_themselves():
    values = np.random.default_rng(1).lognormal(3, 1, (5000, 2))
    kept, binned, looped = Kept(), Binned(), 0
    for part in np.array_split(values, 7):
        kept.add("v", part)
        binned.add("v", part)
        looped += 1
    assert looped == 7
    np.testing.assert_allclose(kept.quantiles("v"), np.quantile(values, (0.1, 0.5, 0.9), axis=0))
    np.testing.assert_allclose(binned.quantiles("v"), kept.quantiles("v"), rtol=0.01)


def test_very_many_workshops_take_the_memory_of_a_few(monkeypatch):
    monkeypatch.setattr(planning, "BLOCK", 25)
    peaks, plans = [], []
    for workshops in (50, 50, 150):  # the first call only warms up
        tracemalloc.start()
        plans.append(plan_job(60, 10, rounds=2, workshops=workshops, points=21, keep=10, seed=1))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[2] < 1.05 * peaks[1]
    exact = plan_job(60, 10, rounds=2, workshops=150, points=21, seed=1)
    np.testing.assert_allclose(plans[2].worst_um, exact.worst_um, rtol=0.05)
    assert plans[2].reached.tolist() == exact.reached.tolist()
    assert plans[2].hours_mean == pytest.approx(exact.hours_mean)


def test_the_best_schedule_is_that_of_brute_force_on_a_small_case():
    small = dict(rounds=2, choices_um=(40, 20, 10, 5), workshops=30, points=41)
    best, brute = best_schedule(250, 10, **small), every_schedule(250, 10, **small)
    assert best.steps == brute.steps or best.score == pytest.approx(brute.score, rel=0.02)
    assert best.score <= halving(250, 10, **small).score
    assert best.reached >= 0.8


def test_lighter_passes_at_the_end_beat_one_figure_for_all():
    case = dict(rounds=2, choices_um=(20, 10, 5), workshops=30, points=41)
    best = best_schedule(200, 6, **case)
    assert best.steps[1] < best.steps[0]
    flat = [plan_job(200, 6, removal_um=c, rounds=2, workshops=30, points=41, seed=1) for c in case["choices_um"]]
    assert not [p for p in flat if p.reached[-1] >= 0.8 and p.hours_mean < best.hours]


def test_a_coarse_file_first_and_a_finer_tool_later_is_quickest_for_rough_bars():
    ranked = best_tools(500, 10, rounds=2, tools=("bastard file", "smooth file"), workshops=25, points=51)
    assert len(ranked) == 3
    assert ranked[0].steps == ("bastard file", "smooth file")
    assert [s.score for s in ranked] == sorted(s.score for s in ranked)


def test_sensitivity_ranks_and_knows_its_signs():
    effects = sensitivity(250, 10, workshops=30, rounds=2, points=41)
    by_name = {e.name: e for e in effects}
    assert len(by_name) == 8
    moves = [abs(e.hours[1] - e.hours[0]) for e in effects]
    assert moves == sorted(moves, reverse=True)
    assert by_name["start_um"].hours[1] > by_name["start_um"].hours[0]
    assert by_name["look_s"].hours[1] > by_name["look_s"].hours[0]
    assert by_name["stroke_mm3"].hours[1] < by_name["stroke_mm3"].hours[0]
    assert by_name["scatter"].last_um[1] > by_name["scatter"].last_um[0]


@pytest.mark.parametrize("change, words", [
    ({"wanted_um": 0}, "wanted_um is 0; allowed is more than 0."),
    ({"rounds": 0}, "rounds is 0; allowed is 1 or more."),
    ({"removal_um": (10, 5)}, "removal_um must be one, or one for each of 5 rounds; got 2."),
    ({"tool": ("stone",)}, "tool must be one, or one for each of 5 rounds; got 1."),
    ({"share": 2}, "share is 2; allowed is 0 to 1."),
])
def test_what_cannot_be_planned_is_refused(change, words):
    with pytest.raises(ValueError) as refusal:
        plan_job(**{"start_um": 60, "wanted_um": 10, "workshops": 2, "points": 21, **change})
    assert words in str(refusal.value)


def test_too_many_schedules_are_refused():
    with pytest.raises(ValueError, match="9 choices in 4 rounds are 495 schedules; allowed are 300."):
        every_schedule(60, 10, rounds=4, choices_um=range(1, 10))


def test_the_panel_answers_every_control_at_both_ends():
    panel, moved = PlanPanel(start_um=60, rounds=2, workshops=50), 0
    for widget in panel.controls.values():
        before = widget.value
        ends = [o for o in widget._options_values if o != 1000] if isinstance(widget, widgets.Dropdown) else (
            widget.min, widget.max)
        pictures = set()
        for value in (*ends, before):
            widget.value = value
            assert panel.message.value == "" and "workshops tried" in panel.sentence
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 9


def test_the_panel_says_where_to_stop_and_why():
    panel = PlanPanel(start_um=100, rounds=3, workshops=50, metal=METAL[1])
    assert f"Stop after round {panel.plan.stop_after}" in panel.sentence
    assert "factor of two or three" in panel.sentence
    assert "thou" in PlanPanel(start_um=100, rounds=1, workshops=50, units="inch").sentence
