"""What is said to be 95 % sure is so 95 times in 100, and what is said to be certain always is."""

import numpy as np
import pytest
import workshops_read as made
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binomtest

from simulate.bench.looking.eye import Eye, wedge_test
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.eye.wedge import solve_wedge
from simulate.readings.lands.solve_lands import solve_lands
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.survey.union_jack import union_jack

TRIES = 200


def bar_heights(rng, sd, **how):
    truth, table = made.bars(rng, **how)
    found = solve_bars(table, sd, bounds=False)
    return truth, found.height_um, found.factor_95 * found.sd_um


def plate_heights(rng, sd, **how):
    truth, table = made.plates(rng, **how)
    found = solve_plates(table, sd, bounds=False)
    return truth, found.height_um, found.factor_95 * found.sd_um


def square_angles(rng, sd, **how):
    truth, table = made.squares(rng, **how)
    found = solve_squares(table, sd, bounds=False)
    return truth, found.angle_urad, found.factor_95 * found.sd_urad


def land_heights(rng, sd, **how):
    truth, table = made.lands(rng, **how)
    found = solve_lands(table, sd)
    return truth[1:-1], found.network.height_um[1:-1], found.factor_95 * found.network.sd_um[1:-1]


def survey_heights(rng, sd, **how):
    truth, table = made.survey(rng, **how)
    found = union_jack(table, sd)
    level = np.array([truth[float(x), float(y)] for x, y in zip(found.x_mm, found.y_mm)])
    keep = found.least_squares_sd_um > 1e-9  # the centre is zero by the datum
    return level[keep], found.least_squares_height_um[keep], found.factor_95 * found.least_squares_sd_um[keep]


KINDS = {
    "bars": bar_heights,
    "plates": plate_heights,
    "squares": square_angles,
    "lands": land_heights,
    "survey": survey_heights,
}
TWICE = {"bars": {"turned": True}}  # with three bars in three pairs no reading is to spare


def held(kind, sd, seed, tries=TRIES, **how):
    """Count the workshops in which one value, chosen by lot, lies within what was said."""
    rng, inside = np.random.default_rng(seed), 0
    for _ in range(tries):
        truth, value, half = KINDS[kind](rng, sd, **how)
        one = rng.integers(value.size)
        inside += bool(abs(truth.ravel()[one] - value.ravel()[one]) <= half.ravel()[one])
    return inside


@pytest.mark.parametrize("kind", KINDS)
def test_ranges_hold_95_in_100_where_the_spread_is_given(kind):
    assert binomtest(held(kind, 1.0, 5), TRIES, 0.95).pvalue > 0.002


@pytest.mark.parametrize("kind", KINDS)
def test_ranges_hold_95_in_100_where_the_spread_is_found_from_the_readings(kind):
    assert binomtest(held(kind, None, 6, sd_um=2.5, **TWICE.get(kind, {})), TRIES, 0.95).pvalue > 0.002


@pytest.mark.parametrize("kind", ["bars", "plates", "squares", "lands"])
def test_ranges_hold_at_least_about_95_in_100_where_readings_are_intervals(kind):
    # an interval counts as evenly likely all over; sums of few such errors have shorter tails than the normal
    tries = TRIES // 2
    assert binomtest(held(kind, None, 7, tries, step_um=6.0), tries, 0.95, alternative="less").pvalue > 0.002


def test_ranges_hold_95_in_100_where_points_and_intervals_stand_together():
    rng, inside = np.random.default_rng(9), 0
    for _ in range(TRIES):
        truth, points = made.squares(rng, sd_um=2.5, names="ABCD")
        wide = np.arange(len(points)) % 3 == 1
        start = rng.uniform(0, 6, len(points))
        exact = points.gap_um.copy()
        _replace_by_intervals(points, wide, truth, start)
        found = solve_squares(points, bounds=False)
        assert found.sd_from == "residuals" and (exact[~wide] == points.gap_um[~wide]).all()
        one = rng.integers(4)
        inside += bool(abs(found.angle_urad[one] - truth[one]) <= found.factor_95 * found.sd_urad[one])
    assert binomtest(inside, TRIES, 0.95).pvalue > 0.002


def _replace_by_intervals(table, wide, truth, start):
    """Let some rows say only between which two marks, 6 um apart, the true gap lies."""
    true = (truth[table.lower] + truth[table.upper]) * table.position_mm / 1000
    for pair in {(a, b) for a, b in zip(table.lower, table.upper)}:
        mine = (table.lower == pair[0]) & (table.upper == pair[1])
        true[mine] += 35 - true[mine].min()
    low = np.floor((true - start) / 6) * 6 + start
    table.gap_um[wide] = np.nan
    table.low_um[wide], table.high_um[wide] = low[wide], low[wide] + 6


def test_a_few_readings_to_spare_make_the_range_as_wide_as_students_t():
    rng = np.random.default_rng(1)
    _, table = made.squares(rng)
    found = solve_squares(table)
    assert found.sd_from == "residuals" and found.freedom == 6  # 12 gaps, 3 angles, 3 starts
    assert found.factor_95 == pytest.approx(2.446912, rel=1e-6)  # Student, 6 degrees of freedom: printed tables


def test_the_threshold_of_an_eye_lies_in_its_range_95_times_in_100():
    rng, inside, fitted = np.random.default_rng(8), 0, 0
    gap = np.arange(0.5, 5.01, 0.5)
    for _ in range(TRIES):
        eye = Eye("light", rng.uniform(1.5, 3.5), rng.uniform(0.4, 0.8))
        rows = [f"{g},12,{s}" for g, s in zip(gap, wedge_test(eye, gap, 12, rng))]
        try:
            found = solve_wedge(made.table_of("gap_um,looks,seen", rows))
        except ValueError:
            continue  # the looks set no spread, and that is said
        fitted += 1
        inside += found.low_um <= eye.threshold_um <= found.high_um
    assert fitted > 0.9 * TRIES
    assert binomtest(inside, fitted, 0.95).pvalue > 0.002


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 60))
def test_bounds_of_bars_always_hold_the_truth(seed, step):
    truth, table = made.bars(np.random.default_rng(seed), step_um=step, x=made.POINTS[::2])
    found = solve_bars(table)
    assert not found.conflict
    assert (found.low_um - 2e-3 <= truth).all() and (truth <= found.high_um + 2e-3).all()


@settings(max_examples=5, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 60))
def test_bounds_of_plates_always_hold_the_truth(seed, step):
    truth, table = made.plates(np.random.default_rng(seed), step_um=step)
    found = solve_plates(table)
    assert (found.low_um - 2e-3 <= truth).all() and (truth <= found.high_um + 2e-3).all()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 60))
def test_bounds_of_squares_always_hold_the_truth(seed, step):
    truth, table = made.squares(np.random.default_rng(seed), step_um=step)
    found = solve_squares(table)
    assert (found.low_urad - 0.05 <= truth).all() and (truth <= found.high_urad + 0.05).all()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.floats(0.5, 60))
def test_bounds_of_lands_always_hold_the_truth(seed, step):
    truth, table = made.lands(np.random.default_rng(seed), step_um=step)
    found = solve_lands(table)
    assert not found.conflict
    assert (found.low_um - 1e-3 <= truth).all() and (truth <= found.high_um + 1e-3).all()
