"""Tables of what lands reach and what stepping adds up, as text: each row says its units, so that it can be turned to
inches."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.bench.looking.sight import Sight
from simulate.method.lands.gauge_making import make_land_gauges
from simulate.method.lands.progression import progression_table
from simulate.method.lands.stepping import step_lands


def progression_text(points: Sequence[int] = (7, 9, 13, 25), sd_um: float = 1.0) -> str:
    """Give the table of progressions from three points: fits, and worst spread, chained against anchored.

    Parameters
    ----------
    points : sequence of int
    sd_um : float
        Spread of one fit, the same for every gauge.

    Returns
    -------
    str

    Raises
    ------
    ValueError
        Where a number of points has no middle one.

    Examples
    --------
    >>> print(progression_text((7,)))
    Worst standard deviation on the way from 3 points, one fit ± 1 µm:
     7 points by 3, 7:           5 fits, chained  4.4 µm, anchored 1.6 µm
    """
    lines = [f"Worst standard deviation on the way from 3 points, one fit ± {sd_um:g} µm:"]
    for way in progression_table(points, sd_um):
        there = ", ".join(map(str, way.counts)) + ":"
        lines.append(
            f"{way.points:2d} points by {there:14s} {way.anchored_fits:2d} fits, chained {way.chained_um:4.1f} "
            f"µm, anchored {way.anchored_um:.1f} µm"
        )
    return "\n".join(lines)


def gauges_text(sights_um: Sequence[float] = (1.0, 2.5, 5.0), workshops: int = 300, rounds: int = 3) -> str:
    """Give how far the worst of three land gauges is out, round by round, in many workshops.

    Parameters
    ----------
    sights_um : sequence of float
        Smallest gap that is seen, a row for each.
    workshops, rounds : int

    Returns
    -------
    str

    Examples
    --------
    >>> print(gauges_text((2.5,), 20, 1).splitlines()[0])
    Worst middle land of three gauges at the start and after each round; half of 20 workshops are better:
    """
    start = np.random.default_rng(1).normal(0, 20, (workshops, 3))
    lines = [
        (
            f"Worst middle land of three gauges at the start and after each round; half of {workshops} workshops are "
            "better:"
        )
    ]
    for sight in sights_um:
        made = make_land_gauges(start, rounds=rounds, removal_um=2.0, seed=1, sight=Sight("light", sight))
        half = np.median(np.abs(made.middle_um).max(axis=-1), axis=0)
        lines.append(
            f"eye sees {sight:.1f} µm, floor {made.history.floor_um:.1f} µm: {', '.join(f'{v:.1f}' for v in half)} µm"
        )
    return "\n".join(lines)


def stepping_text(intervals: Sequence[int], *, zero_um: float = 1.0, sd_um: float = 1.0) -> str:
    """Give what one small gauge, stepped alone between held ends, adds up to in the worst place.

    Parameters
    ----------
    intervals : sequence of int
    zero_um : float
        Error that every fit shares.
    sd_um : float
        Spread of each fit for itself.

    Returns
    -------
    str

    Examples
    --------
    >>> print(stepping_text((6,)))
    One fit: shared error 1 µm, own ± 1 µm.
     6 steps: shared error   9.0 µm, own errors ±  4.4 µm
    """
    lines = [f"One fit: shared error {zero_um:g} µm, own ± {sd_um:g} µm."]
    for n in intervals:
        found = step_lands(n, zero_um=zero_um, sd_um=sd_um)
        lines.append(
            f"{n:2d} steps: shared error {found.bias_um.max():5.1f} µm, own errors ± {found.sd_um.max():4.1f} µm"
        )
    return "\n".join(lines)
