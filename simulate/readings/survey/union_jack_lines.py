"""The eight lines of a union jack: which line is which, and whether they meet."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.table.line_kinds import ENDS, role_of, same_place_mm
from simulate.readings.table.readings import Readings

ARCSEC = np.pi / 648000.0
"""A second of arc in radians."""
ROLES = tuple(ENDS.values())


@dataclass(frozen=True)
class Line:
    """One line as it was read.

    `role`: one of `ROLES`. `row` (stations,) of int: rows of the table, in the order of the stations. `point`
    (stations,) of int: which distinct station each is. `along_mm` (stations,). `height_um` (stations,): steps added up,
    both ends brought to zero. `middle`: the station halfway along.
    """

    name: str
    role: str
    row: np.ndarray
    point: np.ndarray
    along_mm: np.ndarray
    height_um: np.ndarray
    middle: int

    @property
    def fraction(self) -> np.ndarray:
        """How far along each station is, 0 to 1."""
        return self.along_mm / self.along_mm[-1]


def rises_um(along_mm: np.ndarray, reading_arcsec: np.ndarray) -> np.ndarray:
    """Add readings of slope up to heights, the first and the last brought to zero.

    `along_mm` (stations,). `reading_arcsec` (stations - 1,): slope of each step, with an instrument zero that is the
    same all along. Returns (stations,).

    The mean is taken off before the tangent, so that a large instrument zero does no harm. A second of arc over
    100 mm is 0.484814 um.

    >>> rises_um(np.array([0, 100.0, 200.0]), np.array([1.0, -1.0])).round(6).tolist()
    [0.0, 0.484814, 0.0]
    """
    angle = (reading_arcsec - reading_arcsec.mean()) * ARCSEC
    height = np.concatenate([[0.0], np.cumsum(np.tan(angle) * np.diff(along_mm) * 1000.0)])
    return height - height[-1] * (along_mm - along_mm[0]) / (along_mm[-1] - along_mm[0])


def eight_lines(table: Readings) -> tuple[dict[str, Line], np.ndarray, np.ndarray]:
    """Find the eight lines of a survey by where they lie.

    `table`: of a union jack. Returns `lines`: by their role. `x_mm`, `y_mm` (points,): the distinct stations.
    """
    x, y = table.x_mm, table.y_mm
    rows = {name: _ordered(table, name) for name in table.names}
    same = same_place_mm(np.array(table.line), table.station, x, y)
    point, px, py = distinct_places(x, y, same)
    lines: dict[str, Line] = {}
    for name, row in rows.items():
        line = _line(table, name, row, point, same)
        if line.role in lines:
            raise Refusal(
                "same",
                where=f"the role of lines {lines[line.role].name!r} and {name!r} in {table.source}",
                found=f"{line.role} for both",
                must_be="a different one for each: each of the eight lines is read once",
            )
        lines[line.role] = line
    missing = [role for role in ROLES if role not in lines]
    if missing:
        raise Refusal(
            "missing",
            where=table.source,
            found=f"{len(lines)} of the eight lines, without {', '.join(missing)}",
            must_be="two diagonals, four edges and two centre lines, for a union jack",
        )
    _refuse_apart(table, lines)
    return lines, px, py


def slope_equations(lines: dict[str, Line], points: int) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Put all heights and the eight zeros against the slopes, each slope in seconds of arc and equally sure.

    `points`: how many distinct stations there are. Returns `design` (steps, points + lines), `reading_arcsec` (steps,).
    `step_um` (steps,): height of one second of arc over the step. `row` (steps,) of int: place in the table.
    """
    design, reading, step = [], [], []
    for number, line in enumerate(lines.values()):
        length = np.diff(line.along_mm)
        um = length * 1000.0 * ARCSEC
        block = np.zeros((length.size, points + len(lines)))
        each = np.arange(length.size)
        block[each, line.point[1:]] += 1.0 / um
        block[each, line.point[:-1]] -= 1.0 / um
        block[:, points + number] = 1.0
        design.append(block)
        reading.append(np.diff(line.height_um) / um)
        step.append(um)
    row = np.concatenate([line.row[1:] for line in lines.values()])
    return np.vstack(design), np.concatenate(reading), np.concatenate(step), row


