"""What the readings of any kind say, in one shape."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.readings.consistency import Consistency
from simulate.readings.further import NextReading
from simulate.readings.progress_words import Progress
from simulate.readings.stopping import StopRule


@dataclass(frozen=True)
class Findings:
    """What the readings say, in one shape for every kind.

    Attributes
    ----------
    kind : str
        One of ``simulate.readings.record.KINDS``.
    source : str
    round : int
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
    cautions : tuple of str
    progress : Progress or None
        Of the rounds in the file up to this one; None where there is one round, or none can be compared.
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


FILING = ("Take half of what the map says, look again, and take the rest: a reading may be wrong, and metal does not "
          "come back.")
HANDS = "Handle tight on the tang, work low and firm in the vice, eyes protected, filings brushed away and never blown."
PLATES = "Plates are lifted with help and slid apart, with no fingers between."
RULES = "The rules of your own workshop and the person responsible for it come before anything said here."
ASSUMED = ("The spread of a reading was assumed to be 1 um, since nothing in the readings tells it; every range here "
           "grows and shrinks with the true one, so give your own.")


def cautions(sd_from: str, *more: str) -> tuple[str, ...]:
    """Return what to keep in mind before metal comes off.

    Parameters
    ----------
    sd_from : str
    *more : str

    Returns
    -------
    tuple of str
    """
    return (*((ASSUMED,) if sd_from == "assumed" else ()), *more, RULES)
