"""A plate on three points: where they stand, how far it hangs, and how a bar of the same length does."""

from __future__ import annotations

import numpy as np

from simulate.bench.bending.bar_supports import best_separation
from simulate.bench.bending.materials import MATERIALS
from simulate.bench.bending.plate_sag import plate_sag
from simulate.bench.bending.plate_supports import best_three, three_points
from simulate.core.byte_cache import remembered
from simulate.show.bars.bar_bending import SHAPES, fine_words, hang, relative_curve
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.plate_map import PlateMap, fine, line_step
from simulate.show.drawing.scale import HeldTop
from simulate.show.panel.panel import Panel
from simulate.surface.flatness import flatness

CHOICES = ("set by the three sliders", "two corners and the far side", "the best three")
CORNERS = (1.0, 1.0, 1.0)
_U = np.linspace(-1.0, 1.0, 31)
_APART = np.linspace(0.1, 1.0, 19)


@remembered
def lie(width_mm: float, depth_mm: float, thick_mm: float, points: tuple, material: str) -> tuple[np.ndarray, float]:
    """Lay a plate on three points.

    `points`: x and y in mm from the middle. Returns `height_um` (31, 31). `out_um`: its flatness as it lies (minimum
    zone).

    >>> height, out = lie(600, 400, 60, ((-170.0, -100.0), (170.0, -100.0), (0.0, 140.0)), "grey iron")
    >>> height.shape, bool(0.1 < out < 2)
    ((31, 31), True)
    """
    x, y = _U * width_mm / 2, _U * depth_mm / 2
    height = plate_sag(x, y, thick_mm, points, material)
    height.setflags(write=False)
    return height, float(flatness(x, y, height).value_um)


