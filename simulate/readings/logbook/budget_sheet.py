"""A learner's own sheet of links: rows as they were typed, turned into the links of a chain, kept as a plain file."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from simulate.core.refusal import Refusal
from simulate.method.uncertainty_budget import Link, half_width_sd
from simulate.readings.table.csv_cells import header_and_rows
from simulate.readings.table.readings import ReadingsError, shortened

KINDS = ("spread", "bound", "95 %")
"""A standard deviation; a plus-or-minus that holds always; a plus-or-minus that holds 95 times in 100."""

FIELDS = ("link", "figure", "kind", "per_unit", "readings", "shared")

PER_UNIT = {"mm": "um_per_unit", "inch": "thou_per_unit"}
"""Name of the column in a file, by the units of whoever wrote it."""

_UM = {"mm": 1.0, "inch": 25.4}


@dataclass(frozen=True)
class LinkRow:
    """One row of the sheet, as it was typed.

    Attributes
    ----------
    link : str
        What it is, in words.
    figure : str
        How unsure it is, in its own unit.
    kind : str
        One of `KINDS`.
    per_unit : str
        How many µm (or thou) of the result one unit makes, with its sign; empty is 1.
    readings : str
        From how many readings the figure comes; empty where it is taken as known.
    shared : str
        What moves this row together with others that name the same; empty where it moves by itself.
    """

    link: str = ""
    figure: str = ""
    kind: str = KINDS[0]
    per_unit: str = ""
    readings: str = ""
    shared: str = ""

    @property
    def empty(self) -> bool:
        """Whether nothing was typed yet."""
        return not (
            self.link.strip()
            or self.figure.strip()
            or self.per_unit.strip()
            or self.readings.strip()
            or self.shared.strip()
        )


def links_of(rows: Sequence[LinkRow], units: str = "mm") -> tuple[Link, ...]:
    """Turn the rows of a sheet into links; rows with nothing in them are passed over.

    `units`: ``"mm"`` where the result is in µm, ``"inch"`` where it is in thou.

    A bound counts by root three (JCGM 100:2008, 4.3.7; from memory), a range that holds 95 times in 100 by 1.96
    (4.3.4; from memory). So many readings leave one degree of freedom less (4.2). Rows that share a cause are one
    entry: they are added with their signs before they are squared (5.2.2, note 1; from memory).

    >>> round(links_of([LinkRow("heat", "0,3", "bound", "12.4"), LinkRow()])[0].sd, 3)
    0.173
    """
    found: list[Link] = []
    for number, row in enumerate(rows, 1):
        if row.empty:
            continue
        name = " ".join(row.link.split())
        if not name:
            raise Refusal("missing", where=f"row {number}", found="no name", must_be="a word or two, such as 'heat'")
        if name.casefold() in (link.name.casefold() for link in found):
            raise Refusal(
                "same", where=f"row {number}", found=f"a second item {name!r}", must_be="an item with a name of its own"
            )
        link = _link(name, row, number, units)
        found.append(replace(link, cause=_spelled(row.shared, (other.cause for other in found))))
    if not found:
        raise Refusal("count", where="the sheet", found="nothing", must_be="one item or more")
    alone = {link.name.casefold() for link in found if not link.cause}
    for link in found:
        if link.cause.casefold() in alone:
            raise Refusal(
                "same",
                where=f"the shared cause of {link.name}",
                found=f"{link.cause!r}, the name of a link that shares nothing",
                must_be="a name of its own",
                do="Rename it, or write the cause in both rows",
            )
    return tuple(found)


def in_small_units(um: float, units: str = "mm") -> float:
    """Give micrometres in the unit that a sheet counts in.

    >>> in_small_units(2.5), in_small_units(25.4, "inch")
    (2.5, 1.0)
    """
    return um / _UM[units]


def sheet_text(rows: Sequence[LinkRow], units: str = "mm") -> str:
    """Write a sheet as CSV, for a file or for the clipboard.

    >>> print(sheet_text([LinkRow("heat", "0.3", "bound", "12.4")]).splitlines()[1])
    heat,0.3,bound,12.4,,
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(PER_UNIT[units] if name == "per_unit" else name for name in FIELDS)
    writer.writerows([getattr(row, name) for name in FIELDS] for row in rows if not row.empty)
    return out.getvalue()


