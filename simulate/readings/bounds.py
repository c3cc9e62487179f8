"""Guaranteed bounds: where every height must lie if every interval that was read holds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import scipy

if TYPE_CHECKING:
    import highspy

# what the solver may be out by, in micrometres, so that a bound is never too tight
SLACK_UM = 1e-6


@dataclass(frozen=True)
class Bounds:
    """Ends of every height.

    Attributes
    ----------
    low_um, high_um : numpy.ndarray or None
        None where the intervals contradict each other; inf where nothing holds a height.
    conflict_um : float
        The least by which some interval must give way; 0 where all agree.
    conflict_rows : tuple of int
        Places of the readings that stand against each other.
    """

    low_um: np.ndarray | None
    high_um: np.ndarray | None
    conflict_um: float = 0.0
    conflict_rows: tuple[int, ...] = ()


def interval_bounds(matrix: np.ndarray, low_um: np.ndarray, high_um: np.ndarray, wanted: np.ndarray) -> Bounds:
    """Bound ``wanted @ u`` over every u with ``low <= matrix @ u <= high``, by linear programming.

    Parameters
    ----------
    matrix : numpy.ndarray, shape (readings, unknowns)
        Gap of each reading for each unknown, seats included.
    low_um, high_um : numpy.ndarray, shape (readings,)
        Ends of each interval; low may be -inf and high inf.
    wanted : numpy.ndarray, shape (heights, unknowns)

    Returns
    -------
    Bounds
        Arrays of shape (heights,). It cannot see an interval that was read wrongly but contradicts no other.

    Examples
    --------
    >>> b = interval_bounds(np.eye(2), np.zeros(2), np.array([1.0, 2.0]), np.array([[1.0, 1.0]]))
    >>> b.low_um.round(3).tolist(), b.high_um.round(3).tolist()
    ([-0.0], [3.0])
    """
    upper, lower = np.isfinite(high_um), np.isfinite(low_um)
    conflict, at = _conflict(scipy.sparse.csr_array(np.vstack([matrix[upper], -matrix[lower]])),
                             np.concatenate([high_um[upper], -low_um[lower]]))
    if conflict > SLACK_UM:
        place = np.concatenate([np.flatnonzero(upper), np.flatnonzero(lower)])
        return Bounds(None, None, conflict, tuple(sorted({int(place[i]) for i in at})))
    program = _program(scipy.sparse.csc_array(matrix), low_um - SLACK_UM, high_um + SLACK_UM)
    low = np.array([_least(program, target) for target in wanted])
    high = np.array([-_least(program, -target) for target in wanted])
    return Bounds(low - SLACK_UM, high + SLACK_UM)


def _program(matrix: scipy.sparse.csc_array, low: np.ndarray, high: np.ndarray) -> highspy.Highs:
    """One linear program without an aim: each new aim goes on from the corner where the one before ended."""
    import highspy  # a heavy library, loaded where intervals are read

    rows, columns = matrix.shape
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = rows, columns
    program.row_lower_, program.row_upper_ = low, high
    program.col_lower_, program.col_upper_ = np.full(columns, -np.inf), np.full(columns, np.inf)
    program.col_cost_ = np.zeros(columns)
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_, program.a_matrix_.index_, program.a_matrix_.value_ = matrix.indptr, matrix.indices, matrix.data
    solver = highspy.Highs()
    solver.silent()
    solver.passModel(program)
    return solver


def _least(program: highspy.Highs, target: np.ndarray) -> float:
    import highspy

    program.changeColsCost(target.size, np.arange(target.size, dtype=np.int32), target)
    program.run()
    status = program.getModelStatus()
    if status == highspy.HighsModelStatus.kUnboundedOrInfeasible:
        # The limits agree, as was found before, so it can only be open; a run without presolve tells the two apart.
        program.setOptionValue("presolve", "off")
        program.run()
        status = program.getModelStatus()
        program.setOptionValue("presolve", "choose")
    if status == highspy.HighsModelStatus.kOptimal:
        return program.getObjectiveValue()
    if status == highspy.HighsModelStatus.kUnbounded:
        return -np.inf
    raise RuntimeError(f"a linear program of bounds ended as {program.modelStatusToString(status)!r}, which is no answer")


def _conflict(rows: scipy.sparse.csr_array, limits: np.ndarray) -> tuple[float, np.ndarray]:
    """Return the least common give that makes all limits agree, and the limits that force it."""
    give = scipy.sparse.csr_array(-np.ones((rows.shape[0], 1)))
    target = np.zeros(rows.shape[1] + 1)
    target[-1] = 1.0
    ends = [(None, None)] * rows.shape[1] + [(0.0, None)]
    answer = scipy.optimize.linprog(target, A_ub=scipy.sparse.hstack([rows, give]).tocsr(), b_ub=limits, bounds=ends, method="highs-ds")
    if answer.status != 0:
        raise RuntimeError(f"the linear program of the common give ended as {answer.message!r}, which is no answer")
    return float(answer.x[-1]), np.flatnonzero(np.abs(answer.ineqlin.marginals) > 1e-9)
