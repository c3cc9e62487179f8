"""Straight bodies read anywhere along them: each hangs on its heights at its first and its last place."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field

import numpy as np

from simulate.readings.adjustment.equations import free_of
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.network.features import Feature
from simulate.readings.network.heights import Instrument, Network
from simulate.readings.network.solve_heights import OnHeights, SolvedHeights
from simulate.readings.table.readings import AlignmentReadings
from simulate.readings.table.size_limit import refuse_too_many

SAME_MM = 0.5
"""Places nearer than this are one."""


@dataclass(frozen=True, kw_only=True)
class Straight:
    """Straight bodies, by name.

    `ends_mm`: first and last place of each; one place where it was read at one only.
    """

    names: tuple[str, ...]
    ends_mm: tuple[tuple[float, ...], ...]

    @property
    def points(self) -> int:
        """How many heights all bodies hang on."""
        return sum(len(ends) for ends in self.ends_mm)

    @property
    def body(self) -> np.ndarray:
        """Which body each height is on."""
        return np.repeat(np.arange(len(self.names)), [len(ends) for ends in self.ends_mm])

    def at(self, name: str, x_mm: float) -> np.ndarray:
        """Give what the height of a body at a place, carried on beyond its ends, takes of each height.

        >>> Straight(names=("a", "b"), ends_mm=((0.0, 10.0), (5.0,))).at("a", 20.0).tolist()
        [-1.0, 2.0, 0.0]
        """
        k = self.names.index(name)
        start, ends = sum(len(one) for one in self.ends_mm[:k]), self.ends_mm[k]
        weights = np.zeros(self.points)
        if len(ends) == 1:
            weights[start] = 1.0
        else:
            share = (x_mm - ends[0]) / (ends[1] - ends[0])
            weights[start : start + 2] = 1 - share, share
        return weights

    def slope(self, name: str) -> np.ndarray:
        """Give what the slope of a body, in um per mm, takes of each height; nothing where it has one place."""
        return self.at(name, 1.0) - self.at(name, 0.0)

    def has_slope(self, name: str) -> bool:
        """Say whether a body was read at more than one place."""
        return len(self.ends_mm[self.names.index(name)]) == 2

    def on(self, *names: str) -> np.ndarray:
        """Give 1 for each height of these bodies, and 0 for all others."""
        return np.isin(self.body, [self.names.index(name) for name in names]).astype(float)


def ends_of(x_mm: np.ndarray) -> tuple[float, ...]:
    """Give the first and the last of some places, or the one where all are one.

    >>> ends_of(np.array([50.0, 300.0, 50.2])), ends_of(np.array([7.0, 7.1]))
    ((50.0, 300.0), (7.0,))
    """
    first, last = float(x_mm.min()), float(x_mm.max())
    return (first, last) if last - first > SAME_MM else (first,)


@dataclass(frozen=True, kw_only=True)
class Reading:
    """One reading of straight bodies.

    `row`: line of the file. `group`: which set-up it belongs to, in words. `heights` (points,): what each height does
    to it. `low`, `high`: equal for a figure. `zeros`: what each zero does to it, and one standard deviation of each
    error that is known beforehand. `tool`: place of its instrument. `x_mm`: where, for those who ask. `turns`: the zero
    that changes its sign when what is read is turned; empty where none does. `key`: what it was read with or of, as the
    code names it; empty where nothing asks.
    """

    row: int
    group: str
    heights: np.ndarray
    low: float
    high: float
    zeros: dict[str, float] = field(default_factory=dict)
    tool: int = 0
    x_mm: float = 0.0
    turns: str = ""
    key: str = ""


def straight_network(
    table: AlignmentReadings,
    bodies: Straight,
    readings: Sequence[Reading],
    tools: tuple[Instrument, ...],
    rigid: Sequence[np.ndarray],
    known: Collection[str],
) -> Network:
    """Put readings of straight bodies against their heights.

    `rigid` (points,): what moves heights as one, which no reading shows and nobody asks for. `known`: zeros that are
    known beforehand, counted in standard deviations of theirs; all others may be anything.
    """
    points = bodies.points
    zeros = list(dict.fromkeys(name for one in readings for name in one.zeros))
    refuse_too_many(table, points + len(zeros), f"{len(bodies.names)} bodies")
    place = {name: k for k, name in enumerate(zeros)}
    design = np.zeros((len(readings), points + len(zeros)))
    for r, one in enumerate(readings):
        design[r, :points] = one.heights
        for name, weight in one.zeros.items():
            design[r, points + place[name]] = weight
    groups = tuple(dict.fromkeys(one.group for one in readings))
    x = np.array([end for ends in bodies.ends_mm for end in ends])
    along = (x - x.mean()) / max(float(np.ptp(x)) / 2, 1e-9)
    return Network(
        source=table.source,
        round=int(table.round[0]),
        bodies=bodies.names,
        body=bodies.body,
        x_mm=x,
        y_mm=np.zeros(points),
        rigid=np.stack([*rigid], axis=1) if len(rigid) else np.zeros((points, 0)),
        own=np.stack([np.ones(points), along], axis=1),
        shape_at=along[:, None],
        design=design,
        low=np.array([one.low for one in readings]),
        high=np.array([one.high for one in readings]),
        instrument=np.array([one.tool for one in readings], int),
        instruments=tools,
        group=np.array([groups.index(one.group) for one in readings], int),
        groups=groups,
        row=np.array([one.row for one in readings], int),
        along_mm=np.full(len(readings), np.nan),
        laying=np.full(len(readings), -1),
        nuisance=tuple(zeros),
        nuisance_sd=np.array([1.0 if name in known else np.inf for name in zeros]),
    )


def candidate(name: str, rows: Sequence[Reading], solved: SolvedHeights) -> Candidate:
    """Give readings that could be taken next, over all unknowns: zeros are free, what is known beforehand stays."""
    network = solved.network
    known = {name for name, sd in zip(network.nuisance, network.nuisance_sd, strict=True) if np.isfinite(sd)}
    zeros = list(dict.fromkeys(one for row in rows for one in row.zeros if one not in known))
    free = np.array([[row.zeros.get(one, 0.0) for one in zeros] for row in rows])
    weights = np.zeros((len(rows), network.design.shape[1]))
    for r, row in enumerate(rows):
        weights[r, : network.points] = row.heights
        for k, zero in enumerate(network.nuisance):
            weights[r, network.points + k] = row.zeros.get(zero, 0.0) if zero in known else 0.0
    sd = np.array([max(solved.spreads.sd[row.tool], 1e-9) for row in rows])[:, None]
    return Candidate(name, free_of(free / sd) @ (weights / sd) if zeros else weights / sd)


def next_of_straight(solved: SolvedHeights, candidates: list[Candidate], unit: str = "um") -> NextReading | None:
    """Choose what to read next: what shows something hidden, or brings the deviation of the heights down most."""
    points, unknowns = solved.network.points, solved.network.design.shape[1]
    covariance = solved.solved.cofactor
    if solved.by_intervals:
        covariance = np.zeros((unknowns, unknowns))
        covariance[:points, :points] = solved.covariance
    loose = np.zeros((unknowns, len(solved.hidden)))
    loose[:points] = solved.hidden.T
    return next_reading(covariance, solved.equations.datum, candidates, unit, loose if loose.size else None)


@dataclass(frozen=True, kw_only=True)
class Aligned(OnHeights):
    """What readings of straight bodies come to.

    `heights`: of the ends of every body. `features`: what was asked, each beside its limit. `work`: what goes under a
    foot, how far a part is swung, what comes off where.
    """

    features: tuple[Feature, ...]
    work: tuple[Feature, ...] = ()
