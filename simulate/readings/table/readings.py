"""The shape of a checked readings table, and the one way a readings file is refused."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any, Self

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.table.slip_record import Slip

KINDS = (
    *("bars", "plates", "squares", "union jack", "lands", "wedge", "level", "edge", "bed", "joint"),
    *("head", "cross slide", "one square", "thickness"),
)
NAMED = ("bars", "plates", "squares")
"""Kinds whose bodies have names of their own; any other work is called by the name of its file or set."""
TYPED = "what was typed"
"""Name of a set that has none."""
SLOPES = ("union jack", "level")
"""Kinds whose readings are slopes: one reading is good to so many seconds of arc, and not micrometres."""
PLANE_WORDS = {"upright": "vertical", "level": "horizontal"}
"""What a file calls a plane, and what the trade calls it."""


_DO = {
    "cell": "Correct that cell, and read the file again",
    "empty": "Fill that cell, and read the file again",
    "table": "Correct the table, and read it again",
    "unsettled": "Read what is missing, and add it",
    "file": "Check its name, or save the table from the spreadsheet as CSV UTF-8, and read it again",
}


class ReadingsError(Refusal):
    """A readings file is refused, in one sentence.

    Parameters
    ----------
    file : str
        Name of the file, without its folder.
    found : str
        What stood there.
    must_be : str
        What may stand there.
    row : int, optional
        Line of the file, the first line being 1, comments counted.
    column : str, optional
        Name of the column as the header has it.
    value : str, optional
        The cell itself.
    code : str
        ``"cell"`` where `found` is what one cell holds, ``"table"`` where it is a clause of its own.
    do : str
        What to do next; to correct the cell or the table, where nothing more helpful can be said.

    Examples
    --------
    >>> print(ReadingsError("bars.csv", "'thin'", "a number", 4, "gap_um", "thin"))
    bars.csv, row 4, column gap_um is 'thin'; it must be a number. Correct that cell, and read the file again.
    """

    def __init__(
        self,
        file: str,
        found: str,
        must_be: str,
        row: int | None = None,
        column: str | None = None,
        value: str | None = None,
        *,
        code: str = "cell",
        do: str = "",
    ) -> None:
        self.file, self.row, self.column, self.value, self.usual_advice = file, row, column, value, not do
        place = [
            file,
            *((f"row {row}",) if row is not None else ()),
            *((f"column {column}",) if column is not None else ()),
        ]
        usual = _DO["empty" if code == "cell" and value == "" else code if code in _DO else "table"]
        super().__init__(code, where=", ".join(place), found=found, must_be=must_be, do=do or usual)


def shortened(text: str, most: int = 40) -> str:
    """Return `text` in quotes, cut where it is long.

    `most`: the most characters of it that are shown.

    >>> shortened("x" * 2000, 5)
    "'xxxxx...' (2000 characters)"
    """
    return repr(text) if len(text) <= most else f"{text[:most] + '...'!r} ({len(text)} characters)"


def _absent() -> np.ndarray:
    return np.empty(0)


@dataclass(frozen=True)
class Readings:
    """A checked table of readings: one entry of every array for each row that was read.

    Columns that a kind does not have are empty.

    Attributes
    ----------
    source : str
        Name of the file.
    kind : str
        One of `KINDS`.
    row : numpy.ndarray of int
        Line of the file that each reading stood on.
    names : tuple of str
        The bodies in order of appearance; for a union jack, the lines; for lands, the gauges; none
        for a wedge.
    round : numpy.ndarray of int
        1 where the file has no such column.
    lower, upper : numpy.ndarray of int
        Places in `names`; for lands, `lower` is the gauge.
    turned : numpy.ndarray
        bool for bars; degrees (0, 90, 180, 270) for plates.
    position_mm : numpy.ndarray
        Along the lower bar, or across the lower plate; height above the foot for squares; the middle land.
    y_mm : numpy.ndarray
        Plates and union jack.
    slide_x_mm, slide_y_mm : numpy.ndarray
        How far an upper plate was slid, 0 where nothing was said.
    gap_um : numpy.ndarray
        Point readings; nan where the row gives an interval. For a wedge, how wide it is open at the mark.
    low_um, high_um : numpy.ndarray
        Ends of the interval; both equal the gap at a point reading. A missing lower end is 0, a missing
        upper end is inf. For lands, of how proud the bar stands, and a missing lower end is -inf.
    line : tuple of str
        Union jack: name of the line of each row; otherwise empty.
    x_mm : numpy.ndarray
        Union jack only.
    reading_arcsec : numpy.ndarray
        nan at station 0.
    left_mm, right_mm : numpy.ndarray
        Lands: where the outer two fall on the bar.
    proud_um : numpy.ndarray
        Lands: the bar at the middle land over the line of the outer two; nan where the row gives an interval.
    looks, seen : numpy.ndarray of int
        Wedge: how often a mark was looked at, and how often it was seen open.
    last_digit : float
        Step of the last digit that was written of any point reading, in um (seconds of arc for a union jack).
    slips : tuple of Slip
        What the reader took as it was meant though it was written otherwise.
    """

    source: str
    kind: str
    row: np.ndarray
    names: tuple[str, ...]
    round: np.ndarray
    lower: np.ndarray = field(default_factory=_absent)
    upper: np.ndarray = field(default_factory=_absent)
    turned: np.ndarray = field(default_factory=_absent)
    position_mm: np.ndarray = field(default_factory=_absent)
    y_mm: np.ndarray = field(default_factory=_absent)
    slide_x_mm: np.ndarray = field(default_factory=_absent)
    slide_y_mm: np.ndarray = field(default_factory=_absent)
    gap_um: np.ndarray = field(default_factory=_absent)
    low_um: np.ndarray = field(default_factory=_absent)
    high_um: np.ndarray = field(default_factory=_absent)
    line: tuple[str, ...] = ()
    station: np.ndarray = field(default_factory=_absent)
    x_mm: np.ndarray = field(default_factory=_absent)
    reading_arcsec: np.ndarray = field(default_factory=_absent)
    left_mm: np.ndarray = field(default_factory=_absent)
    right_mm: np.ndarray = field(default_factory=_absent)
    proud_um: np.ndarray = field(default_factory=_absent)
    looks: np.ndarray = field(default_factory=_absent)
    seen: np.ndarray = field(default_factory=_absent)
    last_digit: float = 1.0
    slips: tuple[Slip, ...] = ()

    @property
    def is_interval(self) -> np.ndarray:
        """True for each row that gives an interval and not a point."""
        point = self.gap_um if self.gap_um.size else self.proud_um
        return np.isnan(point) if point.size else np.zeros(self.row.size, bool)

    def __len__(self) -> int:
        return int(self.row.size)

    def rows(self, keep: np.ndarray) -> Self:
        """Return the table with only the rows where `keep` is True; names stay as they are."""
        kept: dict[str, Any] = {name: v[keep] for name, v in vars(self).items() if isinstance(v, np.ndarray) and v.size}
        return replace(self, **kept, line=tuple(v for v, k in zip(self.line, keep) if k))


@dataclass(frozen=True)
class LineReadings(Readings):
    """Readings along lines of a plate: of a level or an autocollimator, or of what stands under a straightedge.

    `set_up`: readings of one set-up share the instrument's zero, or one laying of the edge; each line is its own where
    the file has no such column. `dial_um`: of a dial that rides on the work and touches the edge, + where the work
    stands higher; nan where a gap was read.
    """

    set_up: np.ndarray = field(default_factory=_absent)
    dial_um: np.ndarray = field(default_factory=_absent)

    @property
    def is_interval(self) -> np.ndarray:
        """True for each row that gives an interval and not a point."""
        if not self.low_um.size:
            return np.zeros(self.row.size, bool)
        return np.isfinite(self.low_um) & (self.low_um != self.high_um)


@dataclass(frozen=True)
class BedReadings(LineReadings):
    """Readings of a bed of one or two ways, or of two parts of one that are bolted together.

    `how`: ``"edge"``, ``"dial"``, ``"level"``, ``"cross"``, ``"strips"``, ``"diagonal"`` or ``"bolt"``. `way`, `part`,
    `plane`: which way a reading is on, empty where it is on both; which part; ``"upright"`` or ``"level"``. `to_x_mm`:
    where a step of a level, the far strip or a diagonal ends; nan elsewhere. `strip_mm`: length of the winding strips;
    nan elsewhere. `slope_digit`: as `last_digit`, of what a level read, in seconds of arc.
    """

    how: np.ndarray = field(default_factory=_absent)
    way: np.ndarray = field(default_factory=_absent)
    part: np.ndarray = field(default_factory=_absent)
    plane: np.ndarray = field(default_factory=_absent)
    to_x_mm: np.ndarray = field(default_factory=_absent)
    strip_mm: np.ndarray = field(default_factory=_absent)
    slope_digit: float = 1.0


@dataclass(frozen=True)
class AlignmentReadings(LineReadings):
    """Readings of an axis by test bar, of a cross slide, of one square, or of the thickness of a piece.

    Columns that a kind does not have are empty; what a file says once of a bar, a gauge or itself stands in every row.

    `x_mm` (numpy.ndarray): along the bed, along the travel of the slide, up the blade, or along the piece. `how`: what
    one square is proved by, or ``"micrometer"`` and ``"square"`` for a piece. `plane`: ``"upright"``, ``"level"``, or
    ``"foot"`` where a foot stands. `turn_deg`: which mark of a roller faces away from the square; nan for any other
    gauge. `diameter_mm`, `length_mm`, `held_mm`: of the test bar: how thick, how long from where it is held, and where
    that is; nan where not said. `taper_um`, `taper_sd_um`: by how much a strip or a roller is wider at the lowest
    height that was read than at the highest. `base_sd_urad`: standard uncertainty of the line or the flat that the base
    of the square lies on. `face`, `against`: faces that were read against each other. `square_urad`, `square_sd_urad`:
    what the square is out by, as it is known already, positive where it is too wide.
    """

    how: np.ndarray = field(default_factory=_absent)
    plane: np.ndarray = field(default_factory=_absent)
    turn_deg: np.ndarray = field(default_factory=_absent)
    diameter_mm: np.ndarray = field(default_factory=_absent)
    length_mm: np.ndarray = field(default_factory=_absent)
    held_mm: np.ndarray = field(default_factory=_absent)
    taper_um: np.ndarray = field(default_factory=_absent)
    taper_sd_um: np.ndarray = field(default_factory=_absent)
    base_sd_urad: np.ndarray = field(default_factory=_absent)
    face: np.ndarray = field(default_factory=_absent)
    against: np.ndarray = field(default_factory=_absent)
    thickness_um: np.ndarray = field(default_factory=_absent)
    square_urad: np.ndarray = field(default_factory=_absent)
    square_sd_urad: np.ndarray = field(default_factory=_absent)
