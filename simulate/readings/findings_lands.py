"""What readings of land gauges say."""

from __future__ import annotations

import numpy as np
import scipy

from simulate.readings.consistency import Consistency, consistency
from simulate.readings.cut import CutMap, row_cut
from simulate.readings.equations import Equations, Solved, solve, usual_sd
from simulate.readings.findings_record import FILING, HANDS, Findings, cautions, certain_words, end_words, sentence_of
from simulate.readings.next_reading import Candidate, NextReading, next_reading
from simulate.readings.gaps import of_round
from simulate.readings.lands import SolvedLands, solve_lands
from simulate.readings.record import Readings
from simulate.readings.shared import blunders, notice, shared_error
from simulate.readings.stopping import StopRule, drawn, stop_from
from simulate.surface.form import straightness

_SAME_MM = 0.002


def land_rows(x_mm: np.ndarray, left: np.ndarray, middle: np.ndarray, right: np.ndarray) -> np.ndarray:
    """Return what each point does to each reading: the middle land over the line of the outer two.

    Parameters
    ----------
    x_mm : numpy.ndarray, shape (points,)
    left, middle, right : numpy.ndarray of int, shape (readings,)
        Places in `x_mm`.

    Returns
    -------
    numpy.ndarray, shape (readings, points)

    Examples
    --------
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

    Parameters
    ----------
    solution : SolvedLands
    table : Readings
        The round that was solved.

    Returns
    -------
    Equations
        Unknowns are the points; the values are the points that were reached, over the line of the ends.
    """
    x, reached = solution.network.x_mm, solution.network.reached
    left, middle, right = (_nearest(x, v) for v in (table.left_mm, table.position_mm, table.right_mm))
    share = (x - x[0]) / (x[-1] - x[0])
    datum = np.eye(x.size)
    datum[:, 0] -= 1 - share
    datum[:, -1] -= share
    return Equations(land_rows(x, left, middle, right), solution.middle_um, solution.row_sd_um, table.lower, table.names,
                     table.row, datum[reached], solution.sd_from)


def next_laying(solution: SolvedLands, table: Readings, equations: Equations, solved: Solved) -> NextReading | None:
    """Choose where to lay which gauge next, end for end too.

    Parameters
    ----------
    solution : SolvedLands
    table : Readings
    equations : Equations
    solved : Solved

    Returns
    -------
    NextReading or None
    """
    x = solution.network.x_mm
    found, seen = [], set()
    pitches = np.stack([table.position_mm - table.left_mm, table.right_mm - table.position_mm], axis=1).round(3)
    for gauge, first, second in {(int(g), *map(float, p)) for g, p in zip(table.lower, pitches)}:
        for one, two in ((first, second), (second, first)):
            for a in range(x.size):
                m, b = _nearest(x, np.array([x[a] + one, x[a] + one + two]))
                if max(abs(x[m] - x[a] - one), abs(x[b] - x[a] - one - two)) < _SAME_MM and (gauge, a, m, b) not in seen:
                    seen.add((gauge, int(a), int(m), int(b)))
                    found.append((gauge, int(a), int(m), int(b)))
    found.sort()
    rows = [Candidate(f"{table.names[g]} on {x[a]:g}, {x[m]:g} and {x[b]:g} mm",
                      land_rows(x, *(np.array([v]) for v in (a, m, b))) / usual_sd(equations))
            for g, a, m, b in found]
    return next_reading(solved.cofactor, equations.datum, rows, "um", scipy.linalg.null_space(equations.design, rcond=1e-9))


def of_lands(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
             target_um: float | None = None) -> Findings:
    """Say what readings of land gauges say.

    Parameters
    ----------
    table : Readings
    reading_sd_um : float, optional
    round : int, optional
    target_um : float, optional

    Returns
    -------
    Findings

    Raises
    ------
    ValueError
        Where no point is tied to both ends.
    """
    solution = solve_lands(table, reading_sd_um, round=round)
    used = of_round(table, solution.round)
    equations = land_equations(solution, used)
    solved = solve(equations)
    agree = consistency(equations, solved)
    net = solution.network
    x, height, sd = (part[net.reached] for part in (net.x_mm, net.height_um, net.sd_um))
    cuts = row_cut(("the bar",), x, height[None], sd[None], solution.factor_95)
    form = float(straightness(x, height).value_um)
    stop = _stop(x, equations, solved, form, target_um)
    following = next_laying(solution, used, equations, solved)
    certain = certain_words(solution.low_um, solution.high_um, "height", "um")
    said = (solution.sentence, *certain, *agree.sentences, *sentence_of(following), stop.sentence)
    ends = [[end_words(v) for v in part[net.reached]] for part in (solution.low_um, solution.high_um) if part is not None]
    rows = tuple((f"{at:g}", f"{h:+.4g}", f"{solution.factor_95 * s:.3g}", f"{metal:.3g}", *certain)
                 for at, h, s, metal, certain in zip(x, height, sd, cuts.remove_um[0], zip(*ends) if ends else [()] * x.size))
    return Findings(
        "lands", table.source, solution.round, solution, said,
        ("land at, mm", "height over the ends, um", "± 95 %, um", "to take off, um",
         *(("at least, um", "at most, um") if ends else ())), rows, agree,
        _hidden(solution, equations, solved, agree), following, _cut_words(cuts), cautions(solution.sd_from, FILING, HANDS),
        map=cuts, stop=stop, form_um=form, sd_from=solution.sd_from)


def _stop(x: np.ndarray, equations: Equations, solved: Solved, form: float, target: float | None) -> StopRule:
    noise = drawn(equations.datum @ solved.cofactor @ equations.datum.T)
    floor = float(np.quantile(np.asarray(straightness(x, noise).value_um), 0.95))
    return stop_from(("the bar",), np.array([form]), np.array([floor]), target)


def _cut_words(cuts: CutMap) -> tuple[str, ...]:
    """Name the lands to file, the proudest first."""
    metal, sure = cuts.remove_um[0], cuts.sure[0]
    if not sure.any():
        return ("Leave the lands; none stands proud by more than the readings may be wrong.",)
    order = [k for k in np.argsort(-metal, kind="stable") if sure[k]]
    return ("File the lands at " + ", ".join(f"{cuts.x_mm[k]:g} mm by {metal[k]:.3g} um" for k in order) + ".",)


def _hidden(solution: SolvedLands, equations: Equations, solved: Solved, agree: Consistency) -> tuple[str, ...]:
    x = solution.network.x_mm[solution.network.reached]
    zero = shared_error(equations, solved, np.ones(equations.reading.size))
    worst = int(np.argmax(np.abs(zero.value)))
    said = [f"A zero that all gauges have wrong by 1 um in common puts the land at {x[worst]:g} mm out by "
            f"{abs(zero.value[worst]):.3g} um, {notice(zero.noticed)}.",
            "Everything stands over the two ends: whether the bar is straight beyond them is not known, nor anything "
            "between the lands."]
    if not solution.network.reached.all():
        said.append(solution.network.words)
    return (*said, *blunders(agree))


def _nearest(x: np.ndarray, at: np.ndarray) -> np.ndarray:
    return np.abs(x[:, None] - at).argmin(axis=0)
