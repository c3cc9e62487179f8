"""Straightness and flatness, held against published values and against general-purpose solvers."""

import re
from pathlib import Path

import numpy as np
import pytest
import scipy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from simulate.surface.flatness import flatness
from simulate.surface.straightness import least_squares_line, straightness

whole_heights = st.lists(st.integers(-50, 50), min_size=2, max_size=12)


def narrowest_by_highs(columns, height):
    """Width of the minimum zone as a linear programme: least w with |height - columns @ c| <= w / 2."""
    half = np.ones((len(height), 1))
    rows = np.block([[-columns, -half], [columns, -half]])
    answer = linprog(
        [0] * columns.shape[1] + [1],
        A_ub=rows,
        b_ub=np.r_[-height, height],
        bounds=[(None, None)] * (columns.shape[1] + 1),
        method="highs",
    )
    assert answer.status == 0
    return 2 * answer.fun


def narrowest_by_hull(points):
    """Width of a profile along its heights by Qhull: the narrowest zone lies along a side of the hull."""
    hull = ConvexHull(points)
    widths = []
    for normal in hull.equations[:, :-1]:
        if abs(normal[-1]) > 1e-12:
            widths.append(np.ptp(points @ normal) / abs(normal[-1]))
    return min(widths)


def zone(x, h, reference="minimum zone"):
    return straightness(x, h, reference).value_um


# Straightness: published values


def test_an_autocollimator_line_is_out_by_3_um_between_its_end_points():
    """Published: university course slides on straightness and flatness measurement."""
    mean_arcsec = np.array([130, 130, 133, 137, 128, 130, 134])
    height_um = np.cumsum(0.5 * (mean_arcsec - mean_arcsec[0]))
    np.testing.assert_allclose(height_um, [0, 0, 1.5, 5, 4, 4, 6])
    x_mm = 100.0 * np.arange(7)
    assert zone(x_mm, height_um, "end points") == pytest.approx(3, abs=1e-12)
    assert zone(x_mm, height_um) == pytest.approx(3, abs=1e-12)
    assert zone(x_mm, height_um, "least squares") == pytest.approx(3.0357142857, abs=1e-9)


def norris():
    path = Path(scipy.__file__).parent / "stats/tests/data/nist_linregress/Norris.dat"
    if not path.exists():
        pytest.skip("this build of scipy comes without its test data")
    pairs = [line.split() for line in path.read_text().splitlines()[60:96]]
    y, x = np.array(pairs, dtype=float).T
    assert x.size == 36
    return x, y


def test_the_least_squares_line_has_the_certified_values_of_norris():
    """Published: NIST Statistical Reference Datasets, linear regression, Norris."""
    x, y = norris()
    intercept, slope = least_squares_line(x, y)
    assert intercept == pytest.approx(-0.262323073774029, abs=1e-11)
    assert slope == pytest.approx(1.00211681802045, abs=1e-14)
    order = np.argsort(x, kind="stable")
    found = straightness(x[order], y[order], "least squares")
    assert found.slope_um_per_mm == pytest.approx(1.00211681802045, abs=1e-13)
    spread = np.sqrt(np.sum(found.residual_um**2) / 34)
    assert spread == pytest.approx(0.884796396144373, abs=1e-11)


def test_the_best_line_through_the_origin_of_a_lecture_is_found():
    """Published: lecture notes on linear programming: c = 2.5 for (1, 2), (2, 5), (3, 8), largest residual 0.5.

    A line through the origin is a profile mirrored in it: the zone about it is then balanced.
    """
    x = np.array([-3, -2, -1, 1, 2, 3.0])
    found = straightness(x, [-8, -5, -2, 2, 5, 8])
    assert found.slope_um_per_mm == pytest.approx(2.5, abs=1e-12)
    assert found.value_um == pytest.approx(2 * 0.5, abs=1e-12)
    assert np.abs(found.residual_um).max() == pytest.approx(0.5, abs=1e-12)


