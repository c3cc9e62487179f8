"""Where metal comes off next: bars, lands, plates, a survey, squares."""

import numpy as np
import pytest
import workshops_read as made
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.method.plates.scraping_plan import cut_plan
from simulate.readings.adjustment.equations import solve
from simulate.readings.adjustment.shared_errors import notice, shared_error
from simulate.readings.bars.bar_cut import row_cut
from simulate.readings.bars.bar_findings import bar_equations
from simulate.readings.findings import findings
from simulate.readings.outcome.face_cut import face_cut, metal_above
from simulate.readings.outcome.stop_rule import stop_from
from simulate.readings.squares.square_cut import square_cut
from simulate.readings.squares.square_findings import square_equations

ALONG = np.array([-2.0, -1, 0, 1, 2])


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_the_plane_under_scattered_stations_is_that_of_the_cut_plan_on_a_grid(seed):
    height = np.random.default_rng(seed).normal(size=(5, 5)) * 10
    x, y = (part.ravel() for part in np.meshgrid(ALONG, ALONG))
    metal = metal_above(x, y, height.ravel())
    plan = cut_plan(ALONG, ALONG, height, pass_um=5.0)
    # several planes may leave the same least metal: ours takes no more than the other at the worst place
    assert metal.sum() == pytest.approx(plan.remove_um.sum(), rel=1e-6)
    assert (metal >= 0).all() and metal.max() <= plan.remove_um.max() + 1e-5


def test_taking_the_metal_off_leaves_a_plane_and_a_plane_takes_none():
    rng = np.random.default_rng(1)
    x, y = rng.uniform(-9, 9, (2, 30))
    height = rng.normal(size=30)
    left = height - metal_above(x, y, height)
    plane = np.stack([np.ones(30), x, y], -1)
    assert np.abs(left - plane @ np.linalg.lstsq(plane, left, rcond=None)[0]).max() < 1e-6
    assert metal_above(x, y, 3 + 0.5 * x - 0.2 * y).max() < 1e-6


def test_places_that_carry_no_plane_are_refused():
    with pytest.raises(ValueError, match="sd_um"):
        face_cut(("A",), ALONG, ALONG, np.zeros((1, 5)), np.zeros((1, 4)))


def test_a_face_within_its_spread_is_left_alone():
    x, y = (part.ravel() for part in np.meshgrid(ALONG, ALONG))
    cut = face_cut(("A",), x, y, np.full((1, 25), 0.3) * (x == 0), np.ones((1, 25)))
    assert not cut.sure.any() and cut.sentences[0].startswith("A: no metal to remove")


def test_a_square_that_leans_away_is_filed_at_its_foot_and_one_that_leans_in_at_its_top():
    # 100 urad over 200 mm are 20 um
    cut = square_cut(("A", "B", "C"), np.array([100.0, -50.0, 4.0]), np.array([5.0, 5.0, 5.0]), 200.0)
    np.testing.assert_allclose(cut.remove_um, [20, 10, 0.8])
    assert cut.at_foot.tolist() == [True, False, True] and cut.sure.tolist() == [True, True, False]
    assert cut.sentences == (
        "A: take 20 um off at the bottom, running out to zero at 200 mm.",
        "B: take 10 um off at 200 mm, running out to zero at the bottom.",
        "C: leave it alone; its error is within the uncertainty of the readings.",
    )


def test_filing_squares_as_told_makes_them_true():
    truth, table = made.squares(np.random.default_rng(2), sd_um=0.0, heights=(0.0, 60.0, 200.0))
    cut = findings(table, 0.5).map
    height = np.array([0.0, 60.0, 200.0])
    for lean, metal, foot in zip(truth, cut.remove_um, cut.at_foot):
        edge = -lean * height / 1000  # a blade that leans away stands back at the top
        edge -= metal * ((1 - height / 200) if foot else height / 200)
        assert np.ptp(edge) < 1e-3


