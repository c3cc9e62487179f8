"""The reading that would tell most: information by short formulas against brute force with dense matrices."""

import numpy as np
import pytest
import workshops_read as made
from scipy.special import expit

from simulate.readings.equations import solve
from simulate.readings.findings import findings
from simulate.readings.findings_bars import bar_equations
from simulate.readings.findings_lands import land_equations
from simulate.readings.findings_plates import plate_equations
from simulate.readings.findings_squares import square_equations
from simulate.readings.findings_survey import survey_equations
from simulate.readings.further import after, gain_bits
from simulate.readings.table import read_readings
from simulate.readings.wedge import look_bits, solve_wedge


def dense_gain(design, sd, datum, rows, row_sd):
    """Half the fall of the logarithm of the covariance's determinant, everything written out: old unknowns and one
    more column for every seat of the new fit, whole pseudo-inverses, no projection."""
    def log_det(matrix, spread):
        full = matrix / spread[:, None]
        value = datum_wide(matrix.shape[1]) @ np.linalg.pinv(full.T @ full, hermitian=True, rcond=1e-12) @ datum_wide(matrix.shape[1]).T
        size = np.linalg.eigvalsh(value)
        firm = size[size > 1e-9 * size[-1]]
        return np.log2(firm).sum(), firm.size

    def datum_wide(columns):
        return np.hstack([datum, np.zeros((len(datum), columns - datum.shape[1]))])

    before, rank = log_det(design, sd)
    extra = rows.shape[1] - design.shape[1]
    wide = np.vstack([np.hstack([design, np.zeros((len(design), extra))]), rows])
    then, same = log_det(wide, np.concatenate([sd, np.full(len(rows), row_sd)]))
    assert rank == same
    return (before - then) / 2


def sized(design):
    """Columns of one size, so that a pseudo-inverse does not drop the small ones."""
    size = np.linalg.norm(design, axis=0)
    return np.where(size > 0, size, 1.0)


def every_gain(found):
    return dict(found.next.table)


def test_information_by_hand():
    # one value known to sd 1, read once more with sd 1: the variance halves, half a bit
    assert gain_bits(np.eye(1), np.eye(1)) == pytest.approx(0.5)
    np.testing.assert_allclose(after(np.eye(1), np.eye(1)), [[0.5]])


@pytest.mark.parametrize("names", ["ABC", "ABCD"])
def test_bars_every_candidate_by_brute_force(names):
    _, table = made.bars(np.random.default_rng(1), names=names, x=np.array([0.0, 50, 120, 180, 250, 300]))
    found = findings(table, 1.5)
    equations, network = bar_equations(found.solution), found.solution.network
    gains, tried = every_gain(found), 0
    for turned in (False, True):
        for a in range(len(names)):
            for b in range(a + 1, len(names)):
                at = np.arange(network.x_mm.size)
                above = at[::-1] if turned else at
                rows = np.zeros((at.size, equations.design.shape[1] + 2))
                shapes = network.basis.shape[1]
                rows[:, a * shapes: (a + 1) * shapes] -= network.basis[at]
                rows[:, b * shapes: (b + 1) * shapes] -= network.basis[above]
                rows[:, -2], rows[:, -1] = 1.0, network.along
                dense = dense_gain(equations.design, equations.sd, equations.datum, rows, 1.5)
                assert gains[network.fit_name((a, b, turned))] == pytest.approx(dense, rel=1e-6)
                tried += 1
    assert tried == len(gains) == 2 * len(names) * (len(names) - 1) // 2
    assert found.next.gain_bits == pytest.approx(max(gains.values()))


def test_squares_every_candidate_by_brute_force():
    _, table = made.squares(np.random.default_rng(2), names="ABCD")
    found = findings(table, 0.8)
    equations = square_equations(found.solution, table)
    heights, tried = np.unique(table.position_mm), 0
    for name, gain in found.next.table:
        upper, lower = name.split(" against ")
        rows = np.zeros((heights.size, equations.design.shape[1] + 1))
        for one in (upper, lower):
            rows[:, "ABCD".index(one)] += heights / 1000
        rows[:, -1] = 1.0
        dense = dense_gain(equations.design, equations.sd, equations.datum, rows, 0.8)
        assert gain == pytest.approx(dense, rel=1e-6)
        tried += 1
    assert tried == 6


