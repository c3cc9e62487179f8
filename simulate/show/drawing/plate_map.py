"""A plate as a map: heights by colour, lit from the upper left, with contour lines, and dots where the marking
prints."""

from __future__ import annotations

import numpy as np
import scipy
from contourpy import contour_generator
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.palette import GAPS, HEIGHTS, SHADES, relief
from simulate.show.drawing.steel import Bodies

_LAMP = 0.5  # of the steepest light for a slope that rises by the whole scale over half the plate
_GRAIN = np.array([[0, 8, 2, 10], [12, 4, 14, 6], [3, 11, 1, 9], [15, 7, 13, 5]], np.uint8)
"""Sixteenths of a shade, dot by dot: what lies between two shades is mixed of both, so that none makes an edge."""
_EDGE, _EDGE_PX = (34, 34, 34, 255), 1.5
_LETTERS = ((-0.88, -0.88), (0.88, -0.88))


def line_step(most: float) -> float:
    """Give a round distance between contour lines: about four of them up to `most`.

    `most`: in any unit.

    >>> line_step(100.0), line_step(7.0), line_step(0.0)
    (20.0, 1.0, 0.05)
    """
    wanted = max(most / 4, 0.05)
    power = 10.0 ** np.floor(np.log10(wanted) + 1e-9)
    return float(max(f * power for f in (1, 2, 5) if f * power <= wanted * 1.000001))