# Straightness: by hand


@pytest.mark.parametrize("reference", ["minimum zone", "end points"])
def test_a_bowed_bar_is_out_by_its_bow(reference):
    x = np.linspace(-250, 250, 101)
    for bow in (80, -80):
        assert zone(x, bow * (1 - (x / 250) ** 2), reference) == pytest.approx(80, rel=1e-12)


def test_an_s_shape_is_narrower_than_its_end_points_say():
    """Derived: for x cubed on -1 to 1 the zone is that of the Chebyshev polynomial, half of the cube's reach."""
    t = np.linspace(-1, 1, 201)
    assert zone(t, t**3) == pytest.approx(0.5, rel=1e-12)
    assert zone(t, t**3, "end points") == pytest.approx(4 / np.sqrt(27), rel=1e-3)


def test_two_points_are_always_straight():
    found = straightness([0, 10], [[3, 8], [0, 0]])
    np.testing.assert_array_equal(found.value_um, [0, 0])
    np.testing.assert_array_equal(found.residual_um, 0)
    np.testing.assert_allclose(found.slope_um_per_mm, [0.5, 0])


def test_residuals_are_centred_as_their_reference_says():
    rng = np.random.default_rng(4)
    x = np.sort(rng.uniform(0, 500, 40))
    h = rng.normal(size=(5, 2, 40)).cumsum(axis=-1)
    middle = straightness(x, h)
    np.testing.assert_allclose(middle.residual_um.max(axis=-1), middle.value_um / 2)
    np.testing.assert_allclose(middle.residual_um.min(axis=-1), -middle.value_um / 2)
    mean = straightness(x, h, "least squares").residual_um
    np.testing.assert_allclose(mean.mean(axis=-1), 0, atol=1e-12)
    np.testing.assert_allclose(mean @ x, 0, atol=1e-8)
    ends = straightness(x, h, "end points").residual_um
    np.testing.assert_allclose(ends[..., [0, -1]], 0, atol=1e-12)


def test_what_is_taken_off_is_a_line_of_the_slope_that_is_told():
    x = np.array([0, 1, 3, 7.0])
    h = np.array([4, -2, 5, 0.0])
    for reference in ("minimum zone", "least squares", "end points"):
        found = straightness(x, h, reference)
        line = h - found.residual_um
        np.testing.assert_allclose(np.diff(line) / np.diff(x), found.slope_um_per_mm, atol=1e-12)


# Straightness: other solvers


def test_many_profiles_have_the_width_that_highs_finds():
    rng = np.random.default_rng(5)
    looked_at = 0
    for points in (3, 4, 5, 9, 30):
        x = np.cumsum(rng.uniform(0.1, 3, points))
        h = rng.normal(size=(12, points))
        h[::3] = np.round(h[::3])
        for profile, width in zip(h, zone(x, h), strict=True):
            columns = np.stack([np.ones(points), x / x[-1]], axis=1)
            assert width == pytest.approx(narrowest_by_highs(columns, profile), rel=1e-9, abs=1e-9)
            looked_at += 1
    assert looked_at == 60


def test_many_profiles_have_the_width_that_qhull_finds():
    rng = np.random.default_rng(6)
    x = np.linspace(0, 1, 60)
    h = rng.normal(size=(40, 60)).cumsum(axis=1)
    widths = zone(x, h)
    hulls = [narrowest_by_hull(np.stack([x, profile], axis=1)) for profile in h]
    np.testing.assert_allclose(widths, hulls, rtol=1e-9)


def test_the_least_squares_line_is_the_one_of_lstsq():
    rng = np.random.default_rng(7)
    x, h = np.sort(rng.uniform(-300, 300, 25)), rng.normal(size=25)
    columns = np.stack([np.ones(25), x], axis=1)
    line = columns @ np.linalg.lstsq(columns, h, rcond=None)[0]
    np.testing.assert_allclose(straightness(x, h, "least squares").residual_um, h - line, atol=1e-12)


