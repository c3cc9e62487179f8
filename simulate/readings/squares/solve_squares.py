"""The angle of each square, from squares stood blade to blade."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulate.core import checks
from simulate.core.number_format import three
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.bounds import Contradiction, wrong
from simulate.readings.adjustment.least_squares import Adjustment
from simulate.readings.adjustment.observations import gaps_and_widths, given_sd, given_step, needs, of_round, seats_of
from simulate.readings.adjustment.posterior import thinned_words
from simulate.readings.adjustment.repeatability import Resolution, resolution_of
from simulate.readings.adjustment.whole_band import spread_draws, whole_band
from simulate.readings.reference.dependence import Dependence, adjust_held, dependence, half_95, told
from simulate.readings.reference.hold import Hold, chosen, hold
from simulate.readings.reference.known import Known
from simulate.readings.squares.flat_opening import FLAT, flats_of
from simulate.readings.squares.square_bends import bent_squares
from simulate.readings.table.readings import Readings
from simulate.readings.table.size_limit import refuse_too_many


@dataclass(frozen=True)
class SolvedSquares:
    """How far each square is out, and how sure that is.

    Attributes
    ----------
    names : tuple of str
        Squares that were solved, without those that were known already.
    angle_urad : numpy.ndarray, shape (squares,)
        Positive leans away from the other blade; a microradian is a micrometre in a metre.
    sd_urad : numpy.ndarray, shape (squares,)
    covariance : numpy.ndarray, shape (squares, squares)
        In microradians squared.
    residual_um : numpy.ndarray, shape (readings,)
    low_urad, high_urad : numpy.ndarray or None
        What the angle cannot be below or above, where readings are intervals.
    factor_95 : float
        Angle plus or minus this many sd holds the truth 95 times in 100.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"resolution"`` (the readings agree better than they are written),
        ``"intervals"`` or ``"assumed"``.
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
    against : Contradiction or None
        Intervals that no straight, exactly felt blades fulfil. Where bends and feel do not explain them either, no 95 %
        range is given.
    resolution : Resolution or None
        Smallest step of the point readings.
    depends : Dependence or None
        What the result owes to squares that were known already.
    draws_urad : numpy.ndarray, shape (draws, squares), or None
        Errors that the readings may have put on the angles.
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
    against: Contradiction | None = None
    resolution: Resolution | None = None
    depends: Dependence | None = None
    draws_urad: np.ndarray | None = None

    @property
    def tall_mm(self) -> np.ndarray:
        """How high over its foot each blade was read, shape (squares,); inf where it is not said."""
        return np.full(len(self.names), np.inf) if self.read_mm is None else self.read_mm[:, 1]

    @property
    def left_open(self) -> tuple[str, ...]:
        """Squares that readings without an upper end leave open."""
        settled = np.ones(len(self.names), bool) if self.settled is None else self.settled
        return tuple(name for name, yes in zip(self.names, settled, strict=True) if not yes)


def solve_squares(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    bounds: bool = True,
    *,
    feel_um: float | None = None,
    bend_um: float | None = None,
    resolution_um: float | None = None,
    known: Sequence[Known] = (),
) -> SolvedSquares:
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
    resolution_um : float, optional
        Smallest step of the point readings; the step that the figures show where it is not given.
    known : sequence of Known
        Squares that are known already (`known_from`, `from_certificate`). They are no part of the result; their
        uncertainty is, with all its correlations, and the readings may contradict them. Or ``"the flat"`` that they
        stood on, from a plate or from the line along which their feet stood (``opening_of``).

    Returns
    -------
    SolvedSquares
        What it cannot see: where the gaps are numbers, a bend of a blade counts as scatter of the readings; a flat that
        is not flat, and not known, is put down to the squares.

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
    >>> from simulate.readings.table.read import read_readings
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
    every, table = table.names, of_round(table, round)
    reading_sd_um = given_sd(reading_sd_um, "reading_sd_um")
    feel_um, bend_um = (
        None if v is None else checks.number(v, name, 0, 1000)
        for v, name in ((feel_um, "feel_um"), (bend_um, "bend_um"))
    )
    fit, first = seats_of(table)
    design = square_design(table, fit, first.size, bool(flats_of(known, every)))
    held, free = held_squares(known, table, every)
    datum = np.eye(len(table.names), design.shape[1])[free]
    gap, width = gaps_and_widths(table)
    given = given_step(resolution_um)
    point = ~table.is_interval
    step = resolution_of(table.gap_um[point], given, table.last_digit) if point.any() else None
    if not table.is_interval.any():
        found, of = adjust_held(held, design, gap, datum, reading_sd_um, None, step)
        if len(found.hidden):
            raise _refusal(table, found.hidden, fit, free)
        return replace(_by_points(table, found, free, _told(held, of, table, free, found)), resolution=step)
    could, of = adjust_held(held, design, np.where(np.isfinite(gap), gap, 0.0), datum, 1.0)
    if len(could.hidden):
        raise _refusal(table, could.hidden, fit, free)
    blades = (bounds, feel_um, bend_um)
    if not np.isfinite(gap).any():
        return _by_intervals(table, design, could, np.zeros(free.size, bool), held, of, free, blades)
    found, of = adjust_held(held, design, gap, datum, reading_sd_um, width, step)
    settled = np.abs(found.hidden).max(axis=0, initial=0.0) < 1e-6
    return replace(_by_intervals(table, design, found, settled, held, of, free, blades), resolution=step)


