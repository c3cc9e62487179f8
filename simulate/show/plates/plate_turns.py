"""One family of plate errors at a time: what turns make of it, and of two plates that both have it."""

from __future__ import annotations

from typing import NamedTuple

import ipywidgets as widgets
import numpy as np

from simulate.bench.seating.plate_seat import seat_plate
from simulate.core import checks
from simulate.method.plates.symmetry import LYING, Turned, beyond_plane, family_shape, moved, turned_into
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.plate_map import PlateMap, fine, line_step
from simulate.show.panel.step_panel import StepPanel
from simulate.show.units.switch import in_both

HEIGHT_UM = 20.0
"""How far the plate is drawn from level at most; two that add up have twice as much."""

SHAPES = {"square": (41, 41), "oblong, 8 to 5": (41, 65)}
"""Rows and columns of the plates on offer."""

_SLIDE = 5  # steps of 40: an eighth of the side
PLACES = {"face to face": (0, 0), "half turn": (180, 0), "quarter turn": (90, 0), "slid along": (0, _SLIDE)}
"""How plate 2 is laid on: turned by degrees, and slid by steps of the grid."""

_ALONE = {
    "as it lies": (False, 0, ""),
    "half turn": (False, 180, "a half turn"),
    "quarter turn": (False, 90, "a quarter turn"),
    "mirrored": (True, 0, "a mirror"),
}
_DOES = {
    Turned.SAME: "leaves it the same",
    Turned.SIGN: "changes its sign",
    Turned.OTHER: "makes another shape of it",
}
_OVER = (0.55, 0.1)  # how wide a plate looks on its way to being edge on


class Stage(NamedTuple):
    """Plate 2 at one step: words, its heights as seen from above, and what is left to say of it."""

    title: str
    height_um: np.ndarray
    said: str


