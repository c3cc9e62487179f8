"""Published examples typed in as a learner would type them, and read and told like any file."""

import numpy as np
import pytest
import workshops_read as made

from simulate.bench.looking.sight import wedge_gap_um
from simulate.readings.findings import findings
from simulate.readings.rounds.progress import progress
from simulate.readings.table.read import read_readings

ARC_UM = np.pi / 6.48  # height of one second of arc over 100 mm, in um: 0.484814


def test_an_autocollimator_line_of_a_university_course():
    """Mean readings on a base of 100 mm; with 0.5 um a second the rises are 0, 0, 1.5, 5, 4, 4, 6 um and the end-point
    and minimum-zone straightness 3 um (published: university course slides on straightness and flatness measurement).

    The same profile all across makes a plate with the flatness of the line (derived)."""
    seconds = [130, 133, 137, 128, 130, 134]
    rise = np.concatenate([[0], np.cumsum(np.array(seconds) - 130)]) * ARC_UM
    rows = [
        f"{line},{k},{100 * k},{y},{'' if k == 0 else seconds[k - 1]}"
        for line, y in (("front", 0), ("middle", 100), ("back", 200))
        for k in range(7)
    ]
    rows += [f"side {x},{k},{x},{100 * k},{'' if k == 0 else 130}" for x in (0, 300, 600) for k in range(3)]
    step = np.hypot(600, 200) / 6
    for line, up in (("rising", True), ("falling", False)):
        slope = np.diff(rise) / (step * 1000) / np.pi * 648000 + 130
        rows += [
            f"{line},{k},{100 * k},{(k if up else 6 - k) * 200 / 6:.6f},{'' if k == 0 else round(slope[k - 1], 6)}"
            for k in range(7)
        ]
    assert (rise * 0.5 / ARC_UM).round(9).tolist() == [0, 0, 1.5, 5, 4, 4, 6]
    found = findings(made.table_of("line,station,x_mm,y_mm,reading_arcsec", rows), 1.0)
    assert found.form_um == pytest.approx(3.0 * ARC_UM / 0.5, abs=1e-3)
    np.testing.assert_allclose(found.solution.closure_um, 0, atol=1e-4)


def test_bodies_fitted_to_a_master_are_out_by_twice_its_error_against_each_other():
    """J. Rose, Modern Machine-Shop Practice, Figs 2438-2440."""
    e = 25.0
    bow = [0, 0.75, 1, 0.75, 0]
    rows = [f"master,{bar},{x},0" for bar in ("one", "two") for x in (0, 50, 100, 150, 200)]
    rows += [f"one,two,{x},{2 * e * b}" for x, b in zip((0, 50, 100, 150, 200), bow)]
    found = findings(made.table_of("lower,upper,position_mm,gap_um", rows), 1.0)
    np.testing.assert_allclose(found.solution.straightness_um, e, atol=1e-6)
    middle = dict(zip(found.solution.names, found.solution.height_um[:, 2]))
    assert middle["master"] > 0 > middle["one"] == pytest.approx(middle["two"])
    assert [row[0] for row in found.rows] == ["master", "one", "two"] and found.rows[0][1] == "25"


def test_half_the_square_root_of_three_of_one_fits_error_reaches_each_body():
    """Derived: a = (ab + ac - bc) / 2; two gaps of 1 um over 200 mm make a sum uncertain by sqrt(2) / 0.2 urad."""
    rows = [f"{pair},{h},{g}" for pair, g in (("A,B", 3), ("A,C", 2), ("B,C", 1)) for h, g in ((0, 0), (200, g))]
    found = findings(made.table_of("lower,upper,height_mm,gap_um", rows), 1.0)
    np.testing.assert_allclose(found.solution.sd_urad, np.sqrt(2) / 0.2 * np.sqrt(3) / 2, rtol=1e-9)
    half, middle = 1.959964 * np.sqrt(2) / 0.2 * np.sqrt(3) / 2, found.solution.angle_urad[0]
    assert (found.solution.low_95_urad[0], found.solution.high_95_urad[0]) == pytest.approx(
        (middle - half, middle + half), rel=1e-6
    )
    assert found.rows[0][2] == f"{middle - half:+.4g} to {middle + half:+.4g}"
    np.testing.assert_allclose(found.solution.angle_urad, [10, 5, 0], atol=1e-6)


