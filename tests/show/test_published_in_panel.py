"""Published worked examples, typed into the panel that a learner uses and read with its button."""

from pathlib import Path

import numpy as np
import pytest
import scipy
import statsmodels.api as sm

from simulate.bench.looking.eye import fit_eye
from simulate.show.own.workshop.own_workshop import OwnWorkshopPanel


@pytest.fixture
def panel(tmp_path):
    return OwnWorkshopPanel(example="wedge", logbook=str(tmp_path / "book.json"), units="mm")


def found(panel, rows, **settings):
    panel.typed.value = "\n".join(rows)
    panel.read_typed.click()
    for name, value in settings.items():
        panel.controls[name].value = value
    assert panel.message.value == "", panel.message.value
    return panel.found


READINGS = (130, 133, 137, 128, 130, 134)


def test_the_autocollimator_line_of_the_course_slides(panel):
    """Readings 130, 130, 133, 137, 128, 130, 134 on a base of 100 mm: heights 0, 0, 1.5, 5, 4, 4, 6 um, straight within
    3 um at half a micrometre to the second (published: university course slides on straightness and flatness
    measurement). Typed as they are for the lines along x of a plate that is level across; exactly, a second is 0.484814
    um."""
    ends = {
        "d1": (0, 0, 6, 6),
        "d2": (6, 0, 0, 6),
        "front": (0, 0, 6, 0),
        "back": (0, 6, 6, 6),
        "left": (0, 0, 0, 6),
        "right": (6, 0, 6, 6),
        "along": (0, 3, 6, 3),
        "across": (3, 0, 3, 6),
    }
    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for name, (x, y, u, v) in ends.items():
        way = READINGS if u > x else READINGS[::-1]
        for k in range(7):
            flat = (
                130
                if u == x
                else way[k - 1]
                if v == y
                else 130 + ((way[k - 1] - 130) * (1 if u > x else -1)) / np.sqrt(2)
            )
            place = f"{100 * (x + (u - x) * k / 6):g},{100 * (y + (v - y) * k / 6):g}"
            rows.append(f"{name},{k},{place},{'' if k == 0 else repr(float(flat))}")
    solved = found(panel, rows).solution
    second = np.deg2rad(100_000 / 3600)
    assert np.isclose(second, 0.484814, atol=1e-6)
    assert np.isclose(solved.flatness_um, 3.0 * second / 0.5, atol=1e-3)
    front = [np.flatnonzero((solved.x_mm == 100 * k) & (solved.y_mm == 0))[0] for k in range(7)]
    height = solved.height_um[front] - solved.height_um[front[0]]
    tilt = np.linspace(0, 1, 7) * (6 * second / 0.5 - height[-1])
    assert np.allclose(height + tilt, np.array([0, 0, 1.5, 5, 4, 4, 6]) * second / 0.5, atol=1e-3)
    assert np.allclose(solved.closure_um, 0, atol=1e-3)


def test_the_same_line_by_land_gauges(panel):
    """The published heights read once more by a gauge of three lands 100 mm apart: middle over the line of the outer
    two."""
    height = np.array([0, 0, 1.5, 5, 4, 4, 6])
    proud = height[1:-1] - (height[:-2] + height[2:]) / 2
    rows = [
        "gauge,left_mm,middle_mm,right_mm,proud_um",
        *(f"small,{100 * k},{100 * (k + 1)},{100 * (k + 2)},{p}" for k, p in enumerate(proud)),
    ]
    said = found(panel, rows, reading_sd=0.1)
    assert np.allclose(said.solution.network.height_um, height - np.arange(7), atol=1e-9)
    assert np.ptp(said.solution.network.height_um) == pytest.approx(3.0), "end-point straightness, published"
    assert said.form_um == pytest.approx(3.0), "minimum zone, derived"


def test_norris_as_gaps_between_two_squares(panel):
    """NIST StRD, linear regression, data set Norris: certified slope 1.00211681802045 (the file ships in scipy).

    As gaps in um at heights in mm the slope is the sum of two angles; a third square that stands true to both parts
    them."""
    data = Path(scipy.__file__).parent / "stats" / "tests" / "data" / "nist_linregress" / "Norris.dat"
    pairs = np.array([line.split() for line in data.read_text().splitlines()[60:96]], float)
    assert pairs.shape == (36, 2)
    rows = ["lower,upper,height_mm,gap_um", *(f"A,B,{float(x)!r},{float(y)!r}" for y, x in pairs)]
    rows += [f"{a},C,{h},0" for a in "AB" for h in (0, 500, 1000)]
    solved = found(panel, rows, reading_sd=1.0).solution
    a, b, c = solved.angle_urad
    assert a + b == pytest.approx(1002.11681802045, rel=1e-9)
    assert a == pytest.approx(-c, rel=1e-9) and b == pytest.approx(-c, rel=1e-9)


