"""Ways to lay gauges along a bar, and what is known of its points with some of them laid."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.core import checks
from simulate.method.lands.design_matrix import free_moves
from simulate.method.lands.land_fit import Fit, snapped
from simulate.method.lands.levelling import Network, solve_network
from simulate.method.lands.progression import anchored_levels, chained_level, usual_counts

WAYS = ("anchored", "anchored and bridged", "chained", "my own")
"""Ways to lay gauges that the panel offers."""

POINTS = (3, 5, 7, 9, 13, 25)
"""How many straight points may be asked for."""


@dataclass(frozen=True)
class Known:
    """What is known of each point, some gauges laid.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
    reached, touched : ndarray of bool, shape (points,)
    sd_um, height_um : ndarray, shape (points,)
        nan where not reached; heights are what a shared error of the gauges makes of the bar.
    checks : float
        Readings that are left over for checking.
    network : Network, optional
        Where a gauge is laid at all.
    swings : ndarray, shape (ways, points)
        How points that are touched and not fixed can still move, every fit staying as it is; 1 at most.
    """

    x_mm: np.ndarray
    reached: np.ndarray
    touched: np.ndarray
    sd_um: np.ndarray
    height_um: np.ndarray
    checks: float
    network: Network | None = None
    swings: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))

    @property
    def most_um(self) -> float:
        """Farthest that a reached point with its bar stands off the line."""
        return float(np.max(np.abs(self.height_um) + self.sd_um, where=self.reached, initial=0.0))


def layings(way: str, points: int, length_mm: float, sd_um: float) -> tuple[Fit, ...]:
    """Give every fit of a way to so many points, in the order they are made.

    `way`: one of `WAYS` but the last. `points`: one of `POINTS`.

    >>> [fit.lands_mm for fit in layings("anchored", 5, 400, 1.0)]
    [(0.0, 200.0, 400.0), (0.0, 100.0, 200.0), (200.0, 300.0, 400.0)]
    """
    checks.choice(way, "way", WAYS[:3])
    if way == "chained":
        return chained_level(points, length_mm, sd_um).fits
    levels = anchored_levels(usual_counts(points), length_mm, sd_um, bridged=way == WAYS[1])
    return tuple(fit for level in levels for fit in level.fits)


def onto(lands_mm: tuple[float, ...], points_mm: np.ndarray, near_mm: float = 0.6) -> tuple[float, ...]:
    """Put lands that fall within the breadth of a mark onto points that are there.

    `points_mm`: rising.

    >>> onto((0.0, 83.3, 170.0), np.array([0.0, 250 / 3]))
    (0.0, 83.33333333333333, 170.0)
    """
    nearest = points_mm[np.abs(points_mm[:, None] - lands_mm).argmin(axis=0)]
    moved = np.where(np.abs(nearest - lands_mm) <= near_mm, nearest, lands_mm)
    return tuple(float(v) for v in (moved if (np.diff(moved) > 0).all() else lands_mm))


def known(fits: tuple[Fit, ...], wanted_mm: np.ndarray, proud_um: float = 0.0) -> Known:
    """Settle the points of a bar whose two ends are held.

    `fits`: none is allowed. `wanted_mm`: points that are asked for; the outer two are held. `proud_um`: how far the
    middle of every gauge stands proud; the bar is worked to it.

    >>> known((), np.array([0.0, 50, 100])).reached.tolist()
    [True, False, True]
    """
    ends = [wanted_mm[0], wanted_mm[-1]]
    if not fits:
        end = np.isin(wanted_mm, ends)
        return Known(wanted_mm, end, end, np.where(end, 0.0, np.nan), np.where(end, 0.0, np.nan), 0.0)
    readings = np.full(sum(len(f.lands_mm) - 2 for f in fits), proud_um)
    found = solve_network(fits, ends, wanted_mm=wanted_mm, readings_um=readings)
    lands = snapped([x for f in fits for x in f.lands_mm])
    return Known(
        found.x_mm,
        found.reached,
        np.isin(found.x_mm, lands) | found.reached,
        found.sd_um,
        0.0 - found.height_um,
        float(found.redundancy.sum()),
        found,
        free_moves(fits, found.x_mm, np.isin(found.x_mm, lands) & ~np.isin(found.x_mm, ends)),
    )
