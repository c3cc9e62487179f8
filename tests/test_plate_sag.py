"""A plate on points, against a beam, a published coefficient, and itself turned round."""

import numpy as np
import pytest

from simulate.bench.bend import GRAVITY_M_S2, sag_on
from simulate.bench.plate_sag import plate_sag

X = np.linspace(-250, 250, 51)


def test_a_narrow_strip_is_a_beam():
    """Without sideways growth, supports across both ends: the closed form of the slender bar."""
    y = np.linspace(-15, 15, 5)
    four = [(-250, -15), (-250, 15), (250, -15), (250, 15)]
    found = plate_sag(X, y, 40, four, "steel", poisson=0)[2]
    beam = sag_on(X, 500, 40, (-250, 250))
    assert found[25] - found[0] == pytest.approx(beam[25], rel=5e-3)
    inner = [(-140, -15), (-140, 15), (140, -15), (140, 15)]
    np.testing.assert_allclose(plate_sag(X, y, 40, inner, "steel", poisson=0)[2], sag_on(X, 500, 40, (-140, 140)), atol=0.012)


def test_a_square_plate_on_its_corners():
    """0.0255 q a^4 / D in the middle for a Poisson's ratio of 0.3 (from memory: tables of thin plates)."""
    corners = [(-250, -250), (-250, 250), (250, -250), (250, 250)]
    found = plate_sag(X, X, 20, corners, "steel", poisson=0.3)
    rigid = 210e3 * 20**3 / (12 * (1 - 0.09))
    unit = 7850e-9 * GRAVITY_M_S2 * 20 * 500**4 / rigid * 1e3
    assert -found[25, 25] / unit == pytest.approx(0.0255, rel=0.015)
    np.testing.assert_allclose(found, found.T, atol=1e-7)
    np.testing.assert_allclose(found, found[::-1], atol=1e-7)


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


@pytest.mark.parametrize("supports, words", [
    ([(0, 0), (100, 0)], "supports_mm must be three places or more, x and y of each; got shape (2, 2)."),
    ([(0, 0), (100, 0), (-100, 0)], "supports_mm stand in one line: the plate tips."),
    ([(10, 0), (100, 0), (100, 100)], "supports_mm do not stand round the middle of the plate: it tips."),
    ([(-300, 0), (100, -50), (100, 100)], "supports_mm holds (-300, 0); allowed is the plate itself, -250 to 250 by -250 to 250."),
])
def test_a_plate_that_cannot_lie_is_refused(supports, words):
    with pytest.raises(ValueError) as refusal:
        plate_sag(X, X, 50, supports)
    assert words in str(refusal.value)
