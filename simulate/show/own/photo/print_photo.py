"""What a photograph of a print tells, in sentences, and the face as it was straightened with every mark outlined."""

from __future__ import annotations

import io

import numpy as np
import scipy

from simulate.bench.looking.spotting import INCH_MM
from simulate.core.number_format import three
from simulate.readings.photo.print_photo import PrintPhoto
from simulate.readings.photo.print_places import PrintPlaces

_OUTLINE, _SQUARE = (213, 94, 0), (0, 114, 178)
_GLARE_SAID = 0.002
_UNSURE, _HAZE_SAID = 0.10, 0.01
_UP_PX = 2
_BY_EYE = (
    "Do not trust this count to 10 %: too many marks touch. Count one square inch by eye, or spread a thinner film."
)


def print_photo_sentences(told: PrintPhoto) -> tuple[str, ...]:
    """Say what a photograph of a print tells, and what it cannot.

    >>> x = np.arange(0.5, 51.0)
    >>> marked = np.zeros((51, 51), bool)
    >>> marked[3:9, 3:9] = True
    >>> points = np.array([[1.0, 0.0], [0.0, 0.0]])
    >>> print_photo_sentences(PrintPhoto(x_mm=x, y_mm=x, shade=-1.0 * marked, marked=marked,
    ...     apart=marked, blind=~(marked | True), bearing=(0.012, 0.0138, 0.015), points=points,
    ...     points_mean=(0.25, 0.25, 0.25), glare=0.0, contrast=9.0, grown=(0, 0), spots=1))[1]
    '0.25 points to a square inch, the mean of 4 squares; the sparsest of them, 2 across and 1 away, has 0.'
    """
    low, middle, high = (100 * share for share in told.bearing)
    least, most = min(told.points_mean), max(told.points_mean)
    by = f", {three(least)} to {three(most)} depending on their borders" if three(least) != three(most) else ""
    away, across = np.unravel_index(int(told.points.argmin()), told.points.shape)
    barest = f"the sparsest of them, {across + 1} across and {away + 1} away, has {three(told.points.min())}"
    several = f", the mean of {told.points.size} squares{by}; {barest}" if told.points.size > 1 else by
    glare = (f"{100 * told.glare:.1f} % of the face is glare and was left out.",) if told.glare > _GLARE_SAID else ()
    joined, parts = told.grown
    apart = told.points_mean[1] * (told.spots - joined + parts) / max(told.spots, 1)
    grown = (
        f"{joined} of the {told.spots} marks look{'s' if joined == 1 else ''} like several that have grown together. "
        f"Counted separately they are {parts}: {three(apart)} points to a square inch."
    )
    haze = (
        f"Glare brightens {100 * told.haze:.0f} % of the unmarked face: do not trust the share or the count there, "
        "because marks may be lost."
    )
    return (
        f"{three(middle)} % of the face is marked, {three(low)} to {three(high)} % depending on where a mark's "
        "border is drawn.",
        f"{three(told.points_mean[1])} points to a square inch{several}.",
        *glare,
        *((grown,) if joined else ()),
        *((_BY_EYE,) if told.unsure > _UNSURE else ()),
        *((haze,) if told.haze > _HAZE_SAID else ()),
        "A photograph does not show how thick the film was: compare only prints of the same film. Marks that touch "
        "count as one, and marks smaller than 1 mm² are not counted.",
    )


def places_hidden(places: PrintPlaces) -> tuple[str, ...]:
    """Say how many places could not be read.

    >>> places_hidden(PrintPlaces(x_mm=np.arange(2.0), y_mm=np.zeros(1), printed=np.zeros((1, 2), bool),
    ...     seen=np.array([[True, False]]), kind="bars"))[0][:54]
    '1 of 2 stations lies under glare and was not read: pho'
    """
    hidden = int(np.count_nonzero(~places.seen))
    what, one = ("stations" if places.kind == "bars" else "places"), hidden == 1
    told = f"{hidden} of {places.seen.size} {what} {'lies' if one else 'lie'} under glare and "
    told += f"{'was' if one else 'were'} not read: photograph it again with the lamp moved."
    return (told,) if hidden else ()


def outlined(told: PrintPhoto) -> bytes:
    """Draw the straightened face with every mark outlined and the squares that points are counted in, far side up.

    Returns: a PNG, to see whether what was taken for marks is what the eye takes for them.

    >>> x = np.arange(0.5, 51.0)
    >>> marked = np.zeros((51, 51), bool)
    >>> outlined(PrintPhoto(x_mm=x, y_mm=x, shade=-1.0 * marked, marked=marked, apart=marked,
    ...     blind=~(marked | True), bearing=(0.0, 0.0, 0.0), points=np.zeros((2, 2)), points_mean=(0.0, 0.0, 0.0),
    ...     glare=0.0, contrast=9.0, grown=(0, 0), spots=1))[1:4]
    b'PNG'
    """
    from PIL import Image

    picture = outlines(told)
    out = io.BytesIO()
    Image.fromarray(picture[::-1]).save(out, "PNG", dpi=(INCH_MM * _UP_PX / _step(told),) * 2)
    return out.getvalue()


def outlines(told: PrintPhoto) -> np.ndarray:
    """Return the straightened face with every mark outlined, the near side first.

    Returns (rows, columns, 3).
    """
    grey = np.clip(np.exp(told.shade) / max(float(np.exp(np.quantile(told.shade, 0.95))), 1e-6), 0, 1) ** (1 / 2.2)
    picture = np.repeat((255 * grey).astype(np.uint8)[..., None], 3, axis=2).repeat(_UP_PX, 0).repeat(_UP_PX, 1)
    marked = told.apart.repeat(_UP_PX, 0).repeat(_UP_PX, 1)
    for axis, many in enumerate(told.points.shape):
        for line in (np.arange(1, many) * marked.shape[axis] // many).tolist():
            picture.swapaxes(0, axis)[line] = _SQUARE
    picture[scipy.ndimage.binary_dilation(marked) & ~marked] = _OUTLINE
    return picture


def _step(told: PrintPhoto) -> float:
    return float(told.x_mm[1] - told.x_mm[0])
