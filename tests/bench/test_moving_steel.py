"""Steel moves in the loops and on the practice bench, each effect by itself against its beam."""

import numpy as np
import pytest

from simulate.bench.bending.moving_steel import (
    FILE_N,
    HAND_N,
    STEELS,
    Steel,
    bow_shape,
    given_way,
    let_go_um,
    pressed_um,
    settled_part,
)
from simulate.bench.bending.stress import STOCKS, press_bend_um, vice_bend_um
from simulate.bench.cutting.rocking import lead
from simulate.bench.cutting.tools import TOOLS, Hands
from simulate.bench.looking.sight import Sight
from simulate.bench.seating.bar_seat import rest
from simulate.method.bars.fitting import Shop, fit
from simulate.method.bars.three_bar_loop import _lie, three_bars, two_bars
from simulate.method.practice.acts import lay, let_rest, look, start_practice, work, work_seen
from simulate.surface.starting_bars import starting_bars
from simulate.surface.straightness import straightness

X = np.linspace(-250, 250, 101)
DRAWN = lead("second-cut file", "drawn")


def test_a_layer_bows_a_bar_as_the_beam_says():
    # 6 s t L² / (8 E h²): 0.1 mm of 150 MPa off a bar 500 mm long and 40 mm deep, E 210 GPa
    by_hand = 1000 * 6 * 150 * 0.1 * 500**2 / (8 * 210e3 * 40**2)
    assert let_go_um(X, np.full(101, 100.0), Steel("bright drawn")) == pytest.approx(by_hand)
    assert straightness(X, by_hand * bow_shape(X)).value_um == pytest.approx(by_hand)
    assert let_go_um(X, np.full((2, 101), 100.0), Steel()).tolist() == [0, 0]
    # The moment is the same all along, so that the bow is a parabola: three quarters of it at a quarter of the length.
    shape = bow_shape(X) - bow_shape(X)[0]
    assert shape[[25, 50, 75]] == pytest.approx([0.75, 1.0, 0.75]) and abs(np.trapezoid(bow_shape(X), X)) < 1e-9


def test_what_is_let_go_comes_as_time_goes_and_all_of_it_in_the_end():
    steel = Steel("raw casting")
    hours = STOCKS["raw casting"].settle_h
    assert settled_part(hours, steel) == pytest.approx(1 - np.exp(-1)) and settled_part(500 * hours, steel) == 1


@pytest.mark.parametrize("stock", ["normalised", "hot rolled", "bright drawn"])
def test_two_bars_that_agree_bow_apart_by_what_was_taken_from_them(stock):
    """Derived: both were filed until they fitted; each then bows by its own layer, and nothing was rested."""
    start = np.stack([0 * X, 200 * (X / 250) ** 2])
    still, moved = (
        two_bars(X, start, removal_um=5, share=0.0, seed=2, tool=DRAWN, steel=Steel(each, pass_h=0.0)).height_um[-1]
        for each in (None, stock)
    )
    taken = start[1] - still[1]
    assert np.ptp(moved[0] - still[0]) == pytest.approx(0, abs=1e-9), "the gauge was not cut"
    assert moved[1] - still[1] == pytest.approx(let_go_um(X, taken, Steel(stock)) * bow_shape(X), abs=1e-6)


def test_bars_that_rest_end_where_bars_end_that_do_not_move_and_bright_drawn_ones_that_do_not_end_bowed():
    x, h = starting_bars(500, 500, points=51, workshops=60, seed=314)
    given = {"rounds": 4, "removal_um": [15, 10, 4, 1], "seed": 271, "sight": Sight("light", 6.0), "tool": DRAWN}
    stiff, rested, hasty = (
        np.median(three_bars(x, h, steel=steel, **given).straightness_um[:, -1].max(axis=1))
        for steel in (STEELS[name] for name in ("do not move", "bright drawn, rested", "bright drawn, never rested"))
    )
    assert abs(rested - stiff) < 1.5 and hasty > 1.8 * stiff


def test_what_earlier_fits_left_comes_while_later_ones_go_on():
    """Derived: 1 - 1/e of it in as many hours as the stock settles in, also of a bar that nobody touches meanwhile."""
    steel, settle_h = Steel("hot rolled", rest_h=0.5), STOCKS["hot rolled"].settle_h
    shop = Shop(
        X, Sight(), TOOLS["stone"], Hands(), np.random.default_rng(1), steel=steel, to_come=np.full((1, 3), 9.0)
    )
    h = np.zeros((1, 3, 101))
    _lie(shop, h, np.array([settle_h - 0.5]), [(np.arange(1), np.array([2]), np.array([4.0]))])
    fresh = 4 * (1 - np.exp(-0.5 / settle_h))
    assert np.ptp(h, axis=2)[0] == pytest.approx(9 * (1 - np.exp(-1)) + np.array([0, 0, fresh]))
    assert shop.to_come[0] == pytest.approx(np.array([9, 9, 13]) - np.ptp(h, axis=2)[0])


