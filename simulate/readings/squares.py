"""The angle of each square, from squares stood blade to blade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core.refusal import Refusal
from simulate.readings.adjust import Adjustment, adjust
from simulate.readings.gaps import gaps_and_widths, given_sd, needs, of_round, seats_of
from simulate.readings.record import Readings
from simulate.readings.repeatability import resolution_of
from simulate.readings.size import refuse_too_many
from simulate.readings.square_bends import bent_squares
from simulate.readings.whole_band import spread_draws, whole_band
from simulate.surface import checks


@dataclass(frozen=True)
class SolvedSquares:
    """How far each square is out, and how sure that is.

    Attributes
    ----------
    names : tuple of str
    angle_urad : numpy.ndarray, shape (squares,)
        Positive leans away from the other blade; a microradian is a micrometre in a metre.
    sd_urad : numpy.ndarray, shape (squares,)
    covariance : numpy.ndarray, shape (squares, squares)
        In microradians squared.
    residual_um : numpy.ndarray, shape (readings,)
    reading_sd_um : float
    low_urad, high_urad : numpy.ndarray or None
        What the angle cannot be below or above, where readings are intervals.
    sentence : str
    factor_95 : float
        Angle plus or minus this many sd holds the truth 95 times in 100.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"resolution"`` (the readings agree better than they are written), ``"intervals"``
        or ``"assumed"``.
    round : int
        The round that was solved.
    freedom : int
        Readings more than needed.
    read_mm : numpy.ndarray, shape (squares, 2), or None
        Lowest and highest place at which each blade was read.
    low_95_urad, high_95_urad : numpy.ndarray, shape (squares,), or None
        Each angle by itself lies between them, 95 %; None where the spread of a reading is only assumed, nan where an
        angle is not settled.
    whole_low_95_urad, whole_high_95_urad : numpy.ndarray, shape (squares,), or None
        Ranges that hold all settled angles at once, 95 %.
    settled : numpy.ndarray of bool, shape (squares,), or None
        False where only readings without an upper end speak of an angle: the angle is nan then, its bounds hold.
    height_mm, bend_um : numpy.ndarray, or None
        Where intervals were read: every height, and how far each blade stands beyond its own line there.
    misfit_um : float
        Standard deviation that feel and bends put on one gap beside the width of its interval.
    conflict_um : float
        The least by which intervals must give way if all blades were straight and felt exactly; 0 where they agree.
    conflict_rows : tuple of int
        Lines of the file that stand against each other then.
    conflict_bent : bool
        True where bent blades make them agree.
    """

    names: tuple[str, ...]
    angle_urad: np.ndarray
    sd_urad: np.ndarray
    covariance: np.ndarray
    residual_um: np.ndarray
    reading_sd_um: float
    low_urad: np.ndarray | None
    high_urad: np.ndarray | None
    sentence: str
    factor_95: float = 1.96
    sd_from: str = "given"
    round: int = 1
    freedom: int = 0
    read_mm: np.ndarray | None = None
    low_95_urad: np.ndarray | None = None
    high_95_urad: np.ndarray | None = None
    whole_low_95_urad: np.ndarray | None = None
    whole_high_95_urad: np.ndarray | None = None
    settled: np.ndarray | None = None
    height_mm: np.ndarray | None = None
    bend_um: np.ndarray | None = None
    misfit_um: float = 0.0
    conflict_um: float = 0.0
    conflict_rows: tuple[int, ...] = ()
    conflict_bent: bool = False


def solve_squares(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
                  bounds: bool = True, *, feel_um: float | None = None, bend_um: float | None = None) -> SolvedSquares:
    """Find the angle of each square from gaps between squares in pairs, as they were read in one round.

    Squares stand blade to blade on a flat and touch at the foot or at the top. The gap changes with height by
    the sum of the two angles; where it starts is solved for in each fit. The angle of a blade that is bent is that of
    the least-squares line through the heights that were read.

    Parameters
    ----------
    table : Readings
        What `read_readings` gives for ``lower, upper, height_mm, gap_um``.
    reading_sd_um : float, optional
        Standard deviation of one gap. Without it, it is found from the residuals where readings are more than
        needed; otherwise it is taken as 1 um and `sentence` says so.
    round : int, optional
        Which round; the last of the file where it is not said, for blades are filed between rounds.
    bounds : bool
        Whether to work out guaranteed bounds from intervals. They hold however the blades are bent.
    feel_um, bend_um : float, optional
        For intervals: one standard deviation of the gap at which a feeler is felt to go, and root mean square bend of
        a blade over the heights read. Without them both are found under a stated prior (``square_bends``); a bend of 0
        takes every blade for straight.

    Returns
    -------
    SolvedSquares
        What it cannot see: where the gaps are numbers, a bend of a blade counts as scatter of the readings; a flat that is not flat is put down to the squares.

    Raises
    ------
    ValueError
        Where the pairs that were read could not settle every square, whatever the gaps.

    Notes
    -----
    Three squares: a = (ab + ac - bc) / 2, so that equal independent errors of the three sums, each of standard
    deviation s, give each square s * sqrt(3) / 2 (the same algebra as three bars).

    Examples
    --------
    >>> from simulate.readings.table import read_readings
    >>> text = b'''lower,upper,height_mm,gap_um
    ... A,B,0,0
    ... A,B,100,30
    ... A,C,0,0
    ... A,C,100,20
    ... B,C,0,10
    ... B,C,100,0
    ... '''
    >>> solve_squares(read_readings(text)).angle_urad.round(6).tolist()
    [300.0, 0.0, -100.0]
    """
    needs(table, "squares")
    table = of_round(table, round)
    reading_sd_um = given_sd(reading_sd_um, "reading_sd_um")
    feel_um, bend_um = (None if v is None else checks.number(v, name, 0, 1000) for v, name in
                        ((feel_um, "feel_um"), (bend_um, "bend_um")))
    fit, first = seats_of(table)
    design = square_design(table, fit, first.size)
    datum = np.eye(len(table.names), design.shape[1])
    gap, width = gaps_and_widths(table)
    step = resolution_of(table.gap_um[~table.is_interval])
    if not table.is_interval.any():
        found = adjust(design, gap, datum, reading_sd_um, None, step)
        if len(found.hidden):
            raise _refusal(table, found.hidden, fit)
        return _by_points(table, found)
    could = adjust(design, np.where(np.isfinite(gap), gap, 0.0), datum, 1.0)
    if len(could.hidden):
        raise _refusal(table, could.hidden, fit)
    if not np.isfinite(gap).any():
        return _by_intervals(table, design, could, np.zeros(len(table.names), bool), bounds, feel_um, bend_um)
    found = adjust(design, gap, datum, reading_sd_um, width, step)
    settled = np.abs(found.hidden).max(axis=0, initial=0.0) < 1e-6
    return _by_intervals(table, design, found, settled, bounds, feel_um, bend_um)


def _by_points(table: Readings, found: Adjustment) -> SolvedSquares:
    ends = _ranges(found) if found.sd_from != "assumed" else (None,) * 4
    return SolvedSquares(
        table.names, found.value.round(9) + 0.0, found.sd, found.covariance, found.residual, found.reading_sd, None, None,
        _sentence(table, found.value, found.sd, found), found.factor_95, found.sd_from, int(table.round[0]), found.freedom,
        _span(table), *ends, settled=np.ones(len(table.names), bool))


def _ranges(found: Adjustment) -> tuple[np.ndarray, ...]:
    """Ends of the range of each angle by itself, then of all at once."""
    low, high = (found.value + way * found.factor_95 * found.sd for way in (-1, 1))
    dof = found.freedom if found.sd_from in ("residuals", "resolution") else 0
    return low, high, *whole_band(found.value + spread_draws(found.covariance, dof), found.value, low, high)


def _by_intervals(table: Readings, design: np.ndarray, found: Adjustment, settled: np.ndarray, bounds: bool,
                  feel_um: float | None, bend_um: float | None) -> SolvedSquares:
    bent = bent_squares(table, design, found.reading_sd, feel_um, bend_um, settled, bounds)
    left, n = bent.posterior, len(table.names)
    value, sd, covariance = left.mean[:n], left.sd[:n], left.covariance[:n, :n]
    low, high, factor = left.low_95[:n], left.high_95[:n], float(scipy.stats.norm.ppf(0.975))
    ends = (low, high, *whole_band(left.draws[:, :n], np.where(settled, value, np.nan), low, high))
    if found.sd_from in ("residuals", "resolution") and settled.all() and bent.straight.low_um is not None:
        # where points check each other, their own scatter tells the spread: Student's t, as without intervals
        value, sd, covariance, factor = found.value, found.sd, found.covariance, found.factor_95
        ends = _ranges(found)
    value, sd = np.where(settled, value, np.nan), np.where(settled, sd, np.inf)
    ends = (None,) * 4 if found.sd_from == "assumed" else tuple(np.where(settled, part, np.nan) for part in ends)
    gap, _ = gaps_and_widths(table)
    short = np.where(np.isfinite(table.low_um), np.maximum(table.low_um - bent.fitted_um, 0.0), 0.0)
    misfit = float(np.hypot(bent.feel_um, np.sqrt(2 * np.mean(bent.bend_um**2))))
    rows = tuple(int(table.row[table.is_interval][i]) for i in bent.straight.conflict_rows)
    conflict = bent.straight.conflict_um if bent.straight.low_um is None else 0.0
    explained = bent.certain.low_um is not None
    said = " ".join([_sentence(table, value, sd, found), *_conflict_words(rows, conflict, explained)])
    return SolvedSquares(
        table.names, value + 0.0, sd, covariance, np.where(np.isfinite(gap), gap - bent.fitted_um, short),
        found.reading_sd, bent.certain.low_um, bent.certain.high_um, said, factor, found.sd_from,
        int(table.round[0]), found.freedom, _span(table), *ends, settled=settled, height_mm=bent.height_mm, bend_um=bent.bend_um,
        misfit_um=misfit, conflict_um=conflict, conflict_rows=rows, conflict_bent=bool(conflict) and explained)


def _conflict_words(rows: tuple[int, ...], conflict: float, explained: bool) -> list[str]:
    if not conflict:
        return []
    why = ("bent blades or the feel of the feelers make them agree, and that is counted in" if explained else
           "neither do bent ones, so read one of them again")
    return [f"No straight blades agree with all intervals: those in rows {', '.join(map(str, rows))} contradict each other by "
            f"{conflict:.3g} µm or more; {why}."]


def _span(table: Readings) -> np.ndarray:
    read = [table.position_mm[(table.lower == k) | (table.upper == k)] for k in range(len(table.names))]
    return np.array([[places.min(), places.max()] for places in read])


def square_design(table: Readings, fit: np.ndarray, fits: int) -> np.ndarray:
    """Return what each angle and each fit's start does to each gap: a urad over a mm is 0.001 um.

    Parameters
    ----------
    table : Readings
    fit : numpy.ndarray of int, shape (readings,)
    fits : int

    Returns
    -------
    numpy.ndarray, shape (readings, squares + fits)
    """
    refuse_too_many(table, len(table.names) + fits, f"{len(table.names)} squares in {fits} fits")
    design = np.zeros((len(table), len(table.names) + fits))
    each = np.arange(len(table))
    lift = table.position_mm / 1000.0
    design[each, table.lower] += lift
    design[each, table.upper] += lift
    design[each, len(table.names) + fit] = 1.0
    return design


def _refusal(table: Readings, hidden: np.ndarray, fit: np.ndarray) -> Refusal:
    names, start = table.names, f"{table.source} does not settle "
    usable = np.isfinite(gaps_and_widths(table)[0])
    thin = [k for k in range(int(fit.max()) + 1) if np.unique(table.position_mm[(fit == k) & usable]).size < 2]
    if len(names) == 2 and not thin:
        return Refusal("unsettled", where=f"{start}{names[0]} and {names[1]}", found="a pair shows only the sum of its two angles",
                       do="Read both against a third square as well")
    loose = [name for name, part in zip(names, np.abs(hidden).max(axis=0)) if part > 1e-6]
    if thin:
        row = int(np.flatnonzero(fit == thin[0])[0])
        pair = f"{names[table.lower[row]]} and {names[table.upper[row]]}"
        several = np.unique(table.position_mm[fit == thin[0]]).size > 1
        return Refusal("unsettled", where=f"{start}{', '.join(loose)}",
                       found=f"{pair} (row {table.row[row]}) were read at one height only"
                             f"{', for a gap without an upper end tells no angle' if several else ''}",
                       do="Give gap_at_most as well, or read the pair at another height" if several else
                          "Read each pair at two heights or more, foot and top")
    return Refusal("unsettled", where=f"{start}{', '.join(loose)}", found="the pairs that were read close no ring of three",
                   do=f"Read {_missing(table, loose)} as well")


def _missing(table: Readings, loose: list[str]) -> str:
    read = {frozenset((int(a), int(b))) for a, b in zip(table.lower, table.upper)}
    places = [table.names.index(name) for name in loose]
    for i in places:
        for j in range(len(table.names)):
            between = any({frozenset((i, k)), frozenset((j, k))} <= read for k in range(len(table.names)))
            if i != j and frozenset((i, j)) not in read and between:
                return f"{table.names[i]} against {table.names[j]}"
    return "each of them against two squares that were read against each other"


def _sentence(table: Readings, value: np.ndarray, sd: np.ndarray, found: Adjustment) -> str:
    firm = np.isfinite(value)
    angles = ", ".join(f"{n} {a + 0.0:+.1f} ± {s:.1f}" for n, a, s, yes in zip(table.names, value.round(1), sd, firm) if yes)
    spread = ("the uncertainty follows from the intervals, with bends of the blades and feel counted in" if table.is_interval.all()
              else f"standard deviation of one gap {found.reading_sd:.3g} µm, {found.note}")
    said = f"Angles in µrad (µm in a metre) with one standard deviation: {angles}; {spread}." if firm.any() else ""
    open_ = ", ".join(n for n, yes in zip(table.names, firm) if not yes)
    more = (f"Not settled: {open_}, for readings without an upper end leave the angle open on one side; give gap_at_most as well."
            if open_ else "")
    return f"{said} {more}".strip()
