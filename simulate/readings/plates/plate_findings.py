"""What readings of plates say."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np

from simulate.core.number_format import three, two, with_sign
from simulate.readings.adjustment.consistency import Consistency, consistency
from simulate.readings.adjustment.equations import Equations, Solved, free_of, solve, usual_sd
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.adjustment.observations import of_round
from simulate.readings.adjustment.shared_errors import blunders, notice, shared_error
from simulate.readings.outcome.band_words import band_sentence
from simulate.readings.outcome.face_cut import FaceCut, face_cut
from simulate.readings.outcome.findings_record import (
    FILING,
    MOST_CERTAIN,
    PLATES,
    UNKNOWN,
    Findings,
    cautions,
    certain_words,
    end_words,
    half_words,
    left_out_words,
    sentence_of,
)
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from
from simulate.readings.plates.plate_equations import fits_of, plane_of, plate_datum, plate_design, stations_read
from simulate.readings.plates.plate_stations import Stations, meetings, stations_of
from simulate.readings.plates.solve_plates import SolvedPlates, held_plates, rows_of, solve_plates
from simulate.readings.reference.dependence import error_covariance
from simulate.readings.reference.gap_equations import gap_equations
from simulate.readings.reference.hold import Hold
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import Readings
from simulate.surface.flatness import flatness

_DRAWS = 60


def plate_equations(
    solution: SolvedPlates, table: Readings, held: Hold | None = None
) -> tuple[Equations, Stations, np.ndarray]:
    """Return the equations that a solution of plates came from.

    `table`: the round that was solved. `held`: plates that were known already. Returns `equations`: unknowns are the
    heights that were read, three for each seat, then the errors of plates that were known. `read` (bodies, points) of
    bool.
    """
    stations = stations_of(table)
    read = stations_read(table, stations, len(table.names))
    design = plate_design(table, stations, read)
    free = [table.names.index(name) for name in solution.names]
    datum = plate_datum(stations, read, design.shape[1])[rows_of(read, free)]
    fit, first = fits_of(table)
    named = tuple(_placement(table, int(row)) for row in first)
    return gap_equations(solution, table, design, datum, (fit, named), held), stations, read


def _placement(table: Readings, row: int) -> str:
    slide = (float(table.slide_x_mm[row]), float(table.slide_y_mm[row]))
    return placement(table.names, int(table.lower[row]), int(table.upper[row]), int(table.turned[row]), slide)


def placement(names: tuple[str, ...], lower: int, upper: int, turned: int, slide_mm: tuple[float, float]) -> str:
    """Return how the trade says it: A on B at 90 degrees.

    >>> placement(("A", "B"), 0, 1, 90, (25.0, 0.0))
    'B on A at 90 degrees, slid 25 mm along x'
    """
    slid = "".join(f", slid {by:g} mm along {axis}" for by, axis in zip(slide_mm, "xy") if by)
    return f"{names[upper]} on {names[lower]} at {turned} degrees{slid}"


def next_placement(
    table: Readings,
    stations: Stations,
    read: np.ndarray,
    solution: SolvedPlates,
    equations: Equations,
    held: Hold | None = None,
) -> NextReading | None:
    """Choose the placement that tells most if it is read at every station where the plates meet.

    `held`: plates that were known already; two of them are no candidate.
    """
    heights, free = int(read.sum()), [table.names.index(name) for name in solution.names]
    seen = np.isfinite(solution.height_um).ravel()
    covariance = solution.covariance.reshape(seen.size, seen.size)[np.ix_(seen, seen)]
    turn, own = np.eye(heights), int(seen.sum())
    columns = np.arange(own)
    if held is not None:
        columns = np.concatenate([columns, held.free + np.arange(held.size.size)])
        turn, covariance = held.turn[:heights, columns], error_covariance(held, solution.depends, covariance)
    slot = np.full(read.shape, -1)
    slot[read] = np.arange(heights)
    steps = np.diff(np.unique(np.round(stations.x_mm, 2)))
    slides = [(0.0, 0.0), *([(float(steps.min()), 0.0)] if steps.size else [])]
    found, sd = [], usual_sd(equations)
    for lower, upper in combinations(range(len(table.names)), 2):
        for slide in slides if {lower, upper} & set(free) else ():
            for turned in (0, 90, 180, 270):
                met = meetings(stations, turned, slide)
                met = met[read[lower, met[:, 0]] & read[upper, met[:, 1]]]
                if len(met) > 3:
                    rows = np.zeros((len(met), heights))
                    each = np.arange(len(met))
                    rows[each, slot[lower, met[:, 0]]] -= 1.0
                    rows[each, slot[upper, met[:, 1]]] -= 1.0
                    found.append(
                        Candidate(
                            placement(table.names, lower, upper, turned, slide),
                            free_of(plane_of(stations)[met[:, 0]]) @ rows @ turn / sd,
                        )
                    )
    return next_reading(covariance, equations.datum[:, columns], found, "um")


def of_plates(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    resolution_um: float | None = None,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what readings of plates say.

    `feel_um`, `place_mm`: of blades, as ``solve_plates`` takes them. `resolution_um`: smallest step of point readings;
    the step that the figures show where it is not given. `known`: plates that are known already.
    """
    used = of_round(table, round)
    heights = len(used.names) * stations_of(used).x_mm.size
    bounds, blades = heights <= MOST_CERTAIN, {"feel_um": feel_um, "place_mm": place_mm, "resolution_um": resolution_um}
    solution = solve_plates(table, reading_sd_um, round=round, bounds=bounds, known=known, **blades)
    mine = [one for one in known if one.name in used.names]
    held, _ = held_plates(mine, used)
    equations, stations, read = plate_equations(solution, used, held)
    solved = solve(equations)
    agree = consistency(equations, solved)
    cuts = plate_cut(solution)
    stop = _stop(solution, stations, np.isfinite(solution.height_um), target_um)
    following = next_placement(used, stations, read, solution, equations, held)
    certain = (
        *certain_words(solution.low_um, solution.high_um, "height", "um"),
        *left_out_words(bool(used.is_interval.any()), heights, "solve_plates"),
    )
    said = (
        solution.sentence,
        band_sentence(solution, False, "plate"),
        *certain,
        *agree.sentences,
        *sentence_of(following),
        stop.sentence,
    )
    return Findings(
        "plates",
        table.source,
        solution.round,
        solution,
        said,
        (
            "plate",
            "flat within, um",
            "scatter alone, um",
            "most to take off, um",
            "at x, mm",
            "at y, mm",
            "least certain ±, um",
        ),
        tuple(_row(solution, cuts, stop, i) for i in range(len(solution.names))),
        agree,
        _hidden(solution, equations, solved, stations, agree),
        following,
        cuts.sentences,
        cautions(solution.sd_from, FILING, PLATES),
        *_detail(solution),
        map=cuts,
        stop=stop,
        form_um=float(solution.flatness_um.max()),
        sd_from=solution.sd_from,
    )