def rows_as_typed(text: str) -> tuple[LinkRow, ...]:
    """Read rows back as they were typed, whether they make a chain or not.

    >>> rows_as_typed(sheet_text([LinkRow("heat", "a bit")]))[0].figure
    'a bit'
    """
    found = []
    for cells in csv.DictReader(io.StringIO(text)):
        per_unit = next((cells[name] for name in PER_UNIT.values() if cells.get(name)), "")
        said = {name: cells.get(name) or "" for name in FIELDS if name not in ("per_unit", "kind")}
        kind = cells.get("kind")
        found.append(LinkRow(**said, per_unit=per_unit, kind=kind if kind in KINDS else KINDS[0]))
    return tuple(found)


def read_sheet(text: str, file: str, units: str = "mm") -> tuple[LinkRow, ...]:
    """Read a sheet back, and refuse what would not make a chain.

    `file`: its name, for the sentence. `units`: what the rows are wanted in; a sheet that was kept in the other units
    is turned into these.

    >>> read_sheet("link,figure\\nsag,0.2\\n", "mine.csv")[0].kind
    'spread'
    """
    header, line, rows = header_and_rows(text, file)
    allowed = (*FIELDS[:3], *PER_UNIT.values(), *FIELDS[4:])
    for place, name in enumerate(header):
        if (
            name not in allowed
            or header.index(name) < place
            or (name in PER_UNIT.values() and len(set(header) & set(PER_UNIT.values())) > 1)
        ):
            raise ReadingsError(
                file,
                shortened(name),
                f"{', '.join(allowed[:4])} (or {allowed[4]}), {allowed[5]}, {allowed[6]}, each once",
                line,
                name,
                name,
            )
    for name in FIELDS[:2]:
        if name not in header:
            raise ReadingsError(file, f"there is no column {name}", "link and figure", line, name, code="table")
    there = "inch" if PER_UNIT["inch"] in header else "mm"
    fields = ["per_unit" if name in PER_UNIT.values() else name for name in header]
    found = []
    for at, cells in rows:
        row = LinkRow(
            **{
                **dict(zip(fields, cells)),
                "kind": dict(zip(fields, cells)).get("kind") or KINDS[0],
            }
        )
        if row.kind not in KINDS:
            raise ReadingsError(file, shortened(row.kind), " or ".join(KINDS), at, "kind", row.kind)
        found.append(row)
    links = iter(links_of(found, there))
    if there == units:
        return tuple(found)
    return tuple(
        row if row.empty else replace(row, per_unit=f"{next(links).um_per_unit / _UM[units]:.6g}") for row in found
    )


def _spelled(shared: str, causes: Iterable[str]) -> str:
    """Give a cause as it was written first: one that differs only by case or blanks is the same cause."""
    cause = " ".join(shared.split())
    return next((known for known in causes if known.casefold() == cause.casefold()), cause)


def _link(name: str, row: LinkRow, number: int, units: str) -> Link:
    unit = "thou" if units == "inch" else "µm"
    figure = _number(row.figure, f"row {number}, {name}, uncertainty", 0.0)
    per = _number(row.per_unit, f"row {number}, {name}, {unit} per unit") if row.per_unit.strip() else 1.0
    if not per:
        raise Refusal(
            "range",
            where=f"row {number}, {name}, {unit} per unit",
            found="0",
            must_be="any other number, or empty for 1",
        )
    sd = {"spread": figure, "bound": half_width_sd(figure), "95 %": figure / 1.959963984540054}[row.kind]
    if not row.readings.strip():
        return Link(name, sd, per * _UM[units])
    count = _number(row.readings, f"row {number}, {name}, readings")
    if count != int(count) or count < 2:
        raise Refusal(
            "number",
            where=f"row {number}, {name}, readings",
            found=row.readings.strip(),
            must_be="a whole number, 2 or more, or empty",
        )
    return Link(name, sd, per * _UM[units], count - 1)


def _number(text: str, where: str, low: float = -math.inf) -> float:
    plain = text.strip().replace(",", ".").replace("−", "-")
    try:
        value = float(plain)
    except ValueError:
        what = shortened(text.strip()) if plain else "empty"
        raise Refusal("number", where=where, found=what, must_be="a number, such as 2.5") from None
    if not math.isfinite(value) or abs(value) > 1e9 or value < low:
        raise Refusal(
            "range",
            where=where,
            found=text.strip(),
            must_be=f"a number {'of 0 or more' if low == 0 else 'up to 1e9 either way'}",
        )
    return value