class PlateTurnsPanel(StepPanel):
    """One error on two plates: lifted, turned over, turned, laid down; it adds up, or it cancels.

    Parameters
    ----------
    family : str
        One of `LYING`.
    shape : str
        One of `SHAPES`.
    place : str
        How plate 2 is laid on plate 1, one of `PLACES`.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is none of those on offer.

    Examples
    --------
    >>> PlateTurnsPanel("twist").sentence.endswith("The gap is shut everywhere, so this placement hides it.")
    True
    """

    def __init__(
        self,
        family: str = LYING[0],
        shape: str = "square",
        place: str = "face to face",
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        checks.choice(family, "family", LYING)
        checks.choice(shape, "shape", tuple(SHAPES))
        checks.choice(place, "place", tuple(PLACES))
        self.menu("family", "Error of both plates", list(LYING), family)
        self.menu("place", "Placement of plate 2", list(PLACES), place)
        self.menu("shape", "Plates", list(SHAPES), shape)
        self._shape = ""
        self._step_um = style.to_um(line_step(style.small(HEIGHT_UM, self.units)), self.units)
        self._moves()
        self.next_stage.layout = widgets.Layout(display="none")  # each step is a stage here
        if "position" not in self._carried:
            with self.quietly():
                self.position.value = self.position.max  # it opens with plate 2 laid down
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 420, self.dpi)
        add, places = self.canvas.figure.add_axes, [(x, y) for y in (0.53, 0.08) for x in (0.012, 0.148)]
        with style.styled():
            self._alone = [PlateMap(self.canvas, add((*at, 0.1, 0.305)), lift=0.22, letters=False) for at in places]
            self._pair = [self._large(x, self.units if x > 0.7 else "") for x in (0.3, 0.532, 0.764)]
            for x, words in ((0.012, "The error by itself"), (0.3, "Two plates that both have it")):
                self.canvas.figure.text(x, 0.945, words, fontsize=style.LARGE)
        self._notes = [
            self.canvas.moving(Words(one.axes, style.SMALL, va="top")) for one in (*self._alone, *self._pair)
        ]

    def _large(self, left: float, bar: str) -> PlateMap:
        axes = self.canvas.figure.add_axes((left, 0.12, 0.19, 0.579))
        return PlateMap(self.canvas, axes, lift=0.09, letters=not bar, bar=bar)

    def starts(self) -> list[int]:
        """Give every step: each is a stage."""
        return list(range(self.position.max + 1))

    def draw(self, family: str, place: str, shape: str) -> str:
        """Show the plate by itself, and both plates at the step; give the sentence."""
        height = HEIGHT_UM * family_shape(family, SHAPES[shape])
        self._frame(shape)
        answers = self._show_alone(height)
        stages = self._stages(height, place)
        self._fit_position(len(stages) - 1)
        at = self.position.value
        self.way = self._moving(stages, at, place) if self.steps_on and self.dpi < style.WALL_DPI else []
        self._show(self._pair[0], "Plate 1, face up", height)
        turned = None if at == 0 else 0 if at == 1 else PLACES[place][0]
        self._show(self._pair[1], stages[at].title, stages[at].height_um, turned)
        laid = self._lay(height, stages[-1].height_um, at == len(stages) - 1)
        words = (
            f"{family[0].upper()}{family[1:]}, on both plates alike. {answers[0].upper()}{answers[1:]}. "
            f"Step {at + 1} of {len(stages)}: {stages[at].said} {laid}"
        )
        return in_both(words.strip(), self.units)

    def _frame(self, shape: str) -> None:
        """Give every map the shape of the plates, and put the words below it."""
        if shape == self._shape:
            return
        self._shape = shape
        rows, columns = SHAPES[shape]
        for map_, note in zip((*self._alone, *self._pair), self._notes):
            map_.sides((rows - 1) / (columns - 1))
            note.set_position((-1, -1 - (0.08 if map_ in self._pair else 0.1) * (columns - 1) / (rows - 1)))
        self.canvas.invalidate()

    def _show_alone(self, height: np.ndarray) -> str:
        """Show the plate as it lies and after each move; give what they did."""
        said = []
        for map_, note, (title, (over, turned, what)) in zip(self._alone, self._notes, _ALONE.items()):
            after = moved(height, over, turned)
            map_.show(title, fine(after), self._step_um, 2 * HEIGHT_UM)
            if what:
                became = turned_into(height, after)
                note.set_text(became.value)
                said.append(f"{what} {_DOES[became]}")
        return f"{', '.join(said[:-1])}, and {said[-1]}"

    def _stages(self, height: np.ndarray, place: str) -> list[Stage]:
        """Give the steps of plate 2, from lifted to laid down."""
        turned, slide = PLACES[place]
        stages = [
            Stage("Plate 2, lifted, face up", height, "plate 2 is lifted, face up."),
            Stage(
                "Turned over", moved(height, True), "plate 2 is turned over, and its left comes to lie on the right."
            ),
        ]
        if turned:
            said = f"face down, it is turned by {turned}°."
            stages.append(Stage(f"Turned by {turned}°", moved(height, True, turned), said))
        laid = "Laid down" + (", slid by 1/8" if slide else "")
        return [*stages, Stage(laid, moved(height, True, turned, slide), "plate 2 lies on plate 1.")]

    def _moving(self, stages: list[Stage], at: int, place: str) -> list[bytes]:
        """Draw plate 2 on its way to the step: edge on while it is turned over, and round its middle."""
        map_, (title, _, _), turned = self._pair[1], stages[at], PLACES[place][0]
        before, after = fine(stages[at - 1].height_um), fine(stages[at].height_um)
        if at == 1:
            ways = [(before, 0.0, _OVER[0]), (before, 0.0, _OVER[1]), (after, 0.0, _OVER[0])]
        elif at == 2 and turned:
            ways = [(before, turned * part / 3, 1.0) for part in (1, 2)]
        else:
            return []
        self._clear()
        pictures = []
        for height, angle, across in ways:
            map_.on_its_way(title, height, 2 * HEIGHT_UM, angle, across)
            pictures.append(self.canvas.paint())
        return pictures

    def _show(self, map_: PlateMap, title: str, height: np.ndarray, turned: int | None = None) -> None:
        map_.show(title, fine(height), self._step_um, 2 * HEIGHT_UM, turned=turned)

    def _clear(self) -> None:
        """Show an empty place where both plates will be seen together."""
        self._pair[2].clear("Both together")
        self._notes[-1].set_text("once plate 2 is laid down")

    def _lay(self, height: np.ndarray, faced: np.ndarray, down: bool) -> str:
        """Show both faces together where plate 2 lies on plate 1; say what opens."""
        if not down:
            self._clear()
            return ""
        met = height + faced
        there = np.ix_(np.isfinite(met).any(axis=1), np.isfinite(met).any(axis=0))
        both = np.full_like(met, np.nan)
        both[there] = beyond_plane(met[there])
        rows, columns = met.shape
        widest = float(np.nanmax(seat_plate(np.arange(columns), np.arange(rows), met).gap_um))
        open_ = widest > 1e-6 * HEIGHT_UM
        self._show(self._pair[2], "Both together", both)
        self._notes[-1].set_text(f"open {style.spell(widest, self.units)}: shows" if open_ else "cancels: hidden")
        if open_:
            return f"Together they open a gap of up to {style.spell(widest, self.units)}, so this placement shows it."
        return "High lies on low. The gap is shut everywhere, so this placement hides it."
