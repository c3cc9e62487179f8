"""The order in which the faces of a bar are made, and what of the square is left in each."""

import re

import numpy as np
import pytest

from simulate.method.squares.faces import FACES, ORDERS, PAIRS, Step, made_faces, square_from_last_corner, square_up

QUIET = dict(look_urad=0, micrometer_urad=0, stand_urad=0)


@pytest.mark.parametrize("order", ORDERS)
def test_the_four_corners_add_up_to_a_full_turn(order):
    # Euclid, Elements, I.32 with its corollary: the angles of a four-sided figure make four right angles
    found = square_up(ORDERS[order])
    assert found.of_square[:4].sum() == pytest.approx(0)


def test_two_edges_squared_from_one_face_are_out_of_parallel_by_double():
    # derived: reversal; the square comes once from each side
    found = square_up(ORDERS["all squared from A"], square_urad=30, **QUIET)
    assert abs(found.of_square[5]) == 2 and found.sd_urad[5] == pytest.approx(60) and found.worst == "B-D"


def test_parallel_pairs_keep_the_square_to_the_corners_and_once_only():
    found = square_up(ORDERS["parallel pairs"], square_urad=30, **QUIET)
    assert np.abs(found.of_square).tolist() == [1, 1, 1, 1, 0, 0]


def test_three_corners_leave_the_fourth_three_times_out_and_the_square_shows_four():
    found = square_up(ORDERS["round the corners"], **QUIET)
    assert found.of_square[:4].tolist() == [1, 1, 1, -3]
    turned = made_faces(ORDERS["round the corners"], 25.0)
    last = turned[3] - turned[0]
    assert square_from_last_corner(25 - last) == pytest.approx(25)


@pytest.mark.parametrize("order", ORDERS)
def test_spreads_are_those_of_bars_drawn_by_chance(order):
    rng = np.random.default_rng(1)
    n = 100_000
    square, stand = rng.normal(0, 30, n), dict(zip(FACES, rng.normal(0, 5, (4, n))))
    turned = {"A": np.zeros(n)}
    for step in ORDERS[order]:
        base = turned[step.against] + stand[step.against]
        if step.by == "micrometer":
            turned[step.face] = base + rng.normal(0, 15, n)
        else:
            wide = square + rng.normal(0, 10, n)
            next_round = (FACES.index(step.face) - FACES.index(step.against)) % 4 == 1
            turned[step.face] = base - wide if next_round else base + wide
    found = square_up(ORDERS[order], square_urad=30, look_urad=10, micrometer_urad=15, stand_urad=5)
    looked = 0
    for sd, (a, b) in zip(found.sd_urad, PAIRS):
        assert (turned[a] - turned[b]).std() == pytest.approx(sd, rel=0.02)
        looked += 1
    assert looked == 6
    drawn = np.cov(np.array([turned[f] for f in FACES]))
    np.testing.assert_allclose(found.covariance, drawn, atol=0.03 * drawn.max())


@pytest.mark.parametrize(
    ("steps", "sentence"),
    [
        (
            [Step("B", "A", "square")],
            "steps holds nothing that makes face C; it must hold a step for each of B, C and D.",
        ),
        ([Step("B", "C", "square")], "steps[0] is face B, which is made against C, which is not there yet"),
        (
            [Step("C", "A", "square")],
            (
                "steps[0] is by square from A to C; it must be by square for neighbours and by micrometer for "
                "opposite faces."
            ),
        ),
        (
            [Step("B", "A", "square"), Step("B", "A", "square")],
            (
                "steps[1] is face B, which is made already; it must be a face that is not made yet, against a "
                "finished one."
            ),
        ),
        ([Step("E", "A", "square")], "steps[0] is 'E'; it must be 'A', 'B', 'C' or 'D'."),
        ([("B", "A", "square")], "steps[0] is a tuple; it must be a Step."),
    ],
)
def test_an_order_that_cannot_be_worked_is_refused(steps, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        square_up(steps)
