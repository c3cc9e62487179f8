"""The face of each plate, from gaps between plates in pairs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulate.core import checks
from simulate.core.number_format import three, two
from simulate.core.refusal import Refusal, counted
from simulate.readings.adjustment.bounds import Contradiction, blades_against
from simulate.readings.adjustment.least_squares import MOST_BOUNDS, Adjustment
from simulate.readings.adjustment.observations import gaps_and_widths, given_sd, given_step, needs, of_round
from simulate.readings.adjustment.posterior import WIDER, thinned_words
from simulate.readings.adjustment.ranges import Ranges, normal_ranges, with_whole
from simulate.readings.adjustment.repeatability import SCALES, Resolution, resolution_of
from simulate.readings.bars.bar_words import open_words
from simulate.readings.plates.plate_equations import plane_of, plate_datum, plate_design, plate_unknowns, stations_read
from simulate.readings.plates.plate_families import families_of
from simulate.readings.plates.plate_hollow import PlateHollow, hollow_plates
from simulate.readings.plates.plate_intervals import slope_of_gaps, solve_plate_intervals
from simulate.readings.plates.plate_stations import Stations, meetings, stations_of
from simulate.readings.reference.dependence import Dependence, adjust_held, dependence, told
from simulate.readings.reference.hold import Hold, chosen, hold
from simulate.readings.reference.known import Known, laid_over
from simulate.readings.table.readings import Readings
from simulate.readings.table.size_limit import refuse_too_many
from simulate.surface.flatness import flatness


@dataclass(frozen=True)
class SolvedPlates:
    """The height of each plate at each station, and how sure that is.

    Attributes
    ----------
    names : tuple of str
        Plates that were solved, without those that were known already.
    x_mm, y_mm : numpy.ndarray, shape (points,)
        Stations on a plate's own face seen from above, row by row, in the positions of the table.
    height_um : numpy.ndarray, shape (bodies, points)
        Each plate's own least-squares plane taken out; nan at a station where that plate was not read.
    sd_um : numpy.ndarray, shape (bodies, points)
    covariance : numpy.ndarray, shape (bodies, points, bodies, points)
        In square micrometres, in the same datum.
    residual_um : numpy.ndarray, shape (readings,)
    low_um, high_um : numpy.ndarray or None
        What no height can be below or above, where readings are intervals.
    flatness_um : numpy.ndarray, shape (bodies,)
        Minimum zone over the stations that were read.
    factor_95 : float
        Height plus or minus this many sd holds the truth 95 times in 100.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"resolution"`` (the step of the figures is all the scatter there is),
        ``"intervals"`` or ``"assumed"``.
    low_95_um, high_95_um : numpy.ndarray, shape (bodies, points), or None
        Hold each height by itself 95 times in 100; None where the spread of a gap is only assumed.
    low_whole_um, high_whole_um : numpy.ndarray, shape (bodies, points), or None
        Hold a whole plate 95 times in 100.
    draws_um : numpy.ndarray, shape (draws, bodies, points)
        Errors that the readings may have put on the heights.
    resolution : Resolution or None
        Smallest step of the point readings.
    open_rows : tuple of int
        Lines of readings without an upper end: what they leave open is told under the prior alone.
    against : Contradiction or None
        Intervals that contradict each other, and whether feel and place of the blades explain it.
    feel_um, place_mm : float
        What was taken for the feel and the place of blades.
    hollow : tuple of PlateHollow
        Where ends are open: what is hollow for certain, whatever the shape.
    remarks : tuple of str
        What is said of contradictions, open ends and certain hollows; they end `sentence`.
    freedom : int
        Readings more than needed.
    depends : Dependence or None
        What the result owes to plates that were known already.
    wider : float
        So much wider than the deviations say are the ranges of intervals; 1 without intervals.
    """

    names: tuple[str, ...]
    x_mm: np.ndarray
    y_mm: np.ndarray
    height_um: np.ndarray
    sd_um: np.ndarray
    covariance: np.ndarray
    residual_um: np.ndarray
    reading_sd_um: float
    low_um: np.ndarray | None
    high_um: np.ndarray | None
    flatness_um: np.ndarray
    sentence: str
    factor_95: float = 1.96
    sd_from: str = "given"
    round: int = 1
    low_95_um: np.ndarray | None = None
    high_95_um: np.ndarray | None = None
    low_whole_um: np.ndarray | None = None
    high_whole_um: np.ndarray | None = None
    draws_um: np.ndarray | None = None
    resolution: Resolution | None = None
    open_rows: tuple[int, ...] = ()
    against: Contradiction | None = None
    feel_um: float = 0.0
    place_mm: float = 0.0
    hollow: tuple[PlateHollow, ...] = ()
    remarks: tuple[str, ...] = ()
    freedom: int = 0
    depends: Dependence | None = None
    wider: float = 1.0

    @property
    def left_open(self) -> tuple[str, ...]:
        """Plates that readings without an upper end leave open."""
        return self.names if self.open_rows else ()


def solve_plates(
    table: Readings,
    reading_sd_um: float | None = None,
    centre_mm: tuple[float, float] | None = None,
    round: int | None = None,
    bounds: bool = True,
    *,
    resolution_um: float | None = None,
    feel_um: float | None = None,
    place_mm: float | None = None,
    known: Sequence[Known] = (),
) -> SolvedPlates:
    """Find the face of each plate from gaps between plates in pairs.

    The upper plate lies face down, turned over about its y axis, then turned and slid; the gap at a point is
    the fit's own plane less the two heights that meet there. Every fit's plane is unknown and solved for.

    Parameters
    ----------
    table : Readings
        What `read_readings` gives for plates; positions are those on the lower plate.
    reading_sd_um : float, optional
        Standard deviation of one gap. Without it, it is found from the residuals where readings are more than
        needed; otherwise it is taken as 1 um and `sentence` says so.
    centre_mm : tuple of float, optional
        The point the upper plate is turned about; the middle of the extent of the stations if not given.
    round : int, optional
        Which round; the last of the file where it is not said.
    bounds : bool
        Whether to work out guaranteed bounds from intervals.
    resolution_um : float, optional
        Smallest step of the point readings; the step that the figures show where it is not given.
    feel_um : float, optional
        Standard deviation of the gap at which a blade is felt to go; weighed between 0 and 4 um where it is not given.
    place_mm : float, optional
        Standard deviation of where a blade went in; 1 mm where it is not given.
    known : sequence of Known
        Plates that are known already (`known_from`, `from_certificate`). They are no part of the result; their
        uncertainty is, with all its correlations, and the readings may contradict them. Places count from the same
        point as where they were read; between their stations heights lie on a flat triangle of neighbours.

    Returns
    -------
    SolvedPlates
        What it cannot see: anything between the stations, and sag that the plates share.

    Raises
    ------
    ValueError
        Where the fits that were read leave a shape unseen: which families, how many, and the one further fit
        that would show most of it.

    Notes
    -----
    Three plates face to face hide every shape that is odd across the y axis, twist among them; a quarter turn
    shows the twist (J. Rose, Modern Machine-Shop Practice, Figs 2443-2444); the pinwheel survives every square
    turn and is seen only after a sideways slide.

    Examples
    --------
    >>> from simulate.readings.table.read import read_readings
    >>> rows = [f"{a},{b},{t},{x},{y},{0 if t == 0 else 8 - 8 * x * y / 100}" for a, b, t in (
    ...     ("A", "B", 0), ("A", "C", 0), ("B", "C", 0), ("A", "B", 90)) for y in (-10, 0, 10) for x in (-10, 0, 10)]
    >>> found = solve_plates(read_readings("\\n".join(["lower,upper,turned,x_mm,y_mm,gap_um", *rows]).encode()))
    >>> (found.height_um[0].round(6) + 0.0).tolist()
    [4.0, 0.0, -4.0, 0.0, 0.0, 0.0, -4.0, 0.0, 4.0]
    """
    needs(table, "plates")
    every, table = table.names, of_round(table, round)
    reading_sd_um = given_sd(reading_sd_um, "reading_sd_um")
    stations = stations_of(table, centre_mm)
    bodies, points = len(table.names), stations.x_mm.size
    refuse_too_many(table, max(bodies, points), f"{bodies} plates at {points} stations")
    read = stations_read(table, stations, bodies)
    held, free = held_plates(known, table, every, centre_mm)
    _refuse_thin(table, stations, read, free)
    design = plate_design(table, stations, read)
    datum = plate_datum(stations, read, design.shape[1])[rows_of(read, free)]
    gap, width = gaps_and_widths(table)
    given = given_step(resolution_um)
    step = resolution_of(table.gap_um, given, table.last_digit) if not table.is_interval.all() else None
    could = adjust_held(held, design, np.nan_to_num(gap), datum, 1.0) if np.isnan(gap).any() else None
    found, of = adjust_held(held, design, gap, datum, reading_sd_um, width, step) if np.isfinite(gap).any() else could
    hidden = (could[0] if could else found).hidden
    if len(hidden):
        shapes = np.zeros((len(hidden), bodies, points))
        shapes[:, read & np.isin(np.arange(bodies), free)[:, None]] = hidden
        raise _refusal(table, stations, shapes, read, held)
    solved = Solved(tuple(table.names[i] for i in free), read[free], held, of)
    if not table.is_interval.any():
        height = _spread(found.value, read[free])
        ranges = normal_ranges(
            height,
            _spread(found.sd, read[free]),
            _full(found.covariance, read[free]),
            found.range_dof,
            found.sd_from != "assumed" and not (of and of.assumed),
        )
        return _solution(table, stations, solved, found, found.covariance, height, ranges, resolution=step)
    blades = tuple(
        None if v is None else checks.number(v, name, 0, 1000)
        for v, name in ((feel_um, "feel_um"), (place_mm, "place_mm"))
    )
    return _by_intervals(table, stations, read, solved, design, datum, found, step, blades, bounds)


@dataclass(frozen=True)
class Solved:
    """Which plates are solved, where they were read, and what they owe to others."""

    names: tuple[str, ...]
    read: np.ndarray
    held: Hold | None
    depends: Dependence | None


def held_plates(
    known: Sequence[Known],
    table: Readings,
    every: Sequence[str] | None = None,
    centre_mm: tuple[float, float] | None = None,
) -> tuple[Hold | None, np.ndarray]:
    """Put plates that are known into the unknowns, and say which plates are not.

    `every`: plates of the whole file.
    """
    stations = stations_of(table, centre_mm)
    read = stations_read(table, stations, len(table.names))
    mine = chosen(known, table.names, every or table.names, "plates", table.source)
    at, blocks, mixed = [table.names.index(one.name) for one in mine], [], 0
    for one, i in zip(mine, at, strict=True):
        x, y = (
            part[read[i]] + middle
            for part, middle in zip((stations.x_mm, stations.y_mm), stations.centre_mm, strict=True)
        )
        mix = laid_over(one, x, y)
        mixed += int((mix.max(axis=1) < 1 - 1e-9).sum())
        blocks.append((one, rows_of(read, [i]), mix))
    held = hold(plate_unknowns(table, read), blocks)
    return None if held is None else replace(held, mixed=mixed), np.setdiff1d(np.arange(len(read)), at)


def rows_of(read: np.ndarray, bodies: Sequence[int] | np.ndarray) -> np.ndarray:
    """Places of some plates' heights among all that were read."""
    return np.flatnonzero(np.isin(np.nonzero(read)[0], bodies))


