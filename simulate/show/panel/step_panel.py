"""A panel with a place in a run: step, play, jump to the next stage."""

from __future__ import annotations

import ipywidgets as widgets

from simulate.show.drawing.flash_limit import CALM_MS
from simulate.show.drawing.focus import FOCUS
from simulate.show.panel.panel import Panel


class StepPanel(Panel):
    """A `Panel` whose picture is one of a row of looks.

    A subclass calls ``self._moves()`` before ``self.ready()``, writes
    ``starts()``, and in ``draw`` shows the look at ``self.position.value`` and
    tells ``self._fit_position`` when the row has another length.
    """

    steps_on = False
    """Whether a button has led on to this look: a slider that is dragged, and a film, have no time for a move."""

    def _moves(self) -> None:
        last, place = self._carried.get("position", (1, 0))
        self.position = widgets.IntSlider(place, 0, last, description="Step")
        self.player = widgets.Play(
            value=place, min=0, max=last, interval=CALM_MS, layout=widgets.Layout(display="none")
        )
        # One way only: linked both ways, each key on the slider would wait behind a second message.
        self._link = widgets.jsdlink((self.player, "value"), (self.position, "value"))
        snug, still = widgets.Layout(width="auto"), widgets.Layout(width="6em")  # all four in one row of a small laptop
        self.back = widgets.Button(description="Back a step", layout=snug)
        self.play = widgets.ToggleButton(description="Play", layout=still)
        self.forward = widgets.Button(description="Forward a step", layout=snug)
        self.next_stage = widgets.Button(description="Next stage", layout=snug)
        self.on_press(self.back, lambda: self.move(-1))
        self.on_press(self.forward, lambda: self.move(1))
        self.on_press(self.next_stage, self.jump)
        self.play.observe(self._toggle, names="value")
        self.player.observe(self._played, names="playing")
        self.position.observe(self._keep_up, names="value")
        self.position.observe(self._changed, names="value")

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the moves under the controls."""
        moves = widgets.Box(
            [self.position, self.back, self.play, self.forward, self.next_stage, self.player],
        ).add_class("workshop-moves")
        return widgets.VBox([widgets.HTML(FOCUS), rows, moves, self.message, self.picture])

    def _toggle(self, change) -> None:
        if change.new:
            if self.position.value >= self.position.max:
                self.position.value = 0
            self.player.value = self.position.value
        self.play.description = "Pause" if change.new else "Play"
        self.player.playing = change.new

    def _keep_up(self, change) -> None:
        """Let the film go on from where somebody moved the slider meanwhile."""
        if self.player.playing and abs(self.player.value - change.new) > 1:
            self.player.value = change.new

    def _played(self, change) -> None:
        self.play.value = change.new

    def plays(self) -> bool:
        """Say whether the film is running."""
        return self.player.playing

    def move(self, by: int) -> None:
        """Step through the looks."""
        self._go(self.position.value + by)

    def jump(self) -> None:
        """Go to where the next stage begins, or to the end."""
        later = [i for i in self.starts() if i > self.position.value]
        self._go(later[0] if later else self.position.max)

    def starts(self) -> list[int]:
        """Give the places at which a new stage begins. Subclasses write this."""
        raise NotImplementedError

    def _go(self, place: int) -> None:
        place = min(max(place, 0), self.position.max)
        self.steps_on = place > self.position.value
        try:
            self.position.value = place
        finally:
            self.steps_on = False

    def _fit_position(self, last: int) -> None:
        """Keep the position as a part of the run."""
        with self.quietly():
            part = self.position.value / max(self.position.max, 1)
            place = round(part * last)
            for widget in (self.position, self.player):
                widget.max = max(last, 1)
                widget.value = min(place, widget.max)
