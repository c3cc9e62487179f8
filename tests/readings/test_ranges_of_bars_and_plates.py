"""Bars and plates read only by dark fits and blades: 95 % holds so often, whatever their shape."""

import feelers_read as felt
import numpy as np
import pytest
from scipy.stats import binomtest

from simulate.readings.adjustment.shape_prior import WORKED_LENGTHS, WORKED_ROUGH
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.plates.solve_plates import solve_plates

BARS = {
    "nearly dark": {"out_um": 4.0, "cells_um": felt.DARK_UM},
    "nearly dark, turned too": {"out_um": 4.0, "cells_um": felt.DARK_UM, "turned": True},
    "20 um, six fits": {"turned": True},
    "40 um by hand": {"out_um": 40.0, "feel_um": 4.0, "place_mm": 1.0},
    "40 um by hand, turned too": {"out_um": 40.0, "feel_um": 4.0, "place_mm": 1.0, "turned": True},
    "60 um, 7 stations": {"out_um": 60.0, "stations": 7, "feel_um": 2.0, "place_mm": 1.0},
    "25 um, 3 to 9 stations": {"out_um": 25.0, "stations": (3, 9), "feel_um": 1.0, "place_mm": 1.0},
}
PLATES = {
    "nearly dark": {"out_um": 4.0, "cells_um": felt.DARK_UM},
    "20 um": {},
    "40 um by hand": {"out_um": 40.0, "feel_um": 2.0},
}
FACES = ("bowl", "twist", "rough", "smooth")


def _inside(found, truth, rng):
    """Whether one height, chosen by lot, lies in its range; a body that is refused would stop the test."""
    one = rng.integers(truth.size)
    return bool(found.low_95_um.ravel()[one] <= truth.ravel()[one] <= found.high_95_um.ravel()[one])


def bars_held(tries, seed=5, styles=felt.STYLES, **how):
    rng, inside = np.random.default_rng(seed), 0
    for k in range(tries):
        truth, table = felt.bars_by_feelers(rng, styles[k % len(styles)], **how)
        inside += _inside(solve_bars(table, bounds=False), truth, rng)
    return inside


def bars_of_the_prior_held(tries, seed=6):
    rng, inside = np.random.default_rng(seed), 0
    for _ in range(tries):
        feel = rng.choice([0.0, 1.0, 2.0, 4.0])
        truth, table = felt.bars_of_the_prior(rng, WORKED_LENGTHS, WORKED_ROUGH, feel_um=feel)
        inside += _inside(solve_bars(table, bounds=False, feel_um=feel, place_mm=0.0), truth, rng)
    return inside


def plates_held(tries, seed=5, **how):
    rng, inside = np.random.default_rng(seed), 0
    for k in range(tries):
        truth, table = felt.plates_by_feelers(rng, FACES[k % len(FACES)], **how)
        inside += _inside(solve_plates(table, bounds=False), truth, rng)
    return inside


def plates_of_the_prior_held(tries, seed=6):
    rng, inside = np.random.default_rng(seed), 0
    for _ in range(tries):
        truth, table = felt.plates_of_the_prior(rng)
        inside += _inside(solve_plates(table, bounds=False, feel_um=0.0, place_mm=0.0), truth, rng)
    return inside


def test_two_bowls_and_a_dome_that_fit_each_other_darkly_lie_in_their_ranges():
    # where shapes counted as independent of each other, 7 heights in 10 did
    x, y = (part.ravel() for part in np.meshgrid([-1, 0, 1], [-1, 0, 1]))
    for across in (1.0, 0.6):
        bowl = x**2 + across * y**2 - (2 + 2 * across) / 3
        truth, table = felt.read_plates(
            np.random.default_rng(1), np.outer((1, 1, -1), 5 * bowl / np.ptp(bowl)), felt.DARK_UM
        )
        found = solve_plates(table, bounds=False)
        assert np.mean((found.low_95_um <= truth) & (truth <= found.high_95_um)) >= 0.85


@pytest.mark.parametrize("name", ["nearly dark", "60 um, 7 stations"])
def test_ranges_of_bars_hold(name):
    assert binomtest(bars_held(10, **BARS[name]), 10, 0.95, alternative="less").pvalue > 0.002


@pytest.mark.parametrize(("name", "tries"), [("nearly dark", 32), ("20 um", 8)])
def test_ranges_of_plates_hold(name, tries):
    assert binomtest(plates_held(tries, **PLATES[name]), tries, 0.95, alternative="less").pvalue > 0.002


@pytest.mark.long
@pytest.mark.parametrize("name", BARS)
def test_ranges_of_bars_hold_93_in_100_over_2000_sets(name):
    assert bars_held(2000, **BARS[name]) >= 1860


@pytest.mark.long
def test_ranges_of_bars_as_the_prior_has_them_hold_93_to_98_in_100():
    assert 1860 <= bars_of_the_prior_held(2000) <= 1960


@pytest.mark.long
@pytest.mark.parametrize("name", PLATES)
def test_ranges_of_plates_hold_93_in_100_over_2000_sets(name):
    assert plates_held(2000, **PLATES[name]) >= 1860


@pytest.mark.long
def test_ranges_of_plates_as_the_prior_has_them_hold_93_to_98_in_100():
    assert 1860 <= plates_of_the_prior_held(2000) <= 1960
