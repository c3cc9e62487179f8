"""What solving needs of a checked table: gaps with their widths, and which rows lie in one fit."""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, a_kind_of
from simulate.readings.adjustment.equations import LEAST_SPREAD
from simulate.readings.table.readings import Readings

Table = TypeVar("Table", bound=Readings)


def gaps_and_widths(table: Readings) -> tuple[np.ndarray, np.ndarray]:
    """Give one gap and one width for each row of a table of gaps.

    Returns `gap_um`, `width_um`: the middle and the width of an interval; nan and 0 where it has no upper end.

    >>> from simulate.readings.table.read import read_readings
    >>> text = b"lower,upper,height_mm,gap_at_least_um,gap_at_most_um\\nA,B,0,1,4\\n"
    >>> [float(part[0]) for part in gaps_and_widths(read_readings(text))]
    [2.5, 3.0]
    """
    closed = np.isfinite(table.high_um) & np.isfinite(table.low_um)
    middle, width = np.full(len(table), np.nan), np.zeros(len(table))
    middle[closed] = (table.low_um + table.high_um)[closed] / 2
    width[closed] = (table.high_um - table.low_um)[closed]
    return np.where(table.is_interval, middle, table.gap_um), np.where(table.is_interval, width, 0.0)


def seats_of(table: Readings, *columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Number the fits of a table: rows with the same round, bodies and placement lie in one fit.

    `*columns`: what else parts one fit from another, such as the turn. Returns `fit` (readings,) of int. `first`
    (fits,) of int: the first row of each fit.
    """
    keys = np.stack([table.round, table.lower, table.upper, *columns], axis=1)
    _, first, fit = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return fit.reshape(-1), first


def of_round(table: Table, round: int | None = None) -> Table:
    """Give the rows of one round, with only the names that stand in them.

    `round`: the last one of the file where it is not said.

    >>> from simulate.readings.table.read import read_readings
    >>> text = b"round,lower,upper,height_mm,gap_um\\n1,A,B,0,1\\n2,B,C,0,1\\n"
    >>> of_round(read_readings(text)).names
    ('B', 'C')
    """
    rounds = sorted(set(table.round.tolist()))
    number = rounds[-1] if round is None else checks.choice(round, "round", rounds)
    part = table.rows(table.round == number)
    if part.line:
        return replace(part, names=tuple(dict.fromkeys(part.line)))
    if not part.lower.size:
        return part
    bodies = np.unique(np.concatenate([b for b in (part.lower, part.upper) if b.size]))
    lower, upper = (np.searchsorted(bodies, b) for b in (part.lower, part.upper))
    return replace(part, names=tuple(table.names[b] for b in bodies), lower=lower, upper=upper)


def needs(table: Readings, *kinds: str) -> None:
    """Refuse a table of any other kind."""
    if not isinstance(table, Readings):
        raise Refusal("type", where="table", found=a_kind_of(table), must_be="what read_readings gives")
    if table.kind not in kinds:
        raise Refusal(
            "table", where=table.source, found=f"it holds readings of {table.kind}", must_be=f"readings of {kinds[0]}"
        )


def given_sd(value: float | None, name: str) -> float | None:
    """Return a given standard deviation, or None."""
    return None if value is None else checks.number(value, name, 0, above=True)


def given_step(value: float | None) -> float | None:
    """Return a given smallest step of readings, or None.

    No step is 0: readings that are written alike would then be exact, and what follows from them without any range.
    """
    return None if value is None else checks.number(value, "resolution_um", 0, 1e6, above=True)


def spreads(table: Readings, sd_um: float) -> tuple[np.ndarray, np.ndarray]:
    """Give what each reading counts as and how sure it is, the spread of a point reading being known.

    `sd_um`: of one point reading. Returns `reading_um`, `sd_um`: an interval counts as equally likely all over (width /
    sqrt(12)); inf where it has no upper end.

    >>> from simulate.readings.table.read import read_readings
    >>> text = b"lower,upper,height_mm,gap_um,gap_at_most_um\\nA,B,0,1,\\nA,B,9,,6\\n"
    >>> [part.round(3).tolist() for part in spreads(read_readings(text), 0.5)]
    [[1.0, 3.0], [0.5, 1.732]]
    """
    gap, width = gaps_and_widths(table)
    spread = np.where(width > 0, width / np.sqrt(12), max(sd_um, LEAST_SPREAD))
    return np.nan_to_num(gap), np.where(np.isfinite(gap), spread, np.inf)
