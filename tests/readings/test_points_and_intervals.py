"""Points and intervals in one table, ends that are alike, and places that were read again."""

import numpy as np
import pytest

from simulate.core.number_format import three
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.findings import findings
from simulate.readings.known_from import known_from
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.reference.certificate import from_certificate
from simulate.readings.squares.solve_squares import solve_squares
from simulate.readings.table.read import read_readings

X = np.array([0.0, 100, 200, 300, 400])
PAIRS = ("AB", "AC", "BC")


def bars(um, sd, seed=1, half_um=None, but_last=False):
    """Rows of three bars, each `um` times one arch; by dial, or as intervals `half_um` either side, or the last so."""
    rng, arch = np.random.default_rng(seed), 1 - (X / 200 - 1) ** 2
    rows = []
    for a, b in PAIRS:
        gap = -(um[a] + um[b]) * arch
        gap = np.maximum(gap - gap.min() + rng.normal(0, sd, X.size), 0)
        for k, g in enumerate(gap):
            last = but_last and (a, b, k) == ("B", "C", X.size - 1)
            half = 0.5 if last else half_um
            ends = f"{g:.2f},," if half is None else f",{max(g - half, 0):.2f},{g + half:.2f}"
            rows.append(f"{a},{b},{X[k]:g},{ends}")
    return rows


def bars_of(rows):
    return read_readings("\n".join(["lower,upper,position_mm,gap_um,gap_at_least_um,gap_at_most_um", *rows]).encode())


def squares_of(rows):
    return read_readings("\n".join(["lower,upper,height_mm,gap_um,gap_at_least_um,gap_at_most_um", *rows]).encode())


def plates_of(rows):
    heads = "lower,upper,turned,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um"
    return read_readings("\n".join([heads, *rows]).encode())


def test_one_interval_among_points_leaves_a_stated_spread_as_it_was():
    um = {"A": -0.4, "B": 0.5, "C": 0.1}
    for but_last in (False, True):
        found = findings(bars_of(bars(um, 0.1, but_last=but_last)), 0.1)
        assert found.solution.row_sd_um[0] == pytest.approx(0.1, rel=0.2)
        assert not found.stop.stop


def test_a_station_read_again_does_not_make_the_place_of_a_blade_known():
    # the slope of a gap comes from its neighbours; one place read twice took it away from the whole fit
    rows = bars({"A": -70, "B": -60, "C": -80}, 0.0, half_um=1.0)
    again = [row for row in rows if row.split(",")[2] == "0"]
    once, twice = (
        solve_bars(bars_of(part), feel_um=0.5, place_mm=5.0, bounds=False).sd_um for part in (rows, rows + again)
    )
    assert (twice > 0.85 * once).all() and (twice < 1.02 * once).all()


def _plates(half_um, extra=()):
    rows = []
    for a, b in PAIRS:
        for turned in (0, 90):
            for x in (0, 100, 200):
                for y in (0, 100, 200):
                    g = 20.0
                    rows.append(f"{a},{b},{turned},{x},{y},,{g - half_um:g},{g + half_um:g}")
    return [*rows, *extra]


def test_two_intervals_of_one_place_that_cannot_both_be_true_are_not_explained_by_the_place_of_the_blade():
    found = solve_plates(plates_of(_plates(10.0, ["A,B,0,100,100,,100,105"])))
    assert found.against is not None and not found.against.explained
    fine = [f"{a},{b},0,100,100,,19,23" for a, b in PAIRS]
    once, again = (solve_plates(plates_of(_plates(15.0, extra)), bounds=False).sd_um for extra in ((), fine))
    assert (again <= once + 0.05).all()  # what is read again, and finer, makes nothing less sure


def test_an_interval_of_no_width_is_a_figure_written_to_its_last_digit():
    table = bars_of(["A,B,0,,0,0", "A,B,50,,30,30", "A,C,0,,0.00,0.00", "B,C,0,,5,5"])
    assert table.is_interval.all()
    assert table.low_um.tolist() == [0.0, pytest.approx(29.995), 0.0, pytest.approx(4.995)]
    assert table.high_um.tolist() == pytest.approx([0.005, 30.005, 0.005, 5.005])
    whole = squares_of(["A,B,0,,0,0", "A,B,50,,30,30", "A,C,0,,0,0", "B,C,0,,5,5"])
    assert whole.high_um.tolist() == [0.5, 30.5, 0.5, 5.5]


