"""A plate on points, against a beam, a published coefficient, and itself turned round."""

import itertools

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriArgyris, LinearForm, MeshTri, condense, solve
from skfem.helpers import dd, ddot, eye, trace

from simulate.bench.bending.plate_sag import plate_sag
from simulate.bench.bending.plate_supports import best_three, three_points
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2, sag_on
from simulate.surface.flatness import flatness

X = np.linspace(-250, 250, 51)


def test_a_narrow_strip_is_a_beam():
    """Without sideways growth, supports across both ends: the closed form of the slender bar."""
    y = np.linspace(-15, 15, 5)
    four = [(-250, -15), (-250, 15), (250, -15), (250, 15)]
    found = plate_sag(X, y, 40, four, "steel", poisson=0)[2]
    beam = sag_on(X, 500, 40, (-250, 250))
    assert found[25] - found[0] == pytest.approx(beam[25], rel=5e-3)
    inner = [(-140, -15), (-140, 15), (140, -15), (140, 15)]
    np.testing.assert_allclose(
        plate_sag(X, y, 40, inner, "steel", poisson=0)[2], sag_on(X, 500, 40, (-140, 140)), atol=0.012
    )


def test_a_square_plate_on_its_corners():
    """0.0255 q a^4 / D in the middle for a Poisson's ratio of 0.3 (from memory: tables of thin plates)."""
    corners = [(-250, -250), (-250, 250), (250, -250), (250, 250)]
    found = plate_sag(X, X, 20, corners, "steel", poisson=0.3)
    rigid = 210e3 * 20**3 / (12 * (1 - 0.09))
    unit = 7850e-9 * GRAVITY_M_S2 * 20 * 500**4 / rigid * 1e3
    assert -found[25, 25] / unit == pytest.approx(0.0255, rel=0.015)
    np.testing.assert_allclose(found, found.T, atol=1e-7)
    np.testing.assert_allclose(found, found[::-1], atol=1e-7)


def unit_um(thick, side=500.0, poisson=0.3):
    """q a^4 / D of a steel plate."""
    return 7850e-9 * GRAVITY_M_S2 * thick * side**4 / (210e3 * thick**3 / (12 * (1 - poisson**2))) * 1e3


