"""A counted print of a long narrow edge as stations along it that printed and stations that did not."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.spotting import LEAST_MM2
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.readings.photo.print_photo import PrintPhoto
from simulate.readings.photo.print_places import PrintPlaces

RIM = 0.1
"""Of the depth, at the near and at the far side: chamfers, and corners that are a pixel off, look like marks there."""
MOST_STATIONS = 200
NARROW = 4.0
"""So many times as long as deep is an edge (ours)."""
_BLIND = 0.5
_CLEAN = 0.9
_HAZE = 0.15
"""Metal that is so much brighter than elsewhere (logarithm): glare lies over it, and a mark may look like metal."""


def print_stations(told: PrintPhoto, stations: int) -> PrintPlaces:
    """Say of stations along an edge whether they printed.

    `told`: of an edge, its near side from end to end. `stations`: 3 to 200. Returns: places from the left end, each in
    the middle of an equal part. A station is looked at no farther to each side than half the depth of the face, for
    between stations the gap changes. It has printed where 1 mm² of that or more is marked: its highest spot lay within
    the film. Where no mark shows and metal is brighter than elsewhere, glare may hide one: it was not read.

    >>> x = np.arange(0.25, 200, 0.5)
    >>> marked = np.zeros((16, 400), bool)
    >>> marked[4:8, 40:60] = True
    >>> none = np.zeros_like(marked)
    >>> one = PrintPhoto(x_mm=x, y_mm=x[:16], shade=-1.0 * marked, marked=marked, apart=marked, blind=none,
    ...     bearing=(0.01, 0.01, 0.01), points=np.ones((1, 8)), points_mean=(1.0, 1.0, 1.0), glare=0.0, contrast=9.0,
    ...     grown=(0, 0), spots=1)
    >>> found = print_stations(one, 4)
    >>> found.x_mm.tolist(), found.printed.tolist()
    ([25.0, 75.0, 125.0, 175.0], [[True, False, False, False]])
    """
    many = checks.whole(stations, "stations", 3, MOST_STATIONS)
    step, deep = float(told.x_mm[1] - told.x_mm[0]), float(told.y_mm.size * (told.y_mm[1] - told.y_mm[0]))
    long = told.x_mm.size * step
    if long < NARROW * deep:
        raise Refusal(
            "range",
            where="the edge",
            found=f"{long:.4g} mm long and {deep:.3g} mm deep, without its rim",
            must_be=f"at least {NARROW:g} times as long as deep, its length along the near side",
            do="Start the corners at an end of its near side, or read it as a plate",
        )
    at = ((np.arange(many) + 0.5) * long / many).round(6)
    half = min(long / many, deep) / 2
    shown = told.marked & told.apart
    area, hidden, clean = np.zeros(many), np.zeros(many), np.zeros(many)
    for k, middle in enumerate(at):
        part = np.abs(told.x_mm - told.x_mm[0] + step / 2 - middle) <= half
        area[k] = np.count_nonzero(shown[:, part]) * step * deep / told.y_mm.size
        hidden[k] = told.blind[:, part].mean()
        clean[k] = np.quantile(told.shade[:, part], _CLEAN)
    printed = area >= LEAST_MM2
    metal = float(np.median(clean[~printed])) if not printed.all() else 0.0
    seen = printed | ((hidden <= _BLIND) & (clean - metal <= _HAZE))
    return PrintPlaces(x_mm=at, y_mm=np.zeros(1), printed=printed[None], seen=seen[None], kind="bars")
