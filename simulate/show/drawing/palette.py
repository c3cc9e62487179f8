"""The 256 colours of every moving picture, so that a frame is one look-up away from its PNG."""

from __future__ import annotations

import io
from functools import cache

import numpy as np
from matplotlib.colors import to_rgb
from PIL import Image

from simulate.show.drawing import style

_MAPS = (style.HOLLOW, style.PROUD, style.OPEN)
_ROWS = 8  # worked on at once, so that they stay in the processor's cache


@cache
def colours() -> np.ndarray:
    """Greys, the course's colours on their way to white, black and steel, the shades of maps, and a coarse cube of the
    rest.

    Returns
    -------
    ndarray of uint8, shape (256, 3)

    Examples
    --------
    >>> colours().shape, colours()[0].tolist()
    ((256, 3), [0, 0, 0])
    """
    rows = [np.linspace(0, 1, 32)[:, None].repeat(3, axis=1)]
    steel = np.array(to_rgb(style.STEEL))
    rows.append(steel[None])
    rows.append(glow_colours() / 255)
    for hue in (style.BLUE, style.ORANGE, style.SEEN):
        own = np.array(to_rgb(hue))
        for end, steps in ((np.ones(3), 12), (np.zeros(3), 6), (steel, 6)):
            rows.append(own + np.arange(steps)[:, None] / steps * (end - own))
    rows += [_shades(hue, 16) for hue in _MAPS]
    side = np.linspace(0, 1, 4)
    rows.append(np.stack(np.meshgrid(side, side, side), axis=-1).reshape(-1, 3))
    found = np.round(255 * np.concatenate(rows)).astype(np.uint8)
    return np.concatenate([found, np.zeros((256 - len(found), 3), np.uint8)])


@cache
def glow_colours() -> np.ndarray:
    """Steel with more and more light on it, up to the lamp itself.

    Returns
    -------
    ndarray of uint8, shape (24, 3)

    Examples
    --------
    >>> glow_colours().shape, glow_colours()[-1].tolist()
    ((24, 3), [255, 251, 230])
    """
    side, seen, lamp = (np.array(to_rgb(hue)) for hue in (style.SIDE, style.SEEN, "#FFFBE6"))
    part = np.linspace(0, 1, 17)[:-1, None]
    rest = np.linspace(0, 1, 8)[:, None]
    return np.round(255 * np.concatenate([side + part * (seen - side), seen + rest * (lamp - seen)])).astype(np.uint8)


def _shades(hue: str, steps: int) -> np.ndarray:
    """Go from a colour towards white, in steps small enough that no other colour comes between them."""
    own = np.array(to_rgb(hue))
    return own + np.arange(steps)[:, None] / steps * (1 - own)


@cache
def few_colours() -> np.ndarray:
    """Six greys, the course's colours on their way to white and the shades of maps: enough for a film, and half the
    bytes.

    Returns
    -------
    ndarray of uint8, shape (60, 3)

    Examples
    --------
    >>> few_colours().shape, few_colours()[5].tolist()
    ((60, 3), [255, 255, 255])
    """
    rows = [np.linspace(0, 1, 6)[:, None].repeat(3, axis=1), np.array(to_rgb(style.STEEL))[None]]
    rows += [_shades(hue, 5) for hue in (style.BLUE, style.ORANGE, style.SEEN)]
    rows.append(glow_colours()[::5] / 255)
    rows += [_shades(hue, 11) for hue in _MAPS]
    return np.round(255 * np.concatenate(rows)).astype(np.uint8)


@cache
def _nearest(few: bool = False) -> np.ndarray:
    """The place of the nearest colour, for each colour of 5 bits a channel."""
    bits = np.arange(32)
    level = (bits << 3) | (bits >> 2)
    blue, green, red = np.meshgrid(level, level, level, indexing="ij")
    asked = np.stack([red, green, blue], axis=-1).reshape(-1, 3).astype(np.int32)
    have = (few_colours() if few else colours()).astype(np.int32)
    away = (asked**2).sum(1)[:, None] - 2 * asked @ have.T + (have**2).sum(1)
    return _own_shades(away.argmin(axis=1).astype(np.uint8), have, 11 if few else 16)


def _own_shades(nearest: np.ndarray, have: np.ndarray, steps: int) -> np.ndarray:
    """Lead what lies on the way from a map's colour to white to that map's own shades, each deeper than the next.

    By distance alone, with 5 bits a channel, a tint of another colour would come between two shades and make a ring.
    """
    found = nearest.copy()
    for hue in _MAPS:
        way = np.linspace(0, 1, 4001)
        red, green, blue = (
            np.round(255 * (np.array(to_rgb(hue)) + way[:, None] * (1 - np.array(to_rgb(hue))))).astype(int).T >> 3
        )
        cell = red | green << 5 | blue << 10
        shades = [*np.round(255 * _shades(hue, steps)).astype(int), np.full(3, 255)]
        place = [int(np.abs(have - shade).sum(axis=1).argmin()) for shade in shades]
        for one in np.unique(cell):
            found[one] = place[round(way[cell == one].mean() * steps)]
    for plain in (style.STEEL, style.BLUE, style.ORANGE, style.SEEN, "white", "black"):
        red, green, blue = np.round(255 * np.array(to_rgb(plain))).astype(int) >> 3
        found[red | green << 5 | blue << 10] = nearest[red | green << 5 | blue << 10]
    return found


def quick_png(rgba: np.ndarray, few: bool = False) -> bytes:
    """Encode an opaque picture in the course's 256 colours, several times quicker than in all colours.

    Parameters
    ----------
    rgba : ndarray of uint8, shape (rows, columns, 4)
        C-contiguous, as a matplotlib canvas gives it.
    few : bool
        In few colours and packed harder, for a film.

    Examples
    --------
    >>> quick_png(np.full((2, 2, 4), 255, np.uint8))[1:4]
    b'PNG'
    """
    words = np.ascontiguousarray(rgba).view("<u4")[..., 0]
    places = np.empty(words.shape, np.uint8)
    nearest = _nearest(few)
    for row in range(0, len(words), _ROWS):
        word = words[row : row + _ROWS]
        code = (word >> 3) & 0x1F
        code |= (word >> 6) & 0x3E0
        code |= (word >> 9) & 0x7C00
        np.take(nearest, code.astype(np.intp), out=places[row : row + _ROWS], mode="clip")
    picture = Image.fromarray(places)
    picture.putpalette((few_colours() if few else colours()).tobytes())
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=6 if few else 1)
    return out.getvalue()
