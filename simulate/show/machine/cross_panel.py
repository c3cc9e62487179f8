"""A cross slide proved against a square that is turned over, and the face that it turns."""

from __future__ import annotations

import numpy as np

from simulate.method.machine.cross_slide import CrossSlide, cross_slide
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import HeldTop
from simulate.show.panel.panel import Panel
from simulate.surface.tolerances.lathe import ISO_1708

_LIMIT = ISO_1708["cross slide square to the axis"]
_HALF = 150.0
"""Half of the face that is turned, in mm."""
_BLADE, _ROOM, _FIRST_UM = 120.0, 100.0, 30.0
"""Length of a blade on the paper, how far it may lean there, and what the axis of the face first reaches to."""


class CrossSlidePanel(Panel):
    """Two readings along the blade of a square, before and after it is turned over; what slide and square are out by.

    Parameters
    ----------
    first_um, turned_um : float
        What the dial gains from the middle outwards, -80 to 80.
    travel_mm : float
        50 to 300.
    reading_sd_um : float
        Spread of such a difference, 0 to 10.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "hollow" in CrossSlidePanel().sentence
    True
    """

    def __init__(
        self,
        first_um: float = 18,
        turned_um: float = -6,
        travel_mm: float = 150,
        reading_sd_um: float = 2,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.height_slider("first_um", "Dial change, moving outwards", first_um, -80, 80, 1)
        self.height_slider("turned_um", "The same, square turned over", turned_um, -80, 80, 1)
        self.place_slider("travel_mm", "Travel along the blade", travel_mm, 50, 300, 10)
        self.height_slider("reading_sd_um", "Repeatability of a reading", reading_sd_um, 0, 10, 0.5)
        self.zoom_tick()
        self.found: CrossSlide | None = None
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 470, self.dpi)
        with style.styled():
            self._above_paper(self.canvas.figure.add_axes((0.01, 0.02, 0.50, 0.89)))
            self._face_paper(self.canvas.figure.add_axes((0.60, 0.15, 0.38, 0.72)))

    def _above_paper(self, axes) -> None:
        axes.set_xlim(-120, 130)
        axes.set_ylim(-22, 152)
        axes.axis("off")
        axes.set_title("Seen from above, headstock at the left", loc="left")
        axes.plot([-112, 112], [0, 0], color=style.BLACK, lw=1.6, ls=(0, (8, 4)))
        axes.text(-112, -9, "the axis; the base of the square lies along it", fontsize=style.SMALL, va="center")
        axes.plot([0, 0], [0, 128], color="#777777", lw=1.2, ls=(0, (3, 3)))
        axes.text(0, 139, "square to the axis", fontsize=style.SMALL, ha="center", va="center")
        make = self.canvas.moving
        self._factor = make(Words(axes, style.SMALL))
        self._factor.set_position((-118, -18))
        (blue, solid, _), (orange, dashed, _), (black, dotted, _) = style.LINES
        self._lines = [
            make(axes.plot([0, 0], [0, _BLADE], line, color=colour, lw=3)[0])
            for colour, line in ((blue, solid), (orange, dashed), (black, dotted))
        ]
        for k, (colour, line, words) in enumerate(
            (
                (blue, solid, "path of the slide"),
                (orange, dashed, "blade, first"),
                (black, dotted, "blade, turned over"),
            )
        ):
            axes.plot([-118, -102], [62 - 13 * k] * 2, line, color=colour, lw=3)
            axes.text(-99, 62 - 13 * k, words, fontsize=style.SMALL, va="center")

    def _face_paper(self, axes) -> None:
        place = style.place(1.0, self.units)
        self._across = place * np.array([-_HALF, 0.0, _HALF])
        self._face_axes, self._top = axes, HeldTop()
        axes.set_xlim(1.05 * self._across[0], 1.05 * self._across[-1])
        axes.set_xlabel(f"across the face ({'in' if self.units == 'inch' else 'mm'})")
        axes.set_ylabel(f"height ({style.small_unit(self.units)})")
        axes.set_title("The face that it turns", loc="left")
        deep = style.small(_LIMIT.high_um * _HALF / _LIMIT.over_mm, self.units)
        axes.fill(
            [*self._across, *self._across[::-1]],
            [0, 0, 0, 0, -deep, 0],
            facecolor="none",
            edgecolor="#777777",
            hatch="..",
            lw=1,
        )
        beside = {"transform": axes.transAxes, "fontsize": style.SMALL, "ha": "center"}
        axes.text(0.5, 0.91, "dotted: allowed, hollow only (ISO 1708†)", **beside)
        self._leaves = self.canvas.moving(axes.text(0.5, 0.83, "", **beside))
        axes.axhline(0, color="#888888", lw=0.8)
        self._face = self.canvas.moving(axes.plot(self._across, [0, 0, 0], color=style.BLUE, lw=3)[0])

    def draw(self, first_um: float, turned_um: float, travel_mm: float, reading_sd_um: float, zoom: bool) -> str:
        """Tell slide and square apart; give the sentence."""
        found = self.found = cross_slide(first_um, turned_um, travel_mm, reading_sd_um=reading_sd_um)
        deep = found.slide_urad * _HALF / 1000
        self._show_face(deep, zoom)
        self._show_above(found, zoom)
        return self._words(found, deep, first_um, turned_um, travel_mm)

    def _show_face(self, deep_um: float, zoom: bool) -> None:
        self._top.take(_FIRST_UM, False)
        reach = style.small(self._top.take(max(1.3 * abs(deep_um), 1.0), zoom), self.units)
        self._leaves.set_text(self._top.words())
        self._face.set_ydata(style.small(1.0, self.units) * np.array([0, -deep_um, 0]))
        if self._face_axes.get_ylim() != (-reach, reach):
            self._face_axes.set_ylim(-reach, reach)
            self.canvas.invalidate()

    def _show_above(self, found: CrossSlide, zoom: bool) -> None:
        leans = 1e-6 * _BLADE * np.array([-found.slide_urad, found.square_urad, -found.square_urad])
        factor = self.scale.take(_ROOM / max(np.abs(leans).max(), 1e-3), zoom, 0.25)
        self._factor.set_text(self.scale.words("angles", ""))
        for line, lean in zip(self._lines, factor * leans):
            line.set_xdata([0, lean])

    def _words(self, found: CrossSlide, deep: float, first_um: float, turned_um: float, travel_mm: float) -> str:
        def spell(um):
            return style.spell(float(um), self.units)

        angle = style.spell_angle(found.slide_urad, self.units, "+")
        shape = f"{spell(abs(deep))} {'hollow' if deep >= 0 else 'proud'} in its middle"
        inside = _LIMIT.low_um <= found.slide_urad * _LIMIT.over_mm / 1000 <= _LIMIT.high_um
        cure = "leave it alone" if inside else "turn the slide's lower part, or scrape its guide, until it is not"
        return (
            f"The dial moves {spell(first_um)} over {style.spell_place(travel_mm, self.units)}, and "
            f"{spell(turned_um)} with the square turned over. Half the sum is the slide, {angle} ± "
            f"{style.angle_figure(found.sd_urad, self.units)}; half the difference is the square, "
            f"{style.spell_angle(found.square_urad, self.units, '+')}. A face of "
            f"{style.spell_place(2 * _HALF, self.units)} comes out {shape}. Against ISO 1708† (hollow only, "
            f"{spell(_LIMIT.high_um)} over {style.spell_place(_LIMIT.over_mm, self.units)} of travel) that is "
            f"{'inside' if inside else 'outside'}: {cure}."
        )