def _by_intervals(
    table: Readings,
    stations: Stations,
    read: np.ndarray,
    solved: Solved,
    design: np.ndarray,
    datum: np.ndarray,
    found: Adjustment,
    step: Resolution | None,
    blades: tuple[float | None, float | None],
    bounds: bool,
) -> SolvedPlates:
    scales = (
        SCALES
        if found.sd_from == "residuals"
        else tuple(s for s in SCALES if s >= 1)
        if found.sd_from == "resolution"
        else (1.0,)
    )
    held, bounded = solved.held, bounds and len(datum) <= MOST_BOUNDS
    left = solve_plate_intervals(
        table, stations, solved.read, design, datum, found.reading_sd, scales, *blades, bounded, held
    )
    of, read = left.of_heights, solved.read
    if held is not None:
        solved = replace(solved, depends=dependence(held, *left.of_errors))
    height, low, high = (_spread(part, read) for part in (of.mean, of.low_95, of.high_95))
    draws = np.zeros((len(of.draws), *read.shape))
    draws[:, read] = of.draws - of.mean
    ranges = (
        with_whole(height, low, high, draws)
        if found.sd_from != "assumed" and not (solved.depends and solved.depends.assumed)
        else Ranges(low_95=None, high_95=None, low_whole=None, high_whole=None, draws=draws)
    )
    gap, _ = gaps_and_widths(table)
    residual = np.where(np.isfinite(gap), gap - left.gap_um, np.maximum(table.low_um - left.gap_um, 0.0))
    at_known, turned = (0.0, design) if held is None else (design @ held.shift, design @ held.turn)
    slope = slope_of_gaps(table, stations)
    of_known = held.errors(turned.shape[1]) if held else None
    against = blades_against(left.bounds, table, turned, slope, blades, at_known, of_known)
    ends = (None, None)
    if left.bounds.low_um is not None and len(left.bounds.low_um):
        ends = (_spread(left.bounds.low_um, read), _spread(left.bounds.high_um, read))
    loose = tuple(int(row) for row in table.row[~np.isfinite(table.high_um)])
    found = replace(found, residual=residual, reading_sd=found.reading_sd * of.scale, over=0 if held else found.over)
    hollow = (
        hollow_plates(table, stations, read, design, table.names)
        if loose and against is None and not held and len(datum) <= MOST_BOUNDS
        else ()
    )
    remarks = [against.sentence] if against else []
    remarks += [open_words(len(loose), "plates")] if loose else []
    remarks += thinned_words(of.thinned)
    return _solution(
        table,
        stations,
        solved,
        found,
        of.covariance,
        height,
        ranges,
        ends,
        WIDER * found.factor_95,
        resolution=step,
        open_rows=loose,
        against=against,
        place_mm=left.place_mm,
        wider=WIDER,
        feel_um=float(np.sqrt(of.feel @ left.errors.feel_um**2)),
        hollow=hollow,
        remarks=(*remarks, *(one.sentence for one in hollow)),
    )


