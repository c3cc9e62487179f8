"""What readings of squares say."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import scipy

from simulate.readings.consistency import consistency
from simulate.readings.cut_squares import SquareCut, cut_of
from simulate.readings.equations import Equations, Solved, free_of, solve, usual_sd
from simulate.readings.findings_record import FILING, HANDS, Findings, cautions, certain_words, end_words, sentence_of
from simulate.readings.next_reading import Candidate, NextReading, next_reading
from simulate.readings.gaps import of_round, seats_of, spreads
from simulate.readings.record import Readings
from simulate.readings.shared import blunders, notice, shared_error
from simulate.readings.squares import SolvedSquares, solve_squares, square_design
from simulate.readings.stopping import not_told, stop_from


def square_equations(solution: SolvedSquares, table: Readings) -> Equations:
    """Return the equations that a solution of squares came from.

    Parameters
    ----------
    solution : SolvedSquares
    table : Readings
        The round that was solved.

    Returns
    -------
    Equations
        Unknowns are the angles, then the start of each fit.
    """
    fit, first = seats_of(table)
    design = square_design(table, fit, first.size)
    reading, sd = spreads(table, solution.reading_sd_um)
    sd = np.where(table.is_interval, np.hypot(sd, solution.misfit_um), sd)
    names = tuple(f"{table.names[table.upper[row]]} against {table.names[table.lower[row]]}" for row in first)
    return Equations(design, reading, sd, fit, names, table.row, np.eye(len(table.names), design.shape[1]),
                     solution.sd_from)


def next_square(table: Readings, solved: Solved, sd_um: float, loose: np.ndarray | None = None) -> NextReading | None:
    """Choose the pair that tells most if it is read at every height.

    Parameters
    ----------
    table : Readings
    solved : Solved
    sd_um : float
        Of one further reading.
    loose : numpy.ndarray, shape (squares, k), optional
        Orthonormal; angles that no reading with both ends shows so far.

    Returns
    -------
    NextReading or None
    """
    squares = len(table.names)
    lift = np.unique(table.position_mm) / 1000.0
    found = []
    for i, j in combinations(range(squares), 2):
        rows = np.zeros((lift.size, squares))
        rows[:, i] += lift
        rows[:, j] += lift
        found.append(Candidate(f"{table.names[j]} against {table.names[i]}",
                               free_of(np.ones((lift.size, 1))) @ rows / sd_um))
    return next_reading(solved.cofactor[:squares, :squares], np.eye(squares), found, "urad", loose)


def of_squares(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
               target_um: float | None = None, *, feel_um: float | None = None, bend_um: float | None = None) -> Findings:
    """Say what readings of squares say.

    Parameters
    ----------
    table : Readings
    reading_sd_um : float, optional
    round : int, optional
    target_um : float, optional
        How far out a blade may be over the height that was read.
    feel_um, bend_um : float, optional
        As in ``solve_squares``.

    Returns
    -------
    Findings

    Raises
    ------
    ValueError
        Where the squares cannot be settled.
    """
    solution = solve_squares(table, reading_sd_um, round=round, feel_um=feel_um, bend_um=bend_um)
    used = of_round(table, solution.round)
    equations = square_equations(solution, used)
    solved = solve(equations)
    agree = consistency(equations, solved)
    cuts = cut_of(solution, float(np.ptp(used.position_mm)))
    squares = len(solution.names)
    loose = (None if solution.settled.all() else np.eye(squares) if not solved.used.size else
             scipy.linalg.orth(scipy.linalg.null_space(equations.design[solved.used], rcond=1e-9)[:squares]))
    following = next_square(used, solved, usual_sd(equations), loose)
    open_ = tuple(name for name, yes in zip(solution.names, solution.settled) if not yes)
    if open_ or solution.low_95_urad is None:
        stop = not_told(np.where(solution.settled, cuts.remove_um, np.nan), following.name if following else "", open_)
    else:
        stop = stop_from(solution.names, cuts.remove_um, solution.factor_95 * cuts.sd_um, target_um, "square", "true")
    certain = certain_words(solution.low_urad, solution.high_urad, "angle", "urad")
    said = (solution.sentence, *certain, *agree.sentences, *sentence_of(following), stop.sentence)
    bounded = solution.low_urad is not None
    return Findings(
        "squares", table.source, solution.round, solution, said,
        ("square", "angle, urad", "95 %, urad", f"over {cuts.height_mm:g} mm, um", "take off at", *(
            ("at least, urad", "at most, urad") if bounded else ())),
        tuple(_row(solution, cuts, i) for i in range(len(solution.names))), agree,
        _hidden(equations, solved, used, agree), following, cuts.sentences, cautions(solution.sd_from, FILING, HANDS),
        map=cuts, stop=stop, form_um=float(cuts.remove_um.max()), sd_from=solution.sd_from)


def _row(solution: SolvedSquares, cuts: SquareCut, i: int) -> tuple[str, ...]:
    low, high, yes = solution.low_95_urad, solution.high_95_urad, solution.settled[i]
    ends = f"{low[i]:+.4g} to {high[i]:+.4g}" if low is not None and yes else "-"
    row = [solution.names[i], f"{solution.angle_urad[i]:+.4g}" if yes else "open", ends, f"{cuts.remove_um[i]:.3g}",
           "foot" if cuts.at_foot[i] else "top"]
    if solution.low_urad is not None and solution.high_urad is not None:
        row += [end_words(solution.low_urad[i]), end_words(solution.high_urad[i])]
    return tuple(row)


def _hidden(equations: Equations, solved: Solved, table: Readings, agree) -> tuple[str, ...]:
    flat = shared_error(equations, solved, table.position_mm / 1000.0)
    each = float(np.abs(flat.value).max())
    heights = np.unique(table.position_mm)
    return (f"A flat that is bent, so that every pair opens by 1 urad too much, makes a square look {each:.2g} urad out, "
            f"{notice(flat.noticed)}.",
            "The angle is that of the least-squares line through the heights that were read; a bent blade beside it shows only there "
            f"({', '.join(f'{h:g}' for h in heights[:6])}{' ...' if heights.size > 6 else ''} mm).",
            "Nothing is known of the back of the blade, nor of twist along its edge.",
            *blunders(agree))
