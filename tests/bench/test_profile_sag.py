"""Bars of any depth, bars that carry bars, and what three equal bars share."""

import numpy as np
import pytest
import sympy
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from sympy.physics.continuum_mechanics.beam import Beam

from simulate.bench.bending.bar_supports import best_separation, best_supports
from simulate.bench.bending.profiled_bar import profile_sag, shared_sag
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2, sag_on
from simulate.surface.straightness import straightness

X = np.linspace(-250, 250, 101)
ENDS = (-250.0, 250.0)


@pytest.mark.parametrize("supports", [(-250, 250), (-140, 140), (-200, 60), (-10, 230)])
def test_an_even_bar_agrees_with_the_closed_form(supports):
    np.testing.assert_allclose(profile_sag(X, 40, supports), sag_on(X, 500, 40, supports), rtol=1e-5, atol=1e-6)


def test_a_weight_on_the_bar_agrees_with_the_beam_module_of_sympy():
    """A load of 7 N at a quarter, a massless-looking light bar beside it: by sympy's beam module, weight included."""
    w = 40 * 10 * 1e-9 * 7850 * GRAVITY_M_S2
    stiff = sympy.Float(210e3 * 10 * 40**3 / 12)
    beam = Beam(500, stiff, 1)
    beam.bc_deflection = [(50, 0), (400, 0)]
    first, second = sympy.symbols("first second")
    beam.apply_load(first, 50, -1)
    beam.apply_load(second, 400, -1)
    beam.apply_load(-w, 0, 0)
    beam.apply_load(-7, 125, -1)
    beam.solve_for_reaction_loads(first, second)
    line = sympy.lambdify(beam.variable, beam.deflection().rewrite(sympy.Piecewise), "math")
    places = X[1:-1:7]
    oracle = np.array([float(line(p + 250)) for p in places]) * 1000
    found = profile_sag(X, 40, (-200, 150), load_at_mm=[-125], load_n=[7])
    np.testing.assert_allclose(found[1:-1:7], oracle, rtol=1e-4, atol=1e-5)
    assert np.ptp(oracle) > 1


def test_a_tapered_bar_agrees_with_a_general_solver_of_differential_equations():
    """scipy's solve_ivp on v'' = M / EI with the moment of a symmetric taper written out."""
    per = 1e-9 * 7850 * GRAVITY_M_S2 * 10

    def depth(s):
        return 40 - 0.08 * abs(s - 250)

    total = per * (40 * 500 - 0.08 * 250**2)

    def own(s):  # moment of the weight left of s, s up to the middle
        return per * (20 * s**2 / 2 + 0.08 * s**3 / 6)

    run = solve_ivp(
        lambda s, y: [y[1], (total / 2 * s - own(s)) / (210e3 * 10 * depth(s) ** 3 / 12)],
        (250, 0),
        [0, 0],
        rtol=1e-11,
        atol=1e-16,
    )
    found = profile_sag(X, 40 - 0.08 * abs(X), ENDS)
    assert found[50] == pytest.approx(-1000 * run.y[0, -1], rel=1e-5)
    assert found[50] < 0


def test_a_hole_in_the_neutral_middle_lightens_more_than_it_weakens():
    """Derived: with a hole of c of the depth all along, load goes with 1 - c and stiffness with 1 - c^3."""
    solid, holed = profile_sag(X, 40, ENDS), profile_sag(X, 40, ENDS, hole_mm=20)
    np.testing.assert_allclose(holed, solid * 0.5 / 0.875, rtol=1e-9, atol=1e-12)


def test_flat_a_bar_sags_as_the_square_of_the_depth_says():
    """Derived: the sag goes with 1 / depth^2; 40 on edge against 10 flat is sixteen times."""
    np.testing.assert_allclose(profile_sag(X, 40, ENDS, way="flat"), 16 * profile_sag(X, 40, ENDS), rtol=1e-9)