def held_squares(known: Sequence[Known], table: Readings, every: Sequence[str]) -> tuple[Hold | None, np.ndarray]:
    """Put squares that are known into the unknowns, and say which squares are not.

    `every`: squares of the whole file.
    """
    flat = flats_of(known, every)
    squares = [one for one in known if not flat or one.name != FLAT]
    mine = chosen(squares, table.names, every, "squares", table.source)
    unknowns = len(table.names) + seats_of(table)[1].size + len(flat)
    at = [table.names.index(one.name) for one in mine]
    blocks = [*zip(mine, at, strict=True), *((one, unknowns - 1) for one in flat)]
    held = hold(unknowns, [(one, np.array([i]), np.eye(1)) for one, i in blocks])
    return held, np.setdiff1d(np.arange(len(table.names)), at)


def _told(held: Hold | None, of: Dependence | None, table: Readings, free: np.ndarray, found: Adjustment):
    if held is None or of is None:
        return None
    names = tuple(table.names[i] for i in free)
    return told(held, of, names, found.sd[:, None], found.factor_95, "um/m", bool(table.is_interval.any()))


def _told_from(found: Adjustment, of: Dependence | None) -> str:
    """Where the uncertainty comes from: it is assumed as soon as one part of it is."""
    return "assumed" if of is not None and of.assumed else found.sd_from


def _by_points(table: Readings, found: Adjustment, free: np.ndarray, of: Dependence | None) -> SolvedSquares:
    sd_from = _told_from(found, of)
    *ends, errors = _ranges(found)
    ends = ends if sd_from != "assumed" else [None] * 4
    names = tuple(table.names[i] for i in free)
    said = _sentence(table, names, found.value, found.sd, found)
    return SolvedSquares(
        names,
        found.value.round(9) + 0.0,
        found.sd,
        found.covariance,
        found.residual,
        found.reading_sd,
        None,
        None,
        f"{said} {of.sentence}" if of else said,
        found.factor_95,
        sd_from,
        int(table.round[0]),
        found.freedom,
        _span(table, free),
        *ends,
        settled=np.ones(free.size, bool),
        depends=of,
        draws_urad=errors,
    )


def _ranges(found: Adjustment) -> tuple[np.ndarray, ...]:
    """Ends of the range of each angle by itself, then of all at once, and draws of their errors."""
    low, high = (found.value + way * found.factor_95 * found.sd for way in (-1, 1))
    errors = spread_draws(found.covariance, found.range_dof)
    return low, high, *whole_band(found.value + errors, found.value, low, high), errors


def _by_intervals(
    table: Readings,
    design: np.ndarray,
    found: Adjustment,
    settled: np.ndarray,
    held: Hold | None,
    of: Dependence | None,
    free: np.ndarray,
    blades: tuple[bool, float | None, float | None],
) -> SolvedSquares:
    bounds, feel_um, bend_um = blades
    bent = bent_squares(table, design, found.reading_sd, feel_um, bend_um, settled, bounds, held)
    left, n, names = bent.posterior, free.size, tuple(table.names[i] for i in free)
    value, sd, covariance = left.mean[:n], left.sd[:n], left.covariance[:n, :n]
    low, high, factor = left.low_95[:n], left.high_95[:n], half_95(0)
    by_points, of = of, of if bent.of_errors is None else dependence(held, *bent.of_errors)
    ends = (low, high, *whole_band(left.draws[:, :n], np.where(settled, value, np.nan), low, high))
    errors = left.draws[:, :n] - value
    if found.sd_from in ("residuals", "resolution") and settled.all() and bent.against is None:
        # where points check each other, their own scatter tells the spread: Student's t, as without intervals
        value, sd, covariance, factor = found.value, found.sd, found.covariance, found.factor_95
        (*ends, errors), of = _ranges(found), by_points
    value, sd = np.where(settled, value, np.nan), np.where(settled, sd, np.inf)
    of = _told(
        held, of, table, free, replace(found, covariance=covariance, over=0 if factor == half_95(0) else found.over)
    )
    sd_from = _told_from(found, of)
    doubted = wrong(bent.against)
    blind = doubted or sd_from == "assumed"
    ends = (None,) * 4 if blind else tuple(np.where(settled, part, np.nan) for part in ends)
    gap, _ = gaps_and_widths(table)
    short = np.where(np.isfinite(table.low_um), np.maximum(table.low_um - bent.fitted_um, 0.0), 0.0)
    misfit = float(np.hypot(bent.feel_um, np.sqrt(2 * np.mean(bent.bend_um**2))))
    said = [_sentence(table, names, value, sd, found), *([bent.against.sentence] if bent.against else [])]
    said += thinned_words(left.thinned)
    return SolvedSquares(
        names,
        value + 0.0,
        sd,
        covariance,
        np.where(np.isfinite(gap), gap - bent.fitted_um, short),
        found.reading_sd,
        *((None, None) if held is not None or doubted else (bent.certain.low_um, bent.certain.high_um)),
        " ".join([*said, *([of.sentence] if of else [])]),
        factor,
        sd_from,
        int(table.round[0]),
        found.freedom,
        _span(table, free),
        *ends,
        settled=settled,
        height_mm=bent.height_mm,
        bend_um=bent.bend_um,
        misfit_um=misfit,
        against=bent.against,
        depends=of,
        draws_urad=errors,
    )


