"""What a square's base, blade and proofs do to its angle."""

import numpy as np
import pytest
import statsmodels.api as sm

from simulate.bench.cutting.tools import SKILLS, Hands
from simulate.method.squares.blade import blade_faces, lean_urad, standing_gap, where_light
from simulate.method.squares.blade_filing import three_blades
from simulate.method.squares.cylinder import solve_cylinder
from simulate.method.squares.reversal import reverse_by_light, reverse_square

Z = np.linspace(0.0, 150.0, 61)


def blade_gap_um(lower_um, upper_um):
    return standing_gap(Z, lower_um + upper_um, np.zeros(()))


def cylinder_side_urad(turn_deg, lean_urad, lean_at_deg, taper_um, height_mm):
    """Derived: half the taper on every side, and the lean as a cosine of the turn."""
    turn = np.radians(np.asarray(turn_deg) - lean_at_deg)
    return lean_urad * np.cos(turn) + taper_um / (2 * height_mm) * 1000


def test_a_bent_blade_hides_at_bottom_and_top_and_shows_between():
    # derived: between two heights a parabola of bow b over the length L slopes by 4 b (1 - (low + high) / L) / L
    gap, length, looked = blade_gap_um(blade_faces(Z, 120.0, 9.0), 0 * Z), 150.0, 0
    for low, high in ((0, 60), (0, 30), (20, 50), (10, 60), (30, 60)):
        read = (gap[high] - gap[low]) / (Z[high] - Z[low]) * 1000
        bend = 4 * 9.0 * (1 - (Z[low] + Z[high]) / length) / length * 1000
        assert read == pytest.approx(120 - bend)
        looked += 1
    assert looked == 5
    assert lean_urad(Z, blade_faces(Z, 120.0, 9.0)) == pytest.approx(120)


def test_a_reversal_doubles():
    # derived: two lines drawn along a blade that leans by a, from one foot, are 2 a h apart at height h
    a = 240e-6
    lines = np.array([-np.tan(a), np.tan(a)]) * 180 * 1000
    found = reverse_square(float(np.ptp(lines)), 180.0)
    assert found.angle_urad == pytest.approx(240, rel=1e-6) and found.top_um == pytest.approx(np.ptp(lines) / 2)
    assert reverse_square(-30, 100, 10).angle_urad == -200
    rng = np.random.default_rng(4)
    drawn = (rng.normal(60, 8, 100_000) - rng.normal(0, 8, 100_000)) / 200 * 1000
    assert drawn.std() == pytest.approx(reverse_square(60, 100, reading_sd_um=8).sd_urad, rel=0.01)


def test_a_square_is_found_against_a_cylinder_as_a_general_library_finds_it():
    turn = np.array([0.0, 45, 90, 180, 200, 290])
    read = 130 + cylinder_side_urad(turn, 60.0, 75.0, 4.0, 100.0) + np.random.default_rng(1).normal(0, 5, turn.size)
    found = solve_cylinder(turn, read, taper_um=4.0, taper_sd_um=1.0, height_mm=100.0, reading_sd_urad=5.0)
    t = np.radians(turn)
    other = sm.GLS(read, np.column_stack([np.ones(t.size), np.cos(t), np.sin(t)]), sigma=25.0).fit(
        cov_type="fixed scale"
    )
    assert found.square_urad == pytest.approx(other.params[0] - 20)
    assert found.sd_urad == pytest.approx(np.hypot(other.bse[0], 5.0))
    np.testing.assert_allclose(found.residual_urad, other.resid, atol=1e-9)


def test_impossible_figures_are_refused_in_one_sentence():
    with pytest.raises(ValueError, match="turn_deg: it does not separate the square from the cylinder's lean"):
        solve_cylinder([0, 180], [10, 20])
    with pytest.raises(ValueError, match="sum_urad is"):
        solve_cylinder([0, 90, 180], [10, 20])
    with pytest.raises(ValueError, match="height_mm is 0; it must be more than 0"):
        reverse_square(10, 0)


def test_light_stands_at_the_foot_or_at_the_top_by_the_sign_of_the_sum():
    looked = 0
    for total, word in ((300.0, "top"), (-300.0, "bottom")):
        gap = blade_gap_um(blade_faces(Z, total), blade_faces(Z, 0.0))
        assert word in where_light(Z, gap) and gap.max() == pytest.approx(45)
        looked += 1
    assert looked == 2
    assert where_light(Z, blade_gap_um(blade_faces(Z, 100.0), blade_faces(Z, -100.0))) == "dark from bottom to top"
    assert where_light(Z, blade_gap_um(blade_faces(Z, 0.0, -30.0), 0 * Z)) == (
        "light nearly all along, widest in the middle"
    )


