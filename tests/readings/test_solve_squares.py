"""Squares are solved from gaps blade to blade, and two alone are refused."""

import io

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.core.refusal import Refusal
from simulate.readings.findings import findings
from simulate.readings.rounds.round_errors import ERRORS
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.table.read import read_readings

HEIGHTS = (0.0, 50.0, 100.0, 150.0, 200.0)
THREE = ((0, 1), (0, 2), (1, 2))


def sheet(angle_urad, pairs=THREE, heights=HEIGHTS, noise_um=0.0, seed=0, interval_um=0.0):
    """Readings of squares that touch at the foot or at the top, whichever comes first."""
    rng = np.random.default_rng(seed)
    columns = "gap_at_least_um,gap_at_most_um" if interval_um else "gap_um"
    rows = [f"lower,upper,height_mm,{columns}"]
    for i, j in pairs:
        gap = (angle_urad[i] + angle_urad[j]) * np.array(heights) / 1000
        gap = gap - gap.min() + noise_um * rng.normal(size=gap.size) + 10 * noise_um
        for height, value in zip(heights, gap):
            low = np.floor(value / interval_um) * interval_um if interval_um else value
            rows.append(f"{'ABCD'[i]},{'ABCD'[j]},{height},{low}" + (f",{low + interval_um}" if interval_um else ""))
    return read_readings(io.StringIO("\n".join(rows)), name="squares.csv")


def test_three_squares_come_back_from_their_readings():
    truth = np.array([120.0, -45.0, 260.0])
    found = solve_squares(sheet(truth))
    assert found.names == ("A", "B", "C")
    np.testing.assert_allclose(found.angle_urad, truth, atol=1e-4)
    assert np.abs(found.residual_um).max() < 1e-5


def test_squares_that_close_at_the_top_come_back_too():
    truth = np.array([-80.0, -10.0, -200.0])
    np.testing.assert_allclose(solve_squares(sheet(truth)).angle_urad, truth, atol=1e-4)


def test_two_heights_give_each_of_three_squares_root_three_over_two_of_a_sums_error():
    # Derived: a = (ab + ac - bc) / 2, three equal independent errors s, so s * sqrt(3) / 2; the same algebra as
    # three bars. Two gaps of 1 um over 200 mm make a sum uncertain by sqrt(2) / 0.2 urad.
    found = solve_squares(sheet([10.0, 20.0, 30.0], heights=(0.0, 200.0)), reading_sd_um=1.0)
    np.testing.assert_allclose(found.sd_urad, np.sqrt(2) / 0.2 * np.sqrt(3) / 2, rtol=1e-9)


