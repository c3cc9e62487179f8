"""A picture of what readings say, fitting their kind."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from scipy.interpolate import LinearNDInterpolator

from simulate.bench.eye import chance_seen
from simulate.readings.compare import Band
from simulate.readings.findings_record import Findings
from simulate.show import style
from simulate.show.canvas import Canvas
from simulate.show.own_picture import ROUNDS, own_bars_picture, simulated_band
from simulate.show.plate_map import PlateMap, line_step
from simulate.show.survey_picture import survey_picture
from simulate.surface.flat import flatness

MOST_PLATES = 4
_GRID = 61


def finding_picture(found: Findings, done: list[tuple[int, float]] | None = None, simulated: Band | None = None,
                    units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what readings say.

    Parameters
    ----------
    found : Findings
    done : list of (rounds filed, form in um), optional
        For bars: the learner's own rounds, in the picture of progress.
    simulated : Band, optional
        For bars: what simulated workshops reached.
    units : str
    dpi : int

    Returns
    -------
    Canvas

    Examples
    --------
    >>> from simulate.readings.findings import findings
    >>> from simulate.readings.table import read_readings
    >>> wedge = findings(read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n"))
    >>> finding_picture(wedge).pixels().shape
    (520, 1280, 3)
    """
    if found.kind == "bars":
        done = done or [(0, found.form_um)]
        return own_bars_picture(found.solution, found.map, done, simulated or band_like(found, done), units, dpi)
    return _DRAWN[found.kind](found, units, dpi)


def band_like(found: Findings, done: list[tuple[int, float]]) -> Band | None:
    """Simulate workshops that start as these three bars did; None for another number of bars.

    Parameters
    ----------
    found : Findings
        Of bars.
    done : list of (rounds filed, form in um)

    Returns
    -------
    Band or None
    """
    if len(found.solution.names) != 3:
        return None
    return simulated_band(float(np.ptp(found.solution.x_mm)), float(f"{max(done[0][1], 1.0):.3g}"), max(ROUNDS, done[-1][0]))


def picture_words(found: Findings) -> str:
    """Say what the picture shows, for those who do not see it; the figures are in the sentences beside it.

    Parameters
    ----------
    found : Findings

    Returns
    -------
    str
    """
    return {
        "bars": "For each bar its height along its length with the 95 % band, beside it how much to file where, and the rounds so far.",
        "plates": "A map of each plate with lines of equal height; small squares mark where metal surely has to come off.",
        "squares": "The angle of each square with its 95 % range, on a scale with zero for square.",
        "union jack": "A map of the plate with the heights along eight lines, the two closures, and how sure each station is.",
        "lands": "The bar's height at each land over the line of its two ends, with the 95 % range and what to file off.",
        "wedge": "How often each gap was seen, the curve that fits it, and where the threshold lies.",
    }[found.kind]


def _survey(found: Findings, units: str, dpi: int) -> Canvas:
    s = found.solution
    level = flatness(s.x_mm, s.y_mm, s.least_squares_height_um)
    return survey_picture(s, level.residual_um, units, dpi)


def _plates(found: Findings, units: str, dpi: int) -> Canvas:
    s, cut = found.solution, found.map
    count = min(len(s.names), MOST_PLATES)
    canvas, unit = Canvas(1280, 520, dpi), style.small(1.0, units)
    top = max(float(np.nanmax(np.abs(s.height_um))), 1e-3)
    step = style.to_um(line_step(style.small(top, units)), units)
    x, y = (np.linspace(v.min(), v.max(), _GRID) for v in (s.x_mm, s.y_mm))
    across, along = np.meshgrid(x / np.ptp(x), y / np.ptp(y))
    with style.styled():
        for k in range(count):
            axes = canvas.figure.add_axes((0.02 + k * 0.97 / count, 0.14, 0.97 / count - 0.02, 0.72))
            one = PlateMap(canvas, axes, letters=False)
            one.sides(float(np.ptp(y) / np.ptp(x)))
            read = np.isfinite(s.height_um[k])
            grid = LinearNDInterpolator(np.stack([s.x_mm / np.ptp(x), s.y_mm / np.ptp(y)], axis=1)[read], s.height_um[k][read])(across, along)
            one.show(f"{s.names[k]}: flat within {style.spell(s.flatness_um[k], units)}", grid, step, top)
            u, v = 2 * (s.x_mm - x[0]) / np.ptp(x) - 1, 2 * (s.y_mm - y[0]) / np.ptp(y) - 1
            sure = read & cut.sure[k]
            canvas.moving(axes.plot(u[read], v[read], ".", color=style.BLACK, ms=4, zorder=6, clip_on=False)[0])
            canvas.moving(axes.plot(u[sure], v[sure], "s", color=style.ORANGE, mfc="none", ms=9, mew=1.6, zorder=6, clip_on=False)[0])
            axes.set_xlim(-1, 1)
            axes.set_ylim(-1, 1)
        more = f"; {len(s.names) - count} more in the table" if len(s.names) > count else ""
        canvas.figure.text(0.02, 0.035, f"Lines every {unit * step:g} {style.small_unit(units)}: solid proud, dashed hollow, dotted level. "
                           f"Dots: stations; orange squares: scrape here, sure{more}.", fontsize=style.SMALL)
    return canvas


