"""Least squares of a dense table: the pseudo-inverse of the weighted table, and a rank that weights do not move."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulate.core.least_squares import least_squares


@given(st.integers(0, 10_000), st.integers(1, 7), st.integers(1, 12), st.floats(1e-3, 1e3))
def test_a_solution_is_that_of_the_pseudo_inverse(seed, unknowns, readings, wide):
    rng = np.random.default_rng(seed)
    design, sd = rng.normal(size=(readings, unknowns)), np.exp(rng.uniform(0, 1, readings) * np.log(wide))
    if unknowns > 2:
        design[:, -1] = design[:, 0] - 2 * design[:, 1]
    reading = rng.normal(size=readings)
    found = least_squares(design, sd)
    inverse = np.linalg.pinv(design / sd[:, None], rcond=1e-10)
    assert found.solve(reading / sd) == pytest.approx(inverse @ (reading / sd), rel=1e-6, abs=1e-7)
    assert found.cofactor == pytest.approx(inverse @ inverse.T, rel=1e-6, abs=1e-7)
    assert np.abs(design @ found.hidden).max(initial=0.0) < 1e-9
    assert found.hidden.shape[1] + found.reach.shape[1] == unknowns
    assert found.hidden.T @ found.hidden == pytest.approx(np.eye(found.hidden.shape[1]))


@pytest.mark.parametrize("sure", [1.0, 1e-3, 1e-6])
def test_one_reading_much_surer_than_the_others_hides_nothing(sure):
    # two unknowns, each told by a reading of its own: the worse one is told as well as its reading
    found = least_squares(np.eye(2), np.array([sure, 100.0]))
    assert found.hidden.shape == (2, 0)
    assert np.sqrt(np.diag(found.cofactor)) == pytest.approx([sure, 100.0])


@pytest.mark.parametrize("scale", [1e-8, 1.0, 1e8])
def test_what_is_settled_does_not_hang_on_units(scale):
    design = np.array([[1.0, scale], [1.0, 2 * scale], [1.0, 3 * scale]])
    assert least_squares(design, np.ones(3)).reach.shape == (3, 2)
    assert least_squares(np.hstack([design, design[:, :1]]), np.ones(3)).hidden.shape == (3, 1)
