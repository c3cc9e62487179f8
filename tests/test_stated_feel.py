"""Feel and bend, as the learner states them in a panel or leaves them to the readings."""

import numpy as np
import pytest
import workshops_read as made

from simulate.core.refusal import Refusal
from simulate.readings.lands import solve_lands
from simulate.readings.squares import solve_squares
from simulate.show.own_lands import OwnLandsPanel
from simulate.show.own_squares import OwnSquaresPanel
from simulate.show.stated import FOUND

SQUARES = ["A,B,0,30,40", "A,B,75,40,50", "A,B,150,60,70", "A,C,0,30,40", "A,C,75,30,40", "A,C,150,40,50",
           "B,C,0,40,50", "B,C,75,40,50", "B,C,150,30,40"]
LANDS = ["l,0,200,400,0,20", "s,0,100,200,-10,0", "s,100,200,300,0,10", "s,200,300,400,0,10"]


def reading(panel, header, rows):
    panel.typed.value = "\n".join([header, *rows])
    panel.read_typed.click()
    assert panel.message.value == ""
    return panel


def squares(**more):
    return reading(OwnSquaresPanel(units="mm", **more), "lower,upper,height_mm,gap_at_least_um,gap_at_most_um", SQUARES)


def lands(**more):
    return reading(OwnLandsPanel(units="mm", **more), "gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um", LANDS)


@pytest.mark.parametrize("name", ["feel_um", "bend_um"])
def test_squares_are_solved_with_what_is_stated_and_wider_the_more_it_is(name):
    panel, wide = squares(), []
    assert panel.controls[name].value == FOUND
    other = {"feel_um": "bend_um", "bend_um": "feel_um"}[name]
    panel.controls[other].value = 0.0
    for um in (0.0, 5.0, 50.0):
        panel.controls[name].value = um
        direct = solve_squares(panel._table, **{name: um, other: 0.0})
        np.testing.assert_allclose(panel.solution.low_95_urad, direct.low_95_urad, rtol=1e-9)
        wide.append(panel.solution.sd_urad.mean())
    assert wide[0] < min(wide[1:])


def test_lands_are_solved_with_the_feel_that_is_stated():
    panel = lands(feel_um=4.0)
    assert panel.controls["feel_um"].label == "4.0 µm"
    np.testing.assert_allclose(panel.solution.low_95_um, solve_lands(panel._table, 1.0, feel_um=4.0).low_95_um, rtol=1e-9)
    sharp = lands(feel_um=0.0).solution
    assert (sharp.network.sd_um[1:-1] < panel.solution.network.sd_um[1:-1]).all()


@pytest.mark.parametrize("make", [lambda: OwnSquaresPanel(feel_um=-1.0), lambda: OwnSquaresPanel(bend_um=2000.0),
                                  lambda: OwnLandsPanel(feel_um=-0.1)])
def test_no_impossible_feel_is_taken(make):
    with pytest.raises(Refusal) as refused:
        make()
    assert refused.value.code == "range" and "0 to 1000" in refused.value.must_be


@pytest.mark.parametrize("units", ["mm", "inch"])
def test_the_list_keeps_what_was_stated_in_either_unit(units):
    panel = OwnSquaresPanel(units=units, feel_um=3.0)
    assert panel.controls["feel_um"].value == 3.0 and panel.values()["feel_um"] == 3.0


def test_squares_say_how_much_wider_ranges_for_all_at_once_are():
    panel = squares()
    found = panel.solution
    whole, alone = (high - low for low, high in ((found.whole_low_95_urad, found.whole_high_95_urad),
                                                 (found.low_95_urad, found.high_95_urad)))
    assert (whole >= alone - 1e-9).all() and (whole > alone).any()
    assert f"all squares at once are {(whole / alone).max():.1f} times as wide" in panel.sentence
