"""Three squares made true against each other."""

import numpy as np
import pytest

from simulate.method.squares.blade_to_blade import three_squares

EXACT = dict(removal_um=1e-4, threshold_um=0.0, scatter=0.0)


def test_two_squares_fitted_to_a_gauge_show_double_its_error_between_them():
    # J. Rose, Modern Machine-Shop Practice, Figs 2438-2440: out by e against the master, out by 2 e together.
    run = three_squares([400.0, -100.0, 250.0], rounds=1, blade_mm=150.0, **EXACT)
    split = next(step for step in run.steps if step.stage == "split")
    np.testing.assert_allclose(split.angle_urad, [400, -400, -400], atol=0.01)
    assert split.foot_um == pytest.approx(2 * 400 * 0.150, abs=0.01) and split.top_um == 0


@pytest.mark.parametrize("share", [0.0, 0.25, 0.4, 0.5, 0.75, 1.0])
def test_a_round_leaves_the_part_that_the_split_was_not_even(share):
    # Derived: a split share s leaves |2 s - 1| of the gauge's error, for squares as for bars.
    run = three_squares([400.0, -100.0, 250.0], rounds=1, share=share, **EXACT)
    np.testing.assert_allclose(np.abs(run.angle_urad[1]), abs(2 * share - 1) * 400, atol=0.01)


def test_any_start_comes_down_to_what_sight_and_tool_allow():
    start = np.random.default_rng(2).uniform(-2000, 2000, (500, 3))
    run = three_squares(start, rounds=6, removal_um=1.0, seed=3)
    worst = np.abs(run.angle_urad[:, -1]).max(axis=-1)
    assert run.angle_urad.shape == (500, 7, 3) and run.steps == ()
    assert np.median(worst) < 1.5 * run.floor_urad
    assert worst.max() < 6 * run.floor_urad


def test_one_workshop_and_many_run_alike_without_scatter():
    start = np.random.default_rng(2).uniform(-2000, 2000, (20, 3))
    many = three_squares(start, rounds=3, removal_um=2.0, scatter=0.0)
    one = three_squares(start[11], rounds=3, removal_um=2.0, scatter=0.0)
    np.testing.assert_allclose(many.angle_urad[11], one.angle_urad)
    np.testing.assert_allclose(many.metal_mm3[11], one.metal_mm3)
    assert len(one.steps) == 12 and one.steps[0].round == 1


def test_metal_only_comes_off_and_is_the_wedge_that_was_filed():
    run = three_squares([300.0, 100.0, -50.0], rounds=1, share=0.5, blade_mm=200.0, width_mm=5.0, **EXACT)
    assert (np.diff(run.metal_mm3, axis=0) >= 0).all() and (np.diff(run.passes, axis=0) >= 0).all()
    # Square 2 turns from -50 to -300 urad in the fit and back by half of 600 in the split: 550e-6 * 200^2 / 2 * 5 mm3.
    assert run.metal_mm3[1, 2] == pytest.approx(550e-6 * 200**2 / 2 * 5, rel=1e-4)


def test_the_gauge_goes_round_and_seeds_repeat():
    run = three_squares([300.0, 100.0, -50.0], rounds=3, removal_um=1.0, seed=9)
    again = three_squares([300.0, 100.0, -50.0], rounds=3, removal_um=1.0, seed=9)
    assert run.gauge.tolist() == [0, 1, 2, 0]
    np.testing.assert_array_equal(run.angle_urad, again.angle_urad)
    assert np.isnan(run.light_um[0]) and (run.light_um[1:] <= 2.5 + 1.0).all()


def test_impossible_figures_are_refused():
    with pytest.raises(ValueError, match=r"angle_urad has shape \(2,\); it must be three angles along its last axis\."):
        three_squares([1.0, 2.0], rounds=1, removal_um=1.0)
    with pytest.raises(ValueError, match="share is 1.5; it must be 0 to 1"):
        three_squares([1.0, 2.0, 3.0], rounds=1, removal_um=1.0, share=1.5)
    with pytest.raises(ValueError, match="removal_um is 0; it must be more than 0"):
        three_squares([1.0, 2.0, 3.0], rounds=1, removal_um=0.0)