def plate_cut(solution: SolvedPlates) -> FaceCut:
    """Say where metal has to come off each plate; sure means sure for the whole plate, 95 times in 100."""
    where = (solution.names, solution.x_mm, solution.y_mm, solution.height_um)
    if solution.low_whole_um is None or solution.high_whole_um is None:
        return face_cut(*where, solution.sd_um, np.inf)
    half = np.maximum(solution.high_whole_um - solution.height_um, solution.height_um - solution.low_whole_um)
    return face_cut(*where, half, 1.0)


def _stop(solution: SolvedPlates, stations: Stations, read: np.ndarray, target: float | None) -> StopRule:
    """Hold each plate against what scatter alone makes of a flat one."""
    if blind := no_order(solution.flatness_um, solution.against, solution.left_open):
        return blind
    if solution.sd_from == "assumed":
        return not_told(solution.flatness_um, "one placement more, turned")
    floor = []
    for i, seen in enumerate(read):
        noise = solution.draws_um[: _DRAWS * (len(solution.draws_um) // _DRAWS) : len(solution.draws_um) // _DRAWS, i][
            :, seen
        ]
        each = [float(flatness(stations.x_mm[seen], stations.y_mm[seen], one).value_um) for one in noise]
        floor.append(float(np.quantile(each, 0.95)))
    return stop_from(solution.names, solution.flatness_um, np.array(floor), target, "plate", "flat")


def _row(solution: SolvedPlates, cuts: FaceCut, stop: StopRule, i: int) -> tuple[str, ...]:
    high = int(np.nanargmax(cuts.remove_um[i]))
    return (
        solution.names[i],
        three(solution.flatness_um[i]),
        three(stop.floor_um[i]) if np.isfinite(stop.floor_um[i]) else UNKNOWN,
        three(cuts.remove_um[i, high]),
        f"{solution.x_mm[high]:g}",
        f"{solution.y_mm[high]:g}",
        half_words(solution.low_95_um, solution.high_95_um, i),
    )


def _detail(solution: SolvedPlates) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    heading, ends = ["plate", "x, mm", "y, mm", "height, um"], []
    for low, high, heads in (
        (solution.low_95_um, solution.high_95_um, ("95 % from, um", "to, um")),
        (solution.low_um, solution.high_um, ("at least, um", "at most, um")),
    ):
        if low is not None and high is not None:
            heading += heads
            ends += [low, high]
    rows = []
    for i, k in np.argwhere(np.isfinite(solution.height_um)):
        rows.append(
            (
                solution.names[i],
                f"{solution.x_mm[k]:g}",
                f"{solution.y_mm[k]:g}",
                with_sign(solution.height_um[i, k], 4),
                *(end_words(one[i, k]) for one in ends),
            )
        )
    return tuple(heading), tuple(rows)


def _hidden(
    solution: SolvedPlates, equations: Equations, solved: Solved, stations: Stations, agree: Consistency
) -> tuple[str, ...]:
    reach = np.hypot(stations.x_mm, stations.y_mm)
    pattern = 1 - (reach[stations.lower] / max(float(reach.max()), 1e-9)) ** 2
    bowl = shared_error(equations, solved, pattern)
    first = int(np.isfinite(solution.height_um[0]).sum())
    each = float(np.ptp(bowl.value[:first]) / max(np.ptp(pattern), 1e-9))
    steps = np.diff(np.unique(np.round(stations.x_mm, 2)))
    step = float(steps.min()) if steps.size else 0.0
    return (
        f"A bowl of 1 um that every fit has in common (sag, warm hands, thick marking compound) makes each plate "
        f"look bowed by {two(each)} um, {notice(bowl.noticed)}.",
        f"Nothing is known between the stations: they are at least {step:g} mm apart along x.",
        "A lift or a tilt that a whole fit has in common does no harm: it is taken up by the fit's own plane.",
        *blunders(agree),
    )
