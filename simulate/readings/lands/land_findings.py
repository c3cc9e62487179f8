"""What readings of land gauges say."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.core.number_format import three, with_sign
from simulate.readings.adjustment.consistency import Consistency, consistency
from simulate.readings.adjustment.equations import Equations, Solved, solve, usual_sd
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.adjustment.observations import of_round
from simulate.readings.adjustment.repeatability import rounding_sd
from simulate.readings.adjustment.shared_errors import blunders, notice, shared_error
from simulate.readings.bars.bar_cut import CutMap, row_cut
from simulate.readings.lands.solve_lands import SolvedLands, solve_lands
from simulate.readings.outcome.findings_record import (
    FILING,
    HANDS,
    Findings,
    cautions,
    certain_words,
    end_words,
    sentence_of,
)
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from
from simulate.readings.table.readings import Readings
from simulate.surface.straightness import straightness

_SAME_MM = 0.002


def land_rows(x_mm: np.ndarray, left: np.ndarray, middle: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Return what each point does to each reading: the middle land over the line of the outer two.

    `x_mm` (points,). `left`, `middle`, `right` (readings,) of int: places in `x_mm`. Returns (readings, points).

    >>> land_rows(np.array([0.0, 100.0, 400.0]), np.array([0]), np.array([1]), np.array([2])).tolist()
    [[-0.75, 1.0, -0.25]]
    """
    part = (x_mm[middle] - x_mm[left]) / (x_mm[right] - x_mm[left])
    rows, each = np.zeros((left.size, x_mm.size)), np.arange(left.size)
    rows[each, middle] = 1.0
    rows[each, left] = part - 1.0
    rows[each, right] = -part
    return rows


def land_equations(solution: SolvedLands, table: Readings) -> Equations:
    """Return the equations that a solution of lands came from.

    `table`: the round that was solved. Returns: unknowns are the points; the values are the points that were reached,
    over the line of the ends.
    """
    x, reached = solution.network.x_mm, solution.network.reached
    left, middle, right = (_nearest(x, v) for v in (table.left_mm, table.position_mm, table.right_mm))
    share = (x - x[0]) / (x[-1] - x[0])
    datum = np.eye(x.size)
    datum[:, 0] -= 1 - share
    datum[:, -1] -= share
    return Equations(
        land_rows(x, left, middle, right),
        solution.middle_um,
        solution.row_sd_um,
        table.lower,
        table.names,
        table.row,
        datum[reached],
        solution.sd_from,
        against=solution.against,
        rounding=rounding_sd(solution.sd_from, solution.resolution),
    )


def next_laying(solution: SolvedLands, table: Readings, equations: Equations, solved: Solved) -> NextReading | None:
    """Choose where to lay which gauge next, end for end too."""
    x = solution.network.x_mm
    found, seen = [], set()
    pitches = np.stack([table.position_mm - table.left_mm, table.right_mm - table.position_mm], axis=1).round(3)
    for gauge, first, second in {(int(g), *map(float, p)) for g, p in zip(table.lower, pitches)}:
        for one, two in ((first, second), (second, first)):
            for a in range(x.size):
                m, b = _nearest(x, np.array([x[a] + one, x[a] + one + two]))
                if (
                    max(abs(x[m] - x[a] - one), abs(x[b] - x[a] - one - two)) < _SAME_MM
                    and (gauge, a, m, b) not in seen
                ):
                    seen.add((gauge, int(a), int(m), int(b)))
                    found.append((gauge, int(a), int(m), int(b)))
    found.sort()
    rows = [
        Candidate(
            f"{table.names[g]} on {x[a]:g}, {x[m]:g} and {x[b]:g} mm",
            land_rows(x, *(np.array([v]) for v in (a, m, b))) / usual_sd(equations),
        )
        for g, a, m, b in found
    ]
    return next_reading(
        solved.cofactor,
        equations.datum,
        rows,
        "um",
        scipy.linalg.null_space(equations.design[solved.used], rcond=1e-9) if solved.used.size else np.eye(x.size),
    )