def _solution(
    table: Readings,
    stations: Stations,
    solved: Solved,
    found: Adjustment,
    covariance: np.ndarray,
    height: np.ndarray,
    ranges: Ranges,
    ends: tuple[np.ndarray | None, np.ndarray | None] = (None, None),
    factor_95: float | None = None,
    **more,
) -> SolvedPlates:
    read, of, sd_from = solved.read, solved.depends, found.sd_from
    sd = _spread(np.sqrt(np.clip(np.diag(covariance), 0, None)), read)
    flat = _flatness(stations, height)
    said = [_sentence(solved.names, stations, found, flat, sd)]
    if of is not None:
        of = told(solved.held, of, solved.names, sd, found.factor_95, bounds_out=bool(table.is_interval.any()))
        said, sd_from = [*said, of.sentence], "assumed" if of.assumed else sd_from
    return SolvedPlates(
        solved.names,
        stations.x_mm + stations.centre_mm[0],
        stations.y_mm + stations.centre_mm[1],
        height,
        sd,
        _full(covariance, read).reshape(*read.shape, *read.shape),
        found.residual,
        found.reading_sd,
        *ends,
        flat,
        " ".join([*said, *more.get("remarks", ())]),
        found.factor_95 if factor_95 is None else factor_95,
        sd_from,
        int(table.round[0]),
        ranges.low_95,
        ranges.high_95,
        ranges.low_whole,
        ranges.high_whole,
        ranges.draws,
        freedom=found.freedom,
        depends=of,
        **more,
    )


