"""Each bar from the gaps of the pairs, with how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core.refusal import Refusal
from simulate.readings.bounds import Bounds, interval_bounds
from simulate.readings.equations import LEAST_SPREAD, point_spread
from simulate.readings.figures import three
from simulate.readings.network import Network, build, design, seats, span
from simulate.readings.record import Readings
from simulate.readings.settled import refuse_unsettled, without_lone_turns
from simulate.surface import checks
from simulate.surface.form import straightness

ASSUMED_SD_UM = 1.0
MOST_BOUNDED = 300
"""Heights beyond which no guaranteed bounds are worked out: two linear programs for each would take many seconds."""


@dataclass(frozen=True)
class BarSolution:
    """The bars as the readings have them, each with its own least-squares line taken out.

    Attributes
    ----------
    names : tuple of str
    x_mm : numpy.ndarray, shape (points,)
        Stations as the file gives them.
    height_um, sd_um : numpy.ndarray, shape (bodies, points)
        Positive is proud. The sd is that of the height in this datum.
    covariance : numpy.ndarray, shape (bodies * points, bodies * points)
        Of all heights, in um^2, in this datum.
    residual_um : numpy.ndarray, shape (readings,)
        Reading (middle of an interval) less what the solution gives; beyond a one-sided interval, by how much
        the solution falls short of it.
    row : numpy.ndarray of int
        Line of the file of each residual.
    reading_sd_um : float
        Of one reading; for intervals the root mean square of width / sqrt(12).
    sd_from : str
        ``"given"``, ``"residuals"``, ``"intervals"`` or ``"assumed"``.
    dof : int
        Readings to spare.
    factor_95 : float
        Height plus or minus this many sd holds the truth 95 times in 100.
    low_um, high_um : numpy.ndarray or None
        Guaranteed ends of each height, where intervals were read and do not contradict each other.
    conflict : str
        A sentence where they do.
    straightness_um : numpy.ndarray, shape (bodies,)
        Minimum zone.
    round : int
    sentence : str
    network : Network
        The fits behind it.
    middle_um, row_sd_um : numpy.ndarray, shape (readings,)
        What each row weighed in with; the deviation is inf where it did not.
    left_out : tuple of int
        Lines of the file that took no part: turned readings whose mirror places were read in no other fit.
    """

    names: tuple[str, ...]
    x_mm: np.ndarray
    height_um: np.ndarray
    sd_um: np.ndarray
    covariance: np.ndarray
    residual_um: np.ndarray
    row: np.ndarray
    reading_sd_um: float
    sd_from: str
    dof: int
    factor_95: float
    low_um: np.ndarray | None
    high_um: np.ndarray | None
    conflict: str
    straightness_um: np.ndarray
    round: int
    sentence: str
    network: Network
    middle_um: np.ndarray | None = None
    row_sd_um: np.ndarray | None = None
    left_out: tuple[int, ...] = ()


def solve_bars(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
               bounds: bool = True) -> BarSolution:
    """Solve every bar of one round from the gaps of its pairs, by weighted least squares.

    gap = seat - (lower + upper), where the seat is a line of its own for each fit (round, lower, upper, turned)
    and is solved for. A turned bar meets the lower one at the mirror image about the middle of all positions in
    the file. An interval counts as its middle with an sd of width / sqrt(12); one that is open above bounds the
    heights but does not weigh in the best estimate. Where no sd is given it is taken from the residuals if there
    are readings to spare, else 1 um is assumed, and `sd_from` says so.

    Parameters
    ----------
    table : Readings
        From ``read_readings``.
    reading_sd_um : float, optional
        Standard deviation of one point reading, in um.
    round : int, optional
        Which round; the last of the file where it is not said.
    bounds : bool
        Whether to work out guaranteed bounds from intervals, where there are at most 300 heights.

    Returns
    -------
    BarSolution
        What it cannot see: an error that all readings share beyond a line, such as sag, and anything between
        the stations.

    Raises
    ------
    ReadingsError
        Where the fits that were read cannot settle the bars.
    ValueError
        Where `table` holds no bars, or the sd or round is impossible.

    Notes
    -----
    With three bars in three pairs this is a = (ab + ac - bc) / 2, each with its own line taken out; equal
    independent gap errors sigma give each height sigma * sqrt(3) / 2 before that.

    Examples
    --------
    >>> from simulate.readings.table import read_readings
    >>> gaps = {"A,B": (4, 0, 4), "A,C": (2, 0, 2), "B,C": (2, 0, 2)}
    >>> rows = [f"{pair},{x},{g}" for pair, read in gaps.items() for x, g in zip((0, 50, 100), read)]
    >>> table = read_readings("\\n".join(["lower,upper,position_mm,gap_um", *rows]).encode())
    >>> solve_bars(table).straightness_um.round(6).tolist()
    [2.0, 2.0, 0.0]
    """
    used, sd = _checked(table, reading_sd_um, round)
    network = build(table, used)
    used, network, left_out = without_lone_turns(table, used, network)
    middle, row_sd, sd_from = _middles(used, sd)
    weigh = np.isfinite(row_sd)
    refuse_unsettled(table.source, network, weigh)
    matrix, lines = design(network), seats(network)
    mixed = 0
    if sd_from == "assumed" and used.is_interval[weigh].any():
        point, mixed = point_spread(np.hstack([matrix, lines])[weigh], middle[weigh], row_sd[weigh], ~used.is_interval[weigh])
        row_sd = np.where(used.is_interval, row_sd, point)
    solved, spread, dof = _weighted(matrix[weigh], lines[weigh], middle[weigh], row_sd[weigh])
    each = 1 / row_sd[weigh]
    seat = np.linalg.lstsq(lines[weigh] * each[:, None], (middle - matrix @ solved)[weigh] * each, rcond=None)[0]
    residual = middle - matrix @ solved - lines @ seat
    # an interval open above is met by any larger gap
    residual = np.where(weigh, residual, np.maximum(residual, 0.0))
    reading_sd, factor = float(np.sqrt(np.mean(row_sd[weigh] ** 2))), float(scipy.stats.norm.ppf(0.975))
    if mixed:
        sd_from, factor = "residuals", float(scipy.stats.t.ppf(0.975, mixed))
    elif sd_from == "assumed" and dof > 0 and not used.is_interval[weigh].any():
        reading_sd, sd_from = float(np.sqrt(residual[weigh] @ residual[weigh] / dof)), "residuals"
        spread, factor = spread * (reading_sd / ASSUMED_SD_UM) ** 2, float(scipy.stats.t.ppf(0.975, dof))
        row_sd = np.where(used.is_interval, row_sd, max(reading_sd, LEAST_SPREAD))
    lift = np.kron(np.eye(len(network.names)), network.basis)
    height = (lift @ solved).reshape(len(network.names), -1)
    covariance = lift @ spread @ lift.T
    bounds = bounds and used.is_interval.any() and height.size <= MOST_BOUNDED
    found = _bounds(used, matrix, lines, lift) if bounds else Bounds(None, None)
    low, high = (None if end is None else end.reshape(height.shape) for end in (found.low_um, found.high_um))
    zone = np.asarray(straightness(network.x_mm, height).value_um)
    conflict = _conflict_sentence(found, used.row[used.is_interval])
    return BarSolution(
        network.names, network.x_mm, height, np.sqrt(np.clip(np.diag(covariance), 0, None)).reshape(height.shape),
        covariance, residual, used.row, reading_sd, sd_from, dof, factor, low, high, conflict, zone,
        int(used.round[0]), _sentence(network.names, zone, reading_sd, sd_from, conflict, left_out), network, middle, row_sd,
        left_out)


def _checked(table: Readings, sd: float | None, round: int | None) -> tuple[Readings, float | None]:
    if not isinstance(table, Readings) or table.kind != "bars":
        kind = table.kind if isinstance(table, Readings) else type(table).__name__
        raise Refusal("type", where="table", found=kind, must_be="readings of bars from read_readings")
    if sd is not None:
        sd = checks.number(sd, "reading_sd_um", 0, 1e6, above=True)
    rounds = sorted(set(table.round.tolist()))
    if round is not None:
        checks.choice(round, "round", rounds)
    return table.rows(table.round == (rounds[-1] if round is None else round)), sd


def _middles(used: Readings, sd: float | None) -> tuple[np.ndarray, np.ndarray, str]:
    """Return the middle and the sd of each reading; an open interval has its lower end and an infinite sd."""
    point = ASSUMED_SD_UM if sd is None else sd
    closed = np.isfinite(used.high_um)
    middle = np.where(closed, (used.low_um + np.where(closed, used.high_um, 0)) / 2, used.low_um)
    width = np.where(closed, used.high_um - used.low_um, np.inf)
    spread = np.where(used.is_interval & (width > 0), np.hypot(width / np.sqrt(12), sd or 0.0), point)
    source = "given" if sd is not None else "intervals" if used.is_interval.all() else "assumed"
    return middle, spread, source


def _weighted(matrix: np.ndarray, lines: np.ndarray, middle: np.ndarray,
              row_sd: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Least squares with the seats projected away: shapes, their covariance, readings to spare."""
    seat = span(lines / row_sd[:, None])
    weighted, right = matrix / row_sd[:, None], middle / row_sd
    weighted = weighted - seat @ (seat.T @ weighted)
    right = right - seat @ (seat.T @ right)
    u, s, vt = np.linalg.svd(weighted, full_matrices=False)
    if not s.size or s[-1] <= 1e-12 * s[0]:
        raise Refusal("unsettled", where="some intervals",
                      found="so wide beside the other readings that they settle nothing", must_be="narrower ones",
                      do="Read those gaps again with a finer blade, or leave out what they alone bound")
    inverse = vt.T / s
    return inverse @ (u.T @ right), inverse @ inverse.T, middle.size - s.size - seat.shape[1]


