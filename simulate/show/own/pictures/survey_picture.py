"""Picture of a plate surveyed along eight lines: map, closures, how sure each station is."""

from __future__ import annotations

import numpy as np

from simulate.readings.survey.union_jack import UnionJack
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.station_map import lines_every, station_map
from simulate.show.own.pictures.bars_picture import progress


def survey_picture(
    found: UnionJack,
    height_um: np.ndarray,
    units: str = "mm",
    dpi: int = 100,
    what: str = "Lines",
    done: list[tuple[int, float]] | None = None,
    limits_um: dict[str, float] | None = None,
    top_um: float | None = None,
) -> Canvas:
    """Draw what a survey says.

    `height_um` (points,): heights to draw, above the plane midway. `what`: what the map shows, and how; its lines are
    told after it. `done`: where several rounds were read; they take the place of how sure each station is.
    `limits_um`: of the grades. `top_um`: where the shades end; without it at the largest height.
    """
    canvas = Canvas(1280, 600, dpi)
    with style.styled():
        _map(canvas, found, height_um, units, what, top_um or float(np.abs(height_um).max()))
        _closures(canvas, found, units)
        if done and len(done) > 1:
            progress(
                canvas, done, None, units, "flatness", "surveys after the first", limits_um, (0.655, 0.115, 0.32, 0.365)
            )
        else:
            _sureness(canvas, found, units)
    return canvas


def blind(x_mm: np.ndarray, y_mm: np.ndarray, found: UnionJack) -> np.ndarray:
    """Say which places of a plate lie more than half a step off all eight lines.

    `x_mm`, `y_mm`: from one edge to the other. Returns (rows, columns) of bool.
    """
    wide, deep = np.ptp(x_mm), np.ptp(y_mm)
    across, along = np.meshgrid(x_mm - x_mm[0], y_mm - y_mm[0])
    station = np.hypot(found.x_mm[:, None] - found.x_mm, found.y_mm[:, None] - found.y_mm)
    step = np.median(np.where(station > 0, station, np.inf).min(axis=1))
    edges = [abs(across - k * wide / 2) for k in range(3)] + [abs(along - k * deep / 2) for k in range(3)]
    slant = np.hypot(wide, deep)
    diagonals = [abs(across * deep - along * wide) / slant, abs(across * deep + along * wide - wide * deep) / slant]
    return np.min(edges + diagonals, axis=0) > step / 2


def _map(canvas: Canvas, found: UnionJack, height: np.ndarray, units: str, what: str, top: float) -> None:
    x, y = (np.linspace(a.min(), a.max(), 61) for a in (found.x_mm, found.y_mm))
    step = lines_every(top, units)
    u, v = (2 * (a - a.min()) / np.ptp(a) - 1 for a in (found.x_mm, found.y_mm))
    named = {int(np.hypot(u - a, v - b).argmin()) for a in (-1, 0, 1) for b in (-1, 0, 1)}
    station_map(
        canvas,
        canvas.figure.add_axes((0.02, 0.07, 0.49, 0.85)),
        (found.x_mm, found.y_mm),
        height,
        f"{what} every {style.spell(step, units)}; solid proud, dashed hollow",
        shades_um=(step, top),
        printed=blind(x, y, found),
        named=named | {int(height.round(6).argmax()), int(height.round(6).argmin())},
        units=units,
        bar=True,
    )
    canvas.figure.text(0.02, 0.02, "■ not under any line", fontsize=style.SMALL)


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
    axes.set_title(f"Closures ({style.small_unit(units)}); hatched: expected", loc="left", fontsize=style.BODY)


def _sureness(canvas: Canvas, found: UnionJack, units: str) -> None:
    axes = canvas.figure.add_axes((0.625, 0.115, 0.35, 0.37))
    order = np.argsort(found.sd_um, kind="stable")
    unit = style.small(1.0, units)
    axes.plot(unit * found.sd_um[order], "--s", color=style.ORANGE, ms=4, label="by hand")
    axes.plot(unit * found.least_squares_sd_um[order], "-o", color=style.BLUE, ms=4, label="least squares")
    axes.set_ylim(0, 1.25 * unit * max(float(found.sd_um.max()), 1e-3))
    axes.set_xlabel("stations, most certain first")
    axes.set_title(f"One standard deviation ({style.small_unit(units)})", loc="left", fontsize=style.BODY)
    axes.legend(frameon=False, loc="upper left")
    axes.grid(axis="y", color="#DDDDDD", lw=0.8)