def of_lands(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    resolution_um: float | None = None,
) -> Findings:
    """Say what readings of land gauges say.

    `feel_um`: as in ``solve_lands``. `resolution_um`: smallest step of point readings; the step that the figures show
    where it is not given.
    """
    solution = solve_lands(table, reading_sd_um, round=round, feel_um=feel_um, resolution_um=resolution_um)
    used = of_round(table, solution.round)
    equations = land_equations(solution, used)
    solved = solve(equations)
    agree = consistency(equations, solved)
    net = solution.network
    x, height = net.x_mm[net.reached], net.height_um[net.reached]
    cuts = row_cut(("the bar",), x, height[None], _sd_for_cut(solution)[None], solution.factor_95)
    form = float(straightness(x, height).value_um)
    following = next_laying(solution, used, equations, solved)
    if blind := no_order(np.array([form]), solution.against, solution.left_open):
        stop = blind
    elif solution.low_95_um is None:
        stop = not_told(np.array([form]), following.name if following else "")
    else:
        stop = _stop(x, solution.draws_um[:, net.reached], form, target_um)
    certain = certain_words(solution.low_um, solution.high_um, "height", "um")
    said = (solution.sentence, *certain, *agree.sentences, *sentence_of(following), stop.sentence)
    bounded = solution.low_um is not None
    shown = net.reached | np.isin(net.x_mm, solution.open_mm)
    metal = np.full(net.x_mm.size, np.nan)
    metal[net.reached] = cuts.remove_um[0]
    return Findings(
        "lands",
        table.source,
        solution.round,
        solution,
        said,
        (
            "land at, mm",
            "height above the ends, um",
            "95 % by itself, um",
            "to take off, um",
            *(("at least, um", "at most, um") if bounded else ()),
        ),
        tuple(_row(solution, k, metal[k]) for k in np.flatnonzero(shown)),
        agree,
        _hidden(solution, equations, solved, agree),
        following,
        (*_cut_words(cuts, solution), *_certain_cuts(solution)),
        cautions(solution.sd_from, FILING, HANDS),
        map=cuts,
        stop=stop,
        form_um=form,
        sd_from=solution.sd_from,
    )


def _row(solution: SolvedLands, k: int, metal: float) -> tuple[str, ...]:
    net, low, high = solution.network, solution.low_95_um, solution.high_95_um
    yes = bool(net.reached[k])
    row = [
        f"{net.x_mm[k]:g}",
        with_sign(net.height_um[k], 4) if yes else "open",
        f"{with_sign(low[k])} to {with_sign(high[k])}" if yes and low is not None else "-",
        three(metal) if yes else "-",
    ]
    if solution.low_um is not None and solution.high_um is not None:
        row += [end_words(solution.low_um[k]), end_words(solution.high_um[k])]
    return tuple(row)


def _sd_for_cut(solution: SolvedLands) -> np.ndarray:
    """Deviation whose 95 % reaches as far as the farther end of the range; beyond everything where there is none."""
    net = solution.network
    if solution.low_95_um is None or solution.high_95_um is None:
        return np.where(net.sd_um[net.reached] > 0, 1e12, 0.0)
    reach = np.maximum(net.height_um - solution.low_95_um, solution.high_95_um - net.height_um)
    return reach[net.reached] / solution.factor_95


def _certain_cuts(solution: SolvedLands) -> tuple[str, ...]:
    """Say what the bounds alone make certain where a point is open."""
    if solution.low_um is None or solution.high_um is None:
        return ()
    at = np.searchsorted(solution.network.x_mm, solution.open_mm)
    proud = [
        f"{solution.network.x_mm[k]:g} mm by {three(solution.low_um[k])} um or more"
        for k in at
        if solution.low_um[k] > 0
    ]
    hollow = [
        f"{solution.network.x_mm[k]:g} mm by {three(-solution.high_um[k])} um or more"
        for k in at
        if solution.high_um[k] < 0
    ]
    said = (
        f"Certain: proud of the line through the ends at {', '.join(proud)}; file there." if proud else "",
        f"Certain: hollow, below the line through the ends, at {', '.join(hollow)}; file the ends." if hollow else "",
    )
    return tuple(part for part in said if part)


def _stop(x: np.ndarray, errors: np.ndarray, form: float, target: float | None) -> StopRule:
    floor = float(np.quantile(np.asarray(straightness(x, errors).value_um), 0.95))
    return stop_from(("the bar",), np.array([form]), np.array([floor]), target)


def _cut_words(cuts: CutMap, solution: SolvedLands) -> tuple[str, ...]:
    """Name the lands to file, the proudest first."""
    metal, sure = cuts.remove_um[0], cuts.sure[0]
    if solution.low_95_um is None:
        return ("File no land yet; the repeatability of a reading is not known.",)
    if not sure.any() and solution.open_mm:
        return ()
    if not sure.any():
        return ("No land needs filing; no high spot exceeds the uncertainty of the readings.",)
    order = [k for k in np.argsort(-metal, kind="stable") if sure[k]]
    return ("File the lands at " + ", ".join(f"{cuts.x_mm[k]:g} mm by {three(metal[k])} um" for k in order) + ".",)


def _hidden(solution: SolvedLands, equations: Equations, solved: Solved, agree: Consistency) -> tuple[str, ...]:
    x = solution.network.x_mm[solution.network.reached]
    zero = shared_error(equations, solved, np.ones(equations.reading.size))
    worst = int(np.argmax(np.abs(zero.value)))
    said = [
        f"A zero error of 1 um that all gauges share puts the land at {x[worst]:g} mm out by "
        f"{three(abs(zero.value[worst]))} um, {notice(zero.noticed)}.",
        "All heights are counted from the two ends: whether the bar is straight beyond them is not known, nor anything "
        "between the lands.",
    ]
    if not solution.network.reached.all():
        said.append(solution.network.words)
    return (*said, *blunders(agree))


def _nearest(x: np.ndarray, at: np.ndarray) -> np.ndarray:
    return np.abs(x[:, None] - at).argmin(axis=0)
