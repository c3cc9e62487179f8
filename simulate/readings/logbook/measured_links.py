"""The sheet of a budget from a logbook: what was measured takes the place of what was only supposed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from simulate.readings.eye.wedge import SolvedWedge
from simulate.readings.logbook.budget_sheet import LinkRow, in_small_units
from simulate.readings.logbook.log_findings import WorkedOut
from simulate.readings.logbook.standing import Standing, standings_of

SIGHT = ("sight at the bars", "sight at the lands", "sight at the bed")
ROLES = {
    ("bars", "straightness"): ("straightedge", ("lands", "bar between lands")),
    ("lands", "straightness"): ("straightedge", ("lands",)),
    ("plates", "flatness"): ("plate", ()),
    ("union jack", "flatness"): ("plate", ()),
    ("edge", "flatness"): ("plate", ()),
    ("level", "flatness"): ("plate", ()),
    ("squares", "squareness"): ("square", ()),
}
"""What a body serves as in a workshop, and the other rows that it makes needless: a bar measured as a whole takes the
place of its lands and of what lies between them."""
REACH_MM = 100.0
"""Height over which a square is used where the sheet does not say."""


@dataclass(frozen=True, kw_only=True)
class FilledSheet:
    """A sheet with what the logbook knows.

    `measured`: names of the rows that come from the logbook. `supposed`: names of the rows that nobody measured.
    `untold`: bodies of the logbook that would make a row, and whose readings tell no range.
    """

    rows: tuple[LinkRow, ...]
    measured: tuple[str, ...]
    supposed: tuple[str, ...]
    untold: tuple[Standing, ...]


def filled_sheet(rows: Sequence[LinkRow], worked: Sequence[WorkedOut], units: str = "mm") -> FilledSheet:
    """Fill a sheet from a logbook, and leave everything else in it as it stands.

    `worked`: the sets of the logbook. `units`: ``"mm"`` or ``"inch"``, what the sheet is in. Returns: a row of the
    logbook is called by what its body serves as, a colon, its name and set, so that it is found again when the sheet is
    filled anew.

    Of several bodies of one kind that serve as one thing the best is taken, and of two kinds the later set. How far a
    body may be out with 95 % is taken whole, as if nobody corrected for what is known of its shape: no point within a
    zone of width w is further than w
    from the line of any two others of it, on either side (derived). An eye counts by the gap that it sees in 19 of 20
    looks, at the upper end of what its wedge test leaves, as a bound. What it cannot see: what two bodies share, such
    as the plate that both were laid on; say so in *shared*.

    >>> filled_sheet([LinkRow("heat", "0.3")], ()).supposed
    ('heat',)
    """
    standings = standings_of(worked)
    best: dict[str, Standing] = {}
    for (kind, quantity), (role, _) in ROLES.items():
        some = [one for one in standings if (one.kind, one.quantity) == (kind, quantity) and _out(one) is not None]
        if some:
            one = min(some, key=lambda one: _out(one) or 0.0)
            best[role] = max(best.get(role, one), one, key=lambda one: one.number)
    needless = {name for role, one in best.items() for name in (role, *ROLES[one.kind, one.quantity][1])}
    sight = _sight(worked, rows, units)
    left = [row for row in rows if _role(row) not in needless | set(sight)]
    filled = (*(_row(one, role, rows, units) for role, one in best.items()), *sight.values())
    untold = tuple(one for one in standings if (one.kind, one.quantity) in ROLES and _out(one) is None)
    return FilledSheet(
        rows=(*filled, *left),
        measured=tuple(row.link for row in filled),
        supposed=tuple(row.link for row in left if not row.empty),
        untold=untold,
    )


def _out(one: Standing) -> float | None:
    """How far a body may be out either way with 95 %, in its own unit; None where nothing tells it."""
    ends = [abs(end) for end in (one.low_95, one.high_95) if end is not None and math.isfinite(end)]
    return max(ends) if one.lack is None and one.high_95 is not None and ends else None


def _role(row: LinkRow) -> str:
    return " ".join(row.link.split(":")[0].split()).casefold()


def _row(one: Standing, role: str, rows: Sequence[LinkRow], units: str) -> LinkRow:
    was = next((row for row in rows if _role(row) == role), LinkRow())
    out = _out(one) or 0.0
    length = one.unit == "um"
    per = "" if length else was.per_unit or f"{in_small_units(REACH_MM / 1000, units):.3g}"
    figure = f"{in_small_units(out, units) if length else out:.3g}"
    return LinkRow(f"{role}: {one.body}, set {one.number}", figure, "95 %", per, shared=was.shared)


def _sight(worked: Sequence[WorkedOut], rows: Sequence[LinkRow], units: str) -> dict[str, LinkRow]:
    """The rows of sight by the last wedge test; sight at the bars and at the bed where the sheet has no such row."""
    tests = [(one, one.found.solution) for one in worked if one.found is not None]
    eyes = [(one, eye) for one, eye in tests if isinstance(eye, SolvedWedge)]
    if not eyes or not math.isfinite(eyes[-1][1].often_95_um[1]):
        return {}
    one, dark_um = eyes[-1][0], eyes[-1][1].often_95_um[1]
    there = {_role(row): row for row in rows if _role(row) in SIGHT}
    some = there or {"sight at the bars": LinkRow(per_unit=f"{math.sqrt(0.75):.3g}"), "sight at the bed": LinkRow()}
    figure = f"{in_small_units(dark_um, units):.3g}"
    return {
        role: replace(row, link=f"{role}: {one.entry.name}, set {one.number}", figure=figure, kind="bound")
        for role, row in some.items()
    }