# Straightness: what changes nothing


@given(whole_heights, st.integers(-1000, 1000), st.integers(-1000, 1000))
def test_adding_a_line_or_turning_the_bar_changes_no_straightness(heights, level, slope):
    """Derived: each reference is a line, and moves with the line that is added."""
    x = np.cumsum(1 + np.arange(len(heights)) % 3).astype(float)
    h = np.array(heights, dtype=float)
    for reference in ("minimum zone", "least squares", "end points"):
        value = zone(x, h, reference)
        assert zone(x, h + level + slope * x, reference) == pytest.approx(value, abs=1e-8)
        assert zone(-x[::-1], h[::-1], reference) == pytest.approx(value, abs=1e-9)
        assert zone(x, -h, reference) == pytest.approx(value, abs=1e-9)


@given(whole_heights)
def test_no_line_gives_less_than_the_minimum_zone(heights):
    """Derived: the minimum zone is the least over every line."""
    x = np.arange(len(heights)) ** 1.5
    least = zone(x, heights)
    assert least <= zone(x, heights, "least squares") + 1e-9
    assert least <= zone(x, heights, "end points") + 1e-9


def test_one_bar_and_many_bars_are_judged_alike():
    rng = np.random.default_rng(8)
    x = np.linspace(0, 1, 101)
    h = rng.normal(size=(2000, 101))
    many = straightness(x, h)
    for place in (0, 700, 1999):
        one = straightness(x, h[place])
        assert isinstance(one.value_um, float)
        assert one.value_um == many.value_um[place]
        np.testing.assert_array_equal(one.residual_um, many.residual_um[place])


def test_a_height_far_above_the_datum_costs_no_sharpness():
    x = np.linspace(1000, 1500, 51)
    h = 5.0 * (np.arange(51) % 2)
    assert zone(x, h + 1e6 + 10 * x) == pytest.approx(zone(x, h), abs=1e-8)


