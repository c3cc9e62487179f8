"""What a run of plates leaves behind: every picture and table comes from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class PlateStep:
    """One marking and the scraping that followed it, for one workshop.

    Attributes
    ----------
    number : int
        Counted from 1.
    lower, upper, turned : int
    slide : (int, int)
        The upper plate lies face down on the lower one, so turned and slid.
    height_um : ndarray, shape (plates, rows, columns)
        All plates as they stand at this look.
    gap_um : ndarray, shape (rows, columns)
        On the lower plate's grid; nan where the upper does not reach.
    printed : ndarray of bool, shape (rows, columns)
        Where the film marks the lower plate.
    contacts_mm : ndarray, shape (3, 2)
    film_um, depth_um : float
        Thickness of the marking and deepest cut of this pass.
    close : float
        Part of what meets where the forms lie closer than the thin, finishing film; what prints is less, by the grain:
        `prints.print_at`.
    removed_um : ndarray, shape (plates, rows, columns)
    flatness_um : ndarray, shape (plates,)
        Least squares, peak to valley, before the cut.
    """

    number: int
    lower: int
    upper: int
    turned: int
    slide: tuple[int, int]
    height_um: np.ndarray
    gap_um: np.ndarray
    printed: np.ndarray
    contacts_mm: np.ndarray
    film_um: float
    depth_um: float
    close: float
    removed_um: np.ndarray
    flatness_um: np.ndarray


@dataclass(frozen=True)
class PlateHistory:
    """A run of plates, the start first. One round is once through the schedule.

    Attributes
    ----------
    x_mm : ndarray, shape (columns,)
    y_mm : ndarray, shape (rows,)
    height_um : ndarray, shape ([workshops,] rounds + 1, plates, rows, columns)
    flatness_um : ndarray, shape ([workshops,] rounds + 1, plates)
        Peak to valley from the least-squares plane: never below the minimum
        zone, and quicker. `flatness` gives the minimum zone of any of them.
    close : ndarray, shape ([workshops,] rounds + 1)
        Mean over the round's fits of the part where the forms lay closer than
        the thin film; nan at the start.
    passes : ndarray of int, shape (rounds + 1,)
        Markings since the start.
    metal_mm3 : ndarray, shape ([workshops,] rounds + 1, plates)
        Taken from each plate since the start.
    schedule : tuple of (lower, upper, turned, slide)
    steps : tuple of PlateStep
        Every pass of a single workshop; empty for many.
    settled_um : ndarray, shape ([workshops,] plates), or None
        Out of flat, as `flatness_um`, long after the last marking, when castings have let go all that was freed.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    height_um: np.ndarray
    flatness_um: np.ndarray
    close: np.ndarray
    passes: np.ndarray
    metal_mm3: np.ndarray
    schedule: tuple
    steps: tuple[PlateStep, ...] = ()
    settled_um: np.ndarray | None = None


def floor_reached(history: PlateHistory, markings: int = 12, part: float = 0.02) -> np.ndarray:
    """Say whether a run has come to where more of the same helps no more.

    Parameters
    ----------
    markings : int
        Over so many markings, up to the last whole round,
    part : float
        the worst plate fell by no more than this part of itself, or by half a micrometre.

    Returns
    -------
    ndarray of bool, shape ([workshops])
        False where no more than that was marked in whole rounds.

    Examples
    --------
    >>> x, y = np.arange(4.0), np.zeros((4, 3, 2, 2))
    >>> flat = np.array([[90.0] * 3, [8.2] * 3, [8.1] * 3, [8] * 3])
    >>> run = PlateHistory(x, x, y, flat, np.ones(4), np.array([0, 6, 12, 18]), flat, ((0, 1, 0, (0, 0)),) * 6)
    >>> bool(floor_reached(run)), bool(floor_reached(run, markings=18))
    (True, False)
    """
    last = int(history.passes[-1]) // len(history.schedule)
    first = last - -(-markings // len(history.schedule))
    worst = history.flatness_um.max(axis=-1)
    if first < 1:
        return np.zeros(worst.shape[:-1], bool)[()]
    return worst[..., first] - worst[..., last] <= np.maximum(part * worst[..., last], 0.5)
