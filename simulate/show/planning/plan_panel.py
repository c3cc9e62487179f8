"""A plan at a glance: rounds, hours and metal with their bands, and the round after which to stop."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from functools import lru_cache

import numpy as np

from simulate.bench.bending.moving_steel import STEELS
from simulate.bench.cutting.rocking import SIDES, WAYS, lead
from simulate.bench.cutting.tools import SKILLS, TOOLS
from simulate.bench.looking.sight import Sight
from simulate.method.planning.plan import EVEN, Plan, growing_plan
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel

METAL = ("the same in each round", "halved from round to round")
WORKSHOPS = (200, 1000, 10_000)
POINTS = 51
_MOST = 6
_STALE = (
    '<p role="status" style="font-size:15px;margin:4px 0">Planning. The picture below still shows the previous '
    "setting.</p>"
)
_BREATH_S = 0.02
"""Between two blocks of workshops the kernel listens this long: a slider that was moved goes first."""


class Growth:
    """The plans of one job, from more and more workshops; each is worked out once, by whoever asks first.

    `begin`: begins with the first workshops. It is called when the first plan is asked for, and again after a failure.
    """

    def __init__(self, begin: Callable[[], Iterator[Plan]]) -> None:
        self._begin, self._plans, self._more = begin, [], None

    def _next(self) -> Plan:
        self._more = self._more or self._begin()
        try:
            plan = next(self._more)
        except Exception:
            self._plans, self._more = [], None  # a broken run gives nothing further; begin anew when asked again
            raise
        self._plans.append(plan)
        return plan

    def plan(self, workshops: int) -> Plan:
        """Give the plan of the most workshops that are known, up to a number; the first are run where none is known."""
        known = [plan for plan in self._plans if plan.workshops <= workshops]
        return known[-1] if known else self._next()

    def ahead(self, plan: Plan, workshops: int) -> Iterator[Plan]:
        """Go on from a plan, up to a number of workshops; what another panel has worked out meanwhile is taken over."""
        while plan.workshops < workshops:
            known = self.plan(workshops)
            plan = known if known.workshops > plan.workshops else self._next()
            yield plan


@lru_cache(maxsize=64)
def growing(  # noqa: PLR0913  (one for each control)
    start_um: float,
    wanted_um: float,
    removal_um: float,
    metal: str,
    share: float,
    sight_um: float,
    tool: str,
    skill: str,
    rounds: int,
    seed: int,
    *,
    way: str = "along the bar",
    side: str = SIDES[0],
    steel: str = next(iter(STEELS)),
) -> Growth:
    """Begin to plan a job; the same question goes on from where it was left.

    `metal`: one of `METAL`.

    >>> growing(60, 20, 10, METAL[0], 0.5, 2.5, "second-cut file", "an average hand", 1, 1).plan(1000).workshops
    200
    """
    each = removal_um * 0.5 ** np.arange(rounds) if metal == METAL[1] else np.full(rounds, removal_um)
    return Growth(
        lambda: growing_plan(
            start_um,
            wanted_um,
            removal_um=each.tolist(),
            rounds=rounds,
            share=share,
            tool=lead(tool, **WAYS[way], side=side),
            sight=Sight("light", sight_um),
            hands=SKILLS[skill],
            steel=STEELS[steel],
            workshops=max(WORKSHOPS),
            points=POINTS,
            seed=seed,
        )
    )


class PlanPanel(Panel):
    """Many workshops plan one job.

    Parameters
    ----------
    start_um : float
        Straightness of every bar at the start, 30 to 500.
    wanted_um : float
        What all three are to have, 3 to 50.
    removal_um : float
        Metal per pass in the first round, 2.5 to 40.
    metal : str
    share, sight_um : float
        0 to 1; 0.5 to 10.
    tool : str
    skill, way, side, steel : str
        Names in `SKILLS`, `WAYS`, `SIDES` and `STEELS`.
    rounds : int
    workshops : int
        One of `WORKSHOPS`.
    seed : int
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "Stop after round" in PlanPanel(start_um=60, rounds=2, workshops=200).sentence
    True
    """

    at_hand = ("start_um", "wanted_um", "metal", "share", "sight_um")
    at_once = False  # its workshops may still be growing

    def __init__(  # noqa: PLR0913  (one for each control)
        self,
        start_um: float = 250,
        wanted_um: float = 50,
        *,
        removal_um: float = 10,
        metal: str = METAL[0],
        share: float = 0.5,
        sight_um: float = 2.5,
        tool: str = "second-cut file",
        skill: str = "an average hand",
        rounds: int = 5,
        workshops: int = 1000,
        seed: int = 1,
        units: str | None = None,
        dpi: int = 100,
        way: str = "along the bar",
        side: str = SIDES[0],
        steel: str = next(iter(STEELS)),
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        self._growth: asyncio.Task | None = None
        self.height_slider("start_um", "Starting error of each bar", start_um, 30, 500, 10)
        self.height_slider("wanted_um", "Target straightness", wanted_um, 3, 50, 1)
        self.height_slider("removal_um", "Metal per pass at first", removal_um, 2.5, 40, 0.5)
        self.menu("metal", "Metal in later rounds", METAL, metal)
        self.slider("share", "Share taken from one bar", share, 0, 1, 0.05, ".2f")
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 10, 0.5)
        self.menu("tool", "Tool", list(TOOLS), tool)
        self.menu("skill", "Hands", list(SKILLS), skill)
        self.menu("way", "Path of the file", list(WAYS), way)
        self.menu("side", "Side of the file", list(SIDES), side)
        self.menu("steel", "The bars", list(STEELS), steel)
        self.whole_slider("rounds", "Most rounds", rounds, 1, _MOST)
        self.menu("workshops", "Number of workshops", WORKSHOPS, workshops)
        for widget in self.controls.values():
            if hasattr(widget, "continuous_update"):
                widget.continuous_update = False  # a plan is run when the slider is let go
        self._paper()
        self.ready()

    def refresh(self) -> None:
        """Plan with the first workshops at once; the others follow while nobody moves a slider."""
        if self._growth:
            self._growth.cancel()
        try:
            loop = asyncio.get_running_loop() if self.sentence else None
        except RuntimeError:
            loop = None
        if loop:  # told at once, while the first workshops are still at it
            self.message.value = _STALE
        super().refresh()
        if self.message.value == "" and self.plan.workshops < self.workshops:
            if loop:
                self._growth = loop.create_task(self._grow_on())
            else:
                self._try(lambda: self._accept(self._show(list(self._growing.ahead(self.plan, self.workshops))[-1])))

    async def _grow_on(self) -> None:
        more = self._growing.ahead(self.plan, self.workshops)
        with self.acting():
            while True:
                await asyncio.sleep(_BREATH_S)
                plan = next(more, None)
                if plan is None:
                    return
                self._accept(self._show(plan))

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 540, self.dpi)
        with style.styled():
            self._error_paper(self.canvas.figure.add_axes((0.065, 0.13, 0.30, 0.73)))
            self._chance_paper(self.canvas.figure.add_axes((0.44, 0.13, 0.24, 0.73)))
            self._table_paper(self.canvas.figure.add_axes((0.71, 0.03, 0.285, 0.95)))

    def _error_paper(self, axes) -> None:
        unit = style.small(1.0, self.units)
        axes.set_yscale("log")
        axes.set_ylim(unit, 1000 * unit)
        ticks = [1, 3, 10, 30, 100, 300, 1000] if self.units == "mm" else [0.1, 0.3, 1, 3, 10, 30]
        axes.set_yticks(ticks, [f"{t:g}" for t in ticks])
        axes.minorticks_off()
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_title(
            f"The worst bar ({style.small_unit(self.units)}, log scale)", loc="left", fontsize=style.BODY, pad=26
        )
        make = self.canvas.moving
        self._shade = make(axes.fill_between([0, 1], [1, 1], [2, 2], facecolor="#9CC9E8", edgecolor=style.BLUE))
        self._median = make(axes.plot([], [], "-o", color=style.BLUE)[0])
        self._want = make(axes.plot([-0.2, _MOST + 0.3], [1, 1], "--", color=style.ORANGE)[0])
        self._stops = [self._common(axes)]
        axes.text(
            0,
            1.01,
            "band: 10 to 90 % of workshops; dashed: target",
            transform=axes.transAxes,
            va="bottom",
            fontsize=style.SMALL,
        )

    def _chance_paper(self, axes) -> None:
        axes.set_ylim(0, 104)
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_title("Share of the workshops (%)", loc="left", fontsize=style.BODY, pad=26)
        axes.plot([-0.2, _MOST + 0.3], [100 * EVEN] * 2, ":", color=style.BLACK, lw=1.6)
        make = self.canvas.moving
        self._reached = make(axes.plot([], [], "-o", color=style.BLUE)[0])
        self._worse = make(axes.plot([], [], "--s", color=style.ORANGE)[0])
        self._stops.append(self._common(axes))
        axes.text(
            0,
            1.01,
            "● done by then   ■ made worse",
            transform=axes.transAxes,
            va="bottom",
            fontsize=style.SMALL,
        )

    def _common(self, axes):
        axes.set_xlim(-0.2, _MOST + 0.3)
        axes.set_xticks(range(_MOST + 1))
        axes.set_xlabel("round")
        return self.canvas.moving(axes.axvline(1, color=style.BLACK, lw=3, alpha=0.75))

    def _table_paper(self, axes) -> None:
        axes.axis("off")
        axes.set_xlim(0, 1)
        axes.set_ylim(0, 1)
        axes.text(0, 0.985, "Until all three are good", va="top", fontsize=style.LARGE, weight="bold")
        self._tried = self.canvas.moving(axes.text(0, 0.925, "", va="top", fontsize=style.SMALL))
        for x, words in zip((0.52, 0.76, 1.0), ("10 %", "half", "90 %")):
            axes.text(x, 0.825, words, ha="right", fontsize=style.SMALL, weight="bold")
        self._cells = {}
        stock = style.small_unit(self.units)
        for k, (name, words) in enumerate(
            (
                ("rounds", "rounds"),
                ("passes", "passes"),
                ("strokes", "strokes"),
                ("hours", "hours"),
                ("metal_mm3", "mm³"),
                ("stock_um", f"stock, {stock}"),
            )
        ):
            y = 0.75 - 0.08 * k
            axes.text(0, y, words, fontsize=style.BODY)
            self._cells[name] = [
                self.canvas.moving(axes.text(x, y, "", ha="right", fontsize=style.BODY)) for x in (0.52, 0.76, 1.0)
            ]
        self._stop = self.canvas.moving(axes.text(0, 0.27, "", va="top", fontsize=style.LARGE, weight="bold"))
        self._reason = self.canvas.moving(axes.text(0, 0.19, "", va="top", fontsize=style.SMALL, linespacing=1.35))

    def draw(self, **values) -> str:
        """Run the first workshops, or take up what is known of this setting; give the sentence."""
        workshops = values.pop("workshops")
        self._growing, self.workshops = growing(**values, seed=self.seed), workshops
        return self._show(self._growing.plan(workshops))

    def _show(self, p: Plan) -> str:
        self.plan = p
        unit, r = style.small(1.0, self.units), np.arange(p.reached.size)
        low, mid, high = unit * p.worst_um
        self._shade.set_verts([np.column_stack([np.r_[r, r[::-1]], np.r_[low, high[::-1]]])])
        self._median.set_data(r, mid)
        self._want.set_ydata([unit * p.wanted_um] * 2)
        self._reached.set_data(r, 100 * p.reached)
        self._worse.set_data(r[1:], 100 * p.worse)
        for line in self._stops:
            line.set_xdata([p.stop_after] * 2)
        for name, cells in self._cells.items():
            for cell, value in zip(cells, getattr(p, name) * (unit if name == "stock_um" else 1)):
                cell.set_text(_short(value))
        self._stop.set_text(
            f"Black line: stop after round {p.stop_after}" if p.stop_after else "Black line: do not start"
        )
        self._reason.set_text(_reason(p))
        self._tried.set_text(f"from {self._tried_so_far()}")
        return self._words(p)

    def _tried_so_far(self) -> str:
        n, wanted = (
            f"{k:,}".replace(",", " ") if k >= 10_000 else f"{k}" for k in (self.plan.workshops, self.workshops)
        )
        return f"{n} workshops" if n == wanted else f"the first {n} of {wanted} workshops"

    def _words(self, p: Plan) -> str:
        hours = [_short(h) for h in p.hours]
        why = p.stop.why(lambda um: style.spell(um, self.units))
        tried = self._tried_so_far()
        return (
            f"{tried[0].upper()}{tried[1:]} simulated. {why} Half of them took "
            f"{_short(p.rounds[1])} rounds or fewer and "
            f"{hours[1]} hours; one in ten less than {hours[0]} hours, one in ten more than {hours[2]}. To be safe in "
            f"95 cases out of 100, leave {style.spell(p.stock_to_leave_um, self.units)} of metal on every edge, and a "
            f"quarter more for what {POINTS} places along a bar do not show. The hours rest on common practice and "
            "may be out by a factor of two or three."
        )


def _reason(p: Plan) -> str:
    r = p.stop_after
    lines = [f"by then {100 * p.reached[r]:.0f} % had reached it"]
    if r < p.worse.size:
        lines.append(f"round {r + 1} harmed {100 * p.worse[r]:.0f} %")
    return "\n".join([*lines, f"dotted: {100 * EVEN:.0f} %, a coin toss"])


def _short(value: float) -> str:
    return f"{value:.1f}" if abs(value) < 9.95 and value != round(value) else f"{value:,.0f}".replace(",", " ")