def test_the_fit_agrees_with_a_general_statistics_library():
    table = sheet([120.0, -45.0, 260.0], noise_um=1.5, seed=7)
    found = solve_squares(table)
    design = np.zeros((len(table), 6))
    for row in range(len(table)):
        design[row, [table.lower[row], table.upper[row]]] = table.position_mm[row] / 1000
        design[row, 3 + row // len(HEIGHTS)] = 1
    outside = sm.OLS(table.gap_um, design).fit()
    np.testing.assert_allclose(found.angle_urad, outside.params[:3], rtol=1e-8)
    np.testing.assert_allclose(found.sd_urad, outside.bse[:3], rtol=1e-8)
    np.testing.assert_allclose(found.covariance, outside.cov_params()[:3, :3], rtol=1e-7, atol=1e-9)
    assert found.sentence.endswith("found from the residuals, with 9 redundant readings.")


def test_the_truth_lies_within_two_sd_nineteen_times_in_twenty():
    truth, inside, tried = np.array([100.0, 0.0, -50.0]), 0, 0
    for seed in range(150):
        found = solve_squares(sheet(truth, noise_um=1.0, seed=seed), reading_sd_um=1.0)
        inside += int((np.abs(found.angle_urad - truth) < 1.96 * found.sd_urad).sum())
        tried += 3
    assert tried == 450
    assert 0.91 < inside / tried < 0.985


def test_without_spare_readings_the_sentence_says_what_was_assumed():
    found = solve_squares(sheet([10.0, 20.0, 30.0], heights=(0.0, 200.0)))
    assert found.reading_sd_um == 1.0
    assert found.sentence.endswith("standard deviation of one gap 1 um, taken as 1, because no reading is redundant.")


def test_intervals_hold_the_truth():
    truth = np.array([120.0, -45.0, 260.0])
    found = solve_squares(sheet(truth, interval_um=2.5))
    assert (found.low_urad <= truth).all() and (truth <= found.high_urad).all()
    assert (found.high_urad - found.low_urad < 60).all()


def test_intervals_that_contradict_each_other_give_an_estimate_that_names_the_rows():
    rows = ["lower,upper,height_mm,gap_at_least_um,gap_at_most_um"]
    rows += [f"{a},{b},{h},{low},{low + 1}" for a, b in ("AB", "AC", "BC") for h, low in ((0, 0), (100, 30), (200, 0))]
    found = solve_squares(read_readings(io.StringIO("\n".join(rows)), name="squares.csv"))
    assert (
        found.against.explained
        and set(found.against.rows) <= set(range(2, 11))
        and "contradict each other" in found.sentence
    )
    assert found.against.conflict_um == pytest.approx(
        14.5, abs=1e-6
    )  # 30 over the line of 1 and 1, shared by three ends
    np.testing.assert_allclose(found.angle_urad, 0, atol=1e-3)
    assert (found.bend_um[:, 1] > 5).all() and (found.low_95_urad < 0).all() and (found.high_95_urad > 0).all()


def test_a_blade_that_bends_changes_no_angle_and_certain_bounds_hold_all_the_same():
    """Derived: a bow about the middle has no line of its own, so the line through five even heights leans by
    nothing."""
    rng, t = np.random.default_rng(4), np.linspace(0, 1, 5)
    for _ in range(3):
        angle, bow = 100 * rng.normal(size=3), 15 * rng.normal(size=3)
        rows = ["lower,upper,height_mm,gap_at_least_um,gap_at_most_um"]
        for a, b in THREE:
            gap = (angle[a] + angle[b]) * t * 0.15 + (bow[a] + bow[b]) * 4 * t * (1 - t)
            low = 10 * np.floor((gap - gap.min() + 35) / 10)
            rows += [f"{'ABC'[a]},{'ABC'[b]},{150 * u},{v},{v + 10}" for u, v in zip(t, low)]
        found = solve_squares(read_readings(io.StringIO("\n".join(rows)), name="squares.csv"))
        assert (found.low_urad <= angle).all() and (angle <= found.high_urad).all()
        assert np.abs(found.angle_urad - angle).max() < 4 * found.sd_urad.max()


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.sampled_from([0.5, 1.0, 2.0, 5.0]), st.floats(0, 2))
def test_no_gap_is_better_than_its_rounding(seed, step, noise):
    rng, heights = np.random.default_rng(seed), (0, 50, 100, 150)
    rows = ["lower,upper,height_mm,gap_um"]
    for a, b in ("AB", "AC", "BC"):
        rows += [f"{a},{b},{h},{step * np.round((20 + 0.1 * h + noise * rng.normal()) / step)}" for h in heights]
    found = solve_squares(read_readings(io.StringIO("\n".join(rows)), name="squares.csv"))
    assert found.reading_sd_um >= step / np.sqrt(12) - 1e-9


def test_one_reading_of_each_pair_gives_no_range():
    found = solve_squares(sheet([50.0, 0.0, -20.0], heights=(0, 100)))
    assert found.sd_from == "assumed" and found.low_95_urad is None and found.high_95_urad is None


@pytest.mark.parametrize(
    ("pairs", "heights", "loose", "found", "do"),
    [
        (((0, 1),), HEIGHTS, "A and B", "sum of its two angles", "third square"),
        (((0, 1), (1, 2)), HEIGHTS, "A, B, C", "do not close a ring of three", "A against C"),
        (THREE, (0.0,), "A, B, C", "A and B (row 2)", "two heights or more"),
    ],
)
def test_what_does_not_settle_the_squares_is_refused_with_what_is_missing(pairs, heights, loose, found, do):
    with pytest.raises(Refusal) as refused:
        solve_squares(sheet([10.0, 20.0, 30.0, 5.0], pairs, heights))
    told = refused.value
    assert told.code == "unsettled" and told.where.startswith("squares.csv") and told.where.endswith(f" {loose}")
    assert found in told.found and do in told.do


def test_readings_of_another_kind_are_refused():
    bars = read_readings(b"lower,upper,position_mm,gap_um\nA,B,0,1\nA,B,10,1\n", name="bars.csv")
    with pytest.raises(ValueError, match=r"bars\.csv: it holds readings of bars; there must be readings of squares\."):
        solve_squares(bars)
    with pytest.raises(ValueError, match="reading_sd_um is -1; it must be more than 0"):
        solve_squares(sheet([1.0, 2.0, 3.0]), reading_sd_um=-1)


def rows_of(fits, columns="lower,upper,height_mm,gap_um"):
    return read_readings(io.StringIO("\n".join([columns, *fits])), name="mine.csv")


def test_blades_are_filed_between_rounds_so_the_last_round_alone_is_solved():
    columns = "round,lower,upper,height_mm,gap_um"
    first = [
        f"1,{a},{b},{h},{g}"
        for a, b, top in (("A", "B", 30), ("A", "C", 20), ("B", "C", 40), ("A", "D", 9))
        for h, g in ((0, 0), (100, top))
    ]
    last = [
        f"2,{a},{b},{h},{g}"
        for a, b, top in (("A", "B", 3), ("A", "C", 2), ("B", "C", 4))
        for h, g in ((0, 0), (100, top))
    ]
    table = rows_of(first + last, columns)
    found = solve_squares(table)
    assert found.names == ("A", "B", "C") and found.round == 2
    np.testing.assert_allclose(found.angle_urad, [5, 25, 15], atol=1e-6)
    before = solve_squares(table, round=1)
    assert before.names == ("A", "B", "C", "D")
    np.testing.assert_allclose(before.angle_urad, [50, 250, 150, 40], atol=1e-6)
    with pytest.raises(ValueError, match="round is 3; it must be 1 or 2."):
        solve_squares(table, round=3)


