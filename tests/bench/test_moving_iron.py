"""Castings bow by what was taken from their skin, each step by itself against its closed form."""

import numpy as np
import pytest

from simulate.bench.bending.moving_iron import (
    CASTINGS,
    Casting,
    dome_shape,
    freed_before,
    let_go_curvature,
    settled_share,
)
from simulate.core.refusal import Refusal
from simulate.method.plates.three_plate_loop import three_plates
from simulate.method.practice.acts import level_of, start_practice
from simulate.surface.starting_plates import starting_plates

AT = np.linspace(-200, 200, 21)
RAW = Casting(stock="raw casting")


def bow_um(curvature):
    """From the middle of a square of 400 mm to its corners."""
    return np.ptp(curvature * dome_shape(AT, AT))


def test_a_layer_bows_a_plate_as_stoney_has_it():
    # 6 s t (1 - nu) / (E h²) is 1 / R (G. Stoney, 1909, with 1 - nu for a plate; from memory); a corner of a square
    # lies a / sqrt(2) from the middle, and a² / (4 R) below it: 0.2 mm of 40 MPa, 50 mm of iron of 110 GPa
    radius_mm = 110e3 * 50**2 / (6 * 40 * 0.2 * (1 - 0.25))
    assert bow_um(let_go_curvature(200.0, RAW)) == pytest.approx(1000 * 400**2 / (4 * radius_mm))
    # derived: without across stress the beam's bow, 6 s t L² / (8 E h²), lies along a middle line
    plain = Casting(stock="raw casting", poisson=0.0)
    along = let_go_curvature(200.0, plain) * dome_shape(AT, AT)[10]
    assert np.ptp(along) == pytest.approx(1000 * 6 * 40 * 0.2 * 400**2 / (8 * 110e3 * 50**2))


def test_a_dome_takes_no_metal_and_a_plate_that_does_not_move_frees_nothing():
    assert abs(dome_shape(AT, AT[::2]).mean()) < 1e-9
    assert let_go_curvature(200.0, Casting()) == 0 and freed_before(Casting(planed_mm=2.0)) == 0


def test_what_was_planed_comes_as_time_goes_whether_before_the_marking_or_after():
    day = Casting(stock="raw casting", planed_mm=2.0, waited_h=24.0, marking_h=24.0)
    whole = let_go_curvature(2000.0, day)
    assert freed_before(day) == pytest.approx(whole / np.e) and settled_share(day) == pytest.approx(1 - 1 / np.e)


def test_plates_differ_from_those_that_do_not_move_by_what_came_and_end_there_once_all_has_come():
    x, y, h = starting_plates(400, 400, 100, points=21, seed=3)
    casting = Casting(stock="raw casting", planed_mm=2.0)
    still, moved = (three_plates(x, y, h, removal_um=20, passes=1, seed=4, casting=c) for c in (Casting(), casting))
    taken = (h - still.height_um[-1]).mean(axis=(1, 2))
    freed = freed_before(casting) + let_go_curvature(taken, casting)
    came = settled_share(casting) * freed[:, None, None] * dome_shape(x, y)
    np.testing.assert_allclose(moved.height_um[-1], still.height_um[-1] + came, atol=1e-9)
    assert still.settled_um == pytest.approx(still.flatness_um[-1])
    np.testing.assert_allclose(moved.metal_mm3[-1], still.metal_mm3[-1], atol=1e-6)
    # a third plate was not cut: in the end it has bowed by all that the planer freed
    plane = np.stack([np.ones(441), np.tile(x, 21), np.repeat(y, 21)], axis=1)
    third = (h[2] + freed_before(casting) * dome_shape(x, y)).ravel()
    left = third - plane @ np.linalg.lstsq(plane, third, rcond=None)[0]
    assert moved.settled_um[2] == pytest.approx(np.ptp(left))


def test_plates_planed_today_leave_flat_and_are_not_flat_a_month_later():
    x, y, h = starting_plates(400, 400, 100, points=21, seed=5, workshops=4)
    ends = {
        name: three_plates(x, y, h, removal_um=40, passes=60, seed=6, casting=casting)
        for name, casting in CASTINGS.items()
    }
    rested, today = ends["planed, then rested three weeks"], ends["planed today"]
    assert np.median(abs(rested.settled_um - ends["do not move"].settled_um)) < 2
    # 30 h after the planer, 52 um times e^(-30 / 24) are still to come
    assert np.median(today.settled_um - rested.settled_um) > 8
    assert np.median(today.flatness_um[:, -1]) < np.median(today.settled_um)


@pytest.mark.parametrize(
    "error_um, side_mm, cut_um, markings", [(40, 200, 10, 60), (30, 300, 10, 60), (200, 400, 20, 300)]
)
def test_what_the_scraper_frees_is_little_against_the_aim_of_the_practice_bench(error_um, side_mm, cut_um, markings):
    """Its plates are rested castings that do not move: by so little raw ones would move after the stop."""
    start = start_practice(151, error_um, side_mm, "plates")
    plates = np.repeat(start.height_um[None], 4, axis=0)
    given = {"removal_um": cut_um, "passes": markings, "seed": 9, "record": False}
    run = three_plates(start.x_mm, start.x_mm, plates, casting=RAW, **given)
    moved = np.abs(run.settled_um - run.flatness_um[:, -1])
    assert 0 < moved.max() < 0.2 < level_of(start).aim_um / 10


def test_a_stock_that_nobody_casts_is_refused():
    for wrong in ({"stock": "cheese"}, {"planed_mm": -1.0}, {"thick_mm": 0.0}):
        with pytest.raises(Refusal):
            Casting(**wrong)
