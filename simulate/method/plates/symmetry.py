"""The errors of a plate by family, and which of them a schedule leaves unseen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np

from simulate.bench.seating.placement import face_plate
from simulate.core import checks
from simulate.method.plates.plate_null_space import _asked, _plane, hidden_plate_errors


@dataclass(frozen=True)
class Family:
    """One family of plate errors under a schedule.

    Attributes
    ----------
    what : str
        Its looks, in one line.
    hidden : float
        How many hidden modes belong to it; whole where no fit is slid.
    simplest : float
        How much of its simplest shape can stand on the plates unseen: 1 all,
        0 nothing.
    """

    name: str
    what: str
    hidden: float
    simplest: float


SQUARE = {
    "dome": ("the same from all eight sides: dome, bowl, four corners alike", lambda x, y: -(x**2) - y**2),
    "saddle": ("up along x and down along y; a quarter turn changes its sign", lambda x, y: x**2 - y**2),
    "twist": ("two corners high, two low; a quarter turn changes its sign", lambda x, y: x * y),
    "pinwheel": (
        "arms that all lean one way round; no turn changes it, turning over changes its sign",
        lambda x, y: x * y * (x**2 - y**2),
    ),
    "lopsided": ("one side unlike the other; a half turn changes its sign", lambda x, y: x**3),
}
"""The families of a square plate: name to looks, and the simplest member over x and y from -1 to 1."""

_ASIDE = ("lopsided, left to right", "lopsided, near to far")
LYING = (*(name for name in SQUARE if name != "lopsided"), *_ASIDE)
"""The same, the lopsided ones as they lie along either side."""

_OBLONG = {
    "dome": ("symmetrical along x and along y: dome, bowl, saddle", lambda x, y: -(x**2) - y**2),
    "twist": ("two corners high, two low", lambda x, y: x * y),
    "lopsided": ("one side unlike the other; a half turn changes its sign", lambda x, y: x**3),
}


def hidden_families(points: int | tuple[int, int], fits: Sequence[tuple], plates: int = 3) -> tuple[Family, ...]:
    """Which families of error a schedule of fits leaves unseen.

    Parameters
    ----------
    points : int or (rows, columns)
    fits : sequence of (lower, upper, turned) or (lower, upper, turned, slide_x, slide_y)
    plates : int

    Returns
    -------
    tuple of Family
        Dome, saddle, twist, pinwheel and lopsided for a square plate; dome,
        twist and lopsided for another.

    Raises
    ------
    ValueError
        As `hidden_plate_errors`.

    Notes
    -----
    The families are the ways in which a shape can answer the turns and mirror
    images of the plate (derived: the symmetry classes of the square). Every
    shape is a sum of one member of each.

    Examples
    --------
    >>> plain = [(0, 1, 0), (0, 2, 0), (1, 2, 0)]
    >>> [f.name for f in hidden_families(5, plain) if f.simplest > 0.99]
    ['twist', 'pinwheel', 'lopsided']
    >>> [f.name for f in hidden_families(5, plain + [(0, 1, 90)]) if f.simplest > 0.99]
    ['pinwheel']
    """
    basis = hidden_plate_errors(points, fits, plates)
    shape, _, plates = _asked(points, fits, plates)
    y, x = (np.indices(shape) * 2.0 - (np.array(shape)[:, None, None] - 1)) / (max(shape) - 1)
    parts = family_parts(basis)
    found = []
    for name, (what, simplest) in (SQUARE if shape[0] == shape[1] else _OBLONG).items():
        member = beyond_plane(simplest(x, y))
        size = np.linalg.norm(member)
        share = 0.0
        if len(basis) and size > 1e-9:
            share = np.linalg.norm(np.tensordot(basis, member / size, axes=2), ord=2)
        count = float((parts[name] ** 2).sum())
        found.append(Family(name, what, round(count, 9), round(float(share), 9)))
    return tuple(found)


def family_parts(height_um: np.ndarray) -> dict[str, np.ndarray]:
    """Split plates into their families, which add up to the plates again.

    `height_um` (..., rows, columns). Returns (..., rows, columns).

    >>> parts = family_parts(np.array([[1.0, 0.0], [0.0, 0.0]]))
    >>> parts["twist"]
    array([[ 0.25, -0.25],
           [-0.25,  0.25]])
    """
    h = np.asarray(height_um, dtype=float)
    across, along = h[..., ::-1], h[..., ::-1, :]
    both = along[..., ::-1]
    even = (h + across + along + both) / 4
    odd = (h - across - along + both) / 4
    lopsided = (h - both) / 2
    if h.shape[-1] != h.shape[-2]:
        return {"dome": even, "twist": odd, "lopsided": lopsided}
    even_swapped, odd_swapped = np.swapaxes(even, -1, -2), np.swapaxes(odd, -1, -2)
    return {
        "dome": (even + even_swapped) / 2,
        "saddle": (even - even_swapped) / 2,
        "twist": (odd + odd_swapped) / 2,
        "pinwheel": (odd - odd_swapped) / 2,
        "lopsided": lopsided,
    }


def families_in(height_um: np.ndarray, least: float = 0.01) -> tuple[str, ...]:
    """Name the families that some plates belong to.

    `height_um` (plates, rows, columns). `least`: the part of the sum of squares from which a family is named.

    >>> families_in(np.array([[[1.0, -1.0], [-1.0, 1.0]]]))
    ('twist',)
    """
    squares = {name: float((part**2).sum()) for name, part in family_parts(height_um).items()}
    return tuple(name for name, square in squares.items() if square > least * sum(squares.values()))


def beyond_plane(height_um: np.ndarray) -> np.ndarray:
    """Heights beyond each plate's own least-squares plane, on an even grid.

    `height_um` (..., rows, columns). Returns (..., rows, columns).

    >>> np.abs(beyond_plane(np.array([[0.0, 1.0], [2.0, 3.0]]))).max() < 1e-12
    np.True_
    """
    h = np.asarray(height_um, dtype=float)
    plane = _known_plane(*h.shape[-2:])
    flat = h.reshape(h.shape[:-2] + (-1,))
    return (flat - (flat @ plane) @ plane.T).reshape(h.shape)


class Turned(StrEnum):
    """What a move makes of an error."""

    SAME = "same"
    SIGN = "sign changes"
    OTHER = "another shape"


def family_shape(family: str, shape: tuple[int, int]) -> np.ndarray:
    """Give the simplest member of a family, with its plane taken out; its greatest height is 1.

    `family`: one of `LYING`. `shape`: rows and columns. Returns (rows, columns).

    >>> twist = family_shape("twist", (41, 41))
    >>> bool(np.allclose(twist, twist.T)), bool(np.allclose(np.rot90(twist), -twist))
    (True, True)
    """
    checks.choice(family, "family", LYING)
    rows, columns = shape
    y, x = (np.indices(shape) * 2.0 - np.array([rows - 1, columns - 1])[:, None, None]) / (rows - 1)
    along = (y, x) if family == _ASIDE[1] else (x, y)
    height = beyond_plane(SQUARE["lopsided" if family in _ASIDE else family][1](*along))
    return height / np.abs(height).max()


def moved(height_um: np.ndarray, over: bool, turned: int = 0, slide: int = 0) -> np.ndarray:
    """Give a plate as it looks from above once it is turned over or not, turned round and slid; nan beyond it.

    `height_um` (rows, columns). Heights stay what they are: proud is proud.

    >>> moved(np.array([[1.0, 2.0], [3.0, 4.0]]), False, 90)
    array([[3., 1.],
           [4., 2.]])
    """
    return face_plate(height_um if over else height_um[:, ::-1], turned, (slide, 0))


def turned_into(before_um: np.ndarray, after_um: np.ndarray) -> Turned:
    """Say what a move did to a plate, where both lie.

    >>> turned_into(np.eye(2), -np.eye(2)).value, turned_into(np.eye(2), np.eye(2)).value
    ('sign changes', 'same')
    """
    there = np.isfinite(after_um)
    before, after = before_um[there], after_um[there]
    near = 1e-9 * float(np.abs(before).max(initial=1e-300))
    if np.allclose(after, before, atol=near):
        return Turned.SAME
    return Turned.SIGN if np.allclose(after, -before, atol=near) else Turned.OTHER


@lru_cache(8)  # every step of a run asks for the same one
def _known_plane(rows: int, columns: int) -> np.ndarray:
    return _plane((rows, columns))
