"""Bars and plates as they come to the bench."""

import re

import numpy as np
import pytest

from simulate.surface.flatness import flatness
from simulate.surface.starting_bars import starting_bars
from simulate.surface.starting_plates import starting_plates
from simulate.surface.straightness import straightness


def test_every_bar_is_out_by_exactly_the_error_that_was_asked_for():
    for error in (0.5, 500.0):
        x, h = starting_bars(500, error, workshops=40, seed=1)
        assert h.shape == (40, 3, 201)
        np.testing.assert_allclose(straightness(x, h).value_um, error, rtol=1e-12)


def test_one_workshop_has_no_axis_of_its_own():
    x, h = starting_bars(300, 100, points=31, bars=4, seed=2)
    assert h.shape == (4, 31)
    np.testing.assert_allclose(x[[0, 15, 30]], [-150, 0, 150], atol=1e-12)
    assert (np.diff(x) > 0).all()


def test_bars_carry_no_line_of_their_own():
    x, h = starting_bars(500, 400, workshops=5, seed=3)
    np.testing.assert_allclose(h.mean(axis=-1), 0, atol=1e-9)
    np.testing.assert_allclose(h @ x, 0, atol=1e-6)


def test_straight_bars_and_flat_plates_are_all_zero():
    assert not starting_bars(500, 0, workshops=2)[1].any()
    assert not starting_plates(300, 300, 0, workshops=2)[2].any()


def test_the_same_seed_gives_the_same_bodies_and_another_seed_gives_others():
    for start, size in ((starting_bars, (500, 400)), (starting_plates, (300, 200, 100))):
        first = start(*size, seed=7)[-1]
        np.testing.assert_array_equal(first, start(*size, seed=7)[-1])
        np.testing.assert_array_equal(first, start(*size, seed=np.random.default_rng(7))[-1])
        assert np.abs(first - start(*size, seed=8)[-1]).max() > 1
        assert np.abs(start(*size)[-1] - start(*size)[-1]).max() > 1


def test_a_generator_is_drawn_from_and_moves_on():
    rng = np.random.default_rng(9)
    assert np.abs(starting_bars(500, 400, seed=rng)[1] - starting_bars(500, 400, seed=rng)[1]).max() > 1


def test_no_two_bars_share_a_shape():
    _, h = starting_bars(500, 400, workshops=30, seed=4)
    flat = h.reshape(90, -1) / np.linalg.norm(h.reshape(90, -1), axis=1, keepdims=True)
    alike = np.abs(flat @ flat.T)[np.triu_indices(90, 1)]
    assert alike.size == 4005
    assert alike.max() < 0.99999


def test_most_of_a_bar_is_its_bow_and_bars_bow_either_way():
    x, h = starting_bars(500, 400, workshops=300, seed=5)
    t = 2 * x / 500
    bow = t**2 - np.mean(t**2)
    part = (h @ bow) ** 2 / (bow @ bow) / (h**2).sum(axis=-1)
    assert np.median(part) > 0.5
    assert 0.4 < np.mean(h @ bow > 0) < 0.6


def test_a_bar_has_more_than_a_bow():
    x, h = starting_bars(500, 400, workshops=50, seed=6)
    left = h.reshape(150, -1) - np.array([np.polyval(np.polyfit(x, row, 3), x) for row in h.reshape(150, -1)])
    assert (np.ptp(left, axis=1) > 0.02 * 400).all()


def test_every_plate_is_out_by_exactly_the_error_that_was_asked_for():
    x, y, h = starting_plates(400, 250, 120, points=15, workshops=20, seed=1)
    assert h.shape == (20, 3, 15, 15)
    assert (x[0], x[-1], y[0], y[-1]) == (-200, 200, -125, 125)
    np.testing.assert_allclose(flatness(x, y, h).value_um, 120, rtol=1e-10)


def test_plates_carry_no_plane_of_their_own():
    x, y, h = starting_plates(400, 250, 120, plates=4, seed=2)
    assert h.shape == (4, 31, 31)
    np.testing.assert_allclose(h.mean(axis=(1, 2)), 0, atol=1e-9)
    np.testing.assert_allclose(h.mean(axis=1) @ x, 0, atol=1e-6)
    np.testing.assert_allclose(h.mean(axis=2) @ y, 0, atol=1e-6)


def test_plates_are_bowls_and_domes_and_carry_twist():
    x, y, h = starting_plates(300, 300, 100, points=11, workshops=100, seed=3)
    u, v = np.meshgrid(2 * x / 300, 2 * y / 300)
    bowl = u**2 + v**2 - np.mean(u**2 + v**2)
    twist = (h * u * v).sum(axis=(-2, -1)) / (u * v * u * v).sum()
    assert 0.35 < np.mean((h * bowl).sum(axis=(-2, -1)) > 0) < 0.65
    assert np.median(np.abs(twist)) > 5


@pytest.mark.parametrize(
    ("settings", "sentence"),
    [
        ({"length_mm": 0}, "length_mm is 0; it must be more than 0."),
        ({"error_um": -1}, "error_um is -1; it must be 0 or more."),
        ({"points": 2}, "points is 2; it must be 3 or more."),
        ({"bars": 0}, "bars is 0; it must be 1 or more."),
        ({"workshops": 0}, "workshops is 0; it must be 1 or more."),
        ({"workshops": 1.5}, "workshops is 1.5; it must be a whole number."),
        ({"seed": "a"}, "seed is 'a'; it must be numbers in a regular table."),
        ({"seed": -1}, "seed is -1; it must be 0 or more."),
    ],
)
def test_bars_that_cannot_be_are_refused_in_a_sentence(settings, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        starting_bars(**{"length_mm": 500, "error_um": 400} | settings)


@pytest.mark.parametrize(
    ("settings", "sentence"),
    [
        ({"width_mm": -2}, "width_mm is -2; it must be more than 0."),
        ({"depth_mm": 0}, "depth_mm is 0; it must be more than 0."),
        ({"error_um": np.nan}, "error_um is nan; it must be a finite number."),
        ({"points": 2}, "points is 2; it must be 3 or more."),
        ({"plates": 0}, "plates is 0; it must be 1 or more."),
    ],
)
def test_plates_that_cannot_be_are_refused_in_a_sentence(settings, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        starting_plates(**{"width_mm": 400, "depth_mm": 250, "error_um": 100} | settings)
