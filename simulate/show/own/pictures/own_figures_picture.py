"""Picture of figures that readings come to: each with its 95 % range, and the published limit behind it."""

from __future__ import annotations

import numpy as np

from simulate.readings.network.features import Feature
from simulate.readings.network.network_words import named
from simulate.readings.outcome.findings_record import Findings
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.units.finding_words import spoken_table

_MOST = 16
_LONG = 54


def own_figures_picture(found: Findings, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what straight bodies are out by, and what goes under or off them.

    `found`: of a headstock and tailstock, a cross slide, or the faces of a piece.
    """
    solved = found.solution
    rows = [(one, False) for one in solved.features if one.unit == "um" and one.told]
    rows = [*rows, *((one, True) for one in solved.work if one.told)][:_MOST]
    canvas = Canvas(1280, 150 + 34 * max(len(rows), 3), dpi)
    unit, tall = style.small(1.0, units), canvas.figure.get_figheight() * 100
    with style.styled():
        axes = canvas.figure.add_axes((0.45, 66 / tall, 0.52, 1 - 118 / tall))
        for row, (one, work) in enumerate(rows):
            _draw(axes, len(rows) - row, one, work, unit)
        axes.axvline(0, color="#888888", lw=1)
        axes.set_yticks(range(len(rows), 0, -1), [_label(one, units) for one, _ in rows], fontsize=style.SMALL)
        axes.set_ylim(0.4, len(rows) + 0.6)
        axes.grid(axis="x", color="#DDDDDD", lw=0.8)
        axes.set_xlabel(f"error, or correction ({style.small_unit(units)})")
        key = "● error   ■ correction   bar: 95 %   hatched: published limit"
        axes.set_title(key, loc="left", fontsize=style.SMALL)
    return canvas


def _label(one: Feature, units: str) -> str:
    _, [[text]] = spoken_table(("what",), ((named(one),),), units)
    return text if len(text) <= _LONG else text[: _LONG - 1] + "…"


def _draw(axes, at: int, one: Feature, work: bool, unit: float) -> None:
    colour, mark = (style.ORANGE, "s") if work else (style.BLUE, "o")
    if one.limit is not None:
        low, high = unit * one.limit.low, unit * one.limit.high
        axes.barh(at, high - low, 0.62, left=low, facecolor="none", edgecolor=style.STEEL, hatch="//", lw=1)
    if one.ranged:
        ends = np.array([[one.value - one.low_95], [one.high_95 - one.value]]) * unit
        axes.errorbar(unit * one.value, at, xerr=np.maximum(ends, 0), color=colour, capsize=6, lw=2)
    axes.plot(unit * one.value, at, mark, color=colour, ms=9)
