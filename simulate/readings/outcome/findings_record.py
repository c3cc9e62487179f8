"""What the readings of any kind say, in one shape."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three, with_sign
from simulate.readings.adjustment.consistency import Consistency
from simulate.readings.adjustment.next_reading import NextReading
from simulate.readings.outcome.progress_words import Progress
from simulate.readings.outcome.round_record import OwnRounds
from simulate.readings.outcome.stop_rule import StopRule
from simulate.readings.table.slip_record import Slip


@dataclass(frozen=True)
class Findings:
    """What the readings say, in one shape for every kind.

    Attributes
    ----------
    kind : str
        One of ``simulate.readings.table.readings.KINDS``.
    solution : object
        What the kind's own solver gave: ``BarSolution``, ``SolvedPlates``, ``SolvedSquares``, ``UnionJack``,
        ``SolvedLands`` or ``SolvedWedge``.
    sentences : tuple of str
        What the readings say, one thought each, in order.
    heading : tuple of str
        Heads of a table of results, with their units.
    rows : tuple of tuple of str
        One for each body, or for each quantity.
    detail_heading, detail_rows : tuple
        The same for every station.
    consistency : Consistency or None
        None where readings cannot be held against each other.
    hidden : tuple of str
        What readings like these cannot show.
    next : NextReading or None
        The one further fit, line, gauge or mark that would tell most.
    cut : tuple of str
        The next cut in words.
    map : object or None
        The cut as a map: ``CutMap``, ``FaceCut`` or ``SquareCut``.
    stop : StopRule or None
        Whether another round is worth it.
    form_um : float or None
        The worst body's figure of form, which progress is told from.
    sd_from : str
        ``"given"``, ``"residuals"``, ``"intervals"`` or ``"assumed"``: where the spread of a reading comes from.
    progress : Progress or None
        Of the rounds in the file up to this one; None where there is one round, or none can be compared.
    rounds : OwnRounds or None
        What each of those rounds was out by, with its range.
    slips : tuple of Slip
        What the file holds that looks like a slip of the pen.
    """

    kind: str
    source: str
    round: int
    solution: object
    sentences: tuple[str, ...]
    heading: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    consistency: Consistency | None
    hidden: tuple[str, ...]
    next: NextReading | None
    cut: tuple[str, ...]
    cautions: tuple[str, ...]
    detail_heading: tuple[str, ...] = ()
    detail_rows: tuple[tuple[str, ...], ...] = ()
    map: object | None = None
    stop: StopRule | None = None
    form_um: float | None = None
    sd_from: str = "given"
    progress: Progress | None = None
    rounds: OwnRounds | None = None
    slips: tuple[Slip, ...] = ()


FILING = (
    "Take half of what the map says, check again, and take the rest: a reading may be wrong, and metal does not "
    "come back."
)
HANDS = (
    "Keep the handle tight on the tang and the work low and firm in the vice; protect your eyes; brush filings away, "
    "and never blow."
)
PLATES = "Lift plates with help and slide them apart, with no fingers between."
RULES = "The rules of your own workshop and the person responsible for it come before anything said here."
ASSUMED = (
    "The repeatability of a reading was assumed, since nothing in the readings shows it. So no range is given, and "
    "nothing is called certain. One more fit, turned, or one read twice would show it."
)


MOST_CERTAIN = 200
"""Heights beyond which findings leave guaranteed bounds out: two linear programs for each would keep a panel
waiting."""


def cautions(sd_from: str, *more: str) -> tuple[str, ...]:
    """Return what to keep in mind before metal comes off."""
    return (*((ASSUMED,) if sd_from == "assumed" else ()), *more, RULES)


def left_out_words(intervals: bool, heights: int, solver: str) -> tuple[str, ...]:
    """Say that guaranteed bounds were left out, where they were.

    `intervals`: whether any reading is one. `solver`: the function that works them out all the same.

    >>> left_out_words(True, 40, "solve_bars"), len(left_out_words(True, 400, "solve_bars"))
    ((), 1)
    """
    if not intervals or heights <= MOST_CERTAIN:
        return ()
    return (
        f"What the intervals alone make certain is left out here: for {heights} heights it would "
        f"take too long ({solver} "
        "works it out).",
    )


def sentence_of(part: NextReading | None) -> tuple[str, ...]:
    """Return the sentence of what may be missing."""
    return () if part is None else (part.sentence,)


def end_words(value: float) -> str:
    """Return one end of what is certain, or that there is none.

    >>> end_words(2.0), end_words(float("inf"))
    ('+2', 'open')
    """
    return with_sign(value, 4) if np.isfinite(value) else "open"


UNKNOWN = "not known"
"""What stands in a table in place of a range that nothing tells."""


def half_words(low: np.ndarray | None, high: np.ndarray | None, body: int) -> str:
    """Return half the widest 95 % range of a body, or that it is not known.

    `low`, `high` (bodies, points).

    >>> half_words(np.array([[-1.0, -2.0]]), np.array([[1.0, 2.0]]), 0), half_words(None, None, 0)
    ('2', 'not known')
    """
    return UNKNOWN if low is None or high is None else three(np.nanmax(high[body] - low[body]) / 2)


def certain_words(low: np.ndarray | None, high: np.ndarray | None, what: str, unit: str) -> tuple[str, ...]:
    """Say how far the intervals alone hold the values, whatever their errors.

    Returns: empty where no interval was read.

    >>> certain_words(np.array([0.0, 1.0]), np.array([2.0, 9.0]), "height", "um")
    ('By the intervals alone every height is certain within 2 to 8 um.',)
    """
    if low is None or high is None:
        return ()
    width = (high - low)[np.isfinite(high) | np.isfinite(low)]
    width = width[~np.isnan(width) & (width > 1e-4)]
    firm = width[np.isfinite(width)]
    if not firm.size:
        return (f"The intervals alone set no limits to any {what}; give both ends of more intervals.",)
    span = f"{three(firm.min())} to {three(firm.max())}" if firm.max() > 1.001 * firm.min() else three(firm.max())
    if firm.size < width.size:
        return (
            f"By the intervals alone {firm.size} of {width.size} {what}s are certain within {span} {unit}; the "
            "others have no limits.",
        )
    return (f"By the intervals alone every {what} is certain within {span} {unit}.",)
