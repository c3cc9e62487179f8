"""A map of heights that are known at some stations only."""

from __future__ import annotations

import numpy as np
import scipy
from matplotlib.axes import Axes

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.plate_map import PlateMap, line_step

_GRID = 61


def between_stations(x_mm: np.ndarray, y_mm: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Fill in flat triangles between stations, for a map.

    `x_mm`, `y_mm`, `values` (points,). Returns (61, 61): 0 outside the outermost stations.

    >>> float(between_stations(np.array([0, 9, 0, 9.0]), np.array([0, 0, 9, 9.0]), np.array([0, 2, 0, 2.0]))[30, 30])
    1.0
    """
    x, y = (np.linspace(a.min(), a.max(), _GRID) for a in (x_mm, y_mm))
    wide, deep = np.ptp(x), np.ptp(y)
    across, along = np.meshgrid(x / wide, y / deep)
    flat = scipy.interpolate.LinearNDInterpolator(np.stack([x_mm / wide, y_mm / deep], axis=1), values)
    return np.nan_to_num(flat(across, along))


def station_map(  # noqa: PLR0913  (what one map holds, by its names)
    canvas: Canvas,
    axes: Axes,
    at_mm: tuple[np.ndarray, np.ndarray],
    values: np.ndarray,
    title: str,
    *,
    shades_um: tuple[float, float],
    gaps: bool = False,
    printed: np.ndarray | None = None,
    sure: np.ndarray | None = None,
    named: set[int] = frozenset(),
    units: str = "mm",
    lift: float = 0.075,
    bar: bool = False,
) -> PlateMap:
    """Draw a map once, with a dot at each station.

    `at_mm` (points,), `values` (points,). `shades_um`: between contour lines, and where the shades end. `gaps`: whether
    it shows amounts from 0 up. `printed` (61, 61) of bool: where to put small squares. `sure` (points,) of bool: filled
    dots; the others are rings. `named`: stations that carry their figure. `bar`: whether a bar of the shades stands
    beside it.
    """
    (x_mm, y_mm), (step_um, top_um) = at_mm, shades_um
    one = PlateMap(canvas, axes, gaps=gaps, letters=False, lift=lift, bar=units if bar else "")
    one.sides(np.ptp(y_mm) / np.ptp(x_mm))
    one.show(title, between_stations(x_mm, y_mm, values), step_um, max(top_um, 1e-6), printed)
    u, v = (2 * (a - a.min()) / np.ptp(a) - 1 for a in (x_mm, y_mm))
    sure = np.ones(u.size, bool) if sure is None else sure
    canvas.moving(axes.plot(u[sure], v[sure], "o", ms=4, color=style.BLACK, zorder=6, clip_on=False)[0])
    canvas.moving(axes.plot(u[~sure], v[~sure], "o", ms=6, color=style.BLACK, mfc="white", zorder=6, clip_on=False)[0])
    axes.set_xlim(-1, 1)
    axes.set_ylim(-1, 1)
    for k in named:
        sign = "" if gaps else "+"
        _label(canvas, axes, u[k], v[k], f"{style.small(values[k], units):{sign}.{_figures(units)}f}")
    return one


def lines_every(most_um: float, units: str) -> float:
    """Give the step of contour lines in µm, round in the learner's unit.

    >>> lines_every(100.0, "mm")
    20.0
    """
    return style.to_um(line_step(style.small(most_um, units)), units)


def _figures(units: str) -> int:
    return 1 if units == "mm" else 2


def _label(canvas: Canvas, axes: Axes, u: float, v: float, words: str) -> None:
    """Write a figure beside its station, inside the plate."""
    right, top = u > 0.45, v > 0.9
    canvas.moving(
        axes.annotate(
            words,
            (u, v),
            (-6 if right else 6, -5 if top else 5),
            textcoords="offset points",
            fontsize=style.SMALL,
            zorder=8,
            ha="right" if right else "left",
            va="top" if top else "bottom",
            bbox={"facecolor": "white", "alpha": 0.85, "lw": 0, "pad": 1},
        )
    )
