"""Whether readings agree, and which of them fits worst, against general statistics and by hand."""

from dataclasses import replace

import numpy as np
import pytest
import statsmodels.api as sm
import workshops_read as made
from scipy.stats import chi2, kstest, norm, t

from simulate.bench.looking.eye import chance_seen, fit_eye
from simulate.readings.adjustment.consistency import RELIABLE, consistency
from simulate.readings.adjustment.equations import LEAST_SPREAD, Equations, point_spread, solve
from simulate.readings.eye.wedge_findings import eye_consistency
from simulate.readings.findings import findings
from simulate.readings.table.read import read_readings


def line(reading, sd=1.0, sd_from="given", group=None):
    x = np.arange(float(len(reading)))
    group = np.zeros(x.size, int) if group is None else np.asarray(group)
    return Equations(
        np.stack([np.ones_like(x), x], -1),
        np.asarray(reading, float),
        np.full(x.size, sd),
        group,
        tuple(f"fit {k}" for k in range(group.max() + 1)),
        np.arange(x.size) + 2,
        np.eye(2),
        sd_from,
    )


def test_chi_square_and_redundancy_by_hand():
    # four readings of one thing, mean 2: squares 4 + 0 + 1 + 1; each is foretold to three quarters by the others
    four = Equations(
        np.ones((4, 1)),
        np.array([0.0, 2.0, 3.0, 3.0]),
        np.ones(4),
        np.zeros(4, int),
        ("fit",),
        np.arange(4),
        np.eye(1),
        "given",
    )
    found = consistency(four)
    assert found.chi_square == pytest.approx(6.0) and found.dof == 3
    assert found.probability == pytest.approx(chi2.sf(6, 3))
    np.testing.assert_allclose(solve(four).redundancy, 0.75)
    assert found.standardized == pytest.approx(-2 / np.sqrt(0.75))
    assert found.hides_up_to == pytest.approx(RELIABLE / np.sqrt(0.75))


def test_the_least_blunder_found_rests_on_baardas_figure():
    # non-centrality 4.13 at one false alarm in 1000 and four fifths of power (Baarda; from memory)
    assert RELIABLE == pytest.approx(4.13, abs=0.005)


def test_residuals_are_studentized_as_statsmodels_has_it():
    rng = np.random.default_rng(3)
    reading = 2 + 0.5 * np.arange(9) + rng.normal(size=9)
    reading[6] += 5
    outside = sm.OLS(reading, np.stack([np.ones(9), np.arange(9)], -1)).fit().get_influence()
    found = consistency(line(reading, 1.0, "residuals"))
    worst = int(np.argmax(np.abs(outside.resid_studentized_internal)))
    assert found.row == worst + 2
    assert found.standardized == pytest.approx(outside.resid_studentized_internal[worst], rel=1e-8)
    # the probability is that of the external one, corrected for nine readings
    one = 2 * t.sf(abs(outside.resid_studentized_external[worst]), 6)
    assert found.row_probability == pytest.approx(1 - (1 - one) ** 9, rel=1e-6)


def test_a_fit_left_out_is_what_solving_without_it_foretells():
    rng = np.random.default_rng(5)
    reading, group = rng.normal(size=10), np.repeat([0, 1, 2], [4, 3, 3])
    x = np.arange(10.0)
    found = {one.name: one for one in consistency(line(reading, 1.0, "given", group)).closures}
    assert len(found) == 3
    for k in range(3):
        mine = group == k
        slope, start = np.polyfit(x[~mine], reading[~mine], 1)
        out = reading[mine] - start - slope * x[mine]
        assert found[f"fit {k}"].rms == pytest.approx(np.sqrt(np.mean(out**2)), rel=1e-9)


def test_probabilities_are_even_where_readings_are_good():
    rng = np.random.default_rng(6)
    good = [consistency(line(rng.normal(size=8))) for _ in range(400)]
    assert kstest([one.probability for one in good], "uniform").pvalue > 0.005
    # of good readings the worst is called doubtful (below 5 %) once in twenty; its correction errs to the safe side
    assert np.mean([one.row_probability < 0.05 for one in good]) < 0.075


@pytest.mark.parametrize(
    ("kind", "bump", "seed"), [("bars", 25.0, 1), ("plates", 25.0, 2), ("squares", 25.0, 3), ("lands", 30.0, 4)]
)
def test_a_blunder_is_found_in_its_own_row(kind, bump, seed):
    maker = {
        "bars": lambda rng: made.bars(rng, names="ABCDE"),
        "plates": lambda rng: made.plates(rng, more=((1, 2, 90),)),
        "squares": lambda rng: made.squares(rng, names="ABCD"),
        "lands": made.lands,
    }[kind]
    _, table = maker(np.random.default_rng(seed))
    worst = 2
    value = table.proud_um if kind == "lands" else table.gap_um
    value[worst] += bump
    for end in (table.low_um, table.high_um):
        end[worst] += bump
    agree = findings(table, 1.0).consistency
    assert agree.row == table.row[worst]
    assert agree.probability < 0.001 and agree.row_probability < 0.001
    assert f"row {table.row[worst]}" in " ".join(agree.sentences)


def test_a_fit_that_was_laid_wrongly_closes_worst():
    _, table = made.squares(np.random.default_rng(8), names="ABCDE")
    lower = table.lower == 1
    tilted = lower & (table.upper == 3)
    table.gap_um[tilted] += 0.06 * table.position_mm[tilted]
    agree = findings(table, 1.0).consistency
    assert agree.closures[0].name == "D against B" and agree.closures[0].probability < 0.01
    assert "too far" in agree.closures[0].sentence


