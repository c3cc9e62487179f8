"""A print as the trade sees it: blue marks on metal, pale where the face bears hardest."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.patches import Rectangle

from simulate.bench.cutting.scrape_marks import finer
from simulate.bench.looking.spotting import BLUE, NONE, SMEAR, Print
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words

FACE = "#E8EEF4"
NOTHING = 4
"""Where nothing lay over the face: beyond the shades of a print."""

_COLOURS = (FACE, "#CBDCEA", style.BLUE, "#8FB6D6", "#B4BAC2")
_SHADES = np.round(255 * np.array([to_rgb(c) for c in _COLOURS])).astype(np.uint8)
_SOFT = 3  # points to one of the print where it is drawn larger


def shaded(shades: np.ndarray) -> np.ndarray:
    """Colour a print.

    `shades` (rows, columns): `spotting.NONE` to `PALE`, or `NOTHING`. Returns (rows, columns, 3).

    >>> shaded(np.array([[0, 2]], np.uint8))[0, 0].tolist()
    [232, 238, 244]
    """
    return _SHADES[shades]


def point_words(printed: Print) -> str:
    """Say in how many points a face bears, after a comma; nothing where it bears in none."""
    points = printed.points
    if not (points > 0).any():
        return ""
    many = f"{points[points > 0].mean():.0f}"
    return f", with {many} point{'s' * (many != '1')} in a square inch"


def softened(shades: np.ndarray) -> np.ndarray:
    """Round the corners that the grid gives to marks, for a print that is drawn larger.

    `shades` (rows, columns). Returns ((rows - 1) * 3 + 1, (columns - 1) * 3 + 1).

    >>> softened(np.array([[0, 2], [0, 2]], np.uint8))[0].tolist()
    [0, 0, 2, 2]
    """
    levels = [(finer(shades >= k, _SOFT) > 0.5).view(np.uint8) for k in range(1, NOTHING + 1)]
    return np.sum(levels, axis=0, dtype=np.uint8)


def busiest(printed: Print, side_mm: float) -> tuple[slice, slice]:
    """Find the square of a face that carries most marks.

    `side_mm`: of the square; the face is laid out in whole ones.
    """
    many = [max(1, round(np.ptp(a) / side_mm)) for a in (printed.y_mm, printed.x_mm)]
    rows, columns = (size // n for size, n in zip(printed.lower.shape, many))
    part = (printed.lower[: rows * many[0], : columns * many[1]] >= BLUE).reshape(many[0], rows, many[1], columns)
    row, column = np.unravel_index(np.count_nonzero(part, axis=(1, 3)).argmax(), many)
    return slice(row * rows, (row + 1) * rows), slice(column * columns, (column + 1) * columns)


class PrintMaps:
    """The print on a whole face, and a part of it drawn larger with a square inch beside it.

    `side_mm`: of the part.
    """

    def __init__(self, canvas: Canvas, whole: Axes, part: Axes, side_mm: float) -> None:
        self.side_mm, make = side_mm, canvas.moving
        self._images, self._titles = [], []
        for axes in (whole, part):
            axes.set(xticks=[], yticks=[])
            for spine in axes.spines.values():
                spine.set_visible(True)
            self._images.append(
                make(
                    axes.imshow(
                        np.zeros((2, 2, 3), np.uint8), origin="lower", extent=(-1, 1, -1, 1), interpolation="nearest"
                    )
                )
            )
            self._titles.append(make(Words(axes, style.BODY)))
            self._titles[-1].set_position((-1, 1.075))
        self._frame, self._inch = (
            make(a.add_patch(Rectangle((0, 0), 0, 0, facecolor="none", edgecolor=style.ORANGE, lw=2.5, zorder=4)))
            for a in (whole, part)
        )

    def show(self, title: str, zoomed: str, printed: Print) -> None:
        """Draw a print with its titles."""
        rows, columns = busiest(printed, self.side_mm)
        high, wide = printed.lower.shape
        whole = np.where(printed.lower == SMEAR, NONE, printed.lower)  # too fine to be seen there, and dear to send
        self._images[0].set_data(shaded(whole))
        self._images[1].set_data(shaded(softened(printed.lower[rows, columns])))
        for words, text in zip(self._titles, (title, zoomed)):
            words.set_text(text)
        self._frame.set_bounds(
            2 * columns.start / wide - 1,
            2 * rows.start / high - 1,
            2 * (columns.stop - columns.start) / wide,
            2 * (rows.stop - rows.start) / high,
        )
        inch = 2 * 25.4 / (printed.x_mm[columns.stop - 1] - printed.x_mm[columns.start])
        self._inch.set_bounds(1 - inch, -1, inch, inch)
