"""What stands before the learner at the practice bench: the acts in rows, each beside what it takes."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from simulate.method.practice.acts import LEVELS, PracticeState, level_of
from simulate.show.drawing import style
from simulate.show.drawing.focus import FOCUS
from simulate.show.panel.rows import close, more, rest, shown
from simulate.show.panel.step_panel import StepPanel
from simulate.show.practice.act_controls import build
from simulate.show.practice.practice_picture import HiddenPicture
from simulate.show.practice.practice_plates_picture import HiddenPlates

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
        self.again_fit = button("Repeat the last fit", lambda: self.act("fit"))
        self.today = button("Today's workpieces", self.open_today)
        self.number = widgets.IntText(value=self.state.seed, description="Number")
        self.level = widgets.Dropdown(
            options=[(f"three {k.body}s", k.name) for k in LEVELS.values()],
            value=self.state.level,
            description="Level",
        )
        self.rough = widgets.Dropdown(description="Starting error")
        self.level.observe(lambda _: self._roughness(LEVELS[self.level.value].usual[0]), names="value")
        self.again = button("Start, or try again", self.open_chosen)
        self.next = button("Try the next challenge", self.take_up)
        self.sheet, self.goal = widgets.HTML(), widgets.HTML()
        self._box = widgets.VBox()

    def _roughness(self, error_um: float) -> None:
        usual = LEVELS[self.level.value].usual[0]
        errors = sorted({error_um, *(usual * part for part in _ROUGH)})
        self.rough.options = [(style.spell(error, self.units), error) for error in errors]
        self.rough.value = error_um

    def _set_up(self) -> None:
        """Build controls and pictures for the level of the go that is on the bench."""
        self._quiet = True
        gone = [*getattr(self, "_working", ()), *getattr(self, "_after", ())]
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

        rows = self._desk.rows
        names = [*rows["touch"], *rows["place"]]
        folded = [*(self.controls[n] for n in names), self.file]
        said = [*(self.labels[n] for n in names), self.file.description]
        if rows.get("rest"):
            folded += [*(self.controls[n] for n in rows["rest"]), self.rest]
            said += [*(self.labels[n] for n in rows["rest"]), self.rest.description]
        self._others = rest([self.level, self.number, self.rough, self.again, self.today])
        others = more([one.description for one in (self.level, self.number, self.rough)])
        acts = widgets.Box([self.swap, self.turn, self.look, self.touch, self.again_fit, self.stop, others])
        self._after = [widgets.Box([self.next, others]).add_class("workshop-buttons"), self._others]
        self._working = [
            shown([*(self.controls[n] for n in self._desk.at_hand), more(said)]),
            rest(folded),
            acts.add_class("workshop-buttons"),
            self._others,
        ]
        if gone:
            self._show_rows()  # before those that were shown are closed
            close(gone, but=[one for one in vars(self).values() if isinstance(one, widgets.Widget)])

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the acts in rows, each beside what it takes.

        `rows`: not used: each control stands by its act.
        """
        moves = [self.position, self.back, self.play, self.forward, self.player]
        self._film = widgets.Box(moves).add_class("workshop-moves")
        self._show_rows()
        return widgets.VBox([widgets.HTML(FOCUS), self._box, self.goal, self.message, self.picture, self.sheet])

    def _show_rows(self) -> None:
        stopped = self.state.stopped
        self._box.children = [self._film, *self._after] if stopped else self._working
