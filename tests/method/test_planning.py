"""A plan: bands over workshops, the stop rule, schedules and what matters most."""

import asyncio
import json
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from itertools import combinations_with_replacement

import ipywidgets as widgets
import numpy as np
import pytest

from simulate.bench.cutting.tools import SKILLS, TOOLS, Hands
from simulate.bench.looking.sight import Sight
from simulate.method.bars.three_bar_loop import three_bars
from simulate.method.planning import job
from simulate.method.planning.bands import Binned, Kept
from simulate.method.planning.pass_schedule import best_schedule, best_tools, halving
from simulate.method.planning.plan import EVEN, PACES, Pace, growing_plan, plan_job
from simulate.method.planning.sensitivity import INPUTS, sensitivity
from simulate.show.planning import plan_panel as shown
from simulate.show.planning.plan_panel import METAL, PlanPanel
from simulate.surface.starting_bars import starting_bars

STEADY = Hands(rock_deg=0, scatter=0.1)
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
    plan = plan_job(120, 60, rounds=4, seed=1, **SMALL)
    assert plan.reached[plan.stop_after] >= 0.8 > plan.reached[plan.stop_after - 1]
    assert f"Stop after round {plan.stop_after}: by then" in plan.why and "only costs metal" in plan.why


def test_stop_when_a_round_harms_as_often_as_it_helps():
    """At the floor of sight and hands a round is a coin: derived, equal chances of up and down are one half each."""
    plan = plan_job(60, 1, rounds=5, seed=1, workshops=200, points=41)
    assert plan.worse[0] < 0.05
    assert plan.worse[plan.stop_after] >= EVEN > plan.worse[plan.stop_after - 1]
    assert np.mean(plan.worse[plan.stop_after :]) == pytest.approx(0.5, abs=0.08)
    assert "harms as often as it helps" in plan.why and "finer tool" in plan.why


def test_rounds_that_still_help_ask_for_more():
    plan = plan_job(500, 5, rounds=1, seed=1, share=0.9, **SMALL)
    assert plan.stop_after == 1 and "plan further rounds" in plan.why


def test_a_change_of_tool_keeps_count_of_metal_and_gauge():
    """Derived: with the same figures for both and steady hands, two tools of one kind are one tool."""
    twin = dict(
        removal_um=10,
        share=0.4,
        rounds=2,
        hands=Hands(0, 0),
        sight=Sight("light", 1.0),
        pace=Pace(1.0),
        seed=3,
        **SMALL,
    )
    whole = plan_job(100, 1, tool="second-cut file", **twin)
    other = TOOLS["second-cut file"]
    renamed = type(other)(
        "a second one", other.depth_um, other.length_mm, other.reach_mm, other.radius_mm, other.source
    )
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


MANY = """
import json, resource, sys, tracemalloc
from simulate.bench.cutting.tools import SKILLS
from simulate.method.planning import job
from simulate.method.planning.plan import plan_job
from simulate.core import parallel as cores
job.FIRST, job.BLOCK = (), 200
at_once = int(sys.argv[2])
cores.cores = lambda: at_once
plan = dict(removal_um=20, rounds=1, points=11, keep=100, seed=1)
plan_job(60, 10, workshops=400, **plan)
tracemalloc.start()
plan_job(60, 10, workshops=int(sys.argv[1]), **plan)
kib = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
print(json.dumps({"heap": tracemalloc.get_traced_memory()[1], "kib": kib}))
"""


def held(workshops, cores):
    """The most that was held at once, by a process of its own for each number."""
    return json.loads(
        subprocess.run(
            [sys.executable, "-c", MANY, str(workshops), str(cores)], capture_output=True, text=True, check=True
        ).stdout
    )


def test_ten_times_the_workshops_take_no_more_memory():
    few, many = held(1000, 1), held(10_000, 1)
    assert many["heap"] < 1.03 * few["heap"]
    assert many["kib"] < few["kib"] + 4096


def test_each_further_core_takes_the_memory_of_one_block_more():
    one, three = held(2000, 1), held(10_000, 3)
    assert three["heap"] < 3.1 * one["heap"]


