"""Refusals in one sentence: what was wrong, the value, and what is allowed."""

from __future__ import annotations

from collections.abc import Sequence
from numbers import Integral

import numpy as np
from numpy.typing import ArrayLike


def numbers(values: ArrayLike, name: str) -> np.ndarray:
    """Return `values` as a float array, or raise ValueError.

    Parameters
    ----------
    values : array_like
        Any shape.
    name : str
        How the sentence calls it, with its unit: ``"height_um"``.

    Raises
    ------
    ValueError
        Where something is not a number, or not finite.

    Examples
    --------
    >>> numbers([1, 2], "height_um")
    array([1., 2.])
    """
    array = table(values, name)
    if not np.isfinite(array).all():
        where = tuple(int(i) for i in np.argwhere(~np.isfinite(array))[0])
        place = f" at place {where if len(where) > 1 else where[0]}" if where else ""
        raise ValueError(f"{name} holds {array[where]}{place}; only finite numbers are allowed.")
    return array


def table(values: ArrayLike, name: str) -> np.ndarray:
    """Return `values` as a float array in which nan stands for what is missing, or raise ValueError.

    Parameters
    ----------
    values : array_like
        Any shape; what a masked array hides becomes nan.
    name : str

    Raises
    ------
    ValueError
        Where something is not a number: text, yes or no, a date, a complex number.

    Examples
    --------
    >>> table([1, float("nan")], "gap_um")
    array([ 1., nan])
    """
    try:
        found = np.asarray(values)
        plain = found.dtype.kind in "iuf" or (found.dtype.kind == "O" and not any(
            v is None or isinstance(v, (str, bytes, bool, np.bool_)) for v in found.flat))
        array = found.astype(float, copy=False) if plain else None
    except (TypeError, ValueError, OverflowError):
        array = None
    if array is None:
        raise ValueError(f"{name} must be numbers in a regular table; got {_short(values)}.")
    return np.where(np.ma.getmaskarray(values), np.nan, array) if np.ma.isMaskedArray(values) else array


def positions(x_mm: ArrayLike, name: str = "x_mm", at_least: int = 2) -> np.ndarray:
    """Return positions as a rising 1-D array, or raise ValueError.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
    name : str
    at_least : int
        The fewest points that are allowed.

    Raises
    ------
    ValueError
        Where the positions are too few, not in one row, or not rising.

    Examples
    --------
    >>> positions([0, 10, 20])
    array([ 0., 10., 20.])
    """
    x = numbers(x_mm, name)
    if x.ndim != 1 or x.size < at_least:
        raise ValueError(f"{name} must be one row of at least {at_least} positions; got shape {x.shape}.")
    steps = np.diff(x)
    if (steps <= 0).any():
        i = int(np.argmax(steps <= 0))
        raise ValueError(f"{name} must rise from point to point; point {i + 1} at {x[i + 1]:g} follows {x[i]:g}.")
    return x.copy()  # a result that holds it does not change with the caller's own row


def profiles(height_um: ArrayLike, points: int, name: str = "height_um", bars: int | None = None) -> np.ndarray:
    """Return heights whose last axis is `points` long, or raise ValueError.

    Parameters
    ----------
    height_um : array_like, shape (..., points) or (..., bars, points)
    points : int
    name : str
    bars : int, optional
        How many bars the axis before the last must hold.

    Raises
    ------
    ValueError
        Where the shape does not fit.

    Examples
    --------
    >>> profiles([[0, 1, 0]], 3).shape
    (1, 3)
    """
    h = numbers(height_um, name)
    if h.ndim < 1 or h.shape[-1] != points:
        raise ValueError(f"{name} must have {points} heights along its last axis, one for each position; got shape {h.shape}.")
    if bars is not None and (h.ndim < 2 or h.shape[-2] != bars):
        raise ValueError(f"{name} must hold {bars} bars of {points} heights; got shape {h.shape}.")
    return h


def number(value: float, name: str, low: float = -np.inf, high: float = np.inf, above: bool = False) -> float:
    """Return one finite number between `low` and `high`, or raise ValueError.

    Parameters
    ----------
    value : float
    name : str
    low, high : float
        Both allowed, unless `above`.
    above : bool
        Whether `low` itself is refused.

    Raises
    ------
    ValueError
        Where it is not one number in the range.

    Examples
    --------
    >>> number(3, "length_mm", 0, above=True)
    3.0
    """
    array = numbers(value, name)
    if array.ndim:
        raise ValueError(f"{name} must be one number; got shape {array.shape}.")
    found = float(array)
    if found < low or found > high or (above and found == low):
        raise ValueError(f"{name} is {found:g}; allowed is {_range(low, high, above)}.")
    return found


