"""Pictures of the practice bench: what is seen while the bars are hidden, and the truth after the stop."""

from __future__ import annotations

import numpy as np
from matplotlib.colors import to_rgb
from matplotlib.patches import Rectangle

from simulate.method.practice_debrief import Debrief
from simulate.method.practice_state import STATIONS, Answer, PracticeState
from simulate.show import style
from simulate.show.bench_picture import own_line_out
from simulate.show.canvas import Canvas, Words

_THICK, _LOW, _SLIT = 18.0, 34.0, 12.0  # of a picture 100 high: a bar, the lower bar's foot, the slit drawn between
_DARK, _PRINT = "#1C1C1C", style.BLUE


class HiddenPicture:
    """The pair as the maker sees it: straight blocks, and in the slit between them what the look gave back.

    Nothing is drawn from true heights; only from the answer of a look.

    Parameters
    ----------
    dpi : int
    units : str
    """

    def __init__(self, dpi: int, units: str) -> None:
        self.canvas, self.units = Canvas(1280, 560, dpi), units
        with style.styled():
            self.axes = self.canvas.figure.add_axes((0.02, 0.13, 0.96, 0.85))
        axes, moving = self.axes, self.canvas.moving
        axes.set_yticks([])
        for side in ("left", "right", "top"):
            axes.spines[side].set_visible(False)
        axes.set_xlabel(f"position along the pair as it lies ({'in' if units == 'inch' else 'mm'})")
        axes.set_ylim(0, 100)
        self._slit = moving(axes.imshow(np.zeros((1, 2, 3)), aspect="auto", interpolation="nearest", zorder=2))
        self._stretch = moving(Rectangle((0, 0), 1, 4, facecolor=style.ORANGE, zorder=4))
        axes.add_patch(self._stretch)
        self._finger = moving(axes.plot([], [], "v", color=style.BLACK, ms=16, zorder=5)[0])
        self._labels = [moving(Words(axes, size, ha="center")) for size in (style.BODY,) * 3]
        self._top, self._file = (moving(Words(axes, style.LARGE, ha="center")) for _ in range(2))
        self._stations = [moving(Words(axes, style.SMALL, ha="center", colour="white")) for _ in range(STATIONS)]
        self._half = 0.0

    def _frame(self, half: float) -> None:
        if half == self._half:
            return
        self._half = half
        self.axes.set_xlim(-1.03 * half, 1.03 * half)
        self._slit.set_extent((-half, half, _LOW + _THICK, _LOW + _THICK + _SLIT))
        self.axes.set_ylim(0, 100)
        for foot in (_LOW, _LOW + _THICK + _SLIT, 2):
            self.axes.add_patch(Rectangle((-half, foot), 2 * half, _THICK if foot > 2 else 12, facecolor=style.STEEL,
                                          edgecolor=style.BLACK, lw=2))
        self.canvas.invalidate()

    def show(self, state: PracticeState, place_mm: float, length_mm: float, words: str) -> None:
        """Draw the bench.

        Parameters
        ----------
        state : PracticeState
        place_mm, length_mm : float
            The stretch that a file stroke would take.
        words : str
            What the file would do.
        """
        half = style.place(state.length_mm / 2, self.units)
        self._frame(half)
        place, part = style.place(place_mm, self.units), style.place(length_mm, self.units)
        left, right = max(place - part / 2, -half), min(place + part / 2, half)
        self._stretch.set_bounds(left, _LOW + 2 * _THICK + _SLIT, right - left, 2.5)
        self._file.set_text(words)
        self._file.set_position((0, 90.5))
        turned = ", turned end for end" if state.turned else ""
        waiting = 3 - state.lower - state.upper
        names = (f"Bar {state.lower + 1}: gauge, lies below", f"Bar {state.upper + 1}: in the vice, laid on top{turned}",
                 f"Bar {waiting + 1}: waits on the bench")
        for label, text, at in zip(self._labels, names, (_LOW + _THICK / 2, _LOW + 1.5 * _THICK + _SLIT, 8)):
            label.set_text(text)
            label.set_position((0, at))
        press = [] if state.press_mm is None else [style.place(state.press_mm, self.units)]
        self._finger.set_data(press, [87] * len(press))
        self._answer(state.answer)

    def _answer(self, answer: Answer | None) -> None:
        self._slit.set_data(_pixels(answer))
        title = {None: "Not looked at since the last move: press Look", "light": "Yellow: light comes through. Dark: none",
                 "feeler": "Thickest blade that goes in, mm",
                 "marking compound": "Dark blue: it printed. Pale: no print"}[answer.kind if answer else None]
        self._top.set_text(title)
        self._top.set_position((0, 26))
        texts = feeler_texts(answer) if answer and answer.kind == "feeler" else [""] * STATIONS
        for word, text, k in zip(self._stations, texts, range(STATIONS)):
            word.set_text(text)
            word.set_position((self._half * 0.95 * (2 * k / (STATIONS - 1) - 1), _LOW + _THICK + _SLIT / 2))


