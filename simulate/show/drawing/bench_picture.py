"""The bars on the bench: two face to face with light in the gap, the others beside them."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.patches import Polygon

from simulate.method.bars.bar_history import BarStep
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words

_THICK = 12.0  # drawn thickness of a bar, in parts of the picture's height of 120
_ROOM = 20.0  # height that a shape may take up
_PAIR, _ALONE = 72.0, 17.0  # where the middle of the pair's faces and of the single bar's face lie
_STRIP, _STRIP_ROOM = 98.0, 12.0  # where the gap is drawn once more, alone and larger


def nice_factor(most: float) -> float:
    """Give the largest of 1, 2, 5, 10, 20 ... that is not above `most`.

    Examples
    --------
    >>> nice_factor(730.0), nice_factor(0.3)
    (500.0, 1.0)
    """
    power = 10.0 ** np.floor(np.log10(max(most, 1.0)))
    return float(max(f for f in (1 * power, 2 * power, 5 * power) if f <= max(most, 1.0)))


def own_line_out(x_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Heights less each bar's least-squares line: for drawing only.

    Parameters
    ----------
    x_mm : ndarray, shape (points,)
    height_um : ndarray, shape (..., points)

    Returns
    -------
    ndarray, shape (..., points)

    Examples
    --------
    >>> own_line_out(np.array([0.0, 1, 2]), np.array([1.0, 2, 3])).round(9) + 0.0
    array([0., 0., 0.])
    """
    slopes = np.stack([np.ones_like(x_mm), x_mm - x_mm.mean()])
    slopes /= np.linalg.norm(slopes, axis=1, keepdims=True)
    return height_um - height_um @ slopes.T @ slopes


def extent_um(own_um: np.ndarray, step: BarStep) -> tuple[float, float]:
    """Say how much room a look takes.

    Parameters
    ----------
    own_um : ndarray, shape (bars, points)
        Heights without each bar's own line.

    Returns
    -------
    heights_um, gap_um : float
        Room for the bars as they lie, and for the widest gap.
    """
    low = own_um[step.lower]
    pair = float((low + step.gap_um).max() - low.min())
    return max(pair, float(np.ptp(own_um, axis=1).max())), float(step.gap_um.max())


