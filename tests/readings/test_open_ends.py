"""Gaps beyond the thickest blade: what they leave open is said, the rest is solved, and what is certain holds."""

import subprocess
import sys

import numpy as np
import pytest
import scipy
from workshops_read import felt, rough_bars, rough_plates

from simulate.readings.adjustment.bounds import interval_bounds
from simulate.readings.findings import findings
from simulate.readings.table.read import read_readings
from simulate.show.own.plates.own_plates import OwnPlatesPanel

FEW, ALL = range(25), range(25, 100)


def holds(seed):
    truth, table = rough_bars(np.random.default_rng(seed))
    found = findings(table)
    bars = found.solution
    assert bars.low_um is not None and (truth >= bars.low_um).all() and (truth <= bars.high_um).all()
    assert np.isfinite(bars.sd_um).all() and bars.sd_um.max() < 2000
    if bars.open_rows:
        assert not found.stop.stop and "Stop" not in found.stop.sentence
        assert "no upper limit" in bars.sentence
    return bool(bars.open_rows)


def test_bars_a_millimetre_out_are_solved_with_blades_to_a_millimetre():
    assert sum(holds(seed) for seed in FEW) > 10


@pytest.mark.long
def test_so_are_all_of_a_hundred_sets():
    assert sum(holds(seed) for seed in ALL) > 30


@pytest.mark.parametrize("seed", range(6))
def test_bounds_with_open_ends_are_those_of_a_general_program(seed):
    """scipy's linprog solves each bound by itself; open aims are -inf there as well."""
    rng = np.random.default_rng(seed)
    matrix = rng.normal(size=(14, 8)).round(2)
    middle = matrix @ rng.normal(size=8) * 100
    low, high = middle - rng.uniform(1, 9, 14), middle + rng.uniform(1, 9, 14)
    high[rng.random(14) < 0.5] = np.inf
    low[rng.random(14) < 0.2] = -np.inf
    wanted = np.eye(8)
    found = interval_bounds(matrix, low, high, wanted)
    upper, lower = np.isfinite(high), np.isfinite(low)
    rows, ends = np.vstack([matrix[upper], -matrix[lower]]), np.concatenate([high[upper], -low[lower]])
    kinds = set()
    for k, aim in enumerate(wanted):
        for way, mine in ((1, found.low_um[k]), (-1, found.high_um[k])):
            one = scipy.optimize.linprog(way * aim, A_ub=rows, b_ub=ends, bounds=[(None, None)] * 8, method="highs-ipm")
            value = way * one.fun if one.status == 0 else -way * np.inf
            kinds.add(np.isfinite(value))
            assert np.isclose(mine, value, atol=1e-4) if np.isfinite(value) else mine == value
    assert kinds


def test_plates_a_millimetre_out_are_told_where_they_are_hollow_for_certain():
    told = 0
    for seed in range(3):
        truth, table = rough_plates(np.random.default_rng(seed))
        found = findings(table)
        plates = found.solution
        assert (truth >= plates.low_um).all() and (truth <= plates.high_um).all() and not found.stop.stop
        place = {(x, y): k for k, (x, y) in enumerate(zip(plates.x_mm, plates.y_mm, strict=True))}
        for one in plates.hollow:
            at, left, right = (place[spot] for spot in (one.at_mm, *one.ends_mm))
            mine = truth[plates.names.index(one.name)] if one.name else truth.mean(axis=0)
            depth = (mine[left] + mine[right]) / 2 - mine[at]
            assert 0 < one.depth_um <= depth + 1e-3 and one.sentence in plates.sentence
            told += one.depth_um > depth / 2 and "take metal off at the two ends" in one.sentence
    assert told >= 3


def test_a_hollow_beyond_the_thickest_blade_is_told_below_the_corners_and_shown_in_the_panel(tmp_path):
    """Three equal bowls, 700 um deep: every gap in the middle is at least 1 mm, so the mean is 500 um hollow at the
    least."""
    along = (-100.0, 0.0, 100.0)
    rows = ["lower,upper,turned,x_mm,y_mm,gap_at_least_um,gap_at_most_um"]
    for low, up, turned in (("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 90), ("A", "C", 90)):
        for x in along:
            for y in along:
                gap = 1400 * (1 - (x**2 + y**2) / 2e4)
                rows.append(f"{low},{up},{turned},{x:g},{y:g},{felt(gap) if gap > 1 else '0,2.5'}")
    path = tmp_path / "bowls.csv"
    path.write_text("\n".join(rows))
    (one,) = findings(read_readings(path)).solution.hollow
    assert one.name == "" and one.at_mm == (0.0, 0.0) and 497 < one.depth_um <= 500
    assert set(one.ends_mm) in ({(-100.0, -100.0), (100.0, 100.0)}, {(-100.0, 100.0), (100.0, -100.0)})
    assert "The plates are certainly at least 498 µm hollow at x 0, y 0 mm on average" in OwnPlatesPanel(path).sentence


def test_the_solver_prints_nothing_into_a_lesson():
    rows = [f"{pair},{at}" for pair in ("A,B", "A,C", "B,C") for at in ("0,0,2", "9,5,9")]
    text = "\\n".join(["lower,upper,height_mm,gap_at_least_um,gap_at_most_um", *rows])
    code = f"from simulate import read_readings, solve_squares; solve_squares(read_readings(b'{text}'))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "" and done.stderr == ""


def test_turned_readings_at_places_of_their_own_are_left_out_though_other_readings_have_no_upper_end():
    gaps = {"A,B,no": "x . 3 x", "A,B,yes": "x 3 . x", "A,C,no": "0 x x 1", "B,C,no": ". x x x", "B,C,yes": "x x 0 0"}
    at = (0, 388, 511, 1000)
    rows = [f"{fit},{x},{g}" for fit, said in gaps.items() for x, g in zip(at, said.split(), strict=True)]
    text = "\n".join(["# film: 2 um", "lower,upper,turned,position_mm,gap_um", *rows])
    found = findings(read_readings(text.encode()))
    assert "Choose stations that are symmetric about the middle" in found.sentences[0] and not found.stop.stop
