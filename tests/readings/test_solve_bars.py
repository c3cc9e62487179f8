"""Bars solved from the gaps of their pairs, held against hand arithmetic and outside solvers."""

import dataclasses

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import null_space

from simulate.bench.seating.bar_seat import face, rest
from simulate.readings.bars.bar_cut import best_bar, cut_map, stop_rule, stop_sentence
from simulate.readings.bars.bar_findings import of_bars
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.rounds.compare import band, compare
from simulate.readings.table.demo import demo_path
from simulate.readings.table.read import ReadingsError, read_readings
from simulate.readings.table.readings import Readings

X = np.linspace(-250.0, 250.0, 11)
THREE = ((0, 1, False), (0, 2, False), (1, 2, False))


def own_line_out(x, height):
    fit = np.polynomial.polynomial.polyfit(x, height.T, 1)
    return height - fit[0][..., None] - fit[1][..., None] * x


def gaps(height, fits, x=X):
    """What each pair would show, the upper bar resting on the lower one, pressed a hair off its middle."""
    return np.array([rest(x, height[low] + face(height[up], turned), 1e-4).gap_um for low, up, turned in fits])


def table(gap, fits, x=X, low=None, high=None, names="ABCDEFG", along=0.0):
    points = len(x)
    low = gap if low is None else low
    high = gap if high is None else high
    read = gap.ravel() if low is gap else np.full(gap.size, np.nan)
    return Readings(
        "made.csv",
        "bars",
        np.arange(2, gap.size + 2),
        tuple(names[: 1 + max(max(f[:2]) for f in fits)]),
        np.ones(gap.size, int),
        np.repeat([f[0] for f in fits], points),
        np.repeat([f[1] for f in fits], points),
        np.repeat([f[2] for f in fits], points),
        np.tile(x, len(fits)) + along,
        gap_um=read,
        low_um=low.ravel(),
        high_um=high.ravel(),
    )


def some_bars(seed, bars=3, points=11, size=100):
    return np.random.default_rng(seed).normal(0, size, (bars, points))


def test_three_pairs_give_half_of_two_sums_less_the_third():
    # a = (ab + ac - bc) / 2: solve ab = a + b, ac = a + c, bc = b + c by hand; each bar's own line goes out after
    height = some_bars(1)
    gap = gaps(height, THREE)
    ab, ac, bc = -gap
    by_hand = own_line_out(X, np.array([ab + ac - bc, ab + bc - ac, ac + bc - ab]) / 2)
    solved = solve_bars(table(gap, THREE))
    assert np.allclose(solved.height_um, by_hand, atol=1e-9)
    assert np.allclose(solved.height_um, own_line_out(X, height), atol=1e-9)
    assert solved.names == ("A", "B", "C") and np.allclose(solved.x_mm, X)
    assert np.abs(solved.residual_um).max() < 1e-9


@settings(deadline=None, max_examples=40)
@given(
    seed=st.integers(0, 10_000),
    bars=st.integers(3, 5),
    points=st.integers(3, 15),
    turned=st.booleans(),
    along=st.sampled_from([0.0, 250.0, 17.3]),
)
def test_bars_to_gaps_and_back_again(seed, bars, points, turned, along):
    x = np.linspace(-250, 250, points)
    fits = [(i, (i + 1) % bars, False) for i in range(bars)] + [(0, 2, False)] + [(0, 1, True)] * turned
    height = some_bars(seed, bars, points)
    solved = solve_bars(table(gaps(height, fits, x), fits, x, along=along))
    assert np.allclose(solved.height_um, own_line_out(x, height), atol=1e-7)
    assert np.allclose(solved.x_mm, x + along)


def test_heights_and_covariance_are_those_of_statsmodels():
    # oracle: statsmodels WLS on every shape beyond a line and all seats of the same network: a table of full rank, for
    # what a pseudo-inverse makes of one that is not hangs on the library's own cut.
    fits = [*THREE, (0, 1, True), (1, 2, True)]
    rng = np.random.default_rng(5)
    gap = gaps(some_bars(2), fits) + rng.normal(0, 3, (5, 11)) + 30
    solved = solve_bars(table(gap, fits), 1.7)
    design = np.zeros((55, 33 + 10))
    for r, (f, p) in enumerate((f, p) for f in range(5) for p in range(11)):
        low, up, turned = fits[f]
        design[r, low * 11 + p] -= 1
        design[r, up * 11 + (10 - p if turned else p)] -= 1
        design[r, 33 + 2 * f], design[r, 34 + 2 * f] = 1, X[p] / 250
    free = np.kron(np.eye(3), null_space(np.stack([np.ones(11), X])))
    whole = np.hstack([design[:, :33] @ free, design[:, 33:]])
    outside = sm.WLS(gap.ravel(), whole, weights=np.full(55, 1.7**-2)).fit()
    assert np.allclose(solved.height_um.ravel(), free @ outside.params[:27], atol=1e-7)
    assert np.allclose(solved.covariance, free @ outside.normalized_cov_params[:27, :27] @ free.T, atol=1e-8)
    assert np.allclose(solved.residual_um, outside.resid, atol=1e-7)
    assert solved.dof == 55 - np.linalg.matrix_rank(design) and solved.sd_from == "given"


