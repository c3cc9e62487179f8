"""What readings of any kind say: one call for all of them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.findings_bars import of_bars
from simulate.readings.findings_lands import of_lands
from simulate.readings.findings_plates import of_plates
from simulate.readings.findings_record import Findings
from simulate.readings.findings_squares import of_squares
from simulate.readings.findings_survey import of_survey
from simulate.readings.findings_wedge import of_wedge
from simulate.readings.gaps import given_sd
from simulate.readings.own_rounds import own_progress
from simulate.readings.record import Readings
from simulate.readings.suspicion import slips_of, with_suspicion
from simulate.surface import checks

__all__ = ["BY_KIND", "Findings", "findings"]

BY_KIND = {"bars": of_bars, "plates": of_plates, "squares": of_squares, "union jack": of_survey, "lands": of_lands,
           "wedge": of_wedge}


def findings(table: Readings, reading_sd_um: float | None = None, round: int | None = None,
             target_um: float | None = None, *, feel_um: float | None = None, place_mm: float | None = None) -> Findings:
    """Say what readings say, whatever they are of.

    Parameters
    ----------
    table : Readings
        From ``read_readings``.
    reading_sd_um : float, optional
        Standard deviation of one reading; in seconds of arc for a survey; not used for a wedge test.
    round : int, optional
        Which round; the last of the file where it is not said.
    target_um : float, optional
        How straight or flat the job asks for; for squares, how far out over the height that was read.
    feel_um, place_mm : float, optional
        Of blades between bars or plates: one standard deviation of the gap at which a blade is felt to go, and of
        where it went in.

    Returns
    -------
    Findings
        What it cannot see stands in `hidden`.

    Raises
    ------
    ValueError
        In one sentence, where the readings do not settle what they are of, or a number is out of its range.

    Examples
    --------
    >>> from simulate.readings.demo import demo_path
    >>> from simulate.readings.table import read_readings
    >>> findings(read_readings(demo_path())).kind
    'bars'
    """
    if not isinstance(table, Readings):
        raise Refusal("type", where="table", found=f"a {type(table).__name__}", must_be="what read_readings gives")
    sd = given_sd(reading_sd_um, "reading_sd_um")
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    slips = slips_of(table if round is None else table.rows(table.round <= round), sd)
    blades = {"feel_um": feel_um, "place_mm": place_mm} if table.kind in ("bars", "plates") else {}
    try:
        found = replace(BY_KIND[table.kind](table, sd, round, target, **blades), slips=slips)
    except Refusal as refusal:
        raise with_suspicion(refusal, slips) from None
    before = table.rows(table.round <= found.round)
    own = own_progress(before, sd, target) if np.unique(before.round).size > 1 else None
    return found if own is None or own.rounds.size < 2 else replace(found, progress=own,
                                                                    sentences=(*found.sentences, *own.sentences))
