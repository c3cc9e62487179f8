"""A bed of two ways: form, strips, diagonals, filing, budget; and the part that sits on it."""

import re

import numpy as np
import pytest

from simulate.bench.cutting.rocking import across
from simulate.bench.cutting.tools import SKILLS, Hands
from simulate.bench.looking.sight import Sight
from simulate.method.lands.stepping import step_lands
from simulate.method.machine.bed import bed_budget, judge_bed, starting_bed, winding_strips_um
from simulate.method.machine.bed_filing import STAGES, file_bed
from simulate.method.machine.bed_gauges import ALONG, across_um, edge_heights, edges_mm, land_map, told_by_lands
from simulate.method.machine.headstock import Axis, bar_sag_um, rise_and_turn, shims, turned_bar
from simulate.surface.tolerances.lathe import ISO_1708, machine_sentence

X = np.linspace(-300.0, 300.0, 121)
APART = 200.0


def twisted(urad):
    half = urad * APART / 2000 * X / 600
    return np.stack([-half, half])


def test_a_pure_twist_is_seen_by_slope_strips_and_diagonals_alike():
    # derived: T urad over the length turns the cross line by T, so 2 x corners = T x apart, and strips grow it by their
    # length
    form = judge_bed(X, twisted(400.0), APART)
    assert form.twist_urad == pytest.approx(400) and np.allclose(form.straightness_um, 0, atol=1e-9)
    assert 2 * form.corners_um == pytest.approx(400 * APART / 1000)
    assert winding_strips_um(X, twisted(400.0), APART, (-300, 300), 500.0) == pytest.approx(400 * 0.5)
    assert winding_strips_um(X, twisted(400.0), APART, (-150, 150), 500.0) == pytest.approx(100)


def test_a_plane_is_neither_twist_nor_bend():
    plane = np.stack([0.3 * X + 12, 0.3 * X - 40])
    form = judge_bed(X, plane, APART)
    assert form.twist_urad == pytest.approx(0, abs=1e-9) and form.corners_um == pytest.approx(0, abs=1e-9)
    assert np.allclose(form.crown_um, 0, atol=1e-9)


def test_a_starting_bed_has_the_error_and_the_twist_that_were_asked_for():
    x, bed = starting_bed(600, 120, 500, workshops=40, seed=3)
    form = judge_bed(x, bed, 200)
    np.testing.assert_allclose(form.straightness_um, 120, rtol=1e-6)
    np.testing.assert_allclose(form.twist_urad, 500, rtol=1e-6)


def test_a_way_ends_as_the_opposite_of_its_straightedge():
    # derived: a fit leaves the sum of both at nothing
    edge = 20 * (1 - (X / 300) ** 2)
    run = file_bed(
        X,
        starting_bed(600, 100, 0, seed=1)[1],
        edge,
        apart_mm=APART,
        rounds=2,
        removal_um=3.0,
        sight=Sight("light", 0.5),
        hands=Hands(0, 0),
        seed=1,
    )
    np.testing.assert_allclose(judge_bed(X, run.height_um[-1], APART).crown_um, -20, atol=3)


def test_filing_brings_any_bed_straight_and_out_of_twist_and_only_takes_metal():
    x, bed = starting_bed(600, 150, 900, workshops=30, seed=5)
    run = file_bed(x, bed, 0 * x, apart_mm=APART, rounds=3, removal_um=8.0, seed=2)
    assert run.height_um.shape == (30, 4, 2, 121) and run.looks == ()
    assert (np.diff(run.height_um, axis=1) <= 1e-9).all() and (np.diff(run.passes, axis=1) >= 0).all()
    assert np.median(run.straightness_um[:, -1]) < 8 and np.median(np.abs(run.twist_urad[:, -1])) < 40


def test_strips_that_are_not_parallel_are_filed_in_and_the_diagonals_take_them_out():
    kw = dict(apart_mm=APART, rounds=1, removal_um=2.0, hands=Hands(0, 0), strip_error_urad=300.0, seed=1)
    run = file_bed(X, twisted(0.0), 0 * X, **kw)
    strips, corners = run.looks[1], run.looks[2]
    assert (strips.stage, corners.stage) == STAGES[1:3] and strips.seen_um == pytest.approx(120, abs=1)
    assert judge_bed(X, corners.height_um, APART).twist_urad == pytest.approx(-300, abs=10)
    # derived: what the diagonals leave unseen, twice 2.5 um over 200 mm
    assert abs(run.twist_urad[-1]) < 25


