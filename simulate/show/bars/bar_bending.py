"""A bar on two supports: where they stand, what it is made of, and how far it hangs."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np
from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon

from simulate.bench.bending.bar_supports import AIMS, best_separation, best_supports
from simulate.bench.bending.materials import MATERIALS
from simulate.bench.bending.profiled_bar import WAYS, profile_sag
from simulate.bench.seating.bar_seat import rest
from simulate.core.byte_cache import remembered
from simulate.show.bars.bent_bar import BarFrame, outline, size_sliders
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.panel.panel import Panel
from simulate.surface.straightness import straightness

SHAPES = ("the same depth throughout", "tapered to half depth at its ends", "with three long holes")
OWN_BEST = "best for this bar"
CHOICES = ("set by the two sliders", "at its ends", *AIMS, OWN_BEST)
_U = np.linspace(-1.0, 1.0, 201)
_APART = np.linspace(0.1, 1.0, 46)
_FACE, _EDGE = 78.0, 4.0


def bar_of(shape: str, length_mm: float, depth_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Give places, depth and depth of the holes of one of the panel's bars.

    `shape`: one of `SHAPES`. Returns `x_mm`, `depth_mm`, `hole_mm` (201,).

    >>> bar_of("tapered to half depth at its ends", 500, 40)[1][[0, 100]].tolist()
    [20.0, 40.0]
    """
    x = _U * length_mm / 2
    depth = depth_mm * (1 - 0.5 * np.abs(_U)) if shape == SHAPES[1] else np.full(_U.size, float(depth_mm))
    in_hole = (np.abs(np.abs(_U) - 0.55) < 0.19) | (np.abs(_U) < 0.19)
    return x, depth, np.where(in_hole & (shape == SHAPES[2]), 0.5 * depth, 0.0)


@remembered
def hang(
    shape: str, length_mm: float, depth_mm: float, left: float, right: float, material: str, way: str, width_mm: float
) -> tuple[np.ndarray, float]:
    """Hang one of the panel's bars.

    Parameters
    ----------
    shape : str
    length_mm, depth_mm : float
    left, right : float
        Supports as parts of the length, from the left end.
    material, way : str
    width_mm : float

    Returns
    -------
    height_um : ndarray, shape (201,)
    out_um : float
        Its straightness as it hangs (minimum zone).

    Examples
    --------
    >>> round(hang(SHAPES[0], 500, 40, 0.0, 1.0, "steel", "edge up", 10)[1], 2)
    2.24
    """
    x, depth, hole = bar_of(shape, length_mm, depth_mm)
    supports = length_mm * (np.array([left, right]) - 0.5)
    height = profile_sag(x, depth, supports, material, way=way, width_mm=width_mm, hole_mm=hole)
    height.setflags(write=False)
    return height, float(straightness(x, height).value_um)


@lru_cache(maxsize=16)
def own_best(shape: str, way: str) -> tuple[float, float]:
    """Best supports of one of the panel's bars.

    Returns `left`, `right`: as parts of the length, from the left end.

    >>> [round(part, 2) for part in own_best(SHAPES[0], "edge up")]
    [0.22, 0.78]
    """
    x, depth, hole = bar_of(shape, 1.0, 0.08)
    left, right = best_supports(x, depth, hole_mm=hole, way=way)
    return float(left) + 0.5, float(right) + 0.5


def relative_curve(
    canvas: Canvas, axes: Axes, apart: np.ndarray, reach: tuple[float, float], ticks: Sequence[float], title: str
) -> tuple[Line2D, Line2D]:
    """Prepare a curve of errors in percent against how far supports are apart, in percent too, and the mark on it."""
    axes.set_xlim(10, 100)
    axes.set_yscale("log")
    axes.set_ylim(*reach)
    axes.set_yticks(ticks, [f"{tick} %" for tick in ticks])
    axes.minorticks_off()
    axes.grid(color="#DDDDDD", lw=0.8)
    axes.set_title(title, loc="left", fontsize=style.BODY)
    curve = canvas.moving(axes.plot(100 * apart, 0 * apart + ticks[-1], color=style.BLUE)[0])
    return curve, canvas.moving(axes.plot([50], [ticks[-1]], "s", color=style.ORANGE, ms=11, clip_on=False)[0])


