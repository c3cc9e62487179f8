"""Several sets of readings of the same bodies as one table of rounds, whatever units and columns each was typed in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.table.readings import NAMED, TYPED, Readings
from simulate.readings.table.slip_record import Slip
from simulate.readings.table.tidying import name_key

_OF_NAMES = ("lower", "upper")
_IN_SHORT = {"head": "headstock", "tail": "tailstock"}
"""What the axes of a test bar are called in short."""


def _key(name: str, kind: str) -> str:
    key = name_key(name)
    return _IN_SHORT.get(key, key) if kind == "head" else key


def joined(tables: Sequence[Readings]) -> Readings:
    """Join sets of readings of the same bodies into one table.

    Rounds keep the order in which they were read. A round whose number was had before and that holds the same
    readings is the same round, written down again, and counts once; with other readings it is a later round.

    `tables`: the earliest first. Returns: its `row` is the line of each reading in the file that it came from.

    >>> from simulate.readings.table.read import read_readings
    >>> first = read_readings(b"lower,upper,position_mm,gap_um\\nA,B,0,1\\n")
    >>> second = read_readings(b"lower,upper,position_in,gap_thou\\nB,A,1,2\\n")
    >>> both = joined([first, second, first])
    >>> both.round.tolist(), both.names, both.lower.tolist(), both.gap_um.tolist()
    ([1, 2], ('A', 'B'), [0, 1], [1.0, 50.8])
    """
    if not tables:
        raise Refusal("count", where="what was given", found="no set of readings", must_be="one or more")
    first = tables[0]
    parts: list[Readings] = []
    own_numbers: list[int] = []
    numbers: list[int] = []
    for table in tables:
        if not same_bodies(table, first):
            raise Refusal(
                "table",
                where=table.source,
                found=f"it holds {table.kind} of {', '.join(table.names) or 'an eye'}",
                must_be=f"{first.kind} of {', '.join(first.names) or 'an eye'} as in {first.source}",
            )
        named = _renamed(table, first.names)
        for own in np.unique(named.round).tolist():
            part = named.rows(named.round == own)
            if any(own == had and _same(part, other) for had, other in zip(own_numbers, parts)):
                continue
            numbers.append(max(own, numbers[-1] + 1 if numbers else own))
            parts.append(part)
            own_numbers.append(own)
    return _stacked(parts, numbers)


def same_bodies(table: Readings, other: Readings) -> bool:
    """Say whether two tables are of the same bodies, whichever capitals and blanks their names were typed with.

    Lines of two plates may have the same names, and so may the ways of two beds: a kind whose bodies have no names of
    their own is the same work where the sets have one name, and a set without a name is of no other's work.

    >>> from simulate.readings.table.read import read_readings
    >>> head = b"lower,upper,position_mm,gap_um\\n"
    >>> one, two = read_readings(head + b"Bar 1,B,0,1\\n"), read_readings(head + b"bar1,b,0,1\\n")
    >>> same_bodies(one, two)
    True
    """
    return same_names(table, other) and (table.kind in NAMED or _same_work(table.source, other.source))


def same_names(table: Readings, other: Readings) -> bool:
    """Say whether two tables of one kind use the same names, of bodies or of lines."""
    if table.kind != other.kind:
        return False
    keys = [{_key(name, one.kind) for name in one.names} for one in (table, other)]
    return set(table.names) == set(other.names) or (
        keys[0] == keys[1] and all(len(key) == len(one.names) for key, one in zip(keys, (table, other)))
    )


def _same_work(one: str, other: str) -> bool:
    return name_key(one) == name_key(other) != name_key(TYPED)


def spelled_otherwise(tables: Sequence[Readings]) -> tuple[Slip, ...]:
    """Tell names that sets of the same bodies spell in several ways, and that are taken for one.

    `tables`: as `joined` takes them.
    """
    spelled: dict[str, list[str]] = {}
    for kind, name in ((table.kind, name) for table in tables for name in table.names):
        words = spelled.setdefault(_key(name, kind), [])
        if name not in words:
            words.append(name)
    quoted = [[f"'{word}'" for word in words] for words in spelled.values() if len(words) > 1]
    return tuple(
        Slip(kind="names joined", what="In the sets of the logbook " + " and ".join([", ".join(words[:-1]), words[-1]]))
        for words in quoted
    )


def _renamed(table: Readings, names: tuple[str, ...]) -> Readings:
    if table.names == names:
        return table
    keys = [_key(name, table.kind) for name in names]
    place = np.array(
        [names.index(name) if name in names else keys.index(_key(name, table.kind)) for name in table.names]
    )
    now = {name: names[k] for name, k in zip(table.names, place)}
    changed: dict[str, Any] = {"line": tuple(now.get(name, name) for name in table.line)}
    for field in _OF_NAMES:
        held = getattr(table, field)
        if held is not None and held.size:
            changed[field] = place[held]
    return _changed(table, names=names, **changed)


def _same(one: Readings, other: Readings) -> bool:
    """Whether two rounds hold the same readings, on whatever lines of their files."""

    def held(table: Readings) -> list:
        return [
            (f.name, value.tobytes() if isinstance(value, np.ndarray) else value)
            for f in fields(table)
            if f.name not in ("row", "source", "round", "slips")
            for value in [getattr(table, f.name)]
        ]

    return held(one) == held(other)


def _stacked(parts: Sequence[Readings], numbers: Sequence[int]) -> Readings:
    stacked: dict[str, Any] = {}
    for field in fields(parts[0]):
        values = [getattr(part, field.name) for part in parts]
        if field.name == "round":
            stacked["round"] = np.concatenate([np.full(len(part), number) for part, number in zip(parts, numbers)])
        elif all(isinstance(value, np.ndarray) for value in values):
            stacked[field.name] = np.concatenate(values)
        else:
            stacked[field.name] = sum(values, ()) if field.name == "line" else values[0]
    return type(parts[0])(**stacked)


def _changed(table: Readings, **changes) -> Readings:
    return replace(table, **changes)
