"""A photographed print as it was understood: every mark outlined, points square by square, and what goes into the
readings."""

from __future__ import annotations

import numpy as np

from simulate.readings.photo.print_photo import PrintPhoto
from simulate.readings.photo.print_places import PrintPlaces
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.own.photo.print_photo import outlines


def print_picture(told: PrintPhoto, places: PrintPlaces, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw a counted print, the near side below.

    Returns: on the left the straightened face with outlined marks and the points of each square; on the right each
    place with a cross where it printed, a point where it did not, and a question mark where glare hides it.
    """
    if places.kind == "bars":
        return _edge_picture(told, places, units, dpi)
    canvas = Canvas(1280, 520, dpi)
    half = [float(a.size * (a[1] - a[0])) / 2 for a in (told.x_mm, told.y_mm)]
    wide, deep = (style.place(a, units) for a in half)
    with style.styled():
        left = canvas.figure.add_axes((0.06, 0.14, 0.42, 0.76))
        left.imshow(outlines(told), origin="lower", extent=(-wide, wide, -deep, deep), interpolation="antialiased")
        rows, columns = told.points.shape
        for i in range(rows):
            for j in range(columns):
                at = (2 * j + 1) / columns - 1, (2 * i + 1) / rows - 1
                left.text(
                    at[0] * wide,
                    at[1] * deep,
                    f"{told.points[i, j]:.0f}",
                    ha="center",
                    va="center",
                    fontsize=style.SMALL if columns <= 8 else 9,
                    bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.85, "pad": 1.5},
                )
        left.set_title("Marks, and points to a square inch")
        right = canvas.figure.add_axes((0.56, 0.14, 0.42, 0.76), sharex=left, sharey=left)
        right.set_title("Places that printed: ×, not: ·")
        shades = np.where(places.seen, np.where(places.printed, 0.8, 1.0), 0.6)
        right.imshow(shades, origin="lower", cmap="gray", vmin=0, vmax=1, extent=(-wide, wide, -deep, deep))
        for name, there in (
            ("x", places.printed),
            (".", places.seen & ~places.printed),
            ("$?$", ~places.seen),
        ):
            i, j = np.nonzero(there)
            right.plot(
                style.place(places.x_mm[j], units),
                style.place(places.y_mm[i], units),
                linestyle="none",
                marker=name,
                color=style.BLACK,
                markersize=8 if name != "." else 5,
            )
        for axes in (left, right):
            axes.set_xlabel("in" if units == "inch" else "mm")
            axes.set_aspect("equal")
    return canvas


def _edge_picture(told: PrintPhoto, places: PrintPlaces, units: str, dpi: int) -> Canvas:
    """Draw an edge drawn out in depth, and what each station under it told."""
    canvas = Canvas(1280, 360, dpi)
    long = style.place(float(told.x_mm.size * (told.x_mm[1] - told.x_mm[0])), units)
    with style.styled():
        axes = canvas.figure.add_axes((0.03, 0.2, 0.95, 0.66))
        axes.imshow(
            outlines(told), origin="lower", extent=(0, long, 0.4, 1), aspect="auto", interpolation="antialiased"
        )
        for name, there in (
            ("x", places.printed),
            (".", places.seen & ~places.printed),
            ("$?$", ~places.seen),
        ):
            at = style.place(places.x_mm[there[0]], units)
            mark = {"marker": name, "color": style.BLACK, "markersize": 5 if name == "." else 8}
            axes.plot(at, [0.2] * len(at), linestyle="none", **mark)
        axes.set(xlim=(0, long), ylim=(0, 1), yticks=[], xlabel="in" if units == "inch" else "mm")
        axes.set_title("Marks, the edge drawn out in depth; stations that printed: ×, not: ·, not read: ?")
    return canvas
