"""Flatness of points that lie badly: in line, in one plane, twice, far off, steep or tiny; against exact fractions,
HiGHS and Qhull."""

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from simulate.surface.flatness import flatness


def by_fractions(x, y, z):
    """The least zone in whole fractions: the widest that any two, three or four points demand (derived: linear
    programming's dual).

    Weights that add up to nothing, as do their moments along x and along y, feel no plane; the zone must be at least as
    wide as twice the heights so weighed, over the sum of the weights' sizes.
    """
    points = [[Fraction(1), Fraction(a), Fraction(b)] for a, b in zip(x, y)]
    heights, widest = [Fraction(v) for v in z], Fraction(0)
    for count in (2, 3, 4):
        for chosen in combinations(range(len(points)), count):
            weights = free_weights([points[i] for i in chosen])
            if weights:
                demand = 2 * abs(sum(w * heights[i] for w, i in zip(weights, chosen))) / sum(map(abs, weights))
                widest = max(widest, demand)
    return float(widest)


def free_weights(rows):
    """One set of weights under which these rows cancel, if there is just one up to size (Gaussian elimination)."""
    columns, solved = [list(c) for c in zip(*rows)], []
    for place in range(len(rows)):
        row = next((r for r in columns[len(solved) :] if r[place] != 0), None)
        if row is None:
            continue
        columns.remove(row)
        row = [v / row[place] for v in row]
        columns = [[a - r[place] * b for a, b in zip(r, row)] for r in columns]
        columns.insert(len(solved), row)
        solved.append(place)
    free = [k for k in range(len(rows)) if k not in solved]
    if len(free) != 1:
        return None
    weights = [Fraction(0)] * len(rows)
    weights[free[0]] = Fraction(1)
    for place, row in zip(solved, columns):
        weights[place] = -row[free[0]]
    return weights


def by_highs(x, y, z):
    """Least t with -t <= z - plane <= t, by scipy.optimize.linprog (HiGHS), in units of the heights' own spread."""
    unit = np.ptp(z) or 1.0
    plane = np.stack([np.ones(x.size), (x - x.mean()) / np.ptp(x), (y - y.mean()) / np.ptp(y)], axis=1)
    level, one = (z - z.mean()) / unit, np.ones((x.size, 1))
    found = linprog(
        [0, 0, 0, 1],
        A_ub=np.vstack([np.hstack([plane, -one]), np.hstack([-plane, -one])]),
        b_ub=np.concatenate([level, -level]),
        bounds=[(None, None)] * 4,
        method="highs",
    )
    return 2 * found.fun * unit


def by_qhull(x, y, z):
    """Height over the origin of the hull of all differences between points, by scipy.spatial.ConvexHull (Qhull)."""
    unit = np.ptp(z) or 1.0
    points = np.stack([x / np.ptp(x), y / np.ptp(y), z / unit], axis=1)
    apart = (points[:, None] - points).reshape(-1, 3)
    # One point far below gives the hull a body where all differences lie in one plane; its lid is not touched.
    hull = ConvexHull(np.vstack([apart, [[0, 0, -3.0]]]))
    lid = hull.equations[hull.equations[:, 2] > 1e-9]
    return float((-lid[:, 3] / lid[:, 2]).min()) * unit


whole = st.lists(st.tuples(*[st.integers(-3, 3)] * 2, st.integers(-2, 2)), min_size=4, max_size=8)


def carries_a_plane(x, y):
    from_first = np.stack([x - x[0], y - y[0]])
    return (
        from_first.any(axis=1).all()
        and np.linalg.matrix_rank(from_first / np.abs(from_first).max(axis=1, keepdims=True)) == 2
    )


