"""A head on its bed: two readings, rise and turn, and what goes under its feet."""

from __future__ import annotations

import numpy as np

from simulate.method.align import Axis, Shims, bar_sag_um, rise_and_turn, shims, turned_bar
from simulate.show import style
from simulate.show.canvas import Canvas, Words
from simulate.show.panel import Panel
from simulate.surface.machine import machine_sentence

_NEAR, _FAR, _BAR, _THICK = 50.0, 300.0, 300.0, 32.0
_FEET = np.array([-180.0, -20.0])
_HIGH = 110.0


class ShimPanel(Panel):
    """Readings along a test bar, before and after half a turn; the shims that follow.

    Parameters
    ----------
    near_um, far_um : float
        Readings at 50 and at 300 mm from the head; plus is high, -200 to 200.
    near_turned_um, far_turned_um : float
        The same after half a turn of the spindle.
    target_um : float
        Where the axis is wanted at 300 mm, -20 to 40.
    sag : bool
        Whether the bar's own sag is put back.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> "under the back foot" in ShimPanel().sentence
    True
    """

    def __init__(self, near_um: float = -25, far_um: float = -85, near_turned_um: float = -15, far_turned_um: float = -35,
                 target_um: float = 0, sag: bool = True, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.height_slider("near_um", "Reading at 50 mm", near_um, -200, 200, 1)
        self.height_slider("far_um", "Reading at 300 mm", far_um, -200, 200, 1)
        self.height_slider("near_turned_um", "At 50 mm, bar turned half round", near_turned_um, -200, 200, 1)
        self.height_slider("far_turned_um", "At 300 mm, bar turned half round", far_turned_um, -200, 200, 1)
        self.height_slider("target_um", "Wanted at 300 mm", target_um, -20, 40, 1)
        self.tick("sag", "Put the sag of the bar back", sag)
        self.found: tuple[Axis, Shims] | None = None
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 440, self.dpi)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.01, 0.01, 0.98, 0.97))
            axes.set_xlim(-290, 460)
            axes.set_ylim(-68, 196)
            axes.axis("off")
            axes.axhspan(-52, -30, facecolor="#B8BEC6", edgecolor="#444444", hatch="//", lw=1)
            axes.text(200, -60, "the bed", ha="center", va="center", fontsize=style.SMALL)
            axes.plot([-10, 380], [_HIGH, _HIGH], color="#555555", lw=1.4, ls=(0, (6, 4)))
            axes.text(384, _HIGH, "wanted", va="center", fontsize=style.SMALL)
            for place in (_NEAR, _FAR):
                axes.plot([place, place], [-30, _HIGH - 40], color="#AAAAAA", lw=1)
                axes.text(place, -20, f"{style.spell_place(place, self.units)}", ha="center", fontsize=style.SMALL)
            make = self.canvas.moving
            axes.fill([-205, 0, 0, -205], [-14, -14, 146, 146], facecolor=style.STEEL, edgecolor=style.BLUE, lw=2.2)
            axes.text(-102, 75, "the head", ha="center", va="center")
            self._bar = make(axes.plot([0, 1], [0, 0], color=style.BLUE, lw=3)[0])
            self._axis = make(axes.plot([0, 1], [0, 0], "--", color=style.ORANGE, lw=2.4)[0])
            self._shims = [make(axes.fill([0, 1, 1], [0, 0, 1], facecolor=style.SEEN, edgecolor=style.BLACK, hatch="..", lw=1.2)[0])
                           for _ in range(2)]
            self._said = [Words(axes, style.BODY, "center") for _ in range(2)]
            self._notes = [Words(axes, style.BODY) for _ in range(3)]
            make(*self._said, *self._notes)

    def draw(self, near_um, far_um, near_turned_um, far_turned_um, target_um, sag) -> str:
        """Find rise, turn and shims; give the sentence.

        Parameters
        ----------
        near_um, far_um, near_turned_um, far_turned_um, target_um : float
        sag : bool

        Returns
        -------
        str
        """
        read = np.array([near_um, far_um])
        bar = turned_bar(read, [near_turned_um, far_turned_um])
        at = bar.axis_um - (bar_sag_um([_NEAR, _FAR], _THICK, _BAR) if sag else 0.0)
        axis = rise_and_turn(*(at - target_um * np.array([_NEAR, _FAR]) / _FAR), _NEAR, _FAR, reading_sd_um=1.5)
        under = shims(axis, _FEET)
        self.found = axis, under
        self._show(read, at, axis, under)
        return self._words(read, at, bar.bar_um, axis, under, target_um)

    def _show(self, read, at, axis, under) -> None:
        grow = 45 / max(np.abs(read).max(), np.abs(at).max(), 20.0)
        x = np.array([-0.0, 360.0])

        def line(values):
            return _HIGH + grow * (values[0] + (values[1] - values[0]) * (x - _NEAR) / (_FAR - _NEAR))
        self._bar.set_data(x, line(read))
        self._axis.set_data(x, line(at))
        for shim, said, foot, um in zip(self._shims, self._said, _FEET, under.thickness_um):
            tall = 3 + 11 * um / max(under.thickness_um.max(), 1.0) if um > 0.05 else 0
            shim.set_xy(np.array([[foot - 22, -30], [foot + 22, -30], [foot + 22, -30 + tall], [foot - 22, -30 + tall]]))
            said.set_position((foot - (30 if foot < -100 else -10), -60))
            said.set_text(f"shim {style.spell(um, self.units)}" if um > 0.05 else "no shim")
        notes = ("solid: the bar as it was read; dashed: the axis that it turns about",
                 f"the axis rises by {float(axis.turn_urad):+.0f} µm in a metre ± {float(axis.turn_sd_urad):.0f}",
                 f"heights drawn {1000 * grow:,.0f} times".replace(",", " "))
        for k, (note, text) in enumerate(zip(self._notes, notes)):
            note.set_position((-280 if k < 2 else 120, 188 - 14 * k if k < 2 else 8))
            note.set_text(text)

    def _words(self, read, at, bar_um, axis, under, target_um) -> str:
        def spell(um):
            return style.spell(float(um), self.units)
        first, second = under.thickness_um
        left = (f" The axis then stands {spell(under.left_um)} too high at the nose: that comes off the feet, or the partner is raised."
                if under.left_um > 0.5 else "")
        wanted = f", {spell(target_um)} wanted" if target_um else ""
        return (f"Read {spell(read[0])} at {style.spell_place(_NEAR, self.units)} and {spell(read[1])} at {style.spell_place(_FAR, self.units)}; "
                f"half a turn shows the bar itself off by {spell(bar_um[1])} at the far place, so the axis stands at {spell(at[1])} there{wanted}. "
                f"It turns by {float(axis.turn_urad):+.0f} µm in a metre ± {float(axis.turn_sd_urad):.0f}. Put {spell(first)} under the back foot and "
                f"{spell(second)} under the front foot, {style.spell_place(_FEET[1] - _FEET[0], self.units)} apart.{left} "
                f"As it stands, {machine_sentence('axis in the upright plane', round(float(axis.turn_urad) * 0.3, 1))}.")