def test_a_scatter_not_given_is_that_of_statsmodels():
    fits = [*THREE, (0, 1, True)]
    gap = gaps(some_bars(3), fits) + np.random.default_rng(6).normal(0, 3, (4, 11)) + 20
    solved = solve_bars(table(gap, fits))
    design = np.zeros((44, 41))
    for r, (f, p) in enumerate((f, p) for f in range(4) for p in range(11)):
        low, up, turned = fits[f]
        design[r, low * 11 + p] -= 1
        design[r, up * 11 + (10 - p if turned else p)] -= 1
        design[r, 33 + 2 * f], design[r, 34 + 2 * f] = 1, X[p] / 250
    free = np.kron(np.eye(3), null_space(np.stack([np.ones(11), X])))
    outside = sm.OLS(gap.ravel(), np.hstack([design[:, :33] @ free, design[:, 33:]])).fit()
    assert solved.sd_from == "residuals" and solved.dof == 9
    assert solved.reading_sd_um == pytest.approx(np.sqrt(outside.ssr / 9), rel=1e-9)


def test_equal_gap_errors_give_each_bar_root_three_halves_of_them():
    # var a = (s^2 + s^2 + s^2) / 4, so sd = s * sqrt(3) / 2; taking the own line out projects that covariance
    solved = solve_bars(table(gaps(some_bars(1), THREE), THREE), reading_sd_um=4.0)
    line = np.column_stack([np.ones(11), X])
    projector = np.eye(11) - line @ np.linalg.inv(line.T @ line) @ line.T
    assert np.allclose(solved.covariance[:11, :11], 4.0**2 * 3 / 4 * projector, atol=1e-9)
    assert np.allclose(solved.sd_um, 4.0 * np.sqrt(3) / 2 * np.sqrt(np.diag(projector)), atol=1e-9)
    assert solved.sd_from == "given" and solved.factor_95 == pytest.approx(1.959964, abs=1e-6)


def test_no_reading_to_spare_says_so():
    solved = solve_bars(table(gaps(some_bars(1), THREE), THREE))
    assert (solved.dof, solved.sd_from, solved.reading_sd_um) == (0, "assumed", 1.0)
    assert "assumed, as there are no redundant readings" in solved.sentence


@pytest.mark.parametrize("known", [True, False])
def test_ninety_five_in_a_hundred_intervals_hold_the_truth(known):
    fits = [*THREE, (0, 1, True)]
    height = some_bars(4)
    truth, clean = own_line_out(X, height), gaps(height, fits) + 50
    rng = np.random.default_rng(7)
    held = []
    for _ in range(150):
        solved = solve_bars(table(clean + rng.normal(0, 2, clean.shape), fits), 2.0 if known else None)
        held.append(np.abs(solved.height_um - truth) <= solved.factor_95 * solved.sd_um)
    assert len(held) == 150
    # heights of one set hang together: the share of 150 sets scatters by about 0.01
    assert 0.92 < np.mean(held) < 0.98


@settings(deadline=None, max_examples=12)
@given(seed=st.integers(0, 10_000), size=st.sampled_from([3.0, 30.0, 100.0]))
def test_guaranteed_bounds_hold_the_truth_and_the_best_estimate_of_nothing_else(seed, size):
    x = np.linspace(-250, 250, 7)
    height = some_bars(seed, 3, 7, size)
    gap = gaps(height, THREE, x)
    ends = np.array([0, 2.5, 30, 50, 100, 150, 200, 300, 500, 1000, 5000])
    at = np.clip(np.searchsorted(ends, gap, side="right") - 1, 0, 9)
    solved = solve_bars(table(gap, THREE, x, low=ends[at], high=ends[at + 1]))
    truth = own_line_out(x, height)
    assert (solved.low_um <= truth).all() and (truth <= solved.high_um).all()
    assert solved.conflict == ""


