"""Empty tables for readings along lines, and of a bed: a row for each reading to take."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from simulate.readings.entry.layout_words import Field, figure, refused, stations_said
from simulate.readings.table.alignment_kinds import FOOT

Table = tuple[list[str], list[list[str]]]
_TWICE = ("", "again")
"""A straightedge is laid twice, for two layings tell how well one reading holds."""
_X = Field(name="stations", label="Stations along, x ({long})", mm="0 to 800 every 100", inch="0 to 32 every 4")
_APART = Field(name="apart", label="Distance between ways ({long})", mm="200", inch="8")

LINE_FIELDS = {
    "level": (
        Field(name="length", label="Length along x ({long})", mm="800", inch="32"),
        Field(name="y", label="Lines along, y ({long})", mm="0, 200", inch="0, 8"),
        Field(name="stations", label="Base of level, along ({long})", mm="100", inch="4"),
        Field(name="x", label="Lines across, x ({long})", mm="0 to 800 every 200", inch="0 to 32 every 8"),
        Field(name="bridge", label="Base of level, across ({long})", mm="200", inch="8"),
    ),
    "edge": (
        Field(name="stations", label="Stations across, x ({long})", mm="0 to 400 every 100", inch="0 to 16 every 4"),
        Field(name="y", label="Stations away, y ({long})", mm="0 to 300 every 75", inch="0 to 12 every 3"),
    ),
    "bed": (
        _X,
        _APART,
        Field(name="strip", label="Length of winding strips ({long})", mm="400", inch="16"),
    ),
    "joint": (
        _X,
        _APART,
        Field(name="joint", label="Place of the joint, x ({long})", mm="450", inch="18"),
        Field(name="bolts", label="Bolts of tail part, x ({long})", mm="500, 750", inch="20, 30"),
    ),
}
"""Kind of readings to what has to be said before its table is laid out."""


def _level(unit: str, long: str, length: str, y: str, stations: str, x: str, bridge: str) -> Table:
    whole, foot, over = figure(length, "length"), figure(stations, "foot"), figure(bridge, "foot across")
    along, across = stations_said(y, "lines along"), stations_said(x, "lines across") if x.strip() else []
    low, high = min(map(float, along)), max(map(float, along))
    rows = []
    for at in along:
        rows += [[f"along {at}", str(k), f"{k * foot:.6g}", at, "level", ""] for k in range(_steps(whole, foot) + 1)]
    for at in across if high > low else []:
        steps = range(_steps(high - low, over) + 1)
        rows += [[f"across {at}", str(k), at, f"{low + k * over:.6g}", "level", ""] for k in steps]
    return ["line", "station", f"x_{long}", f"y_{long}", "set", f"reading_{unit}"], rows


def _steps(whole: float, foot: float) -> int:
    steps = int(whole / foot + 1e-9)
    if not 1 <= steps < 900:
        raise refused("foot", f"{foot:g}", f"at most {whole:g}, the length of the line, and more than 1/900 of it")
    return steps


def _edge(unit: str, long: str, stations: str, y: str) -> Table:
    across, away = stations_said(stations, "stations across"), stations_said(y, "stations away")
    rows = [[f"row {at}", x, at, ""] for at in away for x in across]
    rows += [[f"column {at}", at, up, ""] for at in across for up in away]
    low, high = float(away[0]), float(away[-1])
    span = float(across[-1]) - float(across[0])
    for name, a, b in (("up", low, high), ("down", high, low)):
        rows += [[name, x, f"{a + (b - a) * (float(x) - float(across[0])) / span:.6g}", ""] for x in across if span]
    return ["line", f"x_{long}", f"y_{long}", f"gap_{unit}"], rows


def _bed(unit: str, long: str, stations: str, apart: str, strip: str) -> Table:
    x, ways = stations_said(stations), _ways(apart)
    header = ["how", "way", "plane", f"x_{long}", f"to_x_{long}", f"y_{long}"]
    header += ["set", "turned", f"strip_{long}", f"gap_{unit}", f"step_{unit}"]
    rows = [
        ["edge", way, plane, at, "", y, f"{way} {laid}".strip() if laid else "", "", "", "", ""]
        for plane in ("upright", "level")
        for way, y in ways
        for laid in _TWICE
        for at in x
    ]
    rows += [
        ["strips", "", "", x[0], at, "", "", turned, f"{figure(strip, 'strips'):g}", "", ""]
        for at in x[1:]
        for turned in ("no", "yes")
    ]
    return header, rows


def _joint(unit: str, long: str, stations: str, apart: str, joint: str, bolts: str) -> Table:
    x, ways, at = stations_said(stations), _ways(apart), figure(joint, "the joint")
    if not float(x[0]) < at < float(x[-1]):
        raise refused("the joint", joint, f"between the stations {x[0]} and {x[-1]}")
    rows = [
        ["edge", way, plane, one, y, f"{way} {plane} {k}", "", "head part" if float(one) < at else "tail part"]
        for plane in ("upright", "level")
        for way, y in ways
        for k in range(len(_TWICE))
        for one in x
    ]
    places = stations_said(bolts, "bolts") if bolts.strip() else []
    rows += [["bolt", "", "", one, y, "", "", "tail part"] for one in places for _, y in ways]
    return ["how", "way", "plane", f"x_{long}", f"y_{long}", "set", f"gap_{unit}", "part"], rows


def _ways(apart: str) -> tuple[tuple[str, str], tuple[str, str]]:
    return ("front", "0"), ("back", f"{figure(apart, 'ways apart'):g}")


MAKE: dict[str, Callable[..., Table]] = {
    "level": _level,
    "edge": _edge,
    "bed": _bed,
    "joint": _joint,
}


def waits(kind: str, row: Sequence[str]) -> bool:
    """Say whether a row is to be read; a first station, a bolt and a foot only say where something stands.

    >>> waits("level", ["front", "0"]), waits("level", ["front", "1"]), waits("joint", ["bolt"])
    (False, True, False)
    """
    if kind in ("union jack", "level"):
        return row[1] != "0"
    return "bolt" not in row[:1] and not (kind == "head" and row[1] == FOOT)
