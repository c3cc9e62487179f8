"""How deep and how wide a file cuts a chosen stretch: a sole that is not flat cannot dig a narrow hole."""

from __future__ import annotations

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal

FLATTEST_MM = 100_000.0
"""Roundness of a sole that counts as flat (common practice, no source)."""


def stretch_um(x_mm: ArrayLike, worked: ArrayLike, metal_um_mm: float, radius_mm: float) -> np.ndarray:
    """Depth of a cut over chosen places, once a bellied sole has taken so much metal there.

    `x_mm` (points,): evenly spaced positions. `worked` (points,) of bool: where the maker lays the belly of the file.
    `metal_um_mm`: metal taken, as the area of the cut seen from the side. `radius_mm`: roundness of the sole, as in
    `Tool`; a flat one counts as `FLATTEST_MM`. Returns (points,): even over the places that are worked; beside them as
    deep as the sole reaches.

    Derived: a sole of radius R at depth d reaches sqrt(2 R d) past the last
    place where its belly was laid, and falls short there by z² / 2 R. A belly
    of 10 m over 20 mm is only 5 µm deep, so that a deeper cut of 20 mm does not
    exist: it grows wide. What this cannot see: a file held askew, and what a
    narrow tool such as a scraper's corner would do on purpose.

    >>> x = np.linspace(-100, 100, 41)
    >>> cut = stretch_um(x, abs(x) <= 10, 2000.0, 10_000.0)
    >>> round(float(np.trapezoid(cut, x))), bool(cut.max() < 50), int((cut > 0).sum()) > 5
    (2000, True, True)
    """
    x = checks.even_positions(x_mm)
    chosen = np.asarray(worked, dtype=bool)
    if chosen.shape != x.shape or not chosen.any():
        raise Refusal(
            "count",
            where="worked",
            found=f"{int(chosen.sum())} of {chosen.size} places",
            must_be=f"one or more of {x.size}",
        )
    area = checks.number(metal_um_mm, "metal_um_mm", 0)
    radius = min(
        checks.number(radius_mm, "radius_mm", 0, above=True) if radius_mm != np.inf else FLATTEST_MM, FLATTEST_MM
    )
    away = np.abs(x[:, None] - x[chosen]).min(axis=1)
    short = 1000 * away**2 / (2 * radius)

    def lacks(depth: float) -> float:
        return float(np.trapezoid(np.maximum(depth - short, 0), x)) - area

    deepest = 2 * area / (x[1] - x[0]) + 1e-9
    return np.maximum(scipy.optimize.brentq(lacks, 0.0, deepest, xtol=1e-9) - short, 0.0) if area else np.zeros_like(x)