def test_bins_give_the_plan_that_all_values_give():
    """Half a percent, the width of a bin; parts, counts and means are exact."""
    setting = dict(removal_um=20, rounds=3, points=21, workshops=2000, seed=1)
    exact, binned = (plan_job(120, 15, keep=keep, **setting) for keep in (2000, 100))
    looked = 0
    for name in ("worst_um", "passes", "strokes", "hours", "metal_mm3", "stock_um"):
        np.testing.assert_allclose(getattr(binned, name), getattr(exact, name), rtol=0.006, err_msg=name)
        looked += 1
    assert looked == 6
    assert binned.rounds.tolist() == exact.rounds.tolist()
    assert (binned.reached.tolist(), binned.worse.tolist(), binned.why) == (
        exact.reached.tolist(),
        exact.worse.tolist(),
        exact.why,
    )
    assert binned.hours_mean == pytest.approx(exact.hours_mean)
    assert binned.stock_to_leave_um == pytest.approx(exact.stock_to_leave_um, rel=0.006)


def test_a_growing_plan_begins_with_the_first_workshops_and_ends_as_the_whole():
    setting = dict(rounds=1, points=21, seed=3)
    plans = list(growing_plan(60, 10, workshops=1200, **setting))
    assert [p.workshops for p in plans] == [200, 500, 1000, 1200]
    first, whole = (plan_job(60, 10, workshops=n, **setting) for n in (200, 1200))
    np.testing.assert_array_equal(plans[0].worst_um, first.worst_um)
    np.testing.assert_array_equal(plans[-1].hours, whole.hours)
    assert plans[-1].why == whole.why


@pytest.mark.parametrize(
    "start, wanted, rounds, choices",
    [
        (250, 10, 2, (40, 20, 10, 5)),
        (250, 6, 3, (28, 14, 7, 5)),
        (120, 5, 3, (20, 10, 5, 2.5)),
        (60, 4, 3, (14, 7, 3.5, 2.5)),
    ],
)
def test_the_best_schedule_is_that_of_brute_force_on_a_small_case(start, wanted, rounds, choices):
    """Every schedule in which passes never get heavier is tried: 10 or 20 of them."""
    small = dict(rounds=rounds, workshops=30, points=31, hands=STEADY)
    best, halved = (search(start, wanted, choices_um=choices, **small) for search in (best_schedule, halving))
    every = [
        plan_job(start, wanted, removal_um=steps, seed=1, sure=0.8, **small)
        for steps in combinations_with_replacement(choices, rounds)
    ]
    assert best.reached >= 0.8
    assert best.hours <= 1.005 * min(plan.hours_mean for plan in every if plan.reached[-1] >= 0.8)
    assert best.hours < halved.hours


def test_lighter_passes_at_the_end_beat_one_figure_for_all():
    case = dict(rounds=2, choices_um=(20, 10, 5), workshops=30, points=41, hands=STEADY)
    best = best_schedule(200, 6, **case)
    assert best.steps[1] < best.steps[0]
    flat = [
        plan_job(200, 6, removal_um=c, rounds=2, workshops=30, points=41, seed=1, hands=STEADY)
        for c in case["choices_um"]
    ]
    assert not [p for p in flat if p.reached[-1] >= 0.8 and p.hours_mean < best.hours]


def test_a_coarse_file_first_and_a_finer_tool_later_is_quickest_for_rough_bars():
    ranked = best_tools(500, 10, rounds=2, tools=("bastard file", "smooth file"), workshops=25, points=51, hands=STEADY)
    assert len(ranked) == 3
    assert ranked[0].steps == ("bastard file", "smooth file")
    assert [s.score for s in ranked] == sorted(s.score for s in ranked)


def test_the_wanted_straightness_says_which_tool_comes_last():
    """Filing ends at 20 to 50 µm, scraping at 2 to 5: from memory; so what is wanted below that takes the scraper."""
    rack, last = ("bastard file", "smooth file", "scraper"), []
    for wanted in (50, 10, 5):
        last.append(
            best_tools(500, wanted, tools=rack, depth_um={"scraper": 2.0}, workshops=20, points=51)[0].steps[-1]
        )
    assert last == ["bastard file", "scraper", "scraper"]


@pytest.mark.parametrize("search", [halving, best_schedule])
def test_a_search_refuses_what_it_cannot_search(search):
    with pytest.raises(ValueError, match=r"choices_um holds nothing; it must hold one figure or more\."):
        search(60, 10, choices_um=())
    with pytest.raises(ValueError, match="rounds is 0; it must be 1 or more."):
        search(60, 10, rounds=0)
    with pytest.raises(ValueError, match="choices_um is -5; it must be more than 0."):
        search(60, 10, choices_um=(10, -5))


