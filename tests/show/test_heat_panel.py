"""What a warm edge does, and the panel that shows it."""

import ipywidgets as widgets
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from simulate.bench.bending.heat import heat_bow_um, settling_time_s
from simulate.bench.bending.heat_sources import HEAT_CAPACITY_J_KGK, WARMTHS, Warmth, kept_difference_k
from simulate.bench.bending.materials import MATERIALS, Material
from simulate.show.bars.bar_heat import WHAT, HeatPanel


def test_the_kept_difference_agrees_with_a_heat_flow_run_on_a_grid():
    """scipy's solve_ivp on 80 layers that are warmed from one side; bending moment taken by sums."""
    n, depth = 80, 0.04
    k = 13e-6 * 7850 * 490
    step = depth / n

    def flow(_, t):
        across = -k * np.diff(t) / step
        return np.diff(np.concatenate([[400.0], across, [0.0]])) * -1 / (step * 7850 * 490)

    end = solve_ivp(flow, (0, 900), np.zeros(n), method="LSODA", rtol=1e-8, atol=1e-10).y[:, -1]
    place = (np.arange(n) + 0.5) * step - depth / 2
    moment = 12 / depth**2 * (end * place).sum() * step
    assert kept_difference_k(40, "the sun through a window") == pytest.approx(-moment, rel=2e-3)


def test_conductivities_are_those_of_handbooks():
    """From memory: steel and grey iron about 50 W/mK, granite about 3."""
    found = {
        name: m.diffusivity_mm2_s * 1e-6 * m.density_kg_m3 * HEAT_CAPACITY_J_KGK[name] for name, m in MATERIALS.items()
    }
    assert found == pytest.approx({"steel": 50, "grey iron": 50, "granite": 2.9}, rel=0.03)


def test_granite_bows_more_than_steel_in_the_same_sun():
    bows = [heat_bow_um(500, 40, kept_difference_k(40, "the sun through a window", m), m) for m in ("steel", "granite")]
    assert bows[1] > 5 * bows[0]
    assert settling_time_s(40, "granite") == pytest.approx(10 * settling_time_s(40, "steel"), rel=0.01)


def test_a_hand_bends_a_straightedge_by_microns():
    """Published, an encyclopaedia: finger heat limits a light-gap check to about 10 µm: the same order."""
    bow = heat_bow_um(500, 40, kept_difference_k(40, "a hand on the edge"))
    assert 0.5 < bow < 20


@pytest.mark.parametrize(
    "change, words",
    [
        ({"warmth": "a stove"}, "warmth is 'a stove'; it must be 'a hand on the edge'"),
        ({"depth_mm": 0}, "depth_mm is 0; it must be more than 0."),
        (
            {"material": Material("brass", 100, 8500, 19e-6, 34)},
            "material without heat_capacity_j_kgk is 'brass'; it must be 'steel', 'grey iron' or 'granite'.",
        ),
    ],
)
def test_what_is_not_known_is_refused(change, words):
    with pytest.raises(ValueError) as refusal:
        kept_difference_k(**{"depth_mm": 40, "warmth": "a bench lamp", **change})
    assert words in str(refusal.value)


def test_a_material_and_a_warmth_of_your_own():
    brass = Material("brass", 100, 8500, 19e-6, 34)
    assert kept_difference_k(40, Warmth("stove", 1000, "own"), brass, 380) == pytest.approx(0.182, abs=0.001)
    assert all("from memory" in w.source for w in WARMTHS.values())


def ends_of(widget):
    if isinstance(widget, widgets.Checkbox):
        return True, False
    return widget._options_values if isinstance(widget, widgets.Dropdown) else (widget.min, widget.max)


def test_every_control_answers_at_both_ends_and_in_every_choice():
    panel, moved = HeatPanel(), 0
    for widget in panel.controls.values():
        before, pictures = widget.value, set()
        ends = ends_of(widget)
        for value in (*ends, before):
            widget.value = value
            assert panel.message.value == "" and len(panel.sentence) > 40
            pictures.add(panel.png)
        assert len(pictures) > 1, widget.description
        moved += 1
    assert moved == 7


def test_the_panel_shows_the_formula_and_the_wait():
    """alpha dT L^2 / 8h, from memory: Timoshenko; Roark."""
    panel = HeatPanel(wait_s=settling_time_s(40))
    assert panel.bow_um[0] == pytest.approx(11.5e-6 * 500**2 / (8 * 40) * 1e3)
    assert panel.bow_um[1] == pytest.approx(0.1 * panel.bow_um[0])
    assert "thou" in HeatPanel(units="inch", what=WHAT[1]).sentence
