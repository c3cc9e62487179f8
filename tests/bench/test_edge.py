"""An edge has a width: light, feelers and compound show what lies across it, by one threshold in the whole course."""

import inspect

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from simulate.bench.cutting.rocking import lead
from simulate.bench.cutting.tools import SKILLS, Hands
from simulate.bench.looking.edge import (
    EDGES,
    KNIFE_MM,
    Edge,
    blade_enters_mm,
    edge_sight,
    filed_edge,
    narrow_mm,
    printed_mm,
    settled_crown_um,
    shows_light_um,
)
from simulate.bench.looking.eye import EYES
from simulate.bench.looking.light import BLUE, DARK, KNIFE_EDGE_UM, glow
from simulate.bench.looking.sight import Sight
from simulate.method.bars.three_bar_loop import three_bars
from simulate.method.practice.acts import look, start_practice
from simulate.method.practice.bars_level import PUSH, SIGHTS
from simulate.method.practice.debrief import fits_that_hold
from simulate.show.bars.gap import GapPanel
from simulate.show.bars.three_bars import ThreeBarsPanel
from simulate.show.bars.two_bars import TwoBarsPanel
from simulate.show.planning.plan_panel import PlanPanel
from simulate.surface.starting_bars import starting_bars

FLAT = Edge(10.0)


def test_a_knife_edge_shows_light_from_2_5_and_a_flat_edge_10_mm_wide_from_6_um():
    # 2 µm: Wikipedia, German edition, Haarlineal, 2023; 2.5 and 6 µm from memory.
    assert shows_light_um(Edge()) == pytest.approx(2.5) and shows_light_um(FLAT) == pytest.approx(6.0)
    assert shows_light_um(FLAT) == EYES["light, land 10 mm wide"].threshold_um


def test_one_threshold_goes_through_the_course_and_the_usual_edge_is_the_first():
    assert next(iter(EDGES.values())) == Edge() and Sight().threshold_um == KNIFE_EDGE_UM
    assert SIGHTS["light"].threshold_um == KNIFE_EDGE_UM
    panels = (ThreeBarsPanel, TwoBarsPanel, PlanPanel)
    opens = [inspect.signature(panel).parameters["sight_um"].default for panel in panels]
    assert opens == [KNIFE_EDGE_UM] * 3 and inspect.signature(GapPanel).parameters["light_um"].default == KNIFE_EDGE_UM


def test_colours_show_at_the_knife_edge_alone():
    knife, flat = (glow([0.8], threshold_um=shows_light_um(edge))[0] for edge in (Edge(), FLAT))
    assert (knife, flat) == (BLUE, DARK)


@given(st.floats(0.01, 50), st.floats(0, 200), st.floats(0, 50), st.floats(0.5, 20))
def test_light_shows_between_what_the_eye_sees_at_a_knife_and_over_the_whole_land(land, crown, lean, knife):
    edge = Edge(land, crown, lean)
    seen = shows_light_um(edge, knife)
    assert knife <= seen * (1 + 1e-9) and seen <= shows_light_um(Edge(land), knife) * (1 + 1e-9)
    # What it stands on: the way that is open by less than twice the gap, which hangs on the gap itself.
    assert seen == pytest.approx(shows_light_um(Edge(max(narrow_mm(edge, seen), 1e-6)), knife), rel=1e-6)
    assert printed_mm(edge, knife) <= land * (1 + 1e-9) and 0 <= blade_enters_mm(edge, knife) <= land


@pytest.mark.parametrize("least", [5e-324, 1e-310, 1e-200])
def test_a_crown_or_a_lean_of_next_to_nothing_is_a_flat_land(least):
    flat = Edge(10.0)
    with np.errstate(all="raise"):
        for edge in (Edge(10.0, crown_um=least), Edge(10.0, lean_um_per_mm=least)):
            for shown in (shows_light_um, lambda one: narrow_mm(one, 6.0), lambda one: blade_enters_mm(one, 50.0)):
                assert shown(edge) == shown(flat)


