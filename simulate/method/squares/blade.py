"""The blade of a square: an angle, a bend, the gap between two of them on a flat, and where light shows."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks


def blade_faces(z_mm: ArrayLike, angle_urad: ArrayLike, bow_um: ArrayLike = 0.0) -> np.ndarray:
    """Make blades from an angle and a bow.

    `z_mm` (points,). `angle_urad`: positive leans away from the other blade. `bow_um`: how far the middle is proud of
    the line from foot to top. Returns (..., points): positive is proud, towards the other blade.

    >>> blade_faces([0, 50, 100], [100.0, 0.0], [0.0, 8.0])
    array([[  0.,  -5., -10.],
           [  0.,   8.,   0.]])
    """
    z = checks.positions(z_mm, "z_mm")
    t = (z - z[0]) / (z[-1] - z[0])
    angle, bow = checks.numbers(angle_urad, "angle_urad"), checks.numbers(bow_um, "bow_um")
    return -angle[..., None] * (z - z[0]) / 1000 + 4 * bow[..., None] * t * (1 - t)


def where_light(z_mm: ArrayLike, gap_um: ArrayLike, threshold_um: float = 2.5) -> str:
    """Say where light shows between two blades.

    `z_mm` (points,), `gap_um` (points,).

    >>> where_light([0, 50, 100], [0, 10, 20])
    'light in the middle and at the top'
    """
    z = checks.positions(z_mm, "z_mm")
    seen = checks.profiles(gap_um, z.size, "gap_um") > checks.number(threshold_um, "threshold_um", 0)
    third = (z[-1] - z[0]) / 3
    places = (
        ("at the bottom", z < z[0] + third),
        ("in the middle", abs(z - z.mean()) <= third / 2),
        ("at the top", z > z[-1] - third),
    )
    parts = [name for name, where in places if seen[where].any() and seen[where].mean() > 0.5]
    if not seen.any():
        return "dark from bottom to top"
    if not parts:
        return "a line of light in places"
    if len(parts) == 3:
        third_of = int(min(np.argmax(gap_um) * 3 // z.size, 2))
        return "light nearly all along, widest " + places[third_of][0]
    return "light " + " and ".join(parts)


def lean_urad(z_mm: ArrayLike, face_um: ArrayLike) -> np.ndarray:
    """Give the angle of the least-squares line of a blade.

    `z_mm` (points,), `face_um` (..., points). Returns (...): positive leans away from the other blade.

    >>> lean_urad([0, 50, 100], [0.0, -5.0, -10.0]).round(6)
    np.float64(100.0)
    """
    z = checks.positions(z_mm, "z_mm")
    arm = z - z.mean()
    return -1000 * (checks.profiles(face_um, z.size, "face_um") @ arm) / (arm @ arm)


def standing_gap(z: np.ndarray, both: np.ndarray, tilt: np.ndarray) -> np.ndarray:
    """Give the gap of two blades pushed together, unchecked: the inner loop of every pass.

    `z` (points,). `both` (..., points): the two faces added up. `tilt` (...). Returns (..., points).

    >>> standing_gap(np.array([0.0, 100.0]), np.array([0.0, -30.0]), np.zeros(()))
    array([ 0., 30.])
    """
    free = tilt[..., None] * (z - z[0]) / 1000 - both
    return free - free.min(axis=-1, keepdims=True)
