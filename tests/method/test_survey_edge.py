"""A plate from a straightedge: found back, what stays unseen, and where the metal comes off."""

import numpy as np
import pytest
from scipy.optimize import linprog

from simulate.bench.looking.sight import FEELERS_MM, FINE_FEELERS_MM
from simulate.method.plates.edge_survey import EdgeReadings, read_edge, survey_edge
from simulate.method.plates.scraping_plan import after_passes, cut_plan
from simulate.method.plates.symmetry import beyond_plane
from simulate.surface.flatness import flatness
from simulate.surface.starting_plates import starting_plates

X, Y, (PLATE,) = starting_plates(400, 250, 150, points=9, plates=1, seed=4)
SADDLE = np.outer(np.ones(9), X**2) - np.outer(Y**2, np.ones(9))


@pytest.mark.parametrize(
    "lines", [("along", "across", "corners"), ("along", "across", "winding"), ("along", "across", "corners", "winding")]
)
def test_a_plate_comes_back_from_exact_gaps(lines):
    found = survey_edge(X, Y, read_edge(X, Y, PLATE, lines))
    np.testing.assert_allclose(found.height_um, beyond_plane(PLATE), atol=1e-8)
    assert len(found.hidden) == 0


def test_lines_along_and_across_leave_twist_and_nothing_else():
    # Derived: rows and columns are all straight only for a + bx + cy + dxy, and the first three are a plane.
    found = survey_edge(X, Y, read_edge(X, Y, PLATE, ("along", "across")))
    twist = np.outer(Y, X) / np.linalg.norm(np.outer(Y, X))
    assert len(found.hidden) == 1
    assert abs((found.hidden[0] * twist).sum()) == pytest.approx(1)
    missed = beyond_plane(PLATE) - found.height_um
    np.testing.assert_allclose(missed, (missed * twist).sum() * twist, atol=1e-8)


def test_lines_along_alone_leave_every_row_its_own_height_and_tilt():
    # Derived: nine rows with two unknowns each, less the three of the whole plane.
    assert len(survey_edge(X, Y, read_edge(X, Y, PLATE, ("along",))).hidden) == 2 * 9 - 3


def test_the_stated_spread_is_the_spread_of_repeated_surveys():
    rng = np.random.default_rng(3)
    true = read_edge(X, Y, PLATE)
    found, stated = [], None
    for _ in range(300):
        noisy = EdgeReadings(
            true.along_um + 2 * rng.normal(size=(9, 9)),
            true.across_um + 2 * rng.normal(size=(9, 9)),
            true.corners_um + 2 * rng.normal(size=(2, 9)),
            true.winding_um + 15 * rng.normal(),
        )
        one = survey_edge(X, Y, noisy, 2, 15)
        found.append(one.height_um)
        stated = one.sd_um
    assert len(found) == 300
    ratio = np.std(found, axis=0) / stated
    assert abs(ratio.mean() - 1) < 0.03 and ratio.min() > 0.8 and ratio.max() < 1.2


def test_a_dial_is_read_to_its_nearest_step_and_the_survey_holds_what_it_states():
    exact, coarse = read_edge(X, Y, PLATE).along_um, read_edge(X, Y, PLATE, step_um=10).along_um
    assert np.abs(exact - coarse).max() <= 5 + 1e-9 and set(np.unique(coarse % 10)) == {0.0}
    held = []
    for seed in range(12):
        x, y, (plate,) = starting_plates(400, 400, 200, points=11, plates=1, seed=seed)
        found = survey_edge(x, y, read_edge(x, y, plate, ("along", "across", "corners"), step_um=5), 5 / 12**0.5)
        held.append((np.abs(beyond_plane(plate) - found.height_um) < 1.96 * found.sd_um).mean())
    assert len(held) == 12 and 0.93 < np.mean(held) < 0.99


@pytest.mark.parametrize("blades_mm", [FEELERS_MM, FINE_FEELERS_MM])
def test_feelers_are_read_between_two_blades_and_tell_nothing_under_the_thinnest(blades_mm):
    blades = 1000 * np.array(blades_mm)
    exact, read = read_edge(X, Y, PLATE).along_um, read_edge(X, Y, PLATE, blades_um=blades).along_um
    for gap, said in zip(exact.ravel(), read.ravel()):
        below, above = max([0, *blades[blades <= gap]]), min(blades[blades > gap])
        assert said == pytest.approx((below + above) / 2)
    assert (read[exact < blades[0]] == blades[0] / 2).all() and (exact < blades[0]).sum() > 20


def test_a_plate_cannot_be_scraped_below_what_real_blades_leave():
    # No set has a blade under 0.03 mm: a plate 200 um out comes to some 70 um by the blades of DIN 2275 (from memory),
    # to some 45 by a set from 0.03 mm, and to 5 by a dial read to 5 um.
    left = {}
    for words, how in {
        "dial": {"step_um": 5},
        "fine": {"blades_um": 1000 * np.array(FINE_FEELERS_MM)},
        "usual": {"blades_um": 1000 * np.array(FEELERS_MM)},
    }.items():
        ends = []
        for seed in range(6):
            x, y, (plate,) = starting_plates(400, 400, 200, points=11, plates=1, seed=seed)
            plan = cut_plan(
                x, y, survey_edge(x, y, read_edge(x, y, plate, ("along", "across", "corners"), **how)).height_um, 10
            )
            ends.append(flatness(x, y, plate - after_passes(plan, 10, plan.passes)).value_um)
        left[words] = np.median(ends)
    assert left["dial"] < 7 and 30 < left["fine"] < 55 and 60 < left["usual"] < 85


