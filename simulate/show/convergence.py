"""How far each bar is out against the passes taken, on a log scale with its floor."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, NullFormatter, LogLocator

from simulate.method.history import BarHistory
from simulate.show import style
from simulate.show.canvas import Canvas


class Convergence:
    """Draws a whole run once, and a cursor that moves along it.

    Parameters
    ----------
    canvas : Canvas
    axes : Axes
    units : str
    widest_gap : bool
        Whether the widest gap of each look is drawn as well.
    """

    def __init__(self, canvas: Canvas, axes: Axes, units: str = "mm", widest_gap: bool = False) -> None:
        self.canvas, self.axes, self.units, self.widest_gap = canvas, axes, units, widest_gap
        self._cursor = canvas.moving(axes.axvline(0, color="#555555", lw=1.5, zorder=2))
        self._now = [canvas.moving(axes.plot([], [], m, color=c, ms=10, mec="white", zorder=5)[0])
                     for c, _, m in style.LINES]
        self._still: list = []

    def frame(self, history: BarHistory) -> None:
        """Draw the curves of a run into the background.

        Parameters
        ----------
        history : BarHistory
        """
        for artist in self._still:
            artist.remove()
        axes, steps = self.axes, history.steps
        passes = np.array([s.passes for s in steps])
        form = style.small(np.maximum([s.straightness_um for s in steps], 0.05), self.units)
        floor = style.small(max(history.floor_um, 0.05), self.units)
        self._still = []
        ends = []
        for bar, (colour, line, _) in enumerate(style.LINES[: form.shape[1]]):
            self._still += axes.plot(passes, form[:, bar], line, color=colour, zorder=3)
            ends.append((form[-1, bar], f"bar {bar + 1}", colour))
        values = [form, [floor]]
        if self.widest_gap:
            gap = style.small(np.maximum([s.gap_um.max() for s in steps], 0.05), self.units)
            self._still += axes.plot(passes, gap, "-.", color="#555555", zorder=2)
            ends.append((gap[-1], "widest gap", "#333333"))
            values.append(gap)
        self._still.append(axes.axhline(floor, color="#555555", lw=1.5, ls=(0, (1, 3)), zorder=1))
        ends.append((floor, "floor", "#333333"))
        self._scale(passes, np.concatenate([np.ravel(v) for v in values]))
        self._name(ends, passes[-1])
        self.canvas.invalidate()

    def _scale(self, passes: np.ndarray, values: np.ndarray) -> None:
        axes = self.axes
        axes.set_yscale("log")
        low, high = values.min() / 1.5, values.max() * 1.6
        if high / low < 12:
            low = high / 12
        axes.set_ylim(low, high)
        axes.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.yaxis.set_minor_formatter(NullFormatter())
        last = max(int(passes[-1]), 1)
        axes.set_xlim(-0.02 * last, last * 1.02)
        axes.set_xlabel("passes over all bars")
        axes.set_title(f"Out of straight ({style.small_unit(self.units)}, log scale)", loc="left")
        axes.grid(axis="y", color="#DDDDDD", lw=0.8)

    def _name(self, ends: list, last: int) -> None:
        """Put the names at the line ends, pushed apart where they would meet."""
        low, high = np.log(self.axes.get_ylim())
        ends = sorted(ends, key=lambda e: e[0])
        at = np.array([(np.log(max(e[0], 1e-9)) - low) / (high - low) for e in ends])
        for _ in range(200):
            close = np.diff(at) < 0.062
            if not close.any():
                break
            at[:-1][close] -= 0.004
            at[1:][close] += 0.004
            at = np.clip(at, 0.02, 0.98)
        for y, (_, words, colour) in zip(at, ends):
            self._still.append(self.axes.text(1.03, y, words, transform=self.axes.transAxes, color=colour,
                                              va="center", fontsize=style.BODY, clip_on=False))

    def show(self, history: BarHistory, position: int) -> None:
        """Move the cursor to one look.

        Parameters
        ----------
        history : BarHistory
        position : int
        """
        step = history.steps[position]
        self._cursor.set_xdata([step.passes, step.passes])
        for mark, value in zip(self._now, step.straightness_um):
            mark.set_data([step.passes], [style.small(max(value, 0.05), self.units)])
