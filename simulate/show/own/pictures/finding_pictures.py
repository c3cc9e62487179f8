"""A picture of what readings say, fitting their kind."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simulate.bench.looking.eye import chance_seen
from simulate.readings.lands.solve_lands import SolvedLands, certain_how
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.rounds.compare import Band
from simulate.readings.rounds.own_rounds import fitted_band
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.own.pictures.bars_picture import ROUNDS, own_bars_picture, simulated_band
from simulate.show.own.pictures.own_bed_picture import own_bed_picture
from simulate.show.own.pictures.own_figures_picture import own_figures_picture
from simulate.show.own.pictures.own_lines_picture import own_lines_picture
from simulate.show.own.pictures.own_plates_picture import own_plates_picture
from simulate.show.own.pictures.own_squares_picture import own_squares_picture
from simulate.show.own.pictures.survey_picture import survey_picture
from simulate.surface.flatness import flatness

LINES = (
    "A map of the work with heights along the lines that were read, what to take off, and how straight each line is."
)
"""What the picture of work read along lines shows."""
BED = (
    "The height of each way along the bed with its 95 % range, the vertical plane above, the horizontal plane under "
    "it, and what to take off where."
)
"""What the picture of a bed shows."""
FIGURES = "How far each axis, slide or face is out, with its 95 % range, the published limit, and what to do."
"""What the picture of straight bodies shows."""


def finding_picture(found: Findings, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what readings say.

    `found`: of three bars with progress, the simulated band is the one fitted to the learner's own rounds.

    >>> from simulate.readings.findings import findings
    >>> from simulate.readings.table.read import read_readings
    >>> wedge = findings(read_readings(b"gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n"))
    >>> finding_picture(wedge).pixels().shape
    (520, 1280, 3)
    """
    if found.kind == "bars":
        return own_bars_picture(found.solution, found.map, rounds_done(found), simulated_bars(found)[0], units, dpi)
    return _DRAWN[found.kind](found, units, dpi)


def rounds_done(found: Findings) -> list[tuple[int, float]]:
    """Return the worst body of every round so far.

    Returns: rounds of filing before each figure, 0 for the start.
    """
    own = found.progress
    return [(0, found.form_um)] if own is None else list(zip(own.rounds.tolist(), own.form_um.tolist()))


def simulated_bars(found: Findings) -> tuple[Band | None, float | None]:
    """Simulate workshops that start and go on as the learner does, or while nothing tells how that is, as the trade
    does.

    `found`: of bars. Returns `band`: none where there are not three bars. `share`: part of a split that the learner's
    own rounds give one of two bars, where the band was fitted to them; None where it supposes that every split is
    shared evenly.
    """
    if len(found.solution.names) != 3:
        return None, None
    done = rounds_done(found)
    length, own = float(np.ptp(found.solution.x_mm)), found.progress
    fitted = None if own is None else fitted_band(own, length, max(ROUNDS, done[-1][0] + 2))
    if fitted is not None and own is not None:
        return fitted, own.share
    return simulated_band(length, float(f"{max(done[0][1], 1.0):.3g}"), max(ROUNDS, done[-1][0])), None


def picture_words(found: Findings) -> str:
    """Say what the picture shows, for those who do not see it; the figures are in the sentences beside it."""
    known = found.sd_from != "assumed"
    band = " with the band that holds each station by itself 95 times in 100" if known else ""
    sure = " and their uncertainty" if known else ""
    return {
        "bars": (
            f"For each bar its height along its length{band}, beside it how much to file where, and the rounds so far."
        ),
        "plates": f"A map of each plate with lines of equal height{sure}, and under it what to scrape off where.",
        "squares": (
            "Each square with its blade as it leans, where it may be (95 %), and what to file off at bottom or top."
        ),
        "union jack": (
            "A map of the plate with the heights along eight lines, the two closures, and the uncertainty of each "
            "station."
        ),
        "lands": (
            "The bar's height at each land above the line through its two ends, with the 95 % range and what to file "
            "off."
        ),
        "level": LINES,
        "edge": LINES,
        "bed": BED,
        "joint": BED,
        "head": FIGURES,
        "cross slide": FIGURES,
        "one square": "The square with its blade as it leans, where it may be (95 %), and what to file off.",
        "thickness": "A map of the piece with its thickness at each place, and what to take off to make it parallel."
        if getattr(found.solution, "by_places", False)
        else FIGURES,
        "wedge": "How often each gap was seen, the curve that fits it, and where the threshold lies.",
    }[found.kind]


