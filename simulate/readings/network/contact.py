"""Where a straight edge, or a plate, rests on what it is laid on, and how much of its load each place carries.

A body at rest stands as low under its load as what it lies on allows: each contact counts as much as it carries, and a
crown under the load leaves the tilt open.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from simulate.bench.seating.plate_seat import contacts_on_points
from simulate.readings.adjustment.posterior import Contacts

CLEARANCE = 0.05
"""Mean gap at stations beside which bodies touch, as part of their amplitude: chosen on simulated bars and plates."""


def resting_shares(at_mm: np.ndarray, gap_um: np.ndarray, may: np.ndarray) -> tuple[np.ndarray, float, float]:
    """Say how much of the load of an edge, which lies in its middle, each station carries.

    `at_mm` (stations,): from the middle of the load. `gap_um` (draws, stations): but for any line: where the edge
    rests, its own lift and tilt do not matter. `may` (stations,) of bool: where a gap of nought is allowed: if nowhere
    on one side of the load, the edge rests there between stations. Returns `shares` (stations,): one in all, on average
    over the draws, less what is carried between stations; all 0 where no two straddle the load. `mean_um`, `sd_um`:
    what ``shares`` makes of the gaps of a body at rest: nought where all draws rest at one place.

    >>> shares, *gap = resting_shares(np.array([-2.0, -1, 1, 3]), np.array([[5.0, 0, 8, 0]]), np.ones(4, bool))
    >>> shares.tolist(), gap
    ([0.0, 0.75, 0.0, 0.25], [0.0, 0.0])
    """
    left, right = (np.flatnonzero(side & may if (side & may).any() else side) for side in (at_mm <= 1e-9, at_mm > 1e-9))
    if not left.size or not right.size:
        return np.zeros(at_mm.size), 0.0, 0.0
    i, j = (part.ravel() for part in np.meshgrid(left, right, indexing="ij"))
    wide = at_mm[j] - at_mm[i]
    # the lowest line over the load
    over = np.argmin(at_mm[j] / wide * gap_um[:, i] - at_mm[i] / wide * gap_um[:, j], axis=1)
    i, j, wide, each = i[over], j[over], wide[over], np.arange(len(over))
    slope = (gap_um[each, j] - gap_um[each, i]) / wide
    seated = gap_um - gap_um[each, i][:, None] - slope[:, None] * (at_mm - at_mm[i][:, None])
    places, carried = np.stack([i, j], axis=1), np.stack([at_mm[j], -at_mm[i]], axis=1) / wide[:, None]
    return _on_average(places, carried, seated, may)


@dataclass(frozen=True, kw_only=True)
class Edges:
    """Straight edges that rest on the work, those with the same stations together.

    `rows` (edges, stations) of int: their readings. `at` (stations,): where the stations lie, from -1 to 1 about the
    load.
    """

    rows: tuple[np.ndarray, ...]
    at: tuple[np.ndarray, ...]

    @property
    def count(self) -> int:
        """How many edges there are."""
        return sum(len(one) for one in self.rows)


def edges_alike(layings: Iterable[tuple[np.ndarray, np.ndarray]]) -> Edges:
    """Put edges with the same stations together.

    `layings`: readings of each edge, and where they lie from the middle of its load, in mm.

    >>> at = np.array([-5.0, 0, 5])
    >>> both = edges_alike([(np.array([0, 1, 2]), at), (np.array([3, 4, 5]), 2 * at)])
    >>> both.count, [one.tolist() for one in both.rows]
    (2, [[[0, 1, 2], [3, 4, 5]]])
    """
    groups: dict[tuple[float, ...], list[tuple[np.ndarray, np.ndarray]]] = {}
    for rows, at_mm in layings:
        part = at_mm / max(float(np.abs(at_mm).max()), 1e-9)
        part = np.where(np.abs(part) < 1e-6, 0.0, part)
        groups.setdefault(tuple(np.round(part, 6).tolist()), []).append((rows, part))
    return Edges(
        rows=tuple(np.stack([rows for rows, _ in one]) for one in groups.values()),
        at=tuple(one[0][1] for one in groups.values()),
    )


def seated(gap_um: np.ndarray, edges: Edges, lift_um: np.ndarray, tilt: np.ndarray) -> np.ndarray:
    """Lay edges on what they rest on.

    `gap_um` (draws, readings): but for any line of each edge. `lift_um` (draws, edges): how far above the lowest place
    over its load each edge lies, for stations are not all that it may touch. `tilt` (draws, edges): 0 leans as far to
    its first side as the stations leave it, 1 as far to the other. Returns (draws, readings): nowhere under an edge
    below nought.

    >>> three = edges_alike([(np.array([0, 1, 2]), np.array([-5.0, 0, 5]))])
    >>> gaps = np.array([[0.0, 8, 2], [3, 0, 5]])  # hollow by 7: on both ends; a crown by 4: anywhere between
    >>> seated(gaps, three, np.zeros((2, 1)), np.full((2, 1), 0.5)).tolist()
    [[0.0, 7.0, 0.0], [4.0, 0.0, 4.0]]
    """
    gap_um, done = gap_um.copy(), 0
    for rows, at in zip(edges.rows, edges.at, strict=True):
        mine = slice(done, done + len(rows))
        done += len(rows)
        i, j = (one.ravel() for one in np.meshgrid(np.flatnonzero(at <= 0), np.flatnonzero(at >= 0), indexing="ij"))
        chord = np.zeros((at.size, i.size))
        wide = at[j] - at[i]
        part = np.where(wide > 0, at[j] / np.where(wide > 0, wide, 1.0), 1.0)
        np.add.at(chord, (i, np.arange(i.size)), part)
        np.add.at(chord, (j, np.arange(j.size)), 1 - part)
        own = gap_um[:, rows]
        own = own - ((own @ chord).min(axis=-1) - lift_um[:, mine])[..., None]
        least = (own[..., at > 0] / -at[at > 0]).max(axis=-1)
        most = (own[..., at < 0] / -at[at < 0]).min(axis=-1)
        lean = least + tilt[:, mine] * np.maximum(most - least, 0.0)
        gap_um[:, rows] = own + lean[..., None] * at
    return gap_um


def resting_plate(
    x_mm: np.ndarray, y_mm: np.ndarray, gap_um: np.ndarray, may: np.ndarray, load_mm: tuple[float, float]
) -> tuple[np.ndarray, float, float]:
    """Say how much of the load of a plate each station carries.

    `x_mm`, `y_mm` (stations,). `gap_um` (draws, stations): but for any plane. `may` (stations,) of bool: where a gap of
    nought is allowed: if three such stations hold the load, it rests on none of the others. Returns: as
    `resting_shares` gives them; all 0 where no three stations hold the load.

    >>> x, y = np.array([-1.0, 1, 0, 0]), np.array([-1.0, -1, 1, 0])
    >>> shares, *gap = resting_plate(x, y, np.array([[0.0, 0, 0, 7]]), np.ones(4, bool), (0.0, 0.0))
    >>> shares.round(6).tolist(), np.round(gap, 6).tolist()
    ([0.25, 0.25, 0.5, 0.0], [0.0, 0.0])
    """
    weight = np.zeros(x_mm.size)
    for on in (np.flatnonzero(may), np.arange(x_mm.size)):
        found = contacts_on_points(x_mm[on], y_mm[on], -gap_um[:, on], load_mm) if on.size > 2 else None
        if found is not None:
            weight[on], *gap = _on_average(*found, may[on])
            return weight, *gap
    return weight, 0.0, 0.0


def _on_average(places: np.ndarray, carried: np.ndarray, seated: np.ndarray, may: np.ndarray):
    shares = np.bincount(places.ravel(), carried.ravel(), minlength=may.size) / len(places) * may
    gap = np.maximum(seated, 0) @ shares
    return shares, float(gap.mean()), float(gap.std())


def at_rest(
    rests: Sequence[tuple[np.ndarray, np.ndarray, float, float]],
    design: np.ndarray,
    at_zero_um: np.ndarray | float,
    amplitude_um: float,
) -> Contacts:
    """Give what a prior knows of bodies at rest.

    `rests`: for each body that rests: its readings, their shares, and the mean and the standard deviation of the gap
    that they make of it at rest. `design` (readings, unknowns). `at_zero_um` (readings,): readings where all unknowns
    are zero.

    The seat is as high over the load as the highest chord, or triangle, of what it rests on. Of all sums of heights the
    shares, which are the mean slope of that height, foretell it best (C. Stein's identity, from memory); what they
    leave over has the mean and the deviation that are given, and the clearance between stations comes on top.

    >>> found = at_rest([(np.array([0, 1]), np.array([0.5, 0.5]), 3.0, 4.0)], np.eye(2), 0.0, 10.0)
    >>> found.clearance.tolist(), found.mean.round(2).tolist(), found.sd.round(2).tolist()
    ([[0.5, 0.5]], [0.35], [0.4])
    """
    rests = [one for one in rests if one[1].any()]
    rows = np.zeros((len(rests), len(design)))
    for k, (mine, shares, _, _) in enumerate(rests):
        rows[k, mine] = shares
    mean, sd = (np.array([one[k] for one in rests]) / amplitude_um for k in (2, 3))
    return Contacts(
        clearance=rows @ design,
        at_zero=rows @ np.broadcast_to(at_zero_um, len(design)),
        mean=CLEARANCE + mean,
        sd=np.hypot(CLEARANCE, sd),
    )