def test_the_plane_cut_to_takes_the_least_metal():
    """HiGHS, a general program, finds the highest plane below all points: no outside figure is lower."""
    plan = cut_plan(X, Y, PLATE, pass_um=10)
    points = np.stack([np.ones(81), np.tile(X, 9), np.repeat(Y, 9)], axis=1)
    best = linprog(-points.sum(axis=0), A_ub=points, b_ub=PLATE.ravel(), bounds=[(None, None)] * 3)
    assert plan.remove_um.sum() == pytest.approx(PLATE.sum() + best.fun, rel=1e-8)
    assert plan.remove_um.min() == pytest.approx(0, abs=1e-9)


def test_the_highest_comes_first_and_after_the_last_pass_the_plate_is_flat():
    plan = cut_plan(X, Y, PLATE, pass_um=10)
    assert plan.first_pass.flat[plan.remove_um.argmax()] == 1
    spans = [np.ptp(beyond_plane(PLATE - after_passes(plan, 10, k))) for k in range(plan.passes + 1)]
    assert len(spans) == plan.passes + 1 > 5
    assert spans[-1] == pytest.approx(0, abs=1e-8)
    left = [(plan.remove_um - after_passes(plan, 10, k)).max() for k in range(plan.passes + 1)]
    assert all(a - b > 0 for a, b in zip(left, left[1:]))


def test_many_plates_are_planned_in_one_call():
    both = cut_plan(X, Y, np.stack([PLATE, SADDLE / 500]), pass_um=10)
    one = cut_plan(X, Y, PLATE, pass_um=10)
    np.testing.assert_allclose(both.remove_um[0], one.remove_um, atol=1e-9)
    np.testing.assert_array_equal(both.first_pass[0], one.first_pass)
    assert both.passes.shape == (2,)


@pytest.mark.parametrize(
    "act, words",
    [
        (
            lambda: read_edge(X, Y[:8], PLATE[:8]),
            "corners holds 8 rows and 9 columns; it must hold as many rows as columns.",
        ),
        (
            lambda: read_edge(X, Y, PLATE, blades_um=[50, 40]),
            "blades_um is [50, 40]; it must be at least two thicknesses above 0, in rising order.",
        ),
        (
            lambda: read_edge(X, Y, 20 * PLATE, ("along",), blades_um=[50, 100]),
            f"the widest gap is {np.max(read_edge(X, Y, 20 * PLATE, ('along',)).along_um):.0f} µm; it must be below "
            "the thickest blade, 100 µm. Take the corners down first.",
        ),
        (lambda: read_edge(X, Y, PLATE[:3]), "height_um is 3 by 9 figures; it must be 9 rows and 9 columns."),
        (lambda: survey_edge(X, Y, EdgeReadings()), "readings holds nothing; it must hold at least one kind of line."),
        (
            lambda: survey_edge(X, Y, EdgeReadings(along_um=np.zeros((2, 9)))),
            "along_um is 2 by 9 figures; it must be 9 rows and 9 columns.",
        ),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(act, words):
    with pytest.raises(ValueError) as refusal:
        act()
    assert str(refusal.value) == words


def test_stations_need_not_be_even():
    # Derived: the datum is the least-squares plane over the places themselves; scipy and numpy know nothing of ours.
    x, y = np.array([0, 10, 40, 50, 120.0]), np.array([0, 30, 40, 90.0])
    plate = np.random.default_rng(3).normal(0, 10, (4, 5))
    across, along = np.meshgrid(x, y)
    table = np.stack([np.ones(20), across.ravel(), along.ravel()], axis=1)
    true = plate.ravel() - table @ np.linalg.lstsq(table, plate.ravel())[0]
    found = survey_edge(x, y, read_edge(x, y, plate, ("along", "across", "winding")))
    np.testing.assert_allclose(found.height_um.ravel(), true, atol=1e-9)
    assert len(found.hidden) == 0
    twist = np.outer(y, x).ravel()
    twist -= table @ np.linalg.lstsq(table, twist)[0]
    hidden = survey_edge(x, y, read_edge(x, y, plate, ("along", "across"))).hidden
    assert len(hidden) == 1
    assert abs(hidden[0].ravel() @ twist) == pytest.approx(np.linalg.norm(twist))


@pytest.mark.parametrize(
    "readings, words",
    [
        (3, "readings is 3; it must be an EdgeReadings."),
        (
            EdgeReadings(along_um=np.full((9, 9), np.nan)),
            r"along_um is nan at place 0, 0; it must be a finite number\.",
        ),
        (
            EdgeReadings(corners_um=[["a"] * 9] * 2),
            r"corners_um is \[\['a', 'a', 'a', 'a', 'a', 'a', 'a', 'a', 'a'\], \['a', 'a'\.\.\.",
        ),
        (EdgeReadings(winding_um="a"), r"winding_um is 'a'; it must be numbers in a regular table\."),
    ],
)
def test_readings_that_are_none_are_refused(readings, words):
    with pytest.raises(ValueError, match=f"^{words}"):
        survey_edge(X, Y, readings)
    with pytest.raises(ValueError, match="lines is 'along'; it must be a tuple or a list."):
        read_edge(X, Y, PLATE, "along")
