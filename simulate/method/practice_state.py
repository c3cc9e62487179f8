"""The practice bench as it stands: three hidden bars, how they lie, and the acts so far."""


from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from simulate.bench import sight
from simulate.surface import checks
from simulate.surface.bars import starting_bars

BARS, POINTS, WIDTH_MM = 3, 101, 10.0
STATIONS = 9
"""Places along the bar where a feeler is tried."""

SIGHTS = {"light": sight.Sight("light", 2.5), "feeler": sight.Sight("feeler", 50.0),
          "marking compound": sight.Sight("marking compound", 2.0)}
SHORTEST_MM, MOST_STROKES = 20.0, 300
FADE = 0.3  # part of the chosen stretch, at either end of it, over which the strokes fade out


@dataclass(frozen=True)
class Act:
    """One thing that the learner did.

    Attributes
    ----------
    kind : str
        ``"lay"``, ``"look"``, ``"file"`` or ``"stop"``.
    given : dict
        What was chosen, by the names that the function of that kind takes.
    """

    kind: str
    given: Mapping = field(default_factory=dict)


@dataclass(frozen=True)
class Answer:
    """What a look gave back; nothing else of the bars is known.

    Attributes
    ----------
    kind : str
    x_mm : ndarray, shape (places,)
        Where it was looked at: everywhere, or at the feeler's stations.
    seen : Seen
    rocks : bool
        Felt by a light push at either end.
    """

    kind: str
    x_mm: np.ndarray
    seen: sight.Seen
    rocks: bool


@dataclass(frozen=True)
class PracticeState:
    """The bench after some acts.

    Attributes
    ----------
    seed : int
    length_mm, error_um : float
    x_mm : ndarray, shape (points,)
    height_um : ndarray, shape (3, points)
        True heights, which the learner does not see before the stop.
    lower, upper : int
        The bar below and the bar in the vice, which is laid on it face down.
    turned : bool
        Whether the upper bar lies end for end.
    press_mm : float or None
        Where a finger presses; None for its own weight.
    acts : tuple of Act
    answer : Answer or None
        The last look, as long as nothing has been moved or filed since.
    stopped : bool
    """

    seed: int
    length_mm: float
    error_um: float
    x_mm: np.ndarray
    height_um: np.ndarray
    lower: int = 0
    upper: int = 1
    turned: bool = False
    press_mm: float | None = None
    acts: tuple[Act, ...] = ()
    answer: Answer | None = None
    stopped: bool = False


def start_practice(seed: int = 1, error_um: float = 200.0, length_mm: float = 500.0) -> PracticeState:
    """Put three hidden bars on the bench.

    Parameters
    ----------
    seed : int
        Which bars: the same number gives everybody the same.
    error_um : float
        How far each of them is out of straight, 20 to 1000.
    length_mm : float
        100 to 2000.

    Returns
    -------
    PracticeState

    Raises
    ------
    ValueError
        Where a figure is out of its range.

    Examples
    --------
    >>> start_practice(3).height_um.shape
    (3, 101)
    """
    seed = checks.whole(seed, "seed", 0, 10**9)
    error = checks.number(error_um, "error_um", 20, 1000)
    length = checks.number(length_mm, "length_mm", 100, 2000)
    x, height = starting_bars(length, error, POINTS, BARS, seed=seed)
    return PracticeState(seed, length, error, x, height)
