"""A bar with one warm edge: how far it bows, and how long it takes to lie quiet."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.patches import Polygon

from simulate.bench.bending.heat import heat_bow_left, heat_bow_um, settling_time_s
from simulate.bench.bending.heat_sources import WARMTHS, kept_difference_k
from simulate.bench.bending.materials import MATERIALS
from simulate.core.number_format import two
from simulate.show.bars.bent_bar import BarFrame, outline, size_sliders
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel

WHAT = ("set by the slider", *WARMTHS)
_U = np.linspace(-1.0, 1.0, 101)
_TIMES_S = np.linspace(0.0, 3600.0**0.25, 121) ** 4
_SEEN_UM, _FACE = 2.5, 44.0


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
        self.slider("difference_k", "Excess temperature, upper edge", difference_k, 0.1, 5, 0.1, ".1f", "K")
        self.menu("what", "Heat source", WHAT, what)
        self.slider("wait_s", "Time since heating", wait_s, 0, 900, 5, unit="s")
        self.menu("material", "Material", list(MATERIALS), material)
        self.zoom_tick()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 480, self.dpi)
        with style.styled():
            self._bar_paper()
            self._time_paper(self.canvas.figure.add_axes((0.635, 0.15, 0.335, 0.72)))

    def _bar_paper(self) -> None:
        frame = self._frame = BarFrame(self.canvas, (0.015, 0.03, 0.53, 0.95), _FACE, self.units)
        make = self.canvas.moving
        self._bar = make(
            frame.axes.add_patch(Polygon(np.zeros((3, 2)), facecolor=style.STEEL, edgecolor=style.BLACK, lw=1.5))
        )
        self._warm = make(
            frame.axes.add_patch(Polygon(np.zeros((3, 2)), facecolor=style.STEEL, edgecolor=style.BLACK, hatch="//"))
        )
        make(frame.axes.plot([-1, 1], [_FACE, _FACE], ":", color=style.BLACK, lw=2, zorder=4)[0])

    def _time_paper(self, axes) -> None:
        axes.set_xscale("function", functions=(lambda t: np.maximum(t, 0.0) ** 0.25, lambda v: v**4))  # 0 s has a place
        axes.set_yscale("log")
        axes.set_xlim(0, 3600)
        unit = style.small(1.0, self.units)
        ticks = [0.1, 1, 10, 100, 1000] if self.units == "mm" else [0.01, 0.1, 1, 10]
        axes.set_ylim(0.05 * unit, 3000 * unit)
        axes.set_yticks(ticks, [f"{t:g}" for t in ticks])
        axes.set_xticks([0, 1, 10, 60, 600, 3600], ["0", "1 s", "10 s", "1 min", "10 min", "1 h"])
        axes.minorticks_off()
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_title(
            f"Remaining bow ({style.small_unit(self.units)}, log scale)", loc="left", fontsize=style.BODY, pad=26
        )
        axes.set_xlabel("time since heating")
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
        self._here = self.canvas.moving(axes.plot([0], [1], "s", color=style.ORANGE, ms=11, clip_on=False)[0])

    def draw(self, length_mm, depth_mm, difference_k, what, wait_s, material, zoom) -> str:
        """Warm the bar and wait; give the sentence."""
        length, depth = length_mm, depth_mm
        difference = difference_k if what == WHAT[0] else kept_difference_k(depth, what, material)
        first = float(heat_bow_um(length, depth, difference, material))
        now = first * float(heat_bow_left(wait_s, depth, material))
        self.bow_um, unit = (first, now), style.small(1.0, self.units)
        self._curve.set_ydata(np.maximum(unit * first * heat_bow_left(_TIMES_S, depth, material), 1e-9))
        self._here.set_data([wait_s], [max(unit * now, 0.06 * unit)])
        self._draw_bar((now, first), length, depth, zoom)
        quiet = settling_time_s(depth, material)
        told = (
            f"The upper edge was warmer by {two(difference)} K and stood {style.spell(first, self.units)} proud;",
            f"after {wait_s:.0f} s the bow is {style.spell(now, self.units)}",
            "Hatched: the warm edge. Dotted: where it lies at an even temperature",
        )
        for words, line in zip(self._frame.notes, told):
            words.set_text(line)
        return (
            f"{'An' if material[0] in 'aeiou' else 'A'} {material} bar {style.spell_place(length, self.units)} long "
            f"and {style.spell_place(depth, self.units)} deep, with its upper edge warmer by {two(difference)} K, "
            f"stands {style.spell(first, self.units)} proud in its middle on that edge. {wait_s:.0f} s after the heat "
            f"is taken away {style.spell(now, self.units)} is left; 10 % is left after {_time(quiet)}. The square "
            "marks the present moment."
        )

    def _draw_bar(self, bow_um: tuple[float, float], length: float, depth: float, zoom: bool) -> None:
        now, first = bow_um
        frame = self._frame
        frame.fit(self.scale, first, length, zoom)
        x, deep = frame.across(_U, length), float(frame.deep(depth))
        face = _FACE + frame.per_um * now * (1 - _U**2)
        for patch, part in ((self._bar, 1.0), (self._warm, 0.3)):
            patch.set_xy(outline(x, face, face - part * deep))
        left, cold, warm = now / max(first, 1e-9), np.array(to_rgb(style.STEEL)), np.array(to_rgb(style.ORANGE))
        self._warm.set_facecolor(cold + left * (warm - cold))


def _time(seconds: float) -> str:
    return f"{seconds:.0f} s" if seconds < 120 else f"{seconds / 60:.0f} min"