def _survey(found: Findings, units: str, dpi: int) -> Canvas:
    s = found.solution
    level = flatness(s.x_mm, s.y_mm, s.least_squares_height_um)
    return survey_picture(s, level.residual_um, units, dpi)


def _plates(found: Findings, units: str, dpi: int) -> Canvas:
    return own_plates_picture(found.solution, found.map, rounds_done(found), None, {}, units, dpi)


def _squares(found: Findings, units: str, dpi: int) -> Canvas:
    return own_squares_picture(found.solution, found.map, units, dpi)


def _piece(found: Findings, units: str, dpi: int) -> Canvas:
    drawn = own_lines_picture if found.solution.by_places else own_figures_picture
    return drawn(found, units, dpi)


def _lands(found: Findings, units: str, dpi: int) -> Canvas:
    network, cut = found.solution.network, found.map
    canvas, unit, place = Canvas(1280, 520, dpi), style.small(1.0, units), style.place(1.0, units)
    there = network.reached & np.isfinite(network.height_um)
    x, h = place * network.x_mm[there], unit * network.height_um[there]
    reach = unit * reach_95(found.solution)[:, there]
    with style.styled():
        axes = canvas.figure.add_axes((0.075, 0.44, 0.90, 0.47))
        axes.errorbar(x, h, yerr=reach, fmt="-o", color=style.BLUE, ms=8, capsize=6, lw=2)
        axes.axhline(0, color="#888888", lw=1)
        certain = False
        if found.solution.low_um is not None:
            for end, mark in ((found.solution.low_um, 2), (found.solution.high_um, 3)):
                inside = np.isfinite(end[there]) & (
                    np.abs(unit * end[there]) < 4 * max(np.abs(h).max(), reach.max(), 1e-3)
                )
                certain |= bool((inside & (network.sd_um[there] > 0)).any())
                axes.plot(x[inside], unit * end[there][inside], marker=mark, ls="", color=style.BLACK, ms=10, mew=2)
        told = ", with 95 %" if found.solution.low_95_um is not None else ""
        told += f"; black: {certain_how(found.solution)}" if certain else ""
        axes.set_title(
            f"Height above the line through the ends ({style.small_unit(units)}){told}", loc="left", fontsize=style.BODY
        )
        under = canvas.figure.add_axes((0.075, 0.13, 0.90, 0.20), sharex=axes)
        wide = 0.6 * np.diff(x).min() if x.size > 1 else 1.0
        under.bar(
            place * cut.x_mm,
            unit * cut.remove_um[0],
            wide,
            edgecolor=style.ORANGE,
            hatch="//",
            facecolor=["#F2B48C" if sure else "white" for sure in cut.sure[0]],
        )
        under.set_title(f"File off ({style.small_unit(units)}); filled: certain", loc="left", fontsize=style.BODY)
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
        axes.plot(
            [unit * low, unit * high], [50, 50], "|-", color=style.ORANGE, lw=5, ms=18, label="threshold, 95 % range"
        )
        axes.set_xlim(0, unit * top)
        axes.set_ylim(-5, 105)
        axes.grid(color="#DDDDDD", lw=0.8)
        axes.set_xlabel(f"gap on the wedge ({style.small_unit(units)})")
        axes.set_title("Seen open (% of trials)", loc="left", fontsize=style.BODY)
        axes.legend(frameon=False, loc="lower right")
    return canvas


def reach_95(solution: SolvedLands) -> np.ndarray:
    """How far the 95 % range of each point reaches below and above its height, um, shape (2, points); 0 where none is
    given."""
    height, low, high = solution.network.height_um, solution.low_95_um, solution.high_95_um
    if low is None or high is None:
        return np.zeros((2, height.size))
    return np.maximum(np.nan_to_num(np.stack([height - low, high - height])), 0.0)


_DRAWN: dict[str, Callable[[Findings, str, int], Canvas]] = {
    "union jack": _survey,
    "plates": _plates,
    "squares": _squares,
    "lands": _lands,
    "wedge": _wedge,
    "level": own_lines_picture,
    "edge": own_lines_picture,
    "bed": own_bed_picture,
    "joint": own_bed_picture,
    "head": own_figures_picture,
    "cross slide": own_figures_picture,
    "one square": _squares,
    "thickness": _piece,
}
