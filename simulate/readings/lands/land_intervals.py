"""What intervals of land readings weigh, and the bounds that they guarantee."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three
from simulate.method.lands.design_matrix import reading_rows
from simulate.method.lands.land_fit import Fit
from simulate.method.lands.levelling import Network
from simulate.readings.adjustment.bounds import Bounds, interval_bounds
from simulate.readings.adjustment.equations import point_spread
from simulate.readings.adjustment.repeatability import Resolution, least_of_alike
from simulate.readings.table.readings import Readings

MOST_BOUNDED = 300
"""Points beyond which no guaranteed bounds are worked out."""


def weighed(table: Readings, sd: float | None, step: Resolution | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Give one figure for each reading, and the deviation with which it weighs.

    `sd`: of a point reading; 1 um where it is not known. `step`: of the figures of point readings, where the deviation
    was found from them. Returns `middle_um` (readings,): the reading, the middle of an interval, or the end of one that
    is open. `row_sd_um` (readings,): for an interval its width / sqrt(12), with `sd` beside it; inf where it is open
    and does not weigh.

    >>> from simulate.readings.table.read import read_readings
    >>> head = b"gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\\n"
    >>> middle, sd = weighed(read_readings(head + b"a,0,1,2,-3,3\\na,0,1,2,5,\\n"), None)
    >>> middle.tolist(), sd.round(3).tolist()
    ([0.0, 5.0], [1.732, inf])
    """
    low, high, interval = table.low_um, table.high_um, table.is_interval
    closed = np.isfinite(low) & np.isfinite(high)
    ends = np.where(np.isfinite(low), low, high)
    middle = np.where(closed, (np.where(closed, low, 0) + np.where(closed, high, 0)) / 2, ends)
    width = np.where(closed, np.where(closed, high, 0) - np.where(closed, low, 0), np.inf)
    spread = np.where(interval & (width > 0), np.hypot(width / np.sqrt(12), sd or 0.0), sd or 1.0)
    if step is not None:
        laid = np.column_stack([table.lower, table.left_mm, table.position_mm, table.right_mm])
        spread = np.where(interval, spread, np.maximum(spread, least_of_alike(laid, table.proud_um, step)))
    return np.where(interval, middle, table.proud_um), spread


def spread_of_points(
    table: Readings, found: Network, middle_um: np.ndarray, row_sd_um: np.ndarray
) -> tuple[float, int]:
    """Find the spread of the point readings that stand among intervals.

    `table`: the rows that weigh. `found`: solved with any spread; its points and ends are used. `middle_um`,
    `row_sd_um` (readings,). Returns `freedom`: as `point_spread`: 0 where nothing tells it.

    >>> from simulate.method.lands.levelling import solve_network
    >>> from simulate.readings.table.read import read_readings
    >>> head = b"gauge,left_mm,middle_mm,right_mm,proud_um,proud_at_least_um,proud_at_most_um\\n"
    >>> table = read_readings(head + b"a,0,1,2,3,,\\na,0,1,2,5,,\\na,0,1,2,,-99,101\\n")
    >>> net = solve_network([Fit((0, 1, 2), 1.0)])
    >>> spread, freedom = spread_of_points(table, net, *weighed(table, None))
    >>> round(spread, 1), freedom
    (1.4, 1)
    """
    fits, column = fits_and_columns(table, found)
    design = reading_rows(fits, found.x_mm, column, {})[0].toarray()
    return point_spread(design, middle_um, row_sd_um, ~table.is_interval)


def bounds_of_points(table: Readings, found: Network, doubtful: dict) -> Bounds:
    """Bound every point by the intervals alone: a point reading guarantees nothing.

    `doubtful`: gauges whose zero is not sure; it may then be anything. Returns: of every point in `found`, 0 where it
    is held.

    >>> from simulate.method.lands.levelling import solve_network
    >>> from simulate.readings.table.read import read_readings
    >>> head = b"gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\\n"
    >>> table, net = read_readings(head + b"a,0,1,2,-3,3\\n"), solve_network([Fit((0, 1, 2), 1.0)])
    >>> bounds_of_points(table, net, {}).high_um.round(3).tolist()
    [0.0, 3.0, 0.0]
    """
    part = table.rows(table.is_interval)
    held = found.sd_um == 0
    fits, column = fits_and_columns(part, found)
    free = {name: np.inf for name, sd in doubtful.items() if sd > 0 and name in {f.gauge for f in fits}}
    rows, _ = reading_rows(fits, found.x_mm, column, free)
    wanted = np.eye((~held).sum(), rows.shape[1])
    solved = interval_bounds(rows.toarray(), part.low_um, part.high_um, wanted)
    if solved.low_um is None:
        return solved
    ends = np.zeros((2, held.size))
    ends[:, ~held] = solved.low_um, solved.high_um
    return Bounds(*ends)


def bounds_sentence(table: Readings, found: Network, bounds: Bounds) -> str:
    """Say the bounds, or which intervals contradict each other.

    Returns: empty where nothing is bounded.

    >>> from simulate.method.lands.levelling import solve_network
    >>> from simulate.readings.table.read import read_readings
    >>> head = b"gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um\\n"
    >>> table, net = read_readings(head + b"a,0,1,2,-3,3\\n"), solve_network([Fit((0, 1, 2), 1.0)])
    >>> bounds_sentence(table, net, bounds_of_points(table, net, {}))
    'Guaranteed by the intervals alone: 1 mm from -3.0 to +3.0 um.'
    """
    if bounds.low_um is None:
        rows = ", ".join(str(int(table.row[table.is_interval][i])) for i in bounds.conflict_rows)
        return (
            f"No bar agrees with all intervals: those in rows {rows} contradict each other by "
            f"{three(bounds.conflict_um)} um or more."
        )
    both = np.isfinite(bounds.low_um) & np.isfinite(bounds.high_um) & (found.sd_um != 0)
    if not both.any():
        return ""
    said = ", ".join(
        f"{x:g} mm from {a:+.1f} to {b:+.1f}"
        for x, a, b in zip(found.x_mm[both], bounds.low_um[both], bounds.high_um[both])
    )
    return f"Guaranteed by the intervals alone: {said} um."


def fits_and_columns(table: Readings, found: Network) -> tuple[list[Fit], np.ndarray]:
    """Give each reading as a fit, and the column of each point, -1 where it is held.

    Returns `column` (points,) of int.
    """
    fits = [
        Fit((a, m, b), 1.0, table.names[g])
        for a, m, b, g in zip(table.left_mm, table.position_mm, table.right_mm, table.lower)
    ]
    free = found.sd_um != 0
    return fits, np.where(free, np.cumsum(free) - 1, -1)
