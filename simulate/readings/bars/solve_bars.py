"""Each bar from the gaps of the pairs, with how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.bounds import Contradiction, blades_against
from simulate.readings.adjustment.equations import point_spread
from simulate.readings.adjustment.from_intervals import FromIntervals
from simulate.readings.adjustment.observations import given_step
from simulate.readings.adjustment.posterior import WIDER, thinned_words
from simulate.readings.adjustment.ranges import Ranges, normal_ranges, with_whole
from simulate.readings.adjustment.repeatability import (
    Resolution,
    assumed_sd,
    least_of_alike,
    repeatability,
    resolution_of,
)
from simulate.readings.bars.bar_intervals import hollow_for_sure, slope_of_gaps, solve_intervals, weights_of
from simulate.readings.bars.bar_network import Network, build, design, known_gap, lifted, seats, span
from simulate.readings.bars.bar_rank import refuse_unsettled, without_lone_turns
from simulate.readings.bars.bar_words import open_sentence, solved_sentence
from simulate.readings.reference.dependence import Dependence, dependence, half_95, range_dof, told
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import Readings
from simulate.surface.straightness import straightness

MOST_BOUNDED = 300
"""Heights beyond which no guaranteed bounds are worked out: two linear programs for each would take many seconds."""


@dataclass(frozen=True)
class BarSolution:
    """The bars as the readings have them, each with its own least-squares line taken out.

    Attributes
    ----------
    names : tuple of str
        Bars that were solved, without those that were known already.
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
        Of one reading; for intervals the root mean square of width / sqrt(12), which is what one of them says by
        itself.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"resolution"`` (the step of the figures is all the scatter there is),
        ``"intervals"`` or ``"assumed"``.
    dof : int
        Readings to spare.
    factor_95 : float
        Height plus or minus this many sd holds the truth 95 times in 100 where readings are points.
    low_um, high_um : numpy.ndarray or None
        Guaranteed ends of each height, where intervals were read and do not contradict each other.
    conflict : str
        A sentence where they do.
    straightness_um : numpy.ndarray, shape (bodies,)
        Minimum zone.
    network : Network
        The fits behind it.
    middle_um, row_sd_um : numpy.ndarray, shape (readings,)
        What each row weighed in with; the deviation is inf where it did not.
    left_out : tuple of int
        Lines of the file that took no part: turned readings whose mirror places were read in no other fit.
    low_95_um, high_95_um : numpy.ndarray, shape (bodies, points), or None
        Hold each height by itself 95 times in 100; None where the spread of a reading is only assumed.
    low_whole_um, high_whole_um : numpy.ndarray, shape (bodies, points), or None
        Hold a whole bar 95 times in 100.
    draws_um : numpy.ndarray, shape (draws, bodies, points)
        Errors that the readings may have put on the heights.
    resolution : Resolution or None
        Smallest step of the point readings.
    open_rows : tuple of int
        Lines of readings without an upper end: what they leave open is told under the prior alone.
    hollow_um : numpy.ndarray, shape (bodies + 1, points), or None
        Where ends are open: the least that each bar, and the mean of all in the last row, are hollow for sure.
    against : Contradiction or None
        Intervals that contradict each other, and whether feel and place of the blades explain it.
    feel_um, place_mm : float
        What was taken for the feel and the place of blades; the feel as it came out, root mean square.
    depends : Dependence or None
        What the result owes to bars that were known already.
    wider : float
        So much wider than the deviations say are the ranges of intervals; 1 without intervals.
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
    low_95_um: np.ndarray | None = None
    high_95_um: np.ndarray | None = None
    low_whole_um: np.ndarray | None = None
    high_whole_um: np.ndarray | None = None
    draws_um: np.ndarray | None = None
    resolution: Resolution | None = None
    open_rows: tuple[int, ...] = ()
    hollow_um: np.ndarray | None = None
    against: Contradiction | None = None
    feel_um: float = 0.0
    place_mm: float = 0.0
    depends: Dependence | None = None
    wider: float = 1.0

    @property
    def left_open(self) -> tuple[str, ...]:
        """Bars that readings without an upper end leave open."""
        return self.names if self.open_rows else ()