@pytest.mark.parametrize(
    ("x", "h", "reference", "sentence"),
    [
        (
            [0, 1, 2],
            [0, 1, 2],
            "best",
            "reference is 'best'; it must be 'minimum zone', 'least squares' or 'end points'.",
        ),
        ([0, 2, 1], [0, 1, 2], "minimum zone", "x_mm is 1 at point 2, after 2; it must be in rising order."),
        ([0, 1, 1], [0, 1, 2], "minimum zone", "x_mm is 1 at point 2, after 1; it must be in rising order."),
        (
            [0, 2, 1],
            [0, 1, 2],
            "least squares",
            "x_mm is 1 at point 2, after 2; it must be in rising order.",
        ),
        (
            [0, 1],
            [0, 1, 2],
            "minimum zone",
            "height_um is a row of 3; it must be 2 figures in each row, one for each position.",
        ),
        ([0, 1], [0, np.nan], "minimum zone", "height_um is nan at place 1; it must be a finite number."),
    ],
)
def test_a_profile_that_cannot_be_judged_is_refused_in_a_sentence(x, h, reference, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        straightness(x, h, reference)


def test_a_line_through_one_place_is_refused():
    with pytest.raises(ValueError, match=r"x_mm holds 1 different position; it must hold at least two, in one row\."):
        least_squares_line([3, 3], [0, 1])


# Flatness


def test_a_dome_a_twist_and_a_saddle_are_out_by_what_they_are_out_by():
    """By hand: over -1 to 1, a dome u^2 + v^2 reaches 2; u v from -1 to 1; u^2 - v^2 from -1 to 1."""
    t = np.linspace(-1, 1, 21)
    u, v = np.meshgrid(t, t)
    found = flatness(100 * t, 60 * t, np.stack([u**2 + v**2, u * v, u**2 - v**2]) + 3 * u - 7 * v + 5)
    np.testing.assert_allclose(found.value_um, 2, rtol=1e-12)
    np.testing.assert_allclose(found.residual_um.max(axis=(1, 2)), 1, rtol=1e-9)
    np.testing.assert_allclose(found.residual_um.min(axis=(1, 2)), -1, rtol=1e-9)


def test_a_peak_over_a_triangle_is_as_high_as_it_stands_over_the_plane_of_the_three():
    assert flatness([0, 9, 0, 3], [0, 0, 9, 3], [0, 0, 0, 6]).value_um == pytest.approx(6, rel=1e-12)
    assert flatness([0, 9, 0], [0, 0, 9], [5, 1, 2]).value_um == pytest.approx(0, abs=1e-12)


def test_two_readings_in_one_place_differ_by_the_least_zone():
    assert flatness([0, 9, 0, 0], [0, 0, 9, 0], [0, 0, 0, 4]).value_um == pytest.approx(4, rel=1e-12)


def test_scattered_points_have_the_width_that_highs_finds():
    rng = np.random.default_rng(9)
    looked_at = 0
    for points in (4, 5, 6, 10, 40):
        for case in range(10):
            x, y, z = rng.normal(size=(3, points))
            if case % 3 == 0:
                z = np.round(z)
            columns = np.stack([np.ones(points), x, y], axis=1)
            found = flatness(200 * x, 300 * y, z).value_um
            assert found == pytest.approx(narrowest_by_highs(columns, z), rel=1e-9, abs=1e-9)
            looked_at += 1
    assert looked_at == 50


def test_points_on_a_coarse_lattice_have_the_width_that_highs_finds():
    """Many ties: heights of 0 and 1 on a few rows, where an exchange could run in a circle."""
    rng = np.random.default_rng(10)
    looked_at = 0
    for columns_n in range(3, 13):
        u, v = np.meshgrid(np.linspace(-1, 1, columns_n), np.linspace(-1, 1, 3))
        for z in rng.integers(0, 2, size=(4, 3, columns_n)).astype(float):
            columns = np.stack([np.ones(u.size), u.ravel(), v.ravel()], axis=1)
            expected = narrowest_by_highs(columns, z.ravel())
            assert flatness(u[0], v[:, 0], z).value_um == pytest.approx(expected, rel=1e-9, abs=1e-9)
            looked_at += 1
    assert looked_at == 40


def test_the_least_squares_plane_is_the_one_of_lstsq():
    rng = np.random.default_rng(11)
    x, y, z = rng.normal(size=(3, 30))
    columns = np.stack([np.ones(30), x, y], axis=1)
    plane = np.linalg.lstsq(columns, z, rcond=None)[0]
    found = flatness(x, y, z, "least squares")
    np.testing.assert_allclose(found.residual_um, z - columns @ plane, atol=1e-12)
    assert found.slope_x_um_per_mm == pytest.approx(plane[1], abs=1e-12)
    assert found.slope_y_um_per_mm == pytest.approx(plane[2], abs=1e-12)


def test_a_grid_and_its_scattered_points_are_judged_alike():
    rng = np.random.default_rng(12)
    x, y = np.array([0, 10, 40, 50.0]), np.array([0, 5, 30.0])
    z = rng.normal(size=(3, 4))
    across, along = np.meshgrid(x, y)
    for reference in ("minimum zone", "least squares"):
        grid = flatness(x, y, z, reference)
        loose = flatness(across.ravel(), along.ravel(), z.ravel(), reference)
        assert grid.value_um == pytest.approx(loose.value_um, rel=1e-12)
        np.testing.assert_allclose(grid.residual_um.ravel(), loose.residual_um, atol=1e-12)


def test_a_square_count_of_points_is_scattered_on_one_axis_and_a_grid_on_two():
    side = np.array([0.0, 1, 2])
    assert flatness(side, side[::-1] ** 2, [0, 1, 0]).residual_um.shape == (3,)
    assert flatness(side, side, np.zeros((3, 3))).residual_um.shape == (3, 3)


@settings(max_examples=30)
@given(
    st.lists(st.integers(-20, 20), min_size=12, max_size=12),
    st.integers(-50, 50),
    st.integers(-50, 50),
    st.floats(0, 6.3),
)
def test_adding_a_plane_or_turning_the_plate_changes_no_flatness(heights, slope_x, slope_y, angle):
    """Derived: the reference is a plane, and moves with the plane that is added and with the plate."""
    x, y = (part.ravel() for part in np.meshgrid([0, 1, 3, 4.0], [0, 2, 3.0]))
    z = np.array(heights, dtype=float)
    turned = (x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle))
    for reference in ("minimum zone", "least squares"):
        value = flatness(x, y, z, reference).value_um
        assert flatness(x, y, z + slope_x * x + slope_y * y + 9, reference).value_um == pytest.approx(value, abs=1e-8)
        assert flatness(*turned, z, reference).value_um == pytest.approx(value, abs=1e-8)
        assert flatness(-x, y, -z, reference).value_um == pytest.approx(value, abs=1e-8)
    assert flatness(x, y, z).value_um <= flatness(x, y, z, "least squares").value_um + 1e-9


