"""A bar with one warm edge: how far it bows, and how long it takes to lie quiet."""

from __future__ import annotations

import numpy as np
from matplotlib.patches import Polygon

from simulate.bench.bending.heat import heat_bow_left, heat_bow_um, settling_time_s
from simulate.bench.bending.heat_sources import WARMTHS, kept_difference_k
from simulate.bench.bending.materials import MATERIALS
from simulate.show.bars.bent_bar import larger, outline, size_sliders
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel

WHAT = ("as the slider says", *WARMTHS)
_U = np.linspace(-1.0, 1.0, 101)
_TIMES_S = np.geomspace(1.0, 3600.0, 121)
_SEEN_UM = 2.5


class HeatPanel(Panel):
    """Heat on one edge, and waiting.

    Parameters
    ----------
    length_mm, depth_mm : float
        Length 200 to 2000, depth 10 to 150.
    difference_k : float
        Upper edge warmer by, 0.1 to 5 kelvin.
    what : str
        One of `WHAT`: another choice than the first finds the difference itself.
    wait_s : float
        Time since the heat was taken away, 0 to 900 s.
    material : str
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> "9.0 µm" in HeatPanel().sentence
    True
    """

    def __init__(
        self,
        length_mm: float = 500,
        depth_mm: float = 40,
        difference_k: float = 1.0,
        what: str = WHAT[0],
        wait_s: float = 0,
        material: str = "steel",
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        size_sliders(self, length_mm, depth_mm)
        self.slider("difference_k", "Upper edge warmer by (K)", difference_k, 0.1, 5, 0.1, ".1f")
        self.menu("what", "Warmed by", WHAT, what)
        self.slider("wait_s", "Waited since then (s)", wait_s, 0, 900, 5)
        self.menu("material", "Material", list(MATERIALS), material)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 480, self.dpi)
        with style.styled():
            self._bar_paper(self.canvas.figure.add_axes((0.015, 0.03, 0.53, 0.95)))
            self._time_paper(self.canvas.figure.add_axes((0.635, 0.15, 0.335, 0.72)))

    def _bar_paper(self, axes) -> None:
        axes.axis("off")
        axes.set_xlim(-1.05, 1.05)
        axes.set_ylim(0, 120)
        make = self.canvas.moving
        self._bar = make(axes.add_patch(Polygon(np.zeros((3, 2)), facecolor=style.STEEL, edgecolor=style.BLACK, lw=2)))
        self._warm = make(
            axes.add_patch(Polygon(np.zeros((3, 2)), facecolor="#F2B48C", edgecolor=style.BLACK, hatch="//"))
        )
        make(axes.plot([-1, 1], [52, 52], ":", color=style.BLACK, lw=2, zorder=4)[0])
        self._title = make(axes.text(-1, 118, "", va="top", fontsize=style.LARGE, weight="bold"))
        self._notes = make(axes.text(-1, 107, "", va="top", fontsize=style.BODY, linespacing=1.5))
        axes.text(
            0,
            6,
            "hatched: the warm edge; dotted: where the edge lies when all is even",
            ha="center",
            fontsize=style.SMALL,
        )

    def _time_paper(self, axes) -> None:
        axes.set_xscale("log")
        axes.set_yscale("log")
        axes.set_xlim(1, 3600)
        unit = style.small(1.0, self.units)
        ticks = [0.1, 1, 10, 100, 1000] if self.units == "mm" else [0.01, 0.1, 1, 10]
        axes.set_ylim(0.05 * unit, 3000 * unit)
        axes.set_yticks(ticks, [f"{t:g}" for t in ticks])
        axes.set_xticks([1, 10, 60, 600, 3600], ["1 s", "10 s", "1 min", "10 min", "1 h"])
        axes.minorticks_off()
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_title(f"Bow that is left ({style.small_unit(self.units)})", loc="left", fontsize=style.BODY, pad=26)
        axes.set_xlabel("time since the heat was taken away")
        axes.axhline(_SEEN_UM * unit, ls="--", color=style.ORANGE)
        axes.text(
            0,
            1.01,
            f"dashed: light shows above {style.spell(_SEEN_UM, self.units)}",
            transform=axes.transAxes,
            va="bottom",
            fontsize=style.SMALL,
        )
        self._curve = self.canvas.moving(axes.plot(_TIMES_S, _TIMES_S, color=style.BLUE)[0])
        self._here = self.canvas.moving(axes.plot([1], [1], "s", color=style.ORANGE, ms=11, clip_on=False)[0])

    def draw(self, length_mm, depth_mm, difference_k, what, wait_s, material) -> str:
        """Warm the bar and wait; give the sentence."""
        length, depth = length_mm, depth_mm
        difference = difference_k if what == WHAT[0] else kept_difference_k(depth, what, material)
        first = float(heat_bow_um(length, depth, difference, material))
        now = first * float(heat_bow_left(wait_s, depth, material))
        self.bow_um, unit = (first, now), style.small(1.0, self.units)
        self._curve.set_ydata(np.maximum(unit * first * heat_bow_left(_TIMES_S, depth, material), 1e-9))
        self._here.set_data([max(wait_s, 1.0)], [max(unit * now, 0.06 * unit)])
        self._draw_bar(now, first, length)
        quiet = settling_time_s(depth, material)
        self._notes.set_text(
            f"the upper edge was warmer by {difference:.2g} K and stood {style.spell(first, self.units)} proud\n"
            f"after {wait_s:.0f} s the bow is {style.spell(now, self.units)}"
        )
        return (
            f"{'An' if material[0] in 'aeiou' else 'A'} {material} bar {style.spell_place(length, self.units)} long "
            f"and {style.spell_place(depth, self.units)} deep, with its upper edge warmer by {difference:.2g} K, "
            f"stands {style.spell(first, self.units)} proud in its middle on that edge. {wait_s:.0f} s after the heat "
            f"is taken away {style.spell(now, self.units)} is left; a tenth is left after {_time(quiet)}. The square "
            "marks the present moment."
        )

    def _draw_bar(self, now: float, first: float, length: float) -> None:
        unit, title = larger(first, length, 24)
        face = 52 + unit * now * (1 - _U**2)
        for patch, top, under in ((self._bar, 0, 24), (self._warm, 0, 7)):
            patch.set_xy(outline(_U, face - top, face - under))
        self._title.set_text(title)


def _time(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
