"""The angle of each square, from squares stood blade to blade."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.adjust import adjust, bounds_of
from simulate.readings.gaps import gaps_and_widths, given_sd, needs, of_round, seats_of
from simulate.readings.record import Readings
from simulate.readings.size import refuse_too_many


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
        ``"given"``, ``"residuals"``, ``"intervals"`` or ``"assumed"``.
    round : int
        The round that was solved.
    freedom : int
        Readings more than needed.
    read_mm : numpy.ndarray, shape (squares, 2), or None
        Lowest and highest place at which each blade was read.
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


def solve_squares(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
                  bounds: bool = True) -> SolvedSquares:
    """Find the angle of each square from gaps between squares in pairs, as they were read in one round.

    Squares stand blade to blade on a flat and touch at the foot or at the top. The gap changes with height by
    the sum of the two angles; where it starts is solved for in each fit.

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
        Whether to work out guaranteed bounds from intervals.

    Returns
    -------
    SolvedSquares
        What it cannot see: a blade that is bent takes part as the straight line through the heights that were
        read, and a flat that is not flat is put down to the squares.

    Raises
    ------
    ValueError
        Where the pairs that were read do not settle every square.

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
    fit, first = seats_of(table)
    design = square_design(table, fit, first.size)
    datum = np.eye(len(table.names), design.shape[1])
    gap, width = gaps_and_widths(table)
    found = adjust(design, gap, datum, reading_sd_um, width)
    if len(found.hidden):
        raise _refusal(table, found.hidden, fit)
    certain = bounds_of(table, design, datum) if bounds else None
    return SolvedSquares(table.names, found.value + 0.0, found.sd, found.covariance, found.residual, found.reading_sd,
                         *(certain or (None, None)), _sentence(table, found), found.factor_95, found.sd_from, int(table.round[0]), found.freedom, _span(table))


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


def _sentence(table: Readings, found) -> str:
    angles = ", ".join(f"{n} {a + 0.0:+.1f} ± {s:.1f}" for n, a, s in zip(table.names, found.value.round(1), found.sd))
    spread = ("how sure follows from the widths of the intervals" if table.is_interval.all()
              else f"standard deviation of one gap {found.reading_sd:.3g} µm, {found.note}")
    return f"Angles in µrad (µm in a metre) with one standard deviation: {angles}; {spread}."