def test_bounds_are_tight_where_the_answer_is_known():
    # three stations: the only line-free shape is (1, -2, 1); gaps (0, m, 0) in each pair put each middle at -m/2 beyond
    # the end line, so with m between 4 and 6 in ab, ac and bc alike a's middle lies between -(4 + 4 - 6 ... 6 + 6 - 4)
    # / 2
    x, zero = np.array([0.0, 50.0, 100.0]), np.zeros((3, 3))
    low, high = zero.copy(), zero.copy()
    low[:, 1], high[:, 1] = 4, 6
    solved = solve_bars(table(zero + 5, THREE, x, low=low, high=high))
    middle = solved.low_um[:, 1] * 1.5, solved.high_um[:, 1] * 1.5
    assert np.allclose(middle, ([-4] * 3, [-1] * 3), atol=1e-4)


def test_intervals_that_contradict_are_said_with_their_rows_and_the_best_estimate_stands():
    x = np.array([0.0, 50.0, 100.0])
    fits = [*THREE, (1, 0, False)]
    low = np.array([[0, 40, 0], [0, 40, 0], [0, 40, 0], [0, 0, 0.0]])
    solved = solve_bars(table(low + 2, fits, x, low=low, high=low + 5))
    assert solved.low_um is None and solved.high_um is None and np.isfinite(solved.height_um).all()
    assert "rows" in solved.conflict and "contradict" in solved.conflict and " 3," in solved.conflict
    assert solved.conflict in solved.sentence


def test_a_gap_with_no_upper_end_bounds_but_is_not_taken_for_a_gap_at_its_lower_end():
    height = some_bars(9, 3, 5)
    x = np.linspace(-250, 250, 5)
    fits = [*THREE, (0, 1, True)]
    gap = gaps(height, fits, x)
    high = gap + 1
    high[3] = np.inf
    solved = solve_bars(table(gap, fits, x, low=np.maximum(gap - 1, 0), high=high))
    without = solve_bars(table(gap[:3], THREE, x, low=np.maximum(gap - 1, 0)[:3], high=high[:3]))
    assert np.abs(solved.height_um - without.height_um).max() < 3 and len(solved.open_rows) == 5
    assert (solved.low_um >= without.low_um - 1e-5).all()


def test_gaps_beyond_the_thickest_blade_leave_what_is_certain_and_where_to_file():
    # three bars a millimetre hollow: 30 um or less at the ends, beyond a blade of 1000 um between. On average a bar is
    # then hollow by half of what a pair is at the least, less half of the 30 um that its ends may be apart
    x = np.array([0.0, 100.0, 200.0, 300.0, 400.0])
    low, high = np.full((3, 5), 1000.0), np.full((3, 5), np.inf)
    low[:, [0, -1]], high[:, [0, -1]] = 0, 30
    solved = solve_bars(table(low + 1, THREE, x, low=low, high=high))
    assert solved.hollow_um[-1].max() == pytest.approx((1000 - 30) / 2, abs=1e-3)
    assert "at least 485 um hollow" in solved.sentence and "file their ends" in solved.sentence
    assert not stop_rule(solved).stop and len(solved.open_rows) == 9
    assert np.isinf(solved.high_um - solved.low_um).any() and solved.sd_um.max() < 3000


def test_equal_readings_are_as_good_as_their_step_and_no_better():
    fits = [*THREE, (0, 1, True)]
    for step, digits in ((1.0, 1.0), (5.0, 5.0)):
        gap = np.round(gaps(some_bars(1, size=20), fits) / step) * step
        gap[:, 0] += step  # one step to be seen
        level = solve_bars(table(0 * gap, fits), resolution_um=step)
        assert level.sd_from == "resolution" and level.reading_sd_um == pytest.approx(step / np.sqrt(12))
        assert solve_bars(table(gap, fits)).resolution.step == pytest.approx(digits)
    assert solve_bars(table(0 * gap, fits)).resolution.source == "assumed"


def test_an_assumed_spread_gives_no_range_and_calls_nothing_sure():
    solved = solve_bars(table(gaps(some_bars(1), THREE), THREE))
    assert solved.sd_from == "assumed" and solved.low_95_um is None and solved.high_whole_um is None
    assert not cut_map(solved).sure.any() and np.isnan(best_bar(solved).chance)
    assert not stop_rule(solved).stop and "turned end for end" in stop_rule(solved).sentence


