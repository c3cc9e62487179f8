"""What is no number, no place and no kind is refused in one plain sentence, the same in every room."""

import re
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest

import simulate as S
from simulate.bench.bending.bar_supports import best_supports
from simulate.bench.bending.profiled_bar import profile_sag
from simulate.bench.bending.uniform_bar import sag_at
from simulate.bench.cutting.file_belly import stretch_um
from simulate.bench.cutting.scraping import scrape
from simulate.bench.looking.eye import EYES, Eye, chance_seen, wedge_test
from simulate.bench.looking.spotting import marked
from simulate.core import checks
from simulate.core.chance import generator
from simulate.method.lands.between_points import hides_between_um
from simulate.method.lands.gauge_making import make_land_gauges
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import progression, progression_table
from simulate.method.lands.stepping import gauges_from_pairs, three_land_gauges
from simulate.method.machine.bed import winding_strips_um
from simulate.method.machine.bed_gauges import edge_heights, told_by_lands
from simulate.method.machine.cross_slide import swing
from simulate.method.machine.headstock import rise_and_turn, shims, turned_bar
from simulate.method.planning.plan import Pace, plan_job
from simulate.method.planning.sensitivity import sensitivity
from simulate.method.plates.scraping_plan import after_passes
from simulate.method.plates.three_plate_loop import three_plates
from simulate.method.squares.faces import made_faces, square_up
from simulate.method.uncertainty_budget import combine_chain
from simulate.readings.survey.two_surveys import slopes_of

X = np.linspace(-100, 100, 21)
BARS = np.stack([0.001 * X**2, -0.002 * X**2, 0.0015 * X**2])
UNEVEN = X + 0.001 * X**2

NO_NUMBERS = [
    "5",
    b"5",
    True,
    None,
    1 + 2j,
    np.array([1 + 2j]),
    np.datetime64("2020-01-01"),
    [1, "2"],
    [1, None],
    [[1, 2], [3]],
    {},
    10**400,
]


@pytest.mark.parametrize("value", NO_NUMBERS, ids=repr)
def test_what_is_no_number_is_never_taken_for_one(value):
    with pytest.raises(ValueError, match=r"^height_um is .*; it must be numbers in a regular table\.$"):
        checks.numbers(value, "height_um")
    with pytest.raises(ValueError, match="^length_mm "):
        S.sag(value, 40, 300)


@pytest.mark.parametrize("value", [1, 1.0, np.float32(1), np.int8(1), Fraction(1), Decimal(1), np.array(1)], ids=repr)
def test_every_kind_of_number_is_taken(value):
    assert checks.number(value, "length_mm") == 1.0


def test_what_a_masked_table_hides_is_missing_and_never_read():
    hidden = np.ma.masked_array([1.0, 99.0, 3.0], [False, True, False])
    with pytest.raises(ValueError, match=r"height_um is nan at place 1; it must be a finite number\."):
        S.straightness([0, 1, 2], hidden)
    assert np.isnan(checks.table(hidden, "gap_um")[1])


def test_a_long_seed_is_kept_to_its_last_digit():
    near = [int(generator(2**53 + k).integers(2**62)) for k in (0, 1, 2)]
    assert len(set(near)) == 3
    assert near[1] == int(np.random.default_rng(2**53 + 1).integers(2**62))
    assert checks.whole(2**100 + 1, "seed") == 2**100 + 1


RUNS = {
    "two_bars": lambda **a: S.two_bars(X, BARS[:2], **{"removal_um": 5, **a}).height_um,
    "three_bars": lambda **a: S.three_bars(X, BARS, **{"removal_um": 5, "rounds": 1, **a}).height_um,
    "take": lambda **a: S.take(X, BARS, 0 * BARS, **a),
    "three_plates": lambda **a: (
        three_plates(X[:5], X[:5], np.zeros((3, 5, 5)), **{"removal_um": 4, "passes": 3, **a}).height_um
    ),
    "scrape": lambda **a: scrape([0, 5], [0, 5], np.zeros((2, 2)), np.zeros((2, 2)), removal_um=3, **a),
    "three_land_gauges": lambda **a: three_land_gauges([8.0, -30.0, 5.0], 2, sd_um=1.0, **a),
    "make_land_gauges": lambda **a: make_land_gauges([8.0, -30.0, 5.0], rounds=1, **a).middle_um,
    "wedge_test": lambda **a: wedge_test(EYES["light, knife edge"], [1.5, 2.5], 40, **a),
    "slopes_of": lambda **a: slopes_of(X[:3], X[:3], np.zeros((3, 3)), **a),
}


