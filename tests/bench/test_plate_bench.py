"""A plate settles on three points around its centre of mass; marking prints and scraping takes what printed."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from simulate.bench.cutting.scraping import Scraper, scrape
from simulate.bench.looking.spotting import bearing_share, marked, points_per_square_inch
from simulate.bench.seating.placement import face_plate, meeting, overlap
from simulate.bench.seating.plate_seat import seat_plate, settle_plate


def highs_seat(x, y, s, centre):
    """Height of the lowest plane under the load with nothing above it: scipy.optimize.linprog (HiGHS)."""
    xx, yy = np.meshgrid(x - centre[0], y - centre[1])
    met = np.isfinite(s)
    a = -np.stack([np.ones(met.sum()), xx[met], yy[met]], axis=1)
    found = linprog([1, 0, 0], A_ub=a, b_ub=-s[met], bounds=[(None, None)] * 3, method="highs")
    return found.fun


def seat_height(x, y, s, seated, centre):
    """Height of the seat under the load, from the gap over the first contact and the tilt."""
    column, row = (np.argmin(np.abs(a - v)) for a, v in zip((x, y), seated.contacts_mm[0]))
    return s[row, column] + seated.tilt_um_per_mm @ (np.array(centre) - seated.contacts_mm[0])


@settings(deadline=None, max_examples=50)
@given(st.integers(2, 9), st.integers(2, 9), st.integers(0, 2**32 - 1), st.sampled_from([0, 1, 3, 9]), st.booleans())
def test_the_seat_is_the_lowest_plane_under_the_load(rows, columns, seed, levels, middle):
    rng = np.random.default_rng(seed)
    x, y = np.sort(rng.choice(200, columns, False)) * 1.0, np.sort(rng.choice(200, rows, False)) * 1.0
    # Few whole levels give many ties, as flat and stepped faces do.
    s = rng.integers(0, levels + 1, (rows, columns)) * 10.0 if levels < 9 else rng.normal(0, 50, (rows, columns))
    centre = (0.5 * (x[0] + x[-1]), 0.5 * (y[0] + y[-1]))
    if not middle:
        centre = (x[0] + 0.4 * np.ptp(x), y[0] + 0.7 * np.ptp(y))
    seated = seat_plate(x, y, s, centre)
    assert seat_height(x, y, s, seated, centre) == pytest.approx(highs_seat(x, y, s, centre), abs=2e-5)
    assert (seated.gap_um >= 0).all()
    # The three contacts touch, and the load lies within their triangle.
    for cx, cy in seated.contacts_mm:
        assert seated.gap_um[np.argmin(np.abs(y - cy)), np.argmin(np.abs(x - cx))] == pytest.approx(0, abs=1e-9)
    part = np.linalg.solve(np.vstack([np.ones(3), seated.contacts_mm.T]), [1, *centre])
    assert (part > -1e-6).all()
    # A plane through the summed heights is all that the seat adds.
    yy, xx = np.meshgrid(y, x, indexing="ij")
    plane = seated.gap_um + s - seated.tilt_um_per_mm[0] * xx - seated.tilt_um_per_mm[1] * yy
    assert np.ptp(plane) == pytest.approx(0, abs=1e-7)


@settings(deadline=None, max_examples=100)
@given(st.integers(2, 8), st.integers(0, 3), st.sampled_from([0, 90, 180, 270]), st.tuples(*[st.integers(-5, 5)] * 2))
def test_what_meets_is_found_by_turning_over_turning_round_and_sliding_each_point(rows, more, turned, slide):
    columns = rows + (2 * (more // 2) if turned in (90, 270) else more)
    met = {}
    for row in range(rows):
        for column in range(columns):
            x, y = -(column - (columns - 1) / 2), row - (rows - 1) / 2  # turned over about y
            for _ in range(turned // 90):
                x, y = -y, x
            under = round(y + slide[1] + (rows - 1) / 2), round(x + slide[0] + (columns - 1) / 2)
            if 0 <= under[0] < rows and 0 <= under[1] < columns:
                met[under[0] * columns + under[1]] = row * columns + column
    sides = [len({place // columns for place in met}), len({place % columns for place in met})]
    if min(sides) < 2:
        with pytest.raises(
            ValueError,
            match=f"where {len(met)} points of {rows} by {columns} meet; it must be a slide that lets at least three",
        ):
            overlap(rows, columns, turned, slide)
        return
    lower, upper = overlap(rows, columns, turned, slide)
    assert dict(zip(lower.tolist(), upper.tolist())) == met
    # What is written to a view is written to the plate.
    a, b = np.zeros((2, rows, columns))
    below, above, (at_rows, at_columns) = meeting(a, b, turned, slide)
    below += 1
    above += 1
    assert set(np.flatnonzero(a)) == set(met) and set(np.flatnonzero(b)) == set(met.values())
    assert (a[at_rows, at_columns] == 1).all()


def test_a_seat_found_from_an_earlier_one_is_the_same_seat():
    rng = np.random.default_rng(4)
    x, h = np.linspace(-1, 1, 17), rng.normal(0, 9, (20, 17 * 17))
    _, before, _ = settle_plate(x, x, h, (0, 0))
    later = h + rng.normal(0, 3, h.shape)
    fresh, told = settle_plate(x, x, later, (0, 0)), settle_plate(x, x, later, (0, 0), before)
    assert told[0] == pytest.approx(fresh[0], abs=1e-9)
    assert (np.sort(told[1]) == np.sort(fresh[1])).all() and not (np.sort(before) == np.sort(told[1])).all()


@pytest.mark.parametrize("grid", [21, 22, 61])
def test_rough_plates_seat_as_the_general_solver_says(grid):
    rng = np.random.default_rng(grid)
    x = np.linspace(-200, 200, grid)
    s = rng.normal(0, 20, (4, grid, grid)) - 100 * rng.normal(size=(4, 1, 1)) * (x**2 + x[:, None] ** 2) / 200**2
    seated = seat_plate(x, x, s)
    for k in range(4):
        one = seat_plate(x, x, s[k])
        assert seat_height(x, x, s[k], one, (0, 0)) == pytest.approx(highs_seat(x, x, s[k], (0, 0)), abs=2e-5)
        assert seated.gap_um[k] == pytest.approx(one.gap_um, abs=1e-9)


def test_a_dome_rocks_and_a_bowl_stands_on_its_corners():
    x = np.linspace(-100, 100, 21)
    bowl = (x**2 + x[:, None] ** 2) / 400
    seated = seat_plate(x, x, np.stack([-bowl, bowl, 0 * bowl]))
    assert seated.rocks.tolist() == [True, False, False]
    assert np.abs(seated.contacts_mm[0]).max() <= 10
    assert np.abs(seated.contacts_mm[1]).min() == 100
    assert seated.gap_um[2].max() == 0


def test_two_plates_with_the_same_twist_rock_at_a_quarter_turn_only():
    x = np.linspace(-100, 100, 21)
    twist = np.outer(x, x) / 1000
    rocks = [bool(seat_plate(x, x, twist + face_plate(twist, t)).rocks) for t in (0, 90, 180, 270)]
    assert rocks == [False, True, False, True]


def test_a_tilted_plate_settles_as_a_level_one():
    rng = np.random.default_rng(5)
    x = np.linspace(0, 300, 16)
    s = rng.normal(0, 9, (16, 16))
    tilted = s + 0.4 * x - 0.2 * x[:, None] + 3000
    assert seat_plate(x, x, tilted).gap_um == pytest.approx(seat_plate(x, x, s).gap_um, abs=1e-6)


def test_a_slid_plate_settles_on_what_meets():
    rng = np.random.default_rng(6)
    x = np.linspace(-50, 50, 11)
    a, b = rng.normal(0, 9, (2, 11, 11))
    s = a + face_plate(b, 90, (3, -2))
    seated = seat_plate(x, x, s, centre_mm=(30, -20))
    assert (np.isnan(seated.gap_um) == np.isnan(s)).all()
    assert seat_height(x, x, s, seated, (30, -20)) == pytest.approx(highs_seat(x, x, s, (30, -20)), abs=2e-5)


@pytest.mark.parametrize(
    "change, words",
    [
        ({"centre_mm": (500, 0)}, r"centre_mm is \(500, 0\)"),
        ({"centre_mm": 5}, "centre_mm is 5; it must be two numbers"),
        (
            {"summed_height_um": np.zeros((2, 3))},
            r"summed_height_um is 2 by 3 figures; it must be 3 rows and 3 columns\.",
        ),
        ({"summed_height_um": np.full((3, 3), np.nan)}, "too few heights"),
        ({"summed_height_um": [[0, 0, 0], [0, np.nan, 0], [0, 0, 0]]}, "it must be a finite number"),
        ({"y_mm": [0, 0, 1]}, r"y_mm is 0 at point 1, after 0; it must be in rising order\."),
    ],
)
def test_bad_seats_are_refused_in_words(change, words):
    with pytest.raises(ValueError, match=words):
        seat_plate(**({"x_mm": [-1, 0, 1], "y_mm": [-1, 0, 1], "summed_height_um": np.zeros((3, 3))} | change))


def test_a_film_prints_where_the_gap_is_thinner_and_bearing_is_its_share():
    gap = np.array([[0.0, 1.9, 2.0], [np.nan, 9.0, 0.0]])
    assert marked(gap, 2.0).tolist() == [[True, True, False], [False, False, True]]
    assert bearing_share(gap, 2.0) == pytest.approx(3 / 5)


def test_thick_film_prints_a_false_bearing():
    # Marking spread too thick bridges 50 um and prints falsely (published, craft text).
    x = np.linspace(-100, 100, 41)
    gap = seat_plate(x, x, 50 * (x**2 + x[:, None] ** 2) / 20000).gap_um
    assert bearing_share(gap, 51) == 1
    assert bearing_share(gap, 2) < 0.05


def test_points_are_counted_by_the_square_inch():
    # Single points every 5 mm both ways: (25.4 / 5)² = 25.8 in each square of 25.4 mm.
    x = np.arange(0.5, 50, 1.0)
    printed = np.zeros((2, 50, 50), dtype=bool)
    printed[0, 2::5, 2::5] = True
    counted = points_per_square_inch(x, x, printed)
    assert counted.shape == (2, 2, 2)
    assert counted[0] == pytest.approx(25.8, abs=0.01)
    assert counted[1].max() == 0
    assert points_per_square_inch(x, x, printed, least_mm2=1.1).max() == 0


def test_a_mark_that_the_border_of_its_square_cuts_counts_half_on_either_side():
    x = np.arange(0.5, 50.8, 1.0)  # 51 points of 1 mm: two squares each way
    printed = np.zeros((51, 51), dtype=bool)
    printed[10, 20:30] = True
    counted = points_per_square_inch(x, x, printed) / (2 * 25.4 / 51) ** 2
    assert counted == pytest.approx(np.array([[0.5, 0.5], [0, 0]]))


def test_points_that_touch_are_one_mark_but_never_across_plates():
    x = np.arange(25.0)
    printed = np.zeros((2, 25, 25), dtype=bool)
    printed[:, 5:9, 5:9] = True
    assert points_per_square_inch(x, x, printed).ravel() == pytest.approx([(25.4 / 25) ** 2] * 2)


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 2**32 - 1), st.floats(0.1, 20), st.floats(0.5, 10))
def test_scraping_takes_metal_only_where_it_printed(seed, removal, film):
    rng = np.random.default_rng(seed)
    x = np.linspace(0, 90, 10)
    h = rng.normal(0, 5, (2, 10, 10))
    gap = np.abs(rng.normal(0, 5, (2, 10, 10)))
    after = scrape(x, x, h, gap, removal_um=removal, film_um=film, seed=seed)
    assert (after <= h).all()
    assert (after[gap >= film] == h[gap >= film]).all()
    assert (h - after).max() <= 2 * removal + 1e-9


@pytest.mark.parametrize(
    "call, words",
    [
        (lambda: marked([[0.0]], 0), "film_um is 0; it must be more than 0"),
        (lambda: Scraper(spot_mm=0), "spot_mm is 0; it must be more than 0"),
        (
            lambda: scrape([0, 1], [0, 1], np.zeros((2, 2)), np.zeros((3, 2)), removal_um=1),
            r"height_um and gap_um are 2 by 2 figures and 3 by 2 figures; they must be 2 rows and 2 columns\.",
        ),
        (
            lambda: points_per_square_inch([0, 1], [0, 1], np.zeros((3, 3))),
            r"printed is 3 by 3 figures; it must be 2 rows and 2 columns\.",
        ),
    ],
)
def test_bad_marking_and_scraping_is_refused_in_words(call, words):
    with pytest.raises(ValueError, match=words):
        call()
