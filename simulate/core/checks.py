"""Refusals in one sentence: what was wrong, the value, and what is allowed."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from simulate.core.number_format import two
from simulate.core.refusal import Refusal, listed, shape_words, with_article
from simulate.core.values import choice, number, numbers, short, table, whole

__all__ = [
    "MOST_AT_ONCE",
    "choice",
    "even_positions",
    "gaps",
    "kind",
    "number",
    "numbers",
    "positions",
    "profiles",
    "room",
    "table",
    "together",
    "whole",
]

MOST_AT_ONCE = 500_000_000
"""Numbers that are worked on at once: 4 GB."""

ROUNDING_UM = 1e-9
"""What the difference of two heights of metres may be out by rounding."""


def positions(x_mm: ArrayLike, name: str = "x_mm", at_least: int = 2) -> np.ndarray:
    """Return positions as a rising 1-D array, or raise ValueError.

    `x_mm` (points,). `at_least`: the fewest points that are allowed.

    >>> positions([0, 10, 20])
    array([ 0., 10., 20.])
    """
    x = numbers(x_mm, name)
    if x.ndim != 1 or x.size < at_least:
        raise Refusal(
            "shape", where=f"{name}", found=shape_words(x.shape), must_be=f"one row of at least {at_least} positions"
        )
    steps = np.diff(x)
    if (steps <= 0).any():
        i = int(np.argmax(steps <= 0))
        raise Refusal(
            "order",
            where=f"{name}",
            found=f"{x[i + 1]:g} at point {i + 1}, after {x[i]:g}",
            must_be="in rising order",
        )
    return x.copy()  # a result that holds it does not change with the caller's own row


def even_positions(x_mm: ArrayLike, name: str = "x_mm", at_least: int = 2, lands: int = 1) -> np.ndarray:
    """Return positions that rise by even steps, or raise ValueError.

    `x_mm` (points,). `at_least`: the fewest points that are allowed. `lands`: equally many points on each of so many
    lands, with even steps there; 1 is a whole edge.

    >>> even_positions([0, 10, 20])
    array([ 0., 10., 20.])
    """
    x = positions(x_mm, name, at_least)
    if x.size % lands:
        raise Refusal(
            "count", where=f"{name}", found=f"{x.size} points", must_be=f"the same number on each of {lands} lands"
        )
    step = np.diff(x.reshape(lands, -1)).ravel()
    if np.ptp(step) > 1e-6 * step.mean():
        raise Refusal("spacing", where=f"{name}", found=f"{step.min():g} to {step.max():g} mm", must_be="evenly spaced")
    return x


def profiles(height_um: ArrayLike, points: int, name: str = "height_um", bars: int | None = None) -> np.ndarray:
    """Return heights whose last axis is `points` long, or raise ValueError.

    `height_um` (..., points) or (..., bars, points). `bars`: how many bars the axis before the last must hold.

    >>> profiles([[0, 1, 0]], 3).shape
    (1, 3)
    """
    h = numbers(height_um, name)
    if h.ndim < 1 or h.shape[-1] != points:
        raise Refusal(
            "shape",
            where=f"{name}",
            found=shape_words(h.shape),
            must_be=f"{points} figures in each row, one for each position",
        )
    if bars is not None and (h.ndim < 2 or h.shape[-2] != bars):
        raise Refusal("shape", where=f"{name}", found=shape_words(h.shape), must_be=f"{bars} bars of {points} heights")
    return h


def gaps(gap_um: np.ndarray, name: str = "gap_um") -> np.ndarray:
    """Return gaps, none of them below 0, or raise ValueError; what rounding has left below 0 counts as 0.

    `gap_um`: nan where there is none.

    >>> gaps(np.array([0.0, 3.0]))
    array([0., 3.])
    """
    if (gap_um < -ROUNDING_UM).any():
        raise Refusal("range", where=f"{name}", found=f"{np.nanmin(gap_um):g}", must_be="0 or more")
    return np.maximum(gap_um, 0.0)


def together(**values: np.ndarray) -> list[np.ndarray]:
    """Return arrays spread to one shape, or raise ValueError.

    `**values`: by the name that the sentence calls them.

    >>> [a.tolist() for a in together(length_mm=np.array([1, 2]), depth_mm=np.array(3))]
    [[1, 2], [3, 3]]
    """
    try:
        return list(np.broadcast_arrays(*values.values()))
    except ValueError:
        raise Refusal(
            "shapes",
            where=listed(list(values)),
            found=listed([shape_words(np.shape(value)) for value in values.values()]),
            must_be="of one shape, or single figures",
        ) from None


def kind(value: object, name: str, wanted: type | tuple[type, ...]) -> object:
    """Return `value` if it is of that type, or raise ValueError.

    >>> kind(3, "rounds", int)
    3
    """
    if not isinstance(value, wanted):
        several = wanted if isinstance(wanted, tuple) else (wanted,)
        words = " or ".join(with_article(k.__name__) for k in several)
        raise Refusal("type", where=name, found=short(value), must_be=words)
    return value


def room(numbers_at_once: int, what: str) -> None:
    """Refuse what would not fit into a computer's memory.

    `what`: how the sentence calls them.

    >>> room(3 * 201, "bars x points")
    """
    if numbers_at_once > MOST_AT_ONCE:
        raise Refusal(
            "memory",
            where=what,
            found=f"{two(8e-9 * numbers_at_once)} GB at once",
            must_be=f"at most {8e-9 * MOST_AT_ONCE:g} GB",
            do="Take fewer, or do them one after the other",
        )
