"""Pictures of one film laid on sheets of one size, so that one can be blended into the next."""

from __future__ import annotations

import io
from collections.abc import Sequence

from PIL import Image


def of_one_size(pictures: Sequence[bytes]) -> list[bytes]:
    """Lay each picture at the top left of a sheet that is as wide and as high as the largest.

    `pictures`: PNG; an empty one stays empty. Returns: the same pictures where all have one size. What is added has the
    ink of the picture's lowest left dot, which is its paper, and the palette stays.

    >>> from simulate.show.drawing.canvas import encode
    >>> import numpy as np
    >>> low, high = (encode(np.full((rows, 4, 3), 255, np.uint8)) for rows in (2, 3))
    >>> [Image.open(io.BytesIO(p)).size for p in of_one_size([low, high])]
    [(4, 3), (4, 3)]
    """
    sizes = [Image.open(io.BytesIO(p)).size for p in pictures if p]
    if len(set(sizes)) < 2:
        return list(pictures)
    largest = max(w for w, _ in sizes), max(h for _, h in sizes)
    return [_on_sheet(p, largest) if p else p for p in pictures]


def _on_sheet(png: bytes, size: tuple[int, int]) -> bytes:
    picture = Image.open(io.BytesIO(png))
    if picture.size == size:
        return png
    sheet = Image.new(picture.mode, size, picture.getpixel((0, picture.height - 1)))
    if picture.mode == "P":
        sheet.putpalette(picture.getpalette())
    sheet.paste(picture)
    out = io.BytesIO()
    sheet.save(out, "PNG")
    return out.getvalue()
