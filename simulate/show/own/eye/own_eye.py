"""The learner's own wedge test: the curve of the eye, and what three bars come to that are judged by it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from matplotlib.collections import LineCollection

from simulate.bench.looking.eye import chance_seen, gap_seen_um
from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.planning.plan import Plan, plan_job
from simulate.readings.adjustment.observations import of_round
from simulate.readings.eye.wedge import SolvedWedge, eye_words, solve_wedge
from simulate.readings.table.demo import demo_path
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.own.readings_panel import ReadingsPanel

LOOKS = ("as often as your curve says", "seen in half of all trials", "seen 19 times out of 20")
CHANCES = (None, 0.5, 0.95)
ROUNDS = 3
_PART = np.linspace(0, 1, 201)


@remembered
def judged(sight: Sight, start_um: float) -> Plan:
    """Plan three bars that are judged by an eye.

    >>> judged(Sight(), 60.0).worst_um.shape
    (3, 4)
    """
    return plan_job(
        start_um,
        max(sight.threshold_um, 0.1),
        removal_um=4,
        rounds=ROUNDS,
        sight=sight,
        workshops=200,
        points=41,
        seed=1,
    )


class OwnEyePanel(ReadingsPanel):
    """A wedge test in; threshold, its range, both rates and the bars of such an eye out.

    Parameters
    ----------
    path : str or Path, optional
        A readings file with ``gap_um, looks, seen``; the invented demo file by default.
    taken : str
        One of `LOOKS`: which gap the simulation takes for open.
    start_um : float
        How far out its bars start, 30 to 500.
    units : str, optional
    dpi : int

    Attributes
    ----------
    eye : Eye
        As fitted.
    sight : Sight
        For `three_bars` and `plan_job`.

    Raises
    ------
    ValueError
        Where the file is refused, holds other readings, or sets no curve.

    Examples
    --------
    >>> panel = OwnEyePanel()
    >>> panel.sentence.startswith("Demo file, invented readings. Your threshold is")
    True
    """

    demo = Path(demo_path("demo_wedge.csv"))

    def __init__(
        self, path=None, taken: str = LOOKS[0], start_um: float = 100, units: str | None = None, dpi: int = 100
    ) -> None:
        super().__init__(units, dpi)
        self._load(path)
        self.menu("taken", "Gap that the simulation sees", LOOKS, taken)
        self.height_slider("start_um", "Starting error of bars", start_um, 30, 500, 10)
        self._inputs()
        self._paper()
        self.ready(strict=True)

    # -- picture --------------------------------------------------------------
    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        self._unit = style.small(1.0, self.units)
        with style.styled():
            self._curve_paper(self.canvas.figure.add_axes((0.065, 0.14, 0.50, 0.70)))
            self._bars_paper(self.canvas.figure.add_axes((0.655, 0.14, 0.325, 0.70)))

    def _curve_paper(self, axes) -> None:
        axes.set_ylim(-5, 105)
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_xlabel(f"gap on the wedge ({style.small_unit(self.units)})")
        axes.set_title("Seen open (% of trials)", loc="left", fontsize=style.BODY, pad=26)
        axes.text(
            0,
            1.01,
            "dots: seen; line: fitted; bar: threshold, 95 %; thick: known rates",
            transform=axes.transAxes,
            va="bottom",
            fontsize=style.SMALL,
        )
        make, self._axes = self.canvas.moving, axes
        self._curve = make(axes.plot([], [], color=style.BLUE)[0])
        self._dots = make(axes.plot([], [], "o", color=style.BLACK, ms=9)[0])
        self._range = LineCollection([], colors=style.BLACK, lw=(3, 8))
        axes.add_collection(self._range, autolim=False)
        make(self._range)

    def _bars_paper(self, axes) -> None:
        axes.set_xlim(-0.2, ROUNDS + 0.3)
        axes.set_yscale("log")
        axes.set_ylim(self._unit, 1000 * self._unit)
        ticks = [1, 3, 10, 30, 100, 300, 1000] if self.units == "mm" else [0.1, 0.3, 1, 3, 10, 30]
        axes.set_yticks(ticks, [f"{t:g}" for t in ticks])
        axes.minorticks_off()
        axes.set_xticks(range(ROUNDS + 1))
        axes.set_xlabel("round")
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_title(
            f"Worst of three bars ({style.small_unit(self.units)}, log scale)", loc="left", fontsize=style.BODY, pad=26
        )
        axes.text(
            0,
            1.01,
            "band: 10 to 90 % of 200; dashed: this eye",
            transform=axes.transAxes,
            va="bottom",
            fontsize=style.SMALL,
        )
        make = self.canvas.moving
        self._shade = make(axes.fill_between([0, 1], [1, 1], [2, 2], facecolor="#9CC9E8", edgecolor=style.BLUE))
        self._half = make(axes.plot([], [], "-o", color=style.BLUE)[0])
        self._seen = make(axes.plot([-0.2, ROUNDS + 0.3], [1, 1], "--", color=style.ORANGE)[0])

    def draw(self, taken: str, start_um: float) -> str:
        """Fit the eye and let it judge; give the sentence."""
        found = solve_wedge(self._table)
        used = of_round(self._table, found.round)
        sight = found.eye.sight(CHANCES[LOOKS.index(taken)])
        plan = judged(sight, start_um)
        self.solution, self.eye, self.sight, self.plan = found, found.eye, sight, plan
        self._draw_curve(found, used.gap_um, 100 * used.seen / used.looks)
        rounds, (low, half, high) = np.arange(ROUNDS + 1), self._unit * plan.worst_um
        self._shade.set_verts([np.column_stack([np.r_[rounds, rounds[::-1]], np.r_[low, high[::-1]]])])
        self._half.set_data(rounds, half)
        self._seen.set_ydata([self._unit * sight.threshold_um] * 2)
        return self._words(found, sight, plan, start_um)

    def _draw_curve(self, found: SolvedWedge, gap_um: np.ndarray, seen: np.ndarray) -> None:
        top = 1.05 * max(float(gap_um.max()), gap_seen_um(found.eye))
        if self._axes.get_xlim() != (0, self._unit * top):
            self._axes.set_xlim(0, self._unit * top)
            self.canvas.invalidate()
        self._curve.set_data(self._unit * top * _PART, 100 * chance_seen(top * _PART, found.eye))
        self._dots.set_data(self._unit * gap_um, seen)
        at = [100 * float(chance_seen(found.eye.threshold_um, found.eye))] * 2
        self._range.set_segments(
            [
                np.column_stack([self._unit * np.clip(ends, 0, top), at])
                for ends in ((found.low_um, found.high_um), found.eye.known_95_um)
            ]
        )

    def _words(self, found: SolvedWedge, sight: Sight, plan: Plan, start_um: float) -> str:

        def spell(um: float) -> str:
            return style.spell(um, self.units)

        judge = (
            "your eye, trial by trial," if sight.spread_um else f"an eye that always sees {spell(sight.threshold_um)}"
        )
        return (
            f"{self._start(found.round)}{eye_words(found.eye, found.often_95_um, spell)} Three bars start "
            f"{spell(start_um)} out and are judged by {judge} for {ROUNDS} rounds "
            f"of light passes. Then the worst bar is within {spell(plan.worst_um[1, -1])} in half of {plan.workshops} "
            f"workshops, and within {spell(plan.worst_um[2, -1])} in nine out of ten."
        )