def test_the_gauge_goes_round_and_seeds_repeat():
    faces = blade_faces(Z, [300.0, 100.0, -50.0])
    run, again = (three_blades(Z, faces, rounds=3, removal_um=3.0, seed=9) for _ in range(2))
    assert [look.lower for look in run.looks if look.stage == "fit"] == [0, 0, 1, 1, 2, 2]
    np.testing.assert_array_equal(run.face_um, again.face_um)


def test_after_the_fits_the_split_shows_double_of_the_gauge():
    # J. Rose, Modern Machine-Shop Practice, Figs 2438-2440: out by e against the master, out by 2 e together
    run = three_blades(Z, blade_faces(Z, [1000.0, -300.0, 500.0]), rounds=1, removal_um=1.0, seed=2)
    split = next(look for look in run.looks if look.stage == "split")
    assert split.gap_um[0] == pytest.approx(2 * 1000 * 0.150, abs=12) and split.gap_um[-1] < 4


@pytest.mark.parametrize("share", [0.2, 0.35, 0.7])
def test_an_uneven_split_leaves_its_part(share):
    # derived: |2 s - 1| of the gauge's error
    run = three_blades(Z, blade_faces(Z, [2000.0, -300.0, 500.0]), rounds=1, removal_um=1.0, share=share, seed=2)
    assert np.abs(run.angle_urad[1]).max() == pytest.approx(abs(2 * share - 1) * 2000, rel=0.1)


def test_blades_come_out_square_and_straight_and_metal_only_comes_off():
    rng = np.random.default_rng(5)
    faces = blade_faces(Z, rng.uniform(-1500, 1500, (12, 3)), rng.uniform(-30, 30, (12, 3)))
    run = three_blades(Z, faces, rounds=4, removal_um=3.0, seed=1)
    assert run.face_um.shape == (12, 5, 3, 61) and run.looks == ()
    assert (np.diff(run.face_um, axis=1) <= 0).all() and (np.diff(run.passes, axis=1) >= 0).all()
    assert np.median(np.abs(run.angle_urad[:, -1])) < run.floor_um / 150 * 1000
    assert np.median(run.straightness_um[:, -1]) < 2 * run.floor_um


def test_the_hands_that_file_bars_file_blades_and_a_shorter_lever_tips_less():
    """Across a blade half of a file's width is the lever, a tenth of what half its length is along a bar: 28 µm there
    are some 3 here, on top of what sight leaves. 200 own workshops."""
    rng = np.random.default_rng(4711)
    faces = blade_faces(Z, rng.uniform(-1500, 1500, (200, 3)), rng.uniform(-30, 30, (200, 3)))

    def ends(hands):
        run = three_blades(Z, faces, rounds=4, removal_um=3.0, seed=99, hands=hands)
        return np.median(run.straightness_um[:, -1].max(axis=-1))

    practised, usual, beginner = (ends(hands) for hands in SKILLS.values())
    assert 3 < practised < usual < 4.5 < beginner < 6
    assert usual == ends(Hands()) and ends(Hands(rock_deg=0.05)) > 2 * usual


def test_bases_that_stand_unlike_raise_the_floor():
    faces = blade_faces(Z, np.tile([600.0, -200.0, 400.0], (40, 1)))
    still = three_blades(Z, faces, rounds=3, removal_um=3.0, seed=1)
    unlike = three_blades(Z, faces, rounds=3, removal_um=3.0, seed=1, stand_sd_urad=60)
    assert np.abs(unlike.angle_urad[:, -1]).mean() > 1.5 * np.abs(still.angle_urad[:, -1]).mean()


def test_lean_is_the_slope_of_a_general_fit():
    face = np.random.default_rng(3).normal(0, 5, Z.size)
    assert lean_urad(Z, face) == pytest.approx(-1000 * np.polyfit(Z, face, 1)[0])


def test_impossible_blades_are_refused():
    with pytest.raises(ValueError, match=r"face_um is 2 by 61 figures; it must be 3 bars of 61 heights\."):
        three_blades(Z, np.zeros((2, 61)), rounds=1, removal_um=1.0)
    with pytest.raises(ValueError, match="share is -1; it must be 0 to 1"):
        three_blades(Z, np.zeros((3, 61)), rounds=1, removal_um=1.0, share=-1)


