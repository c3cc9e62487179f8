"""How much quicker the exact minimum zone is than a general-purpose solver, as ratios within one run.

Times are of the processor, not of the clock on the wall, so that a busy machine does not decide.
"""

import time

import numpy as np
import pytest
from scipy.optimize import linprog

from simulate.surface.flatness import flatness
from simulate.surface.straightness import straightness

pytestmark = pytest.mark.ratio


def median_s(act, times):
    taken = []
    for _ in range(times):
        start = time.process_time()
        act()
        taken.append(time.process_time() - start)
    return float(np.median(taken))


def narrowest_by_highs(columns, height):
    half = np.ones((len(height), 1))
    answer = linprog(
        [0] * columns.shape[1] + [1],
        A_ub=np.block([[-columns, -half], [columns, -half]]),
        b_ub=np.r_[-height, height],
        bounds=[(None, None)] * (columns.shape[1] + 1),
        method="highs",
    )
    assert answer.status == 0
    return 2 * answer.fun


def ten_thousand_profiles():
    rng = np.random.default_rng(1)
    x = np.linspace(-250, 250, 101)
    bow = rng.normal(0, 100, (10_000, 1)) * (x / 250) ** 2
    return x, bow + rng.normal(0, 3, (10_000, 101)).cumsum(axis=1)


def test_ten_thousand_profiles_are_two_hundred_times_quicker_than_highs_one_by_one():
    """HiGHS is timed on every hundredth profile, and its time taken a hundred times."""
    x, h = ten_thousand_profiles()
    columns = np.stack([np.ones(101), x / 250], axis=1)
    some = h[::100]
    widths = []
    slow = 100 * median_s(lambda: widths.extend(narrowest_by_highs(columns, row) for row in some), 1)
    assert len(widths) == 100
    quick = median_s(lambda: straightness(x, h), 5)
    np.testing.assert_allclose(straightness(x, h).value_um[::100], widths, rtol=1e-9)
    assert slow >= 200 * quick, f"only {slow / quick:.0f} times quicker"


def test_ten_thousand_profiles_cost_less_than_forty_looks_for_highest_and_lowest():
    x, h = ten_thousand_profiles()
    bare = median_s(lambda: h.max(axis=1) - h.min(axis=1), 15)
    quick = median_s(lambda: straightness(x, h), 7)
    assert quick <= 40 * bare, f"{quick / bare:.0f} times as long"


def test_a_large_grid_is_fifty_times_quicker_than_one_whole_programme_of_highs():
    t = np.linspace(-1, 1, 201)
    u, v = np.meshgrid(t, t)
    rng = np.random.default_rng(2)
    h = 20 * (u * v + 0.5 * u**2 + np.sin(5 * u) / 4) + rng.normal(0, 0.5, u.shape)
    columns = np.stack([np.ones(u.size), u.ravel(), v.ravel()], axis=1)
    widths = []
    slow = median_s(lambda: widths.append(narrowest_by_highs(columns, h.ravel())), 1)
    quick = median_s(lambda: flatness(200 * t, 200 * t, h), 7)
    np.testing.assert_allclose(flatness(200 * t, 200 * t, h).value_um, widths[0], rtol=1e-9)
    assert slow >= 50 * quick, f"only {slow / quick:.0f} times quicker"