def test_wedges_come_off_the_two_high_corners_and_leave_the_low_ones():
    run = file_bed(X, twisted(1000.0), 0 * X, apart_mm=APART, rounds=1, removal_um=2.0, hands=Hands(0, 0), seed=1)
    off = run.looks[1].removed_um
    # back rises towards the tail: high are the back at the tail and the front at the head
    assert off[1, -1] == pytest.approx(100, rel=0.05) and off[0, 0] == pytest.approx(100, rel=0.05)
    # where the wedge runs out, the last pass takes what the eye cannot tell from nothing
    assert 0 <= off[1, 0] < 2.5 and 0 <= off[0, -1] < 2.5


def test_land_gauges_tell_a_way_at_their_points_and_are_as_sure_as_their_network_says():
    # derived: readings without error give the heights back over the line of the ends
    rng = np.random.default_rng(3)
    way = 40 * np.cos(X / 90) + 0.2 * X + rng.normal(0, 3, X.size)
    for lands in (5, 7, 13):
        told = told_by_lands(X, way, land_map(600, lands, 1e-9), seed=1)
        at = np.round(np.linspace(0, 120, lands)).astype(int)
        line = np.interp(X, X[[0, -1]], way[[0, -1]])
        np.testing.assert_allclose(told[at], (way - line)[at], atol=1e-5)
    many = told_by_lands(X, np.zeros((20_000, X.size)), land_map(600, 13, 0.8), seed=2)
    at = np.round(np.linspace(0, 120, 13)).astype(int)
    np.testing.assert_allclose(many[:, at].std(axis=0), land_map(600, 13, 0.8).sd_um, rtol=0.03)


def test_a_zero_of_the_land_gauges_is_filed_into_the_ways():
    # derived: each gauge shows the zero too much, so a way filed to them lies low by what the zero adds up to
    gauges = land_map(600, 13, 1e-9)
    told = told_by_lands(X, 0 * X, gauges, zero_um=1.0, seed=1)
    # the first gauge ties the middle alone: what it shows too much stands there as it is, proud
    assert told[60] == pytest.approx(1.0, abs=1e-6) and told[5] > 0
    run = file_bed(
        X,
        starting_bed(600, 60, 0, seed=4)[1],
        0 * X,
        apart_mm=APART,
        rounds=2,
        removal_um=3.0,
        along=ALONG[1],
        land_sd_um=0.0,
        land_zero_um=5.0,
        sight=Sight("light", 0.5),
        hands=Hands(0, 0),
        seed=1,
    )
    middle = run.height_um[-1][:, 60] - (run.height_um[-1][:, 0] + run.height_um[-1][:, -1]) / 2
    np.testing.assert_allclose(middle, -5.0 * told[60], atol=3)
    # derived: seven points from three and from steps between them hold far better than seven stepped from end to end
    assert told.max() < step_lands(12, zero_um=1.0).bias_um.max() / 5


def test_land_gauges_take_out_what_the_straightedge_left_as_far_as_their_points_reach():
    # derived: a straightedge bent twice up and down over the length passes three points and not thirteen
    x, bed = starting_bed(600, 150, 500, workshops=20, seed=6)
    edge = 25 * np.sin(2 * np.pi * x / 300)
    left = {}
    for name, more in {"edge": {}, "3": dict(along=ALONG[1], lands=3), "13": dict(along=ALONG[1], lands=13)}.items():
        run = file_bed(x, bed, edge, apart_mm=APART, rounds=2, removal_um=6.0, seed=2, **more)
        assert (np.diff(run.height_um, axis=1) <= 1e-9).all() and np.median(np.abs(run.twist_urad[:, -1])) < 40
        left[name] = np.median(run.straightness_um[:, -1])
    assert left["edge"] > 40 and left["3"] > 40 and left["13"] < 0.45 * left["edge"]


def test_filed_beds_scatter_as_their_land_gauges_say_and_never_more():
    # the budget against 60 beds filed to the end; a maker who looks again at every pass does better where fits scatter
    # widely
    x, bed = starting_bed(600, 60, 200, workshops=60, seed=6, points=61)
    at, spread = np.round(np.linspace(0, 60, 13)).astype(int), {}
    for sd in (0.5, 1.5):
        run = file_bed(
            x,
            bed,
            0 * x,
            apart_mm=APART,
            rounds=2,
            removal_um=2.0,
            along=ALONG[1],
            land_sd_um=sd,
            sight=Sight("light", 0.5),
            hands=Hands(0, 0.05),
            seed=2,
        )
        left = run.height_um[:, -1] - np.linspace(run.height_um[:, -1, :, 0], run.height_um[:, -1, :, -1], 61, axis=-1)
        spread[sd] = left[..., at[1:-1]].std(axis=(0, 1)) / land_map(600, 13, sd).sd_um[1:-1]
    assert 0.75 < spread[0.5].mean() < 1.15 and spread[1.5].mean() < 1.0


