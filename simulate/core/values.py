"""One value at a time: what is a number, a whole number, one of a few; and the sentence for what is not."""

from __future__ import annotations

from collections.abc import Sequence
from numbers import Integral
from typing import TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike

from simulate.core.refusal import Refusal, either, shape_words

T = TypeVar("T")


def numbers(values: ArrayLike, name: str) -> np.ndarray:
    """Return `values` as a float array, or raise ValueError.

    `values`: any shape. `name`: how the sentence calls it, with its unit: ``"height_um"``.

    >>> numbers([1, 2], "height_um")
    array([1., 2.])
    """
    array = table(values, name)
    if not np.isfinite(array).all():
        where = tuple(int(i) for i in np.argwhere(~np.isfinite(array))[0])
        place = f" at place {', '.join(map(str, where))}" if where else ""
        raise Refusal("number", where=f"{name}", found=f"{array[where]}{place}", must_be="a finite number")
    return array


def table(values: ArrayLike, name: str) -> np.ndarray:
    """Return `values` as a float array in which nan stands for what is missing, or raise ValueError.

    `values`: any shape; what a masked array hides becomes nan.

    >>> table([1, float("nan")], "gap_um")
    array([ 1., nan])
    """
    try:
        found = np.asarray(values)
        plain = found.dtype.kind in "iuf" or (
            found.dtype.kind == "O"
            and not any(v is None or isinstance(v, (str, bytes, bool, np.bool_)) for v in found.flat)
        )
        array = found.astype(float, copy=False) if plain else None
    except (TypeError, ValueError, OverflowError):
        array = None
    if array is None:
        raise Refusal("number", where=name, found=short(values), must_be="numbers in a regular table")
    return np.where(np.ma.getmaskarray(values), np.nan, array) if np.ma.isMaskedArray(values) else array


def number(value: float, name: str, low: float = -np.inf, high: float = np.inf, above: bool = False) -> float:
    """Return one finite number between `low` and `high`, or raise ValueError.

    `low`, `high`: both allowed, unless `above`. `above`: whether `low` itself is refused.

    >>> number(3, "length_mm", 0, above=True)
    3.0
    """
    array = numbers(value, name)
    if array.ndim:
        raise Refusal("shape", where=name, found=shape_words(array.shape), must_be="one number")
    found = float(array)
    if found < low or found > high or (above and found == low):
        raise Refusal("range", where=name, found=f"{found:g}", must_be=_range(low, high, above))
    return found


def whole(value: int, name: str, low: int = 0, high: int | None = None) -> int:
    """Return one whole number between `low` and `high`, or raise ValueError.

    >>> whole(3, "rounds", 0)
    3
    """
    found = number(value, name, low, np.inf if high is None else high)
    if found != int(found):
        raise Refusal("number", where=name, found=f"{value!r}", must_be="a whole number")
    return int(value) if isinstance(value, Integral) else int(found)  # a long seed does not go through a float


def choice(value: object, name: str, allowed: Sequence[T]) -> T:
    """Return `value` if it is one of `allowed`, or raise ValueError.

    >>> choice(90, "turned", (0, 90))
    90
    """
    try:
        if value in allowed:
            return cast(T, value)
    except ValueError:
        pass
    raise Refusal("choice", where=name, found=short(value), must_be=either(allowed))


def _range(low: float, high: float, above: bool) -> str:
    if np.isinf(high):
        return f"more than {low:g}" if above else f"{low:g} or more"
    if np.isinf(low):
        return f"{high:g} or less"
    return f"above {low:g} and at most {high:g}" if above else f"{low:g} to {high:g}"


def short(value: object) -> str:
    """How a sentence quotes what was given, cut to 60 letters.

    >>> short("a word")
    "'a word'"
    """
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
