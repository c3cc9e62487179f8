"""Readings of land gauges: checked, solved as a levelling network, and held against a prediction."""

import re

import numpy as np
import pytest
import statsmodels.api as sm

from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import anchored_levels, chained_level
from simulate.readings.findings import findings
from simulate.readings.lands.solve_lands import against_prediction, solve_lands
from simulate.readings.table.read import ReadingsError, read_readings

HEAD = "round,gauge,left_mm,middle_mm,right_mm,proud_um\n"


def table(fits, readings, round_=1):
    rows = [
        f"{round_},{f.gauge.replace(' ', '_')},{','.join(f'{x:g}' for x in f.lands_mm)},{r:.6f}"
        for f, r in zip(fits, readings)
    ]
    return read_readings((HEAD + "\n".join(rows) + "\n").encode(), "lands.csv")


def reading(fit, height):
    a, m, b = fit.lands_mm
    part = (m - a) / (b - a)
    return height(m) - (1 - part) * height(a) - part * height(b)


def progression_fits(bridged=False):
    return [f for level in anchored_levels((3, 7), 600, 1.0, bridged) for f in level.fits]


def test_a_file_of_lands_is_read_in_either_unit():
    one = read_readings(b"gauge,left_in,middle_in,right_in,proud_thou,note\nlong,0,5,10,-0.4,fresh\n")
    assert one.kind == "lands" and one.names == ("long",)
    assert (one.left_mm[0], one.position_mm[0], one.right_mm[0]) == (0, 127, 254)
    assert one.proud_um[0] == pytest.approx(-10.16) and one.round.tolist() == [1]


@pytest.mark.parametrize(
    "text, sentence",
    [
        (
            HEAD + "1,long,0,300,600,\n",
            "lands.csv, row 2, column proud_um is empty; it must be a number up to 1000 mm either way",
        ),
        (HEAD + "1,long,0,0,600,1\n", "row 2, column middle_mm is '0'; it must be a place beyond 0 mm"),
        (HEAD + "1,long,0,300,200,1\n", "row 2, column right_mm is '200'; it must be a place beyond 300 mm"),
        (HEAD + "1,long,0,300,600,thin\n", "row 2, column proud_um is 'thin'; it must be a number"),
        ("gauge,left_mm,right_mm,proud_um\na,0,1,1\n", "row 1, column middle_mm: the header has no such column"),
        (
            HEAD.replace("proud_um", "gap_um") + "1,long,0,300,600,1\n",
            "row 1, column proud_um: the header has no such column",
        ),
        (
            HEAD.replace("round", "turned") + "no,long,0,300,600,1\n",
            "'turned: it has no meaning in readings of lands"[1:],
        ),
        (
            HEAD.replace("proud_um", "proud") + "1,long,0,300,600,1\n",
            "'proud' says no unit; there must be proud_um, proud_mm",
        ),
    ],
)
def test_a_file_of_lands_is_refused_by_row_and_column(text, sentence):
    with pytest.raises(ReadingsError, match=re.escape(sentence)):
        read_readings(text.encode(), "lands.csv")


def test_readings_without_error_give_the_bar_back():
    def bar(x):
        return 4 * np.sin(x / 90.0) + 0.02 * x

    fits = progression_fits()
    found = solve_lands(table(fits, [reading(f, bar) for f in fits])).network
    line = bar(0) + (bar(600) - bar(0)) * found.x_mm / 600
    np.testing.assert_allclose(found.height_um, bar(found.x_mm) - line, atol=1e-5)


def test_heights_and_spread_agree_with_least_squares_of_a_statistics_library():
    """statsmodels OLS on the same readings, written out by hand."""
    rng = np.random.default_rng(2)
    fits = progression_fits(bridged=True) + list(chained_level(7, 600, 1.0).fits)
    read = rng.normal(size=len(fits)) * 2
    x = np.arange(0, 700, 100.0)
    rows = np.array(
        [[(p == f.lands_mm[1]) - 0.5 * (p in (f.lands_mm[0], f.lands_mm[2])) for p in x[1:-1]] for f in fits]
    )
    other = sm.OLS(read, rows).fit()
    found = solve_lands(table(fits, read))
    np.testing.assert_allclose(found.network.height_um[1:-1], other.params, atol=1e-5)
    np.testing.assert_allclose(found.network.sd_um[1:-1], other.bse, rtol=1e-4)
    np.testing.assert_allclose(found.residual_um, other.resid, atol=1e-5)
    assert found.reading_sd_um == pytest.approx(np.sqrt(other.scale), rel=1e-4)
    assert "found from the readings that check each other" in found.sentence


