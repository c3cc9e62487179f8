"""Where a job stands, in words and one table: what the report begins with and lesson 23 shows at its head."""

from __future__ import annotations

from collections.abc import Sequence

from simulate.readings.logbook.how_good import Lack
from simulate.readings.logbook.standing import Standing, Step
from simulate.show.drawing import style
from simulate.show.units.finding_words import spoken, spoken_name

HEADING = ("body", "how good", "with 95 %", "wanted", "depends on", "read", "next")
_QUANTITIES = {
    "straightness": "straight within {}",
    "flatness": "flat within {}",
    "squareness": "leans by {}",
    "twist": "twisted by {}",
    "parallelism": "out of parallel by {}",
    "even thickness": "parallel within {}",
    "right angle": "out of square by {}",
    "offset": "offset by {}",
    "angle": "at an angle of {}",
    "threshold": "sees gaps of {}",
}
_SIGNED = ("squareness", "twist", "parallelism", "right angle", "offset", "angle")
_NEXT = {
    Step.REACHED: "good enough",
    Step.KNOWN: "nothing: it is known",
    Step.CUT: "take metal off, as the map of this set shows",
    Step.READ: "take more readings before you cut",
    Step.REFUSED: "correct the readings",
}
_LACKS = {
    Lack.SPREAD: "No range is known for {}: the repeatability of a reading is not known yet.",
    Lack.OPEN: "Readings without an upper limit do not settle {}: read again with an upper limit before you call it "
    "good.",
    Lack.CONTRADICTION: "No range is known for {}: a reading is wrong.",
}
_NEXT_LACK = {
    Lack.OPEN: "read again with an upper limit",
    Lack.CONTRADICTION: "read again what contradicts the others",
}
SHIMMED = {"joint": ("offset", "angle"), "head": ("parallelism", "offset")}
"""Kind to what of it shims cure; anything else loses metal."""
UNKNOWN = "not known"


def standing_rows(standings: Sequence[Standing], units: str = "mm") -> tuple[tuple[str, ...], ...]:
    """Give the table of where a job stands, a row for each body under `HEADING`."""
    return tuple(
        (
            f"{one.body}, {spoken_name(one.part, units)}" if one.part else one.body,
            _good(one, units),
            _range(one, units),
            _wanted(one, units),
            "; ".join(one.hangs_on) or "nothing else",
            f"{one.taken or 'date not known'} (set {one.number}{f', of {one.sets} in all' if one.sets > 1 else ''})",
            _next(one, units),
        )
        for one in standings
    )


def standing_words(standings: Sequence[Standing], units: str = "mm") -> tuple[str, ...]:
    """Say in a few sentences where a job stands and what comes first."""
    if not standings:
        return ("The logbook holds no readings yet: add a first set, and this page says where the job stands.",)
    bodies = [one for one in standings if one.step is not Step.KNOWN]
    said = []
    if bodies:
        count = len({(one.kind, one.body) for one in bodies})
        reached = [one for one in bodies if one.step is Step.REACHED]
        good = f"; good enough: {_listed(reached, units)}." if reached else "; none is shown to be good enough yet."
        said.append(f"{count} bod{'ies' if count != 1 else 'y'} in the logbook{good}")
    for words, some in (
        ("Correct first", [one for one in standings if one.step is Step.REFUSED]),
        ("Take more readings", [one for one in standings if one.step is Step.READ]),
        ("Take metal off", [one for one in standings if one.step is Step.CUT and not _shimmed(one)]),
        ("Shim", [one for one in standings if one.step is Step.CUT and _shimmed(one)]),
        ("Known", [one for one in standings if one.step is Step.KNOWN]),
    ):
        if some:
            said.append(f"{words}: {_listed(some, units)}.")
    resting = {one.body: one.hangs_on for one in standings if one.hangs_on}
    said += [f"{body} depends on {' and '.join(on)}." for body, on in resting.items()]
    for lack, words in _LACKS.items():
        some = [one for one in standings if one.lack is lack]
        if some:
            said.append(words.format(_listed(some, units)))
    doubted = [one for one in standings if one.why]
    where = {one.why: one.body if one.step is Step.REFUSED else f"Set {one.number}" for one in doubted}
    said += [f"{place}: {spoken(why, units)}" for why, place in where.items()]
    for number in sorted({one.number for one in standings if one.hidden}):
        mine = [one for one in standings if one.number == number]
        said.append(
            f"Hidden in {', '.join(dict.fromkeys(one.body for one in mine))}: {spoken(mine[0].hidden[0], units)}"
        )
    return tuple(said)


def _shimmed(one: Standing) -> bool:
    return one.quantity in SHIMMED.get(one.kind, ())


def _listed(some: Sequence[Standing], units: str) -> str:
    """Name bodies, each once, with what of it where several things of one are told."""
    bodies: dict[str, dict[str, list[str]]] = {}
    for one in some:
        parts = bodies.setdefault(one.body, {}).setdefault(one.quantity, [])
        parts += [spoken_name(one.part, units)] if one.part else []
    return ", ".join(
        body + (f" ({told})" if (told := "; ".join(f"{q} of {', '.join(p)}" for q, p in of.items() if p)) else "")
        for body, of in bodies.items()
    )


def _spell(one: Standing, value: float, units: str, sign: str = "") -> str:
    if one.unit == "urad":
        return style.spell_angle(value, units, sign)
    return f"{'+' if sign and value > 0 else ''}{style.spell(value, units)}"


def _good(one: Standing, units: str) -> str:
    if one.value is None or one.value != one.value:
        return UNKNOWN
    return _QUANTITIES[one.quantity].format(_spell(one, one.value, units, "+" if one.quantity in _SIGNED else ""))


def _range(one: Standing, units: str) -> str:
    if one.high_95 is None:
        return UNKNOWN
    if one.low_95 is None:
        return f"at most {_spell(one, one.high_95, units)}"
    return f"{_spell(one, one.low_95, units)} to {_spell(one, one.high_95, units)}"


def _wanted(one: Standing, units: str) -> str:
    if one.wanted_um:
        return style.spell(one.wanted_um, units)
    if one.limit is not None:
        return f"published: {_spell(one, one.limit[0], units)} to {_spell(one, one.limit[1], units)}"
    return "-" if one.step is Step.KNOWN else "not said"


def _next(one: Standing, units: str) -> str:
    if one.lack in _NEXT_LACK:
        return _NEXT_LACK[one.lack]
    if one.step is Step.CUT and _shimmed(one):
        return "shim the joint, by this set" if one.kind == "joint" else "shim or swing it, by this set"
    return f"read {spoken_name(one.next_reading, units)}" if one.next_reading else _NEXT[one.step]
