"""One figure from outside, and how the package comes to it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

LOOKED_UP, MEMORY = "looked up", "from memory"


@dataclass(frozen=True, kw_only=True)
class Outside:
    """A published figure and the function that must give it.

    Attributes
    ----------
    name : str
        Short and unique: the name of its test.
    value : float or tuple of float
        As published.
    unit : str
    within : float
        How far off the package may be: the last digit printed, or what the source allows.
    source : str
        Author, title, year; or the number of a standard.
    where : str
        The function of the package that is held to it.
    seen : str
        `LOOKED_UP` where the figure was read in a public copy, `MEMORY` where it was not.
    found : callable
        Works the figure out by the package; gives what `value` holds.
    """

    name: str
    value: float | tuple[float, ...]
    unit: str
    within: float
    source: str
    where: str
    seen: str
    found: Callable[[], object]
