"""What a photograph of a print tells: its marks, the share of the face that bears, points per square inch, and how far
the border of a mark moves them."""

from __future__ import annotations

import io
import os
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.looking.spotting import LEAST_MM2, points_per_square_inch
from simulate.core import checks
from simulate.core.atomic_files import reason
from simulate.core.refusal import Refusal, shape_words
from simulate.readings.photo.evened import BLOCKS, evened
from simulate.readings.photo.parted import grown_together, parted
from simulate.readings.photo.straightened import straightened

MOST_BYTES = 40_000_000
MOST_PIXELS = 60_000_000
_SMALLER = "Let the phone or a picture editor save it smaller"
_CODE = np.arange(256) / 255
LINEAR = np.where(_CODE <= 0.04045, _CODE / 12.92, ((_CODE + 0.055) / 1.055) ** 2.4).astype(np.float32)
"""Light that a figure of a photograph stands for, 0 to 1 (sRGB, IEC 61966-2-1:1999); a lens blurs light."""
_GLARE = float(LINEAR[250])
"""A place so bright tells nothing, for glare hides whatever lies there."""
_MOST_GLARE = 0.05
_DARK = 25
"""Figure, of 255, that the brightest tenth of a face must reach: below it marks differ by a few figures alone."""
_HAZE, _HAZE_MM = 0.15, 1.0
"""Metal that is brighter than clean metal by so much (logarithm, smoothed so far): glare lies over it."""
_APART = 3.0
"""So many standard deviations of clean metal must part the marks from it."""
_LEAST_SHARE = 0.002
_GREEN, _MORE = 1, 1.5
"""A JPEG keeps green sharpest; another colour is taken where marks differ so much more from metal in it."""
_BLUR_STEPS = 0.6
"""Noise that would part marks is smoothed by so many steps of the grid."""
_CUT = 0.9
"""Of the smallest mark: so much is left of it where a line of light was taken out."""
_BORDER = (0.35, 0.5, 0.65)
"""Where between metal and mark a border may be drawn: all three by one photograph (ours)."""