def _squares(found: Findings, units: str, dpi: int) -> Canvas:
    s, cut = found.solution, found.map
    canvas, at = Canvas(1280, 520, dpi), np.arange(len(s.names))
    spread = found_factor(found) * s.sd_urad
    with style.styled():
        axes = canvas.figure.add_axes((0.11, 0.16, 0.50, 0.72))
        for k, name in enumerate(s.names):
            colour, _, mark = style.LINES[k % 3]
            axes.errorbar(s.angle_urad[k], -k, xerr=spread[k], fmt=mark, color=colour, ms=10, capsize=8, lw=2)
            if s.low_urad is not None and np.isfinite([s.low_urad[k], s.high_urad[k]]).all():
                axes.plot([s.low_urad[k], s.high_urad[k]], [-k - 0.2] * 2, "|--", color="#555555", ms=14)
        axes.axvline(0, color="#888888", lw=1)
        axes.set_yticks(-at, s.names)
        axes.set_ylim(-len(s.names) + 0.4, 0.6)
        axes.set_xlabel("angle (µrad, micrometres in a metre); + leans away from the other blade")
        axes.set_title("Angle of each square with 95 %" + ("; dashed grey: certain bounds" if s.low_urad is not None else ""),
                       loc="left", fontsize=style.BODY)
        side = canvas.figure.add_axes((0.72, 0.16, 0.25, 0.72))
        unit = style.small(1.0, units)
        side.barh(-at, unit * cut.remove_um, 0.5, facecolor="#F2B48C", edgecolor=style.ORANGE, hatch="//")
        for k in at:
            side.text(0, -k + 0.3, f" {style.spell(cut.remove_um[k], units)} at the {'foot' if cut.at_foot[k] else 'top'}"
                      f"{'' if cut.sure[k] else ', not sure'}", va="bottom", fontsize=style.SMALL)
        side.set_yticks(-at, [])
        side.set_ylim(-len(s.names) + 0.4, 0.6)
        side.set_xlim(0, 1.1 * max(unit * float(cut.remove_um.max()), 1e-3))
        side.set_title(f"File off ({style.small_unit(units)})", loc="left", fontsize=style.BODY)
    return canvas


def _lands(found: Findings, units: str, dpi: int) -> Canvas:
    network, cut = found.solution.network, found.map
    canvas, unit, place = Canvas(1280, 520, dpi), style.small(1.0, units), style.place(1.0, units)
    there = network.reached & np.isfinite(network.height_um)
    x, h = place * network.x_mm[there], unit * network.height_um[there]
    spread = unit * found_factor(found) * network.sd_um[there]
    with style.styled():
        axes = canvas.figure.add_axes((0.075, 0.44, 0.90, 0.47))
        axes.errorbar(x, h, yerr=spread, fmt="-o", color=style.BLUE, ms=8, capsize=6, lw=2)
        axes.axhline(0, color="#888888", lw=1)
        axes.set_title(f"Height over the line of the two ends ({style.small_unit(units)}), with 95 %", loc="left", fontsize=style.BODY)
        under = canvas.figure.add_axes((0.075, 0.13, 0.90, 0.20), sharex=axes)
        wide = 0.6 * np.diff(x).min() if x.size > 1 else 1.0
        under.bar(place * cut.x_mm, unit * cut.remove_um[0], wide, edgecolor=style.ORANGE, hatch="//",
                  facecolor=["#F2B48C" if sure else "white" for sure in cut.sure[0]])
        under.set_title(f"File off ({style.small_unit(units)}); filled: sure", loc="left", fontsize=style.BODY)
        under.set_xlabel(f"position ({'in' if units == 'inch' else 'mm'})")
        axes.tick_params(labelbottom=False)
    return canvas


def _wedge(found: Findings, units: str, dpi: int) -> Canvas:
    s, canvas, unit = found.solution, Canvas(1280, 520, dpi), style.small(1.0, units)
    marks = np.array([[float(cell) for cell in row[:3]] for row in found.detail_rows])
    gap, part = marks[:, 0], 100 * marks[:, 2] / marks[:, 1]
    top = 1.1 * max(float(gap.max()), s.eye.threshold_um + 4 * s.eye.spread_um)
    fine = np.linspace(0, top, 300)
    with style.styled():
        axes = canvas.figure.add_axes((0.075, 0.15, 0.90, 0.74))
        axes.plot(unit * fine, 100 * chance_seen(fine, s.eye), color=style.BLUE, label="curve fitted to it")
        axes.plot(unit * gap, part, "o", color=style.BLACK, ms=9, label="what was seen")
        low, high = max(s.low_um, 0.0), min(s.high_um, top)
        axes.plot([unit * low, unit * high], [50, 50], "|-", color=style.ORANGE, lw=5, ms=18, label="threshold, 95 % sure")
        axes.set_xlim(0, unit * top)
        axes.set_ylim(-5, 105)
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_xlabel(f"gap on the wedge ({style.small_unit(units)})")
        axes.set_title("Seen open (% of the looks)", loc="left", fontsize=style.BODY)
        axes.legend(frameon=False, loc="lower right")
    return canvas


def found_factor(found: Findings) -> float:
    """Return how many standard deviations hold the truth 95 times in 100, in this solution.

    Parameters
    ----------
    found : Findings

    Returns
    -------
    float
    """
    return float(getattr(found.solution, "factor_95", 1.96))


_DRAWN: dict[str, Callable[[Findings, str, int], Canvas]] = {
    "union jack": _survey, "plates": _plates, "squares": _squares, "lands": _lands, "wedge": _wedge}
