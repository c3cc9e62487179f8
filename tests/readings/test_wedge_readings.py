"""A wedge test of the learner's own eye, as readings like any other."""

import numpy as np
import pytest
import workshops_read as made
from scipy.stats import binom

from simulate.bench.looking.eye import fit_eye, gap_seen_um
from simulate.bench.looking.eye_posterior import chance_open
from simulate.readings.eye.wedge import look_bits, solve_wedge
from simulate.readings.findings import findings
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import ReadingsError, read_readings

HEAD = "gap_um,looks,seen\n"
GOOD = HEAD + "1,10,0\n2,10,3\n3,10,7\n4,10,10\n"


def wedge(text):
    return read_readings(text.encode(), "wedge.csv")


def test_the_demo_is_a_wedge_test_and_says_that_it_is_invented():
    assert "nvented" in demo_path("demo_wedge.csv").read_text().splitlines()[0]
    table = read_readings(demo_path("demo_wedge.csv"))
    assert table.kind == "wedge" and len(table) == 9 and table.names == ()
    assert not table.is_interval.any()


@pytest.mark.parametrize(("unit", "factor"), [("um", 1.0), ("mm", 1e-3), ("thou", 1 / 25.4), ("in", 1 / 25400)])
def test_gaps_are_taken_in_every_unit(unit, factor):
    rows = "\n".join(f"{g * factor:.9f},10,{s}" for g, s in ((1, 0), (2, 3), (3, 7), (4, 10)))
    found = solve_wedge(wedge(f"gap_{unit},looks,seen\n{rows}\n"))
    assert found.eye.threshold_um == pytest.approx(2.5, abs=0.02)


@pytest.mark.parametrize(
    ("text", "row", "column", "words"),
    [
        (HEAD + "1,10,11\n", 2, "seen", "a whole number from 0 to 10, because there were no more checks of this mark"),
        (HEAD + "1,0,0\n", 2, "looks", "a whole number from 1"),
        (HEAD + "1,10,2.5\n", 2, "seen", "a whole number from 0"),
        (HEAD + "-1,10,2\n", 2, "gap_um", "how wide the wedge is open"),
        (HEAD + "wide,10,2\n", 2, "gap_um", "a number from 0"),
        (HEAD + "1,10,\n", 2, "seen", "a whole number"),
        (HEAD + "1e9,10,2\n", 2, "gap_um", "1000 mm"),
        ("gap_um,looks\n1,10\n", 1, "seen", "a column seen in readings of a wedge test"),
        ("looks,seen\n10,2\n", 1, "gap_um", "gap_um, gap_mm, gap_thou"),
        ("gap,looks,seen\n1,10,2\n", 1, "gap", "gap_um, gap_mm"),
        (
            "gap_um,looks,seen,lower\n1,10,2,A\n",
            1,
            "lower",
            "wedge.csv, row 1, column lower: it has no meaning in readings of a wedge test",
        ),
        ("gap_at_least_um,looks,seen\n1,10,2\n", 1, "gap_um", "a column gap_um"),
    ],
)
def test_what_may_not_stand_is_refused_with_its_place(text, row, column, words):
    with pytest.raises(ReadingsError) as refused:
        wedge(text)
    assert (refused.value.row, refused.value.column) == (row, column)
    assert words in str(refused.value)


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ("1,10,0\n2,10,0\n", "nothing was seen"),
        ("1,10,10\n2,10,10\n", "everything was seen"),
        ("1,10,0\n2,10,10\n", "jumps from never to always"),
        ("1,10,9\n3,10,1\n", "seen: wider gaps were seen less often"),
        ("2,10,5\n", "seen: only the mark at 2 µm was seen some of the time, which gives a threshold but no slope"),
    ],
)
def test_looks_that_set_no_curve_are_refused_in_a_sentence(rows, words):
    with pytest.raises(ValueError, match=words):
        findings(wedge(HEAD + rows))


def test_the_fit_is_that_of_the_bench():
    found = solve_wedge(wedge(GOOD))
    bench = fit_eye([1, 2, 3, 4], [0, 3, 7, 10], 10)
    assert (found.eye.threshold_um, found.eye.spread_um) == (bench.threshold_um, bench.spread_um)
    assert (found.low_95_um, found.high_95_um) == (found.low_um, found.high_um) == (bench.low_95_um, bench.high_95_um)
    assert found.often_95_um[0] < gap_seen_um(bench) < found.often_95_um[1]
    assert "with both rates known" in found.sentence and "too few to tell whether you guess" in found.sentence


def test_one_lonely_mark_leaves_an_end_open_and_the_words_stay_whole():
    found = findings(wedge(HEAD + "1,1,0\n2,1,1\n3,1,0\n4,1,1\n"))
    assert "nan" not in " ".join(found.sentences) and found.solution.low_um >= 0


def test_a_look_where_the_answer_is_known_tells_nothing():
    bits = look_bits(solve_wedge(wedge(GOOD)), np.array([1e-6, 2.5, 1000.0]))
    assert bits[2] < 0.05 and bits[1] < 1 and (bits >= -1e-12).all()


def test_the_next_gap_narrows_the_threshold_as_promised():
    found = findings(wedge(GOOD))
    gap = float(found.next.name.split()[3])
    assert 1 < gap < 4 and found.next.sd_after < found.next.sd_before == pytest.approx(
        found.solution.eye.threshold_sd_um, rel=1e-6
    )
    # brute force: every count that may come out of ten more looks there, fitted anew and weighed by how likely it is
    left = found.solution.eye.left
    weight = binom.pmf(
        np.arange(11)[:, None], 10, chance_open(gap, left.threshold_um, left.spread_um, left.false_open, left.missed)
    )
    anew = [fit_eye([1, 2, 3, 4, gap], [0, 3, 7, 10, count], 10).threshold_sd_um for count in range(11)]
    assert found.next.sd_after == pytest.approx(np.sqrt(weight.mean(axis=1) @ np.square(anew)), rel=0.05)


def test_rounds_of_a_wedge_test_are_days_and_each_is_told_alone():
    table = made.table_of(
        "round,gap_um,looks,seen",
        [f"1,{g},10,{s}" for g, s in ((1, 0), (2, 3), (3, 7), (4, 10))]
        + [f"2,{g},10,{s}" for g, s in ((2, 0), (3, 3), (4, 7), (5, 10))],
    )
    assert findings(table).solution.eye.threshold_um == pytest.approx(3.5, abs=0.02)
    assert findings(table, round=1).solution.eye.threshold_um == pytest.approx(2.5, abs=0.02)
    assert findings(table).progress is None
