"""A headstock on its bed: two readings, rise and turn, what goes under its feet, and how far it is swung."""

from __future__ import annotations

import numpy as np

from simulate.method.machine.cross_slide import Swing, swing
from simulate.method.machine.headstock import Axis, Shims, bar_sag_um, rise_and_turn, shims, turned_bar
from simulate.readings.table.readings import PLANE_WORDS
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import ScaleBar
from simulate.show.panel.panel import Panel
from simulate.show.units.switch import in_both
from simulate.surface.tolerances.lathe import machine_sentence

_NEAR, _FAR, _BAR, _THICK, _FRONT = 50.0, 300.0, 300.0, 32.0, -20.0
_PLANES = ("upright", "level")
_SD = 1.5
_FEET = np.array([-180.0, -20.0])
_HIGH = 110.0
_AXIS_ROOM, _SHIM_ROOM = 45.0, 14.0
"""How far the axis may lie from where it is wanted, and how thick a shim may be, in mm of the paper."""


class ShimPanel(Panel):
    """Readings along a test bar, before and after half a turn; the shims that follow.

    Parameters
    ----------
    near_um, far_um : float
        Readings at 50 and at 300 mm from the headstock, -200 to 200.
    near_turned_um, far_turned_um : float
        The same after half a turn of the spindle.
    target_um : float
        Where the axis is wanted at 300 mm, -20 to 40.
    sag : bool
        Whether the bar's own sag is put back, in the upright plane.
    plane : str
        ``"upright"``, seen from the side, or ``"level"``, seen from above; plus is high, or towards the tool.
    feet_mm : float
        From foot to foot, or from the bolt it is swung about to the dial that watches, 80 to 400.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "under the back foot" in ShimPanel().sentence
    True
    """

    def __init__(
        self,
        near_um: float = -25,
        far_um: float = -85,
        near_turned_um: float = -15,
        far_turned_um: float = -35,
        target_um: float = 0,
        sag: bool = True,
        plane: str = _PLANES[0],
        feet_mm: float = 160,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.menu("plane", "Plane", [(PLANE_WORDS[one], one) for one in _PLANES], plane)
        self.height_slider("near_um", f"Reading at {self._place(_NEAR)}", near_um, -200, 200, 1)
        self.height_slider("far_um", f"Reading at {self._place(_FAR)}", far_um, -200, 200, 1)
        self.height_slider("near_turned_um", f"Half-turn reading at {self._place(_NEAR)}", near_turned_um, -200, 200, 1)
        self.height_slider("far_turned_um", f"Half-turn reading at {self._place(_FAR)}", far_turned_um, -200, 200, 1)
        self.height_slider("target_um", f"Target reading at {self._place(_FAR)}", target_um, -20, 40, 1)
        self.place_slider("feet_mm", "Distance between feet", feet_mm, 80, 400, 10)
        self.tick("sag", "Correction for bar sag", sag)
        self.zoom_tick()
        self.found: tuple[Axis, Shims | Swing] | None = None
        self._paper()
        self.ready()

    def _place(self, mm: float) -> str:
        return style.spell_place(mm, self.units)

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 440, self.dpi)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.01, 0.01, 0.98, 0.97))
            axes.set_xlim(-303, 473)
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
            axes.text(-102, 75, "the headstock", ha="center", va="center")
            self._bar = make(axes.plot([0, 1], [0, 0], color=style.BLUE, lw=3)[0])
            self._axis = make(axes.plot([0, 1], [0, 0], "--", color=style.ORANGE, lw=2.4)[0])
            self._shims = [
                make(
                    axes.fill([0, 1, 1], [0, 0, 1], facecolor=style.SEEN, edgecolor=style.BLACK, hatch="..", lw=1.2)[0]
                )
                for _ in range(2)
            ]
            self._said = [Words(axes, style.BODY, "center") for _ in range(2)]
            self._notes = [Words(axes, style.BODY) for _ in range(3)]
            make(*self._said, *self._notes)
            self._known = ScaleBar(self.canvas, axes, (385, -5), self.units)

    def draw(self, plane, near_um, far_um, near_turned_um, far_turned_um, target_um, feet_mm, sag, zoom) -> str:
        """Find rise, turn and cure; give the sentence."""
        upright = plane == _PLANES[0]
        read = np.array([near_um, far_um])
        bar = turned_bar(read, [near_turned_um, far_turned_um])
        at = bar.axis_um - (bar_sag_um([_NEAR, _FAR], _THICK, _BAR) if sag and upright else 0.0)
        axis = rise_and_turn(*(at - target_um * np.array([_NEAR, _FAR]) / _FAR), _NEAR, _FAR, reading_sd_um=_SD)
        feet = np.array([_FRONT - feet_mm, _FRONT])
        cure = shims(axis, feet) if upright else swing(axis, *feet)
        self.found = axis, cure
        self._show_axis(read, at, axis, cure, zoom)
        if upright:
            self._show_shims(cure)
        else:
            self._show_swing(cure)
        return (
            self._words(read, at, bar.bar_um, axis, target_um, upright)
            + self._cure(cure, feet_mm, upright)
            + self._check(cure, target_um, upright, axis)
        )

    def _show_axis(self, read, at, axis, cure: Shims | Swing, zoom: bool) -> None:
        upright = isinstance(cure, Shims)
        x = np.array([0.0, 360.0])
        lines = [near + (far - near) * (x - _NEAR) / (_FAR - _NEAR) for near, far in (read, at)]
        room = _AXIS_ROOM / max(np.abs(lines).max(), 1.0)
        if isinstance(cure, Shims):
            room = min(room, _SHIM_ROOM / max(float(cure.thickness_um.max()), 1.0))
        grow = self._per_um = 1e-3 * self.scale.take(1e3 * room, zoom, 0.5)
        self._known.show(grow)
        for drawn, height_um in zip((self._bar, self._axis), lines):
            drawn.set_data(x, _HIGH + grow * height_um)
        turn, sd = (
            style.spell_angle(axis.turn_urad, self.units, "+"),
            style.angle_figure(axis.turn_sd_urad, self.units),
        )
        notes = (
            "solid: the bar as it was read; dashed: the axis that it turns about",
            (
                f"{'from the side: up is high' if upright else 'from above: up is towards the tool'}; the axis turns "
                f"by {turn} ± {sd}"
            ),
            self.scale.words("heights" if upright else "sideways"),
        )
        for k, (note, text) in enumerate(zip(self._notes, notes)):
            note.set_position((-280, 188 - 14 * k))
            note.set_text(text)

    def _show_shims(self, under: Shims) -> None:
        for shim, said, foot, um in zip(self._shims, self._said, _FEET, under.thickness_um):
            tall = min(self._per_um * um, _SHIM_ROOM + 2)  # one that leaves its room ends below the headstock
            shim.set_visible(um > 0.05)
            shim.set_xy(
                np.array([[foot - 22, -30], [foot + 22, -30], [foot + 22, -30 + tall], [foot - 22, -30 + tall]])
            )
            said.set_position((foot - (30 if foot < -100 else -10), -60))
            said.set_text(f"shim {style.spell(um, self.units)}" if um > 0.05 else "no shim")

    def _show_swing(self, moved: Swing) -> None:
        for shim in self._shims:
            shim.set_visible(False)
        way = "away from the tool" if moved.move_um < 0 else "towards the tool"
        for said, place, text in zip(
            self._said, (-215, 12), ("tight bolt", f"nose {style.spell(abs(moved.move_um), self.units)} {way}")
        ):
            said.set_position((place, -60))
            said.set_text(text)

    def _words(self, read, at, bar_um, axis, target_um, upright: bool) -> str:
        spell = self._spell
        wanted = f", {spell(target_um)} wanted" if abs(target_um) > 0.05 else ""
        turn, sd = (
            style.spell_angle(axis.turn_urad, self.units, "+"),
            style.angle_figure(axis.turn_sd_urad, self.units),
        )
        limit = "axis in the vertical plane" if upright else "axis in the horizontal plane"
        against = machine_sentence(limit, round(float(axis.turn_urad) * 0.3, 1))
        return (
            f"The dial reads {spell(read[0])} at {self._place(_NEAR)} and {spell(read[1])} at {self._place(_FAR)}; "
            f"plus is {'high' if upright else 'towards the tool'}. Half a turn shows the bar itself off by "
            f"{spell(bar_um[1])} "
            f"at the far place, so the axis is at {spell(at[1])} there{wanted}. It turns by {turn} ± {sd}; "
            f"{in_both(against, self.units)}."
        )

    def _cure(self, cure: Shims | Swing, feet_mm: float, upright: bool) -> str:
        spell, apart = self._spell, self._place(feet_mm)
        if not upright:
            way = "away from" if cure.move_um < 0 else "towards"
            return (
                f" Leave the back bolt tight and swing the nose, {apart} from it, by {spell(abs(cure.move_um))} "
                f"{way} the tool."
            )
        first, second = cure.thickness_um
        left = (
            (
                f" The axis is then {spell(cure.left_um)} too high at the nose: take that off the feet, or "
                "raise the other unit."
            )
            if cure.left_um > 0.5
            else ""
        )
        return f" Put {spell(first)} under the back foot and {spell(second)} under the front foot, {apart} apart.{left}"

    def _check(self, cure: Shims | Swing, target_um: float, upright: bool, axis: Axis) -> str:
        near, far = (float(cure.left_um) + target_um * place / _FAR for place in (_NEAR, _FAR))
        sag = " (corrected for the sag of the bar)" if upright else ""
        side = (
            "" if upright or abs(cure.left_um) < 0.5 else f" The tailstock is set over by {self._spell(cure.left_um)}."
        )
        return (
            f"{side} Tighten, and read the turned bar again. The mean of both halves should be {self._spell(near)} at "
            f"{self._place(_NEAR)} and {self._spell(far)} at {self._place(_FAR)}{sag}, ± {self._spell(2 * _SD)}."
        )

    def _spell(self, um: float) -> str:
        return style.spell(float(um), self.units)
