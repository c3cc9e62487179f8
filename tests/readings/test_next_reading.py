"""The reading that would tell most: information by short formulas against brute force with dense matrices."""

import numpy as np
import pytest
import workshops_read as made
from scipy.special import expit

from simulate.readings.adjustment.equations import solve
from simulate.readings.adjustment.next_reading import after, gain_bits
from simulate.readings.bars.bar_findings import bar_equations
from simulate.readings.eye.wedge import look_bits, solve_wedge, threshold_sd_after
from simulate.readings.findings import findings
from simulate.readings.lands.land_findings import land_equations
from simulate.readings.plates.plate_findings import plate_equations
from simulate.readings.squares.square_findings import square_equations
from simulate.readings.survey.survey_findings import survey_equations
from simulate.readings.table.demo import DEMOS, demo_path
from simulate.readings.table.read import read_readings
from simulate.show.own.bars.own_bars import OwnBarsPanel
from simulate.show.own.lands.own_lands import OwnLandsPanel
from simulate.show.own.plates.own_plates import OwnPlatesPanel
from simulate.show.own.squares.own_squares import OwnSquaresPanel
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel


def dense_gain(design, sd, datum, rows, row_sd):
    """Half the fall of the logarithm of the covariance's determinant, everything written out: old unknowns and one
    more column for every seat of the new fit, whole pseudo-inverses, no projection."""

    def log_det(matrix, spread):
        full = matrix / spread[:, None]
        value = (
            datum_wide(matrix.shape[1])
            @ np.linalg.pinv(full.T @ full, hermitian=True, rcond=1e-12)
            @ datum_wide(matrix.shape[1]).T
        )
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
    return {one.name: one.gain_bits for one in found.next.options}


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
                rows[:, a * shapes : (a + 1) * shapes] -= network.basis[at]
                rows[:, b * shapes : (b + 1) * shapes] -= network.basis[above]
                rows[:, -2], rows[:, -1] = 1.0, network.along
                dense = dense_gain(equations.design, equations.sd, equations.datum, rows, 1.5)
                assert gains[network.fit_name((a, b, turned))] == pytest.approx(dense, rel=1e-6)
                tried += 1
    assert tried == len(gains) == 2 * len(names) * (len(names) - 1) // 2
    assert found.next.gain_bits == pytest.approx(gains[found.next.name])
    assert found.next.sd_after == pytest.approx(min(one.sd_after for one in found.next.options), rel=1e-9)


def test_squares_every_candidate_by_brute_force():
    _, table = made.squares(np.random.default_rng(2), names="ABCD")
    found = findings(table, 0.8)
    equations = square_equations(found.solution, table)
    heights, tried = np.unique(table.position_mm), 0
    for name, gain in every_gain(found).items():
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
    for name, gain in every_gain(found).items():
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
    for name, gain in every_gain(found).items():
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
        rows[:, equations.design.shape[1] - 8 : -1] = 0.0
        dense = dense_gain(
            equations.design / size, equations.sd, equations.datum / size, rows / np.append(size, 1.0), 0.7
        )
        assert every_gain(found)[f"line {name} again"] == pytest.approx(dense, rel=1e-6)
        tried += 1
    assert tried == 8


def test_one_more_look_at_a_gap_by_brute_force_over_all_eyes():
    table = read_readings(b"gap_um,looks,seen\n1,10,0\n2,10,3\n3,10,7\n4,10,10\n")
    found = solve_wedge(table)
    # all eyes on a dense grid of threshold, spread and both rates, weighed by prior and likelihood
    t, s, g, m = np.meshgrid(
        np.linspace(0.6, 4.4, 60),
        np.linspace(0.1, 2.2, 50),
        np.linspace(0.004, 0.396, 25),
        np.linspace(0.004, 0.396, 25),
        indexing="ij",
    )
    weight = ((1 - g) * (1 - m)) ** 9
    for gap, k in ((1, 0), (2, 3), (3, 7), (4, 10)):
        p = g + (1 - g - m) * expit((gap - t) / s)
        weight = weight * p**k * (1 - p) ** (10 - k)
    weight /= weight.sum()
    for gap in (0.5, 1.7, 2.5, 4.0):
        chance = g + (1 - g - m) * expit((gap - t) / s)
        mean = (chance * weight).sum()
        entropy = [-(p * np.log2(p) + (1 - p) * np.log2(1 - p)) for p in (chance, mean)]
        assert look_bits(found, np.array([gap]))[0] == pytest.approx(
            entropy[1] - (entropy[0] * weight).sum(), rel=0.15, abs=2e-3
        )