def corner_datum(lines: dict[str, Line], x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Level both diagonals end to end, and put the centre at zero.

    `x`, `y` (points,). Returns (points, points + lines).
    """
    corners = np.concatenate([lines[role].point[[0, -1]] for role in ROLES[:2]])
    centre = int(lines[ROLES[0]].point[lines[ROLES[0]].middle])
    plane = np.stack([np.ones(x.size), x - x[centre], y - y[centre]], axis=-1)
    tilt = np.linalg.pinv(plane[corners])
    tilt[0] = 0.0
    datum = np.zeros((x.size, x.size + len(lines)))
    datum[:, : x.size] = np.eye(x.size)
    datum[:, centre] -= 1.0
    datum[:, corners] -= plane @ tilt
    return datum


def _ordered(table: Readings, name: str) -> np.ndarray:
    rows = np.flatnonzero(np.array(table.line) == name)
    return rows[np.argsort(table.station[rows], kind="stable")]


def distinct_places(x: np.ndarray, y: np.ndarray, same: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Give each place once: which of them each row is at, and where they lie."""
    near = np.hypot(x[:, None] - x, y[:, None] - y) < same
    first, point = np.unique(near.argmax(axis=1), return_inverse=True)
    return point.reshape(-1), x[first], y[first]


def _line(table: Readings, name: str, row: np.ndarray, point: np.ndarray, same: float) -> Line:
    x, y = table.x_mm[row], table.y_mm[row]
    role = _role(table, name, x, y, same)
    length = np.hypot(x[-1] - x[0], y[-1] - y[0])
    ex, ey = (x[-1] - x[0]) / length, (y[-1] - y[0]) / length
    along, beside = (x - x[0]) * ex + (y - y[0]) * ey, (y - y[0]) * ex - (x - x[0]) * ey
    off = np.flatnonzero((np.abs(beside) > same) | (np.diff(along, prepend=-1.0) <= 0))
    if off.size:
        k = int(off[0])
        raise Refusal(
            "place",
            where=f"{table.source}, row {table.row[row[k]]}, station {k} of line {name!r}",
            found=f"at x {x[k]:g}, y {y[k]:g} mm, out of order",
            must_be="on the straight line between its ends, after the station before it",
        )
    middle = int(np.argmin(np.abs(along - length / 2)))
    if abs(along[middle] - length / 2) > same:
        raise Refusal(
            "place",
            where=f"{table.source}, line {name!r}",
            found=f"without a station halfway, at x {(x[0] + x[-1]) / 2:g}, y {(y[0] + y[-1]) / 2:g} mm, "
            "where others cross it",
            must_be="a line of an even number of equal steps",
        )
    return Line(name, role, row, point[row], along, rises_um(along, table.reading_arcsec[row[1:]]), middle)


def _role(table: Readings, name: str, x: np.ndarray, y: np.ndarray, same: float) -> str:
    role = role_of(x, y, table.x_mm, table.y_mm, same)
    if role is None:
        raise Refusal(
            "place",
            where=f"{table.source}, line {name!r}",
            found=f"from x {x[0]:g}, y {y[0]:g} to x {x[-1]:g}, y {y[-1]:g} mm",
            must_be="a diagonal, an edge or a centre line of the rectangle that all stations span",
        )
    return role


def _refuse_apart(table: Readings, lines: dict[str, Line]) -> None:
    """Lines that should cross or join must share a station."""

    def shared(role: str, other: str) -> bool:
        return bool(set(lines[role].point.tolist()) & set(lines[other].point.tolist()))

    for role, other in [(ROLES[0], r) for r in ROLES[1:]] + [
        (ROLES[6], ROLES[4]),
        (ROLES[6], ROLES[5]),
        (ROLES[7], ROLES[2]),
        (ROLES[7], ROLES[3]),
    ]:
        if not shared(role, other):
            raise Refusal(
                "contradiction",
                where=table.source,
                found=f"lines {lines[role].name!r} and {lines[other].name!r} share no station",
                must_be="a station with the same x_mm and y_mm in both, where they meet",
            )