def test_no_plane_through_three_of_the_points_gives_less_than_the_minimum_zone():
    """Derived: the minimum zone is the least over every plane, so over every three-point datum."""
    rng = np.random.default_rng(13)
    x, y, z = rng.normal(size=(3, 20))
    least = flatness(x, y, z).value_um
    columns = np.stack([np.ones(20), x, y], axis=1)
    tried = 0
    for _ in range(200):
        three = rng.choice(20, 3, replace=False)
        off = z - columns @ np.linalg.solve(columns[three], z[three])
        assert np.ptp(off) >= least - 1e-9
        tried += 1
    assert tried == 200


def test_one_plate_and_many_plates_are_judged_alike():
    rng = np.random.default_rng(14)
    t = np.linspace(0, 1, 9)
    z = rng.normal(size=(4, 500, 9, 9))
    many = flatness(t, 2 * t, z)
    assert many.value_um.shape == (4, 500)
    one = flatness(t, 2 * t, z[3, 250])
    assert isinstance(one.value_um, float)
    assert one.value_um == pytest.approx(many.value_um[3, 250], rel=1e-12)


@pytest.mark.parametrize(
    ("x", "y", "z", "sentence"),
    [
        (
            [0, 1, 2],
            [0, 1, 2],
            [0, 1, 0],
            "the points are all on one line; they must be at least 3 that do not lie on one line.",
        ),
        (
            [1, 1, 1],
            [0, 1, 2],
            [0, 1, 0],
            "the points are all on one line; they must be at least 3 that do not lie on one line.",
        ),
        ([0, 1], [0, 1], [0, 1], "height_um holds 2 points; it must hold at least 3, for a plane."),
        ([0, 1, 2], [0, 1], [0, 1, 0], "x_mm, y_mm and height_um are a row of 3, a row of 2 and a row of 3"),
        (
            [0, 1, 2],
            [0, 1],
            np.zeros((3, 2)),
            "height_um is 3 by 2 figures; it must be 2 rows (one for each y_mm) and 3 columns (one for each x_mm).",
        ),
        ([0, 1], [1, 0], np.zeros((2, 2)), "y_mm is 0 at point 1, after 1; it must be in rising order."),
        ([0, 1], [0, 1], [[0, 1], [np.inf, 0]], "height_um is inf at place 1, 0; it must be a finite number."),
    ],
)
def test_a_surface_that_cannot_be_judged_is_refused_in_a_sentence(x, y, z, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        flatness(x, y, z)


def test_an_unknown_reference_plane_is_refused():
    with pytest.raises(ValueError, match="reference is 'end points'; it must be 'minimum zone' or 'least squares'."):
        flatness([0, 1], [0, 1], np.zeros((2, 2)), "end points")
