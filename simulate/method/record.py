"""Keeps every look of a single workshop, in the order a maker would take them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulate.bench.seat import rest
from simulate.method.fitting import Fitted
from simulate.method.history import BarStep
from simulate.surface.form import straightness


class Recorder:
    """Collects the looks of one run.

    Parameters
    ----------
    x_mm : ndarray, shape (points,)
    threshold_um : float
        Gaps above this are seen.
    """

    def __init__(self, x_mm: np.ndarray, threshold_um: float) -> None:
        self._x, self._threshold = x_mm, threshold_um
        self._steps: list[BarStep] = []
        self._passes = 0

    def add(self, heights: np.ndarray, round_: int, stage: str, pairs: list[tuple[int, int]], share_lower: float,
            done: Fitted) -> None:
        """Take over the looks of one stage.

        Parameters
        ----------
        heights : ndarray, shape (bars, points)
            As the stage began.
        round_ : int
        stage : str
        pairs : list of (lower, upper)
            The bars of each row of `done`.
        share_lower : float
        done : Fitted
        """
        now = heights.copy()
        for row, (lower, upper) in enumerate(pairs):
            for look in (k for k in done.looks if k[0] == row):
                _, gap, first, last, low, up, low_cut, up_cut = look
                now[lower], now[upper] = low, up
                cut = np.zeros_like(now)
                cut[lower], cut[upper] = low_cut, up_cut
                filed = tuple(int(b) for b, c in ((lower, low_cut), (upper, up_cut)) if c.any())
                self._steps.append(BarStep(
                    round_, stage, int(lower), int(upper), filed, now.copy(), gap, self._x[[first, last]], False,
                    gap > self._threshold, cut, self._passes, np.empty(0)))
                self._passes += len(filed)

    def steps(self) -> tuple[BarStep, ...]:
        """Give the record, with form and rocking found for all looks at once.

        Returns
        -------
        tuple of BarStep
        """
        if not self._steps:
            return ()
        form = straightness(self._x, np.stack([s.height_um for s in self._steps])).value_um
        rocks = rest(self._x, np.stack([s.height_um[s.lower] + s.height_um[s.upper] for s in self._steps])).rocks
        return tuple(replace(s, straightness_um=f, rocks=bool(k)) for s, f, k in zip(self._steps, form, rocks))
