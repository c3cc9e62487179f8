"""Readings that are too many to be solved at once are refused before any room is taken for them."""

from __future__ import annotations

from simulate.readings.table.readings import Readings, ReadingsError

MOST_NUMBERS, MOST_STEPS = 12_000_000, 10_000_000_000
"""Numbers in the equations (100 MB of them, and some copies), and steps of solving them (a quarter of a minute)."""


def refuse_too_many(table: Readings, unknowns: int, what: str) -> None:
    """Refuse readings whose equations would take too much room or too long.

    `table`: the rows that are to be solved at once. `unknowns`: how many heights, angles and seats they would be solved
    for. `what`: what they are of, counted, for the sentence.

    >>> from simulate.readings.table.read import read_readings
    >>> table = read_readings(b"lower,upper,position_mm,gap_um\\nA,B,0,1\\n", "mine.csv")
    >>> refuse_too_many(table, 12, "2 bars")
    >>> refuse_too_many(table, 10**6, "2 bars at 500000 stations")  # doctest: +NORMALIZE_WHITESPACE
    Traceback (most recent call last):
        ...
    simulate.readings.table.readings.ReadingsError: mine.csv: 2 bars at 500000 stations with 1 reading are too many to
    solve at once; there must be fewer in one round, with at most 2154 unknowns: these have 1000000. Correct the table,
    and read it again.
    """
    square = round(MOST_STEPS ** (1 / 3))
    most = square if len(table) <= square else int(min(MOST_NUMBERS / len(table), (MOST_STEPS / len(table)) ** 0.5))
    if unknowns > most:
        raise ReadingsError(
            table.source,
            f"{what} with {len(table)} reading{'s' if len(table) != 1 else ''} are too many to solve at once",
            f"fewer in one round, with at most {most} unknowns: these have {unknowns}",
            code="table",
        )
