"""The grain of a scraped face: pockets on a grid fine enough for spots 4 mm apart, which rides on the coarse form."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from simulate.core import checks

FINE_MM = 1.2
"""Widest step of the fine grid."""

MEMORY = 4
"""Cuts of which a face still shows the marks."""

PITCHES_MM, _PITCH_MM_PER_UM = (3.6, 16.0), 1.4
_TILE, _WAVE, _SHARE, _STEEP = 768, 16, 0.55, 4.0


def parts_of(step_mm: float) -> int:
    """Into how many parts the fine grid divides a step of the coarse one.

    >>> parts_of(400 / 60), parts_of(0.5)
    (6, 1)
    """
    return max(1, int(np.ceil(checks.number(step_mm, "step_mm", 0, above=True) / FINE_MM - 1e-9)))


def pitch_mm(depth_um: float) -> float:
    """How far apart the marks of a pass lie, by how deep it cuts: short light strokes for the fine work.

    `depth_um`: deepest cut of the pass. Returns: 3.6 to 16 mm. Two faces that fit then bear in about 4, 11, 20 and 28
    points a square inch after cuts of 10, 5, 3 and 2 µm, which is what roughing, ways, plates and masters carry (common
    practice, no source; the straight line through them is ours).

    >>> round(pitch_mm(2), 1), pitch_mm(80)
    (4.2, 16.0)
    """
    return float(np.clip(1.4 + _PITCH_MM_PER_UM * checks.number(depth_um, "depth_um", 0), *PITCHES_MM))


def finer(height_um: np.ndarray, parts: int) -> np.ndarray:
    """Draw a grid finer, by straight lines between its points.

    `height_um` (rows, columns): nan where there is nothing. `parts`: from `parts_of`. Returns ((rows - 1) * parts + 1,
    (columns - 1) * parts + 1).

    >>> finer(np.array([[0.0, 2.0], [4.0, 6.0]]), 2)[1]
    array([2., 3., 4.], dtype=float32)
    """
    return _between(_between(np.asarray(height_um, np.float32), parts).T, parts).T


def _between(rows: np.ndarray, parts: int) -> np.ndarray:
    """Fill in straight lines from row to row; a product with a matrix of weights waits for cores that others use."""
    wide = np.empty(((len(rows) - 1) * parts + 1, rows.shape[1]), np.float32)
    step = (rows[1:] - rows[:-1]) / np.float32(parts)
    for k in range(parts):
        np.add(rows[:-1], step * np.float32(k), out=wide[k:-1:parts])
    wide[-1] = rows[-1]
    return wide


@dataclass(frozen=True)
class Scraped:
    """One pass of the scraper over a face.

    Attributes
    ----------
    taken_um : ndarray, shape (rows, columns)
        What it took from the form, on the coarse grid: the mean over its marks.
    pitch_mm : float
        How far apart its marks lie.
    seed : tuple of int
        Where they fall.
    """

    taken_um: np.ndarray
    pitch_mm: float
    seed: tuple[int, ...]


def grain(cuts: Sequence[Scraped], shape: tuple[int, int], step_mm: float) -> np.ndarray:
    """How deep a scraped face lies below its own high places.

    `cuts`: the oldest first; what more than `MEMORY` others have gone over is worn away. `shape`: rows and columns of
    the coarse grid. `step_mm`: of the coarse grid. Returns (fine rows, fine columns): 0 and more. A face that was never
    scraped has no pockets, as from a grinder.

    With every pass older pockets get shallower by what is taken round them, and new ones are cut between and through
    them. What it cannot see: burrs, and strokes that follow the spots.

    >>> found = grain([Scraped(np.full((2, 2), 2.0), 4.5, (1,))], (2, 2), 50.0)
    >>> found.shape, bool(found.min() == 0), bool(3 < found.max() < 6)
    ((43, 43), True, True)
    """
    part = parts_of(step_mm)
    rows, columns = ((n - 1) * part + 1 for n in shape)
    pockets = np.zeros((rows, columns), np.float32)
    tile = _marks()
    for cut in cuts[-MEMORY:]:
        rng, taken = np.random.default_rng(cut.seed), finer(cut.taken_um, part)
        first, along = rng.integers(0, _TILE, 2), _WAVE * step_mm / part / cut.pitch_mm
        row, column = ((f + np.arange(n) * along).astype(int) % _TILE for f, n in zip(first, (rows, columns)))
        wide = (tile.T if rng.integers(2) else tile).take(row, axis=0).take(column, axis=1)
        pockets -= taken
        np.maximum(pockets, np.multiply(wide, taken, out=wide), out=pockets)
    return pockets


@cache
def _marks() -> np.ndarray:
    """Depth of marks over a square that repeats, `_WAVE` points apart: mean 1, nothing on what stands between."""
    away = np.hypot(np.fft.fftfreq(_TILE)[:, None], np.fft.rfftfreq(_TILE)) * _WAVE
    chance = np.fft.rfft2(np.random.default_rng(1).standard_normal((_TILE, _TILE)))
    waves = np.fft.irfft2(chance * np.exp(-(((away - 1.1) / 0.25) ** 2) / 2), s=(_TILE, _TILE))
    waves -= np.quantile(waves, 1 - _SHARE)
    deep = -np.expm1(-_STEEP * np.maximum(waves, 0.0) / waves.std())
    return (deep / deep.mean()).astype(np.float32)