@pytest.mark.parametrize("name", RUNS)
def test_a_seed_and_its_generator_give_the_same_and_all_else_is_refused(name):
    run = RUNS[name]
    same = [np.asarray(run(seed=s)) for s in (7, 7, np.random.default_rng(7), np.int64(7))]
    for other in same[1:]:
        assert np.array_equal(same[0], other)
    for wrong in ("a", 1.5, True, {}, -1, np.nan):
        with pytest.raises(ValueError, match="^seed "):
            run(seed=wrong)


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda v: S.three_bars(X, BARS, rounds=1, removal_um=5, sight=v), "sight is .*; it must be a Sight."),
        (lambda v: S.three_bars(X, BARS, rounds=1, removal_um=5, hands=v), "hands is .*; it must be a Hands."),
        (lambda v: S.two_bars(X, BARS[:2], removal_um=5, hands=v), "hands is .*; it must be a Hands."),
        (
            lambda v: S.three_bars(X, BARS, rounds=1, removal_um=5, record=v),
            "record is .*; it must be None, False or True.",
        ),
        (lambda v: S.look([1, 2], v), "sight is .*; it must be a Sight."),
        (lambda v: S.take(X, BARS, abs(BARS), hands=v), "hands is .*; it must be a Hands."),
        (lambda v: chance_seen(1.0, v), "eye is .*; it must be an Eye."),
        (lambda v: plan_job(60, 15, sight=v), "sight is .*; it must be a Sight."),
        (lambda v: sensitivity(60, 15, hands=v), "hands is .*; it must be a Hands."),
        (lambda v: S.sag(500, 40, [v, v]), "separation_mm"),
        (lambda v: S.hidden_plate_errors([[1, 2], [3]] if v is not None else "44", [(0, 1, 0)]), "points"),
    ],
    ids=lambda v: v if isinstance(v, str) else "",
)
@pytest.mark.parametrize("value", ["a word", None, 5, [1, 2]], ids=repr)
def test_an_argument_of_another_kind_is_refused_in_words(call, words, value):
    if words.startswith("record") and value is None:
        assert call(value) is not None
        return
    with pytest.raises(ValueError, match=f"^{words}"):
        call(value)


@pytest.mark.parametrize(
    "field, value",
    [
        ("depth_um", 0),
        ("depth_um", "3"),
        ("length_mm", -1),
        ("reach_mm", -1),
        ("radius_mm", 0),
        ("radius_mm", None),
        ("radius_mm", np.nan),
    ],
)
def test_a_tool_that_cannot_be_is_refused_when_it_is_made(field, value):
    good = {
        "name": "own file",
        "depth_um": 10.0,
        "length_mm": 200.0,
        "reach_mm": 0.0,
        "radius_mm": np.inf,
        "source": "",
    }
    assert S.Tool(**good).name == "own file"
    with pytest.raises(ValueError, match=f"^{field} "):
        S.Tool(**{**good, field: value})


@pytest.mark.parametrize(
    "field, value", [("kind", "lamp"), ("threshold_um", np.nan), ("spread_um", 0), ("spread_um", -1.0)]
)
def test_an_eye_that_cannot_be_is_refused_when_it_is_made(field, value):
    with pytest.raises(ValueError, match=f"^{field} "):
        Eye(**{"kind": "light", "threshold_um": 2.0, "spread_um": 0.3, field: value})


@pytest.mark.parametrize(
    "call",
    [
        lambda: S.take(UNEVEN, BARS, 0 * BARS),
        lambda: S.hollow_um(UNEVEN, BARS, 30),
        lambda: stretch_um(UNEVEN, X > 0, 100.0, 1e4),
        lambda: S.three_bars(UNEVEN, BARS, rounds=1, removal_um=5),
        lambda: scrape(UNEVEN, [0, 5], np.zeros((2, 21)), np.zeros((2, 21)), removal_um=3),
    ],
)
def test_where_a_tool_walks_by_points_uneven_places_are_refused(call):
    with pytest.raises(ValueError, match=r"x_mm has steps of 8\.1 to 11\.9 mm; it must be evenly spaced\."):
        call()


def test_marking_takes_what_is_missing_but_no_words():
    assert marked([[0, np.nan]]).tolist() == [[True, False]]
    with pytest.raises(ValueError, match=r"gap_um is \[\['0', '1'\]\]; it must be numbers in a regular table\."):
        marked([["0", "1"]])


