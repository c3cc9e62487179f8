"""Plates and beds whose truth is known, read along lines, as readings files: made from the bench, not from the
package."""

import numpy as np

from simulate.readings.table.read import read_readings

ARCSEC = np.pi / 180 / 3600


def table_of(rows, name="made_up.csv"):
    return read_readings("\n".join(rows).encode(), name)


def face(rng, high_um=20.0, wide=400.0, deep=300.0):
    """A smooth face: bowl, twist and waves of chance size, as a function of x and y in mm."""
    c = high_um * rng.normal(size=6)
    p = rng.uniform(0, 2 * np.pi, 4)

    def height(x, y):
        u, v = 2 * x / wide - 1, 2 * y / deep - 1
        return (
            c[0] * u**2
            + c[1] * v**2
            + c[2] * u * v
            + 0.3 * c[3] * np.sin(4 * u + p[0])
            + 0.3 * c[4] * np.cos(4 * v + p[1])
            + 0.2 * c[5] * np.sin(5 * u * v + p[2])
        )

    return height


LINES = {
    "a": (0, 0, 400, 0),
    "b": (0, 150, 400, 150),
    "c": (0, 300, 400, 300),
    "l": (0, 0, 0, 300),
    "r": (400, 0, 400, 300),
    "slant": (0, 0, 400, 300),
}


def level(rng, height, sd=0.5, lines=LINES, steps=None, sets=False, turned=()):
    """Slopes in seconds of arc along lines, every line with its own zero or one for all; `turned` are read end for end
    too."""
    rows = ["line,station,x_mm,y_mm,set,turned,reading_arcsec"]
    common = 100 * rng.normal()
    for name, (x0, y0, x1, y1) in lines.items():
        n = (steps or {}).get(name, int(round(np.hypot(x1 - x0, y1 - y0) / 50)))
        part = np.linspace(0, 1, n + 1)
        x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
        slope = np.diff(height(x, y)) / np.hypot(np.diff(x), np.diff(y)) / 1000 / ARCSEC
        zero = common if sets else 100 * rng.normal()
        label = "all" if sets else name
        for way in ("no", "yes")[: 1 + (name in turned)]:
            seen = (slope if way == "no" else -slope) + zero + sd * rng.normal(size=n)
            rows.append(f"{name},0,{x[0]:.4f},{y[0]:.4f},{label},{way},")
            rows += [f"{name},{k + 1},{x[k + 1]:.4f},{y[k + 1]:.4f},{label},{way},{seen[k]:.5f}" for k in range(n)]
    return table_of(rows)


def bare(x, y, height):
    """Heights with their own plane, or line where all lie in one, taken out."""
    plane = np.stack([np.ones(x.size), x - x.mean(), y - y.mean()], axis=1)
    return height - plane @ np.linalg.lstsq(plane, height, rcond=1e-9)[0]


BLADES = np.array([0, *range(30, 101, 10), 120, 150, *range(200, 501, 50), *range(600, 1001, 100)], float)
"""A set of feelers from 0.03 to 1 mm (common practice)."""


def laid(along, height, blocks_um=0.0):
    """Gaps under a straight edge that rests on the highest places about its middle, or on equal blocks at its ends."""
    if blocks_um:
        part = (along - along[0]) / (along[-1] - along[0])
        gap = height[0] + (height[-1] - height[0]) * part + blocks_um - height
        return gap - min(gap.min(), 0.0)
    middle = (along[0] + along[-1]) / 2
    best = None
    for i in np.flatnonzero(along < middle):
        for j in np.flatnonzero(along >= middle):
            line = height[i] + (height[j] - height[i]) * (along - along[i]) / (along[j] - along[i])
            if (line - height).min() > -1e-9:
                best = line - height
    return np.maximum(best, 0.0)


def edge(rng, height, sd=1.0, lines=LINES, stations=9, how="points", feel=0.0, blocks_um=0.0, dial=()):
    """A straightedge along lines: gaps as figures or between two blades; a dial in a bridge along some of the lines."""
    rows = ["line,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um,dial_um"]
    for name, (x0, y0, x1, y1) in lines.items():
        part = np.linspace(0, 1, stations)
        x, y = x0 + (x1 - x0) * part, y0 + (y1 - y0) * part
        long = np.hypot(x1 - x0, y1 - y0)
        gap = laid(long * part, height(x, y), blocks_um)
        if name in dial:
            cells = [f",,,{v:.4f}" for v in -gap + 30 * rng.normal() + sd * rng.normal(size=stations)]
        elif how == "points":
            cells = [f"{v:.4f},,," for v in gap + 8 * sd + sd * rng.normal(size=stations)]
        else:
            felt = np.maximum(gap + np.minimum(feel, 0.2 * gap) * rng.normal(size=stations), 0)
            at = np.searchsorted(BLADES, felt, side="right") - 1
            cells = [f",{BLADES[k]:g},{BLADES[k + 1] if k + 1 < BLADES.size else ''}," for k in at]
        rows += [f"{name},{a:.4f},{b:.4f},{c}" for a, b, c in zip(x, y, cells, strict=True)]
    return table_of(rows)


NET = {
    **{f"row {k}": (0, 75 * k, 400, 75 * k) for k in range(5)},
    **{f"column {k}": (100 * k, 0, 100 * k, 300) for k in range(5)},
    "up": (0, 0, 400, 300),
    "down": (0, 300, 400, 0),
}
"""Rows, columns and both diagonals that meet at 25 places."""
