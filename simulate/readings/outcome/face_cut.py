"""Where to scrape a face that was read at scattered stations, and how much."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.number_format import three
from simulate.readings.outcome.least_metal import metal_over


@dataclass(frozen=True)
class FaceCut:
    """Metal that stands above the plane that costs the least of it.

    `x_mm`, `y_mm` (points,). `remove_um` (bodies, points): 0 where the plane touches the face; nan where it was not
    read. `sd_um` (bodies, points). `sure` (bodies, points) of bool: true where there is more metal than the readings
    may be wrong by. `sentences`: one for each body.
    """

    names: tuple[str, ...]
    x_mm: np.ndarray
    y_mm: np.ndarray
    remove_um: np.ndarray
    sd_um: np.ndarray
    sure: np.ndarray
    sentences: tuple[str, ...]


def metal_above(x_mm: np.ndarray, y_mm: np.ndarray, height_um: np.ndarray) -> np.ndarray:
    """Return the metal above the plane that touches from below and leaves the least of it.

    `x_mm`, `y_mm`, `height_um` (points,). Returns (points,).

    >>> x, y = np.array([0, 2, 0, 2, 1.0]), np.array([0, 0, 2, 2, 1.0])
    >>> metal_above(x, y, np.array([0, 0, 0, 0, 8.0])).round(6).tolist()
    [0.0, 0.0, 0.0, 0.0, 8.0]
    """
    reach = max(float(np.ptp(x_mm)), float(np.ptp(y_mm)), 1e-9)
    plane = np.stack([np.ones(x_mm.size), (x_mm - x_mm.mean()) / reach, (y_mm - y_mm.mean()) / reach], axis=-1)
    return metal_over(plane, height_um)


def face_cut(
    names: tuple[str, ...],
    x_mm: np.ndarray,
    y_mm: np.ndarray,
    height_um: np.ndarray,
    sd_um: np.ndarray,
    factor_95: float = 1.96,
    carried: np.ndarray | None = None,
) -> FaceCut:
    """Say where metal has to come off each face, and how much.

    `x_mm`, `y_mm` (points,). `height_um`, `sd_um` (bodies, points): nan where a face was not read. `factor_95`: how
    many deviations are 95 % sure; inf where nothing is known of them, and nothing is called sure then. `carried`
    (points, k): what may be laid under the face in place of one plane, such as a line under each way of a bed. Returns:
    what it cannot see: metal between the stations.

    >>> x, y = np.array([0, 50, 0, 50, 25.0]), np.array([0, 0, 50, 50, 25.0])
    >>> face_cut(("A",), x, y, np.array([[0, 0, 0, 0, 8.0]]), np.ones((1, 5))).sentences[0]
    'A: scrape 1 station of 5, most at x 25, y 25 mm, where it is 8 um proud.'
    """
    height = np.atleast_2d(height_um)
    sd = checks.profiles(np.nan_to_num(np.atleast_2d(sd_um)), height.shape[-1], "sd_um")
    remove, sure, known = np.full(height.shape, np.nan), np.zeros(height.shape, bool), bool(np.isfinite(factor_95))
    for i, one in enumerate(height):
        read = np.isfinite(one)
        metal = (
            metal_above(x_mm[read], y_mm[read], one[read]) if carried is None else metal_over(carried[read], one[read])
        )
        touching = metal <= 1e-9 + 1e-9 * metal.max()
        under = float(np.sqrt(np.mean(sd[i, read][touching] ** 2)))
        remove[i, read] = metal
        if known:
            sure[i, read] = metal > factor_95 * np.hypot(sd[i, read], under)
    said = tuple(_sentence(name, x_mm, y_mm, metal, keep, known) for name, metal, keep in zip(names, remove, sure))
    return FaceCut(names, x_mm, y_mm, remove, sd, sure, said)


def _sentence(name: str, x: np.ndarray, y: np.ndarray, metal: np.ndarray, sure: np.ndarray, known: bool) -> str:
    if not known:
        high = int(np.nanargmax(metal.round(6)))  # a tie is told by its first place everywhere
        if metal[high] < 1e-6:
            return f"{name}: no place seems to be proud."
        return (
            f"{name}: the highest place seems to be at x {x[high]:g}, y {y[high]:g} mm, {three(metal[high])} um proud."
        )
    if not sure.any():
        return f"{name}: no metal to remove; no high spot exceeds the uncertainty of the readings."
    high = int(np.argmax(np.where(sure, metal, -1).round(6)))
    read = int(np.isfinite(metal).sum())
    places = int(sure.sum())
    return (
        f"{name}: scrape {places} station{'s' * (places != 1)} of {read}, most at x {x[high]:g}, y {y[high]:g} mm, "
        f"where it is {three(metal[high])} um proud."
    )