SHAPES = [
    lambda: S.heat_bow_um([500, 600], [40, 50, 60], 1.0),
    lambda: sag_at([0, 1], 500, 40, [300, 310, 320]),
    lambda: S.take(X, np.zeros((2, 21)), np.zeros((3, 21))),
    lambda: turned_bar([1.0, 2.0], [1.0, 2.0, 3.0]),
    lambda: hides_between_um([1, 2], [1, 2, 3], 1.0),
    lambda: gauges_from_pairs([1, 2], [1, 2, 3], 1.0),
    lambda: scrape([0, 5], [0, 5], np.zeros((2, 2, 2)), np.zeros((3, 2, 2)), removal_um=3),
]


@pytest.mark.parametrize("call", SHAPES)
def test_shapes_that_do_not_go_together_are_named(call):
    with pytest.raises(ValueError, match=r"^\w+(, \w+)* and \w+ are .* and .*; they must be of one shape"):
        call()


def test_a_weight_without_a_place_is_refused():
    with pytest.raises(ValueError, match="load_n holds 2 weights for 1 place in load_at_mm"):
        profile_sag(X, 40, (-90, 90), load_at_mm=[0], load_n=[1, 2])


def test_the_row_of_places_in_a_result_is_its_own():
    x = X.copy()
    run = S.three_bars(x, BARS, rounds=0, removal_um=5)
    x[0] = -999
    assert run.x_mm[0] == -100
    height = BARS[0].copy()
    for turned in (False, True):
        S.face(height, turned)[:] = 7
        assert np.array_equal(height, BARS[0])
    with pytest.raises(ValueError, match=r"height_um is a single figure; it must be a row of heights\."):
        S.face(3.0)


def test_no_workshop_at_all_is_an_empty_history_and_no_error():
    none = S.three_bars(X, np.zeros((0, 3, 21)), rounds=2, removal_um=5)
    assert none.height_um.shape == (0, 3, 3, 21) and none.straightness_um.shape == (0, 3, 3)
    assert none.metal_mm3.shape == (0, 3, 3) and none.light_um.shape == (0, 3)
    assert S.two_bars(X, np.zeros((0, 2, 21)), removal_um=5).passes.shape == (0, 2, 2)
    assert make_land_gauges(np.zeros((0, 3)), rounds=1).middle_um.shape == (0, 2, 3)
    assert three_plates(X[:5], X[:5], np.zeros((0, 3, 5, 5)), removal_um=4, passes=3).flatness_um.shape == (0, 2, 3)


@pytest.mark.parametrize(
    "change, words",
    [
        ({"seed": "a"}, r"seed is 'a'; it must be numbers in a regular table\."),
        ({"seed": 1.5}, "seed is 1.5; it must be a whole number"),
        ({"pace": 3}, "pace is 3; it must be a Pace."),
        ({"keep": "all"}, r"keep is 'all'; it must be numbers in a regular table\."),
        ({"bars": 3}, r"bars is 3; it must be the pair \(x_mm, height_um\) of three bars\."),
        ({"bars": (X, BARS[:2])}, r"height_um of bars is 2 by 21 figures; it must be 3 bars of 21 heights\."),
        ({"bars": (UNEVEN, BARS)}, r"x_mm of bars has steps of 8\.1 to 11\.9 mm; it must be evenly spaced\."),
        (
            {"bars": (X, BARS[None])},
            r"height_um of bars is 1 by 3 by 21 figures; it must be three bars of 21 heights\.",
        ),
    ],
)
def test_a_plan_refuses_what_it_cannot_run(change, words):
    with pytest.raises(ValueError, match=f"^{words}"):
        plan_job(60, 15, **{"workshops": 5, "rounds": 1, "points": 41, **change})


def test_a_plan_takes_a_generator_as_its_seed():
    told = [
        plan_job(60, 15, workshops=5, rounds=1, points=41, seed=np.random.default_rng(s)).worst_um for s in (1, 1, 2)
    ]
    assert np.array_equal(told[0], told[1]) and not np.array_equal(told[0], told[2])


