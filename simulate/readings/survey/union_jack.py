"""A plate surveyed along eight lines, as the crosses of a union jack."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.core.number_format import three, two
from simulate.core.refusal import Refusal
from simulate.readings.adjustment.least_squares import Adjustment, adjust
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.adjustment.repeatability import resolution_of
from simulate.readings.adjustment.whole_band import spread_draws, whole_band
from simulate.readings.survey.union_jack_lines import ROLES, Line, corner_datum, eight_lines, rises_um, slope_equations
from simulate.readings.table.readings import Readings
from simulate.readings.table.size_limit import refuse_too_many
from simulate.surface.flatness import flatness


@dataclass(frozen=True)
class UnionJack:
    """Heights of a plate at the stations of eight lines.

    Attributes
    ----------
    x_mm, y_mm : numpy.ndarray, shape (points,)
        Each station once.
    height_um : numpy.ndarray, shape (points,)
        In the usual corner datum: zero where the diagonals cross, and the two ends of each diagonal alike.
    sd_um : numpy.ndarray, shape (points,)
        Of `height_um`, in that datum, as the errors of the readings add up.
    closure_um : numpy.ndarray, shape (2,)
        Height of the centre line along x, then of the one along y, over the diagonals at the centre.
    closure_sd_um : numpy.ndarray, shape (2,)
        How far each closure is to be expected from zero.
    flatness_um : float
        Minimum zone of `height_um`.
    least_squares_height_um, least_squares_sd_um : numpy.ndarray, shape (points,)
        From all readings at once, in the same datum.
    covariance : numpy.ndarray, shape (points, points)
        Of `least_squares_height_um`, in square micrometres.
    residual_um : numpy.ndarray, shape (readings,)
        Of each step; nan at station 0.
    lines : dict of str to str
        What each named line is.
    factor_95 : float
        Height plus or minus this many sd holds the truth 95 times in 100.
    sd_from : str
        ``"given"``, ``"residuals"``, or ``"resolution"`` where the readings agree better than they are written.
    low_95_um, high_95_um : numpy.ndarray, shape (points,)
        Each of `least_squares_height_um` by itself lies between them, 95 %.
    whole_low_95_um, whole_high_95_um : numpy.ndarray, shape (points,)
        A band that holds all of them at once, 95 %.
    draws_um : numpy.ndarray, shape (draws, points)
        Errors that the readings may have put on `least_squares_height_um`.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    height_um: np.ndarray
    sd_um: np.ndarray
    closure_um: np.ndarray
    closure_sd_um: np.ndarray
    flatness_um: float
    least_squares_height_um: np.ndarray
    least_squares_sd_um: np.ndarray
    covariance: np.ndarray
    residual_um: np.ndarray
    reading_sd_arcsec: float
    lines: dict[str, str]
    sentence: str
    factor_95: float = 1.96
    sd_from: str = "given"
    round: int = 1
    low_95_um: np.ndarray | None = None
    high_95_um: np.ndarray | None = None
    whole_low_95_um: np.ndarray | None = None
    whole_high_95_um: np.ndarray | None = None
    draws_um: np.ndarray = field(default_factory=lambda: np.zeros((0, 0)))