def test_filing_bars_and_lands_as_told_makes_them_straight():
    for found in (
        findings(made.bars(np.random.default_rng(3), sd_um=0.0)[1], 0.5),
        findings(made.lands(np.random.default_rng(4), sd_um=0.0)[1], 0.5),
    ):
        height = found.solution.height_um if found.kind == "bars" else found.solution.network.height_um[None]
        left = height - found.map.remove_um
        line = np.stack([np.ones_like(found.map.x_mm), found.map.x_mm])
        assert np.abs(left - left @ np.linalg.pinv(line) @ line).max() < 1e-6
        assert (found.map.remove_um >= 0).all()


def test_lands_are_named_the_proudest_first():
    found = findings(
        made.table_of(
            "gauge,left_mm,middle_mm,right_mm,proud_um",
            ["long,0,200,400,6", "short,0,100,200,4", "short,200,300,400,1"],
        ),
        0.2,
    )
    assert found.cut == ("File the lands at 100 mm by 7 um, 200 mm by 6 um, 300 mm by 4 um.",)
    none = findings(made.table_of("gauge,left_mm,middle_mm,right_mm,proud_um", ["long,0,200,400,0.1"]), 1.0)
    assert none.cut == ("No land needs filing; no high spot exceeds the uncertainty of the readings.",)


def test_a_hollow_bar_is_filed_at_its_ends():
    cut = row_cut(("A",), np.array([0.0, 1, 2, 3, 4]), np.array([[9.0, 4, 0, 4, 9]]), np.full((1, 5), 0.1), 2.0)
    assert (
        cut.remove_um[0, 2] == 0 and cut.remove_um[0, 0] == pytest.approx(9) and cut.remove_um[0, 4] == pytest.approx(9)
    )
    assert cut.sentences == ("A: file from 0 to 1 mm, most at 0 mm, where it is 9 um proud.",)


def test_a_survey_is_scraped_down_to_the_plane_that_costs_least():
    found = findings(made.survey(np.random.default_rng(5))[1], 0.1)
    assert found.map.remove_um.min() == 0 and len(found.cut) == 1 and "the plate: scrape" in found.cut[0]
    left = found.solution.least_squares_height_um - found.map.remove_um[0]
    plane = np.stack([np.ones(left.size), found.solution.x_mm, found.solution.y_mm], -1)
    assert np.abs(left - plane @ np.linalg.lstsq(plane, left, rcond=None)[0]).max() < 1e-6


def test_a_target_counts_the_scatter_in():
    names, form, floor = ("A", "B"), np.array([6.0, 4.0]), np.array([3.0, 3.0])
    assert stop_from(names, form, floor, 9.5).stop and not stop_from(names, form, floor, 8.0).stop
    assert (
        stop_from(names, form, floor, 8.0).sentence
        == "Go on: A is 6 um out, and scatter alone would show no more than 3 um."
    )
    assert stop_from(names, np.array([2.0, 1.0]), floor, None, "plate", "flat").sentence.startswith(
        "Stop: readings like these cannot tell these plates from flat ones: at most 2 um is seen"
    )


def test_a_shared_error_is_what_solving_with_it_adds():
    truth, table = made.bars(np.random.default_rng(6), sd_um=0.0)
    found = findings(table, 1.0)
    equations = bar_equations(found.solution)
    pattern = np.random.default_rng(7).normal(size=len(table))
    told = shared_error(equations, solve(equations), pattern)
    table.gap_um[:] += pattern
    table.low_um[:] += pattern
    table.high_um[:] += pattern
    moved = findings(table, 1.0).solution.height_um
    np.testing.assert_allclose(told.value, (moved - truth).ravel(), atol=1e-3)
    assert told.noticed < 1e-9  # three bars in three pairs leave nothing to notice it by


def test_what_is_noticed_is_what_is_left_in_the_residuals():
    _, table = made.squares(np.random.default_rng(8), names="ABCD")
    found = findings(table, 1.0)
    equations = square_equations(found.solution, table)
    blunder = np.eye(len(table))[5]
    solved = solve(equations)
    assert shared_error(equations, solved, blunder).noticed == pytest.approx(np.sqrt(solved.redundancy[5]))
    assert notice(0.3) == "and only 30 % of it is left in the residuals"
    assert notice(0.8) == "and 80 % of it is left in the residuals"
