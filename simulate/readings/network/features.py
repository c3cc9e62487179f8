"""What is asked of heights: flat, straight, twisted, parallel, offset, each with its range and the limit beside it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from simulate.readings.adjustment.ranges import ends_of_form, half_range
from simulate.readings.network.heights import Network
from simulate.readings.network.places import along_line, flat_rigid, line_or_face
from simulate.readings.network.solve_heights import SolvedHeights, firm, open_ended, parts_of, told_by
from simulate.surface.flatness import zones_um
from simulate.surface.straightness import straightness

_ZONES = 400


@dataclass(frozen=True, kw_only=True)
class Limit:
    """A published limit of a feature.

    `low`, `high`: in the unit of the feature.
    """

    low: float
    high: float
    source: str


@dataclass(frozen=True, kw_only=True)
class Feature:
    """One figure that heights come to.

    `name`: such as ``"flatness"``, ``"straightness"``, ``"twist"``, ``"offset"``. `of`: the body, line or pair it is
    of; empty where there is one only. `value`: nan where the readings do not tell it. `low_95`, `high_95`: nan where
    the spread of a reading is only assumed, or readings contradict each other. `unit`: ``"um"`` or ``"um/m"``. `open`:
    whether it leans on readings without an upper end. `key`: what it is of, as the code names it and no sentence does;
    empty where nothing asks.
    """

    name: str
    of: str
    value: float
    low_95: float
    high_95: float
    unit: str
    limit: Limit | None = None
    open: bool = False
    key: str = ""

    @property
    def told(self) -> bool:
        """Whether the readings tell it at all."""
        return bool(np.isfinite(self.value))

    @property
    def ranged(self) -> bool:
        """Whether its range is known."""
        return bool(np.isfinite(self.high_95))

    @property
    def half(self) -> float:
        """Half the range."""
        return (self.high_95 - self.low_95) / 2


def linear(
    solved: SolvedHeights,
    weights: np.ndarray,
    name: str,
    unit: str,
    of: str = "",
    limit: Limit | None = None,
    key: str = "",
) -> Feature:
    """Give a weighted sum of heights.

    `weights` (points,): which take out what moves all as one.
    """
    if not told_by(solved, weights):
        blank = Feature(name=name, of=of, value=np.nan, low_95=np.nan, high_95=np.nan, unit=unit)
        return replace(blank, limit=limit, key=key)
    value = float(weights @ solved.height_um)
    if not firm(solved, weights):
        low = high = np.nan
    elif solved.dof is None:
        low, high = (value + float(np.quantile(solved.draws_um @ weights, part)) for part in (0.025, 0.975))
    else:
        half = float(half_range(parts_of(solved, weights)[:, None], solved.dof)[0])
        low, high = value - half, value + half
    leans = open_ended(solved, weights)
    found = Feature(name=name, of=of, value=value, low_95=low, high_95=high, unit=unit)
    return replace(found, limit=limit, open=leans, key=key)


def zone(solved: SolvedHeights, points: np.ndarray, name: str, of: str = "", limit: Limit | None = None) -> Feature:
    """Give the minimum zone of some heights: of a straightness between two lines, otherwise as `zone_of` has it.

    `points`: which heights.

    Its ends are those of `ends_of_form`.
    """
    x, y = solved.network.x_mm[points], solved.network.y_mm[points]
    line = name == "straightness"
    carried = np.stack([np.ones(x.size), along_line(x, y)], axis=1) if line else flat_rigid(x, y)
    return _measured(solved, points, zone_of(x, y, line), carried, Feature(**_blank(name, of, limit)))


def spread(solved: SolvedHeights, points: np.ndarray, name: str, of: str = "", limit: Limit | None = None) -> Feature:
    """Give by how much some heights differ from each other at the most, as the parallelism of two faces.

    A seminorm as the zone is, with ends found as those of `zone`.
    """
    level = np.ones((points.size, 1))
    return _measured(solved, points, lambda h: np.ptp(h, axis=-1), level, Feature(**_blank(name, of, limit)))


def _blank(name: str, of: str, limit: Limit | None) -> dict[str, Any]:
    return dict(name=name, of=of, value=np.nan, low_95=np.nan, high_95=np.nan, unit="um", limit=limit)


def _measured(
    solved: SolvedHeights,
    points: np.ndarray,
    measure: Callable[[np.ndarray], np.ndarray],
    carried: np.ndarray,
    blank: Feature,
) -> Feature:
    """Give a seminorm of heights that does not hang on what is carried."""
    free = np.zeros((points.size, len(solved.height_um)))
    free[np.arange(points.size), points] = 1.0
    free = free - carried @ (np.linalg.pinv(carried) @ free)
    if not all(told_by(solved, row) for row in free):
        return blank
    height, value = solved.height_um[points], float(measure(solved.height_um[points][None])[0])
    low = high = np.nan
    if all(firm(solved, row) for row in free):
        step = max(1, len(solved.draws_um) // _ZONES)
        errors = solved.draws_um[::step][:, points]
        around = measure(height + errors)
        low, high = ends_of_form(value, around, measure(errors), solved.by_intervals, solved.coarse)
    leans = any(open_ended(solved, row) for row in free)
    return replace(blank, value=value, low_95=low, high_95=high, open=leans)


def worst_zone(network: Network, parts: Sequence[np.ndarray], lines: bool) -> Callable[[np.ndarray], np.ndarray]:
    """Give the measure of the widest minimum zone of several parts.

    `parts`: places of each. `lines`: whether they are lines. Returns: of heights (any, points), for each.
    """
    each = [zone_of(network.x_mm[places], network.y_mm[places], lines) for places in parts]
    return lambda h: np.max([zone(h[:, places]) for zone, places in zip(each, parts, strict=True)], axis=0)


def scatter_alone_um(solved: SolvedHeights, parts: Sequence[np.ndarray], lines: bool) -> float:
    """Give the widest zone that scatter alone would show of perfect work, 95 times in 100; nan where not known.

    `parts`, `lines`: as `worst_zone` takes them.
    """
    if solved.low_95_um is None:
        return float("nan")
    step = max(1, len(solved.draws_um) // _ZONES)
    return float(np.quantile(worst_zone(solved.network, parts, lines)(solved.draws_um[::step]), 0.95))


def zone_of(x_mm: np.ndarray, y_mm: np.ndarray, line: bool = False) -> Callable[[np.ndarray], np.ndarray]:
    """Give the measure of a minimum zone at some places: of planes, or of lines where the places lie in one.

    `line`: whether they are those of a line, however near to it they were written.

    >>> zone_of(np.array([0.0, 1, 2]), np.zeros(3))(np.array([[0.0, 4, 0]])).tolist()
    [4.0]
    """
    along = along_line(x_mm, y_mm) if line else line_or_face(x_mm, y_mm)
    if along is None:
        if x_mm.size < 4:
            return lambda h: np.zeros(len(h))
        return lambda h: zones_um(x_mm, y_mm, h)
    order = np.argsort(along, kind="stable")
    places, first = np.unique(along[order].round(6), return_index=True)
    order = order[first]
    if order.size < 3:
        return lambda h: np.zeros(len(h))
    return lambda h: np.asarray(straightness(places, h[:, order]).value_um).reshape(-1)


def slope_weights(x_mm: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Give what the least-squares slope of some heights takes of each, in um per mm for um.

    Returns (all points,).

    >>> slope_weights(np.array([0.0, 10.0, 20.0]), np.array([0, 2])).tolist()
    [-0.05, 0.0, 0.05]
    """
    weights = np.zeros(x_mm.size)
    away = x_mm[points] - x_mm[points].mean()
    weights[points] = away / (away @ away)
    return weights


def level_weights(x_mm: np.ndarray, points: np.ndarray, at_mm: float) -> np.ndarray:
    """Give what the least-squares line through some heights, carried to a place, takes of each.

    >>> level_weights(np.array([0.0, 10.0]), np.array([0, 1]), 20.0).tolist()
    [-1.0, 2.0]
    """
    weights = slope_weights(x_mm, points) * (at_mm - x_mm[points].mean())
    weights[points] += 1 / points.size
    return weights


def crown_weights(x_mm: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Give what the middle of the least-squares parabola over its own ends takes of each height.

    >>> crown_weights(np.array([0.0, 5.0, 10.0]), np.arange(3)).round(6).tolist()
    [-0.5, 1.0, -0.5]
    """
    weights = np.zeros(x_mm.size)
    u = 2 * (x_mm[points] - x_mm[points].min()) / np.ptp(x_mm[points]) - 1
    weights[points] = -np.linalg.pinv(np.stack([np.ones_like(u), u, u**2], axis=1))[2]
    return weights
