"""Three land gauges at the bench: seated on their lands, looked at, filed; one number each, and the algebra of three
bars."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from simulate.bench.cutting.tools import Hands
from simulate.bench.looking.sight import Sight
from simulate.bench.seating.bar_seat import rest
from simulate.method.bars.three_bar_loop import three_bars
from simulate.method.lands.gauge_making import LandFit, fit_of_two, land_points, make_land_gauges, middle_of
from simulate.method.lands.stepping import three_land_gauges

STEADY = Hands(rock_deg=0, scatter=0)
MIDDLES = st.floats(-60, 60).filter(lambda v: abs(v) > 0.01)


def gauge(middle):
    return np.repeat([0.0, middle, 0.0], 5)


@settings(deadline=None, max_examples=40)
@given(MIDDLES, MIDDLES, st.sampled_from([(0, 100, 200), (0, 60, 200), (0, 150, 200)]))
def test_two_gauges_show_the_sum_of_their_middles_and_rock_where_it_is_proud(one, other, lands):
    assume(abs(one + other) > 1e-6)  # an even pair sits either way by the rounding of the last digit
    x = land_points(lands, 8)
    fit = fit_of_two(x, gauge(one), gauge(other), Sight("light", 2.5))
    assert isinstance(fit, LandFit)
    assert fit.rocks == (one + other > 0)
    # seated on the edge of a middle land that is 8 mm wide, an end may open a little more than in the thin drawing
    assert fit.sum_um == pytest.approx(one + other, abs=0.15 * abs(one + other) + 1e-9)
    assert (fit.gap_um >= 0).all() and (fit.seen.open == (fit.gap_um > 2.5)).all()


@settings(deadline=None, max_examples=25)
@given(st.lists(st.floats(-20, 20), min_size=15, max_size=15))
def test_the_seat_is_the_lowest_line_that_nothing_stands_above(heights):
    """Oracle: HiGHS puts the line over all points that is lowest at the centre of mass."""
    x = land_points((0, 100, 200), 10)
    lowest = linprog([1, 100.0], A_ub=-np.c_[np.ones(15), x], b_ub=-np.array(heights), bounds=[(None, None)] * 2)
    fit = fit_of_two(x, heights, np.zeros(15))
    seat = rest(x, np.array(heights)).gap_um + heights
    assert np.interp(100.0, x, seat) == pytest.approx(lowest.fun, abs=1e-6)
    np.testing.assert_allclose(np.diff(seat) / np.diff(x), (seat[-1] - seat[0]) / np.ptp(x), atol=1e-9)
    np.testing.assert_allclose(fit.gap_um, (seat - heights).reshape(3, 5).min(axis=1), atol=1e-12)
    assert (fit.gap_um == 0).any()


@pytest.mark.parametrize("share", [0.5, 0.7, 0.85])
def test_at_the_bench_a_round_leaves_what_it_leaves_on_paper(share):
    """Derived as for three bars: |2 share - 1|; the paper's middles are within the floor of sight and hands."""
    start = np.random.default_rng(4).normal(0, 120, (300, 3))
    paper = three_land_gauges(start, 2, share=share)
    made = make_land_gauges(start, rounds=2, share=share, removal_um=2, sight=Sight("light", 1.0), hands=STEADY, seed=1)
    assert made.middle_um.shape == paper.shape == (300, 3, 3)
    left = np.abs(made.middle_um[:, 1]).max(axis=-1) - abs(2 * share - 1) * np.abs(start[:, 0])
    assert np.median(np.abs(left)) < made.history.floor_um + 0.02 * np.median(np.abs(start[:, 0]))
    assert np.corrcoef(np.abs(made.middle_um[:, 1]).max(-1), np.abs(paper[:, 1]).max(-1))[0, 1] > (
        0.98 if share > 0.5 else -1
    )


def test_they_are_three_bars_with_one_number():
    """The same loop, the same floor: only that the points lie on three lands."""
    made = make_land_gauges([12.0, -20.0, 5.0], rounds=2, seed=3)
    x = land_points((0, 100, 200), 10)
    bars = three_bars(
        x, [gauge(v) for v in (12.0, -20.0, 5.0)], rounds=2, removal_um=4, seed=3, tool="scraper", lands=3
    )
    np.testing.assert_array_equal(made.history.height_um, bars.height_um)
    np.testing.assert_allclose(made.middle_um[0], [12, -20, 5])
    assert made.history.steps[0].gap_um.reshape(3, 5).min(axis=1).tolist() == [0, 8, 0]  # 12 - 20


