"""What an entry of the logbook says, with the rounds that were entered before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.findings import Findings, findings, with_rounds
from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.logbook.joining import joined, same_bodies, same_names, spelled_otherwise
from simulate.readings.logbook.known_bodies import changed_since, known_bodies
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import NAMED, Readings


@dataclass(frozen=True, kw_only=True)
class WorkedOut:
    """A set of the logbook with what it says.

    `number`: its place in the logbook, from 1. `found`: none where the readings are refused. `refusal`: why they are.
    """

    number: int
    entry: Entry
    table: Readings | None = None
    found: Findings | None = None
    refusal: Refusal | None = None


def worked_out(entries: Sequence[Entry]) -> tuple[WorkedOut, ...]:
    """Work every set of a logbook out once; those that are struck out count for nothing.

    >>> [one.number for one in worked_out([Entry("words", struck=True), Entry("words")]) if one.refusal]
    [2]
    """
    return tuple(_worked(number, one, entries) for number, one in enumerate(entries, 1) if not one.struck)


def _worked(number: int, entry: Entry, book: Sequence[Entry]) -> WorkedOut:
    try:
        table = read_readings(entry.readings.encode("utf-8", "replace"), entry.name)
        return WorkedOut(number=number, entry=entry, table=table, found=entry_findings(table, entry, book))
    except Refusal as refusal:
        return WorkedOut(number=number, entry=entry, refusal=refusal)


def kind_read(entry: Entry) -> str | None:
    """Say what the readings of an entry are of.

    Returns: none where they cannot be read.

    >>> kind_read(Entry("lower,upper,position_mm,gap_um\\nA,B,0,1\\n")), kind_read(Entry("words"))
    ('bars', None)
    """
    table = _table(entry)
    return None if table is None else table.kind


def earlier_sets(table: Readings, before: Sequence[Entry]) -> list[Readings]:
    """Read the entries that hold the same bodies as a table.

    `before`: those that were entered before it. Returns: without those that are struck out, refused, or of something
    else; none for a wedge test, which has no rounds.

    >>> first = Entry("lower,upper,position_mm,gap_um\\nA,B,0,1\\n")
    >>> table = read_readings(b"lower,upper,position_in,gap_thou\\nB,A,1,2\\n")
    >>> len(earlier_sets(table, [first, Entry("words"), first]))
    2
    """
    found = []
    for entry in before if table.kind != "wedge" else ():
        if entry.struck:
            continue
        other = _table(entry)
        if other is not None and same_bodies(other, table):
            found.append(other)
    return found


def other_names(entry: Entry, book: Sequence[Entry]) -> tuple[int, ...]:
    """Give the numbers of sets that may be earlier rounds of an entry's work and are called otherwise.

    >>> march, april = (Entry("travel_mm,turned,dial_um\\n0,no,1\\n", name) for name in ("march.csv", "april.csv"))
    >>> other_names(april, [march, april]), other_names(march, [march])
    ((1,), ())
    """
    table = _table(entry)
    if table is None or table.kind in (*NAMED, "wedge"):
        return ()
    others = ((k, _table(one)) for k, one in enumerate(book, 1) if one.identity != entry.identity and not one.struck)
    return tuple(k for k, one in others if one and same_names(one, table) and not same_bodies(one, table))


def _table(entry: Entry) -> Readings | None:
    try:
        return read_readings(entry.readings.encode("utf-8", "replace"), entry.name)
    except Refusal:
        return None


def entry_findings(table: Readings, entry: Entry, book: Sequence[Entry]) -> Findings:
    """Say what a set of the logbook says, with the rounds that stand before it and what its bodies are known from.

    `table`: of the entry. `book`: the whole logbook, in which the entry stands.
    """
    before = book[: next((k for k, one in enumerate(book) if one.identity == entry.identity), len(book))]
    return log_findings(
        table,
        before,
        entry.reading_sd_um,
        target_um=entry.target_um,
        feel_um=entry.feel_um,
        place_mm=entry.place_mm,
        resolution_um=entry.resolution_um,
        depends_on=entry.depends_on,
        book=book,
        own=entry,
    )


def log_findings(
    table: Readings,
    before: Sequence[Entry],
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    resolution_um: float | None = None,
    depends_on: Sequence[DependsOn] = (),
    book: Sequence[Entry] = (),
    own: Entry | None = None,
) -> Findings:
    """Say what readings say, with progress over the rounds that stand in the logbook before them.

    `feel_um`, `place_mm`: of blades, as `findings` takes them. `resolution_um`: smallest step of point readings; the
    step that the figures show where it is not given. `depends_on`: bodies of the table that are known already. `book`:
    the whole logbook, where those stand. `own`: the set itself, where it stands in the logbook. Returns: progress as
    `findings` gives it where the logbook holds no earlier round of the same bodies.
    """
    known = known_bodies(table, depends_on, book, own.identity if own else "")
    blades = {"feel_um": feel_um, "place_mm": place_mm, "resolution_um": resolution_um}
    found = findings(table, reading_sd_um, round, target_um, known=known, **blades)
    changed = changed_since(depends_on, book, own.written if own else "")
    found = replace(found, sentences=(*found.sentences, *changed))
    earlier = earlier_sets(table, before)
    if not earlier:
        return found
    found = replace(found, slips=(*found.slips, *spelled_otherwise([*earlier, table])))
    both = joined([*earlier, table.rows(table.round <= found.round)])
    if np.unique(both.round).size < 2:
        return found
    return with_rounds(found, both, reading_sd_um, target_um, known, **blades)