class BenchPicture:
    """Draws one look at the bench; everything that moves stays an artist.

    Parameters
    ----------
    canvas : Canvas
    axes : Axes
    bars : int
    units : str
    """

    def __init__(self, canvas: Canvas, axes: Axes, bars: int = 3, units: str = "mm") -> None:
        self.canvas, self.axes, self.bars, self.units = canvas, axes, bars, units
        self._length_mm = 0.0
        axes.set_ylim(0 if bars > 2 else 32, 120)
        for side in ("left", "right", "top"):
            axes.spines[side].set_visible(False)
        axes.set_yticks([])
        axes.set_xlabel(f"position along the bar ({'in' if units == 'inch' else 'mm'})")
        moving = canvas.moving
        self._light = moving(PolyCollection([], facecolor=style.SEEN, lw=0, zorder=1))
        axes.add_collection(self._light, autolim=False)
        self._strip = moving(PolyCollection([], facecolor=style.SEEN, lw=0, zorder=1))
        axes.add_collection(self._strip, autolim=False)
        self._dots = moving(
            axes.plot([], [], "o", color="#7A5C00", ms=3, zorder=1.5)[0]
        )  # a hatch costs ten times more
        self._strip_line = axes.plot([], [], color=style.BLACK, lw=1.5)[0]
        self._strip_top = moving(axes.plot([], [], color=style.BLACK, lw=1.5, zorder=2)[0])
        self._strip_words = moving(Words(axes, style.SMALL, va="top"))
        self._slabs = [self._slab() for _ in range(bars)]
        self._cut = [
            moving(axes.plot([], [], color=style.ORANGE, lw=5, solid_capstyle="butt", zorder=4)[0]) for _ in range(2)
        ]
        self._touch = moving(axes.plot([], [], "v", color=style.BLACK, ms=13, zorder=6)[0])
        self._labels = [moving(Words(axes, style.BODY, ha="center")) for _ in range(bars)]
        self._factor = moving(Words(axes, style.SMALL, va="top"))
        self._key = axes.text(
            0,
            0,
            "Dotted yellow: light   Triangles: contact   Thick orange line: file here",
            ha="left",
            va="bottom",
            fontsize=style.SMALL,
        )

    def _slab(self) -> Polygon:
        slab = Polygon([[0, 0]], closed=True, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2, zorder=3)
        self.axes.add_patch(slab)
        return self.canvas.moving(slab)

    def frame(self, length_mm: float) -> None:
        """Set the axes for bars of this length; where it is a new one, the background is drawn anew."""
        if length_mm == self._length_mm:
            return
        self._length_mm = length_mm
        half = style.place(length_mm, self.units) / 2
        self.axes.set_xlim(-1.04 * half, 1.04 * half)
        box = self.axes.get_window_extent()
        low, high = self.axes.get_ylim()
        across = box.width / (2.08 * length_mm / 2)  # pixels for a millimetre along the bar
        self._per_um = 1e-3 * across / (box.height / (high - low))  # picture heights for 1 µm, life size
        self._factor.set_position((-half, 42.5))
        self._strip_words.set_position((-half, high))
        self._strip_line.set_data([-half, half], [_STRIP, _STRIP])
        self._key.set_position((-half, 43.5))
        self.canvas.invalidate()

    def show(self, x_mm: np.ndarray, step: BarStep, room_um: tuple[float, float] = (0.0, 0.0)) -> float:
        """Set all artists for one look.

        Parameters
        ----------
        x_mm : ndarray, shape (points,)
        room_um : (float, float)
            Heights and a gap that are to have room as well: in a film the scale then stays from look to look.

        Returns
        -------
        float
            How many times life size the heights are drawn.
        """
        h = own_line_out(x_mm, step.height_um)
        low, high = h[step.lower], h[step.lower] + step.gap_um
        factor = nice_factor(_ROOM / (self._per_um * max(extent_um(h, step)[0], 0.5, room_um[0])))
        scale, x = factor * self._per_um, style.place(1.0, self.units) * x_mm
        base = _PAIR - scale * 0.5 * (high.max() + low.min())
        low, high = base + scale * low, base + scale * high
        foot, head = _PAIR - _ROOM / 2 - _THICK, _PAIR + _ROOM / 2 + _THICK
        middle = 0.25 * _THICK
        self._put(step.lower, x, low, foot, foot + 0.5 * _THICK - middle / 2, step)
        self._put(step.upper, x, high, head, head - 0.5 * _THICK + middle / 2, step)
        for bar in range(self.bars):
            if bar not in (step.lower, step.upper):
                top = _ALONE + scale * (h[bar] - 0.5 * (h[bar].max() + h[bar].min()))
                self._put(bar, x, top, 0.6, 3.6, step)
        self._light.set_verts(_runs(x, low, high, step.light))
        self._mark(x, x_mm, low, high, step)
        self._between = 0.5 * (low + high)
        self._factor.set_text(f"Bars: heights are drawn {_number(factor)} times as large as lengths")
        self._show_strip(x, step, room_um[1])
        return factor

    def _show_strip(self, x: np.ndarray, step: BarStep, room_um: float) -> None:
        """Draw the gap alone, as large as there is room for."""
        factor = nice_factor(_STRIP_ROOM / (self._per_um * max(step.gap_um.max(), 0.5, room_um)))
        top = _STRIP + factor * self._per_um * step.gap_um
        self._strip.set_verts(_runs(x, np.full(x.size, _STRIP), top, step.light))
        self._strip_top.set_data(x, top)
        every = np.flatnonzero(step.light)[::4]
        self._dots.set_data(np.tile(x[every], 2), np.r_[self._between[every], 0.5 * (_STRIP + top[every])])
        self._strip_words.set_text(f"The gap alone, drawn {_number(factor)} times as large as lengths")

    def _put(self, bar: int, x: np.ndarray, face: np.ndarray, back: float, at: float, step: BarStep) -> None:
        self._slabs[bar].set_xy(np.column_stack([np.r_[x, x[-1], x[0]], np.r_[face, back, back]]))
        gauge = bar == step.lower and bar not in step.filed and step.stage != "split" and self.bars > 2
        colour, line, _ = style.LINES[bar]
        self._slabs[bar].set_edgecolor(colour)
        self._slabs[bar].set_linestyle(line)
        words = (
            "in the vice"
            if bar in step.filed
            else "gauge"
            if gauge
            else "resting on the other"
            if bar == step.upper
            else "under the other"
            if bar == step.lower
            else "waiting on the bench"
        )
        self._labels[bar].set_text(f"Bar {bar + 1}: {words}")
        self._labels[bar].set_position((0, at))

    def _mark(self, x, x_mm, low, high, step: BarStep) -> None:
        at = np.searchsorted(x_mm, step.contacts_mm).clip(0, x.size - 1)
        self._touch.set_data(x[at], high[at] + 2.6)
        for line, bar, face, sign in ((self._cut[0], step.lower, low, -1), (self._cut[1], step.upper, high, 1)):
            metal = step.removed_um[bar]
            line.set_data(x, np.where(metal > 0.2 * max(metal.max(), 1e-9), face + sign * 1.1, np.nan))


def _number(factor: float) -> str:
    return f"{factor:,.0f}".replace(",", " ")


def _runs(x: np.ndarray, low: np.ndarray, high: np.ndarray, where: np.ndarray) -> list[np.ndarray]:
    """Outlines of the stretches where `where` holds."""
    edges = np.flatnonzero(np.diff(np.r_[False, where, False].astype(int)))
    shapes = []
    for a, b in zip(edges[::2], edges[1::2]):
        part = slice(max(a - 1, 0), min(b + 1, x.size))
        shapes.append(np.column_stack([np.r_[x[part], x[part][::-1]], np.r_[low[part], high[part][::-1]]]))
    return shapes