@pytest.mark.parametrize("threshold", [1.0, 2.5, 5.0, 10.0])
def test_gauges_stop_at_a_floor_that_follows_from_sight(threshold):
    """Derived: a pair passes at a gap of the floor, each gauge holds about half to all of it, and a rocking pair shows
    it twice."""
    start = np.random.default_rng(0).normal(0, 40, (400, 3))
    made = make_land_gauges(start, rounds=4, removal_um=threshold / 5, sight=Sight("light", threshold), seed=2)
    last, floor = np.abs(made.middle_um[:, -1]).max(axis=-1), made.history.floor_um
    assert floor == pytest.approx(threshold * (1 + 0.16 / 5))
    assert 0.25 * floor < np.median(last) < 1.1 * floor
    assert np.quantile(last, 0.95) < 1.6 * floor
    pairs = [
        np.abs(
            fit_of_two(
                land_points((0, 100, 200), 10), made.history.height_um[:, -1, a], made.history.height_um[:, -1, b]
            ).gap_um
        ).max(-1)
        for a, b in ((0, 1), (0, 2), (1, 2))
    ]
    assert all(np.quantile(p, 0.9) < 2.2 * floor for p in pairs)


def test_metal_only_comes_off_and_only_where_a_land_was_seen_to_touch():
    made = make_land_gauges([25.0, -30.0, -4.0], rounds=3, share=0.7, seed=5)
    run, looked, rocked = made.history, 0, 0
    assert (np.diff(run.height_um, axis=0) <= 1e-12).all()
    for step in run.steps:
        gaps = step.gap_um.reshape(3, 5)
        cut = step.removed_um.reshape(3, 3, 5).any(axis=(0, 2))
        touch = (gaps <= 2.5).any(axis=1)
        assert not (cut & ~touch).any()
        if touch[1] and not (touch[0] and touch[2]) and step.filed:
            assert cut.tolist() == [False, True, False]
            rocked += 1
        looked += 1
    assert looked > 10 and rocked > 2
    taken = (run.height_um[0] - run.height_um[-1]).reshape(3, 3, 5)
    volume = 10 * 1e-3 * np.trapezoid(taken, dx=2.5, axis=-1).sum(axis=-1)
    np.testing.assert_allclose(run.metal_mm3[-1], volume)


def test_an_uneven_gauge_is_made_as_well_as_an_even_one():
    start = np.random.default_rng(1).normal(0, 40, (300, 3))
    even, uneven = (
        make_land_gauges(start, rounds=3, seed=1, lands_mm=lands) for lands in ((0, 100, 200), (0, 60, 200))
    )
    assert uneven.lands_mm.tolist() == [0, 60, 200]
    assert np.quantile(np.abs(uneven.middle_um[:, -1]), 0.9) < 1.5 * np.quantile(np.abs(even.middle_um[:, -1]), 0.9)


def test_a_thousand_workshops_are_one_run():
    start = np.tile([12.0, -20.0, 5.0], (1000, 1))
    made = make_land_gauges(start, rounds=1, seed=1)
    assert made.middle_um.shape == (1000, 2, 3) and made.history.steps == ()
    assert made.middle_um[:, 1].std() > 0.1  # hands differ
    with pytest.raises(ValueError, match="record keeps the history of one workshop"):
        make_land_gauges(start, rounds=1, record=True)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (
            lambda: make_land_gauges([1, 2], rounds=1),
            "middle_um is a row of 2; it must be 3 figures in each row, one for each position.",
        ),
        (lambda: make_land_gauges([1, 2, 3], rounds=1, share=2), "share is 2; it must be 0 to 1."),
        (
            lambda: make_land_gauges([1, 2, 3], rounds=1, lands_mm=(0, 5, 200)),
            "width_mm is 10; it must be above 0 and at most 2.5.",
        ),
        (
            lambda: make_land_gauges([1, 2, 3], rounds=1, lands_mm=(0, 50, 100, 150)),
            "lands_mm holds 4 lands; it must hold 3.",
        ),
        (lambda: make_land_gauges([1, 2, 3], rounds=1, tool="axe"), "tool is 'axe'; it must be 'bastard file'"),
        (
            lambda: middle_of(range(10), np.zeros(10)),
            "x_mm holds 10 points; it must hold the same number on each of 3 lands.",
        ),
        (
            lambda: three_bars(range(10), np.zeros((3, 10)), rounds=1, removal_um=1, lands=3),
            "x_mm holds 10 points; it must hold the same number on each of 3 lands.",
        ),
    ],
)
def test_land_gauges_refuse_in_a_sentence(call, sentence):
    with pytest.raises(ValueError) as told:
        call()
    assert sentence in str(told.value)