def _bounds(used: Readings, matrix: np.ndarray, lines: np.ndarray, lift: np.ndarray) -> Bounds:
    """Bounds from the interval rows alone: a point reading guarantees nothing."""
    rows = used.is_interval
    wanted = np.hstack([lift, np.zeros((lift.shape[0], lines.shape[1]))])
    return interval_bounds(np.hstack([matrix, lines])[rows], used.low_um[rows], used.high_um[rows], wanted)


def _conflict_sentence(found: Bounds, row: np.ndarray) -> str:
    if found.conflict_um <= 0 or found.low_um is not None:
        return ""
    rows = ", ".join(str(int(row[i])) for i in found.conflict_rows)
    return f"No bars agree with all intervals: those in rows {rows} contradict each other by {found.conflict_um:.3g} um or more."


def _sentence(names: tuple[str, ...], zone: np.ndarray, sd: float, sd_from: str, conflict: str,
              left_out: tuple[int, ...] = ()) -> str:
    order = np.argsort(zone, kind="stable")
    others = ", ".join(f"{names[i]} {three(zone[i])} um" for i in order[1:])
    how = {"given": "as given", "residuals": "from the readings to spare", "intervals": "from the width of the intervals",
           "assumed": "assumed, since no reading is to spare"}[sd_from]
    said = f"{names[order[0]]} is the best bar, straight within {three(zone[order[0]])} um ({others}); a reading is good to {sd:.3g} um, {how}."
    if left_out:
        said += (f" Row{'s' * (len(left_out) > 1)} {', '.join(map(str, left_out))} took no part: turned, they fall where no other fit "
                 "was read; read at stations that lie alike about the middle.")
    return f"{said} {conflict}".strip()
