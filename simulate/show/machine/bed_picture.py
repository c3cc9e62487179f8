"""Pictures of a bed: both ways with the metal that goes, the strips as the eye sees them, errors against rounds."""

from __future__ import annotations

import numpy as np

from simulate.method.machine.bed_filing import STAGES, BedHistory, BedLook
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.rounds_curve import RoundsCurve
from simulate.show.drawing.scale import HeldTop

NAMES = ("front way", "back way", "twist across")
STRIP_MM, SEEN_UM = 400.0, 50.0
"""Length of the strips, and the smallest step that the eye sees over them."""


class BedPicture:
    """The picture of the bed panel."""

    def __init__(self, rounds: int, units: str, dpi: int) -> None:
        self.units, self.canvas = units, Canvas(1280, 600, dpi)
        self._ways, self._lines, self._metal, self._top = [], [], [], HeldTop()
        with style.styled():
            for k, foot in enumerate((0.56, 0.1)):
                self._way_paper(k, self.canvas.figure.add_axes((0.075, foot, 0.485, 0.37)))
            self._strips_paper(self.canvas.figure.add_axes((0.605, 0.6, 0.385, 0.33)))
            axes = self.canvas.figure.add_axes((0.675, 0.11, 0.2, 0.36))
            reach = tuple(style.small(um, units) for um in (0.4, 800.0))
            self._curve = RoundsCurve(self.canvas, axes, rounds, reach, NAMES, f"out by ({style.small_unit(units)})")

    def _way_paper(self, k: int, axes) -> None:
        axes.set_ylabel(f"height ({style.small_unit(self.units)})")
        axes.set_title(f"The {NAMES[k]}, and the metal to remove now" if k == 0 else f"The {NAMES[k]}", loc="left")
        if k == 0:
            self._zoomed = self.canvas.moving(
                axes.text(0.99, 0.97, "", transform=axes.transAxes, ha="right", va="top", fontsize=style.SMALL)
            )
        if k:
            axes.set_xlabel(f"along the bed, headstock at the left ({'in' if self.units == 'inch' else 'mm'})")
        else:
            axes.tick_params(labelbottom=False)
        axes.grid(color="#DDDDDD", lw=0.8)
        make, (colour, line, _) = self.canvas.moving, style.LINES[k]
        x = np.array([0.0, 1.0])
        self._ways.append(axes)
        self._metal.append(
            make(axes.fill_between(x, 0, 0 * x, facecolor=style.SEEN, edgecolor="#444444", hatch="..", lw=0))
        )
        self._lines.append(make(axes.plot(x, 0 * x, line, color=colour)[0]))

    def _strips_paper(self, axes) -> None:
        axes.set_xlim(-1.15, 1.15)
        axes.set_ylim(-1.25, 1.3)
        axes.axis("off")
        axes.set_title("Over the winding strips, as the eye sees them", loc="left")
        axes.plot([-1, 1], [-0.55, -0.55], color=style.BLACK, lw=9, solid_capstyle="butt")
        axes.text(-1, -1.0, "near strip, at the headstock", fontsize=style.SMALL, va="center")
        axes.text(-1.0, 0.62, "front", fontsize=style.SMALL, ha="center")
        axes.text(1.0, 0.62, "back", fontsize=style.SMALL, ha="center")
        self._far = self.canvas.moving(axes.plot([-1, 1], [0, 0], color=style.ORANGE, lw=9, solid_capstyle="butt")[0])
        self._far_words = Words(axes, style.SMALL, "center")
        self.canvas.moving(self._far_words)

    def show(
        self, history: BedHistory, now: BedLook, look: int, apart_mm: float, strip_urad: float, zoomed: bool
    ) -> float:
        """Set the picture to one look.

        `zoomed`: whether heights fill the picture. Returns: the step that the strips show, in µm.
        """
        self._show_ways(style.place(1.0, self.units) * history.x_mm, now, zoomed)
        values = np.column_stack([history.straightness_um, np.abs(history.twist_urad) * apart_mm / 1000])
        self._curve.show(style.small(1.0, self.units) * values, (look - 1) // len(STAGES))
        return self._show_strips(now, apart_mm, strip_urad)

    def _show_ways(self, x: np.ndarray, now: BedLook, zoomed: bool) -> None:
        unit = style.small(1.0, self.units)
        high, low = unit * now.height_um, unit * (now.height_um - now.removed_um)
        half = self._top.take(max(0.55 * (high.max(axis=1) - low.min(axis=1)).max(), 6 * unit), zoomed, 1.5)
        self._zoomed.set_text(self._top.words())
        for axes, middle in zip(self._ways, 0.5 * (high.max(axis=1) + low.min(axis=1))):
            limits, along = (round(middle - half, 3), round(middle + half, 3)), (round(x[0], 3), round(x[-1], 3))
            if axes.get_ylim() != limits or axes.get_xlim() != along:
                axes.set_ylim(*limits)
                axes.set_xlim(*along)
                self.canvas.invalidate()
        for line, shade, top, foot in zip(self._lines, self._metal, high, low):
            line.set_data(x, top)
            shade.set_verts([np.column_stack([np.r_[x, x[::-1]], np.r_[top, foot[::-1]]])])

    def _show_strips(self, now: BedLook, apart_mm: float, strip_urad: float) -> float:
        across = now.height_um[1] - now.height_um[0]
        step = float((across[-1] - across[0]) * STRIP_MM / apart_mm + strip_urad * STRIP_MM / 1000)
        tilt = 0.6 * np.clip(step / 400, -1, 1)
        self._far.set_ydata([0.1 - tilt / 2, 0.1 + tilt / 2])
        side = "back" if step > 0 else "front"
        seen = "looks level" if abs(step) <= SEEN_UM else f"{side} end {style.spell(abs(step), self.units)} high"
        self._far_words.set_text(f"far strip, at the tailstock: {seen}")
        self._far_words.set_position((0, 1.05))
        return step
