"""The 256 colours of every moving picture, so that a frame is one look-up away from its PNG."""

from __future__ import annotations

import io
from functools import cache
from typing import Literal

import matplotlib
import numpy as np
from matplotlib.colors import ListedColormap, to_rgb
from PIL import Image

from simulate.show.drawing import style

_PRINTS = ("#E8EEF4", "#CBDCEA", "#8FB6D6", "#B4BAC2", "#9CC9E8", "#F2B48C")
_OPEN_STEPS = 40
_ROWS = 8  # worked on at once, so that they stay in the processor's cache

HEIGHTS = ListedColormap(matplotlib.colormaps["coolwarm"].resampled(85)(np.arange(10, 75)), "heights")
"""Hollow, level, proud: the middle of matplotlib's ``coolwarm``, by K. Moreland, Diverging color maps for scientific
visualization (2009). Even to the eye, told apart by the colour-blind, and ends light enough for black lines."""

GAPS = ListedColormap(matplotlib.colormaps["bone_r"](np.linspace(0, 0.52, _OPEN_STEPS)), "gaps")
"""Closed, open: the light part of matplotlib's ``bone_r``."""


SHADES = (0.76, 0.84, 0.92, 1.0, 1.05, 1.09, 1.13)
"""How light a slope of a plate is drawn, from one that lies in shadow to one that faces the lamp; a level one as the
scale has it."""

Colours = Literal["all", "few", "relief"]
"""Which colours a picture has: those of every live picture, a film's, or those of a map that a lamp lights."""


@cache
def relief() -> np.ndarray:
    """The scale of heights in each of `SHADES`.

    Returns (7, 65, 4) of uint8.

    >>> relief().shape, bool((relief()[3] == np.round(255 * HEIGHTS.colors)).all())
    ((7, 65, 4), True)
    """
    shaded = np.clip(np.array(SHADES)[:, None, None] * HEIGHTS.colors[:, :3], 0, 1)
    return np.round(255 * np.dstack([shaded, np.ones(shaded.shape[:2])])).astype(np.uint8)


@cache
def colours() -> np.ndarray:
    """Greys, the course's colours on their way to white, black and steel, the shades of maps and prints, and a coarse
    cube of the rest.

    Returns (256, 3).

    >>> colours().shape, colours()[0].tolist()
    ((256, 3), [0, 0, 0])
    """
    rows = [np.linspace(0, 1, 32)[:, None].repeat(3, axis=1)]
    steel = np.array(to_rgb(style.STEEL))
    rows += [steel[None], np.array([to_rgb(one) for one in _PRINTS]), glow_colours() / 255]
    for hue in (style.BLUE, style.ORANGE, style.SEEN):
        own = np.array(to_rgb(hue))
        for end, steps in ((np.ones(3), 8), (np.zeros(3), 4), (steel, 4)):
            rows.append(own + np.arange(steps)[:, None] / steps * (end - own))
    rows += [ramp for ramp, _ in _ramps("all")]
    side = np.linspace(0, 1, 3)
    rows.append(np.stack(np.meshgrid(side, side, side), axis=-1).reshape(-1, 3))
    found = np.round(255 * np.concatenate(rows)).astype(np.uint8)
    return np.concatenate([found, np.zeros((256 - len(found), 3), np.uint8)])


@cache
def glow_colours() -> np.ndarray:
    """Steel with more and more light on it, up to the lamp itself.

    Returns (24, 3).

    >>> glow_colours().shape, glow_colours()[-1].tolist()
    ((24, 3), [255, 251, 230])
    """
    side, seen, lamp = (np.array(to_rgb(hue)) for hue in (style.SIDE, style.SEEN, "#FFFBE6"))
    part = np.linspace(0, 1, 17)[:-1, None]
    rest = np.linspace(0, 1, 8)[:, None]
    return np.round(255 * np.concatenate([side + part * (seen - side), seen + rest * (lamp - seen)])).astype(np.uint8)


def _ramps(which: Colours) -> list[tuple[np.ndarray, np.ndarray]]:
    """The shades of the maps, each ramp from its lightest on: hollow, proud, open; as they are kept, and all of them.

    A film has 11 of each. Of relief the lit and the shadowed come first, 10 of each: where two meet, the last has it.
    """
    lit = relief()[..., :3] / 255
    plain = [*_sides(HEIGHTS.colors[:, :3]), GAPS.colors[:, :3]]
    if which != "relief":
        return [(_every(ramp, 11) if which == "few" else ramp, ramp) for ramp in plain]
    slopes = [side for k in (0, 6, 1, 5, 2, 4) for side in _sides(lit[k])]
    return [(_every(ramp, 10), ramp) for ramp in slopes] + [(_every(plain[2], 20), plain[2]), *zip(plain, plain[:2])]


def _sides(scale: np.ndarray) -> list[np.ndarray]:
    level = len(scale) // 2
    return [scale[level::-1], scale[level:]]


def _every(ramp: np.ndarray, many: int) -> np.ndarray:
    return ramp[np.round(np.linspace(0, len(ramp) - 1, many)).astype(int)]


