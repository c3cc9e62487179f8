"""What readings of squares say."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

import numpy as np
import scipy

from simulate.core.number_format import three, two, with_sign
from simulate.readings.adjustment.consistency import Consistency, consistency
from simulate.readings.adjustment.equations import Equations, Solved, free_of, solve, usual_sd
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.adjustment.observations import of_round, seats_of
from simulate.readings.adjustment.shared_errors import blunders, notice, shared_error
from simulate.readings.outcome.findings_record import (
    FILING,
    HANDS,
    Findings,
    cautions,
    certain_words,
    end_words,
    sentence_of,
)
from simulate.readings.outcome.stop_rule import no_order, not_told, stop_from
from simulate.readings.reference.gap_equations import gap_equations
from simulate.readings.reference.hold import Hold
from simulate.readings.reference.known import Known
from simulate.readings.squares.flat_opening import FLAT
from simulate.readings.squares.solve_squares import SolvedSquares, held_squares, solve_squares, square_design
from simulate.readings.squares.square_cut import SquareCut, cut_of
from simulate.readings.table.readings import Readings


def square_equations(solution: SolvedSquares, table: Readings, held: Hold | None = None) -> Equations:
    """Return the equations that a solution of squares came from.

    `table`: the round that was solved. `held`: squares that were known already. Returns: unknowns are the angles, the
    start of each fit, then the errors of squares that were known already.
    """
    fit, first = seats_of(table)
    design = square_design(table, fit, first.size, _on_flat(held, table.names))
    names = tuple(f"{table.names[table.upper[row]]} against {table.names[table.lower[row]]}" for row in first)
    datum = np.eye(len(table.names), design.shape[1])[[table.names.index(name) for name in solution.names]]
    return gap_equations(solution, table, design, datum, (fit, names), held, solution.misfit_um)


def _on_flat(held: Hold | None, names: Sequence[str]) -> bool:
    """Whether the flat is among what is known."""
    return held is not None and any(one.name == FLAT and FLAT not in names for one in held.references)


def next_square(
    table: Readings, equations: Equations, solved: Solved, held: Hold | None, loose: np.ndarray | None = None
) -> NextReading | None:
    """Choose the pair that tells most if it is read at every height.

    `held`: squares that were known already; two of them are no candidate. `loose` (unknowns, k): orthonormal; angles
    that no reading with both ends shows so far.
    """
    squares, sd = len(table.names), usual_sd(equations)
    fits = equations.design.shape[1] - squares if held is None else len(held.shift) - squares
    turn = np.eye(squares + fits) if held is None else held.turn
    told = () if held is None else [one.name for one in held.references]
    lift = np.unique(table.position_mm) / 1000.0
    found = []
    for i, j in combinations(range(squares), 2):
        if table.names[i] in told and table.names[j] in told:
            continue
        rows = np.zeros((lift.size, squares + fits))
        rows[:, i] += lift
        rows[:, j] += lift
        if _on_flat(held, table.names):
            rows[:, -1] = lift
        seen = free_of(np.ones((lift.size, 1))) @ rows @ turn / sd
        found.append(Candidate(f"{table.names[j]} against {table.names[i]}", seen))
    return next_reading(solved.cofactor, equations.datum, found, "um/m", loose)


def of_squares(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    bend_um: float | None = None,
    resolution_um: float | None = None,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what readings of squares say.

    `target_um`: how far out a blade may be up to where it was read. `feel_um`, `bend_um`: as in
    ``solve_squares``. `resolution_um`: smallest step of point readings; the step that the figures show where it is not
    given. `known`: squares that are known already.
    """
    solution = solve_squares(
        table, reading_sd_um, round=round, feel_um=feel_um, bend_um=bend_um, known=known, resolution_um=resolution_um
    )
    used = of_round(table, solution.round)
    held, _ = held_squares(known, used, table.names)
    equations = square_equations(solution, used, held)
    solved = solve(equations)
    agree = consistency(equations, solved)
    cuts = cut_of(solution)
    columns = equations.datum.shape[1]
    loose = None
    if not solution.settled.all():
        unseen = (
            scipy.linalg.null_space(equations.design[solved.used], rcond=1e-9) if solved.used.size else np.eye(columns)
        )
        loose = scipy.linalg.orth(equations.datum.T @ equations.datum @ unseen)
    following = next_square(used, equations, solved, held, loose)
    seen = np.where(solution.settled, cuts.remove_um, np.nan)
    if blind := no_order(seen, solution.against, solution.left_open):
        stop = blind
    elif solution.low_95_urad is None:
        stop = not_told(seen, following.name if following else "")
    else:
        stop = stop_from(solution.names, cuts.remove_um, solution.factor_95 * cuts.sd_um, target_um, "square", "true")
    certain = certain_words(solution.low_urad, solution.high_urad, "angle", "um/m")
    said = (solution.sentence, *certain, *agree.sentences, *sentence_of(following), stop.sentence)
    bounded = solution.low_urad is not None
    return Findings(
        "squares",
        table.source,
        solution.round,
        solution,
        said,
        (
            "square",
            "angle, um/m",
            "95 %, um/m",
            f"over {cuts.height_mm:g} mm, um",
            "take off at",
            *(("at least, um/m", "at most, um/m") if bounded else ()),
        ),
        tuple(_row(solution, cuts, i) for i in range(len(solution.names))),
        agree,
        _hidden(equations, solved, used, agree, _on_flat(held, used.names)),
        following,
        cuts.sentences,
        cautions(solution.sd_from, FILING, HANDS),
        map=cuts,
        stop=stop,
        form_um=float(cuts.remove_um.max()),
        sd_from=solution.sd_from,
    )


def _row(solution: SolvedSquares, cuts: SquareCut, i: int) -> tuple[str, ...]:
    low, high, yes = solution.low_95_urad, solution.high_95_urad, solution.settled[i]
    ends = f"{with_sign(low[i], 4)} to {with_sign(high[i], 4)}" if low is not None and yes else "-"
    row = [
        solution.names[i],
        with_sign(solution.angle_urad[i], 4) if yes else "open",
        ends,
        three(cuts.remove_um[i]),
        "bottom" if cuts.at_foot[i] else "top",
    ]
    if solution.low_urad is not None and solution.high_urad is not None:
        row += [end_words(solution.low_urad[i]), end_words(solution.high_urad[i])]
    return tuple(row)


def _hidden(
    equations: Equations, solved: Solved, table: Readings, agree: Consistency, on_flat: bool
) -> tuple[str, ...]:
    flat = shared_error(equations, solved, table.position_mm / 1000.0)
    each = float(np.abs(flat.value).max())
    heights = np.unique(table.position_mm)
    bent = (
        f"A flat that is bent, so that every pair opens by 1 um/m too much, makes a square look {two(each)} um/m out, "
        f"{notice(flat.noticed)}."
    )
    stood = (
        "The known shape of the flat is used along the line on which the bases stand; for a pair that stood elsewhere "
        "it does not hold."
    )
    return (
        stood if on_flat else bent,
        "The angle is that of the least-squares line through the heights that were read; any bend of the blade shows "
        f"only there ({', '.join(f'{h:g}' for h in heights[:6])}{' ...' if heights.size > 6 else ''} mm).",
        "The back of the blade and twist along its edge are unknown.",
        *blunders(agree),
    )