class PlateBendingPanel(Panel):
    """A plate that hangs on three points by its own weight.

    Parameters
    ----------
    width_mm, depth_mm, thick_mm : float
        Width and depth 200 to 1500, thickness 10 to 200.
    points : str
        One of `CHOICES`.
    apart_pct : float
        Distance of the near pair in percent of the width, 10 to 100.
    near_pct, far_pct : float
        Of the pair from the near side and of the single point from the far side, in percent of the depth, 0 to 45.
    material : str
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "out of flat by" in PlateBendingPanel().sentence
    True
    """

    def __init__(
        self,
        width_mm: float = 600,
        depth_mm: float = 400,
        thick_mm: float = 50,
        points: str = CHOICES[1],
        apart_pct: float = 56,
        near_pct: float = 22,
        far_pct: float = 22,
        material: str = "grey iron",
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.place_slider("width_mm", "Width of the plate", width_mm, 200, 1500, 20)
        self.place_slider("depth_mm", "Depth of the plate", depth_mm, 200, 1500, 20)
        self.place_slider("thick_mm", "Thickness of the plate", thick_mm, 10, 200, 5)
        self.menu("points", "Support points", CHOICES, points)
        self.slider("apart_pct", "Spacing of the pair", apart_pct, 10, 100, 1, unit="% of width")
        self.slider("near_pct", "Inset of the pair", near_pct, 0, 45, 1, unit="% of depth")
        self.slider("far_pct", "Inset of third point", far_pct, 0, 45, 1, unit="% of depth")
        self.menu("material", "Material", list(MATERIALS), material)
        self.zoom_tick()
        self._top = HeldTop()
        for name in ("width_mm", "depth_mm"):
            self.controls[name].continuous_update = False  # the best three are sought anew for another shape
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 540, self.dpi)
        with style.styled():
            self._map = PlateMap(
                self.canvas, self.canvas.figure.add_axes((0.015, 0.06, 0.42, 0.82)), letters=False, bar=self.units
            )
            self._curve_paper(self.canvas.figure.add_axes((0.525, 0.14, 0.24, 0.70)))
            self._side_paper(self.canvas.figure.add_axes((0.79, 0.03, 0.205, 0.94)))

    def _curve_paper(self, axes) -> None:
        title = "Out of flat, relative to two corners\nand the far side, log scale"
        self._curve, self._here = relative_curve(self.canvas, axes, _APART, (3, 300), [3, 10, 30, 100, 300], title)
        axes.set_xlabel("spacing of the pair (% of side)")

    def _side_paper(self, axes) -> None:
        axes.axis("off")
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        axes.text(0, 0.985, "Out of flat", va="top", fontsize=style.LARGE, weight="bold")
        axes.text(0, 0.56, "A bar of that length", va="top", fontsize=style.BODY, weight="bold")
        axes.text(
            0,
            0.20,
            (
                "map: heights above the points\ndotted: level with them\ndashed: lower; solid: higher\n■ the "
                "plate as it lies"
            ),
            va="top",
            fontsize=style.SMALL,
            linespacing=1.4,
        )
        self._plate_words, self._bar_words = (
            self.canvas.moving(axes.text(0, y, "", va="top", fontsize=style.BODY, linespacing=1.5))
            for y in (0.89, 0.49)
        )

    def _parts(
        self, points: str, sizes: tuple[float, float], apart_pct: float, near_pct: float, far_pct: float
    ) -> np.ndarray:
        if points == CHOICES[2]:
            return best_three(*sizes) / (np.array(sizes) / 2)
        at = CORNERS if points == CHOICES[1] else (apart_pct / 100, 1 - near_pct / 50, 1 - far_pct / 50)
        return three_points(*at)

    def draw(self, width_mm, depth_mm, thick_mm, points, apart_pct, near_pct, far_pct, material, zoom) -> str:
        """Lay the plate; give the sentence."""
        sizes = width_mm, depth_mm
        parts = self._parts(points, sizes, apart_pct, near_pct, far_pct)
        height, out = self._lie(sizes, thick_mm, parts, material)
        corners = self._lie(sizes, thick_mm, three_points(*CORNERS), material)[1]
        self.out_um, self.corners_um = out, corners
        pair = 0 if parts[0, 1] == parts[1, 1] else 1  # the side that the pair lies along
        spread = np.abs(
            _APART[:, None, None] * np.eye(2)[pair] * np.sign(parts[:, pair])[:, None] + parts * np.eye(2)[1 - pair]
        )
        each = spread * np.where(np.sign(parts) == 0, 1, np.sign(parts))
        self._curve.set_ydata([100 * self._lie(sizes, thick_mm, some, material)[1] / corners for some in each])
        self._here.set_data([50 * np.abs(parts[1, pair] - parts[0, pair])], [100 * out / corners])
        self._draw_map(height, parts, sizes, zoom)
        self._bars(sizes, thick_mm, material)
        return self._words(sizes, thick_mm, points, parts, material)

    def _lie(self, sizes, thick_mm, parts, material) -> tuple[np.ndarray, float]:
        places = np.round(parts * np.array(sizes) / 2, 6)
        return lie(*sizes, thick_mm, tuple(map(tuple, places.tolist())), material)

    def _draw_map(self, height: np.ndarray, parts: np.ndarray, sizes: tuple[float, float], zoom: bool) -> None:
        ratio = sizes[1] / sizes[0]
        if self._map.axes.get_box_aspect() != ratio:
            self._map.sides(ratio)
            self.canvas.invalidate()
        shown = style.small(1.0, self.units) * height
        most = self._top.take(float(np.abs(shown).max()), zoom, 3.0)
        step = line_step(most) if most > 0.25 else _small_step(most)
        unit = style.small_unit(self.units)
        words = {"": "", "Zoomed": "; zoomed"}.get(self._top.words(), "; it goes beyond the shades")
        self._map.show(f"A line every {step:g} {unit}{words}", fine(shown), step, most, contacts=parts)

    def _bars(self, sizes: tuple[float, float], thick_mm: float, material: str) -> None:
        length, apart = max(sizes), best_separation(1.0)
        self.bar_um = tuple(
            hang(SHAPES[0], length, thick_mm, (1 - a) / 2, (1 + a) / 2, material, "edge up", 10.0)[1]
            for a in (1.0, apart)
        )
        spell = lambda um: fine_words(um, self.units)  # noqa: E731
        self._plate_words.set_text(f"here: {spell(self.out_um)}\ncorners: {spell(self.corners_um)}")
        self._bar_words.set_text(f"ends: {spell(self.bar_um[0])}\nbest points: {spell(self.bar_um[1])}")

    def _words(self, sizes, thick_mm, points, parts, material) -> str:
        width, depth, thick = (style.spell_place(v, self.units) for v in (*sizes, thick_mm))
        spell = lambda um: fine_words(um, self.units)  # noqa: E731
        places = ", ".join(f"{100 * (1 + p) / 2:.0f} and {100 * (1 + q) / 2:.0f} %" for p, q in parts)
        times = self.corners_um / self.out_um
        gain = (
            ""
            if points == CHOICES[1]
            else (
                f" On two corners and the middle of the far side it would be {spell(self.corners_um)}, "
                f"{times:.1f} times as much."
                if times >= 1
                else f" On two corners and the middle of the far side it would be {spell(self.corners_um)}."
            )
        )
        return (
            f"A {material} plate is {width} wide, {depth} deep and {thick} thick, on points at {places} of width and "
            f"depth from its near left corner. Its own weight puts it out of flat by {spell(self.out_um)}.{gain} A "
            "bar of the same material and thickness, as long as the longer side, is out of straight by "
            f"{spell(self.bar_um[0])} on its ends. On its best two points that is {spell(self.bar_um[1])}."
        )


def _small_step(most: float) -> float:
    """Distance of contour lines for heights that are small even for a fine map."""
    power = 10.0 ** np.floor(np.log10(max(most, 1e-6) / 4))
    return float(max(f * power for f in (1, 2, 5) if f * power <= max(most, 1e-6) / 4 * 1.000001))
