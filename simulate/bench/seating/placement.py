"""How one plate lies on another: turned over, turned round, slid sideways.

The upper plate is turned over about its y axis, so that x meets -x. Then it
stands at 0, 90, 180 or 270 degrees, counterclockwise as seen from above. Then
it is slid by whole grid steps along the bench's x and y.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal, shape_words
from simulate.core.values import short

TURNS = (0, 90, 180, 270)
_FAR = 10**6


@remembered
def overlap(rows: int, columns: int, turned: int = 0, slide: tuple[int, int] = (0, 0)) -> tuple[np.ndarray, np.ndarray]:
    """Which points of two equal plates meet.

    `rows`, `columns`: points of each plate along y and along x, the same step both ways. `turned`: 0, 90, 180 or 270
    degrees. `slide`: whole grid steps of the upper plate along x and along y. Returns `lower`, `upper` (met,) of int:
    places in the flattened plates; ``lower[i]`` meets ``upper[i]``.

    >>> low, up = overlap(2, 2)
    >>> low.tolist(), up.tolist()
    ([0, 1, 2, 3], [1, 0, 3, 2])
    """
    checks.choice(turned, "turned", TURNS)
    if turned in (90, 270) and (rows - columns) % 2:
        raise Refusal(
            "place",
            where="turned",
            found=f"{turned} on a plate of {rows} by {columns} points",
            must_be="0 or 180, because a quarter turn needs two odd numbers of points or two even ones",
        )
    place = np.arange(rows * columns).reshape(rows, columns)
    below, above, _ = meeting(place, place, turned, slide)
    if min(below.shape) < 2:
        raise Refusal(
            "place",
            where="slide",
            found=f"{slide} at {turned} degrees, where {below.size} points of {rows} by {columns} meet",
            must_be="a slide that lets at least three points meet, not in one line",
        )
    lower, upper = below.ravel(), above.ravel()
    lower.flags.writeable = upper.flags.writeable = False
    return lower, upper


def meeting(
    lower: np.ndarray, upper: np.ndarray, turned: int = 0, slide: tuple[int, int] = (0, 0)
) -> tuple[np.ndarray, np.ndarray, tuple[slice, slice]]:
    """Views of two equal plates where they meet, unchecked: what is written to a view is written to its plate.

    `lower`, `upper` (..., rows, columns). Returns `below`, `above` (..., rows that meet, columns that meet): both on
    the lower plate's grid. `place`: rows and columns of the lower plate.

    >>> a, b = np.array([[1, 2], [3, 4]]), np.array([[5, 6], [7, 8]])
    >>> below, above, _ = meeting(a, b, 0, (1, 0))
    >>> below, above
    (array([[2],
           [4]]), array([[6],
           [8]]))
    """
    faced = np.rot90(upper[..., ::-1], -(turned // 90), axes=(-2, -1))
    mine, its = [], []
    for axis, steps in ((-2, slide[1]), (-1, slide[0])):
        size, other = lower.shape[axis], faced.shape[axis]
        first = (size - other) // 2 + steps
        start = min(max(0, first), size)
        stop = max(start, min(size, first + other))
        mine.append(slice(start, stop))
        its.append(slice(start - first, stop - first) if stop > start else slice(0, 0))
    return lower[..., mine[0], mine[1]], faced[..., its[0], its[1]], (mine[0], mine[1])


def face_plate(height_um: ArrayLike, turned: int = 0, slide: tuple[int, int] = (0, 0)) -> np.ndarray:
    """Heights of the upper plate as they meet the lower one.

    `height_um` (..., rows, columns): heights on a grid that is symmetrical about the middle. `turned`: 0, 90, 180 or
    270 degrees counterclockwise, after turning over about y. `slide`: whole grid steps along x and y. Returns (...,
    rows, columns): on the lower plate's grid; nan where the upper plate does not reach.

    >>> face_plate([[1, 2], [3, 4]])
    array([[2., 1.],
           [4., 3.]])
    >>> face_plate([[1, 2], [3, 4]], 180)
    array([[3., 4.],
           [1., 2.]])
    """
    h = plates_of(height_um)
    rows, columns = h.shape[-2:]
    lower, upper = overlap(rows, columns, checks.choice(turned, "turned", TURNS), steps_of(slide))
    met = np.full(h.shape[:-2] + (rows * columns,), np.nan)
    met[..., lower] = h.reshape(met.shape)[..., upper]
    return met.reshape(h.shape)


def plates_of(height_um: ArrayLike, name: str = "height_um") -> np.ndarray:
    """Return heights with rows and columns as the last axes, or raise ValueError.

    `height_um` (..., rows, columns).

    >>> plates_of([[0, 1], [2, 3]]).shape
    (2, 2)
    """
    h = checks.numbers(height_um, name)
    if h.ndim < 2 or min(h.shape[-2:]) < 2:
        raise Refusal("shape", where=name, found=shape_words(h.shape), must_be="at least 2 rows and 2 columns")
    return h


def steps_of(slide: tuple[int, int], name: str = "slide") -> tuple[int, int]:
    """Return a slide as two whole numbers, or raise ValueError.

    >>> steps_of((1, -2))
    (1, -2)
    """
    try:
        x, y = slide
    except (TypeError, ValueError):
        raise Refusal(
            "type", where=name, found=short(slide), must_be="two whole grid steps, along x and along y"
        ) from None
    return checks.whole(x, f"{name} along x", -_FAR), checks.whole(y, f"{name} along y", -_FAR)


def fit_of(fit: tuple, place: str, plates: int) -> tuple[int, int, int, tuple[int, int]]:
    """Return one line of a schedule in full, or raise ValueError.

    `fit`: a slide may also stand as one pair. `place`: how the sentence calls it: ``"fits[2]"``.

    >>> fit_of((0, 1, 90), "fits[0]", 3)
    (0, 1, 90, (0, 0))
    """
    try:
        lower, upper, turned, *slide = fit
    except (TypeError, ValueError):
        slide = [None] * 3
    if len(slide) == 1 and not np.isscalar(slide[0]):
        slide = list(slide[0])
    if len(slide) not in (0, 2):
        raise Refusal(
            "type",
            where=place,
            found=short(fit),
            must_be="(lower, upper, turned) or (lower, upper, turned, slide_x, slide_y)",
        )
    lower = checks.whole(lower, f"{place} lower", 0, plates - 1)
    upper = checks.whole(upper, f"{place} upper", 0, plates - 1)
    if isinstance(turned, (bool, np.bool_)):
        raise Refusal("choice", where=f"{place} turned", found=short(turned), must_be="0, 90, 180 or 270 degrees")
    turned = int(checks.choice(turned, f"{place} turned", TURNS))
    if lower == upper:
        raise Refusal("same", where=place, found=f"plate {lower} on itself", must_be="two different plates")
    return lower, upper, turned, steps_of(slide or (0, 0), f"{place} slide")