def feeler_texts(answer: Answer) -> list[str]:
    """Write what each station let in.

    Parameters
    ----------
    answer : Answer
        Of a feeler.

    Returns
    -------
    list of str
        A blade in mm, or ``"none"``.
    """
    return [f"{low / 1000:.2f}" if low else "none" for low in answer.seen.at_least_um]


def _pixels(answer: Answer | None) -> np.ndarray:
    """The slit, one column a place: grey where nobody has looked."""
    if answer is None:
        return np.full((1, 2, 3), 0.55)
    if answer.kind == "feeler":
        return np.full((1, 2, 3), to_rgb(_DARK))
    shut, opened = (_DARK, style.SEEN) if answer.kind == "light" else (_PRINT, "#E8EEF4")
    return np.where(answer.seen.open[None, :, None], to_rgb(opened), to_rgb(shut))


class TruthPicture:
    """After the stop: the three true shapes at any act, and the worst bar against the metal it cost.

    Parameters
    ----------
    dpi : int
    units : str
    told : Debrief
    """

    def __init__(self, dpi: int, units: str, told: Debrief) -> None:
        self.canvas, self.told, self.units = Canvas(1280, 560, dpi), told, units
        small = style.small_unit(units)
        with style.styled():
            self.shapes = self.canvas.figure.add_axes((0.075, 0.13, 0.5, 0.76))
            self.cost = self.canvas.figure.add_axes((0.67, 0.13, 0.31, 0.76))
            self._heights = style.small(own_line_out(told.x_mm, told.height_um), units)
            x = style.place(told.x_mm, units)
            top = 1.1 * np.abs(self._heights).max()
            self.shapes.set(xlim=(x[0], x[-1]), ylim=(-top, top), ylabel=f"true height ({small})",
                            xlabel=f"position along the bar ({'in' if units == 'inch' else 'mm'})")
            self._lines = [self.canvas.moving(self.shapes.plot(x, self._heights[0, bar], color=colour, ls=dash, zorder=3,
                                                               label=f"bar {bar + 1}")[0])
                           for bar, (colour, dash, _) in enumerate(style.LINES)]
            self.shapes.legend(loc="lower left", bbox_to_anchor=(0, 0.99), ncols=3, frameon=False)
            self._title = self.canvas.moving(Words(self.shapes, style.BODY, ha="center", va="top"))
            self._title.set_position((0, top))
            self._costs(small)

    def _costs(self, small: str) -> None:
        told, units = self.told, self.units
        self._metal = told.metal_mm3.sum(axis=-1) / 1000
        self._worst = style.small(told.straightness_um.max(axis=-1), units)
        loop = style.small(told.loop_worst_um, units)
        self.cost.plot(self._metal, self._worst, color=style.BLUE, marker="o", ms=4, label="you")
        self.cost.plot(told.loop_metal_mm3 / 1000, loop, color=style.ORANGE, ls="--", marker="s", label="plain loop of three")
        self.cost.set(xlabel="metal taken (cm³)", ylabel=f"worst bar out of straight ({small})",
                      ylim=(0, 1.12 * max(self._worst.max(), loop.max())))
        self.cost.set_xlim(left=0)
        self.cost.legend(loc="upper right", frameon=False)
        self._here = self.canvas.moving(self.cost.plot([], [], "o", color=style.BLACK, ms=13, mfc="none", mew=3)[0])

    def show(self, place: int, words: str) -> None:
        """Draw the truth after one act.

        Parameters
        ----------
        place : int
            0 is the start.
        words : str
            What that act was.
        """
        for line, height in zip(self._lines, self._heights[place]):
            line.set_ydata(height)
        self._here.set_data([self._metal[place]], [self._worst[place]])
        self._title.set_text(words)