PLACES = [(x, y) for y in (-100, 0, 100) for x in (-100, 0, 100)]


def plate_rows(pair, turned, gap):
    return [f"{pair},{turned},{x},{y},{gap(x, y)}" for x, y in PLACES]


def test_three_plates_with_the_same_twist_fit_at_half_turns_and_show_it_twice_at_a_quarter():
    """J. Rose, Modern Machine-Shop Practice, Figs 2443-2444, in words; derived."""
    head, twist = "lower,upper,turned,x_mm,y_mm,gap_um", 5.0
    dark = [
        row for pair in ("A,B", "A,C", "B,C") for turned in (0, 180) for row in plate_rows(pair, turned, lambda x, y: 0)
    ]
    with pytest.raises(ValueError, match="twist") as refused:
        findings(made.table_of(head, dark), 1.0)
    assert "turned 90 degrees" in str(refused.value)
    # gap at a quarter turn: seat less both faces, 2 * 5 um at one pair of corners and none at the other
    quarter = [
        row for pair in ("A,B", "A,C") for row in plate_rows(pair, 90, lambda x, y: 2 * twist * (1 - x * y / 1e4))
    ]
    found = findings(made.table_of(head, dark + quarter), 1.0)
    corner = [k for k, (x, y) in enumerate(zip(found.solution.x_mm, found.solution.y_mm)) if abs(x * y) > 1]
    np.testing.assert_allclose(np.abs(found.solution.height_um[:, corner]), twist, atol=1e-6)
    np.testing.assert_allclose(found.solution.flatness_um, 2 * twist, atol=1e-6)
    assert np.ptp([float(row.split(",")[-1]) for row in quarter]) == pytest.approx(
        4 * twist
    )  # twice the twist of one plate


def test_sag_does_not_reverse_with_the_bar():
    """A bend that all fits share survives every turn (R. Evans, R. Hocken and W. Estler, CIRP Annals 45/2, 1996; from
    memory)."""
    _, table = made.bars(np.random.default_rng(1), x=np.array([0.0, 50, 100, 150, 200]), turned=True)
    assert "makes each bar look bowed by 0.5 um, and no reading would reveal it" in findings(table, 1.0).hidden[0]


def test_closures_are_zero_without_noise_and_two_readings_are_to_spare():
    """Derived; J. Drescher, Precision Engineering 27, 2003, abstract, on how errors add up."""
    truth, table = made.survey(np.random.default_rng(2), sd_um=0.0)
    found = findings(table, 1.0)
    np.testing.assert_allclose(found.solution.closure_um, 0, atol=1e-3)
    assert found.consistency.dof == 2 and found.consistency.chi_square < 1e-3
    assert max(abs(h) for h in truth.values()) > 1


def test_a_wedge_of_two_piles_turns_millimetres_along_into_micrometres_of_gap():
    """Piles of 10.0 and 10.1 mm, 200 mm apart, give 0.004 mm for 8 mm of shift (published: course slides); light shows
    from 2 to 2.5 um against a knife edge (published: an encyclopaedia entry and course slides)."""
    shift = np.arange(2.0, 8.1, 1.0)
    gap = [0.1 * s / 200 for s in shift]  # in mm
    assert gap[-1] == pytest.approx(0.004)
    np.testing.assert_allclose(np.array(gap) * 1000, wedge_gap_um(10.0, 10.1, 200.0, shift), rtol=1e-9)
    seen = [0, 1, 4, 8, 10, 10, 10]
    found = findings(
        read_readings("\n".join(["gap_mm,looks,seen", *(f"{g:.6f},10,{s}" for g, s in zip(gap, seen))]).encode())
    )
    assert 2.0 <= found.solution.eye.threshold_um <= 2.5
    assert found.detail_rows[-1][0] == "4"


def test_one_round_at_a_fair_share_leaves_less_than_half():
    """A round leaves less than half of what hot-rolled edges start with, about 0.5 mm (common practice, no source): a
    share between a quarter and three quarters (derived)."""
    assert progress([0, 1], [500, 250]).share == pytest.approx(0.75)
    assert progress([0, 1], [500, 200]).share < 0.75
