"""Marking compound, scraping, and how a scraped face is counted.

A film prints where the gap is less than its thickness. Spread too thick it
prints falsely: where marking lies thick it marks hollows too (C. Knight, The
Mechanician, 1869); thick marking bridges 50 µm, a thin film is 1 to 3 µm (both
from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike
import scipy

from simulate.bench.lay import plates_of
from simulate.core.chance import generator
from simulate.core.refusal import Refusal
from simulate.surface import checks

SQUARE_MM = 25.0
"""Side of the square in which spots are counted (common practice, no source)."""


@dataclass(frozen=True)
class Scraper:
    """How the scraper works.

    Attributes
    ----------
    spot_mm : float
        Width of one scrape mark.
    scatter : float
        How unevenly marks are cut, as a part of their depth.
    finish_um : float
        Deepest cut when finishing. Scraping takes 2 to 10 µm a pass
        (published, weak); the width and the scatter are common practice, no
        source.

    Examples
    --------
    >>> Scraper(spot_mm=5).finish_um
    2.0
    """

    spot_mm: float = 8.0
    scatter: float = 0.3
    finish_um: float = 2.0

    def __post_init__(self) -> None:
        """Refuse a scraper that cuts nothing or grows metal."""
        checks.number(self.spot_mm, "spot_mm", 0, above=True)
        checks.number(self.scatter, "scatter", 0, 1)
        checks.number(self.finish_um, "finish_um", 0, above=True)


def marked(gap_um: ArrayLike, film_um: float = 2.0) -> np.ndarray:
    """Where marking compound prints.

    Parameters
    ----------
    gap_um : array_like, shape (..., rows, columns)
        nan where the faces do not lie over each other.
    film_um : float
        Thickness of the film.

    Returns
    -------
    ndarray of bool, shape (..., rows, columns)

    Raises
    ------
    ValueError
        Where the film is not thicker than 0, or a gap is below 0.

    Examples
    --------
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


def spots_per_25mm(x_mm: ArrayLike, y_mm: ArrayLike, printed: ArrayLike) -> np.ndarray:
    """Count the spots in every 25 mm square, as the trade does.

    Parameters
    ----------
    x_mm, y_mm : array_like
        Evenly spaced positions.
    printed : array_like of bool, shape (..., rows, columns)

    Returns
    -------
    ndarray, shape (..., squares along y, squares along x)
        Spots per 25 mm square; a spot counts where its middle is. Squares are
        as near to 25 mm as fills the face, and the count is scaled to 25 mm.

    Raises
    ------
    ValueError
        Where shapes differ or positions do not rise.

    Notes
    -----
    Points that print and touch along a side or a corner are one spot. What
    this cannot see: spots smaller than the step of the grid. Roughed faces carry
    2 to 5, machine ways 8 to 15, surface plates about 20, masters 25 to 40, and 20
    to 50 % of a scraped face bears (common practice, no source; at least 20 % for
    grades 0 and 1: BS 817:1988, 8.1).

    Examples
    --------
    >>> x = np.arange(0, 26, 5.0)
    >>> spots_per_25mm(x, x, np.indices((6, 6)).sum(axis=0) == 5)
    array([[1.]])
    """
    x, y = checks.even_positions(x_mm), checks.even_positions(y_mm, "y_mm")
    shown = np.asarray(printed, dtype=bool)
    if shown.shape[-2:] != (y.size, x.size):
        raise Refusal("shape", where="printed", found=f"{shown.shape}", must_be=f"{y.size} rows and {x.size} columns")
    faces = shown.reshape(-1, y.size, x.size)
    near = np.zeros((3, 3, 3), dtype=int)
    near[1] = 1  # spots join within a face, never from face to face
    spots, count = scipy.ndimage.label(faces, structure=near)
    across, down = (max(1, round(np.ptp(a) / SQUARE_MM)) for a in (x, y))
    counted = np.zeros((len(faces), down, across))
    if count:
        face, row, column = (scipy.ndimage.mean(i, spots, np.arange(1, count + 1)) for i in np.indices(faces.shape))
        i = np.minimum((row / (y.size - 1) * down).astype(int), down - 1)
        j = np.minimum((column / (x.size - 1) * across).astype(int), across - 1)
        np.add.at(counted, (np.rint(face).astype(int), i, j), 1)
    counted *= SQUARE_MM**2 / (np.ptp(x) / across * np.ptp(y) / down)
    return counted.reshape(shown.shape[:-2] + (down, across))


