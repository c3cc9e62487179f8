"""What a run of plates leaves behind: every picture and table comes from it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class PlateStep:
    """One marking and the scraping that followed it, for one workshop.

    `number`: counted from 1. `slide`: the upper plate lies face down on the lower one, so turned and slid. `height_um`
    (plates, rows, columns): all plates as they stand at this look. `gap_um` (rows, columns): on the lower plate's grid;
    nan where the upper does not reach. `printed` (rows, columns) of bool: where the film marks the lower plate.
    `contacts_mm` (3, 2). `film_um`, `depth_um`: thickness of the marking and deepest cut of this pass. `close`: part of
    what meets where the forms lie closer than the thin, finishing film; what prints is less, by the grain:
    `prints.print_at`. `removed_um` (plates, rows, columns). `flatness_um` (plates,): least squares, peak to valley,
    before the cut.
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

    `x_mm` (columns,), `y_mm` (rows,), `height_um` ([workshops,] rounds + 1, plates, rows, columns). `flatness_um`
    ([workshops,] rounds + 1, plates): peak to valley from the least-squares plane: never below the minimum zone, and
    quicker. `flatness` gives the minimum zone of any of them. `close` ([workshops,] rounds + 1): mean over the round's
    fits of the part where the forms lay closer than the thin film; nan at the start. `passes` (rounds + 1,) of int:
    markings since the start. `metal_mm3` ([workshops,] rounds + 1, plates): taken from each plate since the start.
    `steps`: every pass of a single workshop; empty for many. `settled_um` ([workshops,] plates): out of flat, as
    `flatness_um`, long after the last marking, when castings have let go all that was freed.
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

    `markings`: over so many markings, up to the last whole round,. `part`: the worst plate fell by no more than this
    part of itself, or by half a micrometre. Returns ([workshops]) of bool: false where no more than that was marked in
    whole rounds.

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