@dataclass(frozen=True, kw_only=True)
class PrintPhoto:
    """A print as a photograph tells it.

    Attributes
    ----------
    x_mm, y_mm : ndarray
        Middles of the cells of the face, the near left corner being 0, 0.
    shade : ndarray, shape (y, x)
        How much darker than clean metal: natural logarithm, below 0 on a mark.
    marked, apart : ndarray of bool, shape (y, x)
        What is marked, and the same without the lines of light between marks.
    blind : ndarray of bool, shape (y, x)
        What shows nothing for glare.
    bearing : tuple of float
        Share of the face that is marked: with the border of a mark drawn tight, in the middle, and wide.
    points : ndarray, shape (squares along y, squares along x)
        Marks per square inch.
    points_mean : tuple of float
        Over the face, with the border drawn tight, in the middle, and wide.
    glare : float
        Share of the face that shows nothing for glare.
    contrast : float
        How many standard deviations of clean metal part the marks from it.
    grown : (int, int)
        Marks that look by their shape like several that have grown together, and how many spots those would be.
    spots : int
        Marks on the whole face.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    shade: np.ndarray
    marked: np.ndarray
    apart: np.ndarray
    blind: np.ndarray
    bearing: tuple[float, float, float]
    points: np.ndarray
    points_mean: tuple[float, float, float]
    glare: float
    contrast: float
    grown: tuple[int, int]
    spots: int

    @property
    def unsure(self) -> float:
        """Part by which the count would rise if every mark that looks like several were several."""
        return (self.grown[1] - self.grown[0]) / max(self.spots, 1)

    @property
    def haze(self) -> float:
        """Share of the unmarked face that glare makes brighter than clean metal: marks may be lost there."""
        smooth = scipy.ndimage.gaussian_filter(self.shade, _HAZE_MM / float(self.x_mm[1] - self.x_mm[0]))
        bright = np.asarray(smooth > _HAZE, bool)[~self.marked]
        return float(bright.mean()) if bright.size else 0.0


def read_print_photo(
    photo: str | os.PathLike | bytes | np.ndarray,
    corner_px: ArrayLike,
    width_mm: float,
    depth_mm: float,
    rim_mm: float = 0.0,
) -> PrintPhoto:
    """Count the marks on a photograph of a print.

    Parameters
    ----------
    photo : path, bytes or ndarray of uint8, shape (rows, columns) or (rows, columns, 3)
        Of a scraped face with dark marking compound on bright metal.
    corner_px : array_like, shape (4, 2)
        Column and row of the face's corners, the middle of the first pixel being 0, 0: left and right of the near
        side, then right and left of the far side.
    width_mm, depth_mm : float
        Of the face: along its near side, and away.
    rim_mm : float
        Left out along the near and the far side. On a narrow edge a chamfer, or a corner that is a pixel off, looks
        like a mark from end to end.

    Returns
    -------
    PrintPhoto

    Raises
    ------
    Refusal
        Where it is no photograph, too coarse, too full of glare, or no marks stand out from the metal.

    Notes
    -----
    Laid straight by the four corners (`straightened`), evened for light (`evened`); the threshold between metal and
    mark is that of N. Otsu (1979), the darkness that parts the places into two classes that vary least. The border of
    a mark is blurred by compound and lens; it is drawn at 35, 50 and 65 % of the way from metal to mark, and what
    that moves is told. Marks between which light shows are counted apart (`parted`); what touches is one mark, and
    those that look like several by their shape are counted and told (`grown_together`). The trade's definitions are
    those of `points_per_square_inch`. What it cannot see: how thick the film was, compound that was smeared, marks of
    less than 1 mm², and the bend of a cheap lens. It was tried on rendered photographs of known marks, and on no real
    one.

    Examples
    --------
    >>> photo = np.full((400, 400), 200, np.uint8)
    >>> photo[40:80, 40:80] = photo[200:260, 200:240] = 40
    >>> photo = photo + np.random.default_rng(1).integers(-4, 5, photo.shape).astype(np.uint8)
    >>> told = read_print_photo(photo, [(-0.5, 399.5), (399.5, 399.5), (399.5, -0.5), (-0.5, -0.5)], 100, 100)
    >>> round(told.bearing[1], 3)
    0.025
    """
    bright = _brightness(photo)
    x_mm, y_mm, face = straightened(bright, corner_px, width_mm, depth_mm)
    rim = checks.number(rim_mm, "rim_mm", 0)
    inner = (y_mm > rim) & (y_mm < depth_mm - rim)
    if np.count_nonzero(inner) < BLOCKS:
        raise Refusal(
            "range",
            where="rim_mm",
            found=f"{rim:g}, which leaves {max(0.0, depth_mm - 2 * rim):g} mm of the face",
            must_be=f"so narrow that {BLOCKS} steps of the picture are left, {BLOCKS * (y_mm[1] - y_mm[0]):.2g} mm",
            do="Leave out less, or move the camera closer",
        )
    y_mm, face = y_mm[inner], face[inner]
    if float(np.quantile(face, 0.9)) < LINEAR[_DARK]:
        raise Refusal(
            "unsettled",
            where="the photograph",
            found=f"the brightest 10 % of the face stays below {_DARK} of 255, which is too dark",
            must_be=f"metal as bright as {_DARK} or more",
            do="Use a lamp, or a longer exposure",
        )
    blind = face >= _GLARE
    glare = float(blind.mean())
    if glare > _MOST_GLARE:
        raise Refusal(
            "unsettled",
            where="the photograph",
            found=f"{100 * glare:.0f} % of the face is glare",
            must_be=f"at most {100 * _MOST_GLARE:.0f} % of it",
            do="Light it from the side, with a sheet of paper in front of the lamp, and a shorter exposure",
        )
    shade = evened(face)
    metal, mark, contrast = _two_classes(np.minimum(shade[~blind], 0))  # else metal under glare is a class of its own
    dark = (np.exp(metal) - np.exp(shade)) / (np.exp(metal) - np.exp(mark))
    smooth = scipy.ndimage.gaussian_filter(dark, _BLUR_STEPS)
    least = LEAST_MM2 / float((x_mm[1] - x_mm[0]) * (y_mm[1] - y_mm[0]))
    shares, points, marks = [], [], []
    for border in _BORDER[::-1]:  # the farther from metal, the tighter
        marked = (dark > border) & ~blind
        marks.append((marked, parted(smooth, marked, least)))
        shares.append(float(np.count_nonzero(marked) / np.count_nonzero(~blind)))
        points.append(points_per_square_inch(x_mm, y_mm, marks[-1][1], _CUT * LEAST_MM2))
    if shares[1] < _LEAST_SHARE:
        raise _no_marks(contrast)
    found, many = scipy.ndimage.label(marks[1][1], np.ones((3, 3)))
    return PrintPhoto(
        x_mm=x_mm,
        y_mm=y_mm,
        shade=shade,
        marked=marks[1][0],
        apart=marks[1][1],
        blind=blind,
        bearing=(shares[0], shares[1], shares[2]),
        points=points[1],
        points_mean=(float(points[0].mean()), float(points[1].mean()), float(points[2].mean())),
        glare=glare,
        contrast=contrast,
        grown=grown_together(marks[1][1], least),
        spots=int(np.count_nonzero(np.bincount(found.ravel(), minlength=many + 1)[1:] >= _CUT * least)),
    )


def _brightness(photo: str | os.PathLike | bytes | np.ndarray) -> np.ndarray:
    """Light by green, or by that colour of a photograph in which its parts differ far more, 0 to 1."""
    if isinstance(photo, np.ndarray):
        pixels = photo
        if pixels.dtype != np.uint8 or pixels.ndim not in (2, 3) or (pixels.ndim == 3 and pixels.shape[2] != 3):
            raise Refusal(
                "shape",
                where="photo",
                found=f"{shape_words(pixels.shape)} of {pixels.dtype}",
                must_be="uint8, rows and columns, with three colours or none",
            )
    else:
        pixels = opened(photo)
    if pixels.ndim == 2:
        return LINEAR[pixels]
    spread = [np.subtract(*np.log(np.percentile(pixels[..., k], [95, 5]) + 1.0)) for k in range(3)]
    most = int(np.argmax(spread))
    return LINEAR[pixels[..., most if spread[most] > _MORE * spread[_GREEN] else _GREEN]]


def opened(photo: str | os.PathLike | bytes) -> np.ndarray:
    """Open a photograph as it is meant to be seen, whatever its file claims to be.

    Returns (rows, columns, 3).
    """
    from PIL import Image, ImageOps

    name = "the photograph" if isinstance(photo, bytes) else os.path.basename(os.fspath(photo))
    must_be = "a photograph as JPEG, PNG or WebP"
    try:
        size = len(photo) if isinstance(photo, bytes) else Path(photo).stat().st_size
        if size > MOST_BYTES:
            raise Refusal("large", where=name, found=f"{size / 1e6:.0f} MB", must_be="at most 40 MB", do=_SMALLER)
        data = photo if isinstance(photo, bytes) else Path(photo).read_bytes()
        with Image.open(io.BytesIO(data), formats=("JPEG", "PNG", "WEBP")) as image:
            if image.width * image.height > MOST_PIXELS:
                raise Refusal(
                    "large",
                    where=name,
                    found=f"{image.width} by {image.height} pixels",
                    must_be="at most 60 million pixels",
                    do=_SMALLER,
                )
            return np.asarray(ImageOps.exif_transpose(image).convert("RGB"))
    except Image.DecompressionBombError:
        raise Refusal(
            "large", where=name, found="larger than 60 million pixels", must_be="no larger", do=_SMALLER
        ) from None
    except (OSError, SyntaxError, ValueError) as error:
        if isinstance(error, Refusal):
            raise
        raise Refusal(
            "file",
            where=name,
            found=f"cannot be opened ({reason(error, 'no picture that can be read')})",
            must_be=must_be,
            do="Let the phone or a picture editor save it as JPEG",
        ) from None


def _two_classes(shade: np.ndarray) -> tuple[float, float, float]:
    """Shade of metal and of a mark, and how many standard deviations of metal part them."""
    many, edges = np.histogram(shade, 256, (float(shade.min()), float(max(shade.max(), shade.min() + 1e-6))))
    middle = (edges[1:] + edges[:-1]) / 2
    below = np.cumsum(many)[:-1]
    first, total = np.cumsum(many * middle)[:-1], float((many * middle).sum())
    above = shade.size - below
    with np.errstate(divide="ignore", invalid="ignore"):
        between = np.nan_to_num(below * above * (first / below - (total - first) / above) ** 2.0)
    border = edges[1:-1][int(between.argmax())]
    dark, light = shade[shade < border], shade[shade >= border]
    if not dark.size or not light.size:
        raise _no_marks(0.0)
    mark, metal = float(np.median(dark)), float(np.median(light))
    sd = float(scipy.stats.median_abs_deviation(light, scale="normal"))
    contrast = (metal - mark) / max(sd, 1e-3)
    if contrast < _APART:
        raise _no_marks(contrast)
    return metal, mark, contrast


def _no_marks(contrast: float) -> Refusal:
    return Refusal(
        "unsettled",
        where="the photograph",
        found=f"no marks stand out from the metal ({contrast:.1f} standard deviations)",
        must_be=f"dark marks on bright metal, {_APART:g} standard deviations apart or more",
        do="Wipe the rest of the film off, and light the face evenly",
    )
