"""A bar bends under its weight and under heat."""

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from sympy.physics.continuum_mechanics.beam import Beam

from simulate.bench.bending.bar_supports import AIMS, CLASSIC, best_separation
from simulate.bench.bending.heat import heat_bow_left, heat_bow_um, settling_time_s
from simulate.bench.bending.materials import MATERIALS, Material
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2, sag, sag_at, sag_on


def beam_of_sympy(left, right, places):
    """Heights (half length 1, w/EI 1, positive up) of a bar from 0 to 2, by sympy's beam module."""
    one = sympy.Integer(1)
    beam = Beam(2, one, one)
    beam.bc_deflection = [(left, 0), (right, 0)]
    first, second = sympy.symbols("first second")
    beam.apply_load(first, left, -1)
    beam.apply_load(second, right, -1)
    beam.apply_load(-1, 0, 0)
    beam.solve_for_reaction_loads(first, second)
    x = beam.variable
    line = sympy.lambdify(x, beam.deflection().rewrite(sympy.Piecewise), "math")
    return np.array([float(line(p)) for p in places])


def micrometres(length, depth, material):
    m = MATERIALS[material]
    return 12 * m.density_kg_m3 * GRAVITY_M_S2 / (m.young_gpa * 1e9 * (depth / 1e3) ** 2) * (length / 2e3) ** 4 * 1e6


@pytest.mark.parametrize("eighths", [1, 3, 4, 6, 8])
def test_sag_agrees_with_the_beam_module_of_sympy_wherever_two_even_supports_stand(eighths):
    half = sympy.Rational(eighths, 8)
    places = np.linspace(0.001, 1.999, 23)
    oracle = beam_of_sympy(1 - half, 1 + half, places) * micrometres(600, 30, "grey iron")
    found = sag_at((places - 1) * 300, 600, 30, 600 * eighths / 8, "grey iron")
    assert np.ptp(oracle) > 0.01
    np.testing.assert_allclose(found, oracle, rtol=1e-9, atol=1e-11)


@pytest.mark.parametrize("left, right", [(-0.9, 0.3), (-0.1, 0.8), (-1.0, 0.0)])
def test_supports_off_the_middle_agree_with_the_beam_module_of_sympy(left, right):
    places = np.linspace(0.001, 1.999, 23)
    where = [sympy.Rational(str(1 + left)), sympy.Rational(str(1 + right))]
    oracle = beam_of_sympy(*where, places) * micrometres(500, 40, "steel")
    found = sag_on((places - 1) * 250, 500, 40, (left * 250, right * 250))
    np.testing.assert_allclose(found, oracle, rtol=1e-9, atol=1e-11)


def test_end_supports_give_the_handbooks_five_over_384():
    """Published: engineering handbooks, 5 w L^4 / (384 E I)."""
    width, depth, length = 0.010, 0.040, 0.5
    w = 7850 * GRAVITY_M_S2 * width * depth
    expected = -5 * w * length**4 / (384 * 210e9 * width * depth**3 / 12) * 1e6
    hung = sag(500, 40, 500)
    assert hung.height_um.min() == pytest.approx(expected, rel=1e-12)
    assert hung.height_um[[0, -1]].tolist() == [0, 0]
    assert hung.x_mm[0] == -250 and hung.x_mm[-1] == 250


def test_a_steel_bar_500_by_40_sags_2_24_um_on_its_ends_and_a_tenth_on_its_airy_points():
    """Derived: whole range, highest to lowest, at E 210 GPa and 7850 kg/m3."""
    assert np.ptp(sag(500, 40, 500).height_um) == pytest.approx(2.24, abs=0.005)
    airy = sag(500, 40, 500 / np.sqrt(3), points=2001).height_um
    assert np.ptp(airy) == pytest.approx(0.10, abs=0.005)
    assert airy[1000] == pytest.approx(-0.089, abs=0.001)


def test_one_middle_support_lets_the_ends_hang_like_two_cantilevers():
    """Published: engineering handbooks, w l^4 / 8 E I at the end of a cantilever l long."""
    droop = sag(500, 40, 1e-6).height_um[0]
    assert droop == pytest.approx(-micrometres(500, 40, "steel") / 8, rel=1e-6)


@pytest.mark.parametrize(
    "what, part, close",
    [
        ("least sag", 0.554, 5e-4),  # published: handbooks; 2/9 of L from each end is near
        ("ends parallel", 1 / np.sqrt(3), 1e-10),  # Airy
        ("no change of length", 0.55938, 5e-6),  # Bessel
    ],
)
def test_best_supports_are_the_classic_points(what, part, close):
    assert CLASSIC[what] == pytest.approx(part, abs=1e-6) and tuple(CLASSIC) == AIMS
    assert best_separation(1.0, what) == pytest.approx(part, abs=close)
    assert best_separation(1800.0, what) == pytest.approx(1800 * best_separation(1.0, what))


def test_the_metre_bar_of_1020_mm_lay_on_its_bessel_points_571_mm_apart():
    """Published: 7th General Conference on Weights and Measures, 1927 (supports 571 mm apart)."""
    assert best_separation(1020, "no change of length") == pytest.approx(571, abs=0.6)


def test_least_sag_is_least_against_brute_force():
    x = np.linspace(-500, 500, 4001)
    apart = np.linspace(500, 600, 401)
    span = np.ptp(sag_at(x, 1000, 50, apart[:, None]), axis=-1)
    assert best_separation(1000) == pytest.approx(apart[span.argmin()], abs=0.3)
    assert np.ptp(sag_at(x, 1000, 50, best_separation(1000))) <= span.min() + 1e-9


