"""A panel over a whole run: step, play, jump to the next stage."""

from __future__ import annotations

from matplotlib.axes import Axes

from simulate.bench.bending.moving_steel import STEELS
from simulate.bench.cutting.rocking import SIDES, WAYS, lead
from simulate.bench.cutting.tools import SKILLS, TOOLS
from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.bars.bar_history import BarHistory
from simulate.method.bars.recorder import Recording
from simulate.method.bars.three_bar_loop import three_bars, two_bars
from simulate.show.drawing import style
from simulate.show.drawing.bench_picture import TURNS, BenchPicture
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.convergence import Convergence
from simulate.show.drawing.run_sentences import of_a_long_run
from simulate.show.panel.step_panel import StepPanel
from simulate.surface.starting_bars import starting_bars

_POINTS = 201
MOST_ERROR_UM = 1000.0

RECORD = Recording(most_looks=1000, most_passes=7000)
"""What a slider may cost at its ends: a file that takes 2 µm from bars 1 mm out, with all metal from one bar, makes 9
400 passes in each round. A thousand looks of three bars are 12 MB."""


@remembered
def run(  # noqa: PLR0913  (one for each control)
    bars: int,
    length_mm: float,
    seed: int,
    error_um: float,
    removal_um: float,
    share: float,
    sight_um: float,
    tool: str,
    rounds: int,
    *,
    skill: str = "an average hand",
    way: str = "along the bar",
    side: str = SIDES[0],
    steel: str = "do not move",
) -> BarHistory:
    """Simulate one workshop; the same question is answered from memory.

    Parameters
    ----------
    bars : int
        2 or 3.
    """
    x, h = starting_bars(length_mm, error_um, points=_POINTS, bars=bars, seed=seed)
    method = two_bars if bars == 2 else three_bars
    return method(
        x,
        h,
        rounds=rounds,
        removal_um=removal_um,
        share=share,
        seed=seed,
        sight=Sight("light", sight_um),
        tool=lead(tool, **WAYS[way], side=side),
        hands=SKILLS[skill],
        steel=STEELS[steel],
        record=RECORD,
    )


def stage_starts(history: BarHistory) -> list[int]:
    """Find the looks at which a new round, stage or pair begins."""
    keys = [(s.round, s.stage, s.lower, s.upper) for s in history.steps]
    return [i for i, key in enumerate(keys) if i == 0 or key != keys[i - 1]]


class RunPanel(StepPanel):
    """Sliders for a run, and a position in it.

    Parameters
    ----------
    **first
        Where the controls stand: `error_um`, `removal_um`, `share`, `sight_um`, `tool`; of three bars `rounds`, and
        `skill`, `way`, `side` and `steel`, names in `SKILLS`, `WAYS`, `SIDES` and `STEELS`.
    """

    def __init__(
        self,
        bars: int,
        length_mm: float,
        seed: int,
        units: str | None,
        dpi: int,
        **first,
    ) -> None:
        super().__init__(units, dpi)
        self.bars, self.length_mm, self.seed = bars, float(length_mm), seed
        self.height_slider("error_um", "Starting error of each bar", first["error_um"], 20, MOST_ERROR_UM, 10)
        self.height_slider("removal_um", "Metal removed per pass", first["removal_um"], 2, 40, 0.5)
        self.slider("share", "Share taken from one bar", first["share"], 0, 1, 0.05, ".2f")
        self.height_slider("sight_um", "Smallest gap the eye sees", first["sight_um"], 0.5, 50, 0.5)
        self.menu("tool", "Tool", list(TOOLS), first["tool"])
        if bars > 2:
            self.whole_slider("rounds", "Rounds", first["rounds"], 1, 8)
            self.menu("skill", "Hands", list(SKILLS), first["skill"])
            self.menu("way", "Path of the file", list(WAYS), first["way"])
            self.menu("side", "Side of the file", list(SIDES), first["side"])
            self.menu("steel", "The bars", list(STEELS), first["steel"])
        self.zoom_tick()
        self._setting: dict | None = None
        self.history: BarHistory | None = None
        self._moves()
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 560, self.dpi)
        with style.styled():
            left = self.canvas.figure.add_axes((0.015, 0.13, 0.54, 0.86))
            right = self.canvas.figure.add_axes((0.605, 0.13, 0.275, 0.80))
            self.bench = BenchPicture(self.canvas, left, self.bars, self.units, self.scale)
            self.curve = self._curve_paper(right)

    def _curve_paper(self, axes: Axes):
        """Give what stands beside the bench, with `frame` and `show`."""
        return Convergence(self.canvas, axes, self.units, widest_gap=True)

    def _frame_curve(self, values: dict) -> None:
        self.curve.frame(self.history, self.history.floor_um)

    def starts(self) -> list[int]:
        """Give the looks at which a new round, stage or pair begins."""
        return stage_starts(self.history)

    def draw(self, zoom: bool, **values) -> str:
        """Simulate where a setting has changed; show the look at the position."""
        values.setdefault("rounds", 1)
        if values != self._setting:
            history = run(self.bars, self.length_mm, self.seed, **values)
            self._setting, self.history = values, history
            self._fit_position(len(history.steps) - 1)
            self.bench.frame(self.length_mm, MOST_ERROR_UM)
            self._frame_curve(values)
        place = min(self.position.value, len(self.history.steps) - 1)
        self.curve.show(self.history, place)
        self.way = self._laying(place, zoom) if self.steps_on else []
        self.bench.show(self.history.x_mm, self.history.steps[place], values["sight_um"], zoom)
        return self.words(self.history, place, values) + of_a_long_run(self.history, values["rounds"])

    def _laying(self, place: int, zoom: bool) -> list[bytes]:
        """Draw how a bar comes to lie on another: lifted, turned over, above the one it is laid on."""
        if not self.laid_anew(place):
            return []
        step = self.history.steps[place]
        pictures = []
        for turn in TURNS:
            self.bench.turn(self.history.x_mm, step, turn, zoom)
            pictures.append(self.canvas.paint())
        return pictures

    def laid_anew(self, place: int) -> bool:
        """Say whether the pair of a look is another than that of the look before."""
        before, step = self.history.steps[max(place - 1, 0)], self.history.steps[place]
        return (before.lower, before.upper) != (step.lower, step.upper)

    def words(self, history: BarHistory, place: int, values: dict) -> str:
        """Say what the picture shows. Subclasses write this."""
        raise NotImplementedError
