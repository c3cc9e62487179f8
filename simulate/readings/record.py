"""The shape of a checked readings table, and the one way a readings file is refused."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.slip_record import Slip

KINDS = ("bars", "plates", "squares", "union jack", "lands", "wedge")


_DO = {"cell": "Correct that cell, and read the file again", "empty": "Fill that cell, and read the file again",
       "table": "Correct the table, and read it again", "unsettled": "Read what is missing, and add it",
       "file": "Check its name, or save the table from the spreadsheet as CSV UTF-8, and read it again"}


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

    def __init__(self, file: str, found: str, must_be: str, row: int | None = None, column: str | None = None,
                 value: str | None = None, *, code: str = "cell", do: str = "") -> None:
        self.file, self.row, self.column, self.value = file, row, column, value
        place = [file, *((f"row {row}",) if row is not None else ()), *((f"column {column}",) if column is not None else ())]
        usual = _DO["empty" if code == "cell" and value == "" else code if code in _DO else "table"]
        super().__init__(code, where=", ".join(place), found=found, must_be=must_be, do=do or usual)


def shortened(text: str, most: int = 40) -> str:
    """Return `text` in quotes, cut where it is long.

    Parameters
    ----------
    text : str
    most : int
        The most characters of it that are shown.

    Returns
    -------
    str

    Examples
    --------
    >>> shortened("x" * 2000, 5)
    "'xxxxx...' (2000 characters)"
    """
    return repr(text) if len(text) <= most else f"{text[:most] + '...'!r} ({len(text)} characters)"


@dataclass(frozen=True)
class Readings:
    """A checked table of readings: one entry of every array for each row that was read.

    Columns that a kind does not have are None.

    Attributes
    ----------
    source : str
        Name of the file.
    kind : str
        ``"bars"``, ``"plates"``, ``"squares"``, ``"union jack"``, ``"lands"`` or ``"wedge"``.
    row : numpy.ndarray of int
        Line of the file that each reading stood on.
    names : tuple of str
        The bodies in order of appearance; for a union jack, the lines; for lands, the gauges; none
        for a wedge.
    round : numpy.ndarray of int
        1 where the file has no such column.
    lower, upper : numpy.ndarray of int or None
        Places in `names`; for lands, `lower` is the gauge.
    turned : numpy.ndarray or None
        bool for bars; degrees (0, 90, 180, 270) for plates.
    position_mm : numpy.ndarray or None
        Along the lower bar, or across the lower plate; height above the foot for squares; the middle land.
    y_mm : numpy.ndarray or None
        Plates and union jack.
    slide_x_mm, slide_y_mm : numpy.ndarray or None
        How far an upper plate was slid, 0 where nothing was said.
    gap_um : numpy.ndarray or None
        Point readings; nan where the row gives an interval. For a wedge, how wide it is open at the mark.
    low_um, high_um : numpy.ndarray or None
        Ends of the interval; both equal the gap at a point reading. A missing lower end is 0, a missing
        upper end is inf. For lands, of how proud the bar stands, and a missing lower end is -inf.
    line : tuple of str
        Union jack: name of the line of each row; otherwise empty.
    station : numpy.ndarray of int or None
    x_mm : numpy.ndarray or None
        Union jack only.
    reading_arcsec : numpy.ndarray or None
        nan at station 0.
    left_mm, right_mm : numpy.ndarray or None
        Lands: where the outer two fall on the bar.
    proud_um : numpy.ndarray or None
        Lands: the bar at the middle land over the line of the outer two; nan where the row gives an interval.
    looks, seen : numpy.ndarray of int or None
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
    lower: np.ndarray | None = None
    upper: np.ndarray | None = None
    turned: np.ndarray | None = None
    position_mm: np.ndarray | None = None
    y_mm: np.ndarray | None = None
    slide_x_mm: np.ndarray | None = None
    slide_y_mm: np.ndarray | None = None
    gap_um: np.ndarray | None = None
    low_um: np.ndarray | None = None
    high_um: np.ndarray | None = None
    line: tuple[str, ...] = ()
    station: np.ndarray | None = None
    x_mm: np.ndarray | None = None
    reading_arcsec: np.ndarray | None = None
    left_mm: np.ndarray | None = None
    right_mm: np.ndarray | None = None
    proud_um: np.ndarray | None = None
    looks: np.ndarray | None = None
    seen: np.ndarray | None = None
    last_digit: float = 1.0
    slips: tuple[Slip, ...] = ()

    @property
    def is_interval(self) -> np.ndarray:
        """True for each row that gives an interval and not a point."""
        point = self.proud_um if self.gap_um is None else self.gap_um
        return np.zeros(self.row.size, bool) if point is None else np.isnan(point)

    def __len__(self) -> int:
        return int(self.row.size)

    def rows(self, keep: np.ndarray) -> Readings:
        """Return the table with only the rows where `keep` is True; names stay as they are.

        Parameters
        ----------
        keep : numpy.ndarray of bool

        Returns
        -------
        Readings
        """
        kept = {}
        for field, value in self.__dict__.items():
            if isinstance(value, np.ndarray):
                kept[field] = value[keep]
            elif field == "line" and value:
                kept[field] = tuple(v for v, k in zip(value, keep) if k)
            else:
                kept[field] = value
        return Readings(**kept)
