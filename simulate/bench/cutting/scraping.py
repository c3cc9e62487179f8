"""The scraper: what a pass takes from the form of a face that was marked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import ArrayLike

from simulate.bench.seating.placement import plates_of
from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.refusal import Refusal, shape_words


@dataclass(frozen=True)
class Scraper:
    """How the scraper works.

    `spot_mm`: width of one scrape mark. `scatter`: how unevenly marks are cut, as a part of their depth. `finish_um`:
    deepest cut when finishing. Scraping takes 2 to 10 µm a pass (published, weak); the width and the scatter are common
    practice, no source.

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


def scrape_um(gap: np.ndarray, depth_um: np.ndarray, film_um: np.ndarray, uneven: np.ndarray) -> np.ndarray:
    """Metal that one pass takes from marked spots, unchecked: the inner loop.

    `gap` (plates, rows, columns), `depth_um`, `film_um` (plates, 1, 1). `uneven`: unevenness of the marks, about 1.
    Returns (plates, rows, columns): all of the depth where the faces touch, falling to nothing where the film no longer
    prints: the darker the print, the deeper the cut.

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

    Returns (2 * rows, 2 * columns): about 1, in marks as wide as the scraper's, never below 0.

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


def places_on(stretch: np.ndarray, plates: int, rng: np.random.Generator) -> np.ndarray:
    """Draw for each plate the row and column of a stretch of scraped face where its own piece begins.

    `stretch` (2 * rows, 2 * columns). Returns (2, plates) of int.

    >>> places_on(np.ones((4, 4)), 3, np.random.default_rng(1)).max() <= 2
    np.True_
    """
    return np.stack([rng.integers(0, size // 2 + 1, plates) for size in stretch.shape])


def laid(stretch: np.ndarray, places: np.ndarray) -> np.ndarray:
    """Cut a piece for each plate out of a stretch of scraped face, where `places_on` has drawn it.

    `stretch` (2 * rows, 2 * columns). `places` (2, plates) of int. Returns (plates, rows, columns).

    >>> laid(np.ones((4, 4)), np.array([[0, 1, 2], [2, 0, 1]])).shape
    (3, 2, 2)
    """
    rows, columns = stretch.shape[0] // 2, stretch.shape[1] // 2
    return sliding_window_view(stretch, (rows, columns))[tuple(places)]


def scrape(
    x_mm: ArrayLike,
    y_mm: ArrayLike,
    height_um: ArrayLike,
    gap_um: ArrayLike,
    *,
    removal_um: float,
    film_um: float = 2.0,
    scraper: Scraper = Scraper(),
    seed: int | np.random.Generator | None = None,
) -> np.ndarray:
    """The heights of a plate after one pass with the scraper.

    `x_mm`, `y_mm`: evenly spaced positions. `height_um` (..., rows, columns). `gap_um` (..., rows, columns): the gap of
    the fit that was marked, on this plate's own grid. `removal_um`: metal taken where the faces touch. `film_um`:
    thickness of the marking. Returns (..., rows, columns): nowhere higher than before.

    >>> scrape([0, 5], [0, 5], [[0, 0], [0, 0]], [[0, 9], [9, 0]], removal_um=3, scraper=Scraper(scatter=0))
    array([[-3.,  0.],
           [ 0., -3.]])
    """
    x, y = checks.even_positions(x_mm), checks.even_positions(y_mm, "y_mm")
    h = plates_of(height_um)
    gap = np.nan_to_num(checks.gaps(checks.table(gap_um, "gap_um")), nan=np.inf)
    checks.kind(scraper, "scraper", Scraper)
    if h.shape[-2:] != (y.size, x.size) or gap.shape[-2:] != h.shape[-2:]:
        raise Refusal(
            "shapes",
            where="height_um and gap_um",
            found=f"{shape_words(h.shape)} and {shape_words(gap.shape)}",
            must_be=f"{y.size} rows and {x.size} columns",
        )
    depth = checks.number(removal_um, "removal_um", 0)
    film = checks.number(film_um, "film_um", 0, above=True)
    h, gap = checks.together(height_um=h, gap_um=gap)
    rng = generator(seed)
    flat = gap.reshape((-1,) + gap.shape[-2:])
    stretch = unevenness(x, y, scraper, rng)
    taken = scrape_um(flat, depth, film, laid(stretch, places_on(stretch, len(flat), rng)))
    return h - taken.reshape(h.shape)