def leaning(base_um, blade_urad, strip_urad, taper_um, height, base=80.0, slope_urad=0.0):
    """Gaps at foot and top beside a strip, from points of the bodies turned one by one, right place then left."""
    read = []
    for way in (1, -1):
        # the square stands to the right (1) or left (-1) of a strip at x = 0, its blade facing it
        foot = np.array([way * 20.0, 0.0])
        heel = foot + [way * base, 0.0]
        floor = [slope_urad * 1e-6 * p[0] - base_um / 1000 * (p[0] / (2 * base)) ** 2 for p in (foot, heel)]
        tip = (floor[1] - floor[0]) / (heel[0] - foot[0])
        angle = np.pi / 2 + tip - way * blade_urad * 1e-6
        blade = [foot[0] + at * np.cos(angle) for at in (0.0, height)]
        face = [way * (2.0 - taper_um / 2000 * at / height) + strip_urad * 1e-6 * at for at in (0.0, height)]
        gap = way * (np.array(blade) - np.array(face)) * 1000
        read.append(gap - gap.min())
    return read


@pytest.mark.parametrize(
    ("blade", "strip", "taper", "slope"), [(240, 0, 0, 0), (-310, 90, 0, 0), (55, -400, 6, 0), (-20, 130, -3, 700)]
)
def test_light_on_both_sides_of_a_strip_gives_square_and_strip(blade, strip, taper, slope):
    # m1 = M + S, m2 = M - S: Evans, Hocken and Estler, CIRP Annals 45/2, 1996 (from memory); points turned by hand
    first, second = leaning(0.0, blade, strip, taper, 150.0, slope_urad=slope)
    found = reverse_by_light(first, second, 150.0, taper_um=taper)
    assert found.angle_urad == pytest.approx(blade, abs=0.02)
    # the first place is on the right, so a strip that leans right leans towards it; a floor that rises to the right
    # does as much
    assert found.strip_urad == pytest.approx(-strip - slope, abs=0.02)
    doubled = (first[1] - first[0]) + (second[1] - second[0]) - taper
    assert doubled == pytest.approx(2 * found.top_um)


def test_a_floor_proud_under_the_strip_hides_in_both_places():
    first, second = leaning(8.0, 100, 50, 0, 150.0)
    found = reverse_by_light(first, second, 150.0)
    # derived: a parabola's chord from 20 to 100 mm slopes as its middle, 60 mm out: 2 x 8 um x 60 / 160^2
    assert found.angle_urad == pytest.approx(100 + 1000 * 2 * 8.0 * 60 / 160**2, abs=0.05)
    assert found.strip_urad == pytest.approx(-50, abs=0.05)


def test_the_uncertainty_of_a_light_line_is_that_of_looks_drawn_by_chance():
    rng = np.random.default_rng(6)
    n = 40_000
    gaps = np.array([20.0, 62.0, 20.0, 38.0])[:, None] + rng.normal(0, 1.5, (4, n))
    taper = 4.0 + rng.normal(0, 1.0, n)
    drawn = (gaps[1] - gaps[0] + gaps[3] - gaps[2] - taper) / 300 * 1000 + rng.normal(0, 5, n)
    found = reverse_by_light([20, 62], [20, 38], 150, taper_um=4, taper_sd_um=1, reading_sd_um=1.5, edge_sd_urad=5)
    assert found.angle_urad == pytest.approx(drawn.mean(), abs=0.2) and found.sd_urad == pytest.approx(
        drawn.std(), rel=0.02
    )
    strip = (gaps[1] - gaps[0] - gaps[3] + gaps[2]) / 300 * 1000
    assert found.strip_urad == pytest.approx(strip.mean(), abs=0.2) and found.strip_sd_urad == pytest.approx(
        strip.std(), rel=0.02
    )
    assert reverse_by_light([5, 0], [5, 0], 150).sentence.startswith("The square leans away from its base by 33 µrad")
    assert reverse_by_light([5, 0], [5, 0], 150).sentence.endswith("the strip is upright.")


@pytest.mark.parametrize(
    ("first", "second", "sentence"),
    [
        ([0, 1, 2], [0, 1], r"first_um is a row of 3; it must be a row of 2, the gaps at the bottom and at the top\."),
        ([0, 4], [-2, 0], r"second_um is -2; it must be 0 or more\."),
    ],
)
def test_a_light_line_needs_two_gaps_on_each_side(first, second, sentence):
    with pytest.raises(ValueError, match=sentence):
        reverse_by_light(first, second, 100)
