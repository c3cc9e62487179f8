"""A photograph in, and its four corners: chosen, sent and placed on the page, by mouse, touch or keys."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from pathlib import Path

import numpy as np

MOST_SENT = 8_000_000
"""Bytes that a page sends at once: the server of the lessons takes 10 MB. Larger photographs are made smaller there."""
_SHOWN_PX = 1400
_INSET = 0.08
_HERE = Path(__file__)


def corner_picker(taken: Callable[[bytes, str], None]):
    """Return the widget by which a photograph is chosen and its corners are placed.

    `taken`: takes the bytes of a file and its name. Returns: with ``corners`` (column and row of each, in pixels of the
    photograph), ``size`` and ``said``.
    """
    import anywidget
    import traitlets

    class CornerPicker(anywidget.AnyWidget):
        _esm = _HERE.with_suffix(".js").read_text(encoding="utf-8")
        _css = _HERE.with_suffix(".css").read_text(encoding="utf-8")
        shown = traitlets.Unicode().tag(sync=True)
        size = traitlets.List([0, 0]).tag(sync=True)
        corners = traitlets.List().tag(sync=True)
        said = traitlets.Unicode().tag(sync=True)
        most_bytes = traitlets.Int(MOST_SENT).tag(sync=True)

    picker = CornerPicker()

    def came(_widget, content, buffers) -> None:
        if isinstance(content, dict) and len(buffers) == 1:
            taken(bytes(buffers[0]), str(content.get("name", ""))[:80])

    picker.on_msg(came)
    return picker


def shown_as(pixels: np.ndarray) -> str:
    """Give a photograph as an address that holds it, small enough for a page.

    `pixels` (rows, columns, 3).

    >>> shown_as(np.zeros((4, 4, 3), np.uint8))[:23]
    'data:image/jpeg;base64,'
    """
    from PIL import Image

    picture = Image.fromarray(pixels)
    picture.thumbnail((_SHOWN_PX, _SHOWN_PX))
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=82)
    return "data:image/jpeg;base64," + base64.b64encode(out.getvalue()).decode("ascii")


def first_corners(columns: int, rows: int) -> list[list[float]]:
    """Place the corners where a face may be, for the learner to move.

    >>> first_corners(101, 51)
    [[8.0, 46.0], [92.0, 46.0], [92.0, 4.0], [8.0, 4.0]]
    """
    left, right = round(_INSET * (columns - 1), 1), round((1 - _INSET) * (columns - 1), 1)
    far, near = round(_INSET * (rows - 1), 1), round((1 - _INSET) * (rows - 1), 1)
    return [[left, near], [right, near], [right, far], [left, far]]


def corners_said(corners: list) -> str:
    """Write corners as a line of text.

    >>> corners_said([[8.0, 46.0], [92.5, 46.0]])
    '8,46 92.5,46'
    """
    return " ".join(f"{column:g},{row:g}" for column, row in corners)