def test_a_band_for_the_whole_bar_holds_it_and_the_pointwise_one_does_not():
    fits = [*THREE, (0, 1, True)]
    height = some_bars(4)
    truth, clean = own_line_out(X, height), gaps(height, fits) + 50
    rng, whole, each = np.random.default_rng(8), [], []
    for _ in range(120):
        solved = solve_bars(table(clean + rng.normal(0, 2, clean.shape), fits), 2.0)
        whole.append(((solved.low_whole_um <= truth) & (truth <= solved.high_whole_um)).all(axis=1))
        each.append(((solved.low_95_um <= truth) & (truth <= solved.high_95_um)).all(axis=1))
    assert 0.91 < np.mean(whole) < 0.99 and np.mean(each) < 0.75


REFUSED = {
    "two bars": ([(0, 1, False)], "B on A", "a third bar as well, fitted to A and to B"),
    "two bars and turned": ([(0, 1, False), (0, 1, True)], "B on A turned", "a third bar as well"),
    "an open chain": ([(0, 1, False), (1, 2, False)], "B on A, C on B", "every station of C on A"),
    "four in a ring": (
        [(0, 1, False), (1, 2, False), (2, 3, False), (3, 0, False)],
        "A on D",
        "every station of C on A",
    ),
    "two couples": ([(0, 1, False), (2, 3, False)], "D on C", " and "),
}


@pytest.mark.parametrize("case", REFUSED)
def test_fits_that_cannot_settle_the_bars_are_refused_with_the_pair_that_would(case):
    fits, read, allowed = REFUSED[case]
    height = some_bars(3, 4)
    with pytest.raises(ReadingsError) as refusal:
        solve_bars(table(gaps(height, fits), fits))
    said = str(refusal.value)
    assert said.startswith("made.csv, column lower, upper: the fits that were read (") and "unseen" in said
    assert read in said and allowed in said


def test_the_named_pairs_do_settle_it():
    fits = [(0, 1, False), (2, 3, False), (0, 2, False), (1, 2, False)]
    assert solve_bars(table(gaps(some_bars(3, 4), fits), fits)).names == ("A", "B", "C", "D")


def test_stations_missing_in_one_fit_are_allowed_where_others_settle_them_and_named_where_not():
    fits = [*THREE, (0, 1, True), (0, 2, True), (1, 2, True)]
    height = some_bars(8)
    whole = table(gaps(height, fits), fits)
    keep = np.ones(66, bool)
    keep[3] = False
    assert np.allclose(solve_bars(whole.rows(keep)).height_um, own_line_out(X, height), atol=1e-7)
    with pytest.raises(ReadingsError, match="1 shape of the bars unseen.*every station of B on A"):
        solve_bars(table(gaps(height, THREE), THREE).rows(keep[:33]))


def test_the_last_round_is_solved_unless_another_is_asked_for():
    first, second = some_bars(1), some_bars(2)
    both = table(np.concatenate([gaps(first, THREE), gaps(second, THREE)]), [*THREE, *THREE])
    both = dataclasses.replace(both, round=np.repeat([1, 2], 33))
    assert np.allclose(solve_bars(both).height_um, own_line_out(X, second), atol=1e-8)
    assert np.allclose(solve_bars(both, round=1).height_um, own_line_out(X, first), atol=1e-8)
    with pytest.raises(ValueError, match="round is 3; it must be 1 or 2"):
        solve_bars(both, round=3)


def test_impossible_arguments_are_refused():
    good = table(gaps(some_bars(1), THREE), THREE)
    with pytest.raises(ValueError, match="reading_sd_um is 0"):
        solve_bars(good, 0)
    with pytest.raises(ValueError, match="table is str"):
        solve_bars("mine.csv")
    with pytest.raises(ReadingsError, match="three positions or more"):
        solve_bars(good.rows(good.position_mm < -180))


@pytest.mark.parametrize("name, sd_from", [("demo_bars.csv", "assumed"), ("demo_bars_light.csv", "intervals")])
def test_the_demos_are_marked_as_invented_and_solve(name, sd_from):
    assert "nvented" in demo_path(name).read_text().splitlines()[0]
    solved = solve_bars(read_readings(demo_path(name)))
    assert solved.names == ("North", "South", "Pole") and solved.x_mm.size == 11
    assert solved.sd_from == sd_from and solved.conflict == ""
    assert (solved.low_um is None) == (name == "demo_bars.csv")
    with pytest.raises(ValueError, match="must be 'demo_bars.csv'"):
        demo_path("other.csv")


