"""Intervals that cannot all be true are a finding that names the rows, and nothing beside it says that they agree."""

from dataclasses import replace
from functools import cache

import feelers_read as felt
import numpy as np
import pytest
import workshops_read as made

from simulate.readings.findings import findings
from simulate.readings.squares.square_findings import of_squares
from simulate.show.own.squares.own_squares import OwnSquaresPanel

MAKERS = {
    "squares": lambda rng: made.squares_by_feelers(rng)[1],
    "bars": lambda rng: made.bars(rng, step_um=10.0, names="ABCD")[1],
    "plates": lambda rng: made.plates(rng, step_um=10.0)[1],
    "lands": lambda rng: made.lands(rng, step_um=10.0)[1],
}


def shifted(table, k, by_um):
    low, high = table.low_um.copy(), table.high_um.copy()
    low[k], high[k] = low[k] + by_um, high[k] + by_um
    return replace(table, low_um=low, high_um=high)


@cache
def found(kind, by_um):
    return findings(shifted(MAKERS[kind](np.random.default_rng(3)), 4, by_um))


@pytest.mark.parametrize("kind", MAKERS)
def test_a_reading_that_is_400_um_off_is_a_finding_with_its_row(kind):
    told = found(kind, 400)
    against, said = told.solution.against, " ".join((*told.sentences, *told.cut))
    assert 6 in against.rows and 6 in against.alone and against.times > 3 and not against.explained
    assert "contradict each other" in told.sentences[0] and "cannot all be true" in told.sentences[0]
    assert "Read row 6" in told.sentences[0] and "without it the others agree" in told.sentences[0]
    assert "agree with each other" not in said and "no more than the worst" not in said
    assert any(one.startswith("The readings contradict each other, at rows") for one in told.consistency.sentences)
    assert not told.stop.stop and told.stop.sentence.startswith("Do not stop: the readings contradict each other. Read")


@pytest.mark.parametrize("kind", MAKERS)
def test_without_a_slip_there_is_no_finding(kind):
    told = found(kind, 0)
    assert told.solution.against is None and "contradict" not in " ".join(told.sentences)
    assert any("agree with each other" in one for one in told.consistency.sentences)


def test_what_bends_and_feel_make_is_said_with_how_much_of_them_it_takes():
    told = found("squares", 15)
    against = told.solution.against
    assert 0 < against.times < 1 and "bends of the blades and the feel of the feelers" in told.sentences[0]
    assert f"{against.times:.2g} standard deviations are enough" in told.sentences[0]
    assert "agree with each other" not in " ".join(told.sentences) and told.solution.low_95_urad is not None


@pytest.mark.parametrize("bend_um, feel_um, times", [(5.0, 0.0, 2.0), (1.0, 0.0, 10.0), (2.0, 0.0, 5.0)])
def test_bends_beyond_three_times_what_is_stated_are_a_finding(bend_um, feel_um, times):
    """By hand: equal blades that stand 15 um out half way up are bent by 10 um there and by 5 um at both ends, over the
    line of the three heights."""
    rows = [
        f"{a},{b},{h},{low:.4f},{low:.4f}" for a, b in ("AB", "AC", "BC") for h, low in ((0, 0), (100, 30), (200, 0))
    ]
    table = made.table_of("lower,upper,height_mm,gap_at_least_um,gap_at_most_um", rows)
    solution = of_squares(table, feel_um=feel_um, bend_um=bend_um).solution
    assert solution.against.times == pytest.approx(times, abs=1e-3)
    assert solution.against.explained == (times <= 3) and (solution.low_95_urad is None) == (times > 3)
    assert f"{bend_um:g} um, as you stated" in solution.sentence


def test_the_panel_says_the_contradiction_and_files_nothing_by_it(tmp_path):
    table = shifted(made.squares_by_feelers(np.random.default_rng(3))[1], 4, 400.0)
    rows = [
        f"{table.names[a]},{table.names[b]},{h:g},{low:g},{high:g}"
        for a, b, h, low, high in zip(
            table.lower, table.upper, table.position_mm, table.low_um, table.high_um, strict=True
        )
    ]
    path = tmp_path / "squares.csv"
    path.write_text("\n".join(["lower,upper,height_mm,gap_at_least_um,gap_at_most_um", *rows]))
    said = OwnSquaresPanel(path).sentence
    assert "contradict each other by 146 µm or more and cannot all be true" in said and "Read row 6 again" in said
    assert said.count("The readings contradict each other, so file nothing yet.") == 3 and "for certain" not in said


def test_good_readings_in_wide_intervals_agree_and_say_nothing_of_how_well():
    # a sum that takes each as even over its width, and as independent, is too small for half of such sets
    rng, small = np.random.default_rng(9), 0
    for style in felt.STYLES[:4]:
        told = findings(felt.bars_by_feelers(rng, style, 4.0, felt.DARK_UM, turned=True)[1]).consistency
        small += told.probability > 0.99
        assert "agree with each other; how well is not known" in told.sentences[0]
    assert small > 0