def test_a_square_plate_held_all_round_its_edge_agrees_with_the_series_of_sines():
    """0.00406 q a^4 / D in the middle (published: tables of thin plates, simply supported square), here by the double
    series of sines summed up (Navier; derived): 16 / pi^6 sum of +-1 / (m n (m^2 + n^2)^2) over odd m, n."""
    series, looked = 0.0, 0
    for m, n in itertools.product(range(1, 60, 2), repeat=2):
        series += 16 / np.pi**6 * (-1) ** ((m + n) // 2 - 1) / (m * n * (m * m + n * n) ** 2)
        looked += 1
    assert looked == 900 and series == pytest.approx(0.00406, abs=5e-6)
    edge = np.linspace(-250, 250, 25)
    points = [(v, s) for v in edge for s in (-250, 250)] + [(s, v) for v in edge[1:-1] for s in (-250, 250)]
    found = plate_sag(X, X, 50, points, "steel", poisson=0.3)
    assert -found[25, 25] / unit_um(50) == pytest.approx(series, rel=1e-5)


def by_finite_elements(points, poisson, cells):
    """Heights for a load and a rigidity of 1 at the corners of a mesh, by scikit-fem's Argyris element (C1, fifth
    order)."""
    x, y = (np.unique(np.r_[np.linspace(-250, 250, cells + 1), [p[k] for p in points]]) for k in (0, 1))
    mesh = MeshTri.init_tensor(x, y)
    basis = Basis(mesh, ElementTriArgyris())

    @BilinearForm
    def bending(u, v, _):
        return ddot((1 - poisson) * dd(u) + poisson * eye(trace(dd(u)), 2), dd(v))

    @LinearForm
    def weight(v, _):
        return -v

    held = [int(np.hypot(mesh.p[0] - p, mesh.p[1] - q).argmin()) for p, q in points]
    found = solve(*condense(bending.assemble(basis), weight.assemble(basis), D=basis.nodal_dofs[0][held]))
    return mesh.p, found[basis.nodal_dofs[0]]


@pytest.mark.parametrize(
    "points, close",
    [
        ([(-250, -250), (250, -250), (-250, 250), (250, 250)], 1e-5),
        ([(-250, -250), (250, -250), (0, 250)], 0.01),
        ([(-150, -100), (150, -100), (0, 150)], 0.015),
    ],
)
def test_points_anywhere_agree_with_a_general_finite_element_package(points, close):
    place, heights = by_finite_elements(points, 0.3, 5)
    heights = heights * unit_um(50) / 500**4
    x, y = np.unique(place[0]), np.unique(place[1])
    found = plate_sag(x, y, 50, points, "steel", poisson=0.3)
    ours = found[np.searchsorted(y, place[1]), np.searchsorted(x, place[0])]
    assert np.ptp(heights) > 0.5
    assert abs(ours - heights).max() < close * np.ptp(heights)


def out_of_flat(width, depth, points):
    x, y = np.linspace(-width / 2, width / 2, 31), np.linspace(-depth / 2, depth / 2, 31)
    return float(flatness(x, y, plate_sag(x, y, 50, points)).value_um)


@pytest.mark.parametrize("width, depth", [(500, 500), (600, 400)])
def test_the_best_three_points_are_the_best_of_brute_force(width, depth):
    best = best_three(width, depth)
    half, looked, least = np.array([width, depth]) / 2, 0, np.inf
    for apart, near, far in itertools.product(
        np.arange(0.4, 0.9, 0.1), np.arange(0.1, 0.8, 0.1), np.arange(0.4, 1.0, 0.1)
    ):
        for turned in (1, -1):
            least = min(least, out_of_flat(width, depth, half * three_points(apart, near, far)[:, ::turned]))
            looked += 1
    assert looked == 420
    assert out_of_flat(width, depth, best) < 1.02 * least
    assert out_of_flat(width, depth, best) < 0.2 * out_of_flat(width, depth, half * three_points(1, 1, 1))


def test_the_best_three_turn_with_the_plate_and_no_thin_strip_is_taken_for_a_plate():
    np.testing.assert_allclose(best_three(400, 600), best_three(600, 400)[:, ::-1])
    with pytest.raises(ValueError, match="width_mm by depth_mm is 1500 by 200"):
        best_three(1500, 200)


def test_three_points_hold_the_plate_and_turn_with_it():
    three = np.array([(-170, -100), (170, -100), (0, 150)])
    y = np.linspace(-200, 200, 41)
    found = plate_sag(X, y, 50, three)
    at = [found[np.argmin(abs(y - q)), np.argmin(abs(X - p))] for p, q in three]
    assert at == pytest.approx([0, 0, 0], abs=1e-6)
    assert np.ptp(found) > 0.1
    turned = plate_sag(X, y, 50, -three)
    np.testing.assert_allclose(turned, found[::-1, ::-1], atol=1e-7)


def test_points_further_in_hang_less_than_the_corners_and_an_edge():
    wide = plate_sag(X, X, 50, [(-250, -250), (250, -250), (0, 250)])
    near = plate_sag(X, X, 50, [(-150, -110), (150, -110), (0, 150)])
    assert np.ptp(near) < 0.4 * np.ptp(wide)


@pytest.mark.parametrize(
    "supports, words",
    [
        ([(0, 0), (100, 0)], "supports_mm is 2 by 2 figures; it must be three places or more, x and y of each."),
        (
            [(0, 0), (100, 0), (-100, 0)],
            "supports_mm is in one line; it must be three places that are not in one line, or the plate tips.",
        ),
        ([(10, 0), (100, 0), (100, 100)], "supports_mm is all on one side of the middle of the plate"),
        (
            [(-300, 0), (100, -50), (100, 100)],
            "supports_mm is (-300, 0); it must be on the plate, -250 to 250 by -250 to 250.",
        ),
    ],
)
def test_a_plate_that_cannot_lie_is_refused(supports, words):
    with pytest.raises(ValueError) as refusal:
        plate_sag(X, X, 50, supports)
    assert words in str(refusal.value)
