"""Plates are solved from gaps in pairs, and what a placement hides is refused by name."""

import io
import warnings

import numpy as np
import pytest
import statsmodels.api as sm

from simulate.bench.seating.placement import overlap
from simulate.core.refusal import Refusal
from simulate.method.plates.plate_null_space import hidden_plate_errors
from simulate.readings.plates.plate_stations import upper_point
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.table.read import read_readings

FACE = ((0, 1, 0, 0), (0, 2, 0, 0), (1, 2, 0, 0))
QUARTER, SLID = ((0, 1, 90, 0),), ((0, 1, 0, 1),)
ENOUGH = FACE + QUARTER + SLID


def sheet(shapes, fits=ENOUGH, side=5, step=50.0, noise_um=0.0, seed=0, interval_um=0.0, corner=0.0):
    """Readings of plates whose heights are functions of x and y from the centre."""
    rng = np.random.default_rng(seed)
    along = (np.arange(side) - (side - 1) / 2) * step
    x, y = (part.ravel() for part in np.meshgrid(along, along))
    columns = "gap_at_least_um,gap_at_most_um" if interval_um else "gap_um"
    rows = [f"lower,upper,turned,slide_x_mm,x_mm,y_mm,{columns}"]
    for lower, upper, turned, slide in fits:
        over = upper_point(x, y, np.full(x.size, turned), slide * step)
        on = np.abs(over).max(axis=0) <= along[-1] + 1e-9
        tilt = rng.uniform(-0.05, 0.05, 2)
        gap = tilt[0] * x + tilt[1] * y - shapes[lower](x, y) - shapes[upper](*over)
        gap = (gap - gap[on].min() + noise_um * (rng.normal(size=x.size) + 8))[on]
        low = np.floor(gap / interval_um) * interval_um if interval_um else gap
        shift = (along[-1] + corner) if corner else 0.0
        for px, py, value in zip(x[on] + shift, y[on] + shift, low):
            rows.append(
                f"{'ABCD'[lower]},{'ABCD'[upper]},{turned},{slide * step},{px},{py},{value}"
                + (f",{value + interval_um}" if interval_um else "")
            )
    return read_readings(io.StringIO("\n".join(rows)), name="plates.csv")


def rough(seed, side=5, step=50.0):
    """A plate of unlike heights at every station, and zero between."""
    height = np.random.default_rng(seed).normal(0, 6, (side, side))

    def shape(x, y):
        at = [np.clip(np.rint(v / step + (side - 1) / 2), 0, side - 1).astype(int) for v in (x, y)]
        return height[at[1], at[0]]

    return shape


def beyond_plane(x, y, height):
    plane = np.stack([np.ones(x.size), x, y], axis=1)
    return height - plane @ np.linalg.lstsq(plane, height, rcond=None)[0]


def twist(x, y):
    return 5 * x * y / 1e4


@pytest.mark.parametrize(("side", "corner"), [(3, 0.0), (4, 0.0), (5, 0.0), (5, 20.0)])
def test_three_plates_come_back_at_every_station(side, corner):
    shapes = [rough(seed, side) for seed in (1, 2, 3)]
    found = solve_plates(sheet(shapes, side=side, corner=corner))
    middle = ((side - 1) / 2 * 50.0 + corner) if corner else 0.0
    x, y = found.x_mm - middle, found.y_mm - middle
    assert found.height_um.shape == found.sd_um.shape == (3, side**2)
    for shape, height in zip(shapes, found.height_um):
        np.testing.assert_allclose(height, beyond_plane(x, y, shape(x, y)), atol=1e-4)
    assert np.abs(found.residual_um).max() < 1e-4