def solve_bars(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    bounds: bool = True,
    *,
    resolution_um: float | None = None,
    feel_um: float | None = None,
    place_mm: float | None = None,
    known: Sequence[Known] = (),
) -> BarSolution:
    """Solve every bar of one round from the gaps of its pairs.

    gap = seat - (lower + upper), where the seat is a line of its own for each fit (round, lower, upper, turned)
    and is solved for. A turned bar meets the lower one at the mirror image about the middle of all positions in
    the file. Point readings are solved by weighted least squares. Where intervals were read, the heights are those
    of the posterior that they leave (``bar_intervals``), for readings of one wide interval share their error.

    Parameters
    ----------
    table : Readings
        From ``read_readings``.
    reading_sd_um : float, optional
        Standard deviation of one point reading, in um. Where it is not given it is found from the residuals if there
        are readings to spare, else 1 um is assumed, and no range is given.
    round : int, optional
        Which round; the last of the file where it is not said.
    bounds : bool
        Whether to work out guaranteed bounds from intervals, where there are at most 300 heights.
    resolution_um : float, optional
        Smallest step of the point readings; the step that the figures show where it is not given.
    feel_um : float, optional
        Standard deviation of the gap at which a blade is felt to go; weighed between 0 and 4 um where it is not given.
    place_mm : float, optional
        Standard deviation of where along the bars a blade went in; 1 mm where it is not given.
    known : sequence of Known
        Bars that are known already (`known_from`, `from_certificate`). They are no part of the result; their
        uncertainty is, with all its correlations, and the readings may contradict them. Positions count along the same
        line as where they were read; between their stations heights lie on the straight line between neighbours.

    Returns
    -------
    BarSolution
        What it cannot see: an error that all readings share beyond a line, such as sag, and anything between
        the stations. Its guaranteed bounds take every interval for true, without feel.

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
    >>> from simulate.readings.table.read import read_readings
    >>> gaps = {"A,B": (4, 0, 4), "A,C": (2, 0, 2), "B,C": (2, 0, 2)}
    >>> rows = [f"{pair},{x},{g}" for pair, read in gaps.items() for x, g in zip((0, 50, 100), read)]
    >>> table = read_readings("\\n".join(["lower,upper,position_mm,gap_um", *rows]).encode())
    >>> solve_bars(table).straightness_um.round(6).tolist()
    [2.0, 2.0, 0.0]
    """
    used, sd = _checked(table, reading_sd_um, round)
    network = build(table, used, known)
    used, network, left_out = without_lone_turns(table, used, network, known)
    refuse_unsettled(table.source, network, np.ones(len(used), bool))
    point = ~used.is_interval
    step = resolution_of(used.gap_um, given_step(resolution_um), used.last_digit) if point.any() else None
    if point.all():
        return _from_points(used, network, sd, step, left_out)
    feel, place = _nought_or_more(feel_um, "feel_um"), _nought_or_more(place_mm, "place_mm")
    size = len(network.free) * network.x_mm.size
    return _from_intervals(used, network, sd, step, left_out, feel, place, bounds and size <= MOST_BOUNDED)


