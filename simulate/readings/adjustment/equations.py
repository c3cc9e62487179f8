"""Readings of any kind as one set of equations, and what follows from the equations alone."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.least_squares import least_squares
from simulate.readings.adjustment.bounds import Contradiction

_ROUNDS = 30
NO_ROW = -1
LEAST_SPREAD = 1e-3
"""No point reading is taken to be surer than this, in um."""


@dataclass(frozen=True)
class Equations:
    """reading = design @ unknown + error, whatever the readings are of.

    `design` (readings, unknowns): seats and instrument zeros are unknowns like others. `reading` (readings,). `sd`
    (readings,): standard deviation of each reading; inf where one does not weigh. `group` (readings,) of int: which
    fit, line or gauge each reading belongs to. `groups`: their names. `row` (readings,) of int: line of the file;
    `NO_ROW` where it is no reading but what is known of a reference already. `datum` (values, unknowns): turns unknowns
    into the values asked for, with what cannot be known taken out. `sd_from`: ``"given"``, ``"residuals"``,
    ``"intervals"`` or ``"assumed"``. `against`: what is known of intervals that contradict each other. `rounding`
    (readings,) or one for all: deviation that rounding alone makes of readings whose spread was found.
    """

    design: np.ndarray
    reading: np.ndarray
    sd: np.ndarray
    group: np.ndarray
    groups: tuple[str, ...]
    row: np.ndarray
    datum: np.ndarray
    sd_from: str
    unit: str = "um"
    against: Contradiction | None = None
    rounding: np.ndarray | float = 0.0


@dataclass(frozen=True)
class Solved:
    """Least squares of a set of equations.

    `used`: places of the readings that weigh. `weighted_residual` (used,): residual over the reading's own deviation.
    `reach` (used, rank): orthonormal; what the unknowns can do to the weighted readings. `redundancy` (used,): how much
    of each reading the others foretell, 0 to 1; they add up to `dof`. `cofactor` (unknowns, unknowns): covariance of
    the unknowns, where they can be told.
    """

    used: np.ndarray
    weighted_residual: np.ndarray
    reach: np.ndarray
    redundancy: np.ndarray
    dof: int
    cofactor: np.ndarray


def solve(equations: Equations) -> Solved:
    """Solve the equations by weighted least squares.

    >>> twice = Equations(np.ones((2, 1)), np.array([1.0, 3.0]), np.ones(2), np.zeros(2, int), ("fit",),
    ...                   np.array([2, 3]), np.eye(1), "given")
    >>> found = solve(twice)
    >>> found.dof, found.redundancy.round(6).tolist(), found.weighted_residual.round(6).tolist()
    (1, [0.5, 0.5], [-1.0, 1.0])
    """
    used = np.flatnonzero(np.isfinite(equations.sd))
    if not used.size:  # every reading is open on one side
        size = equations.design.shape[1]
        return Solved(used, np.zeros(0), np.zeros((0, 0)), np.zeros(0), 0, np.zeros((size, size)))
    sd = equations.sd[used]
    fit, right = least_squares(equations.design[used], sd), equations.reading[used] / sd
    residual = right - fit.reach @ (fit.reach.T @ right)
    residual -= fit.reach @ (fit.reach.T @ residual)
    redundancy = np.clip(1 - (fit.reach**2).sum(axis=1), 0, 1)
    redundancy[redundancy < 1e-7] = 0.0
    return Solved(used, residual, fit.reach, redundancy, used.size - fit.reach.shape[1], fit.cofactor)


def usual_sd(equations: Equations) -> float:
    """Return how sure the usual reading is: the middle one of all deviations."""
    firm = equations.sd[np.isfinite(equations.sd) & (equations.row != NO_ROW)]
    return float(np.median(firm)) if firm.size else 1.0


def free_of(lines: np.ndarray) -> np.ndarray:
    """Return the projector that takes out what a seat of its own takes up.

    `lines` (readings, seats). Returns (readings, readings).

    >>> free_of(np.ones((2, 1))).round(6).tolist()
    [[0.5, -0.5], [-0.5, 0.5]]
    """
    return np.eye(len(lines)) - lines @ np.linalg.pinv(lines)


def point_spread(design: np.ndarray, reading: np.ndarray, sd: np.ndarray, point: np.ndarray) -> tuple[float, int]:
    """Find the spread of point readings that stand among intervals.

    `design` (readings, unknowns), `reading` (readings,). `sd` (readings,): that of the intervals is used. `point`
    (readings,) of bool. Returns `sd`: 1 where nothing tells it. `freedom`: how many readings' worth of checking it
    rests on, rounded down; 0 where nothing tells it.

    The spread at which the squares of the points' residuals add up to what their redundancy makes of it, found
    step by step (estimation of variance components in geodesy, after F. Helmert; from memory).

    >>> spread, freedom = point_spread(np.ones((3, 1)), np.array([1.0, 3.0, 2.0]), np.ones(3), np.array([True] * 3))
    >>> round(spread, 6), freedom
    (1.0, 2)
    """
    found, freedom = 1.0, 0
    nobody = np.zeros(reading.size, int)
    for _ in range(_ROUNDS):
        each = np.where(point, found, sd)
        solved = solve(
            Equations(design, reading, each, nobody, ("",), nobody, np.zeros((1, design.shape[1])), "assumed")
        )
        spare = float(solved.redundancy[point].sum())
        if spare < 1 - 1e-6:
            break  # smaller than this, the points would check nothing any more
        freedom = int(spare + 1e-6)
        last, found = (
            found,
            max(float(np.sqrt(((solved.weighted_residual * each)[point] ** 2).sum() / spare)), LEAST_SPREAD),
        )
        if abs(found - last) < 1e-4 * last:
            break
    return found, freedom