def test_a_twist_that_all_plates_share_makes_no_gap_at_0_or_180_and_double_at_a_quarter_turn():
    # J. Rose, Modern Machine-Shop Practice, Figs 2443-2444 (in words); derived: turned over, x y becomes -x y, and
    # a quarter turn brings the sign back.
    x, y = np.array([100.0, -100.0, 100.0, 40.0]), np.array([100.0, 100.0, -100.0, 80.0])
    for turned, times in ((0, 0), (180, 0), (90, 2), (270, 2)):
        over = upper_point(x, y, np.full(4, turned))
        np.testing.assert_allclose(twist(x, y) + twist(*over), times * twist(x, y), atol=1e-12)
    with pytest.raises(Refusal) as refused:
        solve_plates(sheet([twist] * 3, FACE + ((0, 1, 180, 0), (1, 2, 180, 0)), side=3))
    assert "(twist 1)" in str(refused.value) and "B on A turned 90 degrees would show it" in refused.value.do
    found = solve_plates(sheet([twist] * 3, FACE + QUARTER, side=3))
    np.testing.assert_allclose(found.height_um, np.tile(twist(found.x_mm, found.y_mm), (3, 1)), atol=1e-5)
    np.testing.assert_allclose(found.flatness_um, 2 * 5 * (50 * 50) / 1e4, atol=1e-4)


@pytest.mark.parametrize("side", [4, 5, 6, 7])
def test_the_pinwheel_survives_every_square_turn_and_a_slide_shows_it(side):
    # Derived: a shape that changes sign in the mirrors x and y and in both diagonals is fixed by its values strictly
    # inside one eighth of the grid, off the axes and the diagonals: half a side of m stations leaves m (m - 1) / 2.
    m = side // 2
    turns = FACE + tuple((i, j, t, 0) for i, j in ((0, 1), (0, 2), (1, 2)) for t in (90, 180, 270))
    shapes = [rough(seed, side) for seed in (1, 2, 3)]
    with pytest.raises(Refusal) as refused:
        solve_plates(sheet(shapes, turns, side))
    count = m * (m - 1) // 2
    assert f"{count} shape{'s' * (count > 1)} of A, B, C make{'s' * (count == 1)} no gap" in str(refused.value)
    assert f"(pinwheel {count})" in str(refused.value)
    assert "B on A turned 0 degrees, slid 50 mm along x would show" in refused.value.do
    assert solve_plates(sheet(shapes, turns + SLID, side)).height_um.shape == (3, side**2)


@pytest.mark.parametrize("side", [3, 4, 5])
def test_face_to_face_hides_everything_that_is_odd_across_the_y_axis(side):
    # Derived: side * (side // 2) odd shapes, less the one that is a plane.
    with pytest.raises(ValueError) as refused:
        solve_plates(sheet([rough(seed, side) for seed in (1, 2, 3)], FACE, side))
    assert f"{side * (side // 2) - 1} shapes of A, B, C make no gap in any fit that was read (" in str(refused.value)


def test_the_fit_agrees_with_a_general_statistics_library():
    table = sheet([rough(seed) for seed in (1, 2, 3)], noise_um=0.5, seed=3)
    found = solve_plates(table)
    columns, place = {}, np.stack([found.x_mm, found.y_mm], axis=1)
    design = np.zeros((len(table), 75 + 3 * len(ENOUGH)))
    for row in range(len(table)):
        x, y, turned = table.position_mm[row], table.y_mm[row], table.turned[row]
        over = upper_point(x, y, turned, table.slide_x_mm[row])
        for body, at in ((table.lower[row], (x, y)), (table.upper[row], over)):
            design[row, 25 * body + np.hypot(*(place - at).T).argmin()] -= 1
        fit = columns.setdefault((table.lower[row], table.upper[row], turned, table.slide_x_mm[row]), len(columns))
        design[row, 75 + 3 * fit : 78 + 3 * fit] = 1, x / 100, y / 100
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # planes and heights share what the datum takes out
        outside = sm.OLS(table.gap_um, design).fit(method="pinv")
    plane = np.stack([np.ones(25), found.x_mm, found.y_mm], axis=1)
    datum = np.kron(np.eye(3), np.eye(25) - plane @ np.linalg.pinv(plane))
    np.testing.assert_allclose(found.height_um.ravel(), datum @ outside.params[:75], atol=1e-6)
    covariance = datum @ outside.cov_params()[:75, :75] @ datum.T
    np.testing.assert_allclose(found.covariance.reshape(75, 75), covariance, atol=1e-6)
    np.testing.assert_allclose(found.sd_um.ravel(), np.sqrt(np.diag(covariance)), atol=1e-6)
    np.testing.assert_allclose(found.residual_um, outside.resid, atol=1e-6)
    assert len(columns) == len(ENOUGH)