def test_across_a_crown_compound_prints_a_stripe_and_a_blade_enters_from_either_side():
    """Derived: a crown of c over a land of w falls by c (2u/w)², so that the film f reaches over w √(f/c)."""
    edge = Edge(10.0, crown_um=90.0)
    u = np.linspace(-5, 5, 100_001)
    gap = 90 * (u / 5) ** 2
    assert printed_mm(edge, 10.0) == pytest.approx(np.ptp(u[gap <= 10]), abs=1e-3)
    assert blade_enters_mm(edge, 40.0) == pytest.approx(5 - u[gap <= 40].max(), abs=1e-3)
    assert blade_enters_mm(edge, 100.0) == 0


def test_an_edge_out_of_square_lets_a_blade_in_where_the_bars_touch():
    edge = Edge(10.0, lean_um_per_mm=10.0)  # the far border stands 100 µm open
    assert blade_enters_mm(edge, 50.0) == pytest.approx(5.0) and blade_enters_mm(edge, 100.0) == 0
    assert printed_mm(edge, 3.0) == pytest.approx(0.3)
    told = GapPanel(widest_um=0, edge="10 mm wide, out of square").sentence
    assert "goes in by 5 mm" in told and "a stripe 300 µm wide" in told
    assert "Across" not in GapPanel(edge="flat, 10 mm wide").sentence


def test_the_panel_hides_by_the_edge_what_the_eye_would_see_at_a_knife():
    dark = [("dark all along" in GapPanel(widest_um=4, edge=edge).sentence) for edge in EDGES]
    assert dark == [False, True, True, False]


@pytest.mark.parametrize("bow, state", [(0.0, "glides"), (-30.0, "swings"), (30.0, "shuffles")])
def test_a_push_is_an_act_of_the_practice_bench_with_three_answers(bow, state):
    start = start_practice(1)
    u = start.x_mm / 250
    bench = type(start)(**{**vars(start), "height_um": np.stack([bow * u**2, 0 * u, 0 * u])})
    pushed = look(bench, PUSH)
    assert pushed.answer.hinge.state == state and pushed.tally.looks == 1
    assert fits_that_hold(pushed) == (), "a push shows no gap"
    with pytest.raises(ValueError, match="push"):
        look(start_practice(1, rules=3), PUSH)


def test_lesson_02_pushes_for_the_learner():
    shapes = ("hollow in the middle", "open at both ends")
    told = [GapPanel(widest_um=w, shape=s).sentence for s, w in ((shapes[0], 30), (shapes[1], 30), (shapes[0], 0))]
    assert "shuffles" in told[0] and "swings" in told[1]
    assert "glides" in told[2] and "29 % from the far end" in told[2]


def test_a_loop_ends_by_the_edge_that_its_eye_looks_through():
    """Drawn in passes of 2 µm, 200 own workshops: a crown leaves a shorter narrow part than a flat edge, so that finer
    gaps show; a knife edge shows the finest. One threshold goes through the course: 2.5 µm there, 6 on 10 mm."""
    x, h = starting_bars(500, 30, points=51, workshops=200, seed=606)
    ends = []
    for name in ("bevelled to a knife edge", "10 mm wide, crowned across", "flat, 10 mm wide"):
        sight = edge_sight(EDGES[name])
        run = three_bars(x, h, rounds=2, removal_um=2, tool=lead("smooth file", "drawn"), sight=sight, seed=607)
        ends.append((sight.threshold_um, float(np.median(run.straightness_um[:, -1].max(axis=1)))))
    assert (ends[0][0], ends[2][0]) == pytest.approx((2.5, EYES["light, land 10 mm wide"].sight().threshold_um))
    assert ends == sorted(ends) and ends[2][1] > 1.3 * ends[0][1]
    leaning, straight = (edge_sight(Edge(10.0, lean_um_per_mm=lean)).threshold_um for lean in (10.0, 0.0))
    assert 2.5 <= leaning < straight


ACROSS = np.linspace(-5, 5, 81)


