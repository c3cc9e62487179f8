"""What fits leave unseen: counted by symmetry, and shown to make no gap."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from simulate.bench.seating.bar_seat import face
from simulate.method.bars.bar_null_space import hidden_bar_errors

PLAIN = [(0, 1, False), (0, 2, False), (1, 2, False)]
FIT = st.tuples(st.permutations(range(3)).map(lambda p: p[:2]), st.booleans()).map(lambda f: (*f[0], f[1]))


def beyond_line(x, h):
    return h - np.polynomial.Polynomial.fit(x, h, 1)(x)


@pytest.mark.parametrize("points", [3, 8, 9])
def test_two_bars_hide_every_shape_one_has_turned_over(points):
    # points - 2 shapes lie beyond a line; each can stand on one bar and upside down on the other.
    hidden = hidden_bar_errors(points, [(0, 1, False)], bars=2)
    assert len(hidden) == points - 2
    assert hidden[:, 0] == pytest.approx(-hidden[:, 1], abs=1e-12)


@pytest.mark.parametrize("points, symmetrical", [(9, 4), (8, 3)])
def test_turning_one_of_two_shows_the_lopsided_shapes_only(points, symmetrical):
    # Even shapes of n points have ceil(n/2) freedoms, less the constant.
    hidden = hidden_bar_errors(points, [(0, 1, False), (0, 1, True)], bars=2)
    assert len(hidden) == symmetrical
    assert hidden == pytest.approx(hidden[..., ::-1], abs=1e-12)


def test_three_plain_fits_hide_nothing():
    assert hidden_bar_errors(31, PLAIN).shape == (0, 3, 31)


@pytest.mark.parametrize("points, lopsided", [(9, 3), (8, 3)])
def test_three_turned_fits_hide_one_s_shape_on_all_three(points, lopsided):
    # a + Rb = 0 for all pairs: a = b = c with Ra = -a. Odd shapes: floor(n/2), less the tilt.
    hidden = hidden_bar_errors(points, [(0, 1, True), (0, 2, True), (1, 2, True)])
    assert len(hidden) == lopsided
    assert hidden[:, 0] == pytest.approx(hidden[:, 2], abs=1e-12)
    assert hidden == pytest.approx(-hidden[..., ::-1], abs=1e-12)


def test_no_fit_at_all_hides_everything():
    assert len(hidden_bar_errors(7, [], bars=3)) == 3 * 5


@settings(deadline=None, max_examples=50)
@given(st.integers(3, 24), st.lists(FIT, max_size=6))
def test_no_hidden_error_makes_a_gap_and_none_is_missed(points, fits):
    hidden = hidden_bar_errors(points, fits)
    x = np.linspace(-1, 1, points)
    flat = hidden.reshape(len(hidden), 3 * points)
    assert flat @ flat.T == pytest.approx(np.eye(len(hidden)), abs=1e-9)
    for lower, upper, turned in fits:
        for h in hidden:
            assert beyond_line(x, h[lower] + face(h[upper], turned)) == pytest.approx(0, abs=1e-8)
    # None is missed: the gaps of all that is left span the rest of the space (rank by numpy.linalg).
    gaps = []
    for e in np.eye(3 * points).reshape(-1, 3, points):
        lines = [beyond_line(x, e[low] + face(e[up], t)) for low, up, t in fits]
        own = e.sum(axis=1), e @ x
        gaps.append(np.concatenate([*lines, *own]) if lines else np.concatenate(own))
    assert len(hidden) == 3 * points - np.linalg.matrix_rank(np.array(gaps), tol=1e-8)


@pytest.mark.parametrize(
    "fits, words",
    [
        ([(0, 0, False)], r"fits\[0\] is bar 0 on itself; it must be two different bars\."),
        ([(0, 3, False)], r"fits\[0\] upper is 3; it must be 0 to 2"),
        ([(0, 1)], r"must be \(lower, upper, turned\)"),
        ([(0, 1, 90)], "turned is 90; it must be False or True"),
        (5, r"fits is 5; it must be a list of \(lower, upper, turned\)\."),
    ],
)
def test_bad_fits_are_refused_in_words(fits, words):
    with pytest.raises(ValueError, match=words):
        hidden_bar_errors(9, fits)
