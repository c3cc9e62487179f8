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
    bearing : float
        Part of what meets that prints with the thin, finishing film.
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
    bearing: float
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
    bearing : ndarray, shape ([workshops,] rounds + 1)
        Mean over the round's fits of the part that printed with the thin film;
        nan at the start.
    passes : ndarray of int, shape (rounds + 1,)
        Markings since the start.
    metal_mm3 : ndarray, shape ([workshops,] rounds + 1, plates)
        Taken from each plate since the start.
    schedule : tuple of (lower, upper, turned, slide)
    steps : tuple of PlateStep
        Every pass of a single workshop; empty for many.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    height_um: np.ndarray
    flatness_um: np.ndarray
    bearing: np.ndarray
    passes: np.ndarray
    metal_mm3: np.ndarray
    schedule: tuple
    steps: tuple[PlateStep, ...] = ()