def squares_by_intervals(half=10):
    angle = {"A": 200, "B": -100, "C": 50}
    return [
        f"{a},{b},{h},,{max((angle[a] + angle[b]) * h / 1000 + 30 - half, 0):.0f},"
        f"{(angle[a] + angle[b]) * h / 1000 + 30 + half:.0f}"
        for a, b in PAIRS
        for h in (5, 50, 100)
    ]


def test_one_interval_of_no_width_does_not_make_the_spread_of_all_an_assumption():
    for rows in (squares_by_intervals(), [*squares_by_intervals(), "A,B,0,,30,30"]):
        assert findings(squares_of(rows)).sd_from == "intervals"
    found = findings(plates_of(_plates(10.0, ["A,B,0,100,100,,20,20"])))
    assert found.sd_from == "intervals"


def test_plates_read_by_intervals_alone_tell_their_mean_width_and_not_one_micrometre():
    found = solve_plates(plates_of(_plates(10.0)), bounds=False)
    assert f"standard deviation of one gap {three(20 / np.sqrt(12))} um" in found.sentence


def test_what_a_certificate_leaves_open_is_no_part_of_the_spread_of_a_gap():
    rows = [f"A,K,{t},{x},{y},,10,30" for t in (0, 90) for x in (0, 100, 200) for y in (0, 100, 200)]
    x, y = (part.ravel() for part in np.meshgrid([0.0, 100, 200], [0.0, 100, 200]))
    known = from_certificate("K", "plates", 40.0, 20.0, x_mm=x, y_mm=y)
    found = solve_plates(plates_of(rows), known=[known], bounds=False)
    assert found.reading_sd_um == pytest.approx(20 / np.sqrt(12))


@pytest.mark.parametrize("sd", [1.0, 0.05, 0.001])
def test_a_pair_known_only_widely_is_settled_however_sure_the_others_are(sd):
    angle = {"A": 200, "B": -100, "C": 50}
    rows = [
        f"{a},{b},{h},{(angle[a] + angle[b]) * h / 1000 + 30:.2f},," for a, b in ("AB", "AC") for h in (5, 25, 45)
    ] + [f"B,C,{h},,0,500" for h in (5, 25, 45)]
    assert solve_squares(squares_of(rows), sd).settled.all()


def test_a_reference_from_intervals_rests_on_no_freedom_and_is_as_wide_as_its_own_range():
    rows = bars({"A": -20, "B": -15, "C": -18}, 0.0, half_um=2.0)
    found = solve_bars(bars_of(rows), bounds=False)
    known = known_from(found, "C")
    assert found.sd_from == "intervals" and known.sources[0].dof == 0
    sd = np.sqrt((known.root**2).sum(axis=1))
    bare = known.root.shape[0]
    assert sd == pytest.approx(found.wider * found.sd_um[2], rel=0.05) and bare == X.size


def test_at_most_nought_is_as_wide_as_from_nought_to_nought():
    both, one = (squares_of([f"A,B,50,,{low},0", "A,C,50,,1,2", "B,C,50,,1,2"]) for low in ("0", ""))
    assert both.high_um[0] == one.high_um[0] == 0.5 and both.low_um[0] == one.low_um[0] == 0


def test_a_reference_from_points_among_intervals_is_as_wide_as_its_own_range():
    rows = bars({"A": -20, "B": -15, "C": -18}, 1.0, seed=4)
    rows += bars({"A": -20, "B": -15, "C": -18}, 1.0, seed=5)
    for k in (2, 7, 12):
        a, b, x, gap, *_ = rows[k].split(",")
        rows[k] = f"{a},{b},{x},,{max(float(gap) - 3, 0):.2f},{float(gap) + 3:.2f}"
    found = solve_bars(bars_of(rows), bounds=False)
    assert found.sd_from == "residuals" and known_from(found, "C").sources[0].dof == 0
