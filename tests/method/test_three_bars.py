"""Two bars learn to agree; three learn to be straight."""

import numpy as np
import pytest

from simulate.bench.cutting.tools import Hands
from simulate.bench.looking.sight import Sight
from simulate.method.bars.recorder import Recording
from simulate.method.bars.three_bar_loop import three_bars, two_bars
from simulate.surface.starting_bars import starting_bars

X = np.linspace(-250, 250, 61)
BOW = 300 * (1 - (X / 250) ** 2)
STEADY = Hands(rock_deg=0, scatter=0)
KEEN = Sight("light", 0.5)


def beyond_line(h):
    line = np.stack([np.ones_like(X), X / 250])
    return h - np.linalg.lstsq(line.T, h.T, rcond=None)[0].T @ line


def test_two_bars_agree_and_are_both_wrong():
    run = two_bars(X, [BOW, -0.2 * BOW], removal_um=10, hands=STEADY, sight=KEEN, seed=1)
    assert run.light_um[-1] < 2
    # h1' = (h1 - h2)/2: what one has and the other has turned over stays for good.
    assert run.straightness_um[-1] == pytest.approx([180, 180], rel=0.05)
    assert beyond_line(run.height_um[-1, 0] + run.height_um[-1, 1]) == pytest.approx(0, abs=2)


def test_bars_fitted_to_a_master_show_twice_its_error_against_each_other():
    # Published: J. Rose, Modern Machine-Shop Practice, Figs 2438-2440.
    run = three_bars(X, [BOW, 0 * BOW, 0 * BOW], rounds=1, removal_um=10, hands=STEADY, sight=KEEN, seed=1)
    first_split = next(s for s in run.steps if s.stage == "split")
    together = first_split.height_um[first_split.lower] + first_split.height_um[first_split.upper]
    assert np.ptp(beyond_line(together)) == pytest.approx(2 * np.ptp(beyond_line(BOW)), rel=0.03)


@pytest.mark.parametrize("share", [0.0, 0.2, 0.35, 0.8, 1.0])
def test_a_round_leaves_what_the_share_says(share):
    run = three_bars(X, [BOW, 0 * BOW, 0 * BOW], rounds=1, removal_um=10, share=share, hands=STEADY, sight=KEEN, seed=1)
    assert run.straightness_um[1] == pytest.approx(300 * abs(2 * share - 1), rel=0.06)


def test_an_even_split_leaves_less_than_half_in_nearly_every_shop():
    # From 0.5 mm one round leaves less than half (common practice, no source).
    x, h = starting_bars(500, 500, points=61, workshops=40, seed=5)
    run = three_bars(x, h, rounds=1, removal_um=20, seed=2)
    assert (run.straightness_um[:, 1].max(axis=-1) < 250).mean() > 0.9


def test_a_coarser_pass_of_steady_hands_ends_higher():
    x, h = starting_bars(500, 300, points=61, workshops=20, seed=6)
    steady = Hands(rock_deg=0)
    fine, coarse = (three_bars(x, h, rounds=5, removal_um=um, seed=2, hands=steady) for um in (8, 40))
    assert np.median(fine.straightness_um[:, -1]) < 4 * fine.floor_um
    assert np.median(fine.straightness_um[:, -1]) < np.median(coarse.straightness_um[:, -1])


def test_a_history_is_of_one_piece():
    x, h = starting_bars(500, 300, points=61, seed=7)
    run = three_bars(x, h, rounds=2, removal_um=15, seed=2)
    assert (run.height_um[0] == h).all()
    assert (np.diff(run.height_um, axis=0) <= 0).all(), "metal is never put back"
    assert (np.diff(run.passes, axis=0) >= 0).all() and run.passes[0].sum() == 0
    volume = 10e-3 * np.trapezoid(h - run.height_um[-1], x, axis=-1)
    assert run.metal_mm3[-1] == pytest.approx(volume)
    looked = 0
    for now, then in zip(run.steps, run.steps[1:]):
        assert now.height_um - now.removed_um == pytest.approx(then.height_um)
        assert then.passes == now.passes + len(now.filed)
        assert (now.gap_um >= 0).all() and (now.light == (now.gap_um > 2.5)).all()
        looked += 1
    assert looked > 20
    assert {s.stage for s in run.steps} == {"fit", "split", "remake"}
    assert run.steps[-1].passes + len(run.steps[-1].filed) == run.passes[-1].sum()


@pytest.mark.parametrize(
    "most_looks, rounds, share", [(1, 1, 0.5), (20, 2, 0.5), (33, 3, 0.2), (100, 3, 0.0), (10_000, 2, 1.0)]
)
def test_a_bounded_record_is_part_of_the_whole_one(most_looks, rounds, share):
    def one_of(step):
        return step.round, step.stage, step.lower, step.upper

    x, h = starting_bars(500, 300, points=61, seed=7)
    given = {"rounds": rounds, "removal_um": 15, "share": share, "seed": 2}
    whole, part = three_bars(x, h, **given), three_bars(x, h, **given, record=Recording(most_looks=most_looks))
    assert (part.height_um == whole.height_um).all() and (part.passes == whole.passes).all()
    fits = {one_of(s): [k for k in whole.steps if one_of(k) == one_of(s)] for s in whole.steps}
    wanted = [
        s for looks in fits.values() for n, s in enumerate(looks) if n % part.looks_every == 0 or n == len(looks) - 1
    ]
    assert len(wanted) == len(part.steps) <= max(most_looks, 2 * len(fits))
    assert (part.looks_every == 1) == (len(whole.steps) <= most_looks)
    for kept, step in zip(part.steps, wanted, strict=True):
        assert one_of(kept) == one_of(step) and (kept.passes, kept.filed, kept.rocks) == (
            step.passes,
            step.filed,
            step.rocks,
        )
        for name in ("height_um", "gap_um", "light", "removed_um", "contacts_mm", "straightness_um"):
            assert (getattr(kept, name) == getattr(step, name)).all()


