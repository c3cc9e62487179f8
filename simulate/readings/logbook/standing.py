"""Where a job stands: how good each body of the logbook is by its last readings, what it hangs on, what comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from simulate.readings.logbook.entry import Entry
from simulate.readings.logbook.how_good import Form, Lack, forms
from simulate.readings.logbook.log_findings import WorkedOut, worked_out
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.table.readings import NAMED, TYPED
from simulate.readings.table.tidying import name_key


class Step(StrEnum):
    """What comes next for a body."""

    REACHED = "reached"
    KNOWN = "known"
    """An eye, which has nothing to reach."""
    CUT = "cut"
    READ = "read"
    REFUSED = "refused"


@dataclass(frozen=True, kw_only=True)
class Standing:
    """One body, or one thing that was measured, as its last readings leave it.

    `body`: its name; for what has none, such as a plate that was surveyed, the name of the set. `kind`: of the
    readings. `quantity`: ``"straightness"``, ``"flatness"``, ``"squareness"``, ``"twist"``, ``"parallelism"``, ``"even
    thickness"``, ``"right angle"``, ``"offset"``, ``"angle"`` or ``"threshold"``; empty where readings are refused.
    `value`, `low_95`, `high_95`: in `unit`. A form has no lower end; no range where the spread of a reading is only
    assumed. `unit`: ``"um"`` or ``"urad"``. `wanted_um`: what the learner asked for; None for a slope of ways, which
    has a published limit or none. `limit`: published ends, in `unit`. `number`: place of the set in the logbook, from
    1. `identity`: of the entry. `taken`: when, in the learner's own words, or the day on which it was entered. `sets`:
    sets of this body in the logbook. `hangs_on`: where its references are known from. `hidden`: what readings like
    these cannot show. `next_reading`: the reading that would tell most; empty where none is to be taken. `lack`: why
    the readings are not told well enough to stop by. `part`: of the body, where several are told of one, such as
    ``"front"``. `why`: why the readings are refused, or which of them contradict each other.
    """

    body: str
    kind: str
    quantity: str
    value: float | None
    low_95: float | None
    high_95: float | None
    unit: str
    wanted_um: float | None
    number: int
    identity: str
    taken: str
    sets: int
    hangs_on: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()
    step: Step = Step.READ
    next_reading: str = ""
    limit: tuple[float, float] | None = None
    lack: Lack | None = None
    part: str = ""
    why: str = ""


def job_standing(entries: Sequence[Entry]) -> tuple[Standing, ...]:
    """Say where a job stands by its logbook.

    `entries`: of one job, in the order in which they were entered; those that are struck out count for nothing.
    Returns: one for each body, or for each thing that is told of one, in the order in which they appear; a set that is
    refused stands by itself. What it cannot see: wear, and metal that came off since the last readings.

    >>> eye = Entry("gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n", "eye.csv", taken="Monday")
    >>> [(one.body, one.quantity, one.taken) for one in job_standing([eye])]
    [('eye.csv', 'threshold', 'Monday')]
    """
    return standings_of(worked_out(entries))


def standings_of(worked: Sequence[WorkedOut]) -> tuple[Standing, ...]:
    """Say where a job stands by the sets of its logbook as they were worked out."""
    found: dict[tuple[str, ...], Standing] = {}
    for set_ in worked:
        for one in _of_set(set_):
            nameless = not one.quantity or (one.kind not in NAMED and set_.entry.name == TYPED)
            key = (set_.entry.identity if nameless else one.kind, name_key(one.body), one.part, one.quantity)
            before = found.get(key)
            found[key] = one if before is None else replace(one, sets=before.sets + 1)
    return tuple(found.values())


def _of_set(one: WorkedOut) -> list[Standing]:
    entry, found = one.entry, one.found
    same: dict[str, Any] = {
        "number": one.number,
        "identity": entry.identity,
        "taken": entry.taken or entry.written[:10],
        "sets": 1,
    }
    if found is None:
        nothing: dict[str, Any] = {"value": None, "low_95": None, "high_95": None, "unit": ""}
        nothing |= {"wanted_um": entry.target_um, "step": Step.REFUSED, "why": str(one.refusal)}
        return [Standing(body=entry.name, kind="", quantity="", **nothing, **same)]
    depends = getattr(found.solution, "depends", None)
    hangs = () if depends is None else tuple(dict.fromkeys(one.said for one in depends.references))
    return [_standing(found, form, entry, hangs, same) for form in forms(found, entry.name)]


def _standing(found: Findings, form: Form, entry: Entry, hangs: tuple[str, ...], same: dict[str, Any]) -> Standing:
    wanted = None if form.slope or found.kind == "wedge" else entry.target_um
    step = _step(found, form, wanted)
    asks = found.next is not None and step is Step.READ and form.lack in (None, Lack.SPREAD)
    wrong = form.lack is Lack.CONTRADICTION and found.consistency is not None
    return Standing(
        body=form.body,
        kind=found.kind,
        quantity=form.quantity,
        value=form.value,
        low_95=form.low_95,
        high_95=form.high_95,
        unit=form.unit,
        wanted_um=wanted,
        hangs_on=hangs,
        hidden=found.hidden,
        step=step,
        next_reading=found.next.name if found.next and asks else "",
        limit=form.limit,
        lack=form.lack,
        part=form.part,
        why=found.consistency.sentences[0] if found.consistency and wrong else "",
        **same,
    )


def _step(found: Findings, form: Form, wanted_um: float | None) -> Step:
    """What comes next: nothing where it is good enough with 95 %, readings where those at hand see no more."""
    if found.kind == "wedge":
        return Step.KNOWN
    if form.lack is not None:
        return Step.READ
    if _good_enough(form, wanted_um):
        return Step.REACHED
    if form.slope and form.low_95 is not None and form.high_95 is not None:  # metal or shims where it is surely out
        low, high = form.limit or (0.0, 0.0)
        return Step.CUT if form.low_95 > high or form.high_95 < low else Step.READ
    return Step.READ if found.stop is None or found.stop.stop else Step.CUT


def _good_enough(form: Form, wanted_um: float | None) -> bool:
    """Whether it is inside its published limit, or as good as is wanted, with 95 %."""
    if form.limit is not None and form.low_95 is not None and form.high_95 is not None:
        return form.limit[0] <= form.low_95 and form.high_95 <= form.limit[1]
    return form.worst_um is not None and wanted_um is not None and form.worst_um <= wanted_um
