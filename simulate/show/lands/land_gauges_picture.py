"""Three land gauges laid on each other two by two, and beside them how far each middle stands out, look by look."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection
from matplotlib.patches import Polygon, Rectangle
from matplotlib.text import Text

from simulate.method.bars.bar_history import BarStep
from simulate.method.lands.gauge_making import LANDS, LandFit
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import HeldTop

PAIRS = ((0, 1), (0, 2), (1, 2))
NAMES = "ABC"
MOST_UM = 30.0
"""How far a middle may stand out at the start; pictures are held at what has room for it."""
KEY = (
    "Yellow, dotted: visible light     Thick orange: land filed after this step     Frame: the pair that is "
    "checked     Grey band: the floor"
)
PAD, HALF, _AT = (
    0.55,
    0.09,
    np.array([-1.0, 0.0, 1.0]),
)  # height and half width of a land, and where lands stand, as drawn
_TALL = 0.45
"""How high the largest error is drawn; a land of that size stays above the relief."""


class LandGaugesPicture:
    """Draws pairs and curve; everything that moves stays an artist."""

    def __init__(self, canvas: Canvas, units: str) -> None:
        self.canvas, self.units, self._top = canvas, units, HeldTop()
        moving, figure = canvas.moving, canvas.figure
        with style.styled():
            self._pairs = [_Pair(canvas, figure.add_axes((0.02, 0.70 - 0.295 * k, 0.585, 0.285)), k) for k in range(3)]
            self.curve = figure.add_axes((0.665, 0.215, 0.315, 0.695))
            self.curve.axhline(0, color="#777777", lw=1)
            self.curve.set_xlabel("steps")
            self.curve.set_title(
                f"middle land, proud is up ({style.small_unit(units)})", loc="left", fontsize=style.BODY
            )
            self._floor = self.curve.add_patch(
                Rectangle((0, 0), 1, 0, facecolor="#E4E4E4", edgecolor="#777777", hatch="..", lw=0, zorder=0)
            )
            self._rounds = LineCollection([], color="#AAAAAA", lw=1, linestyle=":", zorder=0)
            self.curve.add_collection(self._rounds, autolim=False)
            self._here = moving(self.curve.axvline(0, color="#999999", lw=6, alpha=0.4, zorder=1))
            self._lines = [
                self.curve.plot([], [], line, color=colour, label=f"gauge {n}", zorder=3)[0]
                for (colour, line, _), n in zip(style.LINES, NAMES)
            ]
            self._dots = [
                moving(self.curve.plot([], [], mark, color=colour, zorder=4)[0]) for (colour, _, mark) in style.LINES
            ]
            self._left: list[Text] = []
            self._zoomed = self.curve.text(0.02, 0.02, "", transform=self.curve.transAxes, fontsize=style.SMALL)
            self.curve.legend(loc="upper right", frameon=False)
            figure.text(0.5, 0.015, KEY, ha="center", va="bottom", fontsize=style.SMALL)

    def frame(self, middle_um: np.ndarray, steps: tuple[BarStep, ...], floor_um: float, zoomed: bool) -> None:
        """Take a new run: curves, rounds and floor are background.

        `middle_um` (looks, 3). `zoomed`: whether heights fill the picture.
        """
        self._told = style.small(middle_um, self.units)
        most = self._top.take(1.15 * style.small(MOST_UM, self.units), False)
        if zoomed:
            most = self._top.take(1.15 * max(np.abs(self._told).max(), style.small(1.0, self.units)), True)
        self._zoomed.set_text(self._top.words())
        last, floor = max(len(steps) - 1, 1), style.small(floor_um, self.units)
        self.curve.set_xlim(-0.02 * last, 1.02 * last)
        self.curve.set_ylim(-most, most)
        self._floor.set_bounds(-0.02 * last, -floor, 1.04 * last, 2 * floor)
        begins = [i for i in range(1, len(steps)) if steps[i].round != steps[i - 1].round]
        self._rounds.set_segments([[(i - 0.5, -most), (i - 0.5, most)] for i in begins])
        self._say_rounds([*(i - 0.5 for i in begins), last], [*begins, last], most)
        for line, heights in zip(self._lines, self._told.T):
            line.set_data(np.arange(len(steps)), heights)
        self.canvas.invalidate()

    def _say_rounds(self, at: list[float], looks: list[int], most: float) -> None:
        """Write at the end of each round how far the worst gauge is still out.

        `at`: where along the steps. `looks`: the first look after the round.
        """
        digits, unit = 2 if self.units == "inch" else 1, style.small_unit(self.units)
        while len(self._left) < len(at):
            self._left.append(self.curve.text(0, 0, "", rotation=90, ha="right", va="bottom", fontsize=style.SMALL))
        for k, text in enumerate(self._left):
            worst = np.abs(self._told[looks[k]]).max() if k < len(at) else 0.0
            text.set_text(f"{worst:.{digits}f} {unit} left" if k < len(at) else "")
            text.set_position((at[k] if k < len(at) else 0, -0.97 * most))

    def show(self, place: int, step: BarStep, middle_um: np.ndarray, fits: list[LandFit], read_um: np.ndarray) -> None:
        """Show one look.

        `middle_um` (3,). `fits`: of the three pairs. `read_um` (3,): what each pair is read as.
        """
        self._here.set_xdata([place, place])
        for dot, height in zip(self._dots, self._told[place]):
            dot.set_data([place], [height])
        fresh = max(np.abs(middle_um).max(), np.max([f.gap_um for f in fits]) / 2, 4.0)
        most = fresh if self._top.zoomed else MOST_UM
        digits = 2 if self.units == "inch" else 1
        for pair, fit, told in zip(self._pairs, fits, style.small(read_um, self.units)):
            looked = {step.lower, step.upper} == set(pair.pair)
            cut = (
                step.removed_um.reshape(3, LANDS, -1).any(axis=-1)[list(pair.pair)]
                if looked
                else np.zeros((2, LANDS), bool)
            )
            pair.show(
                middle_um[list(pair.pair)] / most,
                fit,
                most,
                looked,
                cut,
                f"read as {round(told, digits) + 0.0:+.{digits}f} {style.small_unit(self.units)}",
            )


class _Pair:
    """Two gauges face to face."""

    def __init__(self, canvas: Canvas, axes, k: int) -> None:
        moving, self.pair = canvas.moving, PAIRS[k]
        axes.set_xlim(-1.55, 3.05)
        axes.set_ylim(-0.8, 3.15)
        axes.axis("off")
        self._light = PolyCollection([], facecolor=style.SEEN, edgecolor="#A67C00", hatch=".", lw=0, zorder=4)
        axes.add_collection(self._light, autolim=False)
        moving(self._light)
        self._bodies = [
            moving(
                axes.add_patch(
                    Polygon([[0, 0]], closed=True, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2, zorder=3)
                )
            )
            for _ in range(2)
        ]
        self._file = LineCollection([], color=style.ORANGE, lw=6, zorder=5, capstyle="butt")
        axes.add_collection(self._file, autolim=False)
        moving(self._file)
        self._frame = moving(
            axes.add_patch(Rectangle((-1.5, -0.75), 4.5, 3.8, fill=False, edgecolor=style.BLACK, lw=2.5, visible=False))
        )
        a, b = (NAMES[i] for i in self.pair)
        self._words = [moving(Words(axes, style.BODY)) for _ in range(4)]
        for text, words, at in zip(self._words, (b, a), ((-1.38, 1.65), (-1.38, -0.25))):
            text.set_text(words)
            text.set_position(at)
        self._words[2].set_position((1.28, 1.3))
        self._words[3].set_position((1.28, 0.55))
        self._title = f"{b} on {a} "

    def show(self, middle: np.ndarray, fit: LandFit, most_um: float, looked: bool, cut: np.ndarray, read: str) -> None:
        low = _TALL * np.array([0, middle[0], 0]) + PAD
        high = _TALL * np.array([0, middle[1], 0]) + PAD
        gap = _TALL * fit.gap_um / most_um
        ends = (low + gap + high)[[0, 2]]
        seat = np.interp(_AT, [-1, 1], ends)
        self._bodies[0].set_xy(gauge_outline(low, np.zeros(3), 1))
        self._bodies[1].set_xy(gauge_outline(high, seat, -1))
        seen = fit.seen.open
        self._light.set_verts(
            [
                [(x - HALF, lo), (x + HALF, lo), (x + HALF, s - hi), (x - HALF, s - hi)]
                for x, lo, hi, s, o in zip(_AT, low, high, seat, seen)
                if o
            ]
        )
        faces = (low, seat - high)
        self._file.set_segments(
            [[(x - HALF, y), (x + HALF, y)] for face, row in zip(faces, cut) for x, y, c in zip(_AT, face, row) if c]
        )
        self._frame.set_visible(looked)
        state = (
            "rocks on the middle" if fit.rocks and seen.any() else "light in the middle" if seen[1] else "no light seen"
        )
        self._words[2].set_text(self._title + read)
        self._words[3].set_text(state)


def gauge_outline(land: np.ndarray, base: np.ndarray, way: int) -> list[tuple[float, float]]:
    """Outline of a gauge with three lands; `way` -1 hangs face down from the line `base`."""

    def at(x: float, y: float) -> tuple[float, float]:
        return x, float(base[1] + x * (base[2] - base[0]) / 2 + way * y)

    outline = [at(-1 - HALF, -0.6), at(-1 - HALF, land[0])]
    for x, top in zip(_AT, land):
        outline += [at(x - HALF, 0), at(x - HALF, top), at(x + HALF, top), at(x + HALF, 0)]
    return outline + [at(1 + HALF, -0.6)]
