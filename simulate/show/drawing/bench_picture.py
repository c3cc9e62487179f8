"""The bars on the bench: two face to face before a lamp, the gap glowing between them, the others beside them."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from simulate.method.bars.bar_history import BarStep
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import HeldScale, ScaleBar
from simulate.show.drawing.steel import Bodies, apart, lit_pair, shut

_FOOT, _HEAD = 47.0, 113.0  # where the pair lies, in parts of the picture's height of 120
_REST, _ALONE = 2.0, 21.0  # where the single bar stands, and the middle of its face
_ROOM = 42.0  # height that a shape may take up
TURNS = ("lifted, face up", "turned over", "face down")
"""How a bar comes to lie on another."""
_FACE_PX, _LIFT_PX = 8, 6  # height of a face that is seen from above, and how far a bar is lifted, in dots
_KEY = "Glow: visible light   Triangles: contact   Thick orange line: file here"


def own_line_out(x_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Heights less each bar's least-squares line: for drawing only.

    `x_mm` (points,), `height_um` (..., points). Returns (..., points).

    >>> own_line_out(np.array([0.0, 1, 2]), np.array([1.0, 2, 3])).round(9) + 0.0
    array([0., 0., 0.])
    """
    slopes = np.stack([np.ones_like(x_mm), x_mm - x_mm.mean()])
    slopes /= np.linalg.norm(slopes, axis=1, keepdims=True)
    return height_um - height_um @ slopes.T @ slopes


