"""Steel that moves, held against beams: a layer taken off, a free end, a pressed middle."""

import numpy as np
import pytest
import sympy
from sympy.physics.continuum_mechanics.beam import Beam

from simulate import press_bend_um, relief_bow_um, vice_bend_um
from simulate.bench.bending.stress import Stock

E, B, H, L = 210_000.0, 10.0, 40.0, 500.0


def layered_bow_um(stress, taken):
    """In slices: what is left of the locked-in stress carries no force and no moment, so the bar gives way."""
    edges = np.linspace(-H / 2, H / 2, 4001)
    y, t = (edges[1:] + edges[:-1]) / 2, np.diff(edges)
    locked = np.where(y > H / 2 - taken, stress, 0.0)
    locked -= (locked * t).sum() / H + y * (locked * t * y).sum() / (t * y**2).sum()  # at rest before the cut
    left = y <= H / 2 - taken
    y, t, locked = y[left], t[left], locked[left]
    y = y - (y * t).sum() / t.sum()
    return -1000 * (locked * t * y).sum() / (E * (t * y**2).sum()) * L**2 / 8


@pytest.mark.parametrize("stress, taken", [(150.0, 0.5), (150.0, 0.1), (-80.0, 0.2), (50.0, 1.0)])
def test_a_stressed_layer_taken_off_bows_the_bar_as_a_layered_beam(stress, taken):
    """bow = 6 s t L² / (8 E h²) for t much less than h; a skin in tension leaves the cut edge proud."""
    told = relief_bow_um(taken, L, H, stock=Stock("own", stress, 1.0))
    assert told == pytest.approx(layered_bow_um(stress, taken), rel=5 * taken / H)
    assert np.sign(told) == np.sign(stress)


def test_half_a_millimetre_off_a_bright_drawn_edge_moves_it_by_42_um_and_not_at_once():
    assert relief_bow_um(0.5) == pytest.approx(41.85, abs=0.01)
    after = [relief_bow_um(0.5, rested_h=h) for h in (0, 2, 24)]
    assert after[0] == 0 and after[1] == pytest.approx(41.85 * (1 - np.exp(-1)), abs=0.01) and after[2] > 41.8
    with pytest.raises(ValueError, match="taken_mm is 6; it must be 0 to 4"):
        relief_bow_um(6.0)


def test_each_stock_moves_as_common_practice_has_it():
    """No source: right to a factor of two or three, and in this order."""
    told = {stock: relief_bow_um(0.5, stock=stock) for stock in ("normalised", "hot rolled", "bright drawn")}
    assert told == pytest.approx({"normalised": 41.85 / 15, "hot rolled": 41.85 / 3, "bright drawn": 41.85}, rel=1e-3)


def test_a_free_end_and_a_pressed_middle_give_way_as_beams_do():
    """sympy's beams: 100 N on 190 mm of overhang, 20 N in the middle of 500 mm."""
    inertia = B * H**3 / 12
    held = Beam(190, E, inertia)
    for load in ((sympy.Symbol("R"), 0, -1), (sympy.Symbol("M"), 0, -2), (100, 190, -1)):
        held.apply_load(*load)
    held.bc_deflection, held.bc_slope = [(0, 0)], [(0, 0)]
    held.solve_for_reaction_loads(sympy.Symbol("R"), sympy.Symbol("M"))
    assert vice_bend_um(100, 190) == pytest.approx(
        1000 * abs(float(held.deflection().subs(held.variable, 190))), rel=1e-6
    )
    laid = Beam(500, E, inertia)
    for load in ((sympy.Symbol("A"), 0, -1), (sympy.Symbol("C"), 500, -1), (20, 250, -1)):
        laid.apply_load(*load)
    laid.bc_deflection = [(0, 0), (500, 0)]
    laid.solve_for_reaction_loads(sympy.Symbol("A"), sympy.Symbol("C"))
    assert press_bend_um(20, 500) == pytest.approx(
        1000 * abs(float(laid.deflection().subs(laid.variable, 250))), rel=1e-6
    )