@pytest.mark.parametrize(
    "case",
    [{"start_um": 8}, {"wanted_um": 0.5}, {"share": 0.0}, {"rounds": 1}],
    ids=["good already", "below sight", "no share", "one round"],
)
def test_searches_answer_odd_jobs(case):
    setting = {
        "start_um": 60,
        "wanted_um": 10,
        "rounds": 2,
        "choices_um": (20, 5),
        "workshops": 10,
        "points": 21,
        **case,
    }
    best, halved = best_schedule(**setting), halving(**setting)
    assert best.score <= halved.score and len(best.steps) == setting["rounds"]
    assert (best.hours == 0) == ("start_um" in case)


def test_sensitivity_ranks_and_knows_its_signs():
    effects = sensitivity(250, 10, workshops=30, rounds=2, points=41)
    by_name = {e.name: e for e in effects}
    assert len(by_name) == 8
    moves = [max(abs(e.hours[0] - e.planned_hours), abs(e.hours[1] - e.planned_hours)) for e in effects]
    assert moves == sorted(moves, reverse=True)
    whole = plan_job(250, 10, workshops=30, rounds=2, points=41, seed=1)
    assert {e.planned_hours for e in effects} == {whole.hours[1]}
    assert set(by_name) == set(INPUTS)
    uneven = by_name["share"]  # derived: |2 share - 1| is the same on both sides of a half
    assert min(uneven.hours) > uneven.planned_hours
    assert by_name["start_um"].hours[1] > by_name["start_um"].hours[0]
    assert by_name["look_s"].hours[1] > by_name["look_s"].hours[0]
    assert by_name["stroke_mm3"].hours[1] < by_name["stroke_mm3"].hours[0]
    assert by_name["scatter"].last_um[1] > by_name["scatter"].last_um[0]


@pytest.mark.parametrize(
    "change, words",
    [
        ({"wanted_um": 0}, "wanted_um is 0; it must be more than 0."),
        ({"rounds": 0}, "rounds is 0; it must be 1 or more."),
        ({"removal_um": (10, 5)}, "removal_um holds 2 figures; it must hold one, or one for each of 5 rounds."),
        ({"tool": ("stone",)}, "tool holds 1 figure; it must hold one, or one for each of 5 rounds."),
        ({"share": 2}, "share is 2; it must be 0 to 1."),
    ],
)
def test_what_cannot_be_planned_is_refused(change, words):
    with pytest.raises(ValueError) as refusal:
        plan_job(**{"start_um": 60, "wanted_um": 10, "workshops": 2, "points": 21, **change})
    assert words in str(refusal.value)


@pytest.mark.parametrize(
    "case, sentence",
    [
        ({"start_um": 8}, "Do not start: all three bars are within 10 µm as they are, and a round only costs metal."),
        (
            {"share": 0.0, "start_um": 60},
            "a split of 0 to 100 leaves 100 % of the error in each round: take from both bars.",
        ),
        (
            {"removal_um": 60.0, "rounds": 4},
            "in half of them: the rest needs another way of filing, a finer tool or a sharper eye.",
        ),
        ({"wanted_um": 1}, "Nobody could tell: 1 µm is less than the 2.5 µm that this eye sees"),
        (
            {"start_um": 400, "rounds": 1},
            "of the workshops were within 10 µm, and the last round still helped in 100 %",
        ),
        (
            {"start_um": 12, "wanted_um": 5, "removal_um": 40},
            "Do not start like this: round 1 made the worst bar worse in",
        ),
        ({"tool": "stone", "removal_um": 0.5, "start_um": 20, "rounds": 1, "workshops": 10}, "of the workshops"),
    ],
)
def test_every_odd_job_gets_a_clear_sentence(case, sentence):
    plan = plan_job(**{"start_um": 100, "wanted_um": 10, "seed": 1, **SMALL, **case})
    assert sentence in plan.why
    assert 0 <= plan.stop_after <= case.get("rounds", 5)
    assert plan.why.endswith(".") and len(plan.why) < 450


def test_a_job_that_is_done_costs_nothing():
    plan = plan_job(8, 10, seed=1, **SMALL)
    assert plan.stop_after == 0 and plan.reached.tolist() == [1] * 6
    assert not np.concatenate([plan.rounds, plan.passes, plan.hours, plan.metal_mm3, plan.stock_um]).any()


def test_a_tool_whose_pace_nobody_knows_is_refused():
    own = replace(TOOLS["stone"], name="own lap")
    with pytest.raises(ValueError, match="tool is 'own lap', whose pace is not known"):
        plan_job(60, 10, tool=own, **SMALL)
    assert plan_job(20, 10, tool=own, pace=Pace(0.1), rounds=1, **SMALL).workshops == 40


