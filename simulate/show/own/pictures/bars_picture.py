"""Pictures of the learner's own bars: profiles with how sure they are, where to file, where the loop stands."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from simulate.core.byte_cache import remembered
from simulate.method.bars.three_bar_loop import three_bars
from simulate.readings.bars.bar_cut import CutMap
from simulate.readings.bars.solve_bars import BarSolution
from simulate.readings.rounds.compare import Band, band
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.surface.starting_bars import starting_bars

WORKSHOPS, ROUNDS = 40, 4


@remembered
def simulated_band(length_mm: float, error_um: float, rounds: int) -> Band:
    """Give the band of simulated workshops that start as the learner did.

    `error_um`: worst bar at the start.
    """
    x, h = starting_bars(length_mm, error_um, points=51, bars=3, workshops=WORKSHOPS, seed=1)
    run = three_bars(x, h, rounds=rounds, removal_um=max(5.0, error_um / 25), seed=1, record=False)
    return band(run.straightness_um, of="worst")


def own_bars_picture(
    solution: BarSolution,
    cuts: CutMap,
    done: list[tuple[int, float]],
    simulated: Band | None,
    units: str = "mm",
    dpi: int = 100,
    whole: bool = False,
) -> Canvas:
    """Draw what the readings say.

    `done`: worst bar of each round that was read. `simulated`: none leaves that picture out. `whole`: draw the band
    that holds a whole bar, in place of the one that holds each station by itself.
    """
    canvas = Canvas(1280, 560, dpi)
    with style.styled():
        _profiles(canvas, solution, units, whole)
        _filing(canvas, solution, cuts, units)
        if simulated is not None:
            progress(canvas, done, simulated, units)
    return canvas


def _rows(canvas: Canvas, count: int, left: float, width: float):
    height = 0.84 / count
    return [canvas.figure.add_axes((left, 0.11 + height * (count - 1 - k), width, height - 0.05)) for k in range(count)]


def _profiles(canvas: Canvas, s: BarSolution, units: str, whole: bool) -> None:
    x, unit = style.place(1.0, units) * s.x_mm, style.small(1.0, units)
    low, high = (s.low_whole_um, s.high_whole_um) if whole else (s.low_95_um, s.high_95_um)
    banded, has_bounds = low is not None, s.low_um is not None and not s.conflict
    finite = np.isfinite(s.low_um) & np.isfinite(s.high_um) if has_bounds else None
    known = ([low, high] if banded else [s.height_um]) + ([s.low_um[finite], s.high_um[finite]] if has_bounds else [])
    least, most = min(-0.5, *(v.min(initial=0) for v in known)), max(0.5, *(v.max(initial=0) for v in known))
    axes_list = _rows(canvas, len(s.names), 0.07, 0.38)
    for k, (axes, name) in enumerate(zip(axes_list, s.names)):
        colour, line, mark = style.LINES[k % 3]
        if banded:
            axes.fill_between(
                x, unit * low[k], unit * high[k], facecolor="none", edgecolor=colour, hatch="//", lw=0.8, alpha=0.55
            )
        axes.plot(x, unit * s.height_um[k], line, marker=mark, ms=5, color=colour)
        if has_bounds:
            for edge in (s.low_um[k], s.high_um[k]):
                axes.plot(x, np.where(finite[k], unit * edge, np.nan), color="#555555", lw=1.3, ls=(0, (4, 2)))
        axes.axhline(0, color="#888888", lw=0.8)
        axes.set_ylim(unit * 1.1 * least, unit * 1.1 * most)
        axes.set_ylabel(name, color=style.letters(colour))
        axes.label_outer()
    words = (
        "hatched: 95 % of " + ("a whole bar" if whole else "each station by itself")
        if banded
        else "uncertainty not known"
    )
    bounds = "; dashed grey: certain bounds" if has_bounds else ""
    axes_list[0].set_title(f"Height ({style.small_unit(units)}){bounds}\n{words}", loc="left", fontsize=style.SMALL)
    axes_list[-1].set_xlabel(f"position ({'in' if units == 'inch' else 'mm'})")


def _filing(canvas: Canvas, s: BarSolution, cuts: CutMap, units: str) -> None:
    x, unit = style.place(1.0, units) * s.x_mm, style.small(1.0, units)
    width = 0.8 * np.diff(x).min() if x.size > 1 else 1.0
    axes_list = _rows(canvas, len(s.names), 0.51, 0.19)
    for k, axes in enumerate(axes_list):
        sure = np.asarray(cuts.sure[k], bool)
        axes.bar(
            x,
            unit * cuts.remove_um[k],
            width,
            facecolor=["#F2B48C" if q else "white" for q in sure],
            edgecolor=style.ORANGE,
            hatch="//",
            lw=1,
        )
        axes.set_ylim(0, unit * 1.1 * max(cuts.remove_um.max(), 1.0))
        axes.label_outer()
    words = "filled: certain, 95 %" if s.low_95_um is not None else "uncertainty not known"
    axes_list[0].set_title(f"File off ({style.small_unit(units)}); {words}", loc="left", fontsize=style.SMALL)
    axes_list[-1].set_xlabel(f"position ({'in' if units == 'inch' else 'mm'})")


def progress(
    canvas: Canvas,
    done: list[tuple[int, float]],
    simulated: Band | None,
    units: str,
    body: str = "bar",
    rounds_of: str = "rounds filed",
    limits_um: dict[str, float] | None = None,
    box: tuple[float, float, float, float] = (0.765, 0.11, 0.22, 0.76),
) -> None:
    """Draw the worst body of every round, over the band of simulated workshops and between limits.

    Parameters
    ----------
    limits_um : dict of str to float, optional
        Names and heights of lines across.
    box : tuple of float
        Where on the picture.
    """
    axes = canvas.figure.add_axes(box)
    unit = style.small(1.0, units)
    title = (
        f"{f'Worst {body}' if simulated else f'{body.capitalize()}'} ({style.small_unit(units)}), log scale\n■ yours"
    )
    rounds = np.arange(done[-1][0] + 1)
    if simulated is not None:
        values = unit * np.maximum(simulated.value_um, 0.05)
        rounds = np.arange(values.shape[1])
        axes.fill_between(rounds, values[0], values[-1], facecolor="none", edgecolor=style.BLUE, hatch="\\\\", lw=1)
        axes.plot(rounds, values[len(values) // 2], color=style.BLUE)
        title += f"; hatched: {len(simulated.workshop_um)}\nsimulated workshops"
    axes.plot(
        [r for r, _ in done], [unit * max(v, 0.05) for _, v in done], "--s", color=style.ORANGE, ms=10, mec="white"
    )
    for name, limit in (limits_um or {}).items():
        axes.axhline(unit * limit, color="#555555", lw=1, ls=":")
        axes.annotate(
            name,
            (0, unit * limit),
            (3, 2),
            xycoords=("axes fraction", "data"),
            textcoords="offset points",
            fontsize=style.SMALL,
            color="#333333",
        )
    axes.set_yscale("log")
    low, high = axes.get_ylim()
    axes.set_ylim(low, high * (1.25 if limits_um else 1.0))
    axes.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
    axes.yaxis.set_minor_formatter(NullFormatter())
    axes.set_xticks(rounds)
    axes.set_xlabel(rounds_of)
    axes.set_title(title, loc="left", fontsize=style.SMALL)