@pytest.mark.parametrize(
    "change, words",
    [
        ({"fits": 3}, "fits is 3; it must be a list of Fit."),
        ({"fits": []}, r"fits holds nothing; it must hold one or more\."),
        ({"fits": ["a"]}, r"fits\[0\] is 'a'; it must be a Fit."),
        ({"prior": 3}, "prior is 3; it must be a Network."),
        ({"zero_sd_um": 3}, "zero_sd_um is 3; it must be a dict."),
    ],
)
def test_a_network_refuses_what_is_no_fit(change, words):
    with pytest.raises(ValueError, match=f"^{words}"):
        solve_network(**{"fits": [Fit((0, 1, 2), 1.0)], **change})


@pytest.mark.parametrize(
    "call, words",
    [
        (
            lambda: S.starting_bars(500, 100, points=10**6, workshops=10**6),
            "workshops x bars x points is 24000 GB at once",
        ),
        (
            lambda: S.starting_plates(500, 300, 100, points=10**5),
            "workshops x plates x points each way is 240 GB at once",
        ),
        (lambda: S.hidden_bar_errors(10**5, []), "(bars x points) squared is 720 GB at once"),
        (lambda: S.hidden_plate_errors(500, []), "(plates x points) squared is 4500 GB at once"),
    ],
)
def test_what_would_fill_the_memory_is_refused_before_it_does(call, words):
    with pytest.raises(ValueError, match=f"^{re.escape(words)}; it must be at most 4 GB."):
        call()


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: combine_chain(None), "links is None; it must be a tuple or a list."),
        (lambda: square_up("ABC"), "steps is 'ABC'; it must be a tuple or a list."),
        (lambda: made_faces(3, 10.0), "steps is 3; it must be a tuple or a list."),
        (lambda: after_passes(3, 10, 1), "plan is 3; it must be a CutPlan."),
        (lambda: shims(3, [-50, 150]), "axis is 3; it must be an Axis."),
        (lambda: swing(3, -200, 0), "axis is 3; it must be an Axis."),
        (
            lambda: rise_and_turn([1, 2], [1, 2, 3], 100, 400),
            r"near_um and far_um are a row of 2 and a row of 3; they must be of one shape, or single figures\.",
        ),
        (lambda: told_by_lands(X, BARS[0], 3), "gauges is 3; it must be a LandMap."),
        (lambda: edge_heights([["a"]], 0.0, 30), r"height_um is \[\['a'\]\]; it must be numbers in a regular table\."),
        (
            lambda: winding_strips_um(X, BARS[:2], 200, 5, 400),
            r"at_mm is a single figure; it must be a row of 2, the two places of the strips\.",
        ),
        (lambda: progression("a"), "levels is 'a'; it must be a tuple or a list."),
        (lambda: progression([3]), r"levels\[0\] is 3; it must be a Level."),
        (lambda: progression_table(7), "points is 7; it must be a tuple or a list."),
        (
            lambda: best_supports(X, [40, 40]),
            r"depth_mm is a row of 2; it must be 21 figures in each row, one for each position\.",
        ),
        (
            lambda: best_supports(X, 40, hole_mm=[1, 2]),
            r"hole_mm is a row of 2; it must be 21 figures in each row, one for each position\.",
        ),
        (lambda: plan_job(60, 15, pace=Pace(0.0)), "stroke_mm3 of pace is 0; it must be more than 0."),
    ],
)
def test_what_a_method_is_handed_must_be_of_its_kind(call, words):
    with pytest.raises(ValueError, match=f"^{words}"):
        call()


@pytest.mark.parametrize(
    "call",
    [
        lambda gap: S.take([-10, 0, 10], [0, 0, 0], gap),
        S.look,
        lambda gap: scrape([0, 5], [0, 5, 10], np.zeros((3, 2)), np.stack([gap, gap], axis=1), removal_um=3),
        lambda gap: marked([gap]),
    ],
)
def test_faces_that_stand_in_each_other_are_refused(call):
    assert call(np.array([9.0, 0.0, 9.0])) is not None
    with pytest.raises(ValueError, match=r"gap_um is -5; it must be 0 or more\."):
        call(np.array([9.0, -5.0, 9.0]))


def test_what_rounding_leaves_below_a_gap_of_0_counts_as_0():
    left = 0.1 + 0.2 - 0.3 - 2e-16 - 1e-12
    assert left < 0
    found = checks.gaps(np.array([left, 3.0, np.nan]))
    assert found[:2].tolist() == [0.0, 3.0] and np.isnan(found[2])
    assert S.take(X, BARS[0], np.where(X == 0, left, 5.0), removal_um=5.0)[10] < BARS[0][10]