def test_what_the_cut_map_takes_leaves_the_bars_straight_and_nothing_is_put_back():
    solved = solve_bars(read_readings(demo_path()), 4.0)
    metal = cut_map(solved)
    left = solved.height_um - metal.remove_um
    line = np.column_stack([np.ones(11), solved.x_mm])
    assert np.abs(left.T - line @ np.linalg.lstsq(line, left.T, rcond=None)[0]).max() < 1e-9
    assert (metal.remove_um >= 0).all() and (metal.remove_um.min(axis=1) < 1e-9).all()
    assert len(metal.sentences) == 3 and "North: file from" in metal.sentences[0]
    # no line under the bar costs less metal: try every line through two stations that stays under it
    tried = 0
    for bar, took in zip(solved.height_um, metal.remove_um):
        for i in range(11):
            for j in range(i + 1, 11):
                under = bar[i] + (bar[j] - bar[i]) / (solved.x_mm[j] - solved.x_mm[i]) * (solved.x_mm - solved.x_mm[i])
                if (under <= bar + 1e-9).all():
                    tried += 1
                    assert (bar - under).sum() >= took.sum() - 1e-6
    assert tried >= 3


def test_the_best_bar_and_how_sure_that_is():
    height = some_bars(1)
    height[1] *= 0.1
    best = best_bar(solve_bars(table(gaps(height, THREE), THREE), 1.0))
    assert (best.index, best.name, best.chance) == (1, "B", 1.0)
    even = some_bars(1, size=1e-3)
    assert best_bar(solve_bars(table(gaps(even, THREE), THREE), 5.0)).chance < 0.8


def test_the_next_reading_is_as_good_as_it_says():
    solved = of_bars(table(gaps(some_bars(1), THREE), THREE), reading_sd_um=2.0)
    said = solved.next
    upper, lower = said.name.removesuffix(" turned").split(" on ")
    fits = [*THREE, ("ABC".index(lower), "ABC".index(upper), said.name.endswith("turned"))]
    after = solve_bars(table(gaps(some_bars(1), fits), fits), reading_sd_um=2.0)
    assert said.sd_after == pytest.approx(np.sqrt(np.mean(after.sd_um**2)), rel=1e-9)
    assert said.sd_before == pytest.approx(np.sqrt(np.mean(solved.solution.sd_um**2)), rel=1e-9)
    assert said.sd_after < said.sd_before and len(said.options) == 6
    assert said.sentence.startswith(f"Read {said.name} next: of the 6 readings you could take, ")


def test_many_heights_are_solved_without_bounds():
    x = np.linspace(-250, 250, 102)
    gap = gaps(some_bars(1, 3, 102), THREE, x)
    solved = solve_bars(table(gap.copy(), THREE, x, low=gap, high=gap + 2))
    assert solved.low_um is None and solved.conflict == "" and solved.height_um.shape == (3, 102)
    with pytest.raises(ReadingsError, match="too many to solve at once"):
        x = np.linspace(-250, 250, 401)
        solve_bars(table(np.zeros((3, 401)), THREE, x))


def test_the_stop_rule_goes_on_when_bars_are_out_and_stops_in_the_scatter():
    height = some_bars(1)
    assert stop_sentence(solve_bars(table(gaps(height, THREE), THREE), 1.0)).startswith("Go on: ")
    straight = gaps(0 * height, THREE) + 20
    rng = np.random.default_rng(1)
    stops = [
        stop_rule(solve_bars(table(straight + rng.normal(0, 2, straight.shape), THREE), 2.0)).stop for _ in range(40)
    ]
    # three bars at 95 in 100 each, which hang together: about nine sets in ten stop
    assert len(stops) == 40 and np.mean(stops) > 0.75
    assert stop_sentence(solve_bars(table(gaps(height, THREE), THREE), 0.1), target_um=2000).startswith(
        "Stop: every bar"
    )


def test_a_figure_is_placed_in_the_band_of_the_simulated_workshops():
    history = np.random.default_rng(1).uniform(0, 100, (1000, 4, 3))
    worst = band(history)
    assert worst.value_um.shape == (3, 4)
    assert np.allclose(worst.value_um[1], np.median(history.max(-1), axis=0))
    said = compare(worst, 2, float(worst.value_um[0, 2]) - 1)
    assert "better than nine workshops in ten" in said.sentence and said.share_better < 0.1
    assert "worse than nine" in compare(worst, 0, 1000).sentence
    with pytest.raises(ValueError, match="after_rounds is 4; it must be 0 to 3"):
        compare(worst, 4, 1.0)
    with pytest.raises(
        ValueError,
        match=r"straightness_um is 4 by 3 figures; it must be a table for each workshop, "
        r"with a row for each state and a column for each bar\.",
    ):
        band(history[0])
