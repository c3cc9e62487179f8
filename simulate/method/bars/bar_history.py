"""What a run at the bench leaves behind: every picture and table comes from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class BarStep:
    """One look and the pass that followed it, for one workshop.

    Attributes
    ----------
    round : int
        Counted from 1.
    stage : str
        ``"fit"`` to the gauge, ``"split"`` the difference, ``"remake"`` the old gauge.
    lower, upper : int
        Bars that are compared; the upper one lies face down on the lower.
    filed : tuple of int
        Bars that go back into the vice after this look; empty when all is dark.
    height_um : ndarray, shape (bars, points)
        All bars as they stand at this look.
    gap_um : ndarray, shape (points,)
    contacts_mm : ndarray, shape (2,)
    light : ndarray of bool, shape (points,)
        Where the maker sees that it is open.
    removed_um : ndarray, shape (bars, points)
        Metal taken after this look.
    passes : int
        Passes over all bars before this one.
    straightness_um : ndarray, shape (bars,)
        Minimum-zone straightness, which the maker does not see.
    """

    round: int
    stage: str
    lower: int
    upper: int
    filed: tuple[int, ...]
    height_um: np.ndarray
    gap_um: np.ndarray
    contacts_mm: np.ndarray
    rocks: bool
    light: np.ndarray
    removed_um: np.ndarray
    passes: int
    straightness_um: np.ndarray


@dataclass(frozen=True)
class BarHistory:
    """A run of two or three bars, the start first.

    Attributes
    ----------
    x_mm : ndarray, shape (points,)
    height_um : ndarray, shape ([workshops,] rounds + 1, bars, points)
    straightness_um : ndarray, shape ([workshops,] rounds + 1, bars)
        Minimum zone.
    passes, metal_mm3 : ndarray, shape ([workshops,] rounds + 1, bars)
        On each bar, since the start.
    gauge : ndarray of int, shape ([workshops,] rounds + 1)
        The bar that serves as gauge after that round.
    light_um : ndarray, shape ([workshops,] rounds + 1)
        Widest gap that was left in the last look of the round; nan at the start.
    floor_um : float
        The gap at which the maker leaves a fit; bars end further out than this (`worst_bar`).
    steps : tuple of BarStep
        The looks of a single workshop, every one where its record has no lid; empty for many.
    looks_every : int
        Of a long record one look in so many is kept, and the first and the last of each fit.
    """

    x_mm: np.ndarray
    height_um: np.ndarray
    straightness_um: np.ndarray
    passes: np.ndarray
    metal_mm3: np.ndarray
    gauge: np.ndarray
    light_um: np.ndarray
    floor_um: float
    steps: tuple[BarStep, ...] = ()
    looks_every: int = 1
