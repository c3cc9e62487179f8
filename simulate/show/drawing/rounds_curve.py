"""Errors against rounds done, on a log scale, each curve named at its end; and which look of a run is shown."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import FuncFormatter, NullFormatter

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words


def look_at(looks: tuple, look: int):
    """Give one look of a run; past the last one the last, as it stood afterwards.

    `look`: counted from 1. Returns: the look, and whether the run is over.

    >>> look_at(("first", "second"), 3)
    ('second', True)
    """
    return looks[min(look, len(looks)) - 1], look > len(looks)


class RoundsCurve:
    """Curves that fall from round to round.

    `axes` (Axes). `reach`: least and most, in the learner's unit. `names`: at most three. `words`: label of the upright
    axis. `floor`: name of the zone that the curves end in; none where it is empty.
    """

    def __init__(
        self,
        canvas: Canvas,
        axes,
        rounds: int,
        reach: tuple[float, float],
        names: tuple[str, ...],
        words: str,
        floor: str = "",
    ) -> None:
        self._least, self._rounds, self._names = reach[0], rounds, names
        self._canvas = canvas
        high_px = 100 * axes.get_position().height * canvas.figure.get_size_inches()[1]
        self._apart = 20 / high_px * np.log10(reach[1] / reach[0])
        axes.set_yscale("log")
        axes.set_xlim(-0.15, rounds + 0.15)
        axes.set_ylim(*reach)
        axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.yaxis.set_minor_formatter(NullFormatter())
        axes.set_xticks(range(rounds + 1))
        axes.set_xlabel("rounds done")
        axes.set_ylabel(f"{words}, log scale")
        axes.grid(color="#DDDDDD", lw=0.8)
        make, start = canvas.moving, np.ones(rounds + 1)
        self._curves = [
            make(axes.plot(range(rounds + 1), start, line + mark, color=colour, ms=7)[0])
            for (colour, line, mark), _ in zip(style.LINES, names)
        ]
        self._zone = make(axes.axhspan(reach[0], reach[0], facecolor=style.STEEL, lw=0, zorder=0)) if floor else None
        self._names += (floor,) * bool(floor)
        self._now = make(axes.axvline(0, color="#999999", lw=6, alpha=0.35))
        self._said = [Words(axes, style.SMALL) for _ in self._names]
        make(*self._said)

    def show(self, values: np.ndarray, round_now: int, floor: float | None = None) -> None:
        """Set the curves.

        `values` (rounds + 1, curves): in the learner's unit; what is below the least is drawn there. `floor`: where the
        zone ends that the curves end in.
        """
        values = np.maximum(values if self._canvas.ahead else values[: round_now + 1], 1.05 * self._least)
        for k, curve in enumerate(self._curves):
            curve.set_data(range(len(values)), values[:, k])
        ends = list(values[-1])
        if self._zone is not None:  # where a run will end is not drawn before the run is over
            told = floor is not None and len(values) > self._rounds
            self._zone.set_height(floor - self._least if told else 0)
            ends += [floor] * told
        for said in self._said[len(ends) :]:
            said.set_text("")
        ends, at, under = np.log10(ends), {}, -np.inf
        for k in np.argsort(ends):
            at[k] = under = max(ends[k], under + self._apart)
        for k, said in enumerate(self._said[: len(ends)]):
            said.set_text(self._names[k])
            said.set_position((self._rounds + 0.25, 10 ** at[k]))
        self._now.set_xdata([round_now] * 2)