def test_plates_every_candidate_by_brute_force():
    _, table = made.plates(np.random.default_rng(3))
    found = findings(table, 1.0)
    equations, stations, read = plate_equations(found.solution, table)
    assert read.all()
    place = {(x, y): k for k, (x, y) in enumerate(zip(stations.x_mm, stations.y_mm))}
    tried = 0
    for name, gain in found.next.table:
        pair, turn = name.split(" at ")
        upper, lower = ("ABC".index(one) for one in pair.split(" on "))
        rows = []
        for (x, y), k in place.items():
            u, v = x - 100.0 * ("slid" in name), y
            for _ in range(int(turn.split()[0]) // 90):
                u, v = v, -u  # a quarter turn undone
            if (-u + 0.0, v) in place:  # and turned over about y
                row = np.zeros(equations.design.shape[1] + 3)
                row[9 * lower + k] -= 1.0
                row[9 * upper + place[-u + 0.0, v]] -= 1.0
                row[-3:] = 1.0, x / 100, y / 100
                rows.append(row)
        rows = np.array(rows)
        dense = dense_gain(equations.design, equations.sd, equations.datum, rows, 1.0)
        assert gain == pytest.approx(dense, rel=1e-6)
        tried += 1
    assert tried == 24


def test_lands_every_candidate_by_brute_force():
    _, table = made.lands(np.random.default_rng(4))
    found = findings(table, 1.2)
    equations, x, tried = land_equations(found.solution, table), found.solution.network.x_mm, 0
    for name, gain in found.next.table:
        at = [float(part) for part in name.split(" on ")[1].removesuffix(" mm").replace(" and ", ", ").split(", ")]
        rows = np.zeros((1, x.size))
        left, middle, right = (int(np.flatnonzero(x == place)[0]) for place in at)
        share = (at[1] - at[0]) / (at[2] - at[0])
        rows[0, middle], rows[0, left], rows[0, right] = 1.0, share - 1, -share
        dense = dense_gain(equations.design, equations.sd, equations.datum, rows, 1.2)
        assert gain == pytest.approx(dense, rel=1e-6)
        tried += 1
    assert tried == len(table)


def test_survey_every_line_by_brute_force():
    _, table = made.survey(np.random.default_rng(5))
    found = findings(table, 0.7)
    equations, _ = survey_equations(found.solution, table)
    size, tried = sized(equations.design), 0
    for k, name in enumerate(equations.groups):
        mine = equations.group == k
        rows = np.hstack([equations.design[mine], np.ones((mine.sum(), 1))])
        rows[:, equations.design.shape[1] - 8: -1] = 0.0
        dense = dense_gain(equations.design / size, equations.sd, equations.datum / size, rows / np.append(size, 1.0), 0.7)
        assert every_gain(found)[f"line {name} again"] == pytest.approx(dense, rel=1e-6)
        tried += 1
    assert tried == 8


def test_one_more_look_at_a_gap_by_brute_force_over_all_eyes():
    table = read_readings(b"gap_um,looks,seen\n1,10,0\n2,10,3\n3,10,7\n4,10,10\n")
    found = solve_wedge(table)
    # all eyes on a dense grid, weighed by the normal that the fit leaves
    root = np.linalg.cholesky(found.covariance)
    steps = np.linspace(-7, 7, 401)
    u, v = (part.ravel() for part in np.meshgrid(steps, steps))
    weight = np.exp(-(u**2 + v**2) / 2)
    weight /= weight.sum()
    constant, slope = (np.array([[-found.eye.threshold_um], [1.0]]) / found.eye.spread_um) + root @ np.stack([u, v])
    for gap in (0.5, 1.7, 2.5, 4.0):
        chance = expit(constant + slope * gap)
        mean = chance @ weight
        entropy = [-(p * np.log2(p) + (1 - p) * np.log2(1 - p)) for p in (np.clip(chance, 1e-15, 1 - 1e-15), mean)]
        assert look_bits(found, np.array([gap]))[0] == pytest.approx(entropy[1] - entropy[0] @ weight, rel=1e-4)


def test_the_spread_told_for_after_is_that_of_solving_with_the_further_fit():
    _, table = made.squares(np.random.default_rng(6), names="ABCD")
    found = findings(table, 1.0)
    upper, lower = found.next.name.split(" against ")
    more = [f"9{lower},{upper},{h},{g}" for h, g in zip(np.unique(table.position_mm), (1, 2, 3, 4))]
    rows = [f"{'ABCD'[a]},{'ABCD'[b]},{h},{g}" for a, b, h, g in zip(table.lower, table.upper, table.position_mm, table.gap_um)]
    # the same pair read with the blades the other way about is a fit of its own
    again = made.table_of("lower,upper,height_mm,gap_um", rows + [f"{upper},{lower},{one.split(',', 2)[2]}" for one in more])
    then = findings(again, 1.0).solution
    assert found.next.sd_after == pytest.approx(np.sqrt(np.mean(then.sd_urad**2)), rel=1e-6)


def test_a_gauge_that_ties_an_open_point_is_named_before_all_others():
    # 250 and 300 mm were read by one gauge alone, which fits them but does not tie them; a gauge of 100 mm ties 300
    text = b"gauge,left_mm,middle_mm,right_mm,proud_um\nlong,0,200,400,6\nshort,0,100,200,2\nodd,200,250,300,1\n"
    found = findings(read_readings(text), 1.0)
    assert not found.solution.network.reached.all()
    assert found.next.shows == 1 and "300" in found.next.name and "nothing shows now" in found.next.sentence
    assert any("not firmly tied" in words for words in found.hidden)


def test_redundancy_adds_up_to_the_readings_to_spare():
    _, table = made.bars(np.random.default_rng(7), names="ABCD")
    solved = solve(bar_equations(findings(table, 1.0).solution))
    assert solved.redundancy.sum() == pytest.approx(solved.dof)
    assert solved.dof == findings(table, 1.0).solution.dof