def filed_on_a_flat_gauge(upper_um, steel, removal_um, most=None, tool=DRAWN):
    shop = Shop(X, Sight(), tool, Hands(rock_deg=0, scatter=0), np.random.default_rng(1), steel=steel)
    return fit(shop, np.zeros((1, 101)), upper_um[None], removal_um, 0.0, most=most)


def test_what_a_pass_frees_comes_in_part_before_the_next_look():
    """Derived: 1 - e^(-1/2) of it in one of the two hours in which hot rolled steel settles."""
    hollow = 40 * (X / 250) ** 2
    still, moved = (filed_on_a_flat_gauge(hollow, s, 6.0, most=1) for s in (None, Steel("hot rolled", pass_h=1.0)))
    freed = float(let_go_um(X, hollow - still.upper[0], Steel("hot rolled")))
    assert freed > 0 and moved.to_come[1] == pytest.approx(freed * np.exp(-0.5))
    came = freed * (1 - np.exp(-0.5)) * bow_shape(X)
    assert moved.upper[0] - still.upper[0] == pytest.approx(came, abs=1e-9)


def test_the_loops_look_and_cut_as_a_hand_and_a_vice_let_them():
    """By hand: 20 N hide 4.7 µm of the upper bar and 2.0 of the lower; ends that give way by 20.4 µm keep 6 / 26.4 of
    a bite that takes 6 where the bar is stiff."""
    assert (press_bend_um(HAND_N, 500), vice_bend_um(FILE_N, 190)) == pytest.approx((4.65, 20.4), abs=0.05)
    hollow = 60 * (X / 250) ** 2
    ends = [filed_on_a_flat_gauge(hollow, s, 2.0, tool=TOOLS["stone"]) for s in (None, Steel(hand_n=HAND_N))]
    left = [straightness(X, end.upper[0]).value_um for end in ends]
    assert left[0] == pytest.approx(ends[0].light_um[0]) and left[1] - ends[1].light_um[0] == pytest.approx(
        6.7, abs=0.4
    )
    cut = hollow - filed_on_a_flat_gauge(hollow, Steel(file_n=FILE_N), 6.0, most=1).upper[0]
    assert cut[[0, -1]] == pytest.approx([6 * 6 / 26.4] * 2, rel=0.01)


def test_metal_is_what_was_filed_and_not_what_bowed():
    x, h = starting_bars(500, 200, points=101, seed=9)
    run = three_bars(x, h, rounds=1, removal_um=10, seed=9, steel=Steel("bright drawn", rest_h=100))
    bowed = run.height_um[-1] - run.height_um[0]
    assert run.metal_mm3[-1] == pytest.approx(-10e-3 * np.trapezoid(bowed, x, axis=-1)) and run.metal_mm3[-1].min() > 0


def test_a_hand_on_the_middle_closes_a_hollow_as_two_beams_give_way():
    # The upper one F l³ / (48 E I): 20 N over 500 mm, I = 10 × 40³ / 12; the lower one, held by jaws of 120 mm in its
    # middle, (F / 2) a³ / (3 E I) under either contact, a = 190 mm. The two are in series.
    stiff = 210e3 * 10 * 40**3 / 12
    upper, lower = 1000 * 20 * 500**3 / (48 * stiff), 1000 * 10 * 190**3 / (3 * stiff)
    gap = 60 * (1 - (X / 250) ** 2)
    closed = gap - pressed_um(X, gap, Steel(hand_n=20))
    assert closed.max() == pytest.approx(upper + lower) and closed[[0, -1]] == pytest.approx([0, 0], abs=1e-9)
    quarter = np.abs(X + 125).argmin()
    sunk = 1000 * 10 * 65**2 * (3 * 190 - 65) / (6 * stiff)
    assert closed[quarter] == pytest.approx(upper * 11 / 16 + lower - sunk), "u (3 - 4 u²) at a quarter, u² (3 a - u)"
    alone = gap - pressed_um(X, gap, Steel(hand_n=20), lower_bends=False)
    assert alone.max() == pytest.approx(upper) and alone[quarter] == pytest.approx(upper * 11 / 16)


def test_a_pair_that_touches_within_the_jaws_bends_the_upper_bar_alone():
    near = np.where(np.abs(np.abs(X) - 50) < 1, 0.0, 9.0)
    both, one = (pressed_um(X, near, Steel(hand_n=20), lower_bends=bends) for bends in (True, False))
    assert both == pytest.approx(one) and (one != near).any()


def test_beyond_its_contacts_a_pressed_bar_rises_by_the_slope_that_it_has_there():
    """Derived: F l² / (16 E I) over each contact; 20 N in the middle of 300 mm lift the ends, 100 mm further out."""
    gap = np.where(np.abs(X) == 150, 0.0, 90.0)
    opened = pressed_um(X, gap, Steel(hand_n=20), lower_bends=False) - gap
    slope = 1000 * 20 * 300**2 / (16 * 210e3 * 10 * 40**3 / 12)
    assert opened[[0, -1]] == pytest.approx([100 * slope] * 2) and opened[50] < 0


