"""How a rigid bar settles, held against hand cases, HiGHS and Qhull."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from simulate.bench.seating.bar_seat import face, rest

HEIGHTS = hnp.arrays(float, 15, elements=st.integers(-400, 400).map(float))


def lowest_seat(x, s, centre):
    """The same seat as a linear program: lowest line at the centre that is nowhere below the sum."""
    a = -np.column_stack([np.ones_like(x), x - centre])
    return linprog([1, 0], A_ub=a, b_ub=-s, bounds=[(None, None)] * 2, method="highs").fun


def test_a_hollow_sum_rests_on_its_ends():
    x = np.linspace(-250, 250, 11)
    hollow = 100 * (x / 250) ** 2
    found = rest(x, hollow)
    assert found.contacts_mm.tolist() == [-250, 250]
    assert found.gap_um[5] == pytest.approx(100)
    assert not found.rocks


def test_a_crowned_sum_rocks_near_its_middle():
    x = np.linspace(-250, 250, 10)
    found = rest(x, -100 * (x / 250) ** 2)
    assert np.abs(found.contacts_mm).max() == pytest.approx(x[5])
    assert found.rocks


def test_a_step_is_met_at_its_edge_by_hand():
    # Proud by 30 at the left end and at 1/4 from the right: the line falls nowhere, all else gapes by 30.
    found = rest([0, 100, 200, 300, 400], [30, 0, 0, 30, 0])
    assert found.gap_um.tolist() == [0, 30, 30, 0, 30]
    assert found.contacts_mm.tolist() == [0, 300]


def test_two_flat_bars_touch_all_along_and_do_not_rock():
    found = rest(np.linspace(0, 300, 31), np.full(31, 7.0))
    assert found.gap_um.max() == 0
    assert found.contacts_mm.tolist() == [0, 300]
    assert not found.rocks


def test_pressing_at_an_end_seats_that_end():
    x = np.linspace(-100, 100, 21)
    crown = -50 * (x / 100) ** 2
    assert rest(x, crown, centre_mm=100).gap_um[-1] == 0
    assert rest(x, crown).gap_um[-1] > 40


def test_turning_end_for_end_twice_changes_nothing():
    h = np.arange(6.0)
    assert (face(face(h, turned=True), turned=True) == h).all()
    assert (face(h, turned=True) == h[::-1]).all()


@settings(deadline=None, max_examples=50)
@given(HEIGHTS, st.floats(-99, 99))
def test_the_seat_is_the_lowest_that_the_load_allows(s, centre):
    # scipy's HiGHS solves the same question as a linear program.
    x = np.linspace(-100, 100, 15) + np.linspace(0, 3, 15) ** 2
    found = rest(x, s, centre)
    line = s + found.gap_um
    straight = line[0] + (x - x[0]) * (line[-1] - line[0]) / (x[-1] - x[0])
    assert line == pytest.approx(straight, abs=1e-8)
    at_centre = np.interp(centre, x, line)
    assert at_centre == pytest.approx(lowest_seat(x, s, centre), abs=1e-7)
    assert (found.gap_um >= 0).all()
    left, right = found.contacts_mm
    assert left <= centre <= right and left < right
    assert np.interp([left, right], x, found.gap_um).max() == 0


def test_a_point_right_under_the_load_does_not_stop_the_tilt():
    # The middle stands up; right of it the seat must clear the far end too, by hand: slope -1 over 0, 100, 200.
    x = np.array([-200.0, -100, 0, 100, 200])
    found = rest(x, [-300.0, -300, 0, -150, -200])
    assert found.gap_um.tolist() == [500, 400, 0, 50, 0]
    rng = np.random.default_rng(1)
    s = rng.normal(0, 50, (2000, 21))
    x = np.linspace(-100, 100, 21)
    line = s + rest(x, s).gap_um
    assert np.abs(np.diff(line, 2, axis=-1)).max() < 1e-9


def test_points_in_one_line_beyond_a_contact_right_under_the_load_settle():
    # straight pieces sampled finely: every chord from the middle is the same one but for rounding
    rng, knots, fine = np.random.default_rng(3), np.linspace(-200, 200, 7), np.linspace(-200, 200, 61)
    height = rng.normal(-10, 3, (2000, 7))
    height[:, 3] = rng.normal(7, 1, 2000)
    height[:, 4] = height[:, 3] - 1e-3 * rng.uniform(size=2000)
    settled = rest(fine, np.stack([np.interp(fine, knots, one) for one in height]))
    np.testing.assert_allclose(settled.slope_um_per_mm, (height[:, 4] - height[:, 3]) / (200 / 3), atol=1e-12)


@settings(deadline=None, max_examples=40)
@given(HEIGHTS)
def test_contacts_are_points_of_the_convex_hull(s):
    x = np.linspace(-100, 100, 15)
    tilted = s + 1e-3 * x**2 * 1e-3  # Qhull refuses points that all lie on one line
    if np.ptp(tilted - np.interp(x, x[[0, -1]], tilted[[0, -1]])) < 1e-6:
        return
    hull = x[ConvexHull(np.column_stack([x, tilted])).vertices]
    assert np.isin(rest(x, tilted).contacts_mm, hull).all()


@settings(deadline=None, max_examples=40)
@given(HEIGHTS, st.floats(-2, 2), st.floats(-500, 500))
def test_tilting_or_lifting_a_bar_changes_no_gap(s, slope, lift):
    x = np.linspace(-100, 100, 15)
    assert rest(x, s + lift + slope * x).gap_um == pytest.approx(rest(x, s).gap_um, abs=1e-8)


def test_many_workshops_are_many_single_ones():
    x = np.linspace(-250, 250, 41)
    s = np.random.default_rng(3).normal(0, 30, (4, 5, 41)).cumsum(-1)
    together = rest(x, s)
    looped = 0
    for i in np.ndindex(4, 5):
        one = rest(x, s[i])
        assert one.gap_um == pytest.approx(together.gap_um[i], abs=1e-9)
        assert (one.contacts_mm == together.contacts_mm[i]).all() and one.rocks == together.rocks[i]
        looped += 1
    assert looped == 20


def test_an_s_that_fits_and_is_turned_rests_on_one_quarter_and_the_far_end_by_hand():
    """By hand: the sums are 0, 12, 0, -12, 0; a line from 12 at the left quarter to 0 at the right end clears them
    all."""
    ess = np.array([0, 6, 0, -6, 0.0])
    fitted = rest([-200, -100, 0, 100, 200], ess - ess)
    assert (fitted.gap_um == 0).all()
    turned = rest([-200, -100, 0, 100, 200], ess + face(-ess, turned=True))
    assert turned.gap_um == pytest.approx([16, 0, 8, 16, 0], abs=1e-12)
    assert turned.contacts_mm.tolist() == [-100, 200]


@pytest.mark.parametrize(
    "x, s, centre, words",
    [
        ([0, 10, 5], [0, 0, 0], None, r"x_mm is 5 at point 2, after 10; it must be in rising order\."),
        (
            [0, 5, 10],
            [0, 0],
            None,
            r"height_um is a row of 2; it must be 3 figures in each row, one for each position\.",
        ),
        ([0, 5, 10], [0, np.nan, 0], None, r"height_um is nan at place 1; it must be a finite number\."),
        ([0, 5, 10], [0, 0, 0], 11, "centre_mm is 11; it must be 0 to 10"),
        ([0, 5, 10], ["a", 0, 0], None, r"height_um is \['a', 0, 0\]; it must be numbers in a regular table\."),
    ],
)
def test_bad_input_is_refused_in_words(x, s, centre, words):
    with pytest.raises(ValueError, match=words):
        rest(x, s, centre)