def filed_across(u_mm, height_um, *, strokes, stroke_um=0.5, hands=Hands(), seed=None):
    """Give sections (..., places) of an edge after strokes along it, each of a flat sole that is tipped across by an
    angle of its own and takes `stroke_um` as the mean over the width."""
    h, rng, deep = height_um.copy(), np.random.default_rng(seed), np.arange(1, u_mm.size + 1)
    slope = 1000 * np.tan(np.radians(hands.across_deg))
    for _ in range(strokes):
        above = h - slope * rng.standard_normal((*h.shape[:-1], 1)) * u_mm
        high = -np.sort(-above, axis=-1)
        sole = ((np.cumsum(high, axis=-1) - u_mm.size * stroke_um) / deep).max(axis=-1, keepdims=True)
        h -= np.maximum(above - sole, 0.0)
    return h


def mean_crown(section_um):
    return float((section_um[:, 40] - section_um[:, [0, -1]].mean(axis=1)).mean())


@pytest.mark.parametrize("skill", SKILLS)
def test_strokes_that_tip_across_settle_at_the_crown_that_their_angles_say(skill):
    """Derived: places lose alike where slopes are the quantiles of |angle|. Strokes of a few parts of the crown leave a
    little less; 200 edges of our own, flat at first or twice as crowned."""
    hands, settled = SKILLS[skill], settled_crown_um(10.0, SKILLS[skill])
    assert settled == pytest.approx(5 * 1000 * np.tan(np.radians(hands.across_deg)) * np.sqrt(2 / np.pi))
    for start in (0.0, 2.0):
        edges = np.tile(-start * settled * (ACROSS / 5) ** 2, (200, 1))
        filed = filed_across(ACROSS, edges, strokes=200, stroke_um=settled / 50, hands=hands, seed=71)
        assert mean_crown(filed) == pytest.approx(settled, rel=0.08)
        assert (filed <= edges).all() and (edges - filed).mean() == pytest.approx(4 * settled)
    quantiles = [hands.across_deg * np.sqrt(2) * float(scipy.special.erfinv(part)) for part in (0.25, 0.5, 0.75)]
    section = filed.mean(axis=0)
    slopes = [
        np.degrees(np.arctan(1e-3 * (section[k - 2] - section[k + 2]) / (ACROSS[k + 2] - ACROSS[k - 2])))
        for k in (50, 60, 70)
    ]
    assert slopes == pytest.approx(quantiles, rel=0.12)


def test_a_crown_is_there_after_a_pass_and_grows_no_further():
    """What the loops stand on that are given it from the start: 20 µm an edge of an average hand, 40 over the pair."""
    settled = settled_crown_um(10.0)
    assert (
        filed_edge().crown_um == pytest.approx(40.0, rel=0.01) and EDGES["10 mm wide, crowned across"] == filed_edge()
    )
    after = [
        mean_crown(filed_across(ACROSS, np.zeros((200, 81)), strokes=n, stroke_um=0.3, seed=72)) for n in (20, 40, 200)
    ]
    assert after[0] < 0.85 * settled < after[1] == pytest.approx(0.9 * settled, rel=0.04)
    assert after[2] == pytest.approx(after[1], rel=0.1)
    level = filed_across(ACROSS, 0 * ACROSS, strokes=9, hands=Hands(across_deg=0), seed=1)
    assert np.ptp(level) < 1e-9 and level[0] == pytest.approx(-4.5)
    x, h = starting_bars(500, 60, points=51, workshops=200, seed=608)
    given = {"removal_um": 2.0, "tool": lead("smooth file", "drawn")}
    ends = []
    for first in (filed_edge(), FLAT):  # an edge that stays flat for the whole of the first round
        once = three_bars(x, h, rounds=1, sight=edge_sight(first), seed=609, **given).height_um[:, -1]
        run = three_bars(x, once, rounds=2, sight=edge_sight(filed_edge()), seed=610, **given)
        ends.append(float(np.median(run.straightness_um[:, -1].max(axis=1))))
    assert ends[1] == pytest.approx(ends[0], abs=0.3)


def test_a_steadier_hand_leaves_a_flatter_edge_and_a_knife_edge_stays_one():
    seen = [shows_light_um(filed_edge(hands=hands)) for hands in SKILLS.values()]
    assert 6.0 > seen[0] > seen[1] > seen[2] > 4.0
    assert all(shows_light_um(filed_edge(KNIFE_MM, hands)) == KNIFE_EDGE_UM for hands in SKILLS.values())
    with pytest.raises(ValueError, match="land_mm"):
        settled_crown_um(0.0)
