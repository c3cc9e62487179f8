"""After the stop: the three true shapes at any act, and the worst of them against the metal it cost."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from simulate.method.plates.symmetry import beyond_plane
from simulate.method.practice.acts import level_of
from simulate.method.practice.debrief import Debrief
from simulate.show.drawing import style
from simulate.show.drawing.bench_picture import own_line_out
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.plate_map import PlateMap, fine, line_step


class TruthPicture:
    """The film of a go, act by act, beside what it cost.

    `before`: metal and worst of the learner's go before on these bodies, which is drawn pale.
    """

    def __init__(self, dpi: int, units: str, told: Debrief, before: tuple | None = None) -> None:
        self._before = before
        self.canvas, self.told, self.units = Canvas(1280, 500, dpi), told, units
        self.body = level_of(told.states[0]).body
        with style.styled():
            self._shapes = (_Maps if told.level == "plates" else _Lines)(self.canvas, told, units, self.body)
            self._cost(self.canvas.figure.add_axes((0.68, 0.15, 0.305, 0.66)))
            whole = self.canvas.figure.add_axes((0, 0, 1, 1), frameon=False)
        whole.set(xlim=(0, 1), ylim=(0, 1), xticks=[], yticks=[])
        self._title = self.canvas.moving(Words(whole, style.BODY))
        self._title.set_position((0.02, 0.96))

    def _cost(self, axes: Axes) -> None:
        told, units = self.told, self.units
        most = max(told.metal_mm3[-1].sum(), told.loop.metal_mm3[-1], told.best.metal_mm3[-1])
        unit, part = ("cm³", 1000) if most > 500 else ("mm³", 1)
        self._metal = told.metal_mm3.sum(axis=-1) / part
        self._worst = style.small(told.worst_um.max(axis=-1), units)
        ways = (
            (self._metal, self._worst, "you", style.LINES[0]),
            (told.loop.metal_mm3 / part, style.small(told.loop.worst_um, units), "plain loop", style.LINES[1]),
            (told.best.metal_mm3 / part, style.small(told.best.worst_um, units), "best plan", style.LINES[2]),
        )
        if self._before is not None:
            ghost = style.small(self._before[1], units)
            axes.plot(self._before[0] / part, ghost, color="#888888", ls="-", lw=1.4, zorder=0)
            axes.text(self._before[0][-1] / part, ghost[-1], " attempt before", fontsize=style.SMALL, color="#555555")
        for metal, worst, name, (colour, dash, mark) in ways:
            axes.plot(metal, worst, color=colour, ls=dash, marker=mark, ms=5 if name == "you" else 7, label=name)
        aim = level_of(told.states[0]).aim_um
        axes.axhline(style.small(aim, units), color="#777777", lw=1.2, zorder=1)
        axes.annotate(
            f"aim: {style.spell(aim, units)}",
            (0.02, style.small(aim, units)),
            (0, 4),
            ha="left",
            xycoords=axes.get_yaxis_transform(),
            textcoords="offset points",
            fontsize=style.SMALL,
            zorder=1,
        )
        axes.set(
            xlabel=f"metal taken ({unit})",
            ylabel=f"worst {self.body} out ({style.small_unit(units)})",
            ylim=(0, 1.08 * max(worst.max() for _, worst, _, _ in ways)),
        )
        axes.set_xlim(left=0)
        axes.legend(
            loc="lower right", bbox_to_anchor=(1.03, 0.98), ncols=3, frameon=False, columnspacing=0.9, handlelength=1.6
        )
        self._here = self.canvas.moving(axes.plot([], [], "o", color=style.BLACK, ms=14, mfc="none", mew=3)[0])

    def show(self, place: int, words: str) -> None:
        """Draw the truth after one act.

        `place`: 0 is the start. `words`: what that act was.
        """
        self._shapes.show(place)
        self._here.set_data([self._metal[place]], [self._worst[place]])
        self._title.set_text(words)


class _Lines:
    """Bars and gauges: a line for each, its own line taken out, on a scale that grows as they get better."""

    def __init__(self, canvas: Canvas, told: Debrief, units: str, body: str) -> None:
        self._canvas, self._top = canvas, 0.0
        self._axes = axes = canvas.figure.add_axes((0.075, 0.15, 0.52, 0.66))
        self._heights = style.small(own_line_out(told.x_mm, told.height_um), units)
        x = style.place(told.x_mm, units)
        axes.set(
            xlim=(x[0], x[-1]),
            ylabel=f"true height ({style.small_unit(units)})",
            xlabel=f"position along the {body} ({'in' if units == 'inch' else 'mm'})",
        )
        dots = told.level == "lands"
        self._lines = [
            canvas.moving(
                axes.plot(
                    x,
                    self._heights[0, k],
                    color=colour,
                    ls=dash,
                    label=f"{body} {k + 1}",
                    marker=mark if dots else "",
                    ms=9,
                    zorder=3,
                    clip_on=not dots,
                )[0]
            )
            for k, (colour, dash, mark) in enumerate(style.LINES)
        ]
        axes.legend(loc="lower left", bbox_to_anchor=(0, 0.98), ncols=3, frameon=False)

    def show(self, place: int) -> None:
        """Draw the shapes after one act."""
        for line, height in zip(self._lines, self._heights[place]):
            line.set_ydata(height)
        top = 5 * line_step(0.8 * max(1.15 * np.abs(self._heights[place]).max(), 0.1))
        while top < 1.05 * np.abs(self._heights[place]).max():
            top *= 1.5
        if top != self._top:
            self._top = top
            self._axes.set_ylim(-top, top)
            self._canvas.invalidate()


class _Maps:
    """Plates: a map for each, its own plane taken out."""

    def __init__(self, canvas: Canvas, told: Debrief, units: str, body: str) -> None:
        self._heights, self._units = beyond_plane(told.height_um), units
        self._maps = [
            PlateMap(
                canvas, canvas.figure.add_axes((left, 0.2, 0.18, 0.18 * 1280 / 500)), bar=units if left > 0.4 else ""
            )
            for left in (0.015, 0.205, 0.395)
        ]
        self._scale = canvas.moving(Words(self._maps[0].axes, style.BODY))
        self._scale.set_position((-1, -1.12))
        self._told, self._body = told, body

    def show(self, place: int) -> None:
        """Draw the shapes after one act."""
        heights = self._heights[place]
        top = float(np.abs(heights).max())
        lines = style.to_um(line_step(style.small(top, self._units)), self._units)
        for k, (shown, height) in enumerate(zip(self._maps, heights)):
            out = style.spell(self._told.worst_um[place, k], self._units)
            shown.show(f"{self._body.capitalize()} {k + 1}: {out}", fine(height), lines, top)
        self._scale.set_text(f"Lines every {style.spell(lines, self._units)}; proud solid, zero dotted, hollow dashed")
