"""What could be read next across a network of heights: a line again, or a line that was not read."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simulate.readings.adjustment.equations import free_of
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.network.places import crossings, through
from simulate.readings.network.solve_heights import SolvedHeights

MOST_ENDS = 28
Rows = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""From places along a line, in mm, and a matrix that picks their heights, to rows over the reading's own deviation."""


def further_lines(lines: dict[str, np.ndarray], solved: SolvedHeights, rows: Rows, same_mm: float) -> list[Candidate]:
    """Give every line again, and every line through three places or more that was not read.

    `lines`: places of each line in order.
    """
    x, y = solved.network.x_mm, solved.network.y_mm
    found, known = [], {tuple(sorted(set(places.tolist()))) for places in lines.values()}

    def add(name: str, places: np.ndarray) -> None:
        along = np.hypot(x[places] - x[places[0]], y[places] - y[places[0]])
        picked = np.zeros((places.size, x.size))
        picked[np.arange(places.size), places] = 1.0
        found.append(Candidate(name, rows(along, picked)))

    for name, places in lines.items():
        if places.size > 2:
            add(f"line {name} again", places)
    ends = crossings(lines)
    if ends.size > MOST_ENDS:
        middle = np.hypot(x[ends] - x.mean(), y[ends] - y.mean())
        ends = ends[np.argsort(-middle, kind="stable")[:MOST_ENDS]]
    for i, a in enumerate(ends):
        for b in ends[i + 1 :]:
            places = through(x, y, int(a), int(b), same_mm)
            key = tuple(sorted(places.tolist()))
            if places.size < 3 or key in known or any(set(key) <= set(one) for one in known):
                continue
            known.add(key)
            add(f"a line from x {x[a]:g}, y {y[a]:g} to x {x[b]:g}, y {y[b]:g} mm", places)
    return found


def level_rows(sd_arcsec: float, um_per_arcsec_mm: float, step_mm: float) -> Rows:
    """Give what slopes along a line with a zero of its own would show."""

    def rows(along: np.ndarray, picked: np.ndarray) -> np.ndarray:
        long = np.diff(along)
        sd = np.maximum(sd_arcsec * um_per_arcsec_mm * np.sqrt(np.maximum(long * step_mm, 1e-9)), 1e-9)
        return free_of((long / sd)[:, None]) @ (np.diff(picked, axis=0) / sd[:, None])

    return rows


def edge_rows(sd_um: float) -> Rows:
    """Give what gaps under an edge with a lift and a tilt of its own would show."""

    def rows(along: np.ndarray, picked: np.ndarray) -> np.ndarray:
        return free_of(np.stack([np.ones(along.size), along / max(along.max(), 1e-9)], axis=1)) @ picked / sd_um

    return rows


def next_of(solved: SolvedHeights, candidates: list[Candidate]) -> NextReading | None:
    """Choose the candidate that shows what is hidden, or brings the deviation of the heights down most."""
    return next_reading(
        solved.covariance,
        np.eye(len(solved.height_um)),
        candidates,
        "um",
        solved.hidden.T if len(solved.hidden) else None,
    )
