"""Work put right round by round: the simulation against its closed form."""

import numpy as np
import pytest

from simulate.core.refusal import Refusal
from simulate.method.planning.corrections import Habit, corrections, settled_um

MANY = 20_000
HABITS = [
    Habit(share=0.4),
    Habit(share=0.6, hands_um=2.0),
    Habit(share=1.0, hands_um=0.5, uneven=0.1),
    Habit(share=1.4, hands_um=1.0, uneven=0.2),
]


def expected_um(read_um, sight_sd_um, habit, rounds):
    """Mean and standard deviation of what is read of one error, in closed form.

    Derived. The mean is ``(1 - share)**k`` of what was read. The mean square m of the error after the first round is
    ``kept read**2 + sight**2 + hands**2``, for what was read stands fixed and the error is off by its reading; after
    that ``m' = kept m + share**2 sight**2 (1 + uneven**2) + hands**2``, and sight is added once more for what is read.
    """
    mean, square = read_um * (1 - habit.share) ** np.arange(rounds + 1), [read_um**2]
    kept = (1 - habit.share) ** 2 + (habit.share * habit.uneven) ** 2
    error = kept * read_um**2 + sight_sd_um**2 + habit.hands_um**2
    for _ in range(rounds):
        square.append(error + sight_sd_um**2)
        error = kept * error + (habit.share * sight_sd_um) ** 2 * (1 + habit.uneven**2) + habit.hands_um**2
    return mean, np.sqrt(np.maximum(np.array(square) - mean**2, 0.0))


def sight(sd, errors=1, draws=MANY, seed=3):
    return sd * np.random.default_rng(seed).standard_normal((draws, errors))


@pytest.mark.parametrize("habit", HABITS)
def test_many_simulated_workshops_have_the_mean_and_the_spread_of_the_closed_form(habit):
    read = corrections(np.array([30.0]), sight(1.5), habit, 6, MANY, seed=7)[..., 0]
    mean, sd = expected_um(30.0, 1.5, habit, 6)
    # 20 000 workshops: a mean is good to sd / 141, a deviation to about 1 %; four of these
    np.testing.assert_array_less(np.abs(read.mean(axis=0) - mean), 4 * sd / np.sqrt(MANY) + 0.05)
    np.testing.assert_allclose(read.std(axis=0), sd, rtol=0.04)


@pytest.mark.parametrize("habit", HABITS)
def test_the_spread_runs_into_the_limit_of_an_autoregression(habit):
    _, sd = expected_um(30.0, 1.5, habit, 400)
    assert np.sqrt(sd[-1] ** 2 - 1.5**2) == pytest.approx(settled_um(1.5, habit), rel=1e-6)


def test_the_limit_for_even_rounds_by_hand():
    # AR(1): (share^2 sight^2 + hands^2) / (1 - (1 - share)^2), here (0.25 * 9 + 4) / 0.75
    assert settled_um(3.0, Habit(share=0.5, hands_um=2.0)) == pytest.approx(np.sqrt(6.25 / 0.75))


def test_with_perfect_sight_and_hands_a_round_leaves_what_is_not_taken():
    read = corrections(np.array([16.0, -8.0]), np.zeros((1, 2)), Habit(share=0.75), 2, workshops=3)
    np.testing.assert_allclose(read, np.broadcast_to([[16, -8], [4, -2], [1, -0.5]], (3, 3, 2)))


def test_a_round_that_takes_all_of_what_is_read_leaves_the_error_of_one_reading_and_shows_two():
    _, sd = expected_um(50.0, 3.0, Habit(share=1.0), 1)
    assert sd[1] == pytest.approx(3.0 * np.sqrt(2))


@pytest.mark.parametrize("given", [{"share": 0.0}, {"share": 2.0}, {"share": 1.0, "uneven": 1.0}, {"share": np.nan}])
def test_habits_under_which_errors_do_not_shrink_are_refused(given):
    with pytest.raises(Refusal):
        Habit(**given)
