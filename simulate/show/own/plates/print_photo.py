"""What a photograph of a print tells, in sentences, and the face as it was straightened with every mark outlined."""

from __future__ import annotations

import io

import numpy as np
import scipy

from simulate.bench.looking.spotting import INCH_MM
from simulate.core.number_format import three
from simulate.readings.photo.print_photo import PrintPhoto

_OUTLINE, _SQUARE = (213, 94, 0), (0, 114, 178)
_GLARE_SAID = 0.002
_UP_PX = 2


def print_photo_sentences(told: PrintPhoto) -> tuple[str, ...]:
    """Say what a photograph of a print tells, and what it cannot.

    Parameters
    ----------
    told : PrintPhoto

    Examples
    --------
    >>> x = np.arange(0.5, 51.0)
    >>> marked = np.zeros((51, 51), bool)
    >>> marked[3:9, 3:9] = True
    >>> points = np.array([[1.0, 0.0], [0.0, 0.0]])
    >>> print_photo_sentences(PrintPhoto(x_mm=x, y_mm=x, shade=-1.0 * marked, marked=marked,
    ...     bearing=(0.012, 0.0138, 0.015), points=points, points_mean=(0.25, 0.25, 0.25), glare=0.0, apart=9.0))[1]
    '0.25 points to a square inch, in the mean of 4 squares; the barest of them, 2 across and 1 away, has 0.'
    """
    low, middle, high = (100 * share for share in told.bearing)
    least, most = min(told.points_mean), max(told.points_mean)
    by = f", {three(least)} to {three(most)} by their borders" if three(least) != three(most) else ""
    away, across = np.unravel_index(int(told.points.argmin()), told.points.shape)
    barest = f"the barest of them, {across + 1} across and {away + 1} away, has {three(told.points.min())}"
    several = f", in the mean of {told.points.size} squares{by}; {barest}" if told.points.size > 1 else by
    glare = (f"{100 * told.glare:.1f} % of the face is glare and was left out.",) if told.glare > _GLARE_SAID else ()
    return (
        f"{three(middle)} % of the face is marked, {three(low)} to {three(high)} % by where a mark's border is drawn.",
        f"{three(told.points_mean[1])} points to a square inch{several}.",
        *glare,
        "How thick the film was a photograph does not show: compare prints of one film alone. Marks with less than two "
        "pixels between them count as one, and marks of less than 1 mm² as none.",
    )


def outlined(told: PrintPhoto) -> bytes:
    """Draw the straightened face with every mark outlined and the squares that points are counted in, far side up.

    Returns
    -------
    bytes
        A PNG, to see whether what was taken for marks is what the eye takes for them.

    Examples
    --------
    >>> x = np.arange(0.5, 51.0)
    >>> marked = np.zeros((51, 51), bool)
    >>> outlined(PrintPhoto(x_mm=x, y_mm=x, shade=-1.0 * marked, marked=marked, bearing=(0.0, 0.0, 0.0),
    ...     points=np.zeros((2, 2)), points_mean=(0.0, 0.0, 0.0), glare=0.0, apart=9.0))[1:4]
    b'PNG'
    """
    from PIL import Image

    grey = np.clip(np.exp(told.shade) / max(float(np.exp(np.quantile(told.shade, 0.95))), 1e-6), 0, 1) ** (1 / 2.2)
    picture = np.repeat((255 * grey).astype(np.uint8)[..., None], 3, axis=2).repeat(_UP_PX, 0).repeat(_UP_PX, 1)
    marked = told.marked.repeat(_UP_PX, 0).repeat(_UP_PX, 1)
    for axis, many in enumerate(told.points.shape):
        for line in (np.arange(1, many) * marked.shape[axis] // many).tolist():
            picture.swapaxes(0, axis)[line] = _SQUARE
    picture[scipy.ndimage.binary_dilation(marked) & ~marked] = _OUTLINE
    out = io.BytesIO()
    Image.fromarray(picture[::-1]).save(out, "PNG", dpi=(INCH_MM * _UP_PX / _step(told),) * 2)
    return out.getvalue()


def _step(told: PrintPhoto) -> float:
    return float(told.x_mm[1] - told.x_mm[0])
