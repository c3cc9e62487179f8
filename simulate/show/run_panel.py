"""A panel over a whole run: step, play, jump to the next stage."""

from __future__ import annotations

from functools import lru_cache

import ipywidgets as widgets

from simulate.bench.cut import TOOLS
from simulate.bench.sight import Sight
from simulate.method.bars import three_bars, two_bars
from simulate.method.history import BarHistory
from simulate.show import style
from simulate.show.bench_picture import BenchPicture
from simulate.show.canvas import Canvas
from simulate.show.convergence import Convergence
from simulate.show.panel import FOCUS, Panel
from simulate.surface.bars import starting_bars

_POINTS = 201


@lru_cache(maxsize=64)
def run(bars: int, length_mm: float, seed: int, error_um: float, removal_um: float, share: float, sight_um: float,
        tool: str, rounds: int) -> BarHistory:
    """Simulate one workshop; the same question is answered from memory.

    Parameters
    ----------
    bars : int
        2 or 3.
    length_mm : float
    seed : int
    error_um, removal_um, share, sight_um : float
    tool : str
    rounds : int

    Returns
    -------
    BarHistory
    """
    x, h = starting_bars(length_mm, error_um, points=_POINTS, bars=bars, seed=seed)
    method = two_bars if bars == 2 else three_bars
    return method(x, h, rounds=rounds, removal_um=removal_um, share=share, seed=seed,
                  sight=Sight("light", sight_um), tool=tool)


def stage_starts(history: BarHistory) -> list[int]:
    """Find the looks at which a new round, stage or pair begins.

    Parameters
    ----------
    history : BarHistory

    Returns
    -------
    list of int
    """
    keys = [(s.round, s.stage, s.lower, s.upper) for s in history.steps]
    return [i for i, key in enumerate(keys) if i == 0 or key != keys[i - 1]]


class RunPanel(Panel):
    """Sliders for a run, and a position in it.

    Parameters
    ----------
    bars : int
    length_mm : float
    seed : int
    error_um, removal_um, share, sight_um : float
    tool : str
    rounds : int
    units : str
    dpi : int
    """

    def __init__(self, bars: int, length_mm: float, seed: int, error_um: float, removal_um: float, share: float,
                 sight_um: float, tool: str, rounds: int, units: str, dpi: int) -> None:
        super().__init__(units, dpi)
        self.bars, self.length_mm, self.seed = bars, float(length_mm), seed
        self.height_slider("error_um", "Each bar is out by", error_um, 20, 1000, 10)
        self.height_slider("removal_um", "Metal a pass takes", removal_um, 1, 40, 0.5)
        self.slider("share", "Share taken from one bar", share, 0, 1, 0.05, ".2f")
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 50, 0.5)
        self.menu("tool", "Tool", list(TOOLS), tool)
        if bars > 2:
            self.whole_slider("rounds", "Rounds", rounds, 1, 8)
        self._setting: dict | None = None
        self.history: BarHistory | None = None
        self._moves()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 560, self.dpi)
        with style.styled():
            left = self.canvas.figure.add_axes((0.015, 0.13, 0.575, 0.86))
            right = self.canvas.figure.add_axes((0.655, 0.13, 0.25, 0.78))
            self.bench = BenchPicture(self.canvas, left, self.bars, self.units)
            self.curve = Convergence(self.canvas, right, self.units, widest_gap=self.bars == 2)

    def _moves(self) -> None:
        self.position = widgets.IntSlider(0, 0, 1, description="Pass", style={"description_width": "4em"},
                                          layout=widgets.Layout(width="26em"))
        self.player = widgets.Play(value=0, min=0, max=1, interval=250, layout=widgets.Layout(display="none"))
        self._link = widgets.jslink((self.player, "value"), (self.position, "value"))
        self.back = widgets.Button(description="Back a step")
        self.play = widgets.ToggleButton(description="Play")
        self.forward = widgets.Button(description="Forward a step")
        self.next_stage = widgets.Button(description="Next stage")
        self.back.on_click(lambda _: self.move(-1))
        self.forward.on_click(lambda _: self.move(1))
        self.next_stage.on_click(lambda _: self.jump())
        self.play.observe(self._toggle, names="value")
        self.player.observe(self._played, names="playing")
        self.position.observe(self._changed, names="value")

    def arrange(self, rows: widgets.Widget) -> widgets.Box:
        """Put the moves under the controls.

        Parameters
        ----------
        rows : Widget

        Returns
        -------
        Box
        """
        moves = widgets.Box([self.position, self.back, self.play, self.forward, self.next_stage, self.player],
                            layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        return widgets.VBox([widgets.HTML(FOCUS), rows, moves, self.message, self.picture])

    def _toggle(self, change) -> None:
        if change.new and self.position.value >= self.position.max:
            self.position.value = self.player.value = 0
        self.play.description = "Pause" if change.new else "Play"
        self.player.playing = change.new

    def _played(self, change) -> None:
        self.play.value = change.new

    def move(self, by: int) -> None:
        """Step through the looks.

        Parameters
        ----------
        by : int
        """
        self._go(self.position.value + by)

    def jump(self) -> None:
        """Go to where the next stage begins, or to the end."""
        later = [i for i in stage_starts(self.history) if i > self.position.value]
        self._go(later[0] if later else self.position.max)

    def _go(self, place: int) -> None:
        place = min(max(place, 0), self.position.max)
        self.position.value = place
        self.player.value = place

    def draw(self, **values) -> str:
        """Simulate where a setting has changed; show the look at the position.

        Parameters
        ----------
        **values

        Returns
        -------
        str
        """
        values.setdefault("rounds", 1)
        if values != self._setting:
            history = run(self.bars, self.length_mm, self.seed, **values)
            self._setting, self.history = values, history
            self._fit_position(len(history.steps) - 1)
            self.bench.frame(self.length_mm)
            self.curve.frame(history)
        place = min(self.position.value, len(self.history.steps) - 1)
        self.bench.show(self.history.x_mm, self.history.steps[place])
        self.curve.show(self.history, place)
        return self.words(self.history, place, values)

    def _fit_position(self, last: int) -> None:
        """Keep the position as a part of the run."""
        self._quiet = True
        try:
            part = self.position.value / max(self.position.max, 1)
            place = round(part * last)
            for widget in (self.position, self.player):
                widget.max = max(last, 1)
                widget.value = min(place, widget.max)
        finally:
            self._quiet = False

    def words(self, history: BarHistory, place: int, values: dict) -> str:
        """Say what the picture shows. Subclasses write this.

        Parameters
        ----------
        history : BarHistory
        place : int
        values : dict

        Returns
        -------
        str
        """
        raise NotImplementedError