def test_the_panel_answers_every_control_at_both_ends():
    panel, moved = PlanPanel(start_um=60, rounds=2, workshops=200), 0
    for widget in panel.controls.values():
        before = widget.value
        ends = (
            [o for o in widget._options_values if o != 10_000]
            if isinstance(widget, widgets.Dropdown)
            else (widget.min, widget.max)
        )
        pictures = set()
        for value in (*ends, before):
            widget.value = value
            assert panel.message.value == "" and "workshops simulated" in panel.sentence
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 13


def test_the_panel_answers_from_the_first_workshops_and_grows_until_a_slider_moves(monkeypatch):
    """In a running kernel; the sentence and the picture say from how many workshops the bands are."""
    monkeypatch.setattr(job, "FIRST", (20, 30, 150))
    shown.growing.cache_clear()
    said = []

    async def learner():
        panel = PlanPanel(start_um=60, rounds=1, workshops=200)
        panel.picture.observe(
            lambda _: said.append((panel.sentence[:40], panel.png, panel.message.value)), names="value"
        )
        panel.message.observe(
            lambda change: said.append(change.new) if "Planning" in change.new else None, names="value"
        )
        panel.controls["start_um"].value = 80
        assert panel.sentence.startswith("The first 20 of 200 workshops simulated.")
        await asyncio.sleep(0)
        first = panel._growth
        panel.controls["start_um"].value = 70  # before the others have followed
        await panel._growth
        assert first.cancelled()
        panel.controls["start_um"].value = 60  # known from before
        assert panel.sentence.startswith("200 workshops simulated.")

    with ThreadPoolExecutor(1) as other:  # a browser's tests leave a running loop in this thread
        other.submit(asyncio.run, learner()).result()
    shown.growing.cache_clear()
    stale = [i for i, entry in enumerate(said) if isinstance(entry, str)]
    assert len(stale) == 3 and "still shows the previous setting" in said[0]
    told = [entry[0][:29] for entry in said if not isinstance(entry, str)]
    assert told == [
        "The first 20 of 200 workshops",
        "The first 20 of 200 workshops",
        "The first 50 of 200 workshops",
        "200 workshops simulated. Stop",
        "200 workshops simulated. Stop",
    ]
    assert all(entry[2] == "" for entry in said if not isinstance(entry, str))
    assert len({entry[1] for entry in said if not isinstance(entry, str)}) == 5


def test_a_steadier_hand_leaves_less():
    left = [PlanPanel(start_um=60, rounds=2, workshops=200, skill=skill).plan.worst_um[1, -1] for skill in SKILLS]
    assert list(SKILLS) == ["a practised hand", "an average hand", "a beginner's hand"]
    assert left == sorted(left) and left[2] > 1.3 * left[0]


def test_the_panel_says_where_to_stop_and_why():
    panel = PlanPanel(start_um=100, rounds=3, workshops=200, metal=METAL[1])
    assert f"Stop after round {panel.plan.stop_after}" in panel.sentence
    assert "factor of two or three" in panel.sentence
    inch = PlanPanel(start_um=100, rounds=1, workshops=200, units="inch", wanted_um=3, sight_um=10)
    assert "thou" in inch.sentence and "µm" not in inch.sentence


@pytest.mark.parametrize(
    "inputs, name",
    [({"share": 0.9}, "share"), ({"hands": Hands(0.05, 0.95)}, "scatter")],
)
def test_what_matters_raises_no_input_past_what_there_can_be(inputs, name):
    effects = {e.name: e for e in sensitivity(60, 20, workshops=5, rounds=1, points=41, **inputs)}
    assert len(effects) == 8
    assert effects[name].high == 1.0
    assert effects["start_um"].high == pytest.approx(75.0)


def test_schedules_are_judged_on_the_same_workshops_with_a_generator_too():
    few = {"rounds": 2, "choices_um": (20.0, 10.0), "workshops": 10, "points": 41}
    for search in (halving, best_schedule):
        told = search(60, 20, seed=np.random.default_rng(4), **few)
        one = int(np.random.default_rng(4).integers(2**63))
        assert told == search(60, 20, seed=one, **few)
        assert (
            told.hours
            == plan_job(60, 20, removal_um=told.steps, rounds=2, workshops=10, points=41, seed=one).hours_mean
        )