def _full(covariance: np.ndarray, read: np.ndarray) -> np.ndarray:
    full = np.full((read.size,) * 2, np.nan)
    full[np.ix_(read.ravel(), read.ravel())] = covariance
    return full


def _refuse_thin(table: Readings, stations: Stations, read: np.ndarray, free: np.ndarray) -> None:
    for name, seen in [(table.names[i], read[i]) for i in free]:
        plane = plane_of(stations)[seen]
        if seen.sum() < 4 or np.linalg.matrix_rank(plane, tol=1e-3) < 3:
            raise Refusal(
                "count",
                where=table.source,
                found=f"{counted(int(seen.sum()), 'station')} of plate {name}",
                must_be="four or more of each plate, not all in one line",
            )


def _spread(values: np.ndarray, read: np.ndarray) -> np.ndarray:
    spread = np.full(read.shape, np.nan)
    spread[read] = values
    return spread


def _refusal(table: Readings, stations: Stations, shapes: np.ndarray, read: np.ndarray, held: Hold | None) -> Refusal:
    count = len(shapes)
    families = families_of(stations, shapes)
    named = ", ".join(f"{name} {k}" for name, k in families.items())
    loose = [name for name, part in zip(table.names, np.abs(shapes).max(axis=(0, 2))) if part > 1e-6]
    makes = "makes" if count == 1 else "make"
    seen = f"{counted(count, 'shape')} of {', '.join(loose)} {makes} no gap in any fit that was read"
    advice = _advice(table, stations, shapes, read, held)
    return Refusal(
        "unsettled",
        where=f"{table.source} does not settle the plates",
        found=f"{seen}{f' ({named})' if named else ''}",
        do=advice[0].upper() + advice[1:],
    )


