"""How sharp the ends of an interval are: the feel of a blade, and where it went in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

FEELS_UM = (0.0, 1.0, 2.0, 4.0)
"""Feels that are thought of where the learner states none, in um (common practice, no source)."""
FEEL_WEIGHT = (0.1, 0.2, 0.3, 0.4)
"""How likely each of `FEELS_UM` is beforehand where feelers are pushed in by hand (common practice, no source)."""
PLACE_MM = 1.0
"""How well the place of a blade is known along the bar where the learner states nothing, one standard deviation."""
PART = 0.2
"""No end is blurred by feel by more than this part of itself: a dark limit of 2.5 um, by 0.5 um."""
_GIVE = (0.5, 1.0, 2.0, 4.0)


@dataclass(frozen=True, kw_only=True)
class EndErrors:
    """Standard deviations of the errors with which the ends of intervals were read.

    `feel_um` (feels,). `weight` (feels,): how likely each is beforehand. `low_um`, `high_um` (feels, readings).
    """

    feel_um: np.ndarray
    weight: np.ndarray
    low_um: np.ndarray
    high_um: np.ndarray


def slope_along(at_mm: np.ndarray, gap_um: np.ndarray) -> np.ndarray:
    """How fast a gap changes along a body at each reading of one fit, um per mm; 0 where it was read at one place.

    `at_mm`, `gap_um` (readings,). A place that was read again counts as one, by its mean: two figures of one place
    differ by what they were read with, and say nothing of a slope.

    >>> slope_along(np.array([0.0, 10.0, 10.0]), np.array([0.0, 4.0, 6.0])).tolist()
    [0.5, 0.5, 0.5]
    """
    places, which = np.unique(at_mm, return_inverse=True)
    if places.size < 2:
        return np.zeros(at_mm.size)
    return np.abs(np.gradient(np.bincount(which, gap_um) / np.bincount(which), places))[which]


def end_errors(
    low_um: np.ndarray,
    high_um: np.ndarray,
    feel_um: float | None = None,
    place_um: np.ndarray | float = 0.0,
    conflict_um: float = 0.0,
    wall: float = 0.0,
) -> EndErrors:
    """Say how sharp the ends of intervals are.

    `low_um`, `high_um` (readings,). `feel_um`: one standard deviation of the gap at which a blade is felt to go;
    several are thought of without it. `place_um`: how much the gap changes over what the place is out by.
    `conflict_um`: the least by which intervals must give way to agree; every end is then blurred by about as much.
    `wall`: an end that is sharp by nature: a gap is never below 0. -inf where there is none.

    >>> found = end_errors(np.array([0.0, 30.0]), np.array([2.5, 50.0]), feel_um=4.0)
    >>> found.low_um.tolist(), found.high_um.tolist()
    ([[0.0, 4.0]], [[0.5, 4.0]])
    """
    feels, weights = (
        (np.array(FEELS_UM), np.array(FEEL_WEIGHT)) if feel_um is None else (np.array([feel_um]), np.ones(1))
    )
    give = np.zeros(feels.size)
    if conflict_um > 0:
        feels = np.full(len(_GIVE), feels.max() if feel_um is not None else 0.0)
        give, weights = conflict_um * np.array(_GIVE), np.full(len(_GIVE), 1 / len(_GIVE))
    ends = []
    for end in (low_um, high_um):
        size = np.abs(np.where(np.isfinite(end), end, 0.0))
        blur = np.hypot(np.minimum(feels[:, None], PART * size), place_um)
        ends.append(np.hypot(np.where(end == wall, 0.0, blur), give[:, None]))
    return EndErrors(feel_um=np.hypot(feels, give), weight=weights, low_um=ends[0], high_um=ends[1])
