"""One plate surveyed with a straightedge and with slopes: both come back to it, each as surely as it says."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.core.refusal import Refusal
from simulate.readings.survey.two_surveys import slopes_of, survey_two_ways
from simulate.surface.starting_plates import starting_plates


@settings(deadline=None, max_examples=15)
@given(st.sampled_from([5, 7, 11]), st.integers(0, 2**32 - 1))
def test_without_blades_and_without_scatter_both_ways_are_the_plate(points, seed):
    x = np.linspace(-150, 150, points)
    height = np.random.default_rng(seed).normal(0, 20, (points, points))
    found = survey_two_ways(x, x, height, step_um=0, sd_arcsec=0)
    assert max(found.worst_um) < 0.01 and found.apart_um < 0.01
    assert found.stations == (
        points**2,
        8 * points - 15,
    )  # eight lines: corners thrice, middles twice, the centre four times
    assert found.flatness_um[0] == pytest.approx(found.true_um, abs=0.02)
    assert found.flatness_um[1] <= found.true_um + 0.02


def test_each_way_is_off_by_about_what_it_says_and_the_slopes_are_the_surer():
    worst, sure = [], []
    for seed in range(12):
        x, y, (plate,) = starting_plates(400, 400, 60, points=11, plates=1, seed=seed)
        found = survey_two_ways(x, y, plate, seed=seed)
        worst.append(found.worst_um)
        sure.append(found.sure_um)
    worst, sure = np.array(worst), np.array(sure)
    assert worst.shape == (12, 2)
    assert (worst[:, 1] < worst[:, 0]).all() and (sure[:, 1] < sure[:, 0]).all()
    assert (worst < 2.5 * sure).all() and (worst.mean(axis=0) > 0.2 * sure.mean(axis=0)).all()


def test_it_is_told_in_three_lines():
    x, y, (plate,) = starting_plates(400, 400, 60, points=11, plates=1, seed=2)
    said = str(survey_two_ways(x, y, plate, seed=1)).splitlines()
    assert len(said) == 3 and said[0].startswith("straightedge and dial: 121 stations, out of flat by ")
    assert said[1].startswith("eight lines of slopes: 73 stations") and said[2].endswith("the plate is out by 60.0 µm")


@pytest.mark.parametrize("shape", [(4, 4), (5, 7)])
def test_plates_without_a_middle_station_are_refused(shape):
    with pytest.raises(Refusal) as refused:
        slopes_of(np.arange(shape[1]), np.arange(shape[0]), np.zeros(shape))
    assert (
        refused.value.code == "shape"
        and f"{shape[0]} by {shape[1]}" in refused.value.found
        and "odd" in refused.value.must_be
    )