class BendingPanel(Panel):
    """A bar that hangs between two supports by its own weight.

    Parameters
    ----------
    length_mm, depth_mm : float
        Length 200 to 2000, depth 10 to 150.
    left_pct, right_pct : float
        Where the supports stand, in percent of the length from the left end: 0 to 45 and 55 to 100.
    supports : str
        One of `CHOICES`.
    material, way, shape : str
    width_mm : float
        Thickness of the bar, upright where it lies flat.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "2.2 µm" in BendingPanel(left_pct=0, right_pct=100).sentence
    True
    """

    def __init__(
        self,
        length_mm: float = 500,
        depth_mm: float = 40,
        left_pct: float = 0,
        right_pct: float = 100,
        supports: str = CHOICES[0],
        material: str = "steel",
        way: str = "edge up",
        shape: str = SHAPES[0],
        width_mm: float = 10.0,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.width_mm = width_mm
        size_sliders(self, length_mm, depth_mm)
        self.slider("left_pct", "Left support", left_pct, 0, 45, 0.1, ".1f", "% of length")
        self.slider("right_pct", "Right support", right_pct, 55, 100, 0.1, ".1f", "% of length")
        self.menu("supports", "Supports", CHOICES, supports)
        self.menu("material", "Material", list(MATERIALS), material)
        self.menu("way", "Orientation", WAYS, way)
        self.menu("shape", "Shape of the bar", SHAPES, shape)
        self.zoom_tick()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 520, self.dpi)
        with style.styled():
            self._bar_paper()
            self._curve_paper(self.canvas.figure.add_axes((0.665, 0.14, 0.305, 0.74)))

    def _bar_paper(self) -> None:
        frame = self._frame = BarFrame(self.canvas, (0.015, 0.03, 0.57, 0.95), _FACE, self.units)
        axes, make = frame.axes, self.canvas.moving
        axes.plot([-1, 1], [_FACE, _FACE], ":", color=style.BLACK, lw=1.4)

        def shape(colour: str, edge: str = style.BLACK) -> Polygon:
            return make(axes.add_patch(Polygon(np.zeros((3, 2)), facecolor=colour, edgecolor=edge, lw=1.5)))

        self._light = shape(style.SEEN, "#7A5C00")
        self._edge, self._bar = shape("white"), shape(style.STEEL)
        self._holes = [shape("white") for _ in range(3)]
        self._feet = [shape(style.ORANGE) for _ in range(2)]
        self._foot_words = [make(Words(axes, style.SMALL, "center", "bottom")) for _ in range(2)]

    def _curve_paper(self, axes) -> None:
        title = "Out of straight, relative to supports\nat the ends, log scale"
        self._curve, self._here = relative_curve(self.canvas, axes, _APART, (0.8, 200), [1, 3, 10, 30, 100], title)
        axes.set_xlabel("inset of both supports (% of length)")
        axes.text(12, 1.0, "■ the bar as it lies", fontsize=style.SMALL)

    def _where(self, supports: str, left_pct: float, right_pct: float, shape: str, way: str) -> tuple[float, float]:
        if supports == CHOICES[0]:
            return left_pct / 100, right_pct / 100
        if supports == OWN_BEST:
            return own_best(shape, way)
        apart = 1.0 if supports == CHOICES[1] else best_separation(1.0, supports)
        return (1 - apart) / 2, (1 + apart) / 2

    def draw(self, length_mm, depth_mm, left_pct, right_pct, supports, material, way, shape, zoom) -> str:
        """Hang the bar; give the sentence."""
        left, right = self._where(supports, left_pct, right_pct, shape, way)
        setting = (length_mm, depth_mm)
        more = (material, way, self.width_mm)
        height, out = hang(shape, *setting, left, right, *more)
        at_ends = hang(shape, *setting, 0.0, 1.0, *more)[1]
        self.out_um = out
        self._draw_bar(height, shape, (left, right), setting, zoom)
        self._curve.set_ydata(
            [100 * hang(shape, *setting, 0.5 - a / 2, 0.5 + a / 2, *more)[1] / at_ends for a in _APART]
        )
        self._here.set_data([100 * (right - left)], [100 * out / at_ends])
        return self._words(height, out, at_ends, left, right, setting, way, shape)

    def _draw_bar(
        self, height: np.ndarray, shape: str, supports: tuple[float, float], setting: tuple, zoom: bool
    ) -> None:
        length, frame = setting[0], self._frame
        x_mm, deep_mm, hole_mm = bar_of(shape, *setting)
        laid = height + rest(x_mm, height).gap_um  # a perfect straightedge over it
        frame.fit(self.scale, float(max(np.ptp(height), np.abs(laid).max())), length, zoom)
        x, deep = frame.across(_U, length), frame.deep(deep_mm)
        face, over = _FACE + frame.per_um * height, _FACE + frame.per_um * laid
        self._bar.set_xy(outline(x, face, face - deep))
        self._light.set_xy(outline(x, over, face))
        self._edge.set_xy(outline(x, over + _EDGE, over))
        for patch, middle in zip(self._holes, (-0.55, 0.0, 0.55)):
            patch.set_visible(shape == SHAPES[2])
            part = np.abs(_U - middle) < 0.19
            centre, half = face[part] - deep[part] / 2, frame.deep(hole_mm[part]) / 2
            patch.set_xy(outline(x[part], centre + half, centre - half))
        for foot, words, part in zip(self._feet, self._foot_words, supports):
            at = float(frame.across(2 * part - 1, length))
            top = _FACE - float(np.interp(2 * part - 1, _U, deep))
            foot.set_xy([(at, top), (at - 0.03, 18), (at + 0.03, 18)])
            words.set_position((at, 12 if part == supports[0] else 6))
            words.set_text(style.spell_place(part * length, self.units) if abs(at) < 0.95 else "")

    def _words(self, height, out, at_ends, left, right, setting, way, shape) -> str:
        length, depth = (style.spell_place(v, self.units) for v in setting)
        spell = lambda um: fine_words(um, self.units)  # noqa: E731
        middle, ends = float(height[100]), (float(height[0]), float(height[-1]))
        told = (
            f"Out of straight {spell(out)}: middle {spell(middle)}, ends {spell(ends[0])} and {spell(ends[1])}",
            "against the dotted line, straight through the supports",
            "Yellow: the light gap under a perfect straightedge laid on it",
        )
        for words, line in zip(self._frame.notes, told):
            words.set_text(line)
        classic = (
            ""
            if shape == SHAPES[0] or self.controls["supports"].value not in AIMS
            else " The classic points belong to a bar of the same depth throughout, not to this one."
        )
        return (
            f"A bar {length} long and {depth} deep lies {way}, on supports at {100 * left:.1f} and {100 * right:.1f} "
            f"% of "
            f"its length. Its own weight puts it out of straight by {spell(out)}. Against the line through the "
            f"supports its middle lies at {spell(middle)} and its ends at {spell(ends[0])} and {spell(ends[1])}. On "
            f"supports at its ends it would be {spell(at_ends)}. Minus is lower." + classic
        )


def fine_words(um: float, units: str) -> str:
    """Spell a height with two figures more than a bench needs: small sags are what these panels are about.

    >>> fine_words(0.046, "mm"), fine_words(120.4, "mm")
    ('0.05 µm', '120 µm')
    """
    if units == "inch":
        return f"{style.small(um, units):.4f} thou"
    return f"{um:.0f} µm" if abs(um) >= 99.5 else f"{um:.1f} µm" if abs(um) >= 0.95 else f"{um + 0.0:.2f} µm"
