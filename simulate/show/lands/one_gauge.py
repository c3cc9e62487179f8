"""One gauge with three lands on a bar with a hill: what it touches, and the one number that it shows."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import Polygon

from simulate.bench.looking.sight import Sight
from simulate.method.lands.gauge_making import LANDS, LandFit, fit_of_two, land_points
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.lands.land_gauges_picture import HALF, PAD, gauge_outline
from simulate.show.panel.panel import Panel

HILL_UM, _FLAT_MM, _REACH_MM, _APART_MM = 20.0, 15.0, 45.0, 150.0
_WIDTH_MM = 2 * HALF * _APART_MM  # as wide as lands are drawn
_WIDE, _HIGH, _PAPER_PX = 2.95, 2.5, (0.96 * 1280, 0.78 * 330)  # what the axes hold, and their size
_TALL = 400.0  # times as large as lengths: 30 µm of gauge and 20 of hill stay below the relief
_UM = _TALL / 1000 * (_PAPER_PX[0] / _WIDE / _APART_MM) / (_PAPER_PX[1] / _HIGH)  # of the axis for a micrometre
_LANDS = np.array([0.0, 1.0, 2.0]) * _APART_MM
_BAR = np.linspace(-50.0, 350.0, 401)
_NAMES = ("left", "middle", "right")


def _hill_um(x_mm: np.ndarray, at_mm: float) -> np.ndarray:
    away = np.clip((np.abs(x_mm - at_mm) - _FLAT_MM) / (_REACH_MM - _FLAT_MM), 0, 1)
    return HILL_UM * np.cos(np.pi / 2 * away) ** 2


class OneGaugePanel(Panel):
    """A gauge with three lands on a bar that is straight but for one hill.

    Parameters
    ----------
    hill_mm : float
        Where the hill is, from the left land, 0 to 300.
    middle_um : float
        Middle land of the gauge over its outer two, -30 to 30.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "between two lands" in OneGaugePanel(hill_mm=75, units="mm").sentence
    True
    """

    def __init__(self, hill_mm: float = 150, middle_um: float = 0, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.place_slider("hill_mm", "Place of the hill", hill_mm, 0, 2 * _APART_MM, 5)
        self.height_slider("middle_um", "Middle land of the gauge", middle_um, -30, 30, 1)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 330, self.dpi)
        make = self.canvas.moving
        with style.styled():
            axes = self.canvas.figure.add_axes((0.02, 0.2, 0.96, 0.78))
            axes.set_xlim(-1.55, _WIDE - 1.55)
            axes.set_ylim(-0.55, _HIGH - 0.55)
            axes.set_yticks([])
            axes.set_xticks([-1, 0, 1], [f"{round(style.place(v, self.units), 2):g}" for v in _LANDS])
            axes.set_xlabel(f"lands of the gauge along the bar ({'in' if self.units == 'inch' else 'mm'})")
            for side in axes.spines.values():
                side.set_visible(False)
            self._light = PolyCollection([], facecolor=style.SEEN, edgecolor="#7A5C00", hatch="..", lw=0, zorder=1)
            axes.add_collection(self._light, autolim=False)
            make(self._light)
            self._bar, self._gauge = (
                make(
                    axes.add_patch(
                        Polygon([[0, 0]], closed=True, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2, zorder=3)
                    )
                )
                for _ in range(2)
            )
            axes.text(-1.5, -0.25, "bar", va="center", fontsize=style.BODY)
            axes.text(-1.5, 0.8, "gauge", va="center", fontsize=style.BODY)
            told = f"Heights drawn {_TALL:.0f} times\nas large as lengths"
            axes.text(-1.5, 1.84, told, va="top", fontsize=style.SMALL)
            self._said = make(Words(axes, style.BODY, ha="center"))
            self._said.set_position((0.0, 1.84))

    def draw(self, hill_mm: float, middle_um: float) -> str:
        """Seat the gauge on the bar; give the sentence."""
        x = land_points(_LANDS, _WIDTH_MM)
        bar = _hill_um(x, hill_mm)
        fit = fit_of_two(x, bar, np.repeat([0.0, middle_um, 0.0], x.size // LANDS), Sight("light"))
        under = bar.reshape(LANDS, -1).max(axis=-1)
        low, high = _UM * under, _UM * np.array([0.0, middle_um, 0.0]) + PAD
        at = np.array([-1.0, 0.0, 1.0])
        seat = np.interp(at, [-1, 1], (low + _UM * fit.gap_um + high)[[0, 2]])
        edge = np.column_stack([_BAR / _APART_MM - 1, _UM * _hill_um(_BAR, hill_mm)])
        self._bar.set_xy([(edge[0, 0], -0.5), *edge, (edge[-1, 0], -0.5)])
        self._gauge.set_xy(gauge_outline(high, seat, -1))
        self._light.set_verts(
            [
                [(a - HALF, lo), (a + HALF, lo), (a + HALF, s - hi), (a - HALF, s - hi)]
                for a, lo, hi, s, seen in zip(at, low, high, seat, fit.seen.open)
                if seen
            ]
        )
        seen = self._seen(fit)
        self._said.set_text(seen)
        return f"{self._where(under)} {seen[0].upper()}{seen[1:]}. {self._shows(fit)}"

    def _where(self, under_um: np.ndarray) -> str:
        hill = f"The hill of {style.spell(HILL_UM, self.units)}"
        if under_um.max() < HILL_UM / 100:
            return f"{hill} lies between two lands, where the gauge touches nothing."
        return f"{hill} lies under the {_NAMES[int(under_um.argmax())]} land."

    def _seen(self, fit: LandFit) -> str:
        open_ = style.spell(fit.gap_um.max(), self.units)
        if not fit.seen.open.any():
            return "all three lands are dark"
        if fit.rocks:
            return f"the gauge rocks on its middle, {open_} open at both ends when level"
        return f"light shows in the middle, {open_} open"

    def _shows(self, fit: LandFit) -> str:
        if not fit.seen.open.any():
            return "The middles of gauge and bar add up to nothing that shows."
        um = float(fit.sum_um)
        return f"The middles of gauge and bar add up to {'-' * (um < 0)}{style.spell(abs(um), self.units)}."
