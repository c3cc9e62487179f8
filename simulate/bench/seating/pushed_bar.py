"""The hinge test: a bar is pushed square at its very end, and where it pivots tells how it bears."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks

GIVE_UM = 1.0
"""How far a contact gives before its neighbours bear too (common practice, no source)."""


@dataclass(frozen=True)
class Hinge:
    """What a push at one end showed.

    Attributes
    ----------
    pivot_part : float
        Where the bar turns, from the far end as a part of its length.
    state : str
        ``"swings"`` about a high middle, ``"glides"`` where it bears evenly, ``"shuffles"`` about its far end
        where its ends are high.
    """

    pivot_part: float
    state: str


def hinge(x_mm: ArrayLike, gap_um: ArrayLike, *, push_right: bool = True, give_um: float = GIVE_UM) -> Hinge:
    """Push a bar square at its very end, and see about which place it turns.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Evenly spaced positions.
    gap_um : array_like, shape (points,)
        The gap of the bar at rest.
    push_right : bool
        Whether the push is at the last place.
    give_um : float
        How far contacts give: a place bears by what it lacks of this.

    Returns
    -------
    Hinge

    Raises
    ------
    Refusal
        Where shapes differ, or a figure is below 0.

    Notes
    -----
    Derived: friction is as large as the bearing and against the motion, one way
    on this side of the pivot and the other way beyond. Its moments about the
    pushed end cancel, so that the pivot halves bearing times distance from the
    push. Even bearing gives p² - 2 p L + L² / 2 = 0, p = (1 - 1/√2) L from the far
    end. The three states: J. Rose, Modern Machine-Shop Practice, text at Fig. 2442. What it
    cannot see: a bar that bears at three places may turn as one that bears evenly.

    Examples
    --------
    >>> x = np.linspace(0, 500, 501)
    >>> round(hinge(x, 0 * x).pivot_part, 3), hinge(x, 0 * x).state
    (0.293, 'glides')
    """
    x = checks.even_positions(x_mm)
    gap = checks.gaps(checks.profiles(gap_um, x.size, "gap_um"))
    give = checks.number(give_um, "give_um", 0, above=True)
    bearing = np.maximum(give - gap, 0.0)
    away = (x[-1] - x) if push_right else (x - x[0])
    part = (x - x[0]) / (x[-1] - x[0]) if push_right else (x[-1] - x) / (x[-1] - x[0])
    order = np.argsort(part)
    part, weight = part[order], (bearing * away)[order]
    summed = np.concatenate([[0.0], np.cumsum((weight[1:] + weight[:-1]) / 2)])
    pivot = float(np.interp(summed[-1] / 2, summed, part))
    return Hinge(pivot, "swings" if pivot > 0.4 else "glides" if pivot > 0.15 else "shuffles")
