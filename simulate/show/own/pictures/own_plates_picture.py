"""Pictures of the learner's own plates: maps with how sure they are, where to scrape, where the work stands."""

from __future__ import annotations

import numpy as np

from simulate.core.byte_cache import remembered
from simulate.method.plates.three_plate_loop import three_plates
from simulate.readings.outcome.face_cut import FaceCut
from simulate.readings.plates.solve_plates import SolvedPlates
from simulate.readings.rounds.compare import Band, band
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.drawing.station_map import between_stations, lines_every, station_map
from simulate.show.own.pictures.bars_picture import progress
from simulate.surface.flatness import flatness
from simulate.surface.starting_plates import starting_plates

WORKSHOPS, ROUNDS, MARKINGS = 40, 4, 6
"""Simulated workshops, rounds that are shown at the least, and markings in a round."""

_BETWEEN = 4  # points of the simulated plates from station to station


@remembered
def simulated_plates(wide_mm: float, deep_mm: float, stations: int, error_um: float, rounds: int) -> Band:
    """Give the band of simulated workshops that start as the learner did, judged at as many stations.

    `stations`: along each side, 3 to 9. `error_um`: worst plate at the start. `rounds`: of six markings each.
    """
    points = _BETWEEN * (stations - 1) + 1
    x, y, h = starting_plates(wide_mm, deep_mm, 100, points=points, workshops=WORKSHOPS, seed=1)
    h *= error_um / _at_stations(x, y, h).max(axis=-1)[:, None, None, None]
    run = three_plates(x, y, h, removal_um=max(5.0, 0.4 * error_um), passes=MARKINGS * rounds, seed=1)
    return band(_at_stations(x, y, run.height_um), of="worst")


def _at_stations(x, y, height) -> np.ndarray:
    return flatness(x[::_BETWEEN], y[::_BETWEEN], height[..., ::_BETWEEN, ::_BETWEEN]).value_um


def own_plates_picture(
    solution: SolvedPlates,
    cuts: FaceCut,
    done: list[tuple[int, float]],
    simulated: Band | None,
    limits_um: dict[str, float],
    units: str = "mm",
    dpi: int = 100,
    whole: bool = False,
) -> Canvas:
    """Draw what the readings say.

    `done`: worst plate of each round that was read. `limits_um`: of the grades of a plate of this size. `whole`: hold
    heights against the band for a whole plate, in place of the one for each station by itself.
    """
    canvas = Canvas(1280, 560, dpi)
    count = len(solution.names)
    width = 0.69 / count
    top = float(np.nanmax(np.abs(solution.height_um)))
    most = max(float(np.nanmax(cuts.remove_um)), 1.0)
    steps = lines_every(top, units), lines_every(most, units)
    with style.styled():
        for k in range(count):
            left = 0.02 + k * width
            _face(canvas, (left, 0.52, width - 0.02, 0.38), solution, k, top, steps[0], units, whole)
            _cut(canvas, (left, 0.055, width - 0.02, 0.38), cuts, k, most, steps[1], units)
        level = (
            "uncertainty not known"
            if solution.low_95_um is None
            else f"uncertainty (95 % of {'the whole plate' if whole else 'each station'})"
        )
        canvas.figure.text(
            0.02,
            0.955,
            f"Heights; {level}: solid proud, dashed hollow, every {style.spell(steps[0], units)}; "
            "ring: not significant",
            fontsize=style.SMALL,
        )
        canvas.figure.text(
            0.02,
            0.012,
            f"To scrape off: lines every {style.spell(steps[1], units)}; ■ first  ● certain  ○ not",
            fontsize=style.SMALL,
        )
        progress(canvas, done, simulated, units, "plate", f"rounds of {MARKINGS} spottings", limits_um)
    return canvas


def _face(canvas: Canvas, box, s: SolvedPlates, k: int, top: float, step: float, units: str, whole: bool) -> None:
    read = np.isfinite(s.height_um[k])
    low, high = (s.low_whole_um, s.high_whole_um) if whole else (s.low_95_um, s.high_95_um)
    height, known = s.height_um[k, read], low is not None
    sure = (low[k, read] > 0) | (high[k, read] < 0) if known else np.zeros(height.size, bool)
    spread = f" (± {style.spell(np.nanmax(high[k] - low[k]) / 2, units)})" if known else ""
    station_map(
        canvas,
        canvas.figure.add_axes(box),
        (s.x_mm[read], s.y_mm[read]),
        height,
        f"{s.names[k]}: {style.spell(s.flatness_um[k], units)}{spread}",
        shades_um=(step, top),
        sure=sure,
        named={int(height.round(6).argmax()), int(height.round(6).argmin())},
        units=units,
        lift=0.09,
        bar=True,
    )


def _cut(canvas: Canvas, box, cuts: FaceCut, k: int, most: float, step: float, units: str) -> None:
    read = np.isfinite(cuts.remove_um[k])
    x, y, metal, sure = cuts.x_mm[read], cuts.y_mm[read], cuts.remove_um[k, read], cuts.sure[k, read]
    station_map(
        canvas,
        canvas.figure.add_axes(box),
        (x, y),
        metal,
        f"{cuts.names[k]}: {style.spell(metal.max(), units)} off",
        shades_um=(step, most),
        gaps=True,
        printed=between_stations(x, y, np.where(sure, metal, 0)) > 0.6 * metal.max(),
        sure=sure,
        named={int(metal.round(6).argmax())},
        units=units,
        lift=0.09,
        bar=True,
    )
