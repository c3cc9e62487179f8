"""Gauges laid along a bar, solved as a network: what is reached, how surely, and by how many fits."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.method.lands.fewest_fits import fewest_fits, trade_plan, worst_of
from simulate.method.lands.land_fit import Fit, lay
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import (
    Level,
    anchored_levels,
    chained_level,
    progression,
    progression_table,
    usual_counts,
)
from simulate.method.lands.stepping import step_lands


def table_of(fits, points):
    """Readings from heights, one row an inner land, written out with no help from the package."""
    rows = []
    for fit in fits:
        left, *inner, right = fit.lands_mm
        for land in inner:
            row = np.zeros(len(points))
            row[points.index(land)] += 1
            row[points.index(left)] -= (right - land) / (right - left)
            row[points.index(right)] -= (land - left) / (right - left)
            rows.append(row)
    return np.array(rows)


UNEVEN = [
    Fit((0, 300, 600), 1.0),
    Fit((0, 100, 300), 0.5),
    Fit((0, 200, 300), 0.5, turned=True),
    Fit((200, 300, 400, 500), 2.0),
    Fit((300, 400, 600), 0.7),
    Fit((100, 400, 500), 1.3),
    Fit((0, 200, 500, 600), 3.0),
]


def test_heights_and_deviations_agree_with_weighted_least_squares_of_a_statistics_library():
    """Oracle: statsmodels WLS with known variances, on the same readings."""
    points = [0.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0]
    table = table_of(UNEVEN, points)[:, 1:-1]
    sd = np.repeat([f.sd_um for f in UNEVEN], [len(f.lands_mm) - 2 for f in UNEVEN])
    readings = np.random.default_rng(3).normal(0, 5, len(table))
    oracle = sm.WLS(readings, table, weights=1 / sd**2).fit(cov_type="fixed scale")
    found = solve_network(UNEVEN, readings_um=readings)
    assert found.x_mm.tolist() == points and found.reached.all()
    np.testing.assert_allclose(found.height_um[1:-1], oracle.params, rtol=1e-9)
    np.testing.assert_allclose(found.sd_um[1:-1], oracle.bse, rtol=1e-9)
    np.testing.assert_allclose(found.covariance_um2[1:-1, 1:-1], oracle.cov_params(), rtol=1e-8, atol=1e-12)
    influence = np.diag(oracle.model.wexog @ np.linalg.pinv(oracle.model.wexog))
    np.testing.assert_allclose(
        found.redundancy,
        [(1 - influence[np.r_[a]]).sum() for a in ([0], [1], [2], [3, 4], [5], [6], [7, 8])],
        atol=1e-9,
    )


def test_ten_thousand_drawn_bars_scatter_as_the_covariance_says():
    """Monte Carlo over the readings, all at once."""
    rng = np.random.default_rng(8)
    sd = np.repeat([f.sd_um for f in UNEVEN], [len(f.lands_mm) - 2 for f in UNEVEN])
    found = solve_network(UNEVEN, readings_um=rng.standard_normal((20_000, len(sd))) * sd)
    np.testing.assert_allclose(np.cov(found.height_um.T), found.covariance_um2, atol=0.03)
    assert found.height_um.shape == (20_000, 7)


@settings(deadline=None, max_examples=25)
@given(st.lists(st.floats(-50, 50), min_size=7, max_size=7))
def test_readings_without_error_give_back_any_bar_beyond_its_line(heights):
    points = [0.0, 100.0, 200.0, 300.0, 400.0, 500.0, 600.0]
    bar = np.array(heights) - np.interp(points, [0, 600], [heights[0], heights[-1]])
    found = solve_network(UNEVEN, readings_um=table_of(UNEVEN, points) @ bar)
    np.testing.assert_allclose(found.height_um, bar, atol=1e-9)


@pytest.mark.parametrize("n", [2, 3, 6, 24, 100])
def test_a_chained_gauge_agrees_with_the_closed_form(n):
    fits = chained_level(n + 1, 100.0 * n, 0.8).fits
    found = solve_network(fits, readings_um=np.full(n - 1, 0.3))
    closed = step_lands(n, zero_um=0.3, sd_um=0.8)
    np.testing.assert_allclose(found.sd_um, closed.sd_um, rtol=1e-7)
    np.testing.assert_allclose(found.height_um, closed.bias_um, rtol=1e-9, atol=1e-12)
    np.testing.assert_allclose(found.redundancy, 0, atol=1e-6)


def test_a_zero_known_to_a_deviation_adds_its_parabola_to_the_variance():
    """Derived: closed form of the random part and of the constant part, added as squares."""
    fits = chained_level(9, 800.0, 0.5).fits
    found = solve_network(fits, zero_sd_um={fits[0].gauge: 0.2})
    closed = step_lands(8, zero_um=0.2, sd_um=0.5)
    np.testing.assert_allclose(found.sd_um, np.hypot(closed.sd_um, closed.bias_um), rtol=1e-7)


def test_a_chained_gauge_with_an_unknown_zero_settles_nothing():
    """Derived: a parabola and a zero error cannot be told apart."""
    fits = chained_level(7, 600.0, 1.0).fits
    found = solve_network(fits, zero_sd_um={fits[0].gauge: np.inf})
    assert found.reached.tolist() == [True] + [False] * 5 + [True]
    assert "not yet fixed" in found.words


def test_one_long_fit_settles_the_unknown_zero_of_the_small_gauge():
    fits = chained_level(7, 600.0, 0.4).fits
    found = solve_network(
        fits + (Fit((0, 300, 600), 1.0, "long"),),
        zero_sd_um={fits[0].gauge: np.inf},
        readings_um=np.r_[np.full(5, 0.7), 0.0],
    )
    assert found.reached.all()
    np.testing.assert_allclose(found.height_um, 0, atol=1e-9)
    zero, sd = found.zero_um[fits[0].gauge, 0]
    assert zero == pytest.approx(0.7)
    parabola = np.sqrt(1.0**2 + step_lands(6, sd_um=0.4).sd_um[3] ** 2) / 9
    assert sd == pytest.approx(parabola)  # derived: the middle's difference, over k (n - k) = 9


def test_the_gauge_of_200_mm_lands_reaches_every_200_and_nothing_ties_100():
    found = solve_network([lay((0, 200, 400), at, 1.0) for at in (0, 200)], wanted_mm=[100])
    assert found.words == "Determined: 0, 200, 400, 600 mm; not touched: 100 mm."
    assert np.isnan(found.sd_um[1]) and not found.reached[1]


def test_one_gauge_too_few_leaves_its_points_loose_and_says_which():
    found = solve_network([lay((0, 200, 400), 0, 1.0), lay((0, 50, 100), 500, 1.0)], [0, 600])
    assert found.reached.tolist() == [True, False, False, False, False, True]
    assert (
        found.words
        == "Determined: 0, 600 mm; touched, but not yet fixed relative to the known points: 200, 400, 500, 550 mm."
    )


def test_seven_from_three_needs_a_second_gauge():
    """Derived: two gauges of 100 mm lands tie seven points only through points that 300 mm lands made first."""
    long, short = anchored_levels((3, 7), 600, 1.0)
    assert not solve_network(long.fits, wanted_mm=range(0, 700, 100)).reached.all()
    assert not solve_network(short.fits, [0, 600]).reached.all()
    assert solve_network(long.fits + short.fits).reached.all()


def test_an_uneven_gauge_turned_end_for_end_reaches_a_further_point():
    straight, turned = lay((0, 100, 300), 0, 1.0), lay((0, 100, 300), 0, 1.0, turned=True)
    assert turned.lands_mm == (0, 200, 300)
    assert solve_network([straight], wanted_mm=[200]).reached.tolist() == [True, True, False, True]
    assert solve_network([straight, turned]).reached.all()


def test_a_turned_gauge_of_four_lands_swaps_its_two_zeros():
    own = (0, 100, 200, 300)
    both = [lay(own, 0, 1.0), lay(own, 0, 1.0, turned=True)]
    zeros_only = solve_network(both, zero_sd_um={"gauge": 9.0}, readings_um=[1.0, 2.0, 2.0, 1.0])
    bar_only = solve_network(both, zero_sd_um={"gauge": 9.0}, readings_um=[1.0, 2.0, 1.0, 2.0])
    assert set(zeros_only.zero_um) == {("gauge", 0), ("gauge", 1)}
    assert np.diff(zeros_only.height_um[1:3])[0] == pytest.approx(0, abs=1e-9)
    assert zeros_only.zero_um["gauge", 1][0] - zeros_only.zero_um["gauge", 0][0] == pytest.approx(1, abs=0.01)
    assert np.diff(bar_only.height_um[1:3])[0] == pytest.approx(1, abs=1e-9)


def test_levels_in_turn_equal_all_fits_at_once():
    """Derived: settled points weighed in with their whole covariance lose nothing."""
    levels = anchored_levels((3, 7, 13), 1200, 0.8, bridged=True)
    last = progression(levels)[-1]
    once = solve_network([f for level in levels for f in level.fits])
    np.testing.assert_allclose(last.covariance_um2, once.covariance_um2, rtol=1e-6, atol=1e-9)


def test_a_level_that_trusts_nothing_forgets_the_levels_before():
    long, _ = anchored_levels((3, 7), 600, 1.0)
    chain = chained_level(7, 600, 1.0)
    np.testing.assert_allclose(progression([long, chain])[-1].sd_um, step_lands(6, sd_um=1.0).sd_um, rtol=1e-9)


def test_three_then_seven_anchored_is_surer_than_seven_chained_with_as_many_fits():
    """Three points first and seven after: common practice, no source. The figures are derived."""
    rows = progression_table()
    assert [r.counts for r in rows] == [(3, 7), (3, 5, 9), (3, 7, 13), (3, 7, 13, 25)]
    for row in rows:
        assert row.chained_fits == row.anchored_fits == row.points - 2
        assert row.anchored_um < row.chained_um / 2
        assert row.chained_um == pytest.approx(step_lands(row.points - 1, sd_um=1.0).sd_um.max(), rel=1e-8)
    assert rows[0].anchored_um == pytest.approx(np.sqrt(20 / 9 + 4 / 9))  # two steps of three, and 2/3 of the middle
    quarter, middle = 1 / 2, 3 / 4  # what the quarter's own error and the middle's put into the point between them
    assert rows[1].anchored_um == pytest.approx(np.sqrt(1 + quarter**2 + middle**2))


def test_without_extra_fits_nothing_is_checked_and_a_bridge_checks_once():
    plain = [f for level in anchored_levels((3, 7), 600, 1.0) for f in level.fits]
    np.testing.assert_allclose(solve_network(plain).redundancy, 0, atol=1e-9)
    bridged = [f for level in anchored_levels((3, 7), 600, 1.0, bridged=True) for f in level.fits]
    assert solve_network(bridged).redundancy.sum() == pytest.approx(1)


def test_many_points_with_a_small_gauge_alone_keep_eight_digits():
    """Derived closed form, where squaring the table would lose most digits."""
    fits = chained_level(401, 4000.0, 1.0).fits
    found = solve_network(fits, readings_um=np.ones(399))
    np.testing.assert_allclose(found.height_um, step_lands(400, zero_um=1.0).bias_um, rtol=1e-8)


def test_the_search_finds_no_less_than_brute_force_over_a_small_case():
    """Brute force in its own words: all ways to four or six spaces, once or twice each, no bridges."""
    best = None
    for counts in [(5,), (3, 5), (7,), (3, 7), (4, 7)]:
        for code in range(2 ** len(counts)):
            times = tuple(1 + (code >> i) % 2 for i in range(len(counts)))
            fits = sum((b - a) * t for a, b, t in zip((2,) + counts, counts, times))
            worst = worst_of(counts, (False,) * len(counts), times, 1.0)
            if worst <= 1.2 and (best is None or fits < best):
                best = fits
    found = fewest_fits(400, 100, 1.2, 1.0, most_times=2)
    assert found.fits <= best and found.worst_um <= 1.2 and found.spacing_mm <= 100


def test_the_search_never_asks_for_more_than_the_trade_does():
    looked = 0
    for spacing in (300, 100, 50):
        trade = trade_plan(600, spacing, 1.0)
        found = fewest_fits(600, spacing, trade.worst_um, 1.0)
        assert found.fits <= trade.fits and found.worst_um <= trade.worst_um * (1 + 1e-9)
        looked += 1
    assert looked == 3
    assert usual_counts(19) == (3, 7, 19)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: solve_network([]), "fits holds nothing; it must hold one or more."),
        (lambda: Fit((0, 1), 1.0), "lands_mm is a row of 2; it must be one row of at least 3 positions."),
        (lambda: Fit((0, 2, 1), 1.0), "lands_mm is 1 at point 2, after 2; it must be in rising order."),
        (lambda: Fit((0, 1, 2), 0.0), "sd_um is 0; it must be more than 0."),
        (
            lambda: solve_network(UNEVEN, readings_um=[1, 2]),
            "readings_um is a row of 2; it must be 9 figures in each row, one for each inner land.",
        ),
        (lambda: solve_network(UNEVEN, zero_sd_um={"other": 1.0}), "a gauge in zero_sd_um is 'other'"),
        (lambda: solve_network(UNEVEN, zero_sd_um={"gauge": -1.0}), "zero_sd_um of 'gauge' is -1.0"),
        (lambda: progression([]), "levels holds nothing; it must hold one or more."),
        (
            lambda: progression([Level((Fit((0, 1, 2), 1.0),)), Level((Fit((0, 1, 2), 1.0),), (1.5,))]),
            "trusted_mm is 1.5, which the step before did not reach; it must be one of 0, 1, 2.",
        ),
        (
            lambda: anchored_levels((3, 6), 1, 1.0),
            "counts is 6 after 3; it must be 2 times a whole number above 1, plus 1.",
        ),
        (lambda: usual_counts(8), "points is 8; it must be an odd number"),
        (
            lambda: fewest_fits(600, 10, 0.1, 5.0, most_fits=6),
            "wanted_um is 0.1, which no progression of at most 6 fits of 5 µm reaches every 10 mm",
        ),
    ],
)
def test_progressions_refuse_in_a_sentence(call, sentence):
    with pytest.raises(ValueError) as told:
        call()
    assert sentence in str(told.value)
