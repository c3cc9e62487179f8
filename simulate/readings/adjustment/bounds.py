"""Guaranteed bounds: where every height lies if every interval holds, and what it takes where they cannot all hold."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeGuard

import numpy as np
import scipy

from simulate.core.number_format import three, two
from simulate.readings.adjustment.end_errors import FEELS_UM, PLACE_MM, end_errors
from simulate.readings.table.readings import Readings

if TYPE_CHECKING:
    import highspy

# what the solver may be out by, in micrometres, so that a bound is never too tight
SLACK_UM = 1e-6
_OPEN = 1e-7
_DUAL, _PRIMAL = 1, 4
"""Simplex methods, as HiGHS numbers them."""
ENOUGH = 3.0
"""So many standard deviations out are put down to feel and bends; more is a finding (common practice, no source)."""
_MOST_TRIED = 12


@dataclass(frozen=True)
class Bounds:
    """Ends of every height.

    `low_um`, `high_um`: none where the intervals contradict each other; inf where nothing holds a height.
    `conflict_um`: the least by which some interval must give way; 0 where all agree. `conflict_rows`: places of the
    readings that stand against each other.
    """

    low_um: np.ndarray | None
    high_um: np.ndarray | None
    conflict_um: float = 0.0
    conflict_rows: tuple[int, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Contradiction:
    """Intervals that cannot all be true as they stand.

    Attributes
    ----------
    conflict_um : float
        The least by which some interval must give way.
    rows : tuple of int
        Lines of the file that stand against each other.
    times : float
        So many standard deviations feel (and bends) would have to be out to make all intervals agree; inf where they
        never do.
    alone : tuple of int
        Lines of which each, left out by itself, lets the others agree; looked for where `times` is beyond `ENOUGH`.
    causes, sds : str
        What may make them agree, and one standard deviation of each.
    widened : bool
        True where every end is taken to be out by about the conflict as long as it stands.
    """

    conflict_um: float
    rows: tuple[int, ...]
    times: float
    alone: tuple[int, ...]
    causes: str
    sds: str
    widened: bool = True

    @property
    def explained(self) -> bool:
        """True where feel and bends as stated, or as they usually are, make all intervals agree."""
        return self.times <= ENOUGH

    @property
    def sentence(self) -> str:
        """The contradiction in words, with what to do."""
        how = f"{self.causes} ({self.sds})"
        start = (
            f"The intervals of {rows_listed(self.rows)} contradict each other by {three(self.conflict_um)} um or more"
        )
        if self.explained:
            return (
                f"{start}, which {how} can explain: {two(self.times)} standard deviations are "
                "enough, and are allowed for."
            )
        if np.isfinite(self.times):
            why = f"{how} would have to be {two(self.times)} standard deviations out"
        else:
            why = f"{how} cannot make them agree"
        first = (
            f"Read {rows_listed(self.alone, 'or')} again: without it the others agree."
            if self.alone
            else "Read them again."
        )
        until = " Until then every interval is widened by about that much at each end." if self.widened else ""
        return f"{start} and cannot all be true: {why}. {first}{until}"

    @property
    def short(self) -> str:
        """One sentence for where readings are held against each other."""
        if self.explained:
            return f"The intervals of {rows_listed(self.rows)} agree only after allowing for {self.causes}."
        return f"The readings contradict each other, at {rows_listed(self.rows)}."


def wrong(against: Contradiction | None) -> TypeGuard[Contradiction]:
    """True where intervals contradict each other by more than feel and bends explain: a reading is wrong."""
    return against is not None and not against.explained


def rows_listed(rows: tuple[int, ...], joint: str = "and") -> str:
    """Name lines of the file, eight at most.

    >>> rows_listed((4,)), rows_listed((2, 5, 6)), rows_listed((2, 5), "or")
    ('row 4', 'rows 2, 5 and 6', 'row 2 or 5')
    """
    said = [*map(str, rows[:8]), *([f"{len(rows) - 8} more"] if len(rows) > 8 else [])]
    many = "s" if len(said) > 1 and joint == "and" else ""
    return f"row{many} " + (f" {joint} ".join([", ".join(said[:-1]), said[-1]]) if len(said) > 1 else said[0])


def contradiction(
    found: Bounds,
    line: np.ndarray,
    matrix: np.ndarray,
    ends_um: tuple[np.ndarray, np.ndarray],
    give_um: tuple[np.ndarray, np.ndarray],
    causes: str,
    sds: str,
    also: tuple[np.ndarray, np.ndarray] | None = None,
) -> Contradiction | None:
    """Say what it takes to make intervals agree that contradict each other, or None where they agree.

    `found`: of the same intervals, without any give. `line` (readings,) of int: lines of the file. `matrix` (readings,
    unknowns). `ends_um`, `give_um` (readings,): lower and upper ends, and one standard deviation of each. `also`: what
    else may be out: rows that give it from the unknowns, and one standard deviation of each.
    """
    if found.low_um is not None or not found.conflict_rows:
        return None

    def times(kept: np.ndarray) -> float:
        return _times(matrix[kept], [end[kept] for end in ends_um], [give[kept] for give in give_um], also)

    needed, every = times(np.ones(line.size, bool)), np.arange(line.size)
    alone = (
        () if needed <= ENOUGH else tuple(k for k in found.conflict_rows[:_MOST_TRIED] if times(every != k) <= ENOUGH)
    )
    return Contradiction(
        conflict_um=found.conflict_um,
        rows=tuple(int(line[k]) for k in found.conflict_rows),
        times=needed,
        alone=tuple(int(line[k]) for k in alone),
        causes=causes,
        sds=sds,
    )


def blades_against(
    found: Bounds,
    table: Readings,
    matrix: np.ndarray,
    slope: np.ndarray,
    stated: tuple[float | None, float | None],
    at_known: np.ndarray | float = 0.0,
    of_known: np.ndarray | None = None,
) -> Contradiction | None:
    """Hold a contradiction of gaps between bodies of any shape against the feel and the place of the blades.

    `matrix` (readings, unknowns). `slope` (readings,): how fast the gap changes at each reading, um per mm. `stated`:
    feel in um and place in mm; as they usually are where they are None. `at_known` (readings,): what bodies that are
    known already put on each gap. `of_known` (errors, unknowns): their errors, each of standard deviation 1, which may
    be out as well.
    """
    told = table.is_interval
    known = np.broadcast_to(at_known, told.shape)[told]
    ends = table.low_um[told], table.high_um[told]
    return gaps_against(found, table.row[told], matrix[told], ends, slope[told], stated, known, of_known)


def gaps_against(
    found: Bounds,
    line: np.ndarray,
    matrix: np.ndarray,
    ends_um: tuple[np.ndarray, np.ndarray],
    slope: np.ndarray,
    stated: tuple[float | None, float | None],
    at_known: np.ndarray | float = 0.0,
    of_known: np.ndarray | None = None,
) -> Contradiction | None:
    """Hold a contradiction of gaps read with blades against their feel and place, whatever the gaps are between.

    `line` (readings,) of int: lines of the file. `matrix` (readings, unknowns). `ends_um` (readings,): as they were
    read. `slope`, `stated`, `at_known`, `of_known`: as `blades_against` takes them, of the intervals alone.
    """
    if found.low_um is not None or not found.conflict_rows:
        return None
    feel, place = (usual if one is None else one for one, usual in zip(stated, (FEELS_UM[-1], PLACE_MM), strict=True))
    errors = end_errors(*ends_um, feel, place * slope)
    said = "the usual figure" if stated[0] is None else "as you stated"
    sds = f"one standard deviation {feel:g} um, {said}, and {place:g} mm"
    also = None if of_known is None else (of_known, np.ones(len(of_known)))
    give, low, high = (errors.low_um[0], errors.high_um[0]), ends_um[0] - at_known, ends_um[1] - at_known
    return contradiction(found, line, matrix, (low, high), give, "the feel and the position of the blades", sds, also)


def _times(
    matrix: np.ndarray, ends: list[np.ndarray], give: list[np.ndarray], also: tuple[np.ndarray, np.ndarray] | None
) -> float:
    """Least number of standard deviations that makes all ends agree; inf where no number does."""
    (low, high), (below, above) = ends, give
    upper, lower = np.isfinite(high), np.isfinite(low)
    rows, limits, gives = [matrix[upper], -matrix[lower]], [high[upper], -low[lower]], [above[upper], below[lower]]
    if also is not None:
        rows += [also[0], -also[0]]
        limits += [np.zeros(2 * len(also[0]))]
        gives += [also[1], also[1]]
    limit, given = np.concatenate(limits) + SLACK_UM, np.concatenate(gives)
    least, _ = _least_give(scipy.sparse.csr_array(np.vstack(rows)), limit, given)
    return least


def interval_bounds(matrix: np.ndarray, low_um: np.ndarray, high_um: np.ndarray, wanted: np.ndarray) -> Bounds:
    """Bound ``wanted @ u`` over every u with ``low <= matrix @ u <= high``, by linear programming.

    `matrix` (readings, unknowns): gap of each reading for each unknown, seats included. `low_um`, `high_um`
    (readings,): ends of each interval; low may be -inf and high inf. `wanted` (heights, unknowns). Returns: arrays of
    shape (heights,). It cannot see an interval that was read wrongly but contradicts no other.

    >>> b = interval_bounds(np.eye(2), np.zeros(2), np.array([1.0, 2.0]), np.array([[1.0, 1.0]]))
    >>> b.low_um.round(3).tolist(), b.high_um.round(3).tolist()
    ([-0.0], [3.0])
    """
    upper, lower = np.isfinite(high_um), np.isfinite(low_um)
    limits = np.concatenate([high_um[upper], -low_um[lower]])
    rows = scipy.sparse.csr_array(np.vstack([matrix[upper], -matrix[lower]]))
    conflict, at = _least_give(rows, limits, np.ones(limits.size))
    if conflict > SLACK_UM:
        place = np.concatenate([np.flatnonzero(upper), np.flatnonzero(lower)])
        return Bounds(None, None, conflict, tuple(sorted({int(place[i]) for i in at})))
    columns = scipy.sparse.csc_array(matrix)
    program = _program(columns, low_um - SLACK_UM, high_um + SLACK_UM)
    steps = _program(columns, np.where(lower, 0.0, -np.inf), np.where(upper, 0.0, np.inf), 1.0)
    low = np.array([_least(program, steps, target) for target in wanted])
    high = np.array([-_least(program, steps, -target) for target in wanted])
    return Bounds(low - SLACK_UM, high + SLACK_UM)


def _program(matrix: scipy.sparse.csc_array, low: np.ndarray, high: np.ndarray, most: float = np.inf) -> highspy.Highs:
    """One linear program without an aim: each new aim goes on from the corner where the one before ended."""
    import highspy  # a heavy library, loaded where intervals are read

    rows, columns = matrix.shape
    program = highspy.HighsLp()
    program.num_row_, program.num_col_ = rows, columns
    program.row_lower_, program.row_upper_ = low, high
    program.col_lower_, program.col_upper_ = np.full(columns, -most), np.full(columns, most)
    program.col_cost_ = np.zeros(columns)
    program.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    program.a_matrix_.start_, program.a_matrix_.index_, program.a_matrix_.value_ = (
        matrix.indptr,
        matrix.indices,
        matrix.data,
    )

    class Quiet(highspy.Highs):
        """Without callbacks: to switch them on prints into the outputs of a lesson who made the solver."""

        def __init__(self) -> None:
            super(highspy.Highs, self).__init__()

    solver = Quiet()
    solver.silent()
    solver.passModel(program)
    return solver


def _least(program: highspy.Highs, steps: highspy.Highs, target: np.ndarray) -> float:
    """Give the least value of an aim; -inf where nothing holds it.

    A solver that meets an open aim may end without an answer. `steps` settles it: of the steps that break no interval
    however often they are repeated, one lowers the aim if and only if the aim is open.
    """
    value = _solved(program, target)
    if value is None:
        step = _solved(steps, target, again=True)
        if step is not None and step < -_OPEN * float(np.abs(target).max()):
            return -np.inf
        value = _solved(program, target, again=True)
    if value is None:
        raise RuntimeError("a linear program of bounds ended without a value, though its aim is bounded")
    return value


def _solved(program: highspy.Highs, target: np.ndarray, again: bool = False) -> float | None:
    """Give the least value of an aim, or None; a solver that ends without one forgets where it stood.

    Where the dual simplex method, begun afresh, ends without an answer, the primal one may still find it.
    """
    import highspy

    program.changeColsCost(target.size, np.arange(target.size, dtype=np.int32), target)
    value = None
    for method in (_DUAL, _DUAL, _PRIMAL)[: 1 + 2 * again]:
        program.setOptionValue("simplex_strategy", method)
        program.run()
        if program.getModelStatus() == highspy.HighsModelStatus.kOptimal:
            value = program.getObjectiveValue()
            break
        program.clearSolver()
    program.setOptionValue("simplex_strategy", _DUAL)
    return value


def _least_give(rows: scipy.sparse.csr_array, limits: np.ndarray, each: np.ndarray) -> tuple[float, np.ndarray]:
    """Least number of `each` give that makes all limits agree, inf where none does, and the limits that force it."""
    give = scipy.sparse.csr_array(-each[:, None])
    target = np.zeros(rows.shape[1] + 1)
    target[-1] = 1.0
    ends = [(None, None)] * rows.shape[1] + [(0.0, None)]
    answer = scipy.optimize.linprog(
        target, A_ub=scipy.sparse.hstack([rows, give]).tocsr(), b_ub=limits, bounds=ends, method="highs-ds"
    )
    if answer.status == 2:
        return np.inf, np.zeros(0, int)
    if answer.status != 0:
        raise RuntimeError(f"the linear program of the common give ended without an answer: {answer.message!r}")
    return float(answer.x[-1]), np.flatnonzero(np.abs(answer.ineqlin.marginals) > 1e-9)
