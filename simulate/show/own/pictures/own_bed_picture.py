"""Picture of a bed: the height of each way along it with its range, and what to take off."""

from __future__ import annotations

import numpy as np

from simulate.readings.bed.bed_findings import SolvedBed
from simulate.readings.outcome.findings_record import Findings
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas

_TITLES = {"upright": "Vertical plane", "level": "Horizontal plane"}


def own_bed_picture(found: Findings, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what readings of a bed, or of a joint between two parts, say.

    `found`: of a bed or of two bed parts.
    """
    solved: SolvedBed = found.solution
    canvas = Canvas(1280, 600, dpi)
    planes = list(dict.fromkeys(key[2] for key in solved.bodies.keys))
    tall = 0.54 / len(planes)
    with style.styled():
        for row, plane in enumerate(planes):
            axes = canvas.figure.add_axes((0.075, 0.94 - (row + 1) * tall - 0.035 * row, 0.90, tall - 0.05))
            _ways(axes, solved, plane, units)
        _cut(canvas.figure.add_axes((0.075, 0.10, 0.90, 0.17)), found, units)
    return canvas


def _ways(axes, solved: SolvedBed, plane: str, units: str) -> None:
    heights, bodies, unit = solved.heights, solved.bodies, style.small(1.0, units)
    low, high = heights.low_95_um, heights.high_95_um
    named = set()
    for k, places in enumerate(bodies.places):
        part, way, own = bodies.keys[k]
        if own != plane:
            continue
        number = (bodies.ways.index(way) if way in bodies.ways else 0) % len(style.LINES)
        colour, line, mark = style.LINES[number]
        at = style.place(1.0, units) * bodies.x_mm[places]
        label = way or "the way"
        axes.plot(
            at,
            unit * heights.height_um[places],
            line + mark,
            color=colour,
            ms=6,
            label=None if label in named else label,
        )
        named.add(label)
        if low is not None and high is not None:
            ends = unit * low[places], unit * high[places]
            axes.fill_between(at, *ends, facecolor="none", edgecolor=colour, hatch="//" if number else "\\\\", lw=0.6)
        if part:
            axes.annotate(
                part,
                (float(at.mean()), 0.0),
                xycoords=("data", "axes fraction"),
                ha="center",
                va="bottom",
                fontsize=style.SMALL,
            )
    axes.axhline(0, color="#888888", lw=1)
    axes.set_xlim(*_span(solved, units))
    axes.set_title(
        f"{_TITLES[plane]}: height ({style.small_unit(units)}), hatched: 95 %", loc="left", fontsize=style.BODY
    )
    axes.legend(frameon=False, loc="upper right", ncols=2, bbox_to_anchor=(1.0, 1.22))
    axes.tick_params(labelbottom=False)


def _span(solved: SolvedBed, units: str) -> tuple[float, float]:
    x = style.place(1.0, units) * solved.bodies.x_mm
    room = 0.05 * max(float(np.ptp(x)), 1e-9)
    return float(x.min()) - room, float(x.max()) + room


def _cut(axes, found: Findings, units: str) -> None:
    unit, bodies, cut = style.small(1.0, units), found.solution.bodies, found.map
    place = style.place(1.0, units)
    steps = np.diff(np.unique(bodies.x_mm))
    wide = 0.35 * place * (float(np.median(steps)) if steps.size else 1.0)
    for row in range(len(cut.names)):
        for k, places in enumerate(bodies.places):
            metal, sure = cut.remove_um[row, places], cut.sure[row, places]
            read = np.isfinite(metal)
            if not read.any() or bodies.keys[k][2] != "upright":
                continue
            number = (bodies.ways.index(bodies.keys[k][1]) if bodies.keys[k][1] in bodies.ways else 0) % 2
            axes.bar(
                place * bodies.x_mm[places][read] + (number - 0.5) * wide,
                unit * metal[read],
                wide,
                edgecolor=style.LINES[number][0],
                hatch="//" if number else "\\\\",
                facecolor=[style.STEEL if one else "white" for one in sure[read]],
            )
    axes.set_title(f"Take off ({style.small_unit(units)}); filled: certain", loc="left", fontsize=style.BODY)
    axes.set_xlim(*_span(found.solution, units))
    axes.set_xlabel(f"along the bed ({'in' if units == 'inch' else 'mm'})")
