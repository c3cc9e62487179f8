"""How far each body is out against the passes taken, on a log scale with its floor."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from simulate.method.bars.bar_history import BarHistory
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import next_round


class LogCurves:
    """Named curves and levels on a log scale, drawn anew only where a run is a new one, and a cursor along them.

    `levels`: names of horizontal lines. `what`: what is drawn, for the title: ``"Out of straight"``. `along`: what is
    counted along x.
    """

    def __init__(
        self, canvas: Canvas, axes: Axes, units: str, curves: dict, levels: Sequence[str], what: str, along: str
    ) -> None:
        self.canvas, self.axes, self.units = canvas, axes, units
        moving, slow = canvas.moving, canvas.slow
        self._levels = {n: slow(axes.axhline(1, color="#777777", lw=1.5, ls=(0, (1, 3)), zorder=1)) for n in levels}
        self._cursor = moving(axes.axvline(0, color="#555555", lw=1.5, zorder=2))
        self._curves = {n: slow(axes.plot([], [], line, color=c, zorder=3)[0]) for n, (c, line) in curves.items()}
        self._now = [moving(axes.plot([], [], m, color=c, ms=10, mec="white", zorder=5)[0]) for c, _, m in style.LINES]
        colours = {n: c for n, (c, _) in curves.items()} | dict.fromkeys(levels, "#333333")
        self._names = {n: slow(Words(axes, style.BODY, colour=style.letters(c))) for n, c in colours.items()}
        self._leads = {n: slow(axes.plot([], [], color="#777777", lw=1, clip_on=False)[0]) for n in colours}
        self._ends: tuple = ()
        self._x, self._run, self._floors = np.zeros(1), {}, {}
        self._whole = True
        axes.set_yscale("log")
        axes.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.yaxis.set_minor_formatter(NullFormatter())
        axes.set_xlabel(along)
        axes.set_title(f"{what} ({style.small_unit(units)}, log scale)", loc="left")
        axes.grid(axis="y", color="#DDDDDD", lw=0.8)

    def put(self, x: np.ndarray, curves_um: dict[str, np.ndarray], levels_um: dict[str, float]) -> None:
        """Take over the curves of a run; the axes are drawn anew only where their ends must move.

        `x` (steps,), `curves_um` (steps,).
        """
        curves = {n: style.small(np.maximum(v, 0.05), self.units) for n, v in curves_um.items()}
        levels = {n: style.small(max(v, 0.05), self.units) for n, v in levels_um.items()}
        self._x, self._run, self._floors, self._whole = x, curves, levels, True
        for name, values in curves.items():
            self._curves[name].set_data(x, values)
        for name, line in self._levels.items():
            line.set_visible(name in levels)
            line.set_ydata([levels.get(name, 1.0)] * 2)
        shown = [*levels.values(), *(e for v in curves.values() for e in (v.min(), v.max()))]
        self._scale(int(x[-1]), min(shown), max(shown))
        self.canvas.renew()
        self._name({n: v[-1] for n, v in curves.items()} | levels, x[-1])

    def _scale(self, last: int, low: float, high: float) -> None:
        """Round ends, so that most changes of a slider leave the axes as they are."""
        right, top = next_round(max(last, 10)), next_round(1.2 * high)
        ends = right, min(0.5 * next_round(low / 1.2), top / 20), top
        if ends != self._ends:
            self._ends = ends
            self.axes.set_xlim(-0.02 * right, 1.02 * right)
            self.axes.set_ylim(*ends[1:])
            self.canvas.invalidate()

    def _name(self, ends: dict[str, float], at_x: float) -> None:
        """Put the names beside the axes, pushed apart where they would meet, each with a thread to where its line
        ends."""
        low, high = np.log(self.axes.get_ylim())
        order = sorted(ends, key=ends.get)
        at = np.array([(np.log(max(ends[n], 1e-9)) - low) / (high - low) for n in order])
        for _ in range(200):
            close = np.diff(at) < 0.062
            if not close.any():
                break
            at[:-1][close] -= 0.004
            at[1:][close] += 0.004
            at = np.clip(at, 0.02, 0.98)
        left, right = self.axes.get_xlim()
        wide = right - left
        ends_at = right if self._whole else at_x
        for y, name in zip(np.exp(low + at * (high - low)), order):
            self._names[name].set_text(name)
            self._names[name].set_position((right + 0.07 * wide, y))
            self._leads[name].set_data([ends_at, right + 0.06 * wide], [ends[name], y])

    def at(self, x: float, values_um: np.ndarray) -> None:
        """Move the cursor.

        `values_um` (bodies,).
        """
        self._cursor.set_xdata([x, x])
        for mark, value in zip(self._now, values_um):
            mark.set_data([x], [style.small(max(value, 0.05), self.units)])
        if not (self.canvas.ahead and self._whole):
            self._as_far_as(np.inf if self.canvas.ahead else x)

    def _as_far_as(self, x: float) -> None:
        """Draw the curves to a place in the run, and no floor that they are still to reach."""
        seen, self._whole = self._x <= x, bool(self._x[-1] <= x)
        for name, values in self._run.items():
            self._curves[name].set_data(self._x[seen], values[seen])
        levels = {n: v for n, v in self._floors.items() if self._whole or n != "floor"}
        for name in self._floors:
            self._levels[name].set_visible(name in levels)
            if name not in levels:
                self._names[name].set_text("")
                self._leads[name].set_data([], [])
        self._name({n: v[seen][-1] for n, v in self._run.items()} | levels, self._x[seen][-1])
        self.canvas.renew()


class Convergence(LogCurves):
    """A whole run of bars, and a cursor that moves along it.

    `widest_gap`: whether the widest gap of each look is drawn as well.
    """

    def __init__(self, canvas: Canvas, axes: Axes, units: str = "mm", widest_gap: bool = False) -> None:
        self.widest_gap = widest_gap
        curves = {f"bar {k + 1}": (c, line) for k, (c, line, _) in enumerate(style.LINES)}
        if widest_gap:
            curves["widest gap"] = ("#555555", "-.")
        super().__init__(canvas, axes, units, curves, ("floor",), "Out of straight", "passes over all bars")

    def frame(self, history: BarHistory, floor_um: float | None = None) -> None:
        """Take over the curves of a run, and where they end, if that is known."""
        steps = history.steps
        form = np.array([s.straightness_um for s in steps])
        curves = {f"bar {k + 1}": form[:, k] for k in range(form.shape[1])}
        if self.widest_gap:
            curves["widest gap"] = np.array([s.gap_um.max() for s in steps])
        self.put(np.array([s.passes for s in steps]), curves, {} if floor_um is None else {"floor": floor_um})

    def show(self, history: BarHistory, position: int) -> None:
        """Move the cursor to one look."""
        self.at(history.steps[position].passes, history.steps[position].straightness_um)