def test_a_straightedge_across_shows_a_lean_as_width_times_lean():
    # derived: front top leans by 200 urad over 30 mm, so one of its edges is 6 um low; a common roll shows nothing
    y = edges_mm(APART, 30)
    gap = across_um(edge_heights(np.zeros((2, 3)), [200.0, 0.0], 30.0), y)
    assert gap.max() == pytest.approx(6 * (1 + 30 / 200), rel=0.2) and gap[2:].max() < 7
    roll = across_um((y[:, None] * np.ones(3)) * 0.3, y)
    np.testing.assert_allclose(roll, 0, atol=1e-9)


def test_tops_that_lean_are_filed_level_with_each_other():
    x, bed = starting_bed(600, 60, 300, workshops=12, seed=8)
    run = file_bed(x, bed, 0 * x, apart_mm=APART, rounds=2, removal_um=4.0, lean_urad=[1200.0, -900.0], seed=3)
    assert (run.across_um[:, 0] > 25).all() and np.median(run.across_um[:, -1]) < 6
    one = file_bed(x, bed[0], 0 * x, apart_mm=APART, rounds=1, removal_um=4.0, lean_urad=[1200.0, -900.0], seed=3)
    assert one.looks[0].lean_urad == pytest.approx([1200, -900])
    assert one.looks[-1].stage == STAGES[3] and one.looks[-1].seen_um > 4


def test_a_wedge_goes_off_in_passes_where_the_most_is_left_and_with_the_hands_of_its_maker():
    quiet, rough = (
        file_bed(X, twisted(1000.0), 0 * X, apart_mm=APART, rounds=1, removal_um=4.0, hands=hands, seed=1)
        for hands in (Hands(0, 0), Hands(0.0, 0.1, crown=0.06))
    )
    off = quiet.looks[1].removed_um
    ideal = 100 * (X + 300) / 600
    np.testing.assert_allclose(off[1], ideal, atol=4.0)
    assert quiet.looks[1].passes == 2 * np.ceil(100 / 4)
    assert np.std(rough.looks[1].removed_um[1] - ideal) > np.std(off[1] - ideal)


def test_the_hands_that_file_bars_file_ways():
    """Across a way half of the file's width is the lever: medians of 200 own workshops, sight 2.5 µm."""
    x = starting_bed(600, 150, 600, points=61, seed=1)[0]
    beds = starting_bed(600, 150, 600, points=61, workshops=200, seed=9007)[1]

    def ends(hands):
        run = file_bed(x, beds, 0 * x, apart_mm=APART, rounds=2, removal_um=6.0, seed=99, hands=hands)
        return np.median(run.straightness_um[:, -1].max(axis=-1))

    practised, usual, beginner = (ends(hands) for hands in SKILLS.values())
    assert 3.5 < practised < usual < 6.5 < beginner < 11 and usual == ends(Hands())


def test_a_file_that_tips_over_a_wedge_is_as_deep_after_many_passes_as_after_few():
    """Derived: it lies on the face, so that the end is below the wedge by the tip of one pass, however many there were:
    at most some four standard deviations of 12.5 mm times the angle."""
    hands = Hands(rock_deg=0.02, scatter=0)
    tip = 1000 * np.radians(hands.rock_deg) * across("second-cut file").tip_mm
    for removal in (10.0, 1.0):
        kw = dict(apart_mm=APART, rounds=1, removal_um=removal, strip_sight_um=1.0, hands=hands, seed=1)
        run = file_bed(X, twisted(1000.0), 0 * X, **kw)
        deepest = (twisted(1000.0) - run.height_um[1]).max()
        assert run.passes[1].sum() > 1.5 * 100 / removal and 100 < deepest + tip
        assert deepest < 100 + 2 * 4 * tip


def test_the_budget_is_a_monte_carlo_of_its_gauges():
    rng = np.random.default_rng(1)
    edge, eye, heat = rng.normal(0, 3, 200_000), rng.uniform(-2.5, 2.5, 200_000), rng.uniform(-2, 2, 200_000)
    budget = bed_budget(600, 200, edge_sd_um=3.0, heat_um=2.0)
    assert (edge + eye + heat).std() == pytest.approx(float(budget.straight.combined_um), rel=0.01)
    diagonals = 2 * (rng.uniform(-2.5, 2.5, 200_000) - rng.uniform(-2.5, 2.5, 200_000))
    assert diagonals.std() == pytest.approx(float(budget.twist.combined_um), rel=0.01)
    strips = rng.uniform(-50, 50, 200_000) * 200 / 400
    assert strips.std() == pytest.approx(
        float(bed_budget(600, 200, edge_sd_um=3, diagonals=False).twist.combined_um), rel=0.01
    )


