"""A workshop's figures become links, and a black bar is carried to the aligned machine on paper."""

from dataclasses import fields, replace

import numpy as np
import pytest

from simulate.bench.bending.materials import MATERIALS
from simulate.method.planning.workshop_budget import EYES, STAGES, Workshop, on_paper, workshop_chain, workshop_links
from simulate.method.uncertainty_budget import Link

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
        other = {"intervals": 8, "wave_mm": 150.0, "eye": EYES[2]}.get(field.name) or 1.5 * value
        assert float(workshop_chain(replace(SHOP, **{field.name: other})).combined_um) != pytest.approx(
            whole, abs=1e-6
        ), field.name
        moved += 1
    assert moved == 14


def test_a_bed_of_600_mm_is_carried_from_half_a_millimetre_to_alignment():
    stages = on_paper(SHOP, start_um=500.0, share=0.6)
    assert stages[0].out_um == 500 and stages[-1].out_um == pytest.approx(float(workshop_chain(SHOP).expanded_um))
    # |2 s - 1| = 0.2 a round (derived): 100, 20, 4, then sight
    assert [s.out_um for s in stages[1:5]] == pytest.approx([100, 20, 4, 2.5])
    later = [s.out_um for s in stages[-len(STAGES) :]]
    assert later == sorted(later) and len(stages[-1].links) == 9


def test_an_own_link_joins_and_a_second_of_the_same_name_is_refused():
    with_own = workshop_chain(SHOP, (Link("floor", 4.0),))
    assert float(with_own.combined_um) == pytest.approx(np.hypot(float(workshop_chain(SHOP).combined_um), 4.0))
    with pytest.raises(
        ValueError,
        match=r"the name 'heat' in links is there 2 times; it must be there once\. Give each link a name of its own\.",
    ):
        workshop_chain(SHOP, (Link("heat", 1.0),))


@pytest.mark.parametrize(
    ("figures", "sentence"),
    [
        ({"sight_um": -1}, "sight_um is -1; it must be 0 or more."),
        ({"intervals": 1}, "intervals is 1; it must be 2 or more."),
        ({"supports": 1.2}, "supports is 1.2; it must be above 0 and at most 1."),
        (
            {"eye": "three eyes"},
            "eye is 'three eyes'; it must be 'two eyes', 'one eye, three bars' or 'one eye, stepped lands'.",
        ),
        ({"length_mm": 0}, "length_mm is 0; it must be more than 0."),
    ],
)
def test_impossible_figures_are_refused(figures, sentence):
    with pytest.raises(ValueError) as refused:
        workshop_links(replace(SHOP, **figures))
    assert str(refused.value) == sentence


def test_a_split_that_never_ends_is_refused():
    with pytest.raises(
        ValueError,
        match=r"share is 1; it must be above 0 and below 1, because a split that one bar bears alone never ends\.",
    ):
        on_paper(SHOP, share=1.0)


