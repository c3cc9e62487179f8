"""Scraping a surveyed plate flat: where the metal is, how much, and in what order."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.seating.plate_seat import seat_plate
from simulate.core import checks


@dataclass(frozen=True)
class CutPlan:
    """Where the metal is, how much, and in what order.

    Attributes
    ----------
    remove_um : ndarray, shape (..., rows, columns)
    first_pass : ndarray of int, shape (..., rows, columns)
        The pass in which each place is worked for the first time; 0 never.
    passes : int or ndarray of int, shape (...)
    """

    remove_um: np.ndarray
    first_pass: np.ndarray
    passes: np.ndarray


def cut_plan(x_mm: ArrayLike, y_mm: ArrayLike, height_um: ArrayLike, pass_um: float, leave_um: float = 0.0) -> CutPlan:
    """Say where the metal is, how much of it, and in what order it comes off.

    Parameters
    ----------
    x_mm, y_mm : array_like
    height_um : array_like, shape (..., rows, columns)
    pass_um : float
        What one pass takes.
    leave_um : float
        How much may stand above the plane at the end.

    Returns
    -------
    CutPlan

    Raises
    ------
    ValueError
        Where shapes differ or a number is out of its range.

    Notes
    -----
    The plane that is cut to touches the plate from below and leaves the least
    metal to take. The highest places come first, and others join in when they
    are as high: no pass goes below the plane by more than its own depth.

    Examples
    --------
    >>> plan = cut_plan([-1, 0, 1], [-1, 0, 1], [[0, 0, 0], [0, 25, 0], [0, 0, 0]], pass_um=10)
    >>> plan.remove_um[1, 1], plan.first_pass[1, 1], plan.passes
    (np.float64(25.0), np.int64(1), np.int64(3))
    """
    depth = checks.number(pass_um, "pass_um", 0, above=True)
    leave = checks.number(leave_um, "leave_um", 0)
    above = np.maximum(seat_plate(x_mm, y_mm, -checks.numbers(height_um, "height_um")).gap_um - leave, 0)
    each = np.ceil(above / depth - 1e-9).astype(int)
    passes = each.max(axis=(-2, -1))
    first = np.where(each > 0, passes[..., None, None] - each + 1, 0)
    return CutPlan(above, first, passes)


def after_passes(plan: CutPlan, pass_um: float, done: int) -> np.ndarray:
    """Give the metal that the first passes of a plan have taken.

    Parameters
    ----------
    plan : CutPlan
    pass_um : float
    done : int

    Returns
    -------
    ndarray, shape (..., rows, columns)

    Raises
    ------
    ValueError
        Where `done` is no whole number from 0 up.

    Examples
    --------
    >>> plan = cut_plan([-1, 0, 1], [-1, 0, 1], [[0, 0, 0], [0, 25, 0], [0, 0, 0]], pass_um=10)
    >>> after_passes(plan, 10, 2)[1, 1], after_passes(plan, 10, 9)[1, 1]
    (np.float64(20.0), np.float64(25.0))
    """
    done = checks.whole(done, "done", 0)
    checks.kind(plan, "plan", CutPlan)
    pass_um = checks.number(pass_um, "pass_um", 0, above=True)
    times = np.where(plan.first_pass > 0, np.maximum(done - plan.first_pass + 1, 0), 0)
    return np.minimum(times * pass_um, plan.remove_um)