def _span(table: Readings, free: np.ndarray) -> np.ndarray:
    read = [table.position_mm[(table.lower == k) | (table.upper == k)] for k in free]
    return np.array([[places.min(), places.max()] for places in read])


def square_design(table: Readings, fit: np.ndarray, fits: int, flat: bool = False) -> np.ndarray:
    """Return what each angle and each fit's start does to each gap: a urad over a mm is 0.001 um.

    `fit` (readings,) of int. `flat`: whether the angle by which the flat opens every pair comes last. Returns
    (readings, squares + fits).
    """
    refuse_too_many(table, len(table.names) + fits, f"{len(table.names)} squares in {fits} fits")
    design = np.zeros((len(table), len(table.names) + fits + flat))
    each = np.arange(len(table))
    lift = table.position_mm / 1000.0
    design[each, table.lower] += lift
    design[each, table.upper] += lift
    design[each, len(table.names) + fit] = 1.0
    if flat:
        design[:, -1] = lift
    return design


def _refusal(table: Readings, hidden: np.ndarray, fit: np.ndarray, free: np.ndarray) -> Refusal:
    names, start = table.names, f"{table.source} does not settle "
    usable = np.isfinite(gaps_and_widths(table)[0])
    thin = [k for k in range(int(fit.max()) + 1) if np.unique(table.position_mm[(fit == k) & usable]).size < 2]
    if len(names) == 2 and not thin:
        return Refusal(
            "unsettled",
            where=f"{start}{names[0]} and {names[1]}",
            found="a pair shows only the sum of its two angles",
            do="Read both against a third square as well, or take one as known from an earlier set or a certificate",
        )
    loose = [names[i] for i, part in zip(free, np.abs(hidden).max(axis=0), strict=True) if part > 1e-6]
    if thin:
        row = int(np.flatnonzero(fit == thin[0])[0])
        pair = f"{names[table.lower[row]]} and {names[table.upper[row]]}"
        several = np.unique(table.position_mm[fit == thin[0]]).size > 1
        return Refusal(
            "unsettled",
            where=f"{start}{', '.join(loose)}",
            found=f"{pair} (row {table.row[row]}) were read at one height only"
            f"{', because a gap without an upper limit gives no angle' if several else ''}",
            do="Give gap_at_most as well, or read the pair at another height"
            if several
            else "Read each pair at two heights or more, bottom and top",
        )
    return Refusal(
        "unsettled",
        where=f"{start}{', '.join(loose)}",
        found="the pairs that were read do not close a ring of three",
        do=f"Read {_missing(table, loose)} as well",
    )


def _missing(table: Readings, loose: list[str]) -> str:
    read = {frozenset((int(a), int(b))) for a, b in zip(table.lower, table.upper)}
    places = [table.names.index(name) for name in loose]
    for i in places:
        for j in range(len(table.names)):
            between = any({frozenset((i, k)), frozenset((j, k))} <= read for k in range(len(table.names)))
            if i != j and frozenset((i, j)) not in read and between:
                return f"{table.names[i]} against {table.names[j]}"
    return "each of them against two squares that were read against each other"


def _sentence(table: Readings, names: tuple[str, ...], value: np.ndarray, sd: np.ndarray, found: Adjustment) -> str:
    firm = np.isfinite(value)
    angles = ", ".join(
        f"{n} {a + 0.0:+.1f} um/m (± {s:.1f} um/m)"
        for n, a, s, yes in zip(names, value.round(1), sd, firm, strict=True)
        if yes
    )
    spread = (
        "the uncertainty follows from the intervals, bends of the blades and feel included"
        if table.is_interval.all()
        else f"standard deviation of one gap {three(found.reading_sd)} um, {found.note}"
    )
    said = f"Angles, each with one standard deviation: {angles}; {spread}." if firm.any() else ""
    open_ = ", ".join(n for n, yes in zip(names, firm, strict=True) if not yes)
    more = (
        (
            f"Not settled: {open_}, because readings without an upper limit bound the angle on one side only; give "
            "gap_at_most as well."
        )
        if open_
        else ""
    )
    return f"{said} {more}".strip()