def _from_points(
    used: Readings, network: Network, sd: float | None, step: Resolution, left_out: tuple[int, ...]
) -> BarSolution:
    """Weighted least squares."""
    matrix, lines, gap = design(network), seats(network), used.gap_um - known_gap(network)
    held, lift = network.hold, lifted(network)
    row_sd = np.full(len(used), assumed_sd(step) if sd is None else sd)
    reading_sd, sd_from, over = float(row_sd[0]), "assumed" if sd is None else "given", 0
    if held is not None:
        matrix, lines = np.vstack([matrix, held.rows(matrix.shape[1])]), np.pad(lines, ((0, held.size.size), (0, 0)))
        gap, row_sd = np.concatenate([gap, np.zeros(held.size.size)]), np.concatenate([row_sd, held.size])
        point = np.arange(gap.size) < len(used)
        found, over = point_spread(np.hstack([matrix, lines]), gap, row_sd, point) if sd is None else (0.0, 0)
        if over:
            reading_sd, sd_from = repeatability(found**2 * over, over, step)
            row_sd = np.where(point, reading_sd, row_sd)
    placed = np.column_stack([used.lower, used.upper, used.turned, used.position_mm])
    least = least_of_alike(placed, used.gap_um, step)
    if over:
        row_sd[: len(used)] = np.maximum(row_sd[: len(used)], least)
    solved, spread, dof = _weighted(matrix, lines, gap, row_sd)
    residual = _left(matrix, lines, gap, row_sd, solved)[: len(used)]
    if sd is None and dof > 0 and held is None:
        reading_sd, sd_from = repeatability(float(residual @ residual), dof, step)
        spread, over = spread * (reading_sd / row_sd[0]) ** 2, dof
        row_sd = np.maximum(reading_sd, least)
        if (row_sd > reading_sd * (1 + 1e-9)).any():
            solved, spread, _ = _weighted(matrix, lines, gap, row_sd)
            residual = _left(matrix, lines, gap, row_sd, solved)
    height = (lift @ solved).reshape(len(network.free), -1)
    covariance = lift @ spread @ lift.T
    deviation = np.sqrt(np.clip(np.diag(covariance), 0, None)).reshape(height.shape)
    depends = None
    if held is not None:
        errors = slice(held.free, None)
        depends = dependence(held, lift @ spread[:, errors], solved[errors], spread[errors, errors], over)
        over = range_dof(depends, covariance)
        depends = told(held, depends, network.free, deviation, half_95(over))
    ranges = normal_ranges(
        height, deviation, covariance, over, sd_from != "assumed" and not (depends and depends.assumed)
    )
    zone = np.asarray(straightness(network.x_mm, height).value_um)
    said = solved_sentence(network.free, zone, reading_sd, sd_from, left_out, depends.sentence if depends else "")
    return BarSolution(
        network.free,
        network.x_mm,
        height,
        deviation,
        covariance,
        residual,
        used.row,
        reading_sd,
        _told_from(sd_from, depends),
        dof,
        half_95(over),
        None,
        None,
        "",
        zone,
        int(used.round[0]),
        said,
        network,
        used.gap_um,
        row_sd[: len(used)],
        left_out,
        **_fields(ranges),
        resolution=step,
        depends=depends,
    )


def _from_intervals(
    used: Readings,
    network: Network,
    sd: float | None,
    step: Resolution | None,
    left_out: tuple[int, ...],
    feel_um: float | None,
    place_mm: float | None,
    bounds: bool,
) -> BarSolution:
    """The posterior that intervals leave, with points among them."""
    middle, row_sd, sd_from, scales, dof = weights_of(used, network, sd, step)
    closed = np.isfinite(row_sd)
    of_points = row_sd[~used.is_interval]
    point_sd = float(of_points.max()) if of_points.size else 1.0
    found = solve_intervals(used, network, point_sd, scales, feel_um, place_mm, bounds)
    shape = (len(network.free), network.x_mm.size)
    row_sd = np.where(used.is_interval, row_sd, point_sd * found.of_heights.scale)
    height = found.of_heights.mean.reshape(shape)
    depends = _depends(found, network)
    ranges = _ranges(found, shape, sd_from != "assumed" and not (depends and depends.assumed))
    low, high = (
        None if end is None or not bounds or not end.size else end.reshape(shape)
        for end in (found.bounds.low_um, found.bounds.high_um)
    )
    residual = middle - found.gap_um
    residual = np.where(closed, residual, np.maximum(residual, 0.0))  # an interval open above is met by any larger gap
    zone = np.asarray(straightness(network.x_mm, height).value_um)
    every, slope = np.hstack([design(network), seats(network)]), slope_of_gaps(network, middle)
    of_known = network.hold.errors(every.shape[1]) if network.hold else None
    at_known = known_gap(network)
    against = blades_against(found.bounds, used, every, slope, (feel_um, place_mm), at_known, of_known)
    conflict = against.sentence if against else ""
    loose = tuple(int(row) for row in used.row[~np.isfinite(used.high_um)])
    hollow = hollow_for_sure(used, network) if loose and not conflict and not depends else None
    usual = float(np.sqrt(np.mean(row_sd[closed] ** 2))) if closed.any() else float("inf")
    more = (conflict, open_sentence(network, hollow, loose), depends.sentence if depends else "")
    said = solved_sentence(network.free, zone, usual, sd_from, left_out, *more)
    said = " ".join([said, *thinned_words(found.of_heights.thinned)])
    return BarSolution(
        network.free,
        network.x_mm,
        height,
        found.of_heights.sd.reshape(shape),
        found.of_heights.covariance,
        residual,
        used.row,
        usual,
        _told_from(sd_from, depends),
        dof,
        WIDER * half_95(0),
        low,
        high,
        conflict,
        zone,
        int(used.round[0]),
        said,
        network,
        middle,
        row_sd,
        left_out,
        **_fields(ranges),
        resolution=step,
        open_rows=loose,
        hollow_um=hollow,
        against=against,
        feel_um=float(np.sqrt(found.of_heights.feel @ found.errors.feel_um**2)),
        place_mm=found.place_mm,
        wider=WIDER,
        depends=depends,
    )


