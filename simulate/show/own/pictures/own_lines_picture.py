"""Picture of work read along lines: a map of heights with what to take off, or profiles where all lies in one line."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three
from simulate.readings.network.features import zone_of
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.face_cut import FaceCut
from simulate.readings.outcome.findings_record import Findings
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.station_map import between_stations, lines_every, station_map


def own_lines_picture(found: Findings, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw heights along lines, how sure they are, and where metal comes off.

    `found`: of a level or a straightedge along lines of a plate.
    """
    solved: SolvedHeights = found.solution.heights
    canvas, net = Canvas(1280, 560, dpi), solved.network
    with style.styled():
        if net.x_mm.size > 3 and not np.isnan(_spread(net.x_mm, net.y_mm)):
            _map(canvas, solved, found.map, units)
        else:
            _profile(canvas, solved, units)
        _lines(canvas, solved, found.solution.lines, units)
    return canvas


def _spread(x: np.ndarray, y: np.ndarray) -> float:
    """How wide places lie beside a line; nan where they do not."""
    size = np.linalg.svd(np.stack([x - x.mean(), y - y.mean()]), compute_uv=False)
    return float(size[1]) if size[1] > 1e-3 * size[0] else float("nan")


def _map(canvas: Canvas, solved: SolvedHeights, cut: FaceCut | None, units: str) -> None:
    net, height = solved.network, solved.height_um
    top = max(float(np.abs(height).max()), 1e-3)
    step = lines_every(top, units)
    low, high = solved.low_95_um, solved.high_95_um
    sure = np.zeros(height.size, bool) if low is None or high is None else (low > 0) | (high < 0)
    wide = 0.44 if cut is not None else 0.6
    station_map(
        canvas,
        canvas.figure.add_axes((0.02, 0.08, wide - 0.02, 0.8)),
        (net.x_mm, net.y_mm),
        height,
        f"Heights, lines every {style.spell(step, units)}; rings: not significant",
        shades_um=(step, top),
        sure=sure,
        named={int(height.round(6).argmax()), int(height.round(6).argmin())},
        units=units,
    )
    if cut is None:
        return
    metal = cut.remove_um[0]
    most = max(float(metal.max()), 1.0)
    step = lines_every(most, units)
    station_map(
        canvas,
        canvas.figure.add_axes((0.45, 0.08, 0.25, 0.8)),
        (net.x_mm, net.y_mm),
        metal,
        f"Take off, every {style.spell(step, units)}",
        shades_um=(step, most),
        gaps=True,
        printed=between_stations(net.x_mm, net.y_mm, np.where(cut.sure[0], metal, 0)) > 0.6 * most,
        sure=cut.sure[0],
        named={int(metal.round(6).argmax())},
        units=units,
    )


def _profile(canvas: Canvas, solved: SolvedHeights, units: str) -> None:
    net, unit = solved.network, style.small(1.0, units)
    along = np.hypot(net.x_mm - net.x_mm[0], net.y_mm - net.y_mm[0])
    order = np.argsort(along, kind="stable")
    axes = canvas.figure.add_axes((0.07, 0.14, 0.60, 0.74))
    at = style.place(1.0, units) * along[order]
    axes.plot(at, unit * solved.height_um[order], "-o", color=style.BLUE, ms=7)
    if solved.low_95_um is not None and solved.high_95_um is not None:
        axes.fill_between(
            at,
            unit * solved.low_95_um[order],
            unit * solved.high_95_um[order],
            facecolor="none",
            edgecolor=style.BLUE,
            hatch="//",
        )
    axes.axhline(0, color="#888888", lw=1)
    axes.set_title(f"Height ({style.small_unit(units)}), hatched: 95 %", loc="left", fontsize=style.BODY)
    axes.set_xlabel(f"along ({'in' if units == 'inch' else 'mm'})")


def _lines(canvas: Canvas, solved: SolvedHeights, lines: dict[str, np.ndarray], units: str) -> None:
    """How far each line by itself is from straight."""
    net, unit = solved.network, style.small(1.0, units)
    kept = {name: p for name, p in lines.items() if p.size > 2}
    names = list(kept)[:14]
    if not names:
        return
    axes = canvas.figure.add_axes((0.80, 0.12, 0.185, 0.76))
    each = ((kept[n], zone_of(net.x_mm[kept[n]], net.y_mm[kept[n]], line=True)) for n in names)
    form = [unit * float(zone(solved.height_um[places][None])[0]) for places, zone in each]
    at = np.arange(len(names))[::-1]
    axes.barh(at, form, 0.6, facecolor=style.STEEL, edgecolor=style.BLUE, hatch="//")
    for place, value in zip(at, form, strict=True):
        axes.text(value, place, f" {three(value)}", va="center", fontsize=style.SMALL)
    axes.set_yticks(at, names, fontsize=style.SMALL)
    axes.set_xlim(0, 1.35 * max(*form, 1e-3))
    axes.set_title(f"Each line ({style.small_unit(units)})", loc="left", fontsize=style.BODY)
