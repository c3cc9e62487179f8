"""No flashing: how fast a film may play before a large part of it would flash more than three times a second.

After WCAG 2.2, success criterion 2.3.1 with its definition of a general flash:
a pair of opposing changes in relative luminance of a tenth or more of the
largest, the darker below 0.80; dangerous over more than a quarter of any ten
degrees of what is seen, taken as 341 x 256 dots of a screen of 1024 x 768.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise

import numpy as np
from PIL import Image

LARGE = 0.25 * 341 * 256 / (1024 * 768)
"""Part of the picture that may not flash together."""
STEPS = 6
"""Samples from one look to the next: 72 a second at twelve looks a second."""
CALM_MS = 334
"""From one look to the next where nobody has judged the film: up to three looks a second nothing can flash too
often."""
CELLS = (54, 96)
"""Rows and columns of the grid on which a picture is judged; it has at least as many dots."""


def luminance(png: bytes) -> np.ndarray:
    """Give a picture's relative luminance on a coarse grid.

    Returns (54, 96).
    """
    places, inks = _inks(png)
    cells, dots = _cells(places.shape)
    return _sums(cells, _light(inks)[places]) / dots


def _inks(png: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Give which ink each dot has, and the inks, 0 to 1."""
    picture = Image.open(io.BytesIO(png))
    if picture.mode != "P":
        picture = picture.convert("RGB").quantize(256)
    return np.asarray(picture), np.array(picture.getpalette("RGB"), float).reshape(-1, 3) / 255


def _light(inks: np.ndarray) -> np.ndarray:
    linear = np.where(inks <= 0.04045, inks / 12.92, ((inks + 0.055) / 1.055) ** 2.4)
    return (linear @ np.array([0.2126, 0.7152, 0.0722])).astype(np.float32)


@lru_cache(maxsize=4)
def _cells(shape: tuple[int, int]) -> tuple[np.ndarray, np.ndarray]:
    """Give the cell of the coarse grid in which each dot lies, and the dots of each cell."""
    row, column = (np.arange(dots) * cells // dots for dots, cells in zip(shape, CELLS, strict=True))
    cells = row[:, None] * CELLS[1] + column
    return cells, _sums(cells)


def _sums(cells: np.ndarray, of: np.ndarray | None = None) -> np.ndarray:
    return np.bincount(cells.ravel(), None if of is None else of.ravel(), CELLS[0] * CELLS[1]).reshape(CELLS)


def flashes(seen: np.ndarray) -> np.ndarray:
    """Count the flashes of each place over a run of pictures.

    `seen` (pictures, ...): relative luminance, 0 to 1. Returns (...) of int: pairs of opposing changes.

    >>> flashes([0.2, 0.9, 0.2, 0.9, 0.2]).tolist(), flashes([0.1, 0.3, 0.6, 0.9]).tolist()
    (2, 0)
    """
    return _turns(np.asarray(seen, float)).sum(axis=0) // 2


def _turns(seen: np.ndarray) -> np.ndarray:
    """Mark where a place has changed by a tenth against the way it went before."""
    low, high = seen[0].copy(), seen[0].copy()
    way = np.zeros(seen.shape[1:], int)
    turned = np.zeros(seen.shape, bool)
    for k, now in enumerate(seen):
        up = (now - low >= 0.1) & (low < 0.8) & (way <= 0)
        down = (high - now >= 0.1) & (now < 0.8) & (way >= 0)
        turned[k] = up | down
        way = np.where(up, 1, np.where(down, -1, way))
        low = np.where(turned[k], now, np.minimum(low, now))
        high = np.where(turned[k], now, np.maximum(high, now))
    return turned


def blended(pictures: Sequence[bytes], steps: int = STEPS) -> np.ndarray:
    """Give the luminance of a film of which each look is blended into the next, as a browser blends: in the inks, not
    in light.

    `pictures`: PNG, all of one size. `steps`: samples from one look to the next. Returns (looks * steps - steps + 1,
    54, 96).

    Halfway between two inks as light as each other it may be darker than at both: from red to green of its
    luminance by half. Along a blend a place's luminance is a convex function of the share of the newer look, so it
    has one lowest point and no highest one between the ends, and a few samples find it. Saturated red alone, for
    which the standard has a test of its own, is not judged.

    >>> from simulate.show.drawing.canvas import encode
    >>> black, white = (encode(np.full((54, 96, 3), grey, np.uint8)) for grey in (0, 255))
    >>> blended([black, white], 2)[:, 0, 0].round(3).tolist()
    [0.0, 0.214, 1.0]
    """
    looks = [_inks(p) for p in pictures]
    seen = [luminance(pictures[0])[None]]
    for before, after in pairwise(looks):
        seen.append(seen[-1][-1] + _rise(before, after, steps))
    return np.concatenate(seen)


def _rise(before: tuple, after: tuple, steps: int) -> np.ndarray:
    """Give what a blend adds to each cell after each step, from the pairs of inks that meet in the dots that change."""
    (old, old_inks), (new, new_inks) = before, after
    (cells, dots), pairs = _cells(old.shape), old.astype(np.int32) * len(new_inks) + new
    lights, differ = _blends(old_inks.tobytes(), new_inks.tobytes(), steps)
    change = differ[pairs]
    where, which = cells[change], pairs[change]
    return np.array([_sums(where, light[which]) for light in lights]) / dots


@lru_cache(maxsize=4)
def _blends(old: bytes, new: bytes, steps: int) -> tuple[np.ndarray, np.ndarray]:
    """Give for each pair of inks, the older first, what each step adds to the light, and whether they differ at all.

    The pictures of a film share their inks as a rule, so that this is worked out once.
    """
    old_inks, new_inks = (np.frombuffer(inks).reshape(-1, 3) for inks in (old, new))
    was = np.repeat(_light(old_inks), len(new_inks))
    parts = np.arange(1, steps + 1) / steps
    lights = [_light((1 - t) * old_inks[:, None] + t * new_inks).ravel() - was for t in parts]
    return np.array(lights), (old_inks[:, None] != new_inks).any(axis=-1).ravel()


def quiet_speed(pictures: Sequence[bytes], speeds: Sequence[float]) -> float:
    """Return the highest speed at which no large part of a blended film flashes more than three times a second.

    `speeds`: looks a second, the slowest first. Up to three are always quiet: a blend changes its way twice at the
    most.

    More than six changes against the way before, within a second, count as more than three flashes. Cuts without a
    blend, for those who want less motion, are some of the samples, and flash no more often.

    >>> quiet_speed([], [2, 12])
    12
    """
    shown = [p for p in pictures if p]
    turns = np.cumsum(_turns(blended(shown)), axis=0) if len(shown) > 1 else np.zeros((1, *CELLS), int)
    quiet = speeds[0]
    for speed in speeds:
        second = min(round(speed * STEPS), len(turns) - 1)
        if speed > 3 and any((now > 6).mean() > LARGE for now in turns[second:] - turns[: len(turns) - second]):
            break
        quiet = speed
    return quiet