def test_a_pair_that_touches_unevenly_sinks_as_its_two_cantilevers_do():
    """By hand: contacts at -250 and 100 mm sink by (F / 2) a³ / (3 E I), a = 190 and 40; between them the upper bar."""
    gap = np.where((X == -250) | (X == 100), 0.0, 90.0)
    closed = pressed_um(X, gap, Steel(hand_n=20), lower_bends=False) - pressed_um(X, gap, Steel(hand_n=20))
    low, high = (1000 * 10 * a**3 / (3 * 210e3 * 10 * 40**3 / 12) for a in (190, 40))
    middle = np.abs(X).argmin()
    assert closed[middle] == pytest.approx(low + (high - low) * 250 / 350)


def test_a_hand_on_a_bar_that_touches_in_its_middle_changes_nothing_and_no_gap_is_below_nought():
    crown = rest(X, -50 * (X / 250) ** 2).gap_um
    steel = Steel(hand_n=20)
    middle = np.abs(X) < 30
    assert (pressed_um(X, crown, steel)[middle] == crown[middle]).all()
    shallow = 2 * (1 - (X / 250) ** 2)
    assert pressed_um(X, shallow, steel).max() == pytest.approx(0, abs=1e-9), "6.7 µm hide a hollow of 2"


def test_the_end_of_a_bar_held_in_its_middle_is_cut_less_as_a_cantilever_gives_way():
    # 100 N on 190 mm beyond jaws of 120: F a³ / (3 E I) = 20.4 µm; in series with a bite of as much, half is left.
    gives = 1000 * 100 * 190**3 / (3 * 210e3 * 10 * 40**3 / 12)
    left = given_way(X, Steel(file_n=100), gives)
    assert gives == pytest.approx(20, abs=1) and left[[0, -1]] == pytest.approx([0.5, 0.5])
    assert (left[np.abs(X) <= 60] == 1).all()


def test_the_practice_bench_shows_each_effect_by_itself():
    start = start_practice(4)
    cut = work_seen(start, tool="bastard file", passes=30)
    settled = let_rest(cut, 48)
    grown = settled.height_um - cut.height_um
    assert np.ptp(grown[1]) == pytest.approx(cut.to_come_um[1], rel=1e-6) and np.ptp(grown[1]) > 1
    assert not grown[[0, 2]].any() and settled.tally.rested_h == 48

    metal = np.trapezoid(start.height_um[1] - settled.height_um[1], start.x_mm) / start.length_mm
    assert settled.bowed_um[1] == pytest.approx(let_go_um(start.x_mm, np.full(101, metal), Steel("hot rolled")))

    middle, near = (
        work(start, place_mm=240, length_mm=20, strokes=200, vice=vice) for vice in ("in its middle", "near the cut")
    )
    took = [(start.height_um - state.height_um)[1].max() for state in (middle, near)]
    assert took[0] < 0.7 * took[1] and middle.tally.seconds < near.tally.seconds


def test_a_look_in_the_vice_hides_a_hollow_that_a_look_on_the_bench_shows():
    hollow = 4.0 * (X / 250) ** 2
    state = start_practice(1)
    state = type(state)(**{**vars(state), "height_um": np.stack([hollow, 0 * X, 0 * X])})
    laid, held = (look(state, "light", held=held) for held in ("laid down", "in the vice"))
    assert laid.answer.seen.open.any() and not held.answer.seen.open.any()
    assert laid.tally.seconds > held.tally.seconds


def test_under_the_fourth_rules_the_lower_bar_did_not_bend_and_a_look_between_passes_was_not_laid_down():
    hollow = 7.5 * (X / 250) ** 2  # 4.7 µm closed by the upper bar leave 2.8 to see, 6.7 by both leave 0.8
    for rules, seen in ((4, True), (5, False)):
        state = start_practice(1, rules=rules)
        state = type(state)(**{**vars(state), "height_um": np.stack([hollow, 0 * X, 0 * X])})
        assert look(state, "light", held="in the vice").answer.seen.open.any() == seen
    old, new = (work_seen(start_practice(4, rules=r), tool="bastard file", passes=3) for r in (4, 5))
    assert old.tally.strokes == new.tally.strokes, "the cuts are alike"
    assert new.tally.seconds - old.tally.seconds == pytest.approx(3 * 60)


def test_bars_of_the_third_rules_neither_move_nor_are_held_otherwise():
    old = start_practice(4, rules=3)
    cut = work_seen(old, tool="bastard file", passes=30)
    assert cut.to_come_um == (0.0, 0.0, 0.0) and (let_rest(cut, 48).height_um == cut.height_um).all()
    with pytest.raises(ValueError, match="vice"):
        work(old, place_mm=0, length_mm=100, strokes=5, vice="in its middle")
    with pytest.raises(ValueError, match="held"):
        look(lay(old, 0, 2), "light", held="in the vice")
