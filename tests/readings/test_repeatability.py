"""No reading is better than it is written: property tests of the floor that every spread has."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from simulate.readings.adjustment.repeatability import Resolution, assumed_sd, marked_step, repeatability, resolution_of
from simulate.readings.alignment.piece_findings import solve_thickness
from simulate.readings.bars.solve_bars import solve_bars
from simulate.readings.network.heights import instrument_of
from simulate.readings.plates.solve_plates import solve_plates
from simulate.readings.table.read import read_readings

STEPS = st.sampled_from([0.1, 0.5, 1.0, 2.0, 2.5, 5.0, 10.0])


def test_the_step_of_readings_is_what_all_their_differences_share():
    assert resolution_of([10, 25, 40]).step == pytest.approx(15)
    assert resolution_of([0, 5, 15, 35]).step == pytest.approx(5)
    assert resolution_of(np.array([1.5, 2.0, 0.5, 12.0]) * 25.4).step == pytest.approx(12.7)  # half thous
    assert resolution_of([3.0, 3.0, np.nan], last_digit=0.1) == Resolution(step=0.1, source="assumed")
    assert resolution_of([0.0, 0.0], given=5.0) == Resolution(step=5.0, source="given")


def test_a_file_says_its_last_digit_in_its_own_unit():
    head = "lower,upper,position_mm,"
    assert read_readings(f"{head}gap_um\nA,B,0,0.0\nA,B,5,0.0\n".encode()).last_digit == pytest.approx(0.1)
    assert read_readings(f"{head}gap_thou\nA,B,0,0\nA,B,5,0\n".encode()).last_digit == pytest.approx(25.4)


def test_the_floor_is_a_step_over_the_root_of_twelve():
    # an even spread over one step: JCGM 100:2008, F.2.2.1, step / (2 sqrt(3))
    step = Resolution(step=2.0, source="given")
    assert repeatability(0.0, 4, step) == (pytest.approx(1 / np.sqrt(3)), "resolution")
    assert repeatability(36.0, 4, step) == (3.0, "residuals")
    assert assumed_sd(Resolution(step=10.0, source="given")) == pytest.approx(10 / np.sqrt(12))


def gaps_of(rng, step, scale, turned):
    rows = []
    for way in (False, True)[: 1 + turned]:
        for a, b in combinations("ABC", 2):
            gap = np.round(np.abs(scale * rng.normal(size=5)) / step) * step
            rows += [f"{a},{b},{'yes' if way else 'no'},{x},{g:.6g}" for x, g in zip((0, 50, 100, 150, 200), gap)]
    return read_readings("\n".join(["lower,upper,turned,position_mm,gap_um", *rows]).encode())


@settings(deadline=None, max_examples=40)
@given(seed=st.integers(0, 10**6), step=STEPS, scale=st.floats(0.01, 100), turned=st.booleans())
def test_no_reading_of_bars_is_said_to_be_better_than_its_rounding(seed, step, scale, turned):
    table = gaps_of(np.random.default_rng(seed), step, scale, turned)
    assume(np.unique(table.gap_um).size > 1)  # readings that are all equal show no step: it has to be told
    assert solve_bars(table).reading_sd_um >= step / np.sqrt(12) * (1 - 1e-9)
    assert solve_bars(table, resolution_um=7.0).reading_sd_um >= 7 / np.sqrt(12) * (1 - 1e-9)


@settings(deadline=None, max_examples=15)
@given(seed=st.integers(0, 10**6), step=STEPS, scale=st.floats(0.01, 100))
def test_no_reading_of_plates_is_said_to_be_better_than_its_rounding(seed, step, scale):
    rng, rows = np.random.default_rng(seed), []
    for a, b, turn in (("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 90), ("A", "C", 90)):
        gap = np.round(np.abs(scale * rng.normal(size=9)) / step) * step
        rows += [
            f"{a},{b},{turn},{x},{y},{g:.6g}"
            for (x, y), g in zip(((x, y) for y in (-9, 0, 9) for x in (-9, 0, 9)), gap)
        ]
    table = read_readings("\n".join(["lower,upper,turned,x_mm,y_mm,gap_um", *rows]).encode())
    assume(np.unique(table.gap_um).size > 1)
    assert solve_plates(table).reading_sd_um >= step / np.sqrt(12) * (1 - 1e-9)


def piece_of(rng, variation_um, scatter_um=0.05, times=2):
    """A piece by micrometer at fifteen places, each read so many times to a micrometre, and what it really is there."""
    x, y = (axis.ravel() for axis in np.meshgrid(np.arange(10, 200, 45), np.arange(10, 120, 50)))
    true = 18400 + rng.random() + variation_um * rng.random(x.size)
    read = np.round(true + scatter_um * rng.normal(size=(times, x.size))).ravel()
    rows = [f"{a},{b},{t / 1000:.3f}" for a, b, t in zip(np.tile(x, times), np.tile(y, times), read)]
    return solve_thickness(read_readings("\n".join(["x_mm,y_mm,thickness_mm", *rows]).encode())), true


@pytest.mark.parametrize("variation_um", [0.2, 0.8, 1.5, 6.0])
def test_a_piece_that_varies_by_less_than_the_step_is_not_said_to_vary_by_nothing(variation_um):
    rng = np.random.default_rng(int(10 * variation_um))
    found = [(piece.features[0], np.ptp(true)) for piece, true in (piece_of(rng, variation_um) for _ in range(100))]
    assert sum(one.low_95 <= true <= one.high_95 for one, true in found if one.ranged) >= 0.93 * len(found)


@pytest.mark.parametrize("times", [2, 4])
@pytest.mark.parametrize("scatter_um", [0.03, 0.15, 0.5])
def test_thicknesses_lie_in_their_ranges_however_often_the_same_figure_was_read(scatter_um, times):
    rng = np.random.default_rng(times)
    held = []
    for piece, true in (piece_of(rng, 5.0, scatter_um, times) for _ in range(60)):
        of = piece.heights
        held.append((of.low_95_um <= true - piece.nominal_um) & (true - piece.nominal_um <= of.high_95_um))
    assert np.mean(held) >= 0.93


def test_bars_are_no_surer_for_the_same_figures_written_twice():
    rows = [f"{a},{b},{way},{x},20" for a, b in combinations("ABC", 2) for way in ("no", "yes") for x in (0, 50, 100)]
    head = "lower,upper,turned,position_mm,gap_um"
    once = solve_bars(read_readings("\n".join([head, *rows]).encode()), resolution_um=5.0)
    twice = solve_bars(read_readings("\n".join([head, *rows, *rows]).encode()), resolution_um=5.0)
    assert once.sd_from == twice.sd_from == "resolution"
    assert np.allclose(once.row_sd_um, 5 / np.sqrt(12)) and np.allclose(twice.row_sd_um, 5 / np.sqrt(6))
    assert np.allclose(once.sd_um, twice.sd_um)


def test_few_figures_that_all_stand_on_coarse_marks_were_read_to_those_marks():
    assert [marked_step(np.array(few), 1.0) for few in ([0, 10, 30], [5, 15], [4, 6], [7], [0, 0])] == [10, 5, 2, 1, 1]
    tenths = instrument_of("the dial", "um", np.array([0.0, 12.7, 25.4]), None, 2.54)
    assert tenths.resolution == Resolution(step=pytest.approx(12.7), source="assumed")


def test_a_piece_read_to_five_micrometres_lies_in_its_range_where_few_figures_were_read():
    rng = np.random.default_rng(5)
    held = []
    for _ in range(60):
        wedge, scatter = 0.05 * rng.normal(), rng.choice([0.5, 1.0])
        read = 18400 + 5 * rng.random() + wedge * np.array([10, 70, 130, 190] * 2) + scatter * rng.normal(size=8)
        rows = [f"{x},0,{5 * round(t / 5) / 1000:.3f}" for x, t in zip([10, 70, 130, 190] * 2, read)]
        found = solve_thickness(read_readings("\n".join(["x_mm,y_mm,thickness_mm", *rows]).encode()))
        held += [f.low_95 <= 1000 * wedge <= f.high_95 for f in found.features if f.name == "wedge along x"]
    assert len(held) == 60 and np.mean(held) >= 0.93
