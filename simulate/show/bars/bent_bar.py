"""What the panels of a bent bar share: its two size sliders, its outline, and the frame it lies in."""

from __future__ import annotations

import numpy as np

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import HeldScale, ScaleBar
from simulate.show.panel.panel import Panel

_ROOM, _FIRST, _FACE_ROOM = 46.0, 0.25, 36.0
"""Height that a bend may take up, the part of it that the first bend takes, and the most that a depth may."""


def size_sliders(panel: Panel, length_mm: float, depth_mm: float) -> None:
    """Give a panel the sliders `length_mm` and `depth_mm`, in the learner's unit.

    `length_mm`, `depth_mm`: length 200 to 2000, depth 10 to 150.

    >>> panel = Panel()
    >>> size_sliders(panel, 500, 40)
    >>> list(panel.controls)
    ['length_mm', 'depth_mm']
    """
    panel.place_slider("length_mm", "Length of the bar", length_mm, 200, 2000, 10)
    panel.place_slider("depth_mm", "Depth of the bar", depth_mm, 10, 150, 5)


def outline(u: np.ndarray, top: np.ndarray, under: np.ndarray) -> np.ndarray:
    """Corners of a bar between two lines.

    `u`, `top`, `under` (points,). Returns (2 * points, 2).

    >>> outline(np.array([0., 1.]), np.array([2., 2.]), np.array([0., 0.])).tolist()
    [[0.0, 2.0], [1.0, 2.0], [1.0, 0.0], [0.0, 0.0]]
    """
    return np.column_stack([np.r_[u, u[::-1]], np.r_[top, under[::-1]]])


class BarFrame:
    """The frame that a bent bar lies in: lengths and depths on one held scale, heights on another.

    `box`: of the axes, in parts of the picture. `face`: height at which the straight face lies; the frame is 120 high
    and from -1 to 1 wide.
    """

    def __init__(self, canvas: Canvas, box: tuple[float, float, float, float], face: float, units: str) -> None:
        self.axes, self._face, self._half_mm = canvas.figure.add_axes(box), face, 0.0
        self.axes.axis("off")
        self.axes.set_xlim(-1, 1)
        self.axes.set_ylim(0, 120)
        wide, high = canvas.figure.get_size_inches() * (box[2], box[3])
        self._alike = (wide / 2) / (high / 120)
        self.title = canvas.moving(Words(self.axes, style.BODY, va="top"))
        self.title.set_position((-0.98, 119.5))
        self.notes = [canvas.moving(Words(self.axes, style.BODY, va="top")) for _ in range(3)]
        for line, words in enumerate(self.notes):
            words.set_position((-0.98, 112.5 - 6.3 * line))
        self._known = ScaleBar(canvas, self.axes, (-0.95, 2.0), units)

    def fit(self, scale: HeldScale, most_um: float, length_mm: float, zoomed: bool) -> None:
        """Set the scales.

        `most_um`: the largest height that is to be drawn.
        """
        self._half_mm = self._half_mm or length_mm
        self.half_mm = length_mm / 1.9 if zoomed else self._half_mm
        self.per_mm = self._alike / self.half_mm
        per_um = 1e-3 * self.per_mm
        self.per_um = per_um * scale.take(_ROOM / max(per_um * most_um, 1e-12), zoomed, _FIRST)
        self.title.set_text(scale.words())
        self._known.show(self.per_um)

    def across(self, u: np.ndarray, length_mm: float) -> np.ndarray:
        """Say where places of a bar lie, which are given from -1 to 1."""
        return u * length_mm / 2 / self.half_mm

    def deep(self, depth_mm: np.ndarray) -> np.ndarray:
        """Say how deep a bar is drawn: true to its length, as far as there is room."""
        return np.minimum(self.per_mm * depth_mm, _FACE_ROOM)
