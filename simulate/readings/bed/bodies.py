"""The ways of a bed, each in one plane and of one part, with the places where their heights are counted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.refusal import Refusal
from simulate.readings.network.places import places_along
from simulate.readings.table.readings import BedReadings

UPRIGHT, LEVEL = "upright", "level"
SAME_MM = 0.5
"""Places nearer than this are one."""
_BEYOND = 0.15
Row = dict[int, float]
"""Weights of heights, by point."""


@dataclass(frozen=True, kw_only=True)
class Bodies:
    """Ways of a bed, each in one plane and of one part.

    `places`: points of each, in rising x. `x_mm`, `y_mm` (points,). `apart_mm`: from way to way; nan for one way.
    `ways`: the front one first: that with the least y.
    """

    keys: tuple[tuple[str, str, str], ...]
    places: tuple[np.ndarray, ...]
    x_mm: np.ndarray
    y_mm: np.ndarray
    apart_mm: float
    ways: tuple[str, ...]

    @property
    def of_point(self) -> np.ndarray:
        """Which body each point is on."""
        return np.repeat(np.arange(len(self.places)), [one.size for one in self.places])

    def named(self, k: int) -> str:
        """Name a body: its part, its way and its plane, where there are several."""
        part, way, plane = self.keys[k]
        return " ".join(one for one in (part, way, "(horizontal plane)" if plane == LEVEL else "") if one) or "the way"

    def at(self, part: str, way: str, plane: str, x: float) -> Row:
        """Give the height of a way at a place, between its own places, as weights of heights."""
        if (part, way, plane) not in self.keys:
            raise LookupError
        places = self.places[self.keys.index((part, way, plane))]
        own = self.x_mm[places]
        near = int(np.abs(own - x).argmin())
        if abs(own[near] - x) < SAME_MM:
            return {int(places[near]): 1.0}
        room = _BEYOND * float(np.ptp(own))
        if own.size < 2 or not own[0] - room <= x <= own[-1] + room:
            raise LookupError
        right = int(np.clip(np.searchsorted(own, x), 1, own.size - 1))
        share = (x - own[right - 1]) / (own[right] - own[right - 1])
        return {int(places[right - 1]): 1.0 - share, int(places[right]): share}


def bodies_of(table: BedReadings) -> Bodies:
    """Find the ways of a bed, and the places where the shape of each is read.

    Where a way's shape is read by an edge, a dial or a level, its heights are counted at those places, and what crosses
    from way to way hangs between them; otherwise they are counted where something crosses."""
    y_of = _across(table)
    shaped: dict[tuple[str, str, str], list[float]] = {}
    crossed: dict[tuple[str, str, str], list[float]] = {}
    for i in np.flatnonzero(table.how != "bolt"):
        part, way, plane, how = (str(one[i]) for one in (table.part, table.way, table.plane, table.how))
        ends = [float(table.x_mm[i]), *([float(table.to_x_mm[i])] if np.isfinite(table.to_x_mm[i]) else [])]
        if how in ("edge", "dial", "level"):
            shaped.setdefault((part, way, plane), []).extend(ends)
        if how not in ("edge", "level"):
            over = [*ends, float(np.mean(ends))] if how == "diagonal" else ends
            for one in y_of:
                crossed.setdefault((part, one, plane), []).extend(over)
    keys = [*shaped, *(key for key in crossed if key not in shaped)]
    keys.sort(key=lambda key: (key[2] == LEVEL, key[0], y_of.get(key[1], 0.0)))
    if not keys:
        raise Refusal(
            "count",
            where=table.source,
            found="no reading of a way",
            must_be="one or more",
            do="Read along each way too, by straightedge or level, and give its place across in y_mm",
        )
    x = [places_along(np.array(shaped.get(key) or crossed[key]), SAME_MM) for key in keys]
    start = np.concatenate([[0], np.cumsum([one.size for one in x])])
    ways = tuple(sorted(y_of, key=lambda one: y_of[one]))
    return Bodies(
        keys=tuple(keys),
        places=tuple(np.arange(a, b) for a, b in zip(start[:-1], start[1:], strict=True)),
        x_mm=np.concatenate(x),
        y_mm=np.concatenate([np.full(one.size, y_of.get(key[1], 0.0)) for one, key in zip(x, keys, strict=True)]),
        apart_mm=float(y_of[ways[1]] - y_of[ways[0]]) if len(ways) == 2 else float("nan"),
        ways=ways,
    )


def _across(table: BedReadings) -> dict[str, float]:
    """Give where each way lies across the bed, in mm."""
    found: dict[str, float] = {}
    ways = [one for one in dict.fromkeys(table.way.tolist()) if one]
    if len(ways) > 2:
        raise Refusal("count", where=table.source, found=f"ways {', '.join(ways)}", must_be="one way or two")
    for way in ways:
        given = table.y_mm[(table.way == way) & (table.how != "bolt")]
        given = given[np.isfinite(given)]
        if len(ways) == 2 and not given.size:
            raise Refusal(
                "missing",
                where=f"{table.source}, way {way!r}",
                found="no y_mm",
                must_be="where it lies across the bed, in y_mm, because there are two ways",
            )
        if given.size and np.ptp(given) > 1.0:
            raise Refusal(
                "table",
                where=f"{table.source}, way {way!r}",
                found=f"y_mm goes from {given.min():g} to {given.max():g}",
                must_be="one place across for each way",
            )
        found[way] = float(given[0]) if given.size else 0.0
    if len(found) == 2 and np.ptp(list(found.values())) < 1.0:
        raise Refusal("table", where=table.source, found="both ways lie at one y_mm", must_be="two places across")
    return found