@settings(deadline=None, max_examples=20)
@given(st.floats(0.05, 0.44), st.floats(0.05, 0.44), st.floats(5, 40))  # the centre of the most tapered lies at 0.4444
def test_a_bar_is_level_on_its_supports_whatever_its_taper(left, right, thin):
    supports = (-250 + 500 * left, 250 - 500 * right)
    bar = profile_sag(X, np.linspace(40, max(thin, 20), X.size), supports)
    assert np.interp(supports, X, bar) == pytest.approx([0, 0], abs=0.02)


def test_three_bars_on_a_bed_that_fit_are_each_hollow_by_half_a_sag():
    """Derived: a + b = upper sag for every pair makes each of them half of it."""
    shared = shared_sag(500, 40, None, ENDS)
    np.testing.assert_allclose(shared.left_um, shared.upper_um / 2, atol=1e-12)
    pairs = shared.left_um[None] + shared.left_um - shared.upper_um
    assert np.ptp(pairs) < 1e-9
    assert shared.left_um.min() == pytest.approx(-1.12, abs=0.01)


def test_alike_sags_cancel_and_the_upper_bar_also_loads_the_lower():
    assert abs(shared_sag(500, 40, ENDS, ENDS).left_um).max() < 1e-6
    airy = (-144.34, 144.34)
    loaded = shared_sag(500, 40, airy, ENDS)
    free = profile_sag(loaded.x_mm, 40, airy)
    assert loaded.lower_um[100] > free[100] + 0.5  # its ends are pressed down, so its middle rises


def test_turning_end_for_end_keeps_the_sag():
    hang = profile_sag(X, 40, ENDS)
    np.testing.assert_allclose(hang[::-1], hang, atol=1e-9)


@pytest.mark.parametrize(
    "change, words",
    [
        (
            {"supports_mm": (10, 200)},
            "supports_mm is 10 and 200; it must be on both sides of the centre of gravity at 0, or the bar tips.",
        ),
        ({"supports_mm": (-300, 200)}, "supports_mm is -300; it must be -250 to 250, the bar itself."),
        ({"supports_mm": (-100, 0, 100)}, "supports_mm holds 3 places; it must hold two."),
        ({"depth_mm": 0}, "depth_mm is 0; it must be more than 0."),
        ({"hole_mm": 40}, "hole_mm is 40; it must be 0 or more and less than depth_mm everywhere."),
        ({"way": "hung"}, "way is 'hung'; it must be 'edge up' or 'flat'."),
        ({"load_at_mm": [400], "load_n": [1]}, "load_at_mm is 400; it must be -250 to 250, the bar itself."),
    ],
)
def test_what_cannot_lie_is_refused_in_words(change, words):
    with pytest.raises(ValueError) as refusal:
        profile_sag(**{"x_mm": X, "depth_mm": 40, "supports_mm": ENDS, **change})
    assert words in str(refusal.value)


def test_best_supports_of_an_even_bar_are_those_of_the_closed_form():
    left, right = best_supports(X, 40)
    assert right - left == pytest.approx(best_separation(500), abs=3)
    assert left == pytest.approx(-right, abs=2)


@pytest.mark.parametrize(
    "depth", [40 - 0.08 * abs(X), np.linspace(40, 20, X.size)], ids=["slim ends", "slim to the right"]
)
def test_best_supports_of_a_tapered_bar_are_the_best_of_brute_force(depth):
    def out(supports):
        return float(straightness(X, profile_sag(X, depth, supports)).value_um)

    best, least, looked = best_supports(X, depth), np.inf, 0
    for left in np.arange(-200, -79, 10):
        for right in np.arange(80, 201, 10):
            least = min(least, out((left, right)))
            looked += 1
    assert looked == 169
    assert out(best) < 1.02 * least
    assert out(best) < 0.2 * out(ENDS)


def test_best_supports_refuse_a_bar_that_cannot_be():
    with pytest.raises(ValueError, match=r"hole_mm is 50; it must be 0 or more and less than depth_mm everywhere\."):
        best_supports(X, 40, hole_mm=50)