def bars(gaps):
    return [
        "lower,upper,position_mm,gap_um",
        *(f"{pair},{x},{g * (1 - (x / 100) ** 2)}" for pair, g in gaps.items() for x in (-100, -50, 0, 50, 100)),
    ]


def test_two_bars_fitted_to_one_master_are_out_by_twice_its_error(panel):
    """J. Rose, Modern Machine-Shop Practice, Figs 2438-2440: both fit the master, and show twice its error to each
    other."""
    e = 30.0
    solved = found(panel, bars({"master,first": 0, "master,second": 0, "first,second": 2 * e}), reading_sd=1.0).solution
    bow = solved.height_um[:, 2] - solved.height_um[:, 0]
    assert np.allclose(bow, [e, -e, -e], atol=1e-6) and np.allclose(solved.straightness_um, e, atol=1e-6)


def test_three_gaps_give_three_bars_by_hand(panel):
    """a = (ab + ac - bc) / 2 (derived)."""
    solved = found(panel, bars({"A,B": 40, "A,C": 24, "B,C": 48}), reading_sd=1.0).solution
    assert np.allclose(solved.height_um[:, 0] - solved.height_um[:, 2], [8, 32, 16], atol=1e-6)


def test_a_common_twist_is_shown_double_by_a_quarter_turn(panel):
    """J. Rose, the same, Figs 2443-2444 in words: three plates with one twist fit at 0, and a quarter turn shows it
    twice."""
    t = 5.0
    rows = [
        "lower,upper,turned,x_mm,y_mm,gap_um",
        *(
            f"{a},{b},{turn},{x},{y},{0 if turn == 0 else 2 * t - 2 * t * x * y / 10000}"
            for a, b, turn in (("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 90))
            for y in (-100, 0, 100)
            for x in (-100, 0, 100)
        ),
    ]
    solved = found(panel, rows, reading_sd=1.0).solution
    assert np.allclose(np.abs(solved.height_um[:, [0, 2, 6, 8]]), t, atol=1e-6)


def test_how_sure_a_square_is_follows_from_three_pairs(panel):
    """Equal independent errors of the pairs give each square the half of the square root of three (derived)."""
    rows = [
        "lower,upper,height_mm,gap_um",
        *(f"{pair},{h},{g}" for pair in ("A,B", "A,C", "B,C") for h, g in ((0, 0), (200, 3))),
    ]
    solved = found(panel, rows, reading_sd=2.0).solution
    assert np.allclose(solved.sd_urad, np.sqrt(3) / 2 * (2.0 * np.sqrt(2) / 0.2), rtol=1e-9)


def test_a_wedge_of_two_piles_fitted_as_statsmodels_fits_it(panel):
    """Piles of 10.0 and 10.1 mm, 200 mm apart, rise 4 um in 8 mm (published: university course slides); the curve is a
    logit of the gap, and statsmodels is the judge."""
    shift = np.array([1, 2, 3, 4, 5, 6, 8])
    gap = shift * 0.1 / 200 * 1000
    assert gap[-1] == pytest.approx(4.0)
    looks, seen = 20, np.array([0, 1, 5, 11, 16, 18, 20])
    eye = found(panel, ["gap_um,looks,seen", *(f"{g},{looks},{k}" for g, k in zip(gap, seen))]).solution.eye
    fit = sm.GLM(np.stack([seen, looks - seen], axis=1), sm.add_constant(gap), family=sm.families.Binomial()).fit()
    held = fit_eye(gap, seen, looks, false_open=0, missed=0)  # statsmodels has no rates of guesses and misses
    assert held.threshold_um == pytest.approx(-fit.params[0] / fit.params[1], rel=1e-4)
    assert held.spread_um == pytest.approx(1 / fit.params[1], rel=1e-3)
    assert eye.threshold_um == pytest.approx(held.threshold_um, abs=0.1)