def union_jack(table: Readings, reading_sd_arcsec: float | None = None, round: int | None = None) -> UnionJack:
    """Work out a survey along two diagonals, four edges and two centre lines.

    Each reading is the slope of one step; it is added up along its line, and each line has an instrument zero
    of its own. The diagonals are tied where they cross, the edges at the corners, the centre lines at the
    middle of the edges; what the centre lines miss the centre by are the two closures.

    Parameters
    ----------
    table : Readings
        What `read_readings` gives for ``line, station, x_mm, y_mm, reading_arcsec``.
    reading_sd_arcsec : float, optional
        Standard deviation of one reading. Without it, it is found from the two closures, which is weak.
    round : int, optional
        Which round; the last of the file where it is not said.

    Returns
    -------
    UnionJack
        What it cannot see: everything that lies off the eight lines, such as a hollow in the middle of one of
        the eight triangles between them; anything shorter than a step; a foot that reads all steps of a line
        too large or too small in proportion.

    Raises
    ------
    ValueError
        Naming the line and the station, where a line is missing, out of order, or has no station halfway.

    Notes
    -----
    Eight lines tie with two readings more than needed, so without noise both closures are exactly zero for any
    surface. Noise grows with the step and with the square root of the number of steps, and is worst where the
    centre lines reach the centre (J. Drescher, Precision Engineering 27, 2003, abstract). Least squares, which
    lets the centre lines take part, is surer everywhere (H. Haitjema, Metrology 6(2) 27, 2026, abstract).

    Examples
    --------
    >>> from simulate.readings.table.read import read_readings
    >>> ends = {"d1": (0, 0, 4, 4), "d2": (4, 0, 0, 4), "s": (0, 0, 4, 0), "n": (0, 4, 4, 4),
    ...         "w": (0, 0, 0, 4), "e": (4, 0, 4, 4), "h": (0, 2, 4, 2), "v": (2, 0, 2, 4)}
    >>> rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    >>> for name, (x, y, u, v) in ends.items():
    ...     rows += [f"{name},{k},{50 * (x + (u - x) * k / 4)},{50 * (y + (v - y) * k / 4)},{'' if k == 0 else 100}"
    ...              for k in range(5)]
    >>> found = union_jack(read_readings("\\n".join(rows).encode()))
    >>> found.closure_um.tolist(), found.flatness_um
    ([0.0, 0.0], 0.0)
    """
    needs(table, "union jack", "level")
    table = of_round(table, round)
    if table.turned.any():
        raise Refusal(
            "table",
            where=table.source,
            found="it holds readings with the level turned end for end",
            must_be="the eight lines read once, for a union jack",
        )
    reading_sd_arcsec = given_sd(reading_sd_arcsec, "reading_sd_arcsec")
    refuse_too_many(table, len(table) + len(table.names), f"{len(table.names)} lines")
    lines, x, y = eight_lines(table)
    height, closure = corner_heights(lines, {role: line.height_um for role, line in lines.items()}, x.size)
    design, reading, step, row = slope_equations(lines, x.size)
    step_arcsec = resolution_of(table.reading_arcsec)
    found = adjust(design, reading, corner_datum(lines, x, y), reading_sd_arcsec, resolution=step_arcsec)
    residual = np.full(len(table), np.nan)
    residual[row] = found.residual * step
    sd, closure_sd = (part * found.reading_sd for part in _spread(lines, x.size))
    flat = float(flatness(x, y, height).value_um)
    low, high = found.value - found.factor_95 * found.sd, found.value + found.factor_95 * found.sd
    errors = spread_draws(found.covariance, 0 if found.sd_from == "given" else found.freedom)
    # the centre is zero by the datum, and takes no part in the band
    whole = whole_band(found.value + errors, np.where(found.sd > 1e-9, found.value, np.nan), low, high)
    band = [np.where(found.sd > 1e-9, end, found.value) for end in whole]
    return UnionJack(
        x,
        y,
        height,
        sd,
        closure,
        closure_sd,
        flat,
        found.value,
        found.sd,
        found.covariance,
        residual,
        found.reading_sd,
        {line.name: line.role for line in lines.values()},
        _sentence(found, x, y, sd, closure, closure_sd, flat),
        found.factor_95,
        found.sd_from,
        int(table.round[0]),
        low,
        high,
        band[0],
        band[1],
        errors,
    )


def _sentence(
    found: Adjustment,
    x: np.ndarray,
    y: np.ndarray,
    sd: np.ndarray,
    closure: np.ndarray,
    closure_sd: np.ndarray,
    flat: float,
) -> str:
    worst = int(np.argmax(sd.round(6)))
    closures = " and ".join(f"{c:+.2f} um (± {s:.2f} um)" for c, s in zip(closure, closure_sd))
    return (
        f"Flatness {flat:.2f} um; closures {closures}; standard deviation of one reading {three(found.reading_sd)} "
        f"arcsec, {found.note}; the least certain height is at x {x[worst]:g}, y {y[worst]:g} mm, one standard "
        f"deviation "
        f"{two(sd[worst])} um."
    )


def corner_heights(
    lines: dict[str, Line], heights: dict[str, np.ndarray], points: int
) -> tuple[np.ndarray, np.ndarray]:
    """Tie eight lines together the usual way, by hand arithmetic.

    `lines`: by their role. `heights` (..., stations): of each line, both ends at zero, in any unit. `points`: how many
    distinct stations there are. Returns `height` (..., points): zero at the centre, the two ends of each diagonal
    alike. `closure` (..., 2).
    """
    lead = np.broadcast_shapes(*(h.shape[:-1] for h in heights.values()))
    height, closure = np.full((*lead, points), np.nan), np.zeros((*lead, 2))

    def tied(role: str) -> np.ndarray:
        first, last = (height[..., lines[role].point[k], None] for k in (0, -1))
        return heights[role] + first + (last - first) * lines[role].fraction

    for role in ROLES[:2]:
        height[..., lines[role].point] = heights[role] - heights[role][..., [lines[role].middle]]
    for role in ROLES[2:6]:
        height[..., lines[role].point[1:-1]] = tied(role)[..., 1:-1]
    for k, role in enumerate(ROLES[6:]):
        line, found = lines[role], tied(role)
        closure[..., k] = found[..., line.middle]
        inner = [j for j in range(1, line.row.size - 1) if j != line.middle]
        height[..., line.point[inner]] = found[..., inner]
    return height, closure


def _spread(lines: dict[str, Line], points: int) -> tuple[np.ndarray, np.ndarray]:
    """Say what one second of arc in each reading does to each height and each closure, root sum of squares."""
    total = sum(line.row.size - 1 for line in lines.values())
    each, start = {}, 0
    for role, line in lines.items():
        stop = start + line.row.size - 1
        each[role] = np.zeros((total, line.row.size))
        each[role][start:stop] = [rises_um(line.along_mm, one) for one in np.eye(stop - start)]
        start = stop
    height, closure = corner_heights(lines, each, points)
    return np.sqrt((height**2).sum(axis=0)), np.sqrt((closure**2).sum(axis=0))
