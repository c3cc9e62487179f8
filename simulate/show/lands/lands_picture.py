"""Gauges laid along a bar, and under them what is known of each point."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.collections import LineCollection, PolyCollection

from simulate.method.lands.land_fit import Fit
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Room, Words
from simulate.show.drawing.scale import HeldTop

KEY = (
    "Dot with a bar: straight within one standard deviation.     ?: no land touches it.     "
    "Open diamond: touched, not fixed.     Triangle: fixed end.\n"
    "Yellow gauge: laid last.     Dashed: what a shared error of all gauges makes of the bar.     "
    "Dotted: how points may still swing"
)


def packed(fits: Sequence[Fit]) -> list[int]:
    """Give each fit a row, so that gauges of a row do not overlap and each gauge keeps rows of its own.

    Returns: rows from 0, the first gauge's first.

    >>> packed([Fit((0, 1, 2), 1.0), Fit((1, 2, 3), 1.0), Fit((2, 3, 4), 1.0), Fit((0, 2, 4), 1.0, "long")])
    [0, 1, 0, 2]
    """
    first: dict[str, int] = {}
    ends: list[float] = []
    rows = [0] * len(fits)
    for gauge in dict.fromkeys(f.gauge for f in fits):
        first[gauge] = len(ends)
        for i, fit in enumerate(fits):
            if fit.gauge == gauge:
                free = [r for r in range(first[gauge], len(ends)) if ends[r] <= fit.lands_mm[0] + 1e-6]
                rows[i] = free[0] if free else len(ends)
                if not free:
                    ends.append(0.0)
                ends[rows[i]] = fit.lands_mm[-1]
    return rows


def spaces(fit: Fit, units: str = "mm") -> str:
    """Name a gauge by the spaces between its lands, unturned.

    >>> spaces(Fit((0, 100, 300), 1.0, turned=True))
    'lands 200 + 100 mm apart'
    """
    apart = np.diff(fit.lands_mm)[:: -1 if fit.turned else 1]
    told = " + ".join(f"{round(style.place(v, units), 2):g}" for v in apart)
    return f"lands {told} {'in' if units == 'inch' else 'mm'} apart"


class LandsPicture:
    """Draws gauges and points; everything that moves stays an artist."""

    def __init__(self, canvas: Canvas, length_mm: float, units: str = "mm") -> None:
        self.canvas, self.units, self.length = canvas, units, style.place(length_mm, units)
        self._limits: tuple = ()
        self._top = HeldTop()
        figure = canvas.figure
        with style.styled():
            self.top = figure.add_axes((0.215, 0.56, 0.765, 0.38))
            self.low = figure.add_axes((0.215, 0.225, 0.765, 0.31))
            for axes in (self.top, self.low):
                axes.set_xlim(-0.02 * self.length, 1.02 * self.length)
            self.top.axis("off")
            self.low.set_xlabel(f"position along the bar ({'in' if units == 'inch' else 'mm'})")
            self.low.set_ylabel(f"off the line\nof the ends ({style.small_unit(units)})")
            self.low.axhline(0, color="#777777", lw=1)
            figure.text(0.5, 0.015, KEY, ha="center", va="bottom", fontsize=style.SMALL)
            self._gauges()
            self._points()

    def _gauges(self) -> None:
        moving, top = self.canvas.moving, self.top
        self._beams, self._lands = [], []
        for colour, line, _ in style.LINES:
            beams = PolyCollection([], facecolor=style.STEEL, edgecolor=colour, lw=2, linestyle=line, zorder=3)
            lands = LineCollection([], color=colour, lw=6, zorder=2, capstyle="butt")
            for artist, kept in ((beams, self._beams), (lands, self._lands)):
                top.add_collection(artist, autolim=False)
                kept.append(moving(artist))
        self._new = PolyCollection([], facecolor=style.SEEN, edgecolor="#7A5C00", hatch="..", lw=0, zorder=4)
        self._ghost = PolyCollection([], facecolor="none", edgecolor="#555555", lw=1.8, linestyle="--", zorder=5)
        for artist in (self._new, self._ghost):
            top.add_collection(artist, autolim=False)
            moving(artist)
        self._ghost_lands = moving(top.plot([], [], "v", mfc="none", mec="#555555", ms=9, zorder=5)[0])
        self._names = [moving(Words(top, style.SMALL)) for _ in range(9)]
        self._spreads = [moving(Words(top, style.SMALL, ha="center")) for _ in range(14)]

    def _points(self) -> None:
        moving, low = self.canvas.moving, self.low
        self._sticks = LineCollection([], color=style.BLUE, lw=3, zorder=3)
        low.add_collection(self._sticks, autolim=False)
        moving(self._sticks)
        self._swings = LineCollection([], color="#555555", lw=2, linestyle=":", zorder=2)
        low.add_collection(self._swings, autolim=False)
        moving(self._swings)
        self._shape = moving(low.plot([], [], "--", color=style.ORANGE, lw=2, zorder=2)[0])
        self._firm = moving(low.plot([], [], "o", color=style.BLUE, ms=8, zorder=4)[0])
        self._loose = moving(low.plot([], [], "D", mfc="white", mec=style.BLACK, ms=9, zorder=4)[0])
        self._open = moving(low.plot([], [], linestyle="none", marker="$?$", color=style.BLACK, ms=12, zorder=4)[0])
        self._held = moving(low.plot([], [], "^", color=style.BLACK, ms=11, zorder=4, clip_on=False)[0])
        self._axis_words = moving(Words(low, style.SMALL, va="top"))
        self._sure = [moving(Words(low, style.SMALL, ha="center", va="bottom")) for _ in range(13)]

    def frame(self, rows: int, most_um: float, zoomed: bool = False) -> None:
        """Set the axes; the background is drawn anew where they change.

        `rows`: rows of gauges that have to find room. `most_um`: farthest that a point with its bar stands off the
        line. `zoomed`: whether the axis of heights follows it.
        """
        most = self._top.take(1.2 * style.small(most_um, self.units), zoomed, 3.0)
        self._axis_words.set_text(self._top.words())
        limits = (max(rows, 3), most)
        if limits != self._limits:
            self._limits = limits
            self.top.set_ylim(-1.3, limits[0])
            self.low.set_ylim(-most, most)
            self.canvas.invalidate()

    def show_gauges(self, fits: Sequence[Fit], rows: Sequence[int], ghost: Fit | None) -> None:
        """Draw the gauges that are laid, the last one marked, and the one in the hand."""
        height = self._limits[0] - 1
        names = list(dict.fromkeys(f.gauge for f in fits))
        for k, (beams, lands) in enumerate(zip(self._beams, self._lands)):
            mine = [(f, height - r) for f, r in zip(fits, rows) if names.index(f.gauge) % 3 == k]
            beams.set_verts([self._beam(f, y) for f, y in mine])
            lands.set_segments(
                [[(self._at(x, f), y - 0.1), (self._at(x, f), y - 0.3)] for f, y in mine for x in f.lands_mm]
            )
        self._new.set_verts([self._beam(fits[-1], height - rows[-1])] if len(fits) else [])
        self._ghost.set_verts([self._beam(ghost, -1.0)] if ghost else [])
        self._ghost_lands.set_data(
            *(zip(*[(style.place(x, self.units), -1.12) for x in ghost.lands_mm]) if ghost else ([], []))
        )
        told = {f.gauge: (f, height - r) for f, r in reversed(list(zip(fits, rows)))}
        labels = [(spaces(f, self.units), y) for f, y in told.values()][:8]
        labels += [("in the hand", -0.75)] if ghost else []
        for text, (words, y) in zip(self._names, labels + [("", 0)] * 9):
            text.set_text(words)
            text.set_position((-0.275 * self.length, y + 0.15))

    def show_spreads(self, fits: Sequence[Fit], rows: Sequence[int]) -> None:
        """Write its spread on every gauge, where the gauges differ and there is room."""
        differ = len({f.sd_um for f in fits}) > 1 and len(fits) <= len(self._spreads)
        height, form = self._limits[0] - 1, ".2f" if self.units == "inch" else ".1f"
        for k, text in enumerate(self._spreads):
            shown = differ and k < len(fits)
            text.set_text(f"±{style.small(fits[k].sd_um, self.units):{form}}" if shown else "")
            if shown:
                text.set_position(
                    (style.place((fits[k].lands_mm[0] + fits[k].lands_mm[-1]) / 2, self.units), height - rows[k] + 0.15)
                )

    def _at(self, x_mm: float, fit: Fit) -> float:
        """Where a land is drawn: outer lands a little inwards, so that gauges laid end to end stay apart."""
        inset = 0.004 * self.length
        return style.place(x_mm, self.units) + inset * ((x_mm == fit.lands_mm[0]) - float(x_mm == fit.lands_mm[-1]))

    def _beam(self, fit: Fit, y: float) -> list[tuple[float, float]]:
        a, b = (style.place(v, self.units) for v in (fit.lands_mm[0], fit.lands_mm[-1]))
        inset = 0.0015 * self.length
        return [(a + inset, y - 0.1), (b - inset, y - 0.1), (b - inset, y + 0.4), (a + inset, y + 0.4)]

    def show_points(
        self,
        x_mm: np.ndarray,
        reached: np.ndarray,
        touched: np.ndarray,
        sd_um: np.ndarray,
        height_um: np.ndarray,
        bent: bool,
    ) -> None:
        """Draw what is known of each point.

        `x_mm` (points,), `reached`, `touched` (points,) of bool. `sd_um`, `height_um` (points,): nan where not reached.
        `bent`: join the points, which a shared error has moved off the line.
        """
        x, sd = style.place(x_mm, self.units), style.small(sd_um, self.units)
        h = style.small(np.where(reached, height_um, 0.0), self.units)
        held = reached & (sd == 0)
        firm, loose, open_ = reached & ~held, ~reached & touched, ~reached & ~touched
        self._sticks.set_segments([[(a, y - s), (a, y + s)] for a, y, s in zip(x[firm], h[firm], sd[firm])])
        self._shape.set_data(*((x[reached], h[reached]) if bent else ([], [])))
        for line, which in ((self._firm, firm), (self._loose, loose), (self._open, open_), (self._held, held)):
            line.set_data(x[which], h[which])
        most = self._limits[1]
        few = np.flatnonzero(firm & (abs(h) <= most)) if firm.sum() <= 13 else []
        form = ".2f" if self.units == "inch" else ".1f"
        for k, text in enumerate(self._sure):
            text.set_text(f"±{sd[few[k]]:{form}}" if k < len(few) else "")
            if k < len(few):
                over = h[few[k]] + sd[few[k]] + 0.02 * most
                beside = 0.03 * self.length if over > 0.8 * most else 0.0  # no room over the stick
                text.set_position((x[few[k]] + beside, min(over, 0.8 * most)))
        self._say_scale([text for text in self._sure if text.said])

    def show_swings(self, x_mm: np.ndarray, touched: np.ndarray, swings: np.ndarray) -> None:
        """Draw, up and down, how points that are not fixed may move together; between points that are touched.

        `x_mm`, `touched` (points,). `swings` (ways, points): 1 at most.
        """
        x, beside = style.place(x_mm, self.units), np.flatnonzero(touched[1:] & touched[:-1])
        drawn = [0.7 * self._limits[1] * way * one for one in swings for way in (1, -1)]
        self._swings.set_segments([[(x[i], y[i]), (x[i + 1], y[i + 1])] for y in drawn for i in beside])

    def _say_scale(self, others: list[Words]) -> None:
        """Write what the axis of heights does where no other words stand."""
        if self._axis_words.said:
            room = Room(self.low, [self._shape], np.zeros((0, 2)))
            for text in others:
                room.fill(text.box())
            at = [(x * self.length, y * self._limits[1]) for y in (0.97, -0.7) for x in np.arange(0, 0.9, 0.05)]
            self._axis_words.put_clear(self.low.transData.transform(at), room)
