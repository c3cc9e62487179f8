"""Places on one flat body: what moving it does to heights, and lines that run through places."""

from __future__ import annotations

import numpy as np

OFF_LINE = 0.01
"""Places that lie beside their line by less than this part of it lie on it."""


def line_or_face(x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray | None:
    """Say whether places lie in one line; places that were written to a tenth of a millimetre do so only nearly.

    Returns (places,): how far along their line each lies, from its middle; None where they span a face.

    >>> line_or_face(np.array([0.0, 60, 120]), np.array([0.0, 80.1, 160])).round(0).tolist()
    [-100.0, 0.0, 100.0]
    >>> line_or_face(np.array([0.0, 60, 120]), np.array([0.0, 90, 160])) is None
    True
    """
    size, along = _longest(x_mm, y_mm)
    return None if size.size > 1 and size[1] > OFF_LINE * size[0] else along


def along_line(x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Give how far along the line that comes nearest to all places each lies, from its middle."""
    return _longest(x_mm, y_mm)[1]


def _longest(x_mm: np.ndarray, y_mm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give how far places reach along their two axes, and where each lies along the longer one."""
    away = np.stack([x_mm - x_mm.mean(), y_mm - y_mm.mean()], axis=1)
    _, size, axes = np.linalg.svd(away, full_matrices=False)
    way = axes[0] if axes[0][np.argmax(np.abs(axes[0]))] > 0 else -axes[0]
    return size, away @ way


def flat_rigid(x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Give what moving a flat body does at each place, scaled to about 1: a plane, or a line where they lie in one.

    Returns (points, 3) or (points, 2).
    """
    along = line_or_face(x_mm, y_mm)
    where = scaled(x_mm, y_mm) if along is None else scaled(along, np.zeros(along.size))[:, :1]
    return np.hstack([np.ones((x_mm.size, 1)), where])


def scaled(x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Give places about their middle, the longer side from -1 to 1.

    Returns (points, 2).

    >>> scaled(np.array([0.0, 40.0]), np.array([5.0, 5.0])).tolist()
    [[-1.0, 0.0], [1.0, 0.0]]
    """
    reach = max(float(np.ptp(x_mm)), float(np.ptp(y_mm)), 1e-9) / 2
    return np.stack([(v - (v.min() + v.max()) / 2) / reach for v in (x_mm, y_mm)], axis=1)


def places_along(x_mm: np.ndarray, same_mm: float) -> np.ndarray:
    """Give each place along a line once: those that lie in steps of no more than `same_mm` are one, the first of them.

    >>> places_along(np.array([50.3, 300.0, 50.2]), 0.5).tolist()
    [50.2, 300.0]
    """
    own = np.unique(x_mm)
    return own[np.diff(own, prepend=-np.inf) > same_mm]


def through(x_mm: np.ndarray, y_mm: np.ndarray, a: int, b: int, same_mm: float) -> np.ndarray:
    """Give the places on the straight line from one place to another, in order, both ends among them.

    >>> through(np.array([0.0, 5, 9, 10]), np.array([0.0, 5, 0, 10]), 0, 3, 0.1).tolist()
    [0, 1, 3]
    """
    long = max(float(np.hypot(x_mm[b] - x_mm[a], y_mm[b] - y_mm[a])), 1e-9)
    ex, ey = (x_mm[b] - x_mm[a]) / long, (y_mm[b] - y_mm[a]) / long
    along = (x_mm - x_mm[a]) * ex + (y_mm - y_mm[a]) * ey
    beside = np.abs((y_mm - y_mm[a]) * ex - (x_mm - x_mm[a]) * ey)
    on = np.flatnonzero((beside <= same_mm) & (along >= -same_mm) & (along <= long + same_mm))
    return on[np.argsort(along[on], kind="stable")]


def crossings(lines: dict[str, np.ndarray]) -> np.ndarray:
    """Give the places where a line ends or meets another."""
    every = np.concatenate([np.unique(places) for places in lines.values()])
    place, count = np.unique(every, return_counts=True)
    ends = [places[k] for places in lines.values() for k in (0, -1)]
    return np.union1d(place[count > 1], ends)


def facing(lines: dict[str, np.ndarray], x_mm: np.ndarray, y_mm: np.ndarray) -> tuple[str, str] | None:
    """Give the two lines that run alike along the work and lie farthest apart, the longest lines first; None without.

    >>> x, y = np.array([0.0, 9, 0, 9]), np.array([0.0, 0, 5, 5])
    >>> facing({"a": np.array([0, 1]), "b": np.array([2, 3])}, x, y)
    ('a', 'b')
    """
    ends = {name: (places[0], places[-1]) for name, places in lines.items()}
    way = {
        n: np.array([x_mm[b] - x_mm[a], y_mm[b] - y_mm[a]]) / max(np.hypot(x_mm[b] - x_mm[a], y_mm[b] - y_mm[a]), 1e-9)
        for n, (a, b) in ends.items()
    }
    best: tuple[float, tuple[str, str] | None] = (0.0, None)
    names = list(lines)
    for i, one in enumerate(names):
        for two in names[i + 1 :]:
            if abs(way[one][0] * way[two][1] - way[one][1] * way[two][0]) > 0.02:
                continue
            (a, b), (c, d) = ends[one], ends[two]
            apart = abs((y_mm[c] - y_mm[a]) * way[one][0] - (x_mm[c] - x_mm[a]) * way[one][1])
            long = min(np.hypot(x_mm[b] - x_mm[a], y_mm[b] - y_mm[a]), np.hypot(x_mm[d] - x_mm[c], y_mm[d] - y_mm[c]))
            if apart > 1e-3 * long and apart * long > best[0] * (1 + 1e-9):
                best = (apart * long, (one, two))
    return best[1]


def rough_places(x_mm: np.ndarray, y_mm: np.ndarray) -> int:
    """Count places to a millimetre, before any room is taken to tell them apart.

    >>> rough_places(np.array([0.0, 0.01, 50.0]), np.zeros(3))
    2
    """
    return len(np.unique(np.round(np.stack([x_mm, y_mm], axis=1)), axis=0))