# What is done to a lattice of small whole numbers; powers of two, so that nothing is rounded on the way.
BADLY = {
    "as it is": lambda x, y, z: (x, y, z),
    "heights of a millionth": lambda x, y, z: (x, y, z * 2.0**-40),
    "heights of a million": lambda x, y, z: (x, y, z * 2.0**40),
    "far above": lambda x, y, z: (x, y, z + 2.0**30),
    "steep": lambda x, y, z: (x, y, z + 2.0**15 * x - 2.0**14 * y),
    "far away": lambda x, y, z: (x + 2.0**20, y - 2.0**21, z),
    "on a pin's head": lambda x, y, z: (x * 2.0**-30, y * 2.0**-30, z),
    "over a country": lambda x, y, z: (x * 2.0**30, y * 2.0**30, z),
    "a thin strip": lambda x, y, z: (x, y * 2.0**-20, z),
    "all in one plane": lambda x, y, z: (x, y, 3 * x - 2 * y + 5),
    "all but one in line": lambda x, y, z: (x, 2 * x + (np.arange(x.size) == 0), z),
    "each point twice": lambda x, y, z: (np.tile(x, 2)[:9], np.tile(y, 2)[:9], np.concatenate([z, z[::-1]])[:9]),
    "each point copied": lambda x, y, z: tuple(np.tile(a, 2)[:9] for a in (x, y, z)),
    "three and a copy": lambda x, y, z: tuple(np.append(a[:3], a[0]) for a in (x, y, z)),
}


@pytest.mark.parametrize("how", BADLY)
@settings(deadline=None, max_examples=40)
@given(whole)
def test_points_that_lie_badly_have_the_zone_that_fractions_give(how, points):
    x, y, z = BADLY[how](*np.array(points, dtype=float).T)
    assume(carries_a_plane(x, y))
    found = flatness(x, y, z)
    # The heights that come in decide how sharp anything can be; 1e-9 of the zone is what is promised.
    unit = {"heights of a millionth": 2.0**-40, "heights of a million": 2.0**40}.get(how, 1.0)
    assert found.value_um == pytest.approx(by_fractions(x, y, z), rel=1e-9, abs=1e-9 * unit)
    assert np.ptp(found.residual_um) == found.value_um


@settings(deadline=None, max_examples=60)
@given(whole)
def test_highs_and_qhull_agree_on_lattices_with_copies_and_lines(points):
    x, y, z = np.array(points, dtype=float).T
    assume(carries_a_plane(x, y))
    value = flatness(x, y, z).value_um
    assert value == pytest.approx(by_highs(x, y, z), abs=1e-6)
    assert value == pytest.approx(by_qhull(x, y, z), abs=1e-9)


def test_three_points_and_their_copies_are_flat_whatever_their_heights():
    x, y, z = np.array([0.0, 7, 3]), np.array([0.0, 1, 5]), np.array([900.0, -4, 0.3])
    assert flatness(x, y, z).value_um == pytest.approx(0, abs=1e-9)
    for copies in ([0], [0, 0, 1], [2, 1, 0, 2, 1]):
        at = np.r_[np.arange(3), copies]
        assert flatness(x[at], y[at], z[at]).value_um == pytest.approx(0, abs=1e-9)


def test_a_copy_at_another_height_is_the_whole_zone():
    # Derived: two points in one place differ by what no plane can take up; the other two are free.
    assert flatness([2, 0, 0, 3], [1, 1, 1, 2], [-1, 2, 7, 1]).value_um == pytest.approx(5, abs=1e-12)


@pytest.mark.parametrize("tilt", [0.0, 1.0, 1000.0])
def test_a_large_plate_far_off_and_tilted_by_a_millimetre_a_millimetre_keeps_its_bump(tilt):
    x = np.linspace(0, 1000, 21)
    height = np.zeros((21, 21))
    height[10, 10] = 0.5
    across, along = np.meshgrid(x, x)
    assert flatness(x + 1e6, x, height + 1e6 + tilt * (across - 2 * along)).value_um == pytest.approx(
        0.5, abs=2e-9 * max(tilt, 0.5)
    )


def test_points_in_one_line_are_refused_however_many():
    for count in (3, 4, 50):
        x = np.linspace(-1, 1, count)
        with pytest.raises(
            ValueError, match=r"the points are all on one line; they must be at least 3 that do not lie on one line\."
        ):
            flatness(x, 3 * x + 1, np.arange(count))
