"""Pictures of the learner's own squares: how each leans, how sure that is, and the wedge that comes off."""

from __future__ import annotations

import numpy as np

from simulate.readings.squares.solve_squares import SolvedSquares
from simulate.readings.squares.square_cut import SquareCut
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.surface.tolerances.edge_grades import square_limits_um

ROOMY = 3
"""Up to so many squares there is room for all words over each."""


def own_squares_picture(found: SolvedSquares, cuts: SquareCut, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what the readings say."""
    canvas, count = Canvas(1280, 520, dpi), len(found.names)
    reach = style.small(1.25 * max((cuts.remove_um + _half(found, cuts)).max(), 4.0), units)
    wide = min(0.92 / count, 0.32)
    left = 0.05 + (0.95 - wide * count) / 2
    with style.styled():
        for k in range(count):
            axes = canvas.figure.add_axes((left + wide * k, 0.30, wide - 0.035, 0.53))
            _square(axes, k, found, cuts, reach, units)
            if not k:
                axes.set_ylabel(f"height ({'in' if units == 'inch' else 'mm'})")
            else:
                axes.set_yticklabels([])
        unit = f"; angles in {style.angle_unit(units)}" if count > ROOMY else ""
        canvas.figure.text(
            0.5,
            0.022,
            (
                "thick, with marks: the blade; thin dashes: where each may be by itself (95 %); black dashes: "
                f"upright; hatched: file this off{unit}"
            ),
            ha="center",
            fontsize=style.SMALL,
        )
    return canvas


def _square(axes, k: int, found: SolvedSquares, cuts: SquareCut, reach: float, units: str) -> None:
    colour, _, mark = style.LINES[k % 3]
    lean = style.small(cuts.remove_um[k] * (1 if cuts.at_foot[k] else -1), units)
    high, may = style.place(cuts.height_mm, units), style.small(_half(found, cuts)[k], units)
    axes.set_xlim(-reach, reach)
    axes.set_ylim(0, 1.06 * high)
    axes.set_xlabel(f"sideways ({style.small_unit(units)})")
    # the body stands to the left of its blade, its base the same way
    axes.fill([0, -lean, -reach, -reach], [0, high, high, 0], facecolor=style.STEEL, lw=0)
    if cuts.sure[k]:
        upright = -lean if lean > 0 else 0.0
        axes.fill(
            [0, upright, -lean],
            [0, 0 if lean > 0 else high, high],
            facecolor="#F2B48C",
            edgecolor=style.ORANGE,
            hatch="//",
            lw=1,
        )
    axes.plot([0, 0], [0, 1.06 * high], color=style.BLACK, lw=1.2, ls=(0, (6, 4)))
    axes.plot([0, -lean], [0, high], marker=mark, color=colour)
    for side in (-1, 1) if may else ():
        axes.plot([0, -lean + side * may], [0, high], color=colour, lw=1, ls=(0, (3, 3)))
    grades = [g for g, limit in square_limits_um(cuts.height_mm).items() if cuts.remove_um[k] <= limit]
    off, end = style.spell(cuts.remove_um[k], units), ("bottom" if cuts.at_foot[k] else "top") if cuts.sure[k] else ""
    value, unit = _angle(found, k, units)
    name = found.names[k] if len(found.names[k]) <= 12 else found.names[k][:11] + "…"
    place = style.spell_place(cuts.height_mm, units)
    if len(found.names) > ROOMY:
        title = f"{name}: {value}\n{off} out\n{f'grade {grades[0]}' if grades else 'no grade'}"
        words = f"file the {end}\n{off}" if end else "leave it"
    else:
        title = (
            f"{name}: {value} {unit}\n{place} up: {off} out, "
            f"{f'grade {grades[0]}' if grades else 'outside every grade'}"
        )
        words = f"file the {end}, {off}" if end else "leave it"
    axes.set_title(title, loc="left", fontsize=style.SMALL)
    axes.text(0.5, -0.27, words, transform=axes.transAxes, ha="center", va="top", fontsize=style.BODY, weight="bold")


def _half(found: SolvedSquares, cuts: SquareCut) -> np.ndarray:
    """Half the 95 % range at the top, 0 where there is none."""
    half = found.factor_95 * cuts.sd_um
    return np.where(np.isfinite(half), half, 0.0)


def _angle(found: SolvedSquares, k: int, units: str) -> tuple[str, str]:
    if not found.settled[k]:
        return "not settled", ""
    value, unit = style.spell_angle(found.angle_urad[k], units, "+").split(" ", 1)
    if found.low_95_urad is None:
        return value, unit
    half = max(found.angle_urad[k] - found.low_95_urad[k], found.high_95_urad[k] - found.angle_urad[k])
    return f"{value} ± {style.angle_figure(half, units)}", unit
