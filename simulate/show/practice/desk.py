"""What stands before the learner at the practice bench: the acts in rows, each beside what it takes."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from simulate.method.practice.acts import LEVELS, PracticeState, level_of
from simulate.show.drawing import style
from simulate.show.drawing.focus import FOCUS
from simulate.show.panel.step_panel import StepPanel
from simulate.show.practice.act_controls import build, slim
from simulate.show.practice.practice_picture import HiddenPicture
from simulate.show.practice.practice_plates_picture import HiddenPlates

_ROW = {"display": "flex", "flex_flow": "row wrap", "width": "100%", "align_items": "center"}
_ROUGH = (0.5, 1.0, 2.5)  # times a level's usual error


class PracticeDesk(StepPanel):
    """Controls and buttons of every level; what they do stands in `PracticePanel`, which has `state` and `act`."""

    state: PracticeState
    at_once = False  # a go is running

    def _buttons(self) -> None:
        def button(words: str, act: Callable) -> widgets.Button:
            made = widgets.Button(description=words, layout=widgets.Layout(width="auto"))
            self.on_press(made, act)
            return made

        self.swap = button("Swap the two", lambda: self.act("swap"))
        self.turn = button("", lambda: self.act("turn"))
        self.look = button("Look", lambda: self.act("look"))
        self.touch, self.file = button("", lambda: self.act("touch")), button("", lambda: self.act("place"))
        self.rest = button("Let all rest", lambda: self.act("rest"))
        self.stop = button("Stop and see the truth", lambda: self.act("stop"))
        self.number = slim(widgets.IntText(value=self.state.seed, description="Number"), 12, 5)
        self.level = slim(
            widgets.Dropdown(
                options=[(f"three {k.body}s", k.name) for k in LEVELS.values()],
                value=self.state.level,
                description="Level",
            ),
            14,
            4,
        )
        self.rough = slim(widgets.Dropdown(description="Out by"), 12.5, 5)
        self.level.observe(lambda _: self._roughness(LEVELS[self.level.value].usual[0]), names="value")
        self.again = button("Open these, or another go", self.open_chosen)
        self.next = button("Take up what to try next", self.take_up)
        self.sheet = widgets.HTML()
        self._box = widgets.VBox()

    def _roughness(self, error_um: float) -> None:
        usual = LEVELS[self.level.value].usual[0]
        errors = sorted({error_um, *(usual * part for part in _ROUGH)})
        self.rough.options = [(style.spell(error, self.units), error) for error in errors]
        self.rough.value = error_um

    def _set_up(self) -> None:
        """Build controls and pictures for the level of the go that is on the bench."""
        self._quiet = True
        self.controls.clear()
        state = self.state
        body = level_of(state).body
        self._desk = build(self, state)
        self.touch.description, self.file.description = self._desk.buttons["touch"], self._desk.buttons["place"]
        self.turn.description = "Turn it" if state.level != "plates" else "Quarter turn"
        self.number.value, self.level.value = state.seed, state.level
        self._roughness(state.error_um)
        plates = state.level == "plates"
        self._hidden = HiddenPlates(self.dpi, self.units) if plates else HiddenPicture(self.dpi, self.units, body)

        def row(name: str, *more: widgets.Widget) -> widgets.Box:
            return widgets.Box(
                [*(self.controls[n] for n in self._desk.rows.get(name, ())), *more], layout=widgets.Layout(**_ROW)
            )

        lay_row, look_row, touch_row, place_row = (
            row("lay", self.swap, self.turn),
            row("look", self.look),
            row("touch", self.touch),
            row("place", self.file),
        )
        if state.level != "plates":  # few enough controls for one row
            look_row.children, touch_row.children = [*look_row.children, *touch_row.children], []
        self._working = [lay_row, look_row, touch_row, place_row]
        if self._desk.rows.get("rest"):
            place_row.children = [*place_row.children, *row("rest", self.rest).children]

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the acts in rows, each beside what it takes.

        Parameters
        ----------
        rows : Widget
            Not used: each control stands by its act.
        """
        moves = [self.position, self.back, self.play, self.forward, self.player]
        self._film = widgets.Box(moves, layout=widgets.Layout(**_ROW))
        ends = widgets.Box(
            [self.stop, self.level, self.number, self.rough, self.again, self.next], layout=widgets.Layout(**_ROW)
        )
        self._ends = ends
        self._show_rows()
        return widgets.VBox([widgets.HTML(FOCUS), self._box, ends, self.message, self.picture, self.sheet])

    def _show_rows(self) -> None:
        self._box.children = [self._film] if self.state.stopped else self._working
        self.stop.layout.display = "none" if self.state.stopped else None
        self.next.layout.display = None if self.state.stopped else "none"