class BenchPicture:
    """Draws one look at the bench; everything that moves stays an artist.

    `scale`: of the panel that the picture stands in.
    """

    def __init__(
        self, canvas: Canvas, axes: Axes, bars: int = 3, units: str = "mm", scale: HeldScale | None = None
    ) -> None:
        self.canvas, self.axes, self.bars, self.units = canvas, axes, bars, units
        self.scale, self._length_mm = scale or HeldScale(), 0.0
        axes.set_ylim(0 if bars > 2 else 36, 120)
        for side in ("left", "right", "top"):
            axes.spines[side].set_visible(False)
        axes.set_yticks([])
        axes.set_xlabel(f"position along the bar ({'in' if units == 'inch' else 'mm'})")
        moving = canvas.moving
        self._pair, self._single = moving(Bodies(axes)), moving(Bodies(axes))
        self._outlines = [moving(axes.plot([], [], zorder=4, lw=2)[0]) for _ in range(bars)]
        self._cut = [
            moving(axes.plot([], [], color=style.ORANGE, lw=4, solid_capstyle="butt", zorder=4)[0]) for _ in range(2)
        ]
        self._touch = moving(axes.plot([], [], "v", color="white", mec=style.BLACK, mew=1.5, ms=12, zorder=6)[0])
        self._labels = [moving(Words(axes, style.BODY, ha="center")) for _ in range(bars)]
        self._factor, self._key = (moving(Words(axes, style.SMALL, va="top")) for _ in range(2))
        self._key.set_text(_KEY)

    def frame(self, length_mm: float, most_um: float) -> None:
        """Set the axes for bars of this length; where it is a new one, the background is drawn anew.

        `most_um`: the scale is held where a shape of this height has room.
        """
        if length_mm == self._length_mm:
            return
        self._length_mm = length_mm
        half = style.place(length_mm, self.units) / 2
        self.axes.set_xlim(-1.04 * half, 1.04 * half)
        box = self.axes.get_window_extent()
        low, high = self.axes.get_ylim()
        self._dots = box.height / (high - low)  # for a unit of height
        across = box.width / (2.08 * length_mm / 2)  # for a millimetre along the bar
        self._columns = round(across * length_mm)
        self._per_um = 1e-3 * across / self._dots  # units of height for 1 µm, life size
        self.scale.take(_ROOM / (self._per_um * most_um), False)
        self._factor.set_position((-half, 119.5))
        self._key.set_position((-half, _FOOT - 1.2))
        self._known = ScaleBar(self.canvas, self.axes, (0.63 * half, 115.2), self.units, room=18)
        for at in (-0.55, 0.55):
            jaw = Rectangle((half * (at - 0.12), _FOOT), 0.24 * half, 9, fc="#4D535A", ec=style.BLACK, lw=1.2, zorder=5)
            self.canvas.moving(self.axes.add_patch(jaw))
        self.canvas.invalidate()

    def show(self, x_mm: np.ndarray, step: BarStep, sight_um: float = 2.5, zoomed: bool = False) -> float:
        """Set all artists for one look.

        `x_mm` (points,). `sight_um`: the smallest gap that the eye sees. `zoomed`: whether heights fill the picture.
        Returns: how many times life size the heights are drawn.
        """
        x, low, high = self._lay_out(x_mm, step, zoomed)
        self._show_pair(x, low, high, step, sight_um)
        self._mark(x, x_mm, low, high, step)
        return self.scale.factor

    def turn(self, x_mm: np.ndarray, step: BarStep, turn: str, zoomed: bool = False) -> None:
        """Draw the upper bar on its way to the lower one, its form as it will lie.

        `turn`: one of `TURNS`. The bright edge is its face: above it, towards the reader, and below it.
        """
        x, low, high = self._lay_out(x_mm, step, zoomed)
        face, under = (self._dots * (_HEAD - self._columns_of(x, one)) for one in (high, low))
        room = max(under.min() - _LIFT_PX, 3.0 * _FACE_PX)  # rows between the head of the picture and the lower bar
        down = np.maximum(face - face.max() + room, 2.0 * _FACE_PX)
        flat = np.full_like(down, _FACE_PX / 2)
        top, bottom, filed = {
            TURNS[0]: (room + flat - down, 0 * flat + room, (_FACE_PX, 0)),
            TURNS[1]: (0.35 * room + 0 * flat, 0.65 * room + 0 * flat, (round(room), 0)),
            TURNS[2]: (flat, down, (0, _FACE_PX)),
        }[turn]
        self._pair.put(apart(top, bottom, filed, under, round((_HEAD - _FOOT) * self._dots)), (x[0], _FOOT))
        self._label(step.lower, f"Bar {step.lower + 1}: below", _FOOT + 5.0)
        self._label(step.upper, f"Bar {step.upper + 1}: {turn}", _HEAD - 0.5 * room / self._dots)
        self._outline(step.lower, x, low, _FOOT)
        ends = (_HEAD - one / self._dots for one in ((top, bottom) if turn == TURNS[0] else (bottom, top)))
        self._outline(step.upper, x, next(ends), next(ends)[0])
        for line in (self._touch, *self._cut):
            line.set_data([], [])

    def _lay_out(self, x_mm: np.ndarray, step: BarStep, zoomed: bool) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Set what stands round the pair; give places, and the faces of the lower and the upper bar, as drawn."""
        h = own_line_out(x_mm, step.height_um)
        low, high = h[step.lower], h[step.lower] + step.gap_um
        most = max(float(high.max() - low.min()), float(np.ptp(h, axis=1).max()), 0.5)
        unit = self.scale.take(_ROOM / (self._per_um * most), zoomed) * self._per_um
        x, base = style.place(1.0, self.units) * x_mm, 0.5 * (_FOOT + _HEAD) - unit * 0.5 * (high.max() + low.min())
        for bar in range(self.bars):
            if bar not in (step.lower, step.upper):
                self._show_single(bar, x, _ALONE + unit * (h[bar] - 0.5 * (h[bar].max() + h[bar].min())))
        self._factor.set_text(self.scale.words())
        self._known.show(unit)
        return x, base + unit * low, base + unit * high

    def _columns_of(self, x: np.ndarray, values: np.ndarray) -> np.ndarray:
        return np.interp(np.linspace(x[0], x[-1], self._columns), x, values)

    def _show_pair(self, x, low, high, step: BarStep, sight_um: float) -> None:
        rows = round((_HEAD - _FOOT) * self._dots)
        upper, lower = (self._dots * (_HEAD - self._columns_of(x, face)) for face in (high, low))
        gap = np.maximum(self._columns_of(x, step.gap_um), 0.0)
        self._pair.put(lit_pair(upper, lower, gap, sight_um, rows), (x[0], _FOOT))
        self._label(step.lower, f"Bar {step.lower + 1}: {self._part(step.lower, step)}", _FOOT + 5.0)
        self._label(step.upper, f"Bar {step.upper + 1}: {self._part(step.upper, step)}", _HEAD - 8.0)
        self._outline(step.lower, x, low, _FOOT)
        self._outline(step.upper, x, high, _HEAD)

    def _show_single(self, bar: int, x: np.ndarray, face: np.ndarray) -> None:
        top = min(float(face.max()), _FOOT - 5.0)
        rows = max(round((top - _REST) * self._dots), 1)
        self._single.put(shut(self._dots * (top - self._columns_of(x, face)), rows), (x[0], _REST))
        self._label(bar, f"Bar {bar + 1}: waiting on the bench", _REST + 4.0)
        self._outline(bar, x, np.minimum(face, top), _REST)

    def _part(self, bar: int, step: BarStep) -> str:
        if bar in step.filed:
            return "to be filed"
        if bar == step.lower and step.stage != "split" and self.bars > 2:
            return "gauge"
        return "laid on" if bar == step.upper else "below"

    def _label(self, bar: int, words: str, at: float) -> None:
        self._labels[bar].set_text(words)
        self._labels[bar].set_position((0, at))

    def _outline(self, bar: int, x: np.ndarray, face: np.ndarray, back: float) -> None:
        """Draw ends and back in the bar's colour; the face is left to the light."""
        colour, line, _ = style.LINES[bar]
        self._outlines[bar].set_data([x[0], x[0], x[-1], x[-1]], [face[0], back, back, face[-1]])
        self._outlines[bar].set_color(colour)
        self._outlines[bar].set_linestyle(line)

    def _mark(self, x, x_mm, low, high, step: BarStep) -> None:
        at = np.searchsorted(x_mm, step.contacts_mm).clip(0, x.size - 1)
        self._touch.set_data(x[at], high[at] + 2.6)
        for line, bar, face, sign in ((self._cut[0], step.lower, low, -1), (self._cut[1], step.upper, high, 1)):
            metal = step.removed_um[bar]
            line.set_data(x, np.where(metal > 0.2 * max(metal.max(), 1e-9), face + sign * 1.0, np.nan))


def _runs(x: np.ndarray, low: np.ndarray, high: np.ndarray, where: np.ndarray) -> list[np.ndarray]:
    """Outlines of the stretches where `where` holds."""
    edges = np.flatnonzero(np.diff(np.r_[False, where, False].astype(int)))
    shapes = []
    for a, b in zip(edges[::2], edges[1::2]):
        part = slice(max(a - 1, 0), min(b + 1, x.size))
        shapes.append(np.column_stack([np.r_[x[part], x[part][::-1]], np.r_[low[part], high[part][::-1]]]))
    return shapes
