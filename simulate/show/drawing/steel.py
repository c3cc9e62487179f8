"""Bodies of steel as pixels: brushed sides, a filed back, and light that glows out of the gap between two of them."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from matplotlib.artist import Artist
from matplotlib.colors import to_rgb

from simulate.bench.looking.light import BLUE, RED, WORDS, glow
from simulate.show.drawing import style
from simulate.show.drawing.palette import glow_colours

_LEVELS, _REACH = 16, 26
_BACK = 8  # rows of the filed back that are seen from above
_FILED, _FACE = (176, 206), (186, 230)  # of a back and a face: in a mark of the file, and beside it
_DARK, _TRACES = (45, 45, 45, 255), ((85, 85, 255, 255), (255, 85, 85, 255))
_HALO = np.exp(-np.arange(_REACH + 1) / 9.0) - np.exp(-_REACH / 9.0)


class Bodies(Artist):
    """A picture of pixels whose lower left corner lies at a place of its axes."""

    def __init__(self, axes) -> None:
        super().__init__()
        self.set_zorder(3)
        self._pixels: np.ndarray | None = None
        self._at = (0.0, 0.0)
        axes.add_artist(self)

    def put(self, pixels: np.ndarray, at: tuple[float, float]) -> None:
        """Take other pixels.

        `pixels` (rows, columns, 4): the highest row first. `at`: in the data of the axes.
        """
        self._pixels, self._at = np.ascontiguousarray(pixels[::-1]), at

    def draw(self, renderer) -> None:
        """Stamp the pixels."""
        if self._pixels is not None and self.get_visible():
            x, y = self.axes.transData.transform(self._at)
            renderer.draw_image(renderer.new_gc(), round(x), round(y), self._pixels)


@lru_cache(maxsize=8)
def sides(rows: int, columns: int, back: bool) -> np.ndarray:
    """Give the side of a bar, brushed along its length.

    `back`: whether the filed back is seen over it. Returns (rows, columns, 4).

    >>> sides(40, 10, True).shape, sides(40, 10, False)[20, 5, 3]
    ((40, 10, 4), np.uint8(255))
    """
    grain = np.random.default_rng(3).integers(-1, 2, rows) * 4  # a row has one shade, as a brush leaves it: packs well
    shade = np.round(255 * np.array(to_rgb(style.SIDE)))[None, :] + grain[:, None]
    body = np.full((rows, columns, 4), 255, np.uint8)
    body[..., :3] = shade[:, None, :]
    if back:
        row, column = np.indices((_BACK, columns))
        marks = (row + column) % 6 < 2
        body[:_BACK, :, :3] = np.where(marks[..., None], *_FILED)
    body.setflags(write=False)
    return body


def shut(face: np.ndarray, rows: int) -> np.ndarray:
    """Draw a bar that lies with its face up.

    `face` (columns,): the row at which each column begins. Returns (rows, columns, 4).

    >>> shut(np.array([1.0, 2.0]), 3)[:, :, 3].tolist()
    [[0, 0], [255, 0], [255, 255]]
    """
    body = sides(rows, face.size, False).copy()
    body[..., 3] = np.where(np.arange(rows)[:, None] >= face, 255, 0)
    return body


def apart(top: np.ndarray, bottom: np.ndarray, face: tuple[int, int], lower: np.ndarray, rows: int) -> np.ndarray:
    """Draw a bar in the air over another one.

    `top`, `bottom` (columns,): rows at which the bar in the air begins and ends. `face`: how many rows below its top,
    and above its bottom, are its filed face, brighter than its back. `lower` (columns,): rows at which the other
    begins. Returns (rows, columns, 4).

    >>> two = apart(np.full(3, 2.0), np.full(3, 30.0), (0, 4), np.full(3, 35.0), 40)
    >>> two[[0, 3, 15, 28, 32, 38], 1, 3].tolist(), two[[3, 15, 28], 1, 0].argsort().tolist()
    ([0, 255, 255, 255, 0, 255], [1, 0, 2])
    """
    row = np.arange(rows)[:, None]
    out = sides(rows, top.size, False).copy()
    held = (row >= top) & (row < bottom)
    marks = np.add(*np.indices(held.shape)) % 6 < 2
    seen = held & (row < top + _BACK) & (face[1] > 0)
    filed = held & ((row < top + face[0]) | (row >= bottom - face[1]))
    for where, shades in ((seen, _FILED), (filed, _FACE)):
        np.copyto(out[..., :3], np.where(marks, *shades).astype(np.uint8)[..., None], where=where[..., None])
    out[..., 3] = np.where(held | (row >= lower), 255, 0)
    return out


def lit_pair(upper: np.ndarray, lower: np.ndarray, gap_um: np.ndarray, sight_um: float, rows: int) -> np.ndarray:
    """Draw two bars face to face before a lamp.

    `upper`, `lower` (columns,): rows at which the upper body ends and the lower one begins. `gap_um` (columns,).
    `sight_um`: the smallest gap that shows white light. Returns (rows, columns, 4).

    >>> pair = lit_pair(np.full(9, 60.0), np.full(9, 66.0), np.full(9, 90.0), 2.5, 120)
    >>> pair.shape, bool(pair[63, 4, 0] > pair[20, 4, 0] + 60), bool((pair[..., 3] == 255).all())
    ((120, 9, 4), True, True)
    """
    middle, shine = 0.5 * (upper + lower), glow(gap_um, sight_um)
    upper = np.where(shine > 0, np.minimum(upper, middle - 1.5), upper)
    lower = np.where(shine > 0, np.maximum(lower, middle + 1.5), lower)
    first, last = max(int(upper.min()) - _REACH, 0), min(int(lower.max()) + _REACH + 2, rows)
    row = np.arange(first, last, dtype=np.float32)[:, None]
    away = np.maximum(upper.astype(np.float32) - row, row - lower.astype(np.float32))
    away = away.clip(0, _REACH, out=away).astype(np.uint8)
    place = np.where(gap_um > sight_um, _strength(gap_um, sight_um), _LEVELS + shine).astype(np.uint16) * (_REACH + 1)
    lit = np.take(_light(), place + away)
    out = sides(rows, gap_um.size, True).copy()
    words = out.view(np.uint32)[..., 0]
    np.copyto(words[first:last], lit, where=lit > 0)
    return out


def _strength(gap_um: np.ndarray, sight_um: float) -> np.ndarray:
    """Say how bright each column is: as the eye has it, by ratios and not by micrometres."""
    times = np.log(np.maximum(gap_um / sight_um, 1.0)) / np.log(40.0)
    return np.round((0.3 + 0.7 * np.clip(times, 0, 1)) * (_LEVELS - 1)).astype(np.intp)


@lru_cache(maxsize=1)
def _light() -> np.ndarray:
    """Colour in one word, for each strength and distance from the gap, nothing where no light falls; after them, for
    each way a gap looks that shows no white light, its trace of colour or its dark."""
    strength = np.arange(_LEVELS)[:, None] / (_LEVELS - 1)
    spill = 0.62 * strength * _HALO
    spill[:, 0] = 0.35 + 0.65 * strength[:, 0]
    place = np.round(spill.clip(0, 1) * (len(glow_colours()) - 1)).astype(np.intp)
    found = np.zeros((_LEVELS + len(WORDS), _REACH + 1, 4), np.uint8)
    found[:_LEVELS, :, :3], found[:_LEVELS, :, 3] = glow_colours()[place], 255
    found[:_LEVELS][place == 0] = 0  # steel as it is
    found[_LEVELS:, 0] = _DARK
    found[_LEVELS + BLUE, 0], found[_LEVELS + RED, 0] = _TRACES
    return found.view(np.uint32).ravel()
