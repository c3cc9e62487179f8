"""Whether readings agree with each other, which of them fits least, and what a blunder could hide behind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core.number_format import three, two
from simulate.core.refusal import listed
from simulate.readings.adjustment.equations import NO_ROW, Equations, Solved, solve

RELIABLE = 4.132147965064841  # scipy.stats.norm.ppf(1 - 0.0005) + scipy.stats.norm.ppf(0.8)
"""A blunder this many times its own deviation is found 8 times in 10, with one false alarm in 1000 (4.13)."""
MOST_CLOSURES = 12
LOW, DOUBTFUL = 0.01, 0.05
_NONE = 1e-6


@dataclass(frozen=True)
class Closure:
    """One fit, line or gauge against what all the others say of it.

    Attributes
    ----------
    rms, expected : float
        Root mean square of what it is out by, and what scatter alone makes of that.
    dof : int
        How many of its readings the others foretell.
    probability : float or None
        How often scatter alone does no better; None where nothing says how large scatter is.
    """

    name: str
    rms: float
    expected: float
    dof: int
    probability: float | None
    sentence: str


@dataclass(frozen=True)
class Consistency:
    """What the readings say of each other.

    Attributes
    ----------
    chi_square : float or None
        Sum of squares of residuals over their deviations; None where the spread was itself found from the
        residuals, or assumed, so that the sum says nothing.
    dof : int
        Readings to spare.
    probability : float or None
        How often good readings come out no better.
    row : int or None
        Line of the file of the reading that fits least; None where none can be told from the others.
    standardized : float or None
        Its residual over the residual's own deviation.
    row_probability : float or None
        How often the worst of as many good readings is no better.
    unchecked_rows : tuple of int
        Lines of readings that nothing checks.
    hides_up_to : float or None
        A blunder smaller than this in the least checked of the checked readings goes unnoticed.
    """

    chi_square: float | None
    dof: int
    probability: float | None
    closures: tuple[Closure, ...]
    row: int | None
    standardized: float | None
    row_probability: float | None
    unchecked_rows: tuple[int, ...]
    hides_up_to: float | None
    sentences: tuple[str, ...]


def consistency(equations: Equations, solved: Solved | None = None) -> Consistency:
    """Hold readings against each other.

    `solved`: as from ``equations.solve``, where it is at hand. Returns: what it cannot see: a fault that all readings
    share, and a blunder in a reading that nothing checks.

    Redundancy numbers, standardized residuals and the smallest blunder that is found are the internal
    reliability of geodetic networks (W. Baarda, A testing procedure for use in geodetic networks, 1968; from
    memory). Where the spread comes from the residuals themselves, the standardized residual is held against
    Student's t with that reading left out, and the others scatter by no less than their rounding. The least
    probability among so many readings is corrected for their number (Z. Sidak, from memory). Of intervals a sum that is
    too large tells a fault, for no middle is out by more than half a width but for feel; one that is small tells
    nothing, for readings of one class err alike.

    >>> four = Equations(np.ones((4, 1)), np.array([1.0, 1.5, 0.8, 9.0]), np.ones(4), np.zeros(4, int), ("fit",),
    ...                  np.array([2, 3, 4, 5]), np.eye(1), "given")
    >>> consistency(four).row
    5
    """
    solved = solve(equations) if solved is None else solved
    known = equations.sd_from in ("given", "intervals")
    chi = float(solved.weighted_residual @ solved.weighted_residual) if known and solved.dof else None
    probability = None if chi is None else float(scipy.stats.chi2.sf(chi, solved.dof))
    row, standard, chance, same = _fits_least(equations, solved, known)
    read = equations.row[solved.used] != NO_ROW
    unchecked = tuple(int(r) for r in equations.row[solved.used[read & (solved.redundancy == 0)]])
    checked = read & (solved.redundancy > 0)
    hides = (
        float((RELIABLE * equations.sd[solved.used[checked]] / np.sqrt(solved.redundancy[checked])).max())
        if checked.any() and equations.sd_from != "assumed"
        else None
    )
    closed = _closures(equations, solved, known)
    said = [_overall(chi, solved.dof, probability, equations.sd_from)]
    against = equations.against
    if against is not None:  # middles of intervals may lie together though no body fits the intervals themselves
        said = [against.short, *(said if probability is not None and probability < LOW else [])]
    if standard is not None and abs(standard) > _NONE and (against is None or chance < DOUBTFUL):
        said.append(_least(row, standard, chance, same))
    return Consistency(chi, solved.dof, probability, closed, row, standard, chance, unchecked, hides, tuple(said))


def _fits_least(equations: Equations, solved: Solved, known: bool):
    """Row, standardized residual, probability, and the rows that cannot be told from it."""
    checked = np.flatnonzero((solved.redundancy > 0) & (equations.row[solved.used] != NO_ROW))
    if not checked.size or (not known and solved.dof < 2):
        return None, None, None, ()
    standard = solved.weighted_residual[checked] / np.sqrt(solved.redundancy[checked])
    if known:
        one = 2 * scipy.stats.norm.sf(np.abs(standard))
    else:
        spread = solved.weighted_residual @ solved.weighted_residual / solved.dof
        standard = standard / np.sqrt(spread) if spread > 1e-12 else 0 * standard
        rounded = (np.broadcast_to(equations.rounding, equations.sd.shape) / equations.sd)[solved.used[checked]]
        least = (solved.dof - 1) * rounded**2 / spread if spread > 1e-12 else 0.0  # none scatter less than rounding
        left = np.maximum(np.maximum(solved.dof - standard**2, least), 1e-12)
        one = 2 * scipy.stats.t.sf(np.abs(standard) * np.sqrt((solved.dof - 1) / left), solved.dof - 1)
    worst = int(np.argmax(np.abs(standard).round(6)))
    size = abs(float(standard[worst]))
    same = equations.row[solved.used[checked[np.abs(np.abs(standard) - size) <= 1e-6 * max(size, 1e-12)]]]
    chance = float(-np.expm1(checked.size * np.log1p(-min(float(one[worst]), 1 - 1e-12))))
    row = int(equations.row[solved.used[checked[worst]]])
    return row if same.size == 1 else None, float(standard[worst]), chance, tuple(int(r) for r in same)


def _closures(equations: Equations, solved: Solved, known: bool) -> tuple[Closure, ...]:
    """Each group left out and foretold by the others, the worst first."""
    found = []
    if solved.dof and equations.sd_from != "assumed":
        for number, name in enumerate(equations.groups):
            mine = equations.group[solved.used] == number
            if mine.any() and solved.redundancy[mine].sum() > 1e-6:
                found.append(_closure(name, mine, equations, solved, known))
    found.sort(key=lambda one: (1.0 if one.probability is None else one.probability, -one.rms))
    return tuple(found[:MOST_CLOSURES])


def _closure(name: str, mine: np.ndarray, equations: Equations, solved: Solved, known: bool) -> Closure:
    reach, residual, sd = solved.reach[mine], solved.weighted_residual[mine], equations.sd[solved.used[mine]]
    values, vectors = np.linalg.eigh(np.eye(len(reach)) - reach @ reach.T)
    firm = values > 1e-7
    values, vectors = values[firm], vectors[:, firm]
    part = (vectors.T @ residual) / values
    out, spread = (vectors @ part) * sd, (vectors / values) @ vectors.T
    rms = float(np.sqrt(np.mean(out**2)))
    expected = float(np.sqrt(np.mean(np.diag(spread) * sd**2)))
    dof, square = int(firm.sum()), float(part @ (values * part))
    if known:
        chance: float | None = float(scipy.stats.chi2.sf(square, dof))
    else:  # the rest of the readings says how large scatter is
        rest = solved.dof - dof
        left = float(solved.weighted_residual @ solved.weighted_residual) - square
        chance = (
            float(scipy.stats.f.sf(square / dof / max(left / rest, 1e-300), dof, rest))
            if rest > 0 and left > 1e-18
            else None
        )
    verdict = (
        ""
        if chance is None
        else (": too far" if chance < LOW else ": doubtful" if chance < DOUBTFUL else ": it closes")
    )
    return Closure(
        name,
        rms,
        expected,
        dof,
        chance,
        f"{name}: the rest predicts it to within {three(rms)} {equations.unit} rms, where scatter alone would "
        f"give {three(expected)}{verdict}.",
    )


def _overall(chi: float | None, dof: int, probability: float | None, sd_from: str) -> str:
    spare = f"{dof} redundant reading{'s' * (dof != 1)}"
    freedom = f"{dof} degree{'s' * (dof != 1)} of freedom"
    if not dof:
        return "There are no redundant readings, so a mistake of any size would go unnoticed."
    if sd_from == "assumed":
        return (
            f"The repeatability of a reading is assumed, so the sum of squares of {spare} says nothing yet; give "
            "your own repeatability."
        )
    if chi is None or probability is None:
        return f"The repeatability of a reading was found from {spare}, so the sum of squares checks nothing more."
    start = f"Chi-squared is {three(chi)} on {freedom}"
    if probability < LOW:
        return (
            f"{start}; by chance alone it would be this large {_percent(probability)} times in 100. So a reading is "
            "wrong, or the repeatability is larger than stated."
        )
    if sd_from == "intervals":  # half of good sets of wide intervals come out smaller than chance would have them
        well = "; how well is not known, because readings with the same wide interval have similar errors"
    elif probability > 1 - LOW:
        return f"{start}: readings scatter less than their repeatability allows, so the ranges are wider than they "
        "need be."
    else:
        well = f" (good ones come out no better {_percent(probability)} times in 100)"
    return f"{start}: the readings agree with each other{well}."


def _least(row: int | None, standard: float, chance: float, same: tuple[int, ...]) -> str:
    where = (
        f"row {row}"
        if row is not None
        else f"one of rows {listed([*map(str, same[:6]), *['others'] * (len(same) > 6)])}, which cannot be told from "
        "one another"
    )
    start = f"The reading that fits worst is {where} ({two(abs(standard))} standard deviations out)"
    if chance < LOW:
        return f"{start}: read it again, because by chance alone that happens {_percent(chance)} times in 100."
    if chance < DOUBTFUL:
        return f"{start}: suspect, so check it again."
    return f"{start}, about what the worst of so many readings would be."


def _percent(chance: float) -> str:
    return "less than 0.1" if chance < 0.001 else two(100 * chance)