def scrape_um(gap: np.ndarray, depth_um: np.ndarray, film_um: np.ndarray, uneven: np.ndarray) -> np.ndarray:
    """Metal that one pass takes from marked spots, unchecked: the inner loop.

    Parameters
    ----------
    gap : ndarray, shape (plates, rows, columns)
    depth_um, film_um : ndarray, shape (plates, 1, 1)
    uneven : ndarray, broadcastable to `gap`
        Unevenness of the marks, about 1.

    Returns
    -------
    ndarray, shape (plates, rows, columns)
        All of the depth where the faces touch, falling to nothing where the
        film no longer prints: the darker the print, the deeper the cut.

    Examples
    --------
    >>> scrape_um(np.array([[[0.0, 1.0, 4.0]]]), 3.0, 2.0, 1.0)
    array([[[3. , 1.5, 0. ]]])
    """
    taken = gap * (-1.0 / film_um)
    taken += 1.0
    np.maximum(taken, 0.0, out=taken)
    taken *= depth_um
    taken *= uneven
    return taken


def unevenness(x: np.ndarray, y: np.ndarray, scraper: Scraper, rng: np.random.Generator) -> np.ndarray:
    """A stretch of scraped face twice as long and wide as the plate, to lay anywhere.

    Parameters
    ----------
    x, y : ndarray
    scraper : Scraper
    rng : numpy.random.Generator

    Returns
    -------
    ndarray, shape (2 * rows, 2 * columns)
        About 1, in marks as wide as the scraper's, never below 0.

    Examples
    --------
    >>> x = np.arange(4.0)
    >>> unevenness(x, x, Scraper(scatter=0), np.random.default_rng(1)).shape
    (8, 8)
    """
    step = ((y[1] - y[0]), (x[1] - x[0]))
    chance = rng.standard_normal((2 * y.size, 2 * x.size))
    smooth = scipy.ndimage.gaussian_filter(chance, [scraper.spot_mm / 3 / s for s in step], mode="wrap")
    smooth -= smooth.mean()
    smooth /= max(smooth.std(), 1e-12)
    return np.clip(1 + scraper.scatter * smooth, 0.0, 2.0)


def laid(stretch: np.ndarray, plates: int, rng: np.random.Generator) -> np.ndarray:
    """Cut a piece for each plate out of a stretch of scraped face, at a place of chance.

    Parameters
    ----------
    stretch : ndarray, shape (2 * rows, 2 * columns)
    plates : int
    rng : numpy.random.Generator

    Returns
    -------
    ndarray, shape (plates, rows, columns)

    Examples
    --------
    >>> laid(np.ones((4, 4)), 3, np.random.default_rng(1)).shape
    (3, 2, 2)
    """
    rows, columns = stretch.shape[0] // 2, stretch.shape[1] // 2
    windows = sliding_window_view(stretch, (rows, columns))
    return windows[rng.integers(0, rows + 1, plates), rng.integers(0, columns + 1, plates)]


def scrape(x_mm: ArrayLike, y_mm: ArrayLike, height_um: ArrayLike, gap_um: ArrayLike, *, removal_um: float,
           film_um: float = 2.0, scraper: Scraper = Scraper(),
           seed: int | np.random.Generator | None = None) -> np.ndarray:
    """The heights of a plate after one pass with the scraper.

    Parameters
    ----------
    x_mm, y_mm : array_like
        Evenly spaced positions.
    height_um : array_like, shape (..., rows, columns)
    gap_um : array_like, shape (..., rows, columns)
        The gap of the fit that was marked, on this plate's own grid.
    removal_um : float
        Metal taken where the faces touch.
    film_um : float
        Thickness of the marking.
    scraper : Scraper
    seed : int or Generator, optional

    Returns
    -------
    ndarray, shape (..., rows, columns)
        Nowhere higher than before.

    Raises
    ------
    ValueError
        Where shapes differ, a number is not finite or below what is possible.

    Examples
    --------
    >>> scrape([0, 5], [0, 5], [[0, 0], [0, 0]], [[0, 9], [9, 0]], removal_um=3, scraper=Scraper(scatter=0))
    array([[-3.,  0.],
           [ 0., -3.]])
    """
    x, y = checks.even_positions(x_mm), checks.even_positions(y_mm, "y_mm")
    h = plates_of(height_um)
    gap = np.nan_to_num(checks.gaps(checks.table(gap_um, "gap_um")), nan=np.inf)
    checks.kind(scraper, "scraper", Scraper)
    if h.shape[-2:] != (y.size, x.size) or gap.shape[-2:] != h.shape[-2:]:
        raise Refusal("shapes", where="height_um and gap_um", found=f"{h.shape} and {gap.shape}",
                      must_be=f"{y.size} rows and {x.size} columns")
    depth = checks.number(removal_um, "removal_um", 0)
    film = checks.number(film_um, "film_um", 0, above=True)
    h, gap = checks.together(height_um=h, gap_um=gap)
    rng = generator(seed)
    flat = gap.reshape((-1,) + gap.shape[-2:])
    taken = scrape_um(flat, depth, film, laid(unevenness(x, y, scraper, rng), len(flat), rng))
    return h - taken.reshape(h.shape)