def _advice(table: Readings, stations: Stations, shapes: np.ndarray, read: np.ndarray, held: Hold | None) -> str:
    names, step = table.names, _step(stations)
    if len(names) < 3 and held is None:
        return (
            f"two plates alone never settle it, because a bowl on one fits a dome on the other. Take one as known from "
            f"an earlier set or a certificate, or read both {names[0]} and {names[1]} against a third plate as well"
        )
    best = (0, "read every pair of plates at the same stations, at 0 and at 90 degrees and once slid sideways")
    for slide in ((0.0, 0.0), (step, 0.0)):
        for turned in (0, 90, 180, 270):
            met = meetings(stations, turned, slide)
            for i in range(len(names)):
                for j in range(i + 1, len(names)):
                    shown = _shown(stations, shapes, met[read[i, met[:, 0]] & read[j, met[:, 1]]], i, j)
                    if shown > best[0]:
                        slid = f", slid {slide[0]:g} mm along x" if slide[0] else ""
                        left = len(shapes) - shown
                        best = (
                            shown,
                            f"{names[j]} on {names[i]} turned {turned} degrees{slid} would show "
                            f"{'it' if len(shapes) == 1 else f'{shown} of them' if left else 'all of them'}",
                        )
    return best[1]


def _shown(stations: Stations, shapes: np.ndarray, met: np.ndarray, lower: int, upper: int) -> int:
    """Count the hidden shapes that one further fit would show."""
    if len(met) < 4:
        return 0
    gap = shapes[:, lower, met[:, 0]] + shapes[:, upper, met[:, 1]]
    plane = plane_of(stations)[met[:, 0]]
    gap = gap - (plane @ (np.linalg.pinv(plane) @ gap.T)).T
    return int(np.linalg.matrix_rank(gap, tol=1e-6))


def _step(stations: Stations) -> float:
    steps = np.diff(np.unique(np.round(stations.x_mm, 2)))
    return float(np.round(steps.min(), 2)) if steps.size else 0.0


def _flatness(stations: Stations, height_um: np.ndarray) -> np.ndarray:
    return np.array(
        [
            float(flatness(stations.x_mm[np.isfinite(h)], stations.y_mm[np.isfinite(h)], h[np.isfinite(h)]).value_um)
            for h in height_um
        ]
    )


def _sentence(names: tuple[str, ...], stations: Stations, found, flat: np.ndarray, sd: np.ndarray) -> str:
    body, point = np.unravel_index(int(np.nanargmax(sd)), sd.shape)
    forms = ", ".join(f"{name} {value:.1f} um" for name, value in zip(names, flat, strict=True))
    where = (stations.x_mm[point] + stations.centre_mm[0], stations.y_mm[point] + stations.centre_mm[1])
    return (
        f"Flatness: {forms}; the least certain height is {names[body]} at x {where[0]:g}, y {where[1]:g} mm, "
        f"one standard deviation {two(sd[body, point])} um; standard deviation of one gap "
        f"{three(found.reading_sd)} um, {found.note}."
    )