def whole(value: int, name: str, low: int = 0, high: int | None = None) -> int:
    """Return one whole number between `low` and `high`, or raise ValueError.

    Parameters
    ----------
    value : int
    name : str
    low : int
    high : int, optional

    Raises
    ------
    ValueError
        Where it is not a whole number in the range.

    Examples
    --------
    >>> whole(3, "rounds", 0)
    3
    """
    found = number(value, name, low, np.inf if high is None else high)
    if found != int(found):
        raise ValueError(f"{name} is {value!r}; it must be a whole number.")
    return int(value) if isinstance(value, Integral) else int(found)  # a long seed does not go through a float


def together(**values: np.ndarray) -> list[np.ndarray]:
    """Return arrays spread to one shape, or raise ValueError.

    Parameters
    ----------
    **values : ndarray
        By the name that the sentence calls them.

    Raises
    ------
    ValueError
        Where their shapes do not go together.

    Examples
    --------
    >>> [a.tolist() for a in together(length_mm=np.array([1, 2]), depth_mm=np.array(3))]
    [[1, 2], [3, 3]]
    """
    try:
        return list(np.broadcast_arrays(*values.values()))
    except ValueError:
        shapes = ", ".join(f"{name} {np.shape(value)}" for name, value in values.items())
        raise ValueError(f"{shapes}: these shapes do not go together; allowed are single figures or tables of one shape.") from None


def kind(value: object, name: str, wanted: type | tuple[type, ...]) -> object:
    """Return `value` if it is of that type, or raise ValueError.

    Parameters
    ----------
    value : object
    name : str
    wanted : type or tuple of type

    Raises
    ------
    ValueError
        Where it is of another type.

    Examples
    --------
    >>> kind(3, "rounds", int)
    3
    """
    if not isinstance(value, wanted):
        several = wanted if isinstance(wanted, tuple) else (wanted,)
        words = " or ".join(f"{'an' if k.__name__[0] in 'AEIOU' else 'a'} {k.__name__}" for k in several)
        raise ValueError(f"{name} is {_short(value)}; allowed is {words}.")
    return value


def even_positions(x_mm: ArrayLike, name: str = "x_mm", at_least: int = 2, lands: int = 1) -> np.ndarray:
    """Return positions that rise by even steps, or raise ValueError.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
    name : str
    at_least : int
        The fewest points that are allowed.
    lands : int
        Equally many points on each of so many lands, with even steps there; 1 is a whole edge.

    Raises
    ------
    ValueError
        Where `positions` would, or where a step differs.

    Examples
    --------
    >>> even_positions([0, 10, 20])
    array([ 0., 10., 20.])
    """
    x = positions(x_mm, name, at_least)
    if x.size % lands:
        raise ValueError(f"{name} holds {x.size} points; allowed are equally many on each of {lands} lands.")
    step = np.diff(x.reshape(lands, -1)).ravel()
    if np.ptp(step) > 1e-6 * step.mean():
        raise ValueError(f"{name} must be evenly spaced; its steps run from {step.min():g} to {step.max():g} mm.")
    return x


def choice(value: object, name: str, allowed: Sequence) -> object:
    """Return `value` if it is one of `allowed`, or raise ValueError.

    Parameters
    ----------
    value : object
    name : str
    allowed : sequence

    Raises
    ------
    ValueError
        Where it is none of them.

    Examples
    --------
    >>> choice(90, "turned", (0, 90))
    90
    """
    try:
        if value in allowed:
            return value
    except ValueError:
        pass
    raise ValueError(f"{name} is {_short(value)}; allowed are {', '.join(repr(a) for a in allowed)}.")


def _range(low: float, high: float, above: bool) -> str:
    if np.isinf(high):
        return f"more than {low:g}" if above else f"{low:g} or more"
    if np.isinf(low):
        return f"{high:g} or less"
    return f"{'above ' if above else ''}{low:g} to {high:g}"


def _short(value: object) -> str:
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
