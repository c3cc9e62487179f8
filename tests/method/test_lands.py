"""Three-land gauges: what stepping adds up, and how three make each other."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.method.lands.stepping import gauges_from_pairs, step_lands, three_land_gauges


def stepping_matrix(n):
    """Reading over every inner station from the heights of all inner stations; the ends are 0."""
    return np.eye(n - 1) - (np.eye(n - 1, k=1) + np.eye(n - 1, k=-1)) / 2


@pytest.mark.parametrize("n", [2, 3, 4, 7, 24, 60])
def test_stepping_agrees_with_the_inverse_of_its_own_readings(n):
    """Derived: linear algebra on the readings themselves, with no closed form."""
    back = np.linalg.inv(stepping_matrix(n))
    found = step_lands(n, zero_um=0.7, sd_um=0.3)
    np.testing.assert_allclose(found.bias_um[1:-1], back @ np.full(n - 1, 0.7), rtol=1e-10)
    np.testing.assert_allclose(found.sd_um[1:-1], 0.3 * np.sqrt(np.diag(back @ back.T)), rtol=1e-10)
    assert found.bias_um[[0, -1]].tolist() == found.sd_um[[0, -1]].tolist() == [0, 0]
    assert found.bias_um.shape == found.sd_um.shape == (n + 1,)


def test_a_constant_error_makes_a_parabola_that_grows_with_the_square_of_the_steps():
    """Derived: an arc with the same rise everywhere over its neighbours; a quarter of n squared in the middle."""
    looked = 0
    for n in (2, 4, 10, 100):
        bias = step_lands(n, zero_um=1.0).bias_um
        assert bias[n // 2] == n**2 / 4
        np.testing.assert_allclose(bias[1:-1] - (bias[:-2] + bias[2:]) / 2, 1.0)
        looked += 1
    assert looked == 4


def test_a_random_error_grows_with_the_power_three_halves():
    """Derived. That errors of the single fits are carried on into the straightness is published: T. Kume and others,
    Error propagation for straightness evaluation using 3-point method, IMEKO TC14 symposium, 2014 (abstract)."""
    worst = np.array([step_lands(n, sd_um=1.0).sd_um.max() for n in (100, 200, 400)])
    np.testing.assert_allclose(np.log2(worst[1:] / worst[:-1]), 1.5, atol=1e-3)
    assert worst[-1] == pytest.approx(400**1.5 / np.sqrt(12), rel=1e-4)


def test_ten_thousand_stepped_bars_scatter_as_said():
    """Monte Carlo: readings drawn, summed station by station, ends held afterwards."""
    rng = np.random.default_rng(5)
    n, bars = 12, 40_000
    reading = 0.4 + 1.5 * rng.standard_normal((bars, n - 1))
    slope = np.concatenate([np.zeros((bars, 1)), -2 * reading.cumsum(axis=1)], axis=1)
    height = np.concatenate([np.zeros((bars, 1)), slope.cumsum(axis=1)], axis=1)
    height -= height[:, -1:] * np.arange(n + 1) / n
    found = step_lands(n, zero_um=0.4, sd_um=1.5)
    np.testing.assert_allclose(height.mean(axis=0), found.bias_um, atol=5 * found.sd_um.max() / np.sqrt(bars))
    np.testing.assert_allclose(height.std(axis=0)[1:-1], found.sd_um[1:-1], rtol=0.02)


def test_many_gauges_are_stepped_at_once():
    found = step_lands(6, zero_um=[0.1, -0.2], sd_um=[[1.0], [2.0], [3.0]])
    assert found.bias_um.shape == (2, 7) and found.sd_um.shape == (3, 1, 7)
    np.testing.assert_array_equal(found.bias_um[1], step_lands(6, zero_um=-0.2).bias_um)


@settings(deadline=None, max_examples=30)
@given(st.lists(st.floats(-500, 500), min_size=3, max_size=3))
def test_three_gauges_are_told_apart_by_three_fits(middles):
    a, b, c = middles
    np.testing.assert_allclose(gauges_from_pairs(a + b, a + c, b + c), middles, atol=1e-9)


def test_equal_errors_of_the_fits_leave_each_gauge_with_half_the_root_of_three():
    """Derived: three independent halves, so the root of 3/4; and a draw of many."""
    rng = np.random.default_rng(1)
    drawn = gauges_from_pairs(*rng.standard_normal((3, 200_000)))
    np.testing.assert_allclose(drawn.std(axis=0), np.sqrt(3) / 2, rtol=0.01)


@pytest.mark.parametrize("share", [0.3, 0.5, 0.6, 0.9])
def test_a_round_leaves_twice_the_share_less_one_of_the_error(share):
    """Derived as for three bars."""
    middles = np.random.default_rng(2).normal(0, 20, (50, 3))
    made = three_land_gauges(middles, 3, share=share)
    assert made.shape == (50, 4, 3)
    error = np.abs(made).max(axis=-1)
    np.testing.assert_allclose(error[:, 1], abs(2 * share - 1) * np.abs(middles[:, 0]), atol=1e-12)
    np.testing.assert_allclose(error[:, 2:], abs(2 * share - 1) * error[:, 1:-1], atol=1e-12)


def test_gauges_stop_improving_where_no_light_shows():
    made = three_land_gauges([40.0, 10.0, -5.0], 20, share=0.7, unseen_um=2.0)
    last = np.abs(made[-1])
    assert 0 < last.max() <= 2.0
    np.testing.assert_array_equal(made[-1], made[-2])


def test_the_scatter_of_the_fits_sets_the_floor():
    """Derived at an even split: B keeps 0.5 (e1 - e2) turned over by e3 / 2; A adds its own fit."""
    made = three_land_gauges(np.zeros((100_000, 3)), 5, sd_um=1.0, unseen_um=0.0, seed=3)
    np.testing.assert_allclose(made[:, 2:].std(axis=0), [[np.sqrt(1.75), np.sqrt(0.75), np.sqrt(0.75)]] * 4, rtol=0.02)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: step_lands(1), "intervals is 1; it must be 2 or more."),
        (lambda: step_lands(2.5), "intervals is 2.5; it must be a whole number."),
        (lambda: step_lands(4, sd_um=-1), "sd_um is -1; it must be 0 or more."),
        (lambda: step_lands(4, zero_um=np.nan), "zero_um is nan; it must be a finite number."),
        (
            lambda: three_land_gauges([1, 2], 1),
            "middle_um is a row of 2; it must be 3 figures in each row, one for each position.",
        ),
        (lambda: three_land_gauges([1, 2, 3], 1, share=2), "share is 2; it must be 0 to 1."),
    ],
)
def test_lands_refuse_in_a_sentence(call, sentence):
    with pytest.raises(ValueError) as told:
        call()
    assert sentence in str(told.value)
