"""The hinge test: a pushed bar pivots at 0.293 of its length, in the middle, or at its far end."""

import numpy as np
import pytest
import sympy

from simulate import hinge, rest

X = np.linspace(-250, 250, 1001)


def gap_of(height_um):
    return rest(X, height_um).gap_um


def test_an_evenly_bearing_bar_pivots_at_1_less_1_over_root_2_from_the_far_end():
    """Derived once more, with forces and moments about the far end: F = f (L - 2 p), F L = f (L² / 2 - p²)."""
    p, length = sympy.symbols("p L", positive=True)
    found = [
        s for s in sympy.solve((length - 2 * p) * length - (length**2 / 2 - p**2), p) if sympy.simplify(s / length) < 1
    ]
    assert float(found[0] / length) == pytest.approx(0.2929, abs=1e-4)
    told = hinge(X, gap_of(0 * X))
    assert told.pivot_part == pytest.approx(float(found[0] / length), abs=2e-3) and told.state == "glides"


def test_a_high_middle_swings_about_it_and_high_ends_shuffle_about_the_far_one():
    """J. Rose, Modern Machine-Shop Practice, text at Fig. 2442: swings, glides, shuffles."""
    high = hinge(X, gap_of(20 * (1 - (X / 250) ** 2)))
    assert high.pivot_part == pytest.approx(0.5, abs=0.06) and high.state == "swings"
    hollow = hinge(X, gap_of(20 * (X / 250) ** 2))
    assert hollow.pivot_part < 0.06 and hollow.state == "shuffles"


@pytest.mark.parametrize("part, state", [(0.6, "glides"), (0.9, "shuffles")])
def test_a_bar_shuffles_long_before_its_middle_bears_nothing(part, state):
    """A hollow of nine tenths of what contacts give pivots at 0.14, no more at 0.29. Where a word ends is ours."""
    told = hinge(X, part * (1 - (X / 250) ** 2), give_um=1.0)
    bearing = (1 - part * (1 - (X / 250) ** 2)) * (250 - X)
    summed = np.cumsum(bearing) / bearing.sum()
    assert told.state == state and told.pivot_part == pytest.approx(
        (X[np.argmin(abs(summed - 0.5))] + 250) / 500, abs=2e-3
    )


def test_a_place_bears_by_what_it_lacks_of_the_give():
    """Derived: bearing 1 over the far half and 1/2 over the near one, times the distance from the push, s from the far
    end: 0.375 + 0.0625, halved where p - p² / 2 = 0.21875, that is at p = 1/4."""
    x = np.linspace(0, 500, 2001)
    assert hinge(x, np.where(x < 250, 0.0, 0.5), give_um=1.0).pivot_part == pytest.approx(0.25, abs=1e-3)


def test_the_other_end_pushes_alike_on_a_bar_that_is_alike_at_both():
    bow = gap_of(0.3 * (X / 250) ** 2)
    assert hinge(X, bow, push_right=False).pivot_part == pytest.approx(hinge(X, bow).pivot_part, abs=1e-9)
    assert 0.15 < hinge(X, bow).pivot_part < 0.293
    with pytest.raises(ValueError, match="give_um is 0; it must be more than 0"):
        hinge(X, bow, give_um=0)
