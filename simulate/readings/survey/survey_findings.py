"""What a survey along eight lines says."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import scipy

from simulate.core.number_format import three, with_sign
from simulate.readings.adjustment.consistency import DOUBTFUL, LOW, Closure, Consistency, consistency
from simulate.readings.adjustment.equations import LEAST_SPREAD, Equations, Solved, free_of, solve
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.adjustment.observations import of_round
from simulate.readings.adjustment.repeatability import resolution_of, rounding_sd
from simulate.readings.adjustment.shared_errors import blunders, notice, shared_error
from simulate.readings.outcome.face_cut import face_cut
from simulate.readings.outcome.findings_record import FILING, PLATES, Findings, cautions, sentence_of
from simulate.readings.outcome.stop_rule import StopRule, stop_from
from simulate.readings.survey.union_jack import UnionJack, union_jack
from simulate.readings.survey.union_jack_lines import Line, corner_datum, eight_lines, slope_equations
from simulate.readings.table.readings import Readings
from simulate.surface.flatness import flatness, zones_um

_DRAWS = 400


def survey_equations(solution: UnionJack, table: Readings) -> tuple[Equations, dict[str, Line]]:
    """Return the equations that a survey came from, in seconds of arc.

    `table`: the round that was solved. Returns `equations`: unknowns are the heights in um, then the zero of each line.
    """
    lines, x, y = eight_lines(table)
    design, reading, _, row = slope_equations(lines, x.size)
    owner = np.concatenate([np.full(line.row.size - 1, k) for k, line in enumerate(lines.values())])
    sd = np.full(reading.size, max(solution.reading_sd_arcsec, LEAST_SPREAD))
    return Equations(
        design,
        reading,
        sd,
        owner,
        tuple(line.name for line in lines.values()),
        table.row[row],
        corner_datum(lines, x, y),
        solution.sd_from,
        "arcsec",
        rounding=rounding_sd(solution.sd_from, resolution_of(table.reading_arcsec)),
    ), lines


def next_line(equations: Equations, solved: Solved, sd_arcsec: float) -> NextReading | None:
    """Choose the line that tells most if it is read once more."""
    points = equations.design.shape[1] - len(equations.groups)
    found = []
    for k, name in enumerate(equations.groups):
        rows = equations.design[equations.group == k, :points]
        found.append(Candidate(f"line {name} again", free_of(np.ones((len(rows), 1))) @ rows / max(sd_arcsec, 1e-9)))
    return next_reading(solved.cofactor[:points, :points], equations.datum[:, :points], found, "um")


def of_survey(
    table: Readings, reading_sd_arcsec: float | None = None, round: int | None = None, target_um: float | None = None
) -> Findings:
    """Say what a survey along eight lines says."""
    solution = union_jack(table, reading_sd_arcsec, round)
    used = of_round(table, solution.round)
    equations, lines = survey_equations(solution, used)
    solved = solve(equations)
    agree = _closed(solution, consistency(equations, solved))
    height, sd = solution.least_squares_height_um[None], solution.least_squares_sd_um[None]
    cuts = face_cut(("the plate",), solution.x_mm, solution.y_mm, height, sd, solution.factor_95)
    flat = float(flatness(solution.x_mm, solution.y_mm, height[0]).value_um)
    stop = _stop(solution, flat, target_um)
    following = next_line(equations, solved, solution.reading_sd_arcsec)
    again = ("Enter the mean of the two readings of each step instead.",) if following else ()
    said = (solution.sentence, *agree.sentences, *sentence_of(following), *again, stop.sentence)
    worst = int(np.argmax(sd[0].round(6)))
    rows = (
        ("flat within, by hand", f"{three(solution.flatness_um)} um", "-"),
        ("flat within, all readings at once", f"{three(flat)} um", f"{three(stop.floor_um[0])} um from scatter alone"),
        *(
            (
                f"closure of the centre line along {axis}",
                f"{with_sign(value)} um",
                f"± {three(solution.factor_95 * s)} um",
            )
            for axis, value, s in zip("xy", solution.closure_um, solution.closure_sd_um)
        ),
        (
            f"least certain height, x {solution.x_mm[worst]:g}, y {solution.y_mm[worst]:g} mm",
            f"{with_sign(height[0, worst])} um",
            f"± {three(solution.factor_95 * sd[0, worst])} um",
        ),
    )
    return Findings(
        "union jack",
        table.source,
        solution.round,
        solution,
        said,
        ("what", "value", "± 95 %"),
        rows,
        agree,
        _hidden(solution, equations, solved, lines, agree),
        following,
        cuts.sentences,
        cautions(solution.sd_from, FILING, PLATES),
        ("x, mm", "y, mm", "height, um", "± 95 %, um", "to take off, um"),
        tuple(
            (f"{x:g}", f"{y:g}", with_sign(h, 4), three(solution.factor_95 * s), three(metal))
            for x, y, h, s, metal in zip(solution.x_mm, solution.y_mm, height[0], sd[0], cuts.remove_um[0])
        ),
        map=cuts,
        stop=stop,
        form_um=flat,
        sd_from=solution.sd_from,
    )


def _stop(solution: UnionJack, flat: float, target: float | None) -> StopRule:
    noise = solution.draws_um[:: len(solution.draws_um) // _DRAWS]
    floor = float(np.quantile(zones_um(solution.x_mm, solution.y_mm, noise), 0.95))
    return stop_from(("the plate",), np.array([flat]), np.array([floor]), target, "plate", "flat")


def _closed(solution: UnionJack, agree: Consistency) -> Consistency:
    """Put the two closures that everybody works out by hand before those of the single lines."""
    found = []
    for axis, value, sd in zip("xy", solution.closure_um, solution.closure_sd_um):
        ratio = abs(float(value)) / max(float(sd), 1e-12)
        chance = float(
            2 * (scipy.stats.norm.sf(ratio) if solution.sd_from == "given" else scipy.stats.t.sf(ratio, agree.dof))
        )
        verdict = "too far" if chance < LOW else "doubtful" if chance < DOUBTFUL else "it closes"
        name = f"the centre line along {axis}"
        found.append(
            Closure(
                name,
                abs(float(value)),
                float(sd),
                1,
                chance,
                f"{name} misses the crossing of the diagonals by {with_sign(value)} um, where ± {three(sd)} um is "
                f"expected: {verdict}.",
            )
        )
    return replace(agree, closures=(*found, *agree.closures))


def _hidden(
    solution: UnionJack, equations: Equations, solved: Solved, lines: dict[str, Line], agree: Consistency
) -> tuple[str, ...]:
    drift = np.concatenate(
        [np.linspace(0, 1, line.row.size - 1) if line.row.size > 2 else np.zeros(1) for line in lines.values()]
    )
    moved = shared_error(equations, solved, drift)
    worst = int(np.argmax(np.abs(moved.value).round(6)))
    step = max(float(np.diff(line.along_mm).max()) for line in lines.values())
    return (
        f"A drift of 1 arcsec along every line puts the height at x {solution.x_mm[worst]:g}, y "
        f"{solution.y_mm[worst]:g} mm out by {three(abs(moved.value[worst]))} um, {notice(moved.noticed)}.",
        "An instrument that reads 1 % too much makes every height 1 % too large, and no reading would reveal it.",
        "Everything off the eight lines is unknown, such as a hollow in one of the eight triangles between them. So is "
        f"every wave shorter than a step of {three(step)} mm.",
        *blunders(agree, "arcsec"),
    )