def test_without_a_check_the_spread_is_taken_for_granted_and_said_so():
    found = solve_lands(table(progression_fits(), [0.0] * 5))
    assert found.reading_sd_um == 1.0 and "assumed, because nothing in the readings shows it" in found.sentence
    assert "300 mm +0.0 um (± 1.0 um)" in found.sentence


def test_the_last_round_is_solved_unless_another_is_asked_for():
    text = HEAD + "1,long,0,300,600,9\n2,long,0,300,600,-1\n"
    both = read_readings(text.encode())
    assert solve_lands(both).network.height_um[1] == -1 and solve_lands(both).round == 2
    assert solve_lands(both, round=1).network.height_um[1] == 9
    with pytest.raises(ValueError, match="round is 3; it must be 1 or 2."):
        solve_lands(both, round=3)


def test_points_that_nothing_ties_are_named_and_a_chain_that_does_not_arrive_is_refused():
    some = read_readings((HEAD + "1,long,0,300,600,1\n1,small,0,100,200,1\n").encode())
    assert "not yet fixed relative to the known points: 100, 200 mm" in solve_lands(some).sentence
    cut = table([Fit((0, 100, 200), 1.0), Fit((400, 500, 600), 1.0)], [1, 1])
    with pytest.raises(
        ValueError,
        match="no point between the ends is fixed .determined: 0, 600 mm; touched, but not yet fixed relative to",
    ):
        solve_lands(cut)


def test_a_zero_that_is_not_known_widens_the_spread():
    fits = progression_fits()
    sure, unsure = (solve_lands(table(fits, [0.0] * 5), 1.0, zero_sd_um=z) for z in (None, {"7_points": 2.0}))
    assert unsure.network.sd_um[1] > 1.5 * sure.network.sd_um[1]


def test_another_kind_of_table_is_refused():
    other = read_readings(b"lower,upper,height_mm,gap_um\nA,B,0,1\n")
    with pytest.raises(ValueError, match="squares"):
        solve_lands(other)


def test_bars_worked_by_the_progression_come_out_as_foretold_as_often_as_they_should():
    """Monte Carlo: 400 bars drawn from the prediction and read with scatter; the probabilities are even."""
    rng = np.random.default_rng(4)
    fits = progression_fits(bridged=True)
    predicted = solve_network(fits)
    drawn = rng.multivariate_normal(np.zeros(7), predicted.covariance_um2, size=400)
    found = []
    for height in drawn:
        read = [reading(f, lambda x, h=height: np.interp(x, predicted.x_mm, h)) + 0.5 * rng.normal() for f in fits]
        found.append(against_prediction(solve_lands(table(fits, read), 0.5), predicted).probability)
    assert len(found) == 400
    assert np.mean(found) == pytest.approx(0.5, abs=0.06)
    assert np.mean(np.array(found) < 0.05) == pytest.approx(0.05, abs=0.035)


def test_a_bar_that_is_far_out_is_told_apart():
    fits = progression_fits()
    good = against_prediction(solve_lands(table(fits, [0.5] * 5), 0.5), solve_network(fits))
    bad = against_prediction(solve_lands(table(fits, [9.0] * 5), 0.5), solve_network(fits))
    assert "as predicted" in good.sentence
    assert bad.probability < 0.01 and "something else was at work" in bad.sentence


def test_predictions_of_other_points_are_refused():
    fits = progression_fits()
    solved = solve_lands(table(fits, [0.0] * 5), 1.0)
    with pytest.raises(
        ValueError, match=r"predicted is from 0 to 500; it must be between the ends that were read, 0 and 600\."
    ):
        against_prediction(solved, solve_network([Fit((0, 250, 500), 1.0)]))
    with pytest.raises(
        ValueError,
        match=r"predicted holds none of the points that were read; it must hold one point or more in common\.",
    ):
        against_prediction(solved, solve_network([Fit((0, 350, 600), 1.0)]))


def test_a_straight_bar_is_told_to_stop_95_times_in_100_though_one_reading_alone_is_to_spare():
    fits = [Fit((a, m, b), 1.0, "g") for a, m, b in ((0, 100, 200), (100, 200, 300), (200, 300, 400))]
    fits.append(Fit((0, 200, 400), 1.0, "w"))
    rng = np.random.default_rng(11)
    told = [findings(table(fits, rng.normal(0, 1, 4).round(3))) for _ in range(120)]
    assert told[0].solution.factor_95 == pytest.approx(12.7, abs=0.01)  # Student's t with one degree of freedom
    assert np.mean([not one.stop.stop for one in told]) < 0.1
    wide = [one.solution for one in told if one.solution.sd_from == "residuals"]
    reach = [np.abs(s.draws_um[:, 1:-1]).max() / np.nanmax(s.network.sd_um) for s in wide]
    assert len(wide) > 100 and min(reach) > 50  # the draws that the floor is from have the tails of the ranges
