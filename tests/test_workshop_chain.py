"""A workshop's figures become links, and a black bar is carried to the aligned machine on paper."""

from dataclasses import fields, replace

import numpy as np
import pytest

from simulate.bench.materials import MATERIALS
from simulate.method.chain import Link
from simulate.method.workshop_chain import STAGES, Workshop, on_paper, workshop_chain, workshop_links

SHOP = Workshop()


def of(name, **figures):
    return {link.name: float(link.sd * link.um_per_unit) for link in workshop_links(replace(SHOP, **figures))}[name]


def test_heat_and_sag_are_the_handbooks():
    # alpha L^2 / (8 h) for each kelvin, and 5 w L^4 / (384 E I) between the ends (Timoshenko; Roark; both from memory)
    steel = MATERIALS["steel"]
    assert of("heat", heat_k=1.0) == pytest.approx(steel.expansion_per_k * 600**2 / (8 * 60) * 1000 / np.sqrt(3))
    weight = steel.density_kg_m3 * 9.80665 * 0.06
    hang = 5 * weight * 0.6**4 / (384 * steel.young_gpa * 1e9 * 0.06**3 / 12) * 1e6
    assert of("sag", supports=1.0) == pytest.approx(hang / np.sqrt(3), rel=1e-6)


def test_lands_are_a_monte_carlo_of_their_fits():
    # derived: second differences of the stations are minus twice the readings, both ends held
    n, sd = 6, 0.8
    second = np.diag(-2 * np.ones(n - 1)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)
    reads = np.random.default_rng(1).normal(0, sd, (n - 1, 100_000))
    middle = np.linalg.solve(second, -2 * reads)[n // 2 - 1]
    assert of("lands") == pytest.approx(middle.std(), rel=0.02)


def test_the_square_counts_by_its_reach_and_the_dial_by_two_readings():
    assert of("square", square_urad=50.0, reach_mm=200.0) == pytest.approx(10)
    drawn = np.random.default_rng(2).uniform(-3, 3, (2, 200_000)).mean(axis=0)
    assert of("dial", dial_um=3.0) == pytest.approx(drawn.std(), rel=0.01)


def test_sight_at_the_bars_is_the_spread_of_a_bar_from_three_gaps():
    gaps = np.random.default_rng(3).uniform(-2.5, 2.5, (3, 200_000))
    assert of("sight at the bars") == pytest.approx(((gaps[0] + gaps[1] - gaps[2]) / 2).std(), rel=0.01)


def test_every_figure_moves_the_budget():
    whole = float(workshop_chain(SHOP).combined_um)
    moved = 0
    for field in fields(Workshop):
        value = getattr(SHOP, field.name)
        other = {"intervals": 8, "wave_mm": 150.0}.get(field.name, 1.5 * value)
        assert float(workshop_chain(replace(SHOP, **{field.name: other})).combined_um) != pytest.approx(whole, abs=1e-6), field.name
        moved += 1
    assert moved == 13


def test_a_bed_of_600_mm_is_carried_from_half_a_millimetre_to_alignment():
    stages = on_paper(SHOP, start_um=500.0, share=0.6)
    assert stages[0].out_um == 500 and stages[-1].out_um == pytest.approx(float(workshop_chain(SHOP).expanded_um))
    # |2 s - 1| = 0.2 a round (derived): 100, 20, 4, then sight
    assert [s.out_um for s in stages[1:5]] == pytest.approx([100, 20, 4, 2.5])
    later = [s.out_um for s in stages[-len(STAGES):]]
    assert later == sorted(later) and len(stages[-1].links) == 9


def test_an_own_link_joins_and_a_second_of_the_same_name_is_refused():
    with_own = workshop_chain(SHOP, (Link("floor", 4.0),))
    assert float(with_own.combined_um) == pytest.approx(np.hypot(float(workshop_chain(SHOP).combined_um), 4.0))
    with pytest.raises(ValueError, match="links hold 'heat' 2 times; each link has a name of its own."):
        workshop_chain(SHOP, (Link("heat", 1.0),))


@pytest.mark.parametrize(("figures", "sentence"), [
    ({"sight_um": -1}, "sight_um is -1; allowed is 0 or more."),
    ({"intervals": 1}, "intervals is 1; allowed is 2 or more."),
    ({"supports": 1.2}, "supports is 1.2; allowed is above 0 to 1."),
    ({"length_mm": 0}, "length_mm is 0; allowed is more than 0."),
])
def test_impossible_figures_are_refused(figures, sentence):
    with pytest.raises(ValueError) as refused:
        workshop_links(replace(SHOP, **figures))
    assert str(refused.value) == sentence


def test_a_split_that_never_ends_is_refused():
    with pytest.raises(ValueError, match="share is 1; a split that one bar bears alone never ends"):
        on_paper(SHOP, share=1.0)
