"""Bodies of a set that are known from an earlier set of the logbook or from a certificate, resolved along the chain."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal
from simulate.readings.findings import STATED
from simulate.readings.known_from import known_from
from simulate.readings.known_roles import SOLVERS, may_be_known, places_of
from simulate.readings.logbook.entry import DependsOn, Entry
from simulate.readings.reference.certificate import from_certificate
from simulate.readings.reference.known import Known
from simulate.readings.squares.flat_opening import FLAT
from simulate.readings.table.read import read_readings
from simulate.readings.table.readings import Readings


def known_bodies(
    table: Readings, depends_on: Sequence[DependsOn], book: Sequence[Entry], identity: str = ""
) -> tuple[Known, ...]:
    """Give the bodies of a table that are known already, as the logbook has them now.

    `book`: the whole logbook. `identity`: of the set itself, where it stands in the logbook.
    """
    return tuple(_known(table, link) for link in _links(depends_on, book, (identity,) if identity else ()))


def dependents(book: Sequence[Entry], identity: str) -> tuple[int, ...]:
    """Give the numbers of the sets that depend on a set, in one step or in several.

    >>> first = Entry("", identity="a")
    >>> book = [first, Entry("", depends_on=(DependsOn(body="K", set="a", earlier="K"),), identity="b")]
    >>> dependents(book, "a")
    (2,)
    """
    found = {identity}
    while True:
        more = {entry.identity for entry in book if any(one.set in found for one in entry.depends_on)} - found
        if not more:
            break
        found |= more
    return tuple(k for k, entry in enumerate(book, 1) if entry.identity in found and entry.identity != identity)


def changed_since(depends_on: Sequence[DependsOn], book: Sequence[Entry], written: str) -> tuple[str, ...]:
    """Say which sets that these depend on were changed after they were written.

    `written`: when the set that depends on them was written; empty where it stands in no logbook.
    """
    said = []
    for one in depends_on:
        for k, entry in enumerate(book, 1):
            if written and entry.identity == one.set and entry.earlier and entry.written > written:
                said.append(
                    f"Set {k}, which {one.body} is known from, was changed on {entry.written[:10]}, after these "
                    "readings were entered: they are worked out with what it says now."
                )
    return tuple(said)


@dataclass(frozen=True)
class _Set:
    """A set with all that it depends on; two that say the same are one, whatever logbook they stand in."""

    digest: str
    readings: str = field(compare=False)
    name: str = field(compare=False)
    sd: float | None = field(compare=False)
    stated: tuple[tuple[str, float | None], ...] = field(compare=False)
    links: tuple[tuple, ...] = field(compare=False)


def _stated(entry: Entry) -> tuple[tuple[str, float | None], ...]:
    """Give what was stated of the readings of an entry: feel and place of blades, the smallest step."""
    return tuple((name, getattr(entry, name)) for name in ("feel_um", "place_mm", "resolution_um"))


def _links(
    depends_on: Sequence[DependsOn], book: Sequence[Entry], trail: tuple[str, ...], sets: dict[str, _Set] | None = None
) -> tuple[tuple, ...]:
    """Follow what bodies are known from, each set once."""
    sets = {} if sets is None else sets
    links: list[tuple[Any, ...]] = []
    for one in depends_on:
        if not one.set:
            links.append((one.body, one.kind, one.value, one.expanded, one.k, one.said))
            continue
        number, entry = _found(one, book)
        if one.set in trail:
            way = [*trail[trail.index(one.set) :], one.set]
            numbers = [str(next(k for k, each in enumerate(book, 1) if each.identity == part)) for part in way]
            raise Refusal(
                "state",
                where=f"set {numbers[0]}",
                found=f"known from itself, set {' from set '.join(numbers)}",
                must_be="known from sets that do not depend on it",
                do="Choose a set that was read before, or a certificate",
            )
        said = f"{one.earlier} in set {number} ({entry.taken or entry.written[:10] or 'older'})"
        if one.set not in sets:
            more = _links(entry.depends_on, book, (*trail, one.set), sets)
            content = entry.readings, entry.name, entry.reading_sd_um, _stated(entry)
            plain = repr((content, [(*link[:4], getattr(link[4], "digest", link[4:])) for link in more]))
            sets[one.set] = _Set(hashlib.sha256(plain.encode("utf-8", "replace")).hexdigest(), *content, more)
        links.append((one.body, one.kind, one.earlier, said, sets[one.set]))
    return tuple(links)


def _found(one: DependsOn, book: Sequence[Entry]) -> tuple[int, Entry]:
    for number, entry in enumerate(book, 1):
        if entry.identity == one.set:
            if entry.struck:
                raise Refusal(
                    "state",
                    where=f"set {number}, which {one.body} is known from,",
                    found="struck out",
                    must_be="a set that counts",
                    do=f"Restore it, or choose again what {one.body} is known from",
                )
            return number, entry
    raise Refusal(
        "missing",
        where="the logbook",
        found=f"no set that {one.body} is known from",
        must_be="that set",
        do="Open the logbook that holds it, or choose another set or a certificate",
    )


def _known(table: Readings, link: tuple) -> Known:
    body, chosen, earlier = link[:3]
    kind = may_be_known(table).get(body, table.kind)
    if chosen and chosen != kind:
        raise Refusal(
            "state",
            where=body,
            found=f"taken as known among {chosen}, and here one of {kind}",
            must_be="known as what it is here",
            do="Choose again what it is known from, or take it as no longer known",
        )
    if isinstance(earlier, str):
        return known_from(_solved(link[4]), earlier, name=body, said=link[3])
    value, expanded, k, said = link[2:]
    if kind == FLAT:
        must = "known from a set of the logbook that holds its heights"
        raise Refusal("choice", where=body, found="known from a certificate of its size", must_be=must)
    return from_certificate(body, kind, value, expanded, k, said=said, **places_of(table, body))


@remembered
def _solved(one: _Set) -> object:
    table = read_readings(one.readings.encode("utf-8", "replace"), one.name)
    if table.kind not in SOLVERS:
        raise Refusal(
            "table",
            where=one.name,
            found=f"it holds readings of {table.kind}",
            must_be=f"readings of {', '.join(SOLVERS)}",
        )
    more: dict[str, Any] = {name: value for name, value in one.stated if name in STATED.get(table.kind, ())}
    if one.links:
        more["known"] = [_known(table, link) for link in one.links]
    return SOLVERS[table.kind](table, one.sd, **more)
