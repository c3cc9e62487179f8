"""What an entry of the logbook says, with the rounds that were entered before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.entry import Entry
from simulate.readings.findings import Findings, findings
from simulate.readings.joining import joined, same_bodies, spelled_otherwise
from simulate.readings.own_rounds import own_progress
from simulate.readings.record import Readings
from simulate.readings.table import read_readings


def kind_read(entry: Entry) -> str | None:
    """Say what the readings of an entry are of.

    Parameters
    ----------
    entry : Entry

    Returns
    -------
    str or None
        None where they cannot be read.

    Examples
    --------
    >>> kind_read(Entry("lower,upper,position_mm,gap_um\\nA,B,0,1\\n")), kind_read(Entry("words"))
    ('bars', None)
    """
    try:
        return read_readings(entry.readings.encode("utf-8", "replace"), entry.name).kind
    except Refusal:
        return None


def earlier_sets(table: Readings, before: Sequence[Entry]) -> list[Readings]:
    """Read the entries that hold the same bodies as a table.

    Parameters
    ----------
    table : Readings
    before : sequence of Entry
        Those that were entered before it.

    Returns
    -------
    list of Readings
        Without those that are struck out, refused, or of something else; none for a wedge test, which has no rounds.

    Examples
    --------
    >>> first = Entry("lower,upper,position_mm,gap_um\\nA,B,0,1\\n")
    >>> table = read_readings(b"lower,upper,position_in,gap_thou\\nB,A,1,2\\n")
    >>> len(earlier_sets(table, [first, Entry("words"), first]))
    2
    """
    found = []
    for entry in before if table.kind != "wedge" else ():
        if entry.struck:
            continue
        try:
            other = read_readings(entry.readings.encode(), entry.name)
        except Refusal:
            continue
        if same_bodies(other, table):
            found.append(other)
    return found


def log_findings(table: Readings, before: Sequence[Entry], reading_sd_um: float | None = None, round: int | None = None,
                 target_um: float | None = None, *, feel_um: float | None = None, place_mm: float | None = None) -> Findings:
    """Say what readings say, with progress over the rounds that stand in the logbook before them.

    Parameters
    ----------
    table : Readings
    before : sequence of Entry
    reading_sd_um : float, optional
    round : int, optional
    target_um : float, optional
    feel_um, place_mm : float, optional
        Of blades, as `findings` takes them.

    Returns
    -------
    Findings
        Progress as `findings` gives it where the logbook holds no earlier round of the same bodies.

    Raises
    ------
    ValueError
        As `findings` does.
    """
    found = findings(table, reading_sd_um, round, target_um, feel_um=feel_um, place_mm=place_mm)
    earlier = earlier_sets(table, before)
    if not earlier:
        return found
    found = replace(found, slips=(*found.slips, *spelled_otherwise([*earlier, table])))
    both = joined([*earlier, table.rows(table.round <= found.round)])
    own = own_progress(both, reading_sd_um, target_um) if np.unique(both.round).size > 1 else None
    if own is None or own.rounds.size < 2:
        return found
    said = [s for s in found.sentences if found.progress is None or s not in found.progress.sentences]
    return replace(found, progress=own, sentences=(*said, *own.sentences))