@cache
def relief_colours() -> np.ndarray:
    """Sixteen greys, the course's colours on their way to white and to black, the shades of prints and maps, and those
    of heights in and out of the light.

    Returns (250, 3).

    >>> relief_colours().shape, relief_colours()[15].tolist()
    ((250, 3), [255, 255, 255])
    """
    rows = [np.linspace(0, 1, 16)[:, None].repeat(3, axis=1)]
    rows += [np.array([to_rgb(one) for one in (style.STEEL, *_PRINTS)])]
    for hue in (style.BLUE, style.ORANGE, style.SEEN):
        own = np.array(to_rgb(hue))
        rows += [own + np.arange(many)[:, None] / many * (end - own) for end, many in ((1, 5), (0, 2))]
    return np.round(255 * np.concatenate(rows + [ramp for ramp, _ in _ramps("relief")])).astype(np.uint8)


@cache
def few_colours() -> np.ndarray:
    """Six greys, the course's colours on their way to white and the shades of maps: enough for a film, and half the
    bytes.

    Returns (60, 3).

    >>> few_colours().shape, few_colours()[5].tolist()
    ((60, 3), [255, 255, 255])
    """
    rows = [np.linspace(0, 1, 6)[:, None].repeat(3, axis=1), np.array(to_rgb(style.STEEL))[None]]
    for hue in (style.BLUE, style.ORANGE, style.SEEN):
        own = np.array(to_rgb(hue))
        rows.append(own + np.arange(5)[:, None] / 5 * (1 - own))
    return np.round(
        255 * np.concatenate([*rows, glow_colours()[::5] / 255, *(ramp for ramp, _ in _ramps("few"))])
    ).astype(np.uint8)


def palette(which: Colours) -> np.ndarray:
    """Give the colours of a picture, at most 256.

    Returns (colours, 3).
    """
    return {"all": colours, "few": few_colours, "relief": relief_colours}[which]()


@cache
def _nearest(which: Colours) -> np.ndarray:
    """The place of the nearest colour, for each colour of 6 bits a channel; sought for each of 5 bits."""
    bits = np.arange(32)
    level = (bits << 3) | (bits >> 2)
    blue, green, red = np.meshgrid(level, level, level, indexing="ij")
    asked = np.stack([red, green, blue], axis=-1).reshape(-1, 3).astype(np.int32)
    have = palette(which).astype(np.int32)
    away = (asked**2).sum(1)[:, None] - 2 * asked @ have.T + (have**2).sum(1)
    found = away.argmin(axis=1).astype(np.uint8).reshape(32, 32, 32)
    for axis in range(3):
        found = found.repeat(2, axis=axis)
    return _own_shades(found.ravel(), have, which)


def _cell(rgb: np.ndarray) -> np.ndarray:
    """The place in the table of colours of 8 bits a channel."""
    red, green, blue = np.moveaxis(rgb.astype(int), -1, 0) >> 2
    return red | green << 6 | blue << 12


def _own_shades(nearest: np.ndarray, have: np.ndarray, which: Colours) -> np.ndarray:
    """Lead what lies on the way through a map's shades to that map's own, each deeper than the one before.

    By distance alone a tint of another colour would come between two shades and make a ring.
    """
    found = nearest.copy()
    for ramp, whole in _ramps(which):
        shades = np.round(255 * ramp).astype(int)
        place = np.array([int(np.abs(have - shade).sum(axis=1).argmin()) for shade in shades])
        way = np.linspace(0, 1, 4001)
        points = np.linspace(0, 1, len(whole))
        seen = np.round(255 * np.stack([np.interp(way, points, channel) for channel in whole.T], axis=-1))
        cell = _cell(seen)
        for one in np.unique(cell):
            found[one] = place[round(way[cell == one].mean() * (len(place) - 1))]
    for plain in (style.STEEL, style.BLUE, style.ORANGE, style.SEEN, "white", "black", *_PRINTS):
        rgb = np.round(255 * np.array(to_rgb(plain)))
        found[_cell(rgb)] = np.abs(have - rgb).sum(axis=1).argmin()
    return found


def quick_png(rgba: np.ndarray, which: Colours = "all") -> bytes:
    """Encode an opaque picture in at most 256 colours, several times quicker than in all colours.

    `rgba` (rows, columns, 4): C-contiguous, as a matplotlib canvas gives it. `which`: a film in few colours is packed
    harder.

    >>> quick_png(np.full((2, 2, 4), 255, np.uint8))[1:4]
    b'PNG'
    """
    words = np.ascontiguousarray(rgba).view("<u4")[..., 0]
    places = np.empty(words.shape, np.uint8)
    nearest = _nearest(which)
    for row in range(0, len(words), _ROWS):
        word = words[row : row + _ROWS]
        code = (word >> 2) & 0x3F
        code |= (word >> 4) & 0xFC0
        code |= (word >> 6) & 0x3F000
        np.take(nearest, code.astype(np.intp), out=places[row : row + _ROWS], mode="clip")
    picture = Image.fromarray(places)
    picture.putpalette(palette(which).tobytes())
    out = io.BytesIO()
    picture.save(out, "PNG", compress_level=6 if which == "few" else 1)
    return out.getvalue()