def test_the_spread_told_for_after_is_that_of_solving_with_the_further_fit():
    _, table = made.squares(np.random.default_rng(6), names="ABCD")
    found = findings(table, 1.0)
    upper, lower = found.next.name.split(" against ")
    more = [f"9{lower},{upper},{h},{g}" for h, g in zip(np.unique(table.position_mm), (1, 2, 3, 4))]
    rows = [
        f"{'ABCD'[a]},{'ABCD'[b]},{h},{g}"
        for a, b, h, g in zip(table.lower, table.upper, table.position_mm, table.gap_um)
    ]
    # the same pair read with the blades the other way about is a fit of its own
    again = made.table_of(
        "lower,upper,height_mm,gap_um", rows + [f"{upper},{lower},{one.split(',', 2)[2]}" for one in more]
    )
    then = findings(again, 1.0).solution
    assert found.next.sd_after == pytest.approx(np.sqrt(np.mean(then.sd_urad**2)), rel=1e-6)


def test_a_gauge_that_ties_an_open_point_is_named_before_all_others():
    # 250 and 300 mm were read by one gauge alone, which fits them but does not tie them; a gauge of 100 mm ties 300
    text = b"gauge,left_mm,middle_mm,right_mm,proud_um\nlong,0,200,400,6\nshort,0,100,200,2\nodd,200,250,300,1\n"
    found = findings(read_readings(text), 1.0)
    assert not found.solution.network.reached.all()
    assert found.next.shows == 1 and "300" in found.next.name and "nothing shows now" in found.next.sentence
    assert any("not yet fixed" in words for words in found.hidden)


def test_redundancy_adds_up_to_the_readings_to_spare():
    _, table = made.bars(np.random.default_rng(7), names="ABCD")
    solved = solve(bar_equations(findings(table, 1.0).solution))
    assert solved.redundancy.sum() == pytest.approx(solved.dof)
    assert solved.dof == findings(table, 1.0).solution.dof


def bars_of_some_workshop(rng, feelers):
    """Bars with a turned pair half of the time, point readings or intervals of a blade set."""
    x = np.linspace(0, 300, int(rng.integers(4, 8)))
    heights = np.cumsum(rng.normal(0, 8, (3, x.size)), axis=1)
    pairs = [(0, 1, "no"), (0, 2, "no"), (1, 2, "no"), *([(0, 1, "yes")] if rng.random() < 0.5 else [])]
    rows, blades = [], np.array([0.0, 2.5, 10, 20, 30, 50, 100, 200, 400])
    for a, b, turned in pairs:
        gap = -(heights[a] + (heights[b][::-1] if turned == "yes" else heights[b]))
        gap = gap - gap.min() + rng.normal(0, 0.3, x.size).clip(0)
        for at, one in zip(x, gap):
            k = int(np.searchsorted(blades, one, side="right"))
            read = f",{blades[k - 1]:g},{blades[k]:g}" if feelers else f"{one:.1f},,"
            rows.append(f"{'ABC'[a]},{'ABC'[b]},{turned},{at:g},{read}")
    return "\n".join(["lower,upper,turned,position_mm,gap_um,gap_at_least_um,gap_at_most_um", *rows])


def next_told(sentence):
    """The sentence that tells what to read next, as it stands in a panel."""
    return sentence[sentence.index("Read ") :].split(" root mean square")[0]


@pytest.mark.parametrize(
    "kind, lesson",
    [("bars", OwnBarsPanel), ("plates", OwnPlatesPanel), ("squares", OwnSquaresPanel), ("lands", OwnLandsPanel)],
)
def test_every_panel_and_lesson_23_tell_the_same_next_reading_of_every_demo_file(kind, lesson):
    for name in DEMOS:
        table = read_readings(demo_path(name))
        if table.kind == kind:
            sd = 1.0 if kind == "lands" else None  # the spread at which lesson 09 opens
            alone, all_kinds = lesson(demo_path(name)), OwnWorkshopPanel(demo_path(name), reading_sd=sd)
            assert next_told(alone.sentence) == next_told(all_kinds.sentence)


@pytest.mark.parametrize("tables", [10, pytest.param(40, marks=pytest.mark.long)])
def test_lessons_06_and_23_tell_the_same_next_reading_of_many_tables(tables):
    six, any_kind, differ = OwnBarsPanel(), OwnWorkshopPanel(), 0
    for seed in range(10, 10 + tables):
        text = bars_of_some_workshop(np.random.default_rng(seed), feelers=seed % 2 == 1)
        for panel in (six, any_kind):
            panel.take(text.encode(), "mine.csv")
        assert next_told(six.sentence) == next_told(any_kind.sentence)
        options = any_kind.found.next.options
        assert any_kind.found.next.sd_after == pytest.approx(min(one.sd_after for one in options), rel=1e-9)
        differ += max(options, key=lambda one: one.gain_bits).name != options[0].name
    assert differ > 0  # so the choice by information would have been another one


def test_a_gap_of_the_wedge_is_chosen_by_what_the_threshold_gains():
    found = findings(read_readings(b"gap_um,looks,seen\n1,10,0\n2,10,3\n3,10,7\n4,10,10\n"))
    best = found.next
    promised = threshold_sd_after(found.solution, np.linspace(0.01, 6, 2000), 10)
    assert best.sd_after == pytest.approx(promised.min(), rel=1e-3)
