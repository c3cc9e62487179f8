"""One gap, looked at in three ways: light, feelers, marking compound."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection

from simulate.bench.looking.edge import EDGES, Edge, blade_enters_mm, printed_mm, shows_light_um
from simulate.bench.looking.sight import FEELERS_MM, Sight, look
from simulate.bench.seating.pushed_bar import hinge
from simulate.show.drawing import style
from simulate.show.drawing.bench_picture import _runs
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.scale import ScaleBar
from simulate.show.panel.panel import Panel

_X = np.linspace(-150.0, 150.0, 241)
_SEAT, _TOP = 83.0, 113.0
_ROOM, _MOST_UM = 26.0, 200.0
_ROWS = (("light", "Light", 62.0), ("feeler", "Feelers", 40.0), ("marking compound", "Marking\ncompound", 18.0))
SHAPES = ("hollow in the middle", "open at both ends", "open at one end")


def gap_um(shape: str, widest_um: float) -> np.ndarray:
    """Give the gap of one of the panel's fits.

    `shape`: one of `SHAPES`. Returns (241,).

    >>> float(gap_um("open at one end", 40.0).max())
    40.0
    """
    u = _X / _X[-1]
    part = {SHAPES[0]: 1 - u**2, SHAPES[1]: u**2, SHAPES[2]: ((u + 1) / 2) ** 2}[shape]
    return widest_um * part


class GapPanel(Panel):
    """A gap, and what three ways of looking make of it.

    Parameters
    ----------
    widest_um : float
        Widest gap, 0 to 200.
    light_um : float
        The smallest gap through which the eye sees light at a knife edge, 0.5 to 20.
    film_um : float
        Thickness of the marking compound, 0.5 to 20.
    thinnest_um : float
        Thinnest blade of the set, one of 50, 100, 150, 200.
    shape : str
    edge : str
        How the edges lie across their width: a name in `EDGES`.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "no blade enters" in GapPanel(widest_um=20).sentence
    True
    """

    def __init__(
        self,
        widest_um: float = 30,
        light_um: float = 2.5,
        film_um: float = 3,
        thinnest_um: float = 50,
        shape: str = SHAPES[0],
        edge: str = next(iter(EDGES)),
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.height_slider("widest_um", "Widest gap", widest_um, 0, 200, 1)
        self.height_slider("light_um", "Light threshold, knife edge", light_um, 0.5, 20, 0.5)
        self.height_slider("film_um", "Thickness of the compound", film_um, 0.5, 20, 0.5)
        blades = [(f"{style.spell(1000 * b, self.units)}", 1000 * b) for b in FEELERS_MM[:4]]
        self.menu("thinnest_um", "Thinnest feeler blade", blades, thinnest_um)
        self.menu("shape", "Place of the gap", SHAPES, shape)
        self.menu("edge", "The edges", list(EDGES), edge)
        self.zoom_tick()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 480, self.dpi)
        with style.styled():
            axes = self.axes = self.canvas.figure.add_axes((0.11, 0.14, 0.64, 0.85))
            self._x = style.place(1.0, self.units) * _X
            axes.set_xlim(self._x[0], self._x[-1])
            axes.set_ylim(4, 120)
            for side in ("left", "right", "top"):
                axes.spines[side].set_visible(False)
            axes.set_yticks([r[2] + 5 for r in _ROWS] + [92], [r[1] for r in _ROWS] + ["The fit,\nfrom the side"])
            axes.tick_params(axis="y", length=0)
            axes.set_xlabel(f"position ({'in' if self.units == 'inch' else 'mm'})")
            make = self.canvas.moving
            self._upper = make(axes.fill_between(self._x, 100, 110, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2))
            axes.fill_between(self._x, 75, _SEAT, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2)
            self._pivot = make(axes.plot([], [], "o", color=style.ORANGE, ms=13, mec=style.BLACK, mew=1.5, zorder=6)[0])
            self._push = make(axes.plot([], [], "<", color=style.BLACK, ms=13, zorder=6, clip_on=False)[0])
            axes.text(1.03, 104, "push here", transform=axes.get_yaxis_transform(), va="center", fontsize=style.SMALL)
            self._factor = make(axes.text(self._x[0], 119.5, "", va="top", fontsize=style.SMALL))
            self._known = ScaleBar(self.canvas, axes, (1.03 * self._x[-1], _SEAT), self.units)
            hatches = ((style.SEEN, ".."), ("#9CC9E8", "//"), ("#F2B48C", "xx"))
            self._open, self._notes = [], []
            for (_, _, y), (colour, hatch) in zip(_ROWS, hatches):
                axes.plot(self._x[[0, -1, -1, 0, 0]], [y, y, y + 10, y + 10, y], color=style.BLACK, lw=1.2)
                shade = PolyCollection([], facecolor=colour, edgecolor="#444444", hatch=hatch, lw=0)
                axes.add_collection(shade, autolim=False)
                self._open.append(make(shade))
                self._notes.append(
                    make(
                        axes.text(
                            1.015, y + 5, "", transform=axes.get_yaxis_transform(), va="center", fontsize=style.SMALL
                        )
                    )
                )

    def draw(self, widest_um, light_um, film_um, thinnest_um, shape, edge, zoom) -> str:
        """Look three ways, push one end; give the sentence."""
        gap, across = gap_um(shape, widest_um), EDGES[edge]
        light_um = shows_light_um(across, light_um)
        pushed = hinge(_X, gap)
        self._pivot.set_data([self._x[0] + pushed.pivot_part * (self._x[-1] - self._x[0])], [80])
        self._push.set_data([self._x[-1] * 1.012], [104])
        pixels = self.axes.get_window_extent()
        unit = (pixels.width / 300) / (pixels.height / 116) * 1e-3
        self.scale.take(_ROOM / (unit * _MOST_UM), False)  # held where the widest gap of all has room
        self._draw_fit(gap, unit * self.scale.take(_ROOM / (unit * max(widest_um, 1.0)), zoom))
        looks = [
            look(gap, Sight("light", light_um)),
            look(gap, Sight("feeler", thinnest_um)),
            look(gap, Sight("marking compound", film_um)),
        ]
        u = self.units
        for (kind, _, y), shade, seen in zip(_ROWS, self._open, looks):
            where = ~seen.open if kind == "marking compound" else seen.open
            shade.set_verts(_runs(self._x, np.full(gap.size, y), np.full(gap.size, y + 10.0), where))
        blade = looks[1].at_least_um.max()
        notes = [
            _light_note(looks[0], light_um, u),
            _feeler_note(looks[1], blade, u),
            (
                f"prints over {100 * np.mean(~looks[2].open):.0f} % of the length",
                f"under {style.spell(film_um, u)} there",
            ),
        ]
        for text, note in zip(self._notes, notes):
            text.set_text(":\n".join(note))
        parts = [
            f"The widest gap is {style.spell(widest_um, u)}.",
            *(f"{eye}: {': '.join(note)}." for eye, note in zip(("Light", "Feelers", "Compound"), notes, strict=True)),
            _edge_words(across, film_um, thinnest_um, u),
            f"Pushed at its right end it {pushed.state} about the dot, {_far(pushed.pivot_part)}.",
            "None of the three can tell contact from a gap below its own limit.",
        ]
        return " ".join(part for part in parts if part)

    def _draw_fit(self, gap: np.ndarray, unit: float) -> None:
        """Draw the upper body over its gap, the scale in words and a hair beside it."""
        top = np.full(gap.size, _TOP)
        self._upper.set_verts([np.column_stack([np.r_[self._x, self._x[::-1]], np.r_[_SEAT + unit * gap, top]])])
        self._factor.set_text(self.scale.words())
        self._known.show(unit)


def _far(part: float) -> str:
    return f"{100 * part:.0f} % from the far end" if part >= 0.005 else "its far end"


def _edge_words(edge: Edge, film_um: float, blade_um: float, units: str) -> str:
    """Say what an edge that is not even across shows where it touches; nothing of one that is."""
    if not (edge.crown_um or edge.lean_um_per_mm):
        return ""
    deep = blade_enters_mm(edge, blade_um)
    wide, far = (
        style.spell(1000 * mm, units) if mm < 1 else style.spell_place(mm, units)
        for mm in (printed_mm(edge, film_um), deep)
    )
    enters = f", and the blade goes in by {far} from the side where they touch" if deep else ""
    return f"Across, compound prints a stripe {wide} wide{enters}."


def _light_note(seen, light_um: float, units: str) -> tuple[str, str]:
    part = 100 * np.mean(seen.open)
    if not part:
        return "dark all along", f"no gap over {style.spell(light_um, units)}"
    return f"light over {part:.0f} % of the length", f"more than {style.spell(light_um, units)} there"


def _feeler_note(seen, blade: float, units: str) -> tuple[str, str]:
    if not blade:
        return "no blade enters", f"all below {style.spell(seen.at_most_um.max(), units)}"
    top = seen.at_most_um[seen.at_least_um == blade].max()
    upper = f"under {style.spell(top, units)}" if np.isfinite(top) else "no blade is thick enough to bound it"
    return "thickest blade that enters", f"{style.spell(blade, units)}; {upper}"
