"""An empty table laid out for the learner's own bodies and stations: every place waits to be read."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Sequence
from itertools import combinations

from simulate.core.refusal import Refusal, either
from simulate.readings.entry.cell_grid import MOST, NOT_READ
from simulate.readings.entry.layout_words import Field, figure, refused, stations_said
from simulate.readings.entry.machine_layouts import LINE_FIELDS, MAKE, waits
from simulate.readings.table.alignment_kinds import FOOT
from simulate.readings.table.cell_words import said_of
from simulate.readings.table.units import DIVISION, SLOPE, SMALL

_LAID = re.compile(r"(.+?)\s+on\s+(.+?)(?:\s+turned(?:\s+([0-9]+))?)?(?:\s+slid\s+([+-]?[0-9.]+))?", re.IGNORECASE)


_NAMES = Field(name="bodies", label="Names", mm="A, B, C", inch="A, B, C")
_PAIRS = Field(name="pairs", label="Laid on each other", mm="", inch="")
FIELDS = {
    "bars": (
        _NAMES,
        Field(name="stations", label="Stations ({long})", mm="0 to 500 every 50", inch="0 to 20 every 2"),
        _PAIRS,
    ),
    "plates": (
        _NAMES,
        Field(name="stations", label="Stations across, x ({long})", mm="-100 to 100 every 50", inch="-4 to 4 every 2"),
        Field(name="y", label="Stations away, y ({long})", mm="-100 to 100 every 50", inch="-4 to 4 every 2"),
        _PAIRS,
    ),
    "squares": (
        _NAMES,
        Field(name="stations", label="Heights ({long})", mm="5, 50, 95, 140", inch="0.25, 2, 4, 5.5"),
        _PAIRS,
    ),
    "lands": (
        Field(
            name="stations", label="Gauges, land to land ({long})", mm="long 300, short 100", inch="long 12, short 4"
        ),
        Field(name="length", label="Length of the bar ({long})", mm="600", inch="24"),
    ),
    "union jack": (
        Field(name="length", label="Length of the plate, x ({long})", mm="640", inch="24"),
        Field(name="width", label="Width of the plate, y ({long})", mm="480", inch="18"),
        Field(name="stations", label="Base of the level ({long})", mm="80", inch="3"),
    ),
    "wedge": (
        Field(
            name="stations",
            label="Gap at each mark ({small})",
            mm="0.5 to 4.5 every 0.5",
            inch="0.02 to 0.18 every 0.02",
        ),
    ),
    "head": (
        Field(name="stations", label="Places on headstock bar ({long})", mm="50, 175, 300", inch="2, 7, 12"),
        Field(name="y", label="Tailstock places, or none ({long})", mm="600, 725, 850", inch="24, 29, 34"),
        Field(name="feet", label="Headstock feet, or none ({long})", mm="-250, -50", inch="-10, -2"),
        Field(name="tail_feet", label="Tailstock feet, or none ({long})", mm="930, 1080", inch="37, 43"),
    ),
    "cross slide": (
        Field(name="stations", label="Places of the travel ({long})", mm="0 to 120 every 40", inch="0 to 6 every 2"),
    ),
    "one square": (
        Field(name="stations", label="Heights ({long})", mm="10, 50, 95, 140", inch="0.5, 2, 4, 5.5"),
        Field(name="bodies", label="Held against", mm="strip", inch="strip"),
    ),
    "thickness": (
        Field(name="stations", label="Places along, x ({long})", mm="10 to 190 every 45", inch="0.5 to 7.5 every 1.75"),
        Field(name="y", label="Places across, y ({long})", mm="10, 60, 110", inch="0.5, 2.5, 4.5"),
    ),
    **LINE_FIELDS,
}
"""Kind of readings to what has to be said; `pairs` left empty stands for the usual ones."""
UNITS_ALLOWED = {
    "union jack": SLOPE,
    "level": SLOPE,
    "wedge": SMALL[:3],
    "thickness": (SMALL[1], SMALL[3], SMALL[2], SMALL[0]),
}
_READ = {"union jack": "reading", "level": "reading", "head": "dial", "cross slide": "dial", "thickness": "thickness"}
"""Kind to the column of its readings, where that is no gap."""


def laid_out(kind: str, unit: str, long: str = "mm", remarks: Sequence[str] = (), **said: str) -> str:
    """Give the text of a table in which every place waits to be read.

    `kind`: a key of `FIELDS`. `unit`: of the readings, as `simulate.readings.table.units` names it. `long`: unit of
    places: ``"mm"`` or ``"in"``. `remarks`: comment lines to stand above, such as ``division: 0.02 mm/m``. `**said`:
    one for each field of the kind.

    >>> print(laid_out("squares", "um", bodies="A, B", stations="5 to 95 every 90", pairs="").strip())
    lower,upper,height_mm,gap_um
    # not read: A,B,5,
    # not read: A,B,95,
    """
    if kind not in FIELDS:
        raise Refusal("choice", where="kind", found=f"{kind!r}", must_be=either(FIELDS))
    allowed = {one.name for one in UNITS_ALLOWED.get(kind, SMALL)}
    if unit not in allowed:
        raise Refusal("choice", where="unit", found=f"{unit!r}", must_be=either(sorted(allowed)))
    above = [f"# {remark}" for remark in remarks if remark.strip()]
    column = _READ.get(kind, "gap")
    if unit == DIVISION and said_of(above).division_of(column) is None:
        raise Refusal(
            "missing",
            where="the value of one division",
            found="no usable figure",
            must_be="a figure with its unit, such as " + ("0.02 mm/m" if column == "reading" else "0.01 mm"),
        )
    header, rows = _MAKE[kind](unit, long, **said)
    if len(rows) > MOST:
        raise Refusal(
            "count",
            where="the table",
            found=f"{len(rows)} readings",
            must_be=f"at most {MOST}",
            do="Take fewer stations",
        )
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(header)
    for row in rows:
        out.write(NOT_READ if waits(kind, row) else "")
        write.writerow(row)
    return "".join(f"{line}\n" for line in above) + out.getvalue()


def _names(words: str) -> list[str]:
    names = [" ".join(name.split()) for name in re.split(r"[,;]", words) if name.strip()]
    if len(names) < 2 or len({name.casefold() for name in names}) < len(names):
        raise refused("names", words, "two or more different names with commas between them")
    return names


def pairs_said(words: str, names: Sequence[str], usual: Sequence[str]) -> list[tuple[str, str, str, str]]:
    """Return pairs as lower, upper, turned and slid; those that are usual where nothing was said.

    >>> pairs_said("B on A; c on B turned 90 slid 50", ["A", "B", "C"], [])
    [('A', 'B', '', ''), ('B', 'C', '90', '50')]
    """
    parts = [part.strip() for part in re.split(r"[,;]", words) if part.strip()] or list(usual)
    named = {name.casefold(): name for name in names}
    found = []
    for part in parts:
        told = _LAID.fullmatch(part)
        upper, lower = (told[1].casefold(), told[2].casefold()) if told else ("", "")
        if told is None or upper == lower or not {upper, lower} <= set(named):
            raise refused("laid on each other", part, "two of the names, such as 'B on A' or 'B on A turned'")
        turned = told[3] or ("yes" if re.search(r"\sturned\b", part, re.IGNORECASE) else "")
        found.append((named[lower], named[upper], turned, told[4] or ""))
    return found


def _bars(unit: str, long: str, bodies: str, stations: str, pairs: str) -> tuple[list[str], list[list[str]]]:
    names = _names(bodies)
    usual = [f"{b} on {a}" for a, b in combinations(names, 2)]
    laid = pairs_said(pairs, names, [*usual, f"{usual[-1]} turned"])
    rows = [[a, b, turned or "no", x, ""] for a, b, turned, _ in laid for x in stations_said(stations)]
    return ["lower", "upper", "turned", f"position_{long}", f"gap_{unit}"], rows


def _plates(unit: str, long: str, bodies: str, stations: str, y: str, pairs: str) -> tuple[list[str], list[list[str]]]:
    names, across, away = _names(bodies), stations_said(stations, "stations across"), stations_said(y, "stations away")
    usual = [f"{b} on {a}" for a, b in combinations(names, 2)]
    step = f"{float(across[1]) - float(across[0]):g}" if len(across) > 1 else "0"
    laid = pairs_said(pairs, names, [*usual, f"{usual[-1]} turned 90", f"{usual[0]} slid {step}"])
    low, high = min(map(float, across)), max(map(float, across))
    rows = [
        [a, b, {"": "0", "yes": "180"}.get(turned, turned), slid or "0", x, there, ""]
        for a, b, turned, slid in laid
        for there in away
        for x in across
        if low - 1e-9 <= float(x) - float(slid or 0) <= high + 1e-9  # where the slid plate still lies on the other
    ]
    return ["lower", "upper", "turned", f"slide_x_{long}", f"x_{long}", f"y_{long}", f"gap_{unit}"], rows


def _squares(unit: str, long: str, bodies: str, stations: str, pairs: str) -> tuple[list[str], list[list[str]]]:
    names = _names(bodies)
    laid = pairs_said(pairs, names, [f"{b} on {a}" for a, b in combinations(names, 2)])
    rows = [[a, b, z, ""] for a, b, _, _ in laid for z in stations_said(stations, "heights")]
    return ["lower", "upper", f"height_{long}", f"gap_{unit}"], rows


def _lands(unit: str, long: str, stations: str, length: str) -> tuple[list[str], list[list[str]]]:
    whole, rows = figure(length, "length"), []
    for part in filter(None, (part.strip() for part in re.split(r"[,;]", stations))):
        name, _, pitch = part.rpartition(" ")
        step = figure(pitch, "gauges") if name.strip() else 0
        if not 0 < 2 * step <= whole + 1e-9 or whole / step > MOST:
            raise refused(
                "gauges",
                part,
                "a name and the distance between its lands, at most half the bar, such as 'short 100'",
            )
        lefts = range(int((whole - 2 * step) / step + 1e-9) + 1)
        rows += [[" ".join(name.split()), *(f"{step * (k + j):.6g}" for j in range(3)), ""] for k in lefts]
    if not rows:
        raise refused("gauges", stations, "one gauge or more, such as 'long 300, short 100'")
    return ["gauge", f"left_{long}", f"middle_{long}", f"right_{long}", f"proud_{unit}"], rows


def _survey(unit: str, long: str, length: str, width: str, stations: str) -> tuple[list[str], list[list[str]]]:
    x, y, foot = (figure(word, name) for word, name in ((length, "length"), (width, "width"), (stations, "foot")))
    ends = {
        "diagonal 1": (0, 0, x, y),
        "diagonal 2": (0, y, x, 0),
        "front": (0, 0, x, 0),
        "back": (0, y, x, y),
        "left": (0, 0, 0, y),
        "right": (x, 0, x, y),
        "centre along": (0, y / 2, x, y / 2),
        "centre across": (x / 2, 0, x / 2, y),
    }
    rows = []
    for line, (a, b, c, d) in ends.items():
        steps = 2 * max(1, round(((c - a) ** 2 + (d - b) ** 2) ** 0.5 / (2 * foot)))  # even: one station lies halfway
        if steps > MOST:
            raise refused("foot", stations, f"long enough for at most {MOST} steps on each line")
        rows += [
            [line, str(k), f"{a + (c - a) * k / steps:.6g}", f"{b + (d - b) * k / steps:.6g}", ""]
            for k in range(steps + 1)
        ]
    return ["line", "station", f"x_{long}", f"y_{long}", f"reading_{unit}"], rows


def _wedge(unit: str, long: str, stations: str) -> tuple[list[str], list[list[str]]]:
    return [f"gap_{unit}", "looks", "seen"], [[gap, "", ""] for gap in stations_said(stations, "marks")]


def _head(
    unit: str, long: str, stations: str, y: str, feet: str = "", tail_feet: str = ""
) -> tuple[list[str], list[list[str]]]:
    bars = {"headstock": stations_said(stations, "places on the headstock bar")}
    if y.strip():
        bars["tailstock"] = stations_said(y, "places on the tailstock bar")
    stand = {
        axis: said for axis, said in (("headstock", feet), ("tailstock", tail_feet)) if axis in bars and said.strip()
    }
    rows = [
        [axis, plane, x, turned, ""]
        for axis, places in bars.items()
        for plane in ("upright", "level")
        for turned in ("no", "yes")
        for x in places
    ]
    rows += [
        [axis, FOOT, x, "", ""] for axis, said in stand.items() for x in stations_said(said, f"feet of the {axis}")
    ]
    return ["axis", "plane", f"x_{long}", "turned", f"dial_{unit}"], rows


def _cross_slide(unit: str, long: str, stations: str) -> tuple[list[str], list[list[str]]]:
    places = stations_said(stations, "places of the travel")
    return [f"travel_{long}", "turned", f"dial_{unit}"], [[x, turned, ""] for turned in ("no", "yes") for x in places]


def _one_square(unit: str, long: str, stations: str, bodies: str) -> tuple[list[str], list[list[str]]]:
    ways = {"strip": ("no", "yes"), "roller": ("0", "90", "180", "270")}
    by = bodies.strip().lower()
    if by not in ways:
        raise refused("held against", bodies, "strip or roller; a dial and scribed lines go into the text")
    heights = stations_said(stations, "heights")
    rows = [[by, z, turned, ""] for turned in ways[by] for z in heights]
    return ["by", f"height_{long}", "turned", f"gap_{unit}"], rows


def _thickness(unit: str, long: str, stations: str, y: str) -> tuple[list[str], list[list[str]]]:
    rows = [[x, there, ""] for there in stations_said(y, "places across") for x in stations_said(stations)]
    return [f"x_{long}", f"y_{long}", f"thickness_{unit}"], rows


_MAKE: dict[str, Callable[..., tuple]] = {
    "bars": _bars,
    "plates": _plates,
    "squares": _squares,
    "lands": _lands,
    "union jack": _survey,
    "wedge": _wedge,
    "head": _head,
    "cross slide": _cross_slide,
    "one square": _one_square,
    "thickness": _thickness,
    **MAKE,
}
