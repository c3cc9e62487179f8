"""Marking compound between two faces: what prints, and how a print is counted.

A film prints where the gap is less than its thickness. Spread too thick it
prints falsely: where marking lies thick it marks hollows too (C. Knight, The
Mechanician, 1869); thick marking bridges 50 µm, a thin film is 1 to 3 µm (both
from memory). The definitions of the trade stand here, once:

- *bearing* is marked area over area, at a film that is said with it;
- *points per square inch* are separate marks above a stated area in a square of
  25.4 mm; a mark that the square's border cuts counts half.

Roughed faces carry 2 to 5 points, machine ways 8 to 15, surface plates about
20, masters 25 to 40, and 20 to 50 % of a scraped face bears (common practice,
no source; at least 20 % for grades 0 and 1: BS 817:1988, 8.1).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.bench.cutting.scrape_marks import finer, parts_of
from simulate.bench.seating.placement import meeting
from simulate.core import checks
from simulate.core.refusal import Refusal, shape_words

INCH_MM = 25.4
LEAST_MM2 = 1.0
"""The smallest mark that counts as a point (ours: the trade counts what it sees)."""

NONE, SMEAR, BLUE, PALE = range(4)
"""Shades of a print: clean metal; a faint smear, which a fresh film touched and a thinned one does not; a mark; the
pale middle of a mark, where the face bears so hard that the compound is rubbed away (the higher a spot, the less its
mark: J. Rose, Modern Machine-Shop Practice)."""

THINNED = 0.44
"""Part of the film that is left once it is rubbed: the other face takes the rest (common practice, no source)."""

_PALE = 0.12  # of the film that is left
_TOUCH = 0.003
"""Part of the face that touches: on the fine grid the faces sink until so much carries (ours)."""
RUB_MM = 8.0
"""How far the upper face is moved to and fro (a few millimetres: common practice, no source): a high place marks all
along its way, so that each face prints its own high places."""


@dataclass(frozen=True)
class Print:
    """What two faces show once they were laid together, rubbed and taken apart.

    Attributes
    ----------
    x_mm, y_mm : ndarray
        The fine grid.
    lower, upper : ndarray of uint8, shape (fine rows, fine columns)
        Shades on each face's own grid, `NONE` to `PALE`.
    film_um : float
        As it was spread.
    bearing : float
        Marked area over the area that met, on the lower face.
    """

    x_mm: np.ndarray
    y_mm: np.ndarray
    lower: np.ndarray
    upper: np.ndarray
    film_um: float
    bearing: float

    @property
    def points(self) -> np.ndarray:
        """Points per square inch of the lower face, square by square: `points_per_square_inch`."""
        return points_per_square_inch(self.x_mm, self.y_mm, self.lower >= BLUE)


def rub(
    x_mm: np.ndarray,
    y_mm: np.ndarray,
    gap_um: np.ndarray,
    lower_um: np.ndarray,
    upper_um: np.ndarray,
    *,
    turned: int = 0,
    slide: tuple[int, int] = (0, 0),
    film_um: float = 2.0,
) -> Print:
    """Spread a film, lay one face on the other, rub, and take them apart.

    `x_mm`, `y_mm`: the coarse grid of the form, with the same step both ways where the plate is turned a quarter.
    `gap_um` (rows, columns): between the forms, on the lower one's grid; nan where the upper does not reach.
    `lower_um`, `upper_um` (fine rows, fine columns): pockets of each face: `scrape_marks.grain`. `slide`: how the upper
    lies, in coarse grid steps.

    Each face marks where form, its own pockets and the shallowest of the other's that pass over it leave less room
    than the film that rubbing leaves. What it cannot see: single burrs, compound that dries, and the hand's pressure.

    >>> x = np.linspace(-10, 10, 3)
    >>> none = np.zeros((19, 19), np.float32)
    >>> printed = rub(x, x, np.zeros((3, 3)), none, none)
    >>> printed.bearing, int(printed.lower.min()) == PALE
    (1.0, True)
    """
    film = checks.number(film_um, "film_um", 0, above=True)
    part = parts_of(x_mm[1] - x_mm[0])
    there = np.isfinite(gap_um)
    rows, columns = (slice(*(np.flatnonzero(there.any(axis=a))[[0, -1]] + [0, 1])) for a in (1, 0))
    form = finer(gap_um[rows, columns], part)
    shades = np.zeros(lower_um.shape, np.uint8), np.zeros(upper_um.shape, np.uint8)
    below, above, _ = meeting(lower_um, upper_um, turned, (slide[0] * part, slide[1] * part))
    own = meeting(*shades, turned, (slide[0] * part, slide[1] * part))
    reach = 2 * int(RUB_MM / (x_mm[1] - x_mm[0]) * part / 2) + 1
    for mine, other, seen in ((below, above, own[0]), (above, below, own[1])):
        gap = scipy.ndimage.minimum_filter1d(other, reach, axis=1)
        gap += mine
        gap += form
        gap -= np.quantile(gap[::4, ::4], _TOUCH)
        left = THINNED * film
        seen[...] = (gap < film).view(np.uint8) + (gap < left).view(np.uint8) + (gap < _PALE * left).view(np.uint8)
    bearing = float(np.count_nonzero(own[0] >= BLUE) / own[0].size)
    fine = [np.linspace(a[0], a[-1], (a.size - 1) * part + 1) for a in (x_mm, y_mm)]
    return Print(fine[0], fine[1], *shades, film, bearing)


def marked(gap_um: ArrayLike, film_um: float = 2.0) -> np.ndarray:
    """Where marking compound prints.

    `gap_um` (..., rows, columns): nan where the faces do not lie over each other. `film_um`: thickness of the film.
    Returns (..., rows, columns) of bool.

    >>> marked([[0, 1], [2, 3]], 2.0)
    array([[ True,  True],
           [False, False]])
    """
    film = checks.number(film_um, "film_um", 0, above=True)
    return np.nan_to_num(checks.gaps(checks.table(gap_um, "gap_um")), nan=np.inf) < film


def bearing_share(gap_um: ArrayLike, film_um: float = 2.0) -> np.ndarray:
    """Part of the face that prints, of what lies over the other face.

    Parameters
    ----------
    gap_um : array_like, shape (..., rows, columns)
    film_um : float
        The film with which the bearing is told.

    Returns
    -------
    ndarray, shape (...)
        0 to 1.

    Raises
    ------
    ValueError
        Where the film is not thicker than 0, or a gap is below 0.

    Examples
    --------
    >>> bearing_share([[0, 1], [5, 9]])
    np.float64(0.5)
    """
    gap = checks.table(gap_um, "gap_um")
    return marked(gap, film_um).mean(axis=(-2, -1)) / np.isfinite(gap).mean(axis=(-2, -1))


def points_per_square_inch(
    x_mm: ArrayLike, y_mm: ArrayLike, printed: ArrayLike, least_mm2: float = LEAST_MM2
) -> np.ndarray:
    """Count the marks in every square inch, as the trade does.

    Parameters
    ----------
    x_mm, y_mm : array_like
        Evenly spaced positions.
    printed : array_like of bool, shape (..., rows, columns)
    least_mm2 : float
        Smaller marks are not counted.

    Returns
    -------
    ndarray, shape (..., squares along y, squares along x)
        Marks per square of 25.4 mm; one that lies partly outside of its square
        counts half there. Squares are as near to 25.4 mm as fills the face, and
        the count is scaled to 25.4 mm.

    Raises
    ------
    ValueError
        Where shapes differ, positions do not rise, or the area is below 0.

    Notes
    -----
    Points of the grid that print and touch along a side or a corner are one
    mark. What this cannot see: marks smaller than the step of the grid.

    Examples
    --------
    >>> x = np.arange(0.5, 25.4)
    >>> printed = np.zeros((25, 25), bool)
    >>> printed[3:6, 3:6] = printed[20:22, 9:11] = printed[12, 12] = True
    >>> points_per_square_inch(x, x, printed, least_mm2=2).round(2)
    array([[2.06]])
    """
    x, y = checks.even_positions(x_mm), checks.even_positions(y_mm, "y_mm")
    least = checks.number(least_mm2, "least_mm2", 0)
    shown = np.asarray(printed, dtype=bool)
    if shown.shape[-2:] != (y.size, x.size):
        raise Refusal(
            "shape", where="printed", found=shape_words(shown.shape), must_be=f"{y.size} rows and {x.size} columns"
        )
    step = x[1] - x[0], y[1] - y[0]
    across, down = (max(1, round(a.size * s / INCH_MM)) for a, s in zip((x, y), step))
    faces = shown.reshape(-1, y.size, x.size)
    counted = np.stack([_count(face, (down, across), least / (step[0] * step[1])) for face in faces])
    counted = counted * INCH_MM**2 * down * across / (x.size * step[0] * y.size * step[1])
    return counted.reshape(shown.shape[:-2] + (down, across))


def _count(face: np.ndarray, squares: tuple[int, int], least: float) -> np.ndarray:
    """One face: marks of at least so many grid points, whole ones as 1 and cut ones as a half."""
    marks, many = scipy.ndimage.label(face, np.ones((3, 3)))
    row, column = np.nonzero(face)
    mark = marks[row, column]
    size = np.bincount(mark, minlength=many + 1)
    square = (row * squares[0] // face.shape[0]) * squares[1] + column * squares[1] // face.shape[1]
    pairs, inside = np.unique(square * (many + 1) + mark, return_counts=True)
    square, mark = np.divmod(pairs, many + 1)
    worth = np.where(size[mark] < least - 1e-9, 0.0, np.where(inside < size[mark], 0.5, 1.0))
    return np.bincount(square, worth, minlength=squares[0] * squares[1]).reshape(squares)