def test_without_a_reading_to_spare_nothing_is_checked_and_that_is_said():
    _, table = made.bars(np.random.default_rng(9))
    found = findings(table, 1.0)
    assert found.consistency.chi_square is None and found.consistency.row is None
    assert set(found.consistency.unchecked_rows) == set(table.row.tolist())
    assert any("a blunder of any size" in words for words in found.hidden)


def test_two_readings_that_share_one_check_cannot_be_told_apart():
    found = consistency(line([0.0, 1.0, 5.0]))
    assert found.dof == 1 and found.row is None and "cannot be told from one another" in found.sentences[-1]


def test_exact_readings_accuse_nobody():
    found = consistency(line(np.arange(6.0), LEAST_SPREAD, "residuals"))
    assert found.standardized == 0.0 and found.row_probability > 0.9


def test_the_spread_of_points_among_intervals_is_found():
    rng, found = np.random.default_rng(10), []
    for _ in range(60):
        x = np.arange(24.0)
        point = x % 2 == 0
        reading = 3 + 0.2 * x + np.where(point, 2.0 * rng.normal(size=24), rng.uniform(-4, 4, 24))
        sd, freedom = point_spread(
            np.stack([np.ones_like(x), x], -1), reading, np.where(point, 1.0, 8 / np.sqrt(12)), point
        )
        found.append(sd)
        assert 9 <= freedom <= 12
    assert np.sqrt(np.mean(np.square(found))) == pytest.approx(2.0, rel=0.1)


def test_among_points_alone_the_spread_is_the_usual_one():
    design = np.stack([np.ones(5), np.arange(5.0)], -1)
    reading = np.array([1.0, 3.0, 2.0, 5.0, 4.0])
    sd, freedom = point_spread(design, reading, np.ones(5), np.ones(5, bool))
    assert sd == pytest.approx(np.sqrt(sm.OLS(reading, design).fit().scale), rel=1e-6) and freedom == 3


def test_the_two_closures_worked_out_by_hand_come_first():
    _, table = made.survey(np.random.default_rng(12))
    found = findings(table, 1.0)
    for closure, axis, value, sd in zip(
        found.consistency.closures, "xy", found.solution.closure_um, found.solution.closure_sd_um
    ):
        assert closure.name == f"the centre line along {axis}"
        assert (closure.rms, closure.expected) == (pytest.approx(abs(value)), pytest.approx(sd))
        assert closure.probability == pytest.approx(2 * norm.sf(abs(value) / sd))
    assert len(found.consistency.closures) == 10


def test_a_mark_that_does_not_fit_the_curve_of_an_eye_is_named():
    text = b"gap_um,looks,seen\n1,20,1\n1.5,20,3\n2,20,18\n2.5,20,10\n3,20,14\n3.5,20,18\n4,20,20\n"
    agree = findings(read_readings(text)).consistency
    assert agree.row == 4 and agree.probability < 0.01 and "look there again" in agree.sentences[1]


def test_pearsons_sum_is_statsmodels():
    """Held at no guesses and no misses, the sum and the largest standardized residual are those of a logistic
    regression."""
    gap, seen = np.array([1, 2, 3, 4.0]), np.array([1, 3, 8, 10.0])
    fit = sm.GLM(np.stack([seen, 10 - seen], -1), sm.add_constant(gap), family=sm.families.Binomial()).fit()
    table = made.table_of("gap_um,looks,seen", [f"{g},10,{int(s)}" for g, s in zip(gap, seen)])
    eye = fit_eye(gap, seen, 10, false_open=0, missed=0)
    held = replace(findings(table).solution, eye=eye, expected=10 * chance_seen(gap, eye))
    agree = eye_consistency(held, table)
    assert agree.chi_square == pytest.approx(fit.pearson_chi2, rel=1e-5)
    worst = np.abs(fit.get_influence().resid_studentized).max()
    assert abs(agree.standardized) == pytest.approx(worst, rel=1e-4)
    assert agree.dof == 2 and norm.isf(0.025) == pytest.approx(1.959964, abs=1e-6)


def test_one_step_of_rounding_beside_readings_that_are_alike_is_no_blunder():
    rows = [f"{x},{y},{t}" for x, y, t in zip([10, 90] * 2, [10, 10, 70, 70], ["0.7251", "0.7253", "0.7250", "0.7254"])]
    again = [*rows[:2], rows[2].replace("0.7250", "0.7251"), rows[3]]
    found = findings(read_readings("\n".join(["x_in,y_in,thickness_in", *rows, *again]).encode()))
    assert found.consistency.row_probability > 0.05
    assert not any("read it again" in said for said in found.sentences)
    slip = [*rows[:2], rows[2].replace("0.7250", "0.7271"), rows[3]]
    found = findings(read_readings("\n".join(["x_in,y_in,thickness_in", *rows, *slip]).encode()))
    assert any("read it again" in said for said in found.sentences)


def test_readings_that_all_fit_exactly_have_none_that_fits_worst():
    rows = [f"{x},{way},{z + x // 20}" for way, z in (("no", 0), ("yes", 3)) for x in (0, 100)] * 2
    found = findings(read_readings("\n".join(["travel_mm,turned,dial_um", *rows]).encode()))
    assert found.sd_from == "resolution" and not any("fits worst" in said for said in found.sentences)