def test_the_truth_lies_within_two_sd_nineteen_times_in_twenty():
    shapes, inside, tried = [rough(seed, 4) for seed in (1, 2, 3)], 0, 0
    for seed in range(25):
        found = solve_plates(sheet(shapes, side=4, noise_um=1.0, seed=seed), reading_sd_um=1.0)
        truth = np.array([beyond_plane(found.x_mm, found.y_mm, s(found.x_mm, found.y_mm)) for s in shapes])
        inside += int((np.abs(found.height_um - truth) < 1.96 * found.sd_um).sum())
        tried += truth.size
    assert tried == 1200
    assert 0.92 < inside / tried < 0.98


def test_intervals_hold_the_truth():
    shapes = [rough(seed, 3) for seed in (1, 2, 3)]
    found = solve_plates(sheet(shapes, FACE + QUARTER, 3, interval_um=2.0))
    truth = np.array([beyond_plane(found.x_mm, found.y_mm, s(found.x_mm, found.y_mm)) for s in shapes])
    assert (found.low_um <= truth + 1e-6).all() and (truth <= found.high_um + 1e-6).all()
    assert (found.low_um <= found.height_um + 1e-6).all() and np.isfinite(found.high_um).all()


def test_two_plates_are_refused_for_a_bowl_lies_in_a_dome():
    with pytest.raises(Refusal) as refused:
        solve_plates(sheet([twist] * 2, ((0, 1, 0, 0), (0, 1, 90, 0), (0, 1, 0, 1)), 4))
    assert refused.value.code == "unsettled" and "bowl or dome 1" in refused.value.found
    assert refused.value.do.endswith("read both A and B against a third plate as well")


def test_a_plate_read_along_one_line_is_refused():
    rows = ["lower,upper,x_mm,y_mm,gap_um", *(f"A,B,{x},0,1" for x in range(-40, 50, 10))]
    with pytest.raises(Refusal) as refused:
        solve_plates(read_readings(io.StringIO("\n".join(rows)), name="line.csv"))
    assert (refused.value.code, refused.value.found) == ("count", "9 stations of plate A")
    assert "not all in one line" in refused.value.must_be


def test_a_station_that_one_plate_was_not_read_at_stays_empty():
    table = sheet([rough(seed, 3) for seed in (1, 2, 3)], FACE + QUARTER, 3)
    on_c = (table.upper == 2) & (np.hypot(table.position_mm + 50, table.y_mm - 50) < 1)
    found = solve_plates(table.rows(~on_c))
    gone = np.isnan(found.height_um)
    assert gone.sum() == 1 and gone[2, np.flatnonzero(np.hypot(found.x_mm - 50, found.y_mm - 50) < 1)[0]]


@pytest.mark.parametrize(
    "fits", [FACE, FACE + ((0, 1, 180, 0),), FACE + QUARTER, FACE + SLID, FACE + ((0, 2, 270, 1),), ENOUGH]
)
def test_what_is_refused_is_what_the_simulated_placements_hide(fits):
    for side in (4, 5, 6):
        hidden = len(hidden_plate_errors(side, [(*fit[:3], fit[3], 0) if fit[3] else fit[:3] for fit in fits]))
        table = sheet([rough(seed, side) for seed in (1, 2, 3)], fits, side)
        if hidden:
            with pytest.raises(
                ValueError, match=f"does not settle the plates: {hidden} shapes? of A, B, C makes? no gap"
            ):
                solve_plates(table)
        else:
            assert np.isfinite(solve_plates(table).height_um).all()


@pytest.mark.parametrize("turned", [0, 90, 180, 270])
def test_stations_meet_as_simulated_plates_do(turned):
    along = np.arange(5) - 2.0
    x, y = (part.ravel() for part in np.meshgrid(along, along))
    lower, upper = overlap(5, 5, turned, (1, -2))
    over = upper_point(x[lower], y[lower], np.full(lower.size, turned), 1, -2)
    assert lower.size == 12
    np.testing.assert_allclose(over, [x[upper], y[upper]])
