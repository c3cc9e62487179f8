"""Picture of a plate surveyed along eight lines: map, closures, how sure each station is."""

from __future__ import annotations

import numpy as np
from scipy.interpolate import LinearNDInterpolator

from simulate.readings.jack import UnionJack
from simulate.show import style
from simulate.show.canvas import Canvas
from simulate.show.plate_map import PlateMap, line_step

_GRID = 61


def survey_picture(found: UnionJack, height_um: np.ndarray, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what a survey says.

    Parameters
    ----------
    found : UnionJack
    height_um : ndarray, shape (points,)
        Heights to draw, above the plane midway.
    units : str
    dpi : int

    Returns
    -------
    Canvas
    """
    canvas = Canvas(1280, 600, dpi)
    with style.styled():
        _map(canvas, found, height_um, units)
        _closures(canvas, found, units)
        _sureness(canvas, found, units)
    return canvas


def blind(x_mm: np.ndarray, y_mm: np.ndarray, found: UnionJack) -> np.ndarray:
    """Say which places of a plate lie more than half a step off all eight lines.

    Parameters
    ----------
    x_mm, y_mm : ndarray
        From one edge to the other.
    found : UnionJack

    Returns
    -------
    ndarray of bool, shape (rows, columns)
    """
    wide, deep = np.ptp(x_mm), np.ptp(y_mm)
    across, along = np.meshgrid(x_mm - x_mm[0], y_mm - y_mm[0])
    station = np.hypot(found.x_mm[:, None] - found.x_mm, found.y_mm[:, None] - found.y_mm)
    step = np.median(np.where(station > 0, station, np.inf).min(axis=1))
    edges = [abs(across - k * wide / 2) for k in range(3)] + [abs(along - k * deep / 2) for k in range(3)]
    slant = np.hypot(wide, deep)
    diagonals = [abs(across * deep - along * wide) / slant, abs(across * deep + along * wide - wide * deep) / slant]
    return np.min(edges + diagonals, axis=0) > step / 2


def _map(canvas: Canvas, found: UnionJack, height: np.ndarray, units: str) -> None:
    x, y = (np.linspace(a.min(), a.max(), _GRID) for a in (found.x_mm, found.y_mm))
    wide, deep = np.ptp(x), np.ptp(y)
    across, along = np.meshgrid(x, y)
    grid = LinearNDInterpolator(np.stack([found.x_mm / wide, found.y_mm / deep], axis=1), height)(across / wide, along / deep)
    axes = canvas.figure.add_axes((0.02, 0.07, 0.53, 0.85))
    one = PlateMap(canvas, axes, letters=False)
    one.sides(deep / wide)
    top = float(np.abs(height).max())
    step = style.to_um(line_step(style.small(top, units)), units)
    one.show(f"Lines every {style.spell(step, units)}; solid proud, dashed hollow; squares: not under any line",
             np.nan_to_num(grid), step, max(top, 1e-6), blind(x, y, found))
    u, v = 2 * (found.x_mm - x[0]) / wide - 1, 2 * (found.y_mm - y[0]) / deep - 1
    canvas.moving(axes.plot(u, v, "o", ms=4, color=style.BLACK, zorder=6)[0])
    axes.set_xlim(-1, 1)
    axes.set_ylim(-1, 1)
    named = {int(np.hypot(u - a, v - b).argmin()) for a in (-1, 0, 1) for b in (-1, 0, 1)}
    for k in named | {int(height.argmax()), int(height.argmin())}:
        _label(canvas, axes, u[k], v[k], f"{style.small(height[k], units):+.{1 if units == 'mm' else 2}f}")


def _label(canvas: Canvas, axes, u: float, v: float, words: str) -> None:
    """Write a height beside its station, inside the plate."""
    right, top = u > 0.9, v > 0.9
    canvas.moving(axes.annotate(words, (u, v), (-6 if right else 6, -5 if top else 5), textcoords="offset points",
                                fontsize=style.SMALL, zorder=8, ha="right" if right else "left", va="top" if top else "bottom",
                                bbox={"facecolor": "white", "alpha": 0.85, "lw": 0, "pad": 1}))


def _closures(canvas: Canvas, found: UnionJack, units: str) -> None:
    axes = canvas.figure.add_axes((0.665, 0.64, 0.31, 0.25))
    unit = style.small(1.0, units)
    at = np.array([1, 0])
    spread = 2 * unit * found.closure_sd_um
    axes.barh(at, 2 * spread, 0.5, -spread, facecolor="none", edgecolor=style.BLUE, hatch="//", lw=1)
    axes.plot(unit * found.closure_um, at, "D", color=style.ORANGE, ms=10, mec="white")
    axes.axvline(0, color="#888888", lw=1)
    axes.set_yticks(at, ["centre along x", "centre along y"])
    most = 1.2 * max(float(np.abs(unit * found.closure_um).max()), float(spread.max()), 1e-3)
    axes.set_xlim(-most, most)
    axes.set_ylim(-0.6, 1.6)
    axes.set_title(f"Closures ({style.small_unit(units)}); hatched: to be expected", loc="left", fontsize=style.BODY)


def _sureness(canvas: Canvas, found: UnionJack, units: str) -> None:
    axes = canvas.figure.add_axes((0.625, 0.115, 0.35, 0.37))
    order = np.argsort(found.sd_um, kind="stable")
    unit = style.small(1.0, units)
    axes.plot(unit * found.sd_um[order], "--s", color=style.ORANGE, ms=4, label="the usual way")
    axes.plot(unit * found.least_squares_sd_um[order], "-o", color=style.BLUE, ms=4, label="least squares")
    axes.set_ylim(0, 1.25 * unit * max(float(found.sd_um.max()), 1e-3))
    axes.set_xlabel("stations, surest first")
    axes.set_title(f"One standard deviation ({style.small_unit(units)})", loc="left", fontsize=style.BODY)
    axes.legend(frameon=False, loc="upper left")
    axes.grid(axis="y", color="#DDDDDD", lw=0.8)
