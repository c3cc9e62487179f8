"""Readings of any kind that hang on heights at places: what each height and each zero does to each reading."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from simulate.readings.adjustment.repeatability import ASSUMED_SD, Resolution, marked_step, resolution_of
from simulate.readings.reference.hold import Laid

_FEW = 4


@dataclass(frozen=True, kw_only=True)
class Instrument:
    """What readings were taken with.

    Attributes
    ----------
    name, unit : str
        The unit of its readings: ``"um"`` or ``"arcsec"``.
    sd : float or None
        Standard deviation of one point reading, where it is given.
    resolution : Resolution or None
        None where it gave no point reading.
    usual : float
        What one reading is usually good to, which counts only against that of another instrument.
    """

    name: str
    unit: str
    sd: float | None = None
    resolution: Resolution | None = None
    usual: float = ASSUMED_SD


@dataclass(frozen=True, kw_only=True)
class Network:
    """Readings that hang on heights: ``reading = design @ (heights, nuisances) + error``.

    Attributes
    ----------
    source : str
        Name of the file.
    bodies : tuple of str
        A plate, or the ways of a bed in each plane.
    body : numpy.ndarray of int, shape (points,)
        Which body each height is on.
    x_mm, y_mm : numpy.ndarray, shape (points,)
    rigid : numpy.ndarray, shape (points, k)
        What moving all of it as one does to each height; no reading shows that, and it is taken out.
    own : numpy.ndarray, shape (points, k)
        What moving each body by itself does to its heights: lines or planes, which its shape is counted from.
    shape_at : numpy.ndarray, shape (points, d)
        Places along which a body's shape is smooth, from about -1 to 1.
    design : numpy.ndarray, shape (readings, points + nuisances)
    low, high : numpy.ndarray, shape (readings,)
        In the unit of the reading's instrument; equal for a point, infinite where a side is open.
    instrument : numpy.ndarray of int, shape (readings,)
    group : numpy.ndarray of int, shape (readings,)
        Which laying of an edge, line or set-up each reading belongs to.
    row : numpy.ndarray of int, shape (readings,)
        Line of the file.
    along_mm : numpy.ndarray, shape (readings,)
        Place of a reading along its group, where a gap has one; nan elsewhere.
    laying : numpy.ndarray of int, shape (readings,)
        Which laying of a straight edge over one body's heights a gap belongs to; -1 for any other reading.
    nuisance : tuple of str
        Zeros, lifts and tilts.
    nuisance_sd : numpy.ndarray, shape (nuisances,)
        Standard deviation of each about 0: 1 for an error of a body that is known already, or of anything else that is
        known beforehand, inf for all others.
    at_known : numpy.ndarray, shape (readings,)
        What bodies that are known already put on each reading.
    laid : Laid or None
        Their errors, which are the last nuisances.
    """

    source: str
    round: int
    bodies: tuple[str, ...]
    body: np.ndarray
    x_mm: np.ndarray
    y_mm: np.ndarray
    rigid: np.ndarray
    own: np.ndarray
    shape_at: np.ndarray
    design: np.ndarray
    low: np.ndarray
    high: np.ndarray
    instrument: np.ndarray
    instruments: tuple[Instrument, ...]
    group: np.ndarray
    groups: tuple[str, ...]
    row: np.ndarray
    along_mm: np.ndarray
    laying: np.ndarray
    nuisance: tuple[str, ...] = ()
    nuisance_sd: np.ndarray = field(default_factory=lambda: np.zeros(0))
    at_known: np.ndarray = field(default_factory=lambda: np.zeros(1))
    laid: Laid | None = None

    @property
    def points(self) -> int:
        """How many heights there are."""
        return int(self.x_mm.size)

    @property
    def errors(self) -> np.ndarray:
        """Pick the errors of known bodies out of all unknowns, shape (errors, unknowns)."""
        return np.eye(self.design.shape[1])[self.points + np.flatnonzero(np.isfinite(self.nuisance_sd))]

    @property
    def ends(self) -> tuple[np.ndarray, np.ndarray]:
        """Both ends of each reading, less what known bodies put on it."""
        return self.low - self.at_known, self.high - self.at_known

    @property
    def point_reading(self) -> np.ndarray:
        """True for each reading that is a figure and no interval."""
        return self.low == self.high

    @property
    def middle(self) -> np.ndarray:
        """The figure, or the middle of an interval; nan where a side is open."""
        closed = np.isfinite(self.low) & np.isfinite(self.high)
        return np.where(closed, (np.where(closed, self.low, 0) + np.where(closed, self.high, 0)) / 2, np.nan)

    @property
    def width(self) -> np.ndarray:
        """Width of each interval: 0 for a point, inf where a side is open."""
        closed = np.isfinite(self.low) & np.isfinite(self.high)
        return np.where(closed, np.where(closed, self.high, 0) - np.where(closed, self.low, 0), np.inf)


def instrument_of(
    name: str, unit: str, reading: np.ndarray, sd: float | None, last_digit: float, usual: float = ASSUMED_SD
) -> Instrument:
    """Say what is known of an instrument from its point readings; nan is left out."""
    figures = np.unique(reading[np.isfinite(reading)])
    step = resolution_of(reading, None, last_digit) if figures.size else None
    if step is not None and figures.size < _FEW:  # two figures are always one step apart
        step = Resolution(step=min(step.step, marked_step(figures, last_digit)), source="assumed")
    return Instrument(name=name, unit=unit, sd=sd, resolution=step, usual=usual)
