"""Shapes of plates by their symmetry: bowl, saddle, twist, pinwheel, lopsided."""

from __future__ import annotations

import numpy as np

from simulate.readings.plates.plate_stations import Stations

# What becomes of a shape under: nothing, half turn, quarter turns (2), mirrors x and y (2), diagonal mirrors (2).
FAMILIES = {
    "bowl or dome": (1, 1, 1, 1, 1),
    "saddle": (1, 1, -1, 1, -1),
    "twist": (1, 1, -1, -1, 1),
    "pinwheel": (1, 1, 1, -1, -1),
    "lopsided": (2, -2, 0, 0, 0),
}
_MOVES = (
    ((1, 0, 0, 1),),
    ((-1, 0, 0, -1),),
    ((0, -1, 1, 0), (0, 1, -1, 0)),
    ((-1, 0, 0, 1), (1, 0, 0, -1)),
    ((0, 1, 1, 0), (0, -1, -1, 0)),
)


def families_of(stations: Stations, hidden: np.ndarray) -> dict[str, int]:
    """Count hidden shapes by the family they belong to.

    `hidden` (k, bodies, points): orthonormal. Returns: family to count, largest first, families with none left out;
    empty where the stations are not the same after a quarter turn.

    The characters of the symmetry group of the square; a shape keeps its family under any turn or mirror.

    >>> side = np.array([-1.0, 1.0])
    >>> four = Stations(np.tile(side, 2), np.repeat(side, 2), (0, 0), None, None)
    >>> families_of(four, np.array([[[0.5, -0.5, -0.5, 0.5]]]))
    {'twist': 1}
    """
    classes = []
    for moves in _MOVES:
        moved = [_moved(stations, move) for move in moves]
        if any(m is None for m in moved):
            return {}
        classes.append(sum(float((hidden * hidden[..., m]).sum()) for m in moved))
    counts = {
        name: round(signs[0] / 8 * sum(s * c for s, c in zip(signs, classes))) for name, signs in FAMILIES.items()
    }
    return {name: count for name, count in sorted(counts.items(), key=lambda pair: -pair[1]) if count > 0}


def _moved(stations: Stations, move: tuple[int, int, int, int]) -> np.ndarray | None:
    x = move[0] * stations.x_mm + move[1] * stations.y_mm
    y = move[2] * stations.x_mm + move[3] * stations.y_mm
    away = np.hypot(x[:, None] - stations.x_mm, y[:, None] - stations.y_mm)
    return np.argmin(away, axis=1) if (away.min(axis=1) < 0.05).all() else None
