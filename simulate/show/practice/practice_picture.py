"""The pair on the practice bench as its maker sees it: blocks, the slit between them, and what a look gave back."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import Rectangle

from simulate.method.practice import bars_level as bars
from simulate.method.practice import lands_level as lands
from simulate.method.practice.bars_level import PUSH
from simulate.method.practice.state import Answer, PracticeState
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.practice import slit

_LOW, _THICK, _SLIT = 37.0, 13.0, 15.0  # of a picture 100 high: the lower one's foot, its thickness, the slit
_TOP = _LOW + _THICK + _SLIT
LAND_MM = 10.0
LIGHT_UM = {"gauge": lands.SIGHTS["light"].threshold_um, "bar": bars.SIGHTS["light"].threshold_um}
_FOOT = 4.0  # how far a land stands out of its gauge
_ROOM = 0.075  # of the length, that a word needs below the slit


def keys(kind: str | None, land: bool, units: str) -> tuple[str, str]:
    """Say how to read what a look gave back, in two lines.

    `land`: whether it is a broad land, not an edge.

    >>> keys("light", True, "mm")[1]
    'White: 6.0 µm or more, the brighter the wider.'
    """

    def um(value: float) -> str:
        return style.spell(value, units)

    if kind == "light" and land:
        least = um(LIGHT_UM["gauge"])
        return (
            f"Dark: under {least}, because a broad land hides more than a knife edge.",
            f"White: {least} or more, the brighter the wider.",
        )
    return {
        None: ("Not checked since the last move or cut: press Look", ""),
        PUSH: ("Dot: the place about which it turned when its right end was pushed", ""),
        "light": (
            f"Dark: touching, or nearly.   Blue, dotted: about {um(0.8)}.   Red, striped: about "
            f"{um(1.2)} to {um(1.8)}.",
            f"White: {um(LIGHT_UM['bar'])} or more, the brighter the wider.",
        ),
        "feeler": ("Thickest blade that went in, in mm. A blade that stops below the slit did not go in.", ""),
        "marking compound": (f"Blue blots: it printed, the gap is under {um(2.0)}.   Pale: no print.", ""),
    }[kind]


class HiddenPicture:
    """The pair, with nothing drawn from true heights; only from the answer of a look.

    `body`: ``"bar"`` or ``"gauge"``.
    """

    def __init__(self, dpi: int, units: str, body: str = "bar") -> None:
        self.canvas, self.units, self.body = Canvas(1280, 500, dpi), units, body
        with style.styled():
            self.axes = self.canvas.figure.add_axes((0.02, 0.13, 0.96, 0.86))
        axes, moving = self.axes, self.canvas.moving
        axes.set_yticks([])
        for side in ("left", "right", "top"):
            axes.spines[side].set_visible(False)
        axes.set_xlabel(f"position along the pair as it lies ({'in' if units == 'inch' else 'mm'})")
        axes.set_ylim(0, 100)
        self._slit = moving(axes.imshow(np.zeros((1, 2, 4)), aspect="auto", interpolation="nearest", zorder=2))
        self._cut = moving(PolyCollection([], facecolor=style.ORANGE, edgecolor=style.BLACK, hatch="////", zorder=4))
        axes.add_collection(self._cut, autolim=False)
        self._blades = moving(PolyCollection([], facecolor="#AEB6BF", edgecolor=style.BLACK, lw=1.5, zorder=4))
        axes.add_collection(self._blades, autolim=False)
        self._finger = moving(axes.plot([], [], "v", color=style.BLACK, ms=17, zorder=5)[0])
        self._turned = moving(
            axes.plot([], [], "o", color=style.ORANGE, ms=15, mec=style.BLACK, mew=1.5, zorder=6, clip_on=False)[0]
        )
        self._names = [moving(Words(axes, style.LARGE, ha="center")) for _ in range(2)]
        self._ends = [moving(Words(axes, style.LARGE, ha="center")) for _ in range(4)]
        self._plan, self._waits, *self._key = (moving(Words(axes, style.BODY, ha="center")) for _ in range(4))
        self._seen = [moving(Words(axes, style.BODY, ha="center")) for _ in range(13)]
        self._half = 0.0

    def _frame(self, half: float) -> None:
        if half == self._half:
            return
        self._half = half
        three = self.body == "gauge"
        side = style.place(LAND_MM / 2, self.units) if three else 0.0
        foot = _FOOT if three else 0.0
        self.axes.set_xlim(-1.03 * half - side, 1.03 * half + side)
        self._slit.set_extent((-half - side, half + side, _LOW + _THICK + foot, _TOP - foot))
        self.axes.set_ylim(0, 100)
        for low in (_LOW, _TOP):
            self._block(-half - side, low, 2 * (half + side), _THICK)
        if not three:  # a frame, so that bright light does not run out into the page
            self.axes.plot(
                [-half, -half, half, half], [_TOP, _LOW + _THICK, _LOW + _THICK, _TOP], color=style.BLACK, lw=2
            )
        for at in (-half, 0, half) if three else ():
            self._block(at - side, _LOW + _THICK, 2 * side, foot)
            self._block(at - side, _TOP - foot, 2 * side, foot)
        self.canvas.invalidate()

    def _block(self, left: float, low: float, wide: float, high: float) -> None:
        self.axes.add_patch(Rectangle((left, low), wide, high, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2))

    def show(self, state: PracticeState, cut: tuple[float, float] | str | None, words: str) -> None:
        """Draw the bench.

        `cut`: middle and length of the stretch that the file would take in mm, or the lands by their name. `words`:
        what the file would do.
        """
        self._frame(style.place(state.length_mm / 2, self.units))
        self._place(state, cut)
        self._text(self._plan, words, 0, 95.5)
        low, up = f"{self.body} {state.lower + 1}", f"{self.body} {state.upper + 1}"
        felt = state.answer is not None and state.answer.kind == "feeler"
        below = f"{low}: {'lies below' if self.body == 'gauge' else 'the gauge, lies below'}"
        self._text(self._names[0], "" if felt else below, 0, _LOW + _THICK / 2)
        turned = ", turned end for end" if state.turned else ""
        self._text(self._names[1], f"{up}: in the vice, laid on top{turned}", 0, _TOP + _THICK / 2)
        # The ends carry letters, so that a turn is never in doubt.
        letters = ("A", "B", "B" if state.turned else "A", "A" if state.turned else "B")
        for word, letter, side, at in zip(self._ends, letters, (-1, 1, -1, 1), (_LOW, _LOW, _TOP, _TOP)):
            self._text(word, letter, side * 0.985 * self._half, at + _THICK / 2)
        waits = f"{self.body} {4 - (state.lower + state.upper)} waits on the bench"
        self._text(self._waits, f"{below}.  {waits.capitalize()}" if felt else waits, 0, 4)
        press = [] if state.press_mm is None else [style.place(state.press_mm, self.units)]
        self._finger.set_data(press, [_TOP + _THICK + 3.5] * len(press))
        self._answer(state.answer, state.length_mm / 2)

    @staticmethod
    def _text(word: Words, text: str, x: float, y: float) -> None:
        word.set_text(text[:1].upper() + text[1:])
        word.set_position((x, y))

    def _place(self, state: PracticeState, cut: tuple[float, float] | str | None) -> None:
        half, parts = state.length_mm / 2, []
        if isinstance(cut, str):
            parts = [
                (at * half - LAND_MM / 2, at * half + LAND_MM / 2)
                for at in np.array([-1, 0, 1])[list(lands.LANDS[cut])]
            ]
        elif cut is not None:
            parts = [(max(cut[0] - cut[1] / 2, -half), min(cut[0] + cut[1] / 2, half))]
        low, high = _TOP + _THICK + 6.5, _TOP + _THICK + 9.5
        self._cut.set_verts(
            [[(style.place(x, self.units), y) for x, y in ((a, low), (b, low), (b, high), (a, high))] for a, b in parts]
        )

    def _answer(self, answer: Answer | None, half_mm: float) -> None:
        land = LAND_MM if self.body == "gauge" else None
        kind = answer.kind if answer else None
        told = keys(kind, land is not None, self.units)
        for word, text, at in zip(self._key, told, (20.5 - 7.5 * (kind == "feeler"), 13)):
            self._text(word, text, 0, at)
        for word in self._seen:
            word.set_text("")
        self._blades.set_verts([])
        turned = [] if answer is None or answer.hinge is None else [(2 * answer.hinge.pivot_part - 1) * self._half]
        self._turned.set_data(turned, [_TOP + _THICK / 2] * len(turned))
        if answer is None or turned:
            self._slit.set_data(np.full((1, 2, 4), [0.6, 0.6, 0.6, 1.0]))
        elif kind == "feeler":
            empty = np.full((1, slit.COLUMNS, 4), [0.06, 0.06, 0.06, 1.0])
            empty[:, ~slit.columns(answer, half_mm, land)[1], 3] = 0
            self._slit.set_data(empty)
            self._feel(answer, _FOOT if land else 0.0, 1.0 if land else 0.94)
        else:
            draw = slit.light if kind == "light" else slit.printed
            self._slit.set_data(draw(answer, half_mm, land))
            self._name(answer, half_mm, land)

    def _feel(self, answer: Answer, foot: float, inside: float) -> None:
        verts, wide = [], 0.022 * self._half
        for word, x_mm, text in zip(self._seen, answer.x_mm, feeler_texts(answer)):
            x = np.clip(style.place(x_mm, self.units), -inside * self._half, inside * self._half)
            top = _LOW + _THICK + foot + (0.0 if text == "none" else 0.8 * (_SLIT - 2 * foot))
            verts.append([(x - wide, 26), (x + wide, 26), (x + wide, top), (x - wide, top)])
            self._text(word, text, x, 21.5)
        self._blades.set_verts(verts)

    def _name(self, answer: Answer, half_mm: float, land: float | None) -> None:
        taken: list[float] = []
        room = (0.0 if land else 1.0) * 2 * half_mm * _ROOM
        for x, text, places in slit.names(answer):
            if land:  # each land has its own word
                continue
            if len(taken) < len(self._seen) and all(abs(x - t) >= room for t in taken) and places > 1:
                self._text(self._seen[len(taken)], text, style.place(x, self.units), _LOW - 5)
                taken.append(x)
        if land:
            for word, x, k in zip(self._seen, answer.x_mm, range(answer.x_mm.size)):
                text = (
                    slit.NAMES[int(answer.glow[k])]
                    if answer.glow is not None
                    else ("no print" if answer.seen.open[k] else "print")
                )
                self._text(word, text, style.place(x, self.units), _LOW - 5)


def feeler_texts(answer: Answer) -> list[str]:
    """Give the thickest blade that went in at each station, in mm as it is etched on the blade."""
    return [f"{low / 1000:.2f}" if low else "none" for low in answer.seen.at_least_um]
