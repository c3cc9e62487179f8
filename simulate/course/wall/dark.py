"""Pictures for a dark room: the same picture with another palette, in which every colour keeps its name."""

from __future__ import annotations

import zlib

import numpy as np


def darkened(rgb: np.ndarray) -> np.ndarray:
    """Turn colours made for white paper into colours for a black wall.

    `rgb` (..., 3). Returns (..., 3).

    White and black part change places and the hue stays. Yellow, which means
    light in every picture, keeps its black part too, so that dark dots on it
    stay dark. A picture's plain negative would make yellow brown.

    >>> darkened([[255, 255, 255], [0, 0, 0], [255, 216, 77]]).tolist()
    [[0, 0, 0], [255, 255, 255], [232, 193, 54]]
    """
    part = np.asarray(rgb, float) / 255
    white, top = part.min(axis=-1, keepdims=True), part.max(axis=-1, keepdims=True)
    black = (1 - top) * (1 - _yellow(part))[..., None]
    return np.round(255 * np.clip(black + (part - white) + white * (top - white), 0, 1)).astype(np.uint8)


def _yellow(part: np.ndarray) -> np.ndarray:
    """Say how yellow each colour is: 0 for orange, grey and all others, 1 from the yellow of the pictures on."""
    red, green, blue = np.moveaxis(part, -1, 0)
    chroma = red - blue
    hue = np.divide(
        green - blue, chroma, out=np.zeros_like(chroma), where=(chroma > 0) & (red >= green) & (green >= blue)
    )
    return np.clip((hue - 0.55) / 0.12, 0, 1) * np.clip(chroma / 0.15, 0, 1)


def dark_palette(png: bytes) -> bytes:
    """Give the palette that a picture has in a dark room, as the part of its file that holds it.

    `png`: a picture with a palette. Returns: as long as the part that it replaces; empty where the picture has no
    palette.

    >>> dark_palette(b"")
    b''
    """
    at = png.find(b"PLTE")
    if at < 4:
        return b""
    size = int.from_bytes(png[at - 4 : at], "big")
    colours = np.frombuffer(png[at + 4 : at + 4 + size], np.uint8).reshape(-1, 3)
    body = b"PLTE" + darkened(colours).tobytes()
    return size.to_bytes(4, "big") + body + zlib.crc32(body).to_bytes(4, "big")


def in_the_dark(png: bytes) -> bytes:
    """Give the picture as a dark room shows it."""
    part = dark_palette(png)
    at = png.find(b"PLTE") - 4
    return png[:at] + part + png[at + len(part) :] if part else png