def test_no_change_of_length_is_least_against_brute_force():
    x = np.linspace(-500, 500, 20001)
    apart = np.linspace(550, 570, 81)
    slope = np.gradient(sag_at(x, 1000, 50, apart[:, None]), x, axis=-1)
    lost = (slope**2).sum(axis=-1)
    assert best_separation(1000, "no change of length") == pytest.approx(apart[lost.argmin()], abs=0.3)


def test_ends_parallel_leaves_the_last_millimetre_level():
    end = sag_at([499.0, 500.0], 1000, 50, best_separation(1000, "ends parallel"))
    elsewhere = sag_at([499.0, 500.0], 1000, 50, best_separation(1000))
    assert abs(np.diff(end)[0]) < 1e-3 * abs(np.diff(elsewhere)[0])


@settings(deadline=None, max_examples=30)
@given(st.floats(0.02, 1.0), st.floats(50, 3000), st.floats(5, 200))
def test_every_sag_is_even_zero_at_its_supports_and_least_at_middle_or_ends(part, length, depth):
    hung = sag(length, depth, part * length, points=101)
    np.testing.assert_allclose(hung.height_um, hung.height_um[::-1], atol=1e-12 * np.ptp(hung.height_um))
    held = sag_at([-part * length / 2, part * length / 2], length, depth, part * length)
    np.testing.assert_allclose(held, 0, atol=1e-12 * np.ptp(hung.height_um))
    assert hung.height_um.min() == pytest.approx(min(hung.height_um[50], hung.height_um[0]))


def test_sag_grows_with_the_fourth_power_of_length_and_falls_with_depth_squared():
    one, two, deep = (np.ptp(sag(*s).height_um) for s in [(500, 40, 300), (1000, 40, 600), (500, 80, 300)])
    assert two / one == pytest.approx(16) and one / deep == pytest.approx(4)


def test_heat_bow_is_the_arc_of_two_edges_that_differ_in_length():
    """Derived: an arc whose hot edge is alpha dT longer over the depth; the rise of that arc over its chord."""
    curvature = 11.5e-6 * 2.0 / 0.040
    arc = (1 - np.cos(0.25 * curvature)) / curvature * 1e6
    assert heat_bow_um(500, 40, 2.0) == pytest.approx(arc, rel=1e-6)
    assert heat_bow_um(500, 40, -2.0) == -heat_bow_um(500, 40, 2.0)
    assert heat_bow_um([500, 1000], 40, 2.0).tolist() == pytest.approx([arc, 4 * arc])


def test_a_bow_dies_as_the_heat_equation_solved_by_steps_says():
    """Oracle: scipy's general solver on 80 slices of the depth with no heat through the edges."""
    depth, slices, a = 40.0, 80, MATERIALS["steel"].diffusivity_mm2_s
    z = (np.arange(slices) + 0.5) / slices - 0.5

    def flow(_, temperature):
        across = np.diff(temperature, prepend=temperature[0], append=temperature[-1])
        return a * np.diff(across) / (depth / slices) ** 2

    time = np.array([1.0, 5.0, 20.0, 40.0])
    found = solve_ivp(flow, (0, 40), z, t_eval=time, method="BDF", rtol=1e-8, atol=1e-10).y
    np.testing.assert_allclose(heat_bow_left(time, depth), z @ found / (z @ z), rtol=2e-3)


def test_settling_time_goes_with_the_square_of_depth_and_its_slowest_wave():
    slowest = 40.0**2 / (np.pi**2 * MATERIALS["granite"].diffusivity_mm2_s)
    assert settling_time_s(40, "granite", 0.01) == pytest.approx(slowest * np.log(96 / np.pi**4 / 0.01), rel=1e-9)
    assert settling_time_s(80) == pytest.approx(4 * settling_time_s(40))
    assert heat_bow_left(settling_time_s(40, left=0.3), 40) == pytest.approx(0.3)


def test_an_own_material_is_taken():
    brass = Material("own brass", 100.0, 8500.0, 19e-6, 34.0)
    assert np.ptp(sag(500, 40, 500, brass).height_um) == pytest.approx(2.24 * 2.1 * 8500 / 7850, rel=2e-3)
    assert heat_bow_um(500, 40, 1, brass) == pytest.approx(heat_bow_um(500, 40, 1) * 19 / 11.5)


@pytest.mark.parametrize(
    "call, sentence",
    [
        (lambda: sag(500, 40, 0), "separation_mm is 0; it must be above 0 and at most 500, the bar's own length."),
        (lambda: sag(500, 40, 501), "separation_mm is 501; it must be above 0 and at most 500"),
        (lambda: sag(-5, 40, 1), "length_mm is -5; it must be more than 0."),
        (lambda: sag(500, 0, 100), "depth_mm is 0; it must be more than 0."),
        (lambda: sag(500, 40, 100, "cheese"), "material is 'cheese'; it must be 'steel', 'grey iron' or 'granite'."),
        (lambda: sag(500, 40, 100, points=2), "points is 2; it must be 3 or more."),
        (lambda: sag(500, 40, 100, Material("foam", 0.0, 30, 1e-5, 1.0)), "young_gpa of foam is 0"),
        (lambda: sag_at(300, 500, 40, 100), "x_mm is 300; it must be -250 to 250."),
        (lambda: sag_on(0, 500, 40, (10, 90)), "with the bar's middle between them, or it tips."),
        (lambda: heat_bow_um(500, 0, 1), "depth_mm is 0; it must be more than 0."),
        (lambda: heat_bow_left(-1, 40), "time_s is -1; it must be 0 or more."),
        (lambda: settling_time_s(40, left=2), "left is 2; it must be"),
        (lambda: best_separation(500, "best"), f"what is 'best'; it must be {AIMS[0]!r}"),
    ],
)
def test_bending_refuses_in_a_sentence(call, sentence):
    with pytest.raises(ValueError) as told:
        call()
    assert sentence in str(told.value)