def test_after_so_many_passes_no_further_round_is_begun_and_those_made_are_the_same():
    x, h = starting_bars(500, 300, points=61, seed=7)
    whole = three_bars(x, h, rounds=4, removal_um=[20, 10, 8, 5], seed=2)
    made = [int(p.sum()) for p in whole.passes]
    for enough in (1, made[1], made[1] + 1, made[3] + 1):
        part = three_bars(x, h, rounds=4, removal_um=[20, 10, 8, 5], seed=2, record=Recording(most_passes=enough))
        rounds = next(r for r, count in enumerate(made) if count >= enough or r == 4)
        few = three_bars(x, h, rounds=rounds, removal_um=[20, 10, 8, 5][:rounds], seed=2)
        for name in ("height_um", "straightness_um", "passes", "metal_mm3", "gauge", "light_um", "floor_um"):
            assert np.array_equal(getattr(part, name), getattr(few, name), equal_nan=True)
        assert len(part.steps) == len(few.steps) and part.steps[-1].passes == few.steps[-1].passes


@pytest.mark.parametrize("wrong", [{"most_looks": 0}, {"most_passes": 0}])
def test_a_record_of_nothing_is_refused(wrong):
    with pytest.raises(ValueError, match=f"{next(iter(wrong))} is 0; it must be 1 or more"):
        Recording(**wrong)


def test_many_workshops_behave_as_single_ones():
    # Steady hands take no chances, so that workshop by workshop the answer is the same.
    x, h = starting_bars(500, 300, points=61, workshops=5, seed=8)
    together = three_bars(x, h, rounds=2, removal_um=15, hands=STEADY, seed=1)
    looped = 0
    for k in range(5):
        one = three_bars(x, h[k], rounds=2, removal_um=15, hands=STEADY, seed=9)
        assert one.height_um == pytest.approx(together.height_um[k], abs=1e-6)
        assert (one.passes == together.passes[k]).all()
        looped += 1
    assert looped == 5


def test_the_same_seed_gives_the_same_run():
    x, h = starting_bars(500, 300, points=61, seed=9)
    a, b, c = (three_bars(x, h, rounds=1, removal_um=15, seed=s).height_um for s in (4, 4, 5))
    assert (a == b).all() and (a != c).any()


def test_straight_bars_are_left_alone():
    run = three_bars(X, np.zeros((3, 61)), rounds=3, removal_um=10, seed=1)
    assert run.passes.sum() == 0 and run.straightness_um.max() == 0


@pytest.mark.parametrize(
    "change, words",
    [
        ({"share": 1.2}, "share is 1.2; it must be 0 to 1"),
        ({"rounds": -1}, "rounds is -1; it must be 0 or more"),
        ({"rounds": 1.5}, "rounds is 1.5; it must be a whole number"),
        ({"removal_um": 0}, r"removal_um is 0; it must be more than 0\."),
        (
            {"removal_um": [5, 4, 3]},
            r"removal_um holds 3 figures; it must hold one figure, or one for each of 2 rounds\.",
        ),
        ({"tool": "saw"}, "tool is 'saw'"),
        ({"steel": 10}, "steel is 10; it must be a Steel"),
        ({"height_um": np.zeros((2, 61))}, r"height_um is 2 by 61 figures; it must be 3 bars of 61 heights\."),
        (
            {"height_um": np.zeros((3, 60))},
            r"height_um is 3 by 60 figures; it must be 61 figures in each row, one for each position\.",
        ),
        ({"x_mm": X**3}, r"x_mm has steps of 578\.704 to 1\.511e\+06 mm; it must be evenly spaced\."),
        ({"height_um": np.full((3, 61), np.inf)}, r"height_um is inf at place 0, 0; it must be a finite number\."),
    ],
)
def test_bad_input_is_refused_in_words(change, words):
    given = {"x_mm": X, "height_um": np.zeros((3, 61)), "rounds": 2, "removal_um": 10} | change
    with pytest.raises(ValueError, match=words):
        three_bars(given.pop("x_mm"), given.pop("height_um"), **given)


@pytest.mark.parametrize("tool, removal_um", [("second-cut file", 15.0), ("smooth file", 6.0)])
def test_few_workshops_give_a_fit_up_in_the_first_round_and_the_second_mends_those(tool, removal_um):
    x_mm, height_um = starting_bars(500, 400, points=101, workshops=400, seed=21)
    run = three_bars(x_mm, height_um, rounds=2, removal_um=removal_um, tool=tool, seed=2, hands=Hands(rock_deg=0))
    worst = run.straightness_um.max(axis=-1)
    assert (worst[:, 1] > 40).mean() < 0.08 and np.median(worst[:, 1]) < 20
    assert worst[:, 2].max() < 40