def test_rise_and_turn_are_those_of_a_general_fit_with_its_deviations():
    near, far, sd = 80.0, 350.0, 1.5
    reads = np.random.default_rng(2).normal([12.0, -31.0], sd, (100_000, 2))
    found = rise_and_turn(reads[:, 0], reads[:, 1], near, far, sd)
    slope, rise = np.polyfit([near, far], reads[0], 1)
    assert found.rise_um[0] == pytest.approx(rise) and found.turn_urad[0] == pytest.approx(1000 * slope)
    assert found.rise_um.std() == pytest.approx(float(found.rise_sd_um[0]), rel=0.01)
    assert found.turn_urad.std() == pytest.approx(float(found.turn_sd_urad[0]), rel=0.01)


def test_shims_bring_the_axis_to_its_place():
    rng = np.random.default_rng(3)
    axis = Axis(rng.normal(0, 50, 200), np.zeros(200), rng.normal(0, 200, 200), np.zeros(200))
    feet, target = np.array([-180.0, -20.0]), 10.0
    under = shims(axis, feet, target)
    assert (under.thickness_um >= 0).all() and (under.thickness_um.min(axis=1)[under.left_um > 0] == 0).all()
    slope = np.diff(under.thickness_um, axis=1)[:, 0] / np.diff(feet)
    np.testing.assert_allclose(slope * 1000, under.turn_urad)
    rise = axis.rise_um + under.thickness_um[:, 0] - slope * feet[0]
    np.testing.assert_allclose(rise, target + under.left_um)
    np.testing.assert_allclose(axis.turn_urad + under.turn_urad, 0)


def test_half_a_turn_takes_the_bar_out():
    # derived: an axis at 7 with a bar off by 11 reads 7 + 11 cos(turn)
    found = turned_bar(7 + 11, 7 - 11)
    assert float(found.axis_um) == 7 and float(found.bar_um) == 11


def test_the_end_of_a_test_bar_hangs_by_the_handbooks_wl4_over_8ei():
    # Roark, from memory: w L^4 / (8 E I), steel of 210 GPa and 7850 kg/m3
    d, length = 0.03, 0.3
    weight, inertia = 7850 * 9.80665 * np.pi * d**2 / 4, np.pi * d**4 / 64
    assert -bar_sag_um(300.0, 30.0, 300.0) == pytest.approx(weight * length**4 / (8 * 210e9 * inertia) * 1e6)
    assert bar_sag_um(0.0, 30.0, 300.0) == 0


def test_machine_limits_have_one_sense_where_the_table_has_one():
    assert len(ISO_1708) == 5
    assert "inside" in machine_sentence("axis in the vertical plane", 20)
    assert "outside" in machine_sentence("axis in the vertical plane", -1)
    assert "inside" in machine_sentence("twist of the bed", -24, 600) and "outside" in machine_sentence(
        "twist of the bed", 25, 600
    )
    for what in ISO_1708:
        assert "†" in machine_sentence(what, 0)


@pytest.mark.parametrize(
    ("make", "sentence"),
    [
        (
            lambda: judge_bed(X, np.zeros((3, 121)), 200),
            "height_um is 3 by 121 figures; it must be 2 bars of 121 heights.",
        ),
        (
            lambda: winding_strips_um(X, twisted(0), 200, (10, 10), 400),
            "at_mm is 10 twice; it must be two places, because the strips lie apart.",
        ),
        (lambda: rise_and_turn(1, 2, 300, 100), "far_mm is 100; it must be more than near_mm, 300."),
        (
            lambda: shims(rise_and_turn(1, 2, 0, 100), [0, 1, 2]),
            "feet_mm holds 3 places; it must hold two, in rising order.",
        ),
        (lambda: bar_sag_um(400, 30, 300), "reach_mm is 400; it must be 0 to 300, the bar's own length."),
        (lambda: machine_sentence("paint", 1), "what is 'paint'; it must be 'twist of the bed'"),
        (
            lambda: file_bed(X, twisted(0), 0 * X, apart_mm=0, rounds=1, removal_um=1),
            "apart_mm is 0; it must be more than 0.",
        ),
        (
            lambda: file_bed(X, twisted(0), 0 * X, apart_mm=20, rounds=1, removal_um=1),
            "way_mm is 30; it must be above 0 and at most 20.",
        ),
        (
            lambda: file_bed(X, twisted(0), 0 * X, apart_mm=99, rounds=1, removal_um=1, along="string"),
            "along is 'string'; it must be 'straightedge' or 'straightedge, then land gauges'.",
        ),
        (
            lambda: file_bed(X, twisted(0), 0 * X, apart_mm=99, rounds=1, removal_um=1, along=ALONG[1], lands=8),
            "points is 8; it must be an odd number, so that one is in the middle.",
        ),
    ],
)
def test_impossible_figures_are_refused(make, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        make()