def _depends(found: FromIntervals, network: Network) -> Dependence | None:
    """What bars from intervals owe to those that were known already."""
    if network.hold is None or found.of_errors is None:
        return None
    depends, sd = dependence(network.hold, *found.of_errors), found.of_heights.sd.reshape(len(network.free), -1)
    return told(network.hold, depends, network.free, sd, half_95(0), bounds_out=not network.hold.guaranteed)


def _told_from(sd_from: str, depends: Dependence | None) -> str:
    """Where the uncertainty comes from: it is assumed as soon as one part of it is."""
    return "assumed" if depends is not None and depends.assumed else sd_from


def _fields(ranges: Ranges) -> dict[str, np.ndarray | None]:
    return {
        "low_95_um": ranges.low_95,
        "high_95_um": ranges.high_95,
        "low_whole_um": ranges.low_whole,
        "high_whole_um": ranges.high_whole,
        "draws_um": ranges.draws,
    }


def _ranges(found: FromIntervals, shape: tuple[int, int], known: bool) -> Ranges:
    of = found.of_heights
    draws = (of.draws - of.mean).reshape(-1, *shape)
    if not known:
        return Ranges(low_95=None, high_95=None, low_whole=None, high_whole=None, draws=draws)
    return with_whole(of.mean.reshape(shape), of.low_95.reshape(shape), of.high_95.reshape(shape), draws)


def _nought_or_more(value: float | None, name: str) -> float | None:
    return None if value is None else checks.number(value, name, 0, 1e6)


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


def _left(matrix: np.ndarray, lines: np.ndarray, gap: np.ndarray, row_sd: np.ndarray, solved: np.ndarray) -> np.ndarray:
    """What is left of the gaps when shapes and seats are taken off."""
    rest = gap - matrix @ solved
    return rest - lines @ np.linalg.lstsq(lines / row_sd[:, None], rest / row_sd, rcond=None)[0]


def _weighted(
    matrix: np.ndarray, lines: np.ndarray, middle: np.ndarray, row_sd: np.ndarray
) -> tuple[np.ndarray, np.ndarray, int]:
    """Least squares with the seats projected away: shapes, their covariance, readings to spare."""
    seat = span(lines / row_sd[:, None])
    weighted, right = matrix / row_sd[:, None], middle / row_sd
    weighted = weighted - seat @ (seat.T @ weighted)
    right = right - seat @ (seat.T @ right)
    u, s, vt = np.linalg.svd(weighted, full_matrices=False)
    if not s.size or s[-1] <= 1e-12 * s[0]:
        raise Refusal(
            "places",
            where="some intervals",
            found="so wide compared with the other readings that they settle nothing",
            must_be="narrower",
            do="Read those gaps again with a finer blade, or leave out what they alone bound",
        )
    inverse = vt.T / s
    return inverse @ (u.T @ right), inverse @ inverse.T, middle.size - s.size - seat.shape[1]