def simulated_um(shop, cases, rng):
    """Carry `cases` workshops from bars to the aligned machine, every contact worked out for itself (own code, no
    formula of the package): what the middle of the bed, and a part set up over it, are out by."""
    n, z = shop.intervals, rng.uniform(-shop.sight_um, shop.sight_um, cases)
    second = np.diag(-2 * np.ones(n - 1)) + np.diag(np.ones(n - 2), 1) + np.diag(np.ones(n - 2), -1)

    def stepped(fit_um):  # inner stations from what each fit leaves between a station and the mean of its neighbours
        return np.linalg.solve(second, -2 * fit_um)[n // 2 - 1]

    def three(ab, ac, bc):  # solve a + b = ab, a + c = ac, b + c = bc
        return np.linalg.solve([[1.0, 1, 0], [1, 0, 1], [0, 1, 1]], np.stack([ab, ac, bc]))[0]

    bar = stepped(rng.normal(0, shop.land_sd_um, (n - 1, cases)))
    if shop.eye == "two eyes":
        bar = bar + three(*rng.uniform(-shop.sight_um, shop.sight_um, (3, cases)))
        left_at_bed = rng.uniform(-shop.sight_um, shop.sight_um, cases)
    elif shop.eye == "one eye, three bars":
        bar, left_at_bed = bar + three(z, z, z), z
    else:
        gauge = three(z, z, z)
        bar, left_at_bed = bar + stepped(np.tile(z - gauge, (n - 1, 1))), z
    bar = bar + rng.uniform(-1, 1, cases) * hidden_um(shop) + rng.uniform(-1, 1, cases) * hang_um(shop)
    steel = MATERIALS["steel"]
    bar = (
        bar
        + rng.uniform(-shop.heat_k, shop.heat_k, cases)
        * steel.expansion_per_k
        * shop.length_mm**2
        / (8 * shop.depth_mm)
        * 1000
    )
    bed = left_at_bed - bar  # a way is the opposite of its straightedge
    dial = rng.uniform(-shop.dial_um, shop.dial_um, (2, cases)).mean(axis=0)
    return (
        bed
        + rng.uniform(-shop.plate_um, shop.plate_um, cases)
        + rng.normal(0, shop.square_urad, cases) * shop.reach_mm / 1000
        + dial
    )


def hang_um(shop):
    """Sag between the supports, by integrating the moment of a bar under its own weight twice."""
    x = np.linspace(0, shop.length_mm / 1000, 20001)
    steel, h = MATERIALS["steel"], shop.depth_mm / 1000
    w = steel.density_kg_m3 * 9.80665 * h  # for 1 m of width
    left = (1 - shop.supports) / 2 * x[-1]
    moment = -w * x**2 / 2 + w * x[-1] / 2 * (np.clip(x - left, 0, None) + np.clip(x - (x[-1] - left), 0, None))
    slope = np.concatenate([[0], np.cumsum((moment[1:] + moment[:-1]) / 2 * np.diff(x))])
    y = np.concatenate([[0], np.cumsum((slope[1:] + slope[:-1]) / 2 * np.diff(x))])
    at = np.array([left, x[-1] - left])
    line = np.polyval(np.polyfit(at, np.interp(at, x, y), 1), x)
    return np.ptp(y - line) / (steel.young_gpa * 1e9 * h**3 / 12) * 1e6


def hidden_um(shop):
    """What a wave hides between two lands: most it can be off the straight line that joins them, over all phases."""
    gap, t = shop.length_mm / shop.intervals, np.linspace(0, 1, 401)
    phase = np.linspace(0, 2 * np.pi, 721)[:, None]
    wave = shop.wave_um * np.sin(2 * np.pi * t * gap / shop.wave_mm + phase)
    return np.abs(wave - (wave[:, :1] + (wave[:, -1:] - wave[:, :1]) * t)).max()


@pytest.mark.parametrize("eye", EYES)
@pytest.mark.parametrize("figures", [{}, {"intervals": 8, "sight_um": 4.0, "land_sd_um": 0.3, "supports": 1.0}])
def test_a_monte_carlo_of_the_whole_chain_agrees_within_five_per_cent(eye, figures):
    shop = replace(SHOP, eye=eye, **figures)
    drawn = simulated_um(shop, 100_000, np.random.default_rng(7))
    chain = workshop_chain(shop)
    assert drawn.std() == pytest.approx(float(chain.combined_um), rel=0.05)
    assert np.mean(np.abs(drawn) < chain.expanded_um) > 0.94  # more where one bounded habit outweighs the rest


def test_one_eye_at_three_bars_and_bed_leaves_half_of_its_habit():
    # derived: a = b = c = z / 2, and the bed is the opposite of its straightedge: z - z / 2
    chain = workshop_chain(replace(SHOP, eye="one eye, three bars"))
    at = chain.names.index("habit of seeing")
    assert chain.contribution_um[at] == pytest.approx(2.5 / np.sqrt(3) / 2)
    assert [round(float(um), 2) for _, um in chain.steps(at)] == [-0.72, 1.44]
    assert chain.names.count("sight at the bed") == 0 and len(chain.links) == 9 and len(chain.names) == 8


@pytest.mark.parametrize(("steps", "times"), [(4, 1 - 4 / 2), (6, 1 - 9 / 2), (12, 1 - 36 / 2)])
def test_stepped_lands_multiply_a_habit_by_a_quarter_of_the_steps_squared(steps, times):
    # derived: z / 2 left at each fit is z / 2 * n^2 / 4 in the middle; the bed has z less that
    chain = workshop_chain(replace(SHOP, eye="one eye, stepped lands", intervals=steps))
    at = chain.names.index("habit of seeing")
    assert chain.contribution_um[at] == pytest.approx(abs(times) * 2.5 / np.sqrt(3))


def test_on_two_ends_the_sag_wakes_up_and_is_still_smaller_than_the_lands():
    chain = workshop_chain(replace(SHOP, supports=1.0))
    by_size = sorted(zip(chain.contribution_um, chain.names), reverse=True)
    assert [name for _, name in by_size].index("sag") == 6 and len(by_size) == 9  # seventh of nine
    assert chain.contribution_um[chain.names.index("sag")] == pytest.approx(1.19, abs=0.005)
    assert by_size[0][1] == "lands"
