"""No flashing: how fast a film may play before a large part of it would flash more than three times a second.

After WCAG 2.2, success criterion 2.3.1 with its definition of a general flash:
a pair of opposing changes in relative luminance of a tenth or more of the
largest, the darker below 0.80; dangerous over more than a quarter of any ten
degrees of what is seen, taken as 341 x 256 dots of a screen of 1024 x 768.
"""

from __future__ import annotations

import io
from collections.abc import Sequence

import numpy as np
from PIL import Image

LARGE = 0.25 * 341 * 256 / (1024 * 768)
"""Part of the picture that may not flash together."""
_CELLS = (96, 54)


def luminance(png: bytes) -> np.ndarray:
    """Give a picture's relative luminance on a coarse grid.

    Parameters
    ----------
    png : bytes

    Returns
    -------
    ndarray, shape (54, 96)
    """
    picture = Image.open(io.BytesIO(png))
    if picture.mode != "P":
        picture = picture.convert("RGB").quantize(256)
    inks = np.array(picture.getpalette("RGB"), float).reshape(-1, 3) / 255
    linear = np.where(inks <= 0.04045, inks / 12.92, ((inks + 0.055) / 1.055) ** 2.4)
    light = (linear @ np.array([0.2126, 0.7152, 0.0722])).astype(np.float32)[np.asarray(picture)]
    shown = Image.fromarray(light).resize(_CELLS, Image.Resampling.BOX)
    return np.asarray(shown, float)


def flashes(seen: np.ndarray) -> np.ndarray:
    """Count the flashes of each place over a run of pictures.

    Parameters
    ----------
    seen : array_like, shape (pictures, ...)
        Relative luminance, 0 to 1.

    Returns
    -------
    ndarray of int, shape (...)
        Pairs of opposing changes.

    Examples
    --------
    >>> flashes([0.2, 0.9, 0.2, 0.9, 0.2]).tolist(), flashes([0.1, 0.3, 0.6, 0.9]).tolist()
    (2, 0)
    """
    seen = np.asarray(seen, float)
    low, high = seen[0].copy(), seen[0].copy()
    way = np.zeros(seen.shape[1:], int)
    turns = np.zeros(seen.shape[1:], int)
    for now in seen[1:]:
        up = (now - low >= 0.1) & (low < 0.8) & (way <= 0)
        down = (high - now >= 0.1) & (now < 0.8) & (way >= 0)
        turns += up | down
        way = np.where(up, 1, np.where(down, -1, way))
        turned = up | down
        low = np.where(turned, now, np.minimum(low, now))
        high = np.where(turned, now, np.maximum(high, now))
    return turns // 2


def quiet_speed(pictures: Sequence[bytes], speeds: Sequence[float]) -> float:
    """Return the highest speed at which no large part of a film flashes more than three times a second.

    Parameters
    ----------
    pictures : sequence of bytes
    speeds : sequence of float
        Pictures a second, the slowest first. Up to six are always quiet: a flash takes two pictures.

    Returns
    -------
    float

    Examples
    --------
    >>> quiet_speed([], [2, 25])
    25
    """
    seen = np.array([luminance(p) for p in pictures if p])
    quiet = speeds[0]
    for speed in speeds:
        window = int(speed) + 1
        runs = [seen[k : k + window] for k in range(max(len(seen) - window, 0) + 1)] if len(seen) else []
        if speed > 6 and any((flashes(run) > 3).mean() > LARGE for run in runs):
            break
        quiet = speed
    return quiet