def corner_place(corner: tuple[float, float], turned: int) -> tuple[float, float]:
    """Say where a mark on a plate lies once the plate is turned over and round.

    `corner`: from the middle of the plate. `turned`: 0, 90, 180 or 270 degrees.

    >>> corner_place((-1, -1), 0), corner_place((-1, -1), 90)
    ((1, -1), (1, 1))
    """
    x, y = -corner[0], corner[1]
    for _ in range(turned // 90):
        x, y = -y, x
    return x, y


def lit(height_um: np.ndarray, top_um: float, dots: tuple[int, int]) -> np.ndarray:
    """Colour a plate by its heights, its slopes lit from the upper left; on one scale a flatter plate has less relief.

    `height_um` (rows, columns): nan where there is nothing. `top_um`: where the colours end. `dots`: how high and wide
    it is drawn. Returns (high, wide, 4).

    >>> ramp = np.linspace(0, 50, 9)[:, None].repeat(9, axis=1)  # rises away from the reader, so it lies in shadow
    >>> level, shadow, light = (lit(one, 50.0, (36, 36)) for one in (0 * ramp, ramp, ramp[::-1]))
    >>> bool(shadow[0, 4, 1] < level[4, 4, 1] < light[-1, 4, 1])
    True
    """
    there = np.isfinite(height_um)
    part = np.where(there, height_um, 0.0) / top_um
    up, right = np.gradient(part, *(2 / (points - 1) for points in part.shape))
    light = 16 * SHADES.index(1.0) * (1 + (_LAMP * (right - up)).clip(-1, 1))
    place = (0.5 * HEIGHTS.N * (1 + part)).clip(0, HEIGHTS.N - 1).astype(np.uint16)
    at = np.ix_(*(np.arange(many) * points // many for many, points in zip(dots, part.shape)))
    shade = light.astype(np.uint8)[at] + np.tile(_GRAIN, (dots[0] // 4 + 1, dots[1] // 4 + 1))[: dots[0], : dots[1]]
    found = relief().view(np.uint32).ravel()[(shade >> 4) * np.uint16(HEIGHTS.N) + place[at]]
    found[~there[at]] = 0
    return found.view(np.uint8).reshape(*dots, 4)


class PlateMap:
    """One map that changes with every look.

    `gaps`: whether it shows gaps, from 0 up, in the place of heights. `lift`: how far the title stands above the map,
    as a part of half its height. `letters`: whether two corners carry letters that turn with the plate. `bar`: ``"mm"``
    or ``"inch"`` puts a bar of the shades beside the map, with the heights at its ends; else none.
    """

    def __init__(
        self,
        canvas: Canvas,
        axes: Axes,
        gaps: bool = False,
        lift: float = 0.1,
        letters: bool = True,
        bar: str = "",
    ) -> None:
        self.axes, self.gaps, self._lift, self._lettered = axes, gaps, lift, letters and not gaps
        self._lit = (
            not gaps and canvas.figure.dpi < style.WALL_DPI
        )  # its palette for a dark room would turn it inside out
        canvas.lit |= self._lit
        axes.set_xticks([])
        axes.set_yticks([])
        for spine in axes.spines.values():
            spine.set_visible(True)
        self._image = canvas.moving(
            axes.imshow(
                np.zeros((2, 2)),
                cmap=GAPS if gaps else HEIGHTS,
                origin="lower",
                extent=(-1, 1, -1, 1),
                interpolation="nearest",
                zorder=1,
                aspect="auto",
            )
        )
        make = canvas.moving
        self._light = make(Bodies(axes))
        self._light.set_zorder(2)
        frame = Rectangle((0, 0), 1, 1, transform=axes.transAxes, fill=False, edgecolor="#222222", lw=1.2, zorder=6)
        make(axes.add_patch(frame)).set_clip_on(False)
        self._plain, self._bar = False, bar
        self._ends = self._bar_beside(canvas) if bar else []
        self._lines = [
            make(axes.add_collection(LineCollection([], colors="#222222", linewidths=w, linestyles=s, zorder=3)))
            for w, s in ((1.6, "-"), (1.0, ":"), (1.3, (0, (4, 2))))
        ]
        self._dots = make(axes.plot([], [], "s", color=style.BLACK, ms=2.1, mew=0, zorder=4)[0])
        self._feet = make(
            axes.plot([], [], "^", color=style.ORANGE, ms=12, mec="white", mew=1.2, zorder=5, clip_on=gaps)[0]
        )  # in gaps a title stands close above
        self._title = make(Words(axes, style.BODY))
        self.sides(1.0)
        self._letters = [make(Words(axes, style.LARGE, "center")) for _ in "AB"]

    def sides(self, depth_over_width: float) -> None:
        """Give the map the shape of its plate; the canvas has to be told."""
        self.axes.set_box_aspect(depth_over_width)
        self._title.set_position((-1, 1 + self._lift / depth_over_width))

    def _bar_beside(self, canvas: Canvas) -> list[Words]:
        """Draw the shades from their lowest to their highest right of the map; give the words at both ends."""
        beside = self.axes.inset_axes((1.03, 0.14, 0.04, 0.62))
        shades = GAPS if self.gaps else HEIGHTS
        beside.imshow(shades(np.linspace(0, 1, shades.N))[:, None, :3], origin="lower", aspect="auto")
        beside.set(xticks=[], yticks=[])
        for spine in beside.spines.values():
            spine.set_visible(True)
        ends = [canvas.moving(Words(self.axes, style.SMALL, va=va)) for va in ("top", "bottom")]
        for words, y in zip(ends, (-0.76, 0.56)):
            words.set_position((1.05, y))
        return ends

    def _say_ends(self, top_um: float) -> None:
        if self._ends:
            value = style.small(top_um, self._bar)
            figure = f"{value:.0f}" if value >= 10 else f"{value:.2g}"
            low, high = ("0", figure) if self.gaps else (f"-{figure}", f"+{figure}")
            for words, text in zip(self._ends, (low, f"{style.small_unit(self._bar)}\n{high}")):
                words.set_text(text)

    def plainly(self, plain: bool) -> None:
        """Draw without light and with hard edges, which makes a smaller picture, or as before."""
        self._plain = plain
        for lines in self._lines:
            lines.set_antialiased(not plain)

    def show(
        self,
        title: str,
        height_um: np.ndarray,
        step_um: float,
        top_um: float,
        printed: np.ndarray | None = None,
        contacts: np.ndarray | None = None,
        turned: int | None = None,
    ) -> None:
        """Show a plate.

        `height_um` (rows, columns): nan where there is nothing. `step_um`: between contour lines. `top_um`: where the
        shades end. `printed` (rows, columns) of bool. `contacts` (points, 2): from -1 to 1 each way. `turned`: the
        plate lies face down, so turned; its corner letters go with it.
        """
        self._title.set_text(title)
        smooth = _smooth(height_um)
        self._image.set_data(np.ma.masked_invalid(smooth))
        self._light.set_visible(self._lit and not self._plain)
        self._image.set_visible(not self._light.get_visible())
        if self._light.get_visible():
            self._light.put(self._lighted(smooth, top_um), (-1, -1))
        self._image.set_clim(0 if self.gaps else -top_um, top_um)
        self._say_ends(top_um)
        for lines, part in zip(self._lines, self._contours(smooth, step_um)):
            lines.set_segments(part)
        corners = [] if not self._lettered else [c if turned is None else corner_place(c, turned) for c in _LETTERS]
        self._print(printed, corners)
        feet = np.zeros((0, 2)) if contacts is None else contacts
        self._feet.set_data(feet[:, 0], feet[:, 1])
        size = np.array(smooth.shape) - 1
        for words, letter, corner in zip(self._letters, "AB", corners):
            row, column = np.round((np.array(corner[::-1]) + 1) / 2 * size).astype(int)
            words.set_text(letter if np.isfinite(smooth[row, column]) else "")
            words.set_position(corner)

    def clear(self, title: str) -> None:
        """Leave the place of the map empty under its title."""
        self._title.set_text(title)
        for one in (self._image, self._light):
            one.set_visible(False)
        for lines in self._lines:
            lines.set_segments([])
        for words in self._letters:
            words.set_text("")
        self._print(None, [])

    def on_its_way(
        self, title: str, height_um: np.ndarray, top_um: float, turned: float = 0, across: float = 1
    ) -> None:
        """Draw the plate alone while it is moved, without lines and letters, as no wall shows it.

        `height_um` (rows, columns). `turned`: degrees counterclockwise. `across`: how wide it looks, of its own width,
        while it is turned over.
        """
        self.clear(title)
        self._light.set_visible(True)
        self.axes.apply_aspect()
        size = self.axes.bbox.size * (across, 1)
        cos, sin = np.cos(np.radians(turned)), np.sin(np.radians(turned))
        dots = np.ceil(abs(cos) * size + abs(sin) * size[::-1]).astype(int)[::-1]
        y, x = np.indices(dots) - (dots[:, None, None] - 1) / 2
        aside = np.stack([cos * y - sin * x, cos * x + sin * y])  # from the middle, along the plate's own sides
        place = (aside / size[::-1, None, None] + 0.5) * (np.array(height_um.shape)[:, None, None] - 1)
        pixels = lit(scipy.ndimage.map_coordinates(height_um, place, order=1, mode="nearest"), top_um, tuple(dots))
        inside = (size[::-1, None, None] / 2 - abs(aside)).min(axis=0)
        pixels[inside < _EDGE_PX] = _EDGE
        pixels[inside < 0] = 0
        corner = self.axes.bbox.p0 + (self.axes.bbox.size - pixels.shape[1::-1]) / 2
        self._light.put(pixels[::-1], tuple(self.axes.transData.inverted().transform(corner)))

    def _lighted(self, smooth: np.ndarray, top_um: float) -> np.ndarray:
        self.axes.apply_aspect()
        wide, high = (round(side) for side in self.axes.bbox.size)
        return lit(smooth, top_um, (high, wide))[::-1]

    def _contours(self, smooth: np.ndarray, step: float) -> list[list[np.ndarray]]:
        rows, columns = smooth.shape
        lines = contour_generator(
            np.linspace(-1, 1, columns), np.linspace(-1, 1, rows), np.ma.masked_invalid(smooth)
        ).lines
        low, high = np.nanmin(smooth), np.nanmax(smooth)
        above = [p for k in range(1, 12) if k * step < high for p in lines(k * step)]
        below = [p for k in range(1, 12) if -k * step > low for p in lines(-k * step)]
        level = [] if self.gaps or max(high, -low) < 0.1 * step else lines(0.0)  # of a flat plate it would be grain
        return [above, level, below]

    def _print(self, printed: np.ndarray | None, corners: list) -> None:
        if printed is None:
            self._dots.set_data([], [])
            return
        rows, columns = printed.shape
        row, column = np.nonzero(printed)
        # A chequer of dots on a fine grid, so that the lines below stay legible.
        if max(rows, columns) > 40:
            keep = (row + column) % 2 == 0
            row, column = row[keep], column[keep]
        x, y = column * 2 / (columns - 1) - 1, row * 2 / (rows - 1) - 1
        free = np.ones(x.size, bool)
        for a, b in corners:
            free &= np.maximum(abs(x - a), abs(y - b)) > 0.11
        self._dots.set_data(x[free], y[free])


def _smooth(height: np.ndarray) -> np.ndarray:
    """Take the grain out, so that lines stay lines."""
    smooth = scipy.ndimage.gaussian_filter(np.nan_to_num(height), max(height.shape) / 40)
    smooth[np.isnan(height)] = np.nan
    return smooth


def fine(height: np.ndarray) -> np.ndarray:
    """Fill in straight lines between few points, for a map of 61 × 61.

    `height` (rows, columns): whole rows and columns at the edges may be nan. Returns (61, 61).

    >>> float(fine(np.array([[0.0, 1.0], [2.0, 3.0]]))[30, 30])
    1.5
    """
    rows, columns = height.shape
    there = np.isfinite(height)
    if there.all():
        return scipy.ndimage.zoom(height, (61 / rows, 61 / columns), order=1)
    r, c = there.any(axis=1), there.any(axis=0)
    full = np.full((61, 61), np.nan)
    index = [np.round(np.flatnonzero(a)[[0, -1]] / (a.size - 1) * 60).astype(int) for a in (r, c)]
    part = height[np.ix_(r, c)]
    size = [b - a + 1 for a, b in index]
    full[index[0][0] : index[0][1] + 1, index[1][0] : index[1][1] + 1] = scipy.ndimage.zoom(
        part, (size[0] / part.shape[0], size[1] / part.shape[1]), order=1
    )
    return full
