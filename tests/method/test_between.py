"""Straight points, and what may still stand between them."""

import numpy as np
import pytest
from scipy.stats import norm

from simulate.bench.bending.uniform_bar import sag
from simulate.method.lands.between_points import bends_between_um, hides_between_um, straightness_to_expect
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import anchored_levels, chained_level, progression


def test_three_points_are_out_by_the_size_of_the_middle_one():
    """Derived: minimum zone of three points is the middle's height over the others; quantiles of a folded normal."""
    found = straightness_to_expect(solve_network([Fit((0, 300, 600), 2.0)]), 40_000, seed=2)
    assert found.middle_um == pytest.approx(2 * norm.ppf(0.75), rel=0.03)
    assert found.nineteen_in_twenty_um == pytest.approx(2 * norm.ppf(0.975), rel=0.03)


def test_anchored_points_are_expected_straighter_than_chained_ones():
    anchored = straightness_to_expect(progression(anchored_levels((3, 7), 600, 1.0))[-1], 500, seed=1)
    chained = straightness_to_expect(solve_network(chained_level(7, 600, 1.0).fits), 500, seed=1)
    assert anchored.middle_um < 0.7 * chained.middle_um


@pytest.mark.parametrize("wave", [40.0, 100.0, 130.0, 200.0, 700.0])
def test_no_shift_of_a_wave_stands_out_further_than_said(wave):
    """Brute force: the wave slid through every phase, its height over the line of two points 100 apart.

    Exact from a wave of two spacings upward; close below; a bound for waves shorter than one spacing.
    """
    x = np.linspace(0, 100, 401)
    phase = np.linspace(0, 2 * np.pi, 721)[:, None]
    heights = 3 * np.sin(2 * np.pi * x / wave + phase)
    over = heights - heights[:, :1] - (heights[:, -1:] - heights[:, :1]) * x / 100
    said = hides_between_um(100, wave, 3)
    if wave >= 200:
        assert over.max() == pytest.approx(said, rel=1e-3)
    else:
        assert over.max() <= 6 + 1e-9 and said <= 6 + 1e-9
        assert over.max() >= (0.99 if wave >= 100 else 0.8) * said


def test_a_span_between_lands_hangs_as_a_bar_on_its_ends():
    """Published: engineering handbooks, 5 w L^4 / (384 E I), as the sag of a whole bar."""
    assert bends_between_um(500, 40) == pytest.approx(np.ptp(sag(500, 40, 500).height_um))
    assert bends_between_um(250, 40, "grey iron") == pytest.approx(bends_between_um(500, 40, "grey iron") / 16)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: hides_between_um(0, 1, 1), "spacing_mm is 0; it must be more than 0."),
        (lambda: straightness_to_expect(solve_network([Fit((0, 1, 2), 1.0)], spread=False)), "covariance_um2 is nan"),
        (
            lambda: straightness_to_expect(solve_network([Fit((0, 1, 2, 3), 1.0)], [0])),
            "network holds 1 reached point;",
        ),
    ],
)
def test_between_refuses_in_a_sentence(call, sentence):
    with pytest.raises(ValueError) as told:
        call()
    assert sentence in str(told.value)