def test_four_squares_of_unlike_heights_and_units_come_back_in_any_order_of_naming():
    truth = {"oak": 100.0, "elm": -250.0, "ash": 40.0, "yew": 310.0}
    fits, heights = [], [[0, 100], [5, 60, 140], [10, 75], [0, 30, 90, 150], [20, 120], [0, 150]]
    pairs = [("oak", "elm"), ("ash", "oak"), ("oak", "yew"), ("ash", "elm"), ("elm", "yew"), ("yew", "ash")]
    for (a, b), read in zip(pairs, heights):
        gap = (truth[a] + truth[b]) * np.array(read) / 1000
        fits += [f"{a},{b},{h / 25.4:.12g},{g / 25.4:.12g}" for h, g in zip(read, gap - gap.min())]
    found = solve_squares(rows_of(fits, "lower,upper,height_in,gap_thou"), reading_sd_um=1.0)
    np.testing.assert_allclose(found.angle_urad, [truth[name] for name in found.names], atol=1e-6)
    np.testing.assert_allclose(found.read_mm[found.names.index("oak")], [0, 140])
    assert found.freedom == 5 and found.factor_95 == pytest.approx(1.96, abs=0.001)


def test_a_ring_of_four_leaves_every_other_square_open_and_a_diagonal_settles_it():
    # derived: a, -b, a, -b round an even ring shows no gap at all
    ring = [f"{a},{b},{h},{g}" for a, b in ("AB", "BC", "CD", "DA") for h, g in ((0, 0), (100, 10))]
    with pytest.raises(Refusal) as refused:
        solve_squares(rows_of(ring))
    assert refused.value.where.endswith(" A, B, C, D") and "A against C" in refused.value.do
    solve_squares(rows_of([*ring, "A,C,0,0", "A,C,100,10"]))


def test_few_spare_readings_widen_what_holds_in_95_of_100():
    # Student, one degree of freedom: 12.7 (published in any table of t)
    rows = ["A,B,0,0", "A,B,100,30", "B,A,0,0", "B,A,100,31", "C,A,0,0", "C,A,100,20", "C,B,0,10", "C,B,100,0"]
    found = solve_squares(rows_of(rows))
    assert found.freedom == 1 and found.factor_95 == pytest.approx(12.706, abs=0.001)


def test_a_gap_without_an_upper_end_leaves_angles_open_and_bounds_them():
    rows = ["A,B,0,0,2.5", "A,B,100,25,", "A,C,0,0,2.5", "A,C,100,20,25", "B,C,0,5,10", "B,C,100,0,2.5"]
    rows = ["lower,upper,height_mm,gap_at_least_um,gap_at_most_um", *rows]
    found = solve_squares(read_readings(io.StringIO("\n".join(rows)), name="squares.csv"))
    assert not found.settled.any() and np.isnan(found.angle_urad).all() and np.isnan(found.low_95_urad).all()
    # (ab + ac - bc) / 2 with ab 225 or more, ac 175 to 250, bc -100 to -25
    np.testing.assert_allclose([found.low_urad[0], found.high_urad[2]], [212.5, 0.0], atol=1e-3)
    assert found.high_urad[0] == np.inf and "Not settled: A, B, C" in found.sentence


def test_intervals_alone_speak_of_their_widths_and_no_figure_is_minus_nothing():
    said = solve_squares(sheet([0.0, 0.0, 0.0], interval_um=2.5)).sentence
    assert (
        said.endswith("the uncertainty follows from the intervals, bends of the blades and feel included.")
        and "-0.0" not in said
    )


@pytest.mark.parametrize("heights", [(0.0, 100.0, 200.0), (50.0, 125.0, 200.0)])
def test_the_wedge_runs_from_the_foot_up_to_where_the_blade_was_read_wherever_it_was_read_first(heights):
    # derived: 200 urad over the 200 mm from foot to top are 40 um, whatever the lowest height that a feeler reached
    truth = np.array([200.0, 50.0, -100.0])
    found = findings(sheet(truth, heights=heights), 1.0)
    np.testing.assert_allclose(found.map.remove_um, np.abs(truth) * 0.2, atol=1e-6)
    assert found.cut[0] == "A: take 40 um off at the bottom, running out to zero at 200 mm."
    assert found.form_um == pytest.approx(40.0)
    assert ERRORS["squares"](sheet(truth, heights=heights), 1.0, 1).form_um == pytest.approx(40.0)
