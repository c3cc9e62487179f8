"""What is told of a space hangs on the space alone: not on a basis, on a library of linear algebra, or on rounding."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from simulate.core import spaces
from simulate.core.spaces import canonical_basis, least_first, level_groups, smooth_basis, symmetric_root
from simulate.method.bars.bar_null_space import hidden_bar_errors
from simulate.method.plates.edge_survey import read_edge, survey_edge
from simulate.method.plates.plate_null_space import hidden_plate_errors, noise_gain
from simulate.readings.adjustment.least_squares import adjust
from simulate.show.bars.hidden_bars import FITS, HiddenPanel, smoothest_first
from simulate.show.plates.hidden_plates import smoothest_plates


def rotation(size, chance):
    """An orthogonal matrix drawn evenly (QR of a normal one)."""
    turned, upper = np.linalg.qr(chance.normal(size=(size, size)))
    return turned * np.sign(upper.diagonal())


@st.composite
def bases(draw):
    """Spaces of any kind: drawn at random, of few whole numbers, or of pairs and triples of places."""
    places = draw(st.integers(1, 24))
    rows = draw(st.integers(1, places))
    chance = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    kind = draw(st.sampled_from(["normal", "whole", "sparse"]))
    table = (
        chance.normal(size=(rows, places)) if kind == "normal" else chance.integers(-2, 3, (rows, places)).astype(float)
    )
    if kind == "sparse":
        table *= chance.random((rows, places)) < 0.3
    _, size, turned = np.linalg.svd(table, full_matrices=False)
    assume(size[0] > 0 and not ((size > 1e-12) & (size < 1e-2)).any())  # a space whose dimension is in no doubt
    return turned[size > 1e-2], chance


@given(bases())
def test_any_rotation_and_any_mixture_of_the_input_gives_the_same_orthonormal_basis(drawn):
    basis, chance = drawn
    found = canonical_basis(basis)
    assert found @ found.T == pytest.approx(np.eye(len(basis)), abs=1e-9)
    assert found.T @ found == pytest.approx(basis.T @ basis, abs=1e-9)
    assert canonical_basis(rotation(len(basis), chance) @ basis) == pytest.approx(found, abs=1e-9)
    mixed = np.vstack(
        [basis[::-1] * chance.uniform(0.5, 2, (len(basis), 1)), chance.normal(size=(3, len(basis))) @ basis]
    )
    assert canonical_basis(mixed) == pytest.approx(found, abs=1e-9)


@given(bases())
def test_each_row_has_a_place_of_its_own_where_it_is_positive_and_the_later_rows_are_nothing(drawn):
    found = canonical_basis(drawn[0])
    for k, row in enumerate(found):
        mine = (row > 1e-6) & (np.abs(found[k + 1 :]).max(axis=0, initial=0) < 1e-9)
        assert mine.any()


@given(st.integers(1, 3), st.integers(3, 9), st.integers(1, 8), st.integers(0, 2**32 - 1))
def test_a_smooth_basis_of_bars_and_of_plates_hangs_on_the_space_alone(bodies, points, count, seed):
    chance = np.random.default_rng(seed)
    for grid in ((points,), (points, points + 2)):
        size = bodies * int(np.prod(grid))
        basis = np.linalg.qr(chance.normal(size=(size, min(count, size))))[0].T
        found = smooth_basis(basis.reshape(-1, bodies, *grid))
        other = smooth_basis((rotation(len(basis), chance) @ basis).reshape(-1, bodies, *grid))
        assert other == pytest.approx(found, abs=1e-9)
        flat = found.reshape(len(basis), -1)
        assert flat.T @ flat == pytest.approx(basis.T @ basis, abs=1e-9)


@given(st.lists(st.sampled_from(FITS), max_size=4, unique=True), st.integers(0, 2**32 - 1))
def test_the_smoothest_hidden_bars_come_in_one_order_from_whatever_basis_the_library_gives(fits, seed):
    basis = hidden_bar_errors(13, fits)
    chance = np.random.default_rng(seed)
    other = np.tensordot(rotation(len(basis), chance), basis, axes=1) if len(basis) else basis
    assert smoothest_first(other) == pytest.approx(smoothest_first(basis), abs=1e-6)


@pytest.mark.parametrize(
    "fits",
    [
        [(0, 1, 0), (0, 2, 0), (1, 2, 0)],
        [(0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 180)],
        [(0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 90)],
        [(0, 1, 0)],
    ],
)
def test_the_smoothest_hidden_plates_come_in_one_order_from_whatever_basis_the_library_gives(fits):
    basis = hidden_plate_errors(6, fits)
    other = np.tensordot(rotation(len(basis), np.random.default_rng(1)), basis, axes=1)
    assert smoothest_plates(other) == pytest.approx(smoothest_plates(basis), abs=1e-6)
    assert smooth_basis(other) == pytest.approx(basis, abs=1e-9)


def noisy(function, chance):
    """A decomposition that gives other vectors for equal values, and other signs, as another library may."""

    def decompose(matrix, *args, **kwargs):
        values, vectors = function(matrix, *args, **kwargs)
        for group in level_groups(values):
            vectors[:, group] = vectors[:, group] @ rotation(group.stop - group.start, chance)
        return values, vectors

    return decompose


def told():
    """Everything that is told of a space, as one row of numbers."""
    x = np.linspace(-100, 100, 5)
    edge = survey_edge(x, x, read_edge(x, x, np.outer(x, x) / 100, ("along", "across")))
    pair = np.array([[1.0, 1, 0, 0, 1], [0, 1, 1, 0, 1], [1, 0, 0, -1, 1]])
    gain = noise_gain(5, [(0, 1, 0), (0, 2, 0), (1, 2, 0)])
    parts = [
        hidden_bar_errors(9, [(0, 1, False)]),
        hidden_bar_errors(9, [(0, 1, True), (0, 2, True), (1, 2, True)]),
        smoothest_first(hidden_bar_errors(9, [(0, 1, False)])),
        hidden_plate_errors(5, [(0, 1, 0), (0, 2, 0), (1, 2, 0)]),
        edge.hidden,
        adjust(pair, np.zeros(3), np.eye(5)).hidden,
        gain.weakest,
        symmetric_root(np.ones((4, 4)) + np.eye(4)),
    ]
    return np.concatenate([np.ravel(part) for part in parts])


def test_another_library_that_shares_equal_eigenvalues_otherwise_tells_the_same(monkeypatch):
    first, sentences = told(), [HiddenPanel(which=k).sentence for k in (1, 2, 3)]
    for seed in range(3):
        with monkeypatch.context() as other:
            other.setattr(np.linalg, "eigh", noisy(np.linalg.eigh, np.random.default_rng(seed)))
            assert told() == pytest.approx(first, abs=1e-7)
            assert [HiddenPanel(which=k).sentence for k in (1, 2, 3)] == sentences


def test_the_first_bars_that_fool_are_those_that_were_tried():
    assert "bar 1, bar 2 out of straight" in HiddenPanel(which=1).sentence
    assert ": bar 3 out of straight" in HiddenPanel(which=2).sentence


def test_what_is_no_table_of_numbers_is_refused():
    with pytest.raises(ValueError, match=r"^spanning is a row of 3; it must be rows of places\.$"):
        canonical_basis(np.ones(3))
    with pytest.raises(ValueError, match="spanning"):
        canonical_basis(np.array([[np.nan, 1.0]]))


def test_nothing_spans_nothing():
    assert canonical_basis(np.zeros((0, 4))).shape == (0, 4)
    assert canonical_basis(np.zeros((2, 4))).shape == (0, 4)
    assert least_first(np.zeros((0, 3, 5)), np.zeros((0, 3, 3))).shape == (0, 3, 5)
    assert level_groups(np.zeros(0)) == []


def test_a_large_space_is_turned_without_losing_digits():
    basis = np.linalg.qr(np.random.default_rng(2).normal(size=(600, 250)))[0].T
    found = canonical_basis(basis)
    assert found @ found.T == pytest.approx(np.eye(250), abs=1e-11)
    assert canonical_basis(rotation(250, np.random.default_rng(3)) @ basis) == pytest.approx(found, abs=1e-9)
    assert spaces.SHARE < 0.5
