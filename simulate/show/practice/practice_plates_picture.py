"""Two plates on the practice bench: the prints on both faces, the blades along the rim, and where the scraper goes."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.patches import Rectangle

from simulate.bench.looking.spotting import Print
from simulate.bench.seating.placement import meeting
from simulate.method.practice.plates_level import SLIDES, own_side
from simulate.method.practice.state import Answer, PracticeState
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.plate_map import corner_place
from simulate.show.drawing.print_map import FACE, NOTHING, shaded, softened
from simulate.show.practice.practice_picture import feeler_texts
from simulate.show.practice.slit import PRINT

_FINE = 6  # pixels along each side of a grid point
_CORNERS = ((-0.7, -0.7), (0.7, -0.7))


class HiddenPlates:
    """Both faces as their maker sees them; nothing is drawn from true heights, only from the answer of a look."""

    def __init__(self, dpi: int, units: str) -> None:
        self.canvas, self.units = Canvas(1280, 560, dpi), units
        with style.styled():
            self._faces = [
                _Face(self.canvas, self.canvas.figure.add_axes((left, 0.115, 0.3325, 0.76))) for left in (0.025, 0.4)
            ]
            text = self.canvas.figure.add_axes((0.755, 0.0, 0.245, 1.0))
        text.axis("off")
        text.set(xlim=(0, 1), ylim=(0, 100))
        self._lines = [self.canvas.moving(Words(text, style.BODY)) for _ in range(15)]
        self._plan = self.canvas.moving(Words(self._faces[0].axes, style.BODY))
        self._square = self.canvas.moving(
            Rectangle((0, 0), 1, 1, facecolor="none", edgecolor=style.ORANGE, lw=3, hatch="//", zorder=5)
        )
        self._faces[1].axes.add_patch(self._square)

    def show(self, state: PracticeState, cut: tuple[float, float, float] | None, words: str) -> None:
        """Draw the bench.

        `cut`: x, y and side in mm of the square that the scraper would work.
        """
        half, answer = state.length_mm / 2, state.answer
        low, up = state.lower + 1, state.upper + 1
        marked = met = None
        if answer is not None and answer.kind == "marking compound":
            marked, met = answer.met & ~answer.seen.open, answer.met
        faces = _prints(state, answer.print) if marked is not None and answer.print is not None else None
        if faces is None:
            own = (None, None) if marked is None else (own_side(state, marked), own_side(state, met))
            faces = (_blots(marked, met), _blots(*own))
        self._faces[0].show(f"Plate {low}, lies below", faces[0], _CORNERS)
        self._faces[1].show(f"Plate {up}, in the vice, lifted and turned face up", faces[1], _CORNERS)
        self._faces[0].blades(answer, half)
        x, y, side = (v / half for v in cut or (9 * half, 0, 0))
        self._square.set_bounds(x - side / 2, y - side / 2, side, side)
        self._plan.set_text(words)
        self._plan.set_position((-1, -1.13))
        for word, text, at in zip(self._lines, self._told(state), range(len(self._lines))):
            word.set_text(text)
            word.set_position((0, 94 - 6.2 * at))

    def _told(self, state: PracticeState) -> list[str]:
        slid = "" if state.slide == "none" else f"slid {state.slide}"
        a, b = (corner_place(c, int(state.turned)) for c in _CORNERS)
        lies = [
            f"Plate {state.upper + 1} on plate {state.lower + 1}:",
            "not turned" if not state.turned else f"turned {state.turned}°",
            slid or "not slid",
            f"its corner A: {_corner(a)}",
            f"its corner B: {_corner(b)}",
            "",
            f"Plate {4 - state.lower - state.upper}: on the bench",
            "",
        ]
        return (
            lies
            + {
                None: ["Not checked since", "the last move or cut:", "press Look"],
                "marking compound": [
                    "Blue: marks; pale in",
                    "them: bears hardest",
                    "Faint: only smeared",
                    "Grey: no plate over it",
                ],
                "feeler": ["Figures along the rim:", "thickest blade that", "went in, in mm"],
            }[state.answer.kind if state.answer else None]
            + ["", "Hatched square: where", "Scrape here would fall"]
        )


def _corner(at: tuple[float, float]) -> str:
    return f"{'near' if at[1] < 0 else 'far'} {'left' if at[0] < 0 else 'right'}"


class _Face:
    """One face with its prints, its corner letters and the blades along its rim."""

    def __init__(self, canvas: Canvas, axes: Axes) -> None:
        self.axes = axes
        axes.set(xticks=[], yticks=[], xlim=(-1, 1), ylim=(-1, 1), aspect="equal")
        for spine in axes.spines.values():
            spine.set_visible(True)
            spine.set_linewidth(2)
        make = canvas.moving
        self._image = make(
            axes.imshow(np.zeros((2, 2, 3)), origin="lower", extent=(-1, 1, -1, 1), interpolation="nearest", zorder=1)
        )
        self._title = make(Words(axes, style.BODY))
        self._letters = [make(Words(axes, style.LARGE, ha="center")) for _ in "AB"]
        self._dots = make(
            axes.plot([], [], "s", color=style.STEEL, ms=34, mec=style.BLACK, mew=1.2, zorder=4, clip_on=False)[0]
        )
        self._blades = [make(Words(axes, style.SMALL, ha="center")) for _ in range(8)]

    def show(self, title: str, colours: np.ndarray, corners: tuple) -> None:
        """Draw a face; nothing of a print where nobody has looked."""
        self._title.set_text(title)
        self._title.set_position((-1, 1.07))
        self._image.set_data(colours)
        for word, letter, at in zip(self._letters, "AB", corners):
            word.set_text(letter)
            word.set_position(at)

    def blades(self, answer: Answer | None, half: float) -> None:
        """Write the thickest blade at each station of the rim."""
        felt = answer is not None and answer.kind == "feeler"
        x, y = (answer.x_mm / half, answer.y_mm / half) if felt else (np.zeros(0), np.zeros(0))
        x, y = 0.9 * x, 0.9 * y
        self._dots.set_data(x, y)
        for k, word in enumerate(self._blades):
            word.set_text(feeler_texts(answer)[k] if felt else "")
            word.set_position((x[k], y[k]) if felt else (0, 0))


def _prints(state: PracticeState, marks: Print) -> tuple[np.ndarray, np.ndarray]:
    """Both faces with their marks; grey where nothing lay over them."""
    lower, upper = marks.lower.copy(), marks.upper.copy()
    step = tuple(s * (lower.shape[0] - 1) // (state.x_mm.size - 1) for s in SLIDES[state.slide])
    bare = np.ones(lower.shape, bool), np.ones(upper.shape, bool)
    for part in meeting(*bare, int(state.turned), step)[:2]:
        part[...] = False
    for face, nothing in zip((lower, upper), bare):
        face[nothing] = NOTHING
    return shaded(softened(lower)), shaded(softened(upper))


def _blots(marked: np.ndarray | None, met: np.ndarray | None) -> np.ndarray:
    if marked is None:
        return np.full((1, 1, 3), to_rgb(style.STEEL))
    rows, columns = (n * _FINE for n in marked.shape)
    grain = np.random.default_rng(1).random((rows // 2, columns // 2)).repeat(2, axis=0).repeat(2, axis=1)
    fine = [a.astype(bool).repeat(_FINE, axis=0).repeat(_FINE, axis=1) for a in (marked, met)]
    out = np.where(fine[1][..., None], to_rgb(FACE), to_rgb("#B4BAC2"))
    out[fine[0] & (grain > 0.2)] = to_rgb(PRINT)
    return out
