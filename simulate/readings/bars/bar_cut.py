"""Where to file next and how much, which bar is best, and when to stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three
from simulate.readings.bars.solve_bars import BarSolution
from simulate.readings.outcome.least_metal import metal_over
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from
from simulate.surface.straightness import straightness

__all__ = ["BestBar", "CutMap", "StopRule", "best_bar", "cut_map", "row_cut", "stop_rule", "stop_sentence"]


_DRAWS = 400


@dataclass(frozen=True)
class CutMap:
    """Metal that stands above the straight line that costs the least of it.

    `x_mm` (points,). `remove_um` (bodies, points): 0 where the line touches the bar: nothing comes off there. `sd_um`
    (bodies, points). `sure` (bodies, points) of bool: true where there is more metal than the readings may be wrong by
    anywhere along the bar, 95 times in 100. `sentences`: one for each bar.
    """

    names: tuple[str, ...]
    x_mm: np.ndarray
    remove_um: np.ndarray
    sd_um: np.ndarray
    sure: np.ndarray
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class BestBar:
    """The straightest bar, and how sure that is: `chance` is 0 to 1, nan where nothing tells it."""

    index: int
    name: str
    straightness_um: float
    chance: float
    sentence: str


def cut_map(solution: BarSolution) -> CutMap:
    """Say where metal has to come off each bar, and how much.

    Returns: what it cannot see: metal between the stations.

    Metal is never put back, so the bar is brought down to a line that touches it from below; of those lines the
    one is taken that removes least, and of several such the one that takes least at the worst place.
    """
    if solution.low_whole_um is None or solution.high_whole_um is None:
        return row_cut(solution.names, solution.x_mm, solution.height_um, solution.sd_um, np.inf)
    half = np.maximum(solution.high_whole_um - solution.height_um, solution.height_um - solution.low_whole_um)
    return row_cut(solution.names, solution.x_mm, solution.height_um, half, 1.0)


def row_cut(
    names: tuple[str, ...], x_mm: np.ndarray, height_um: np.ndarray, sd_um: np.ndarray, factor_95: float
) -> CutMap:
    """Say where metal has to come off each row of heights, and how much.

    `x_mm` (points,), `height_um`, `sd_um` (bodies, points). `factor_95`: so many deviations are 95 % sure; inf where
    nothing is known of them, and nothing is called sure then.

    >>> row_cut(("A",), np.array([0.0, 1.0, 2.0]), np.array([[0.0, 9.0, 0.0]]), np.ones((1, 3)), 2.0).remove_um.tolist()
    [[0.0, 9.0, 0.0]]
    """
    line = np.stack([np.ones(x_mm.size), (x_mm - x_mm.mean()) / np.ptp(x_mm)], axis=-1)
    remove = np.stack([metal_over(line, one) for one in height_um])
    known = np.isfinite(factor_95)
    sure = remove > factor_95 * np.hypot(sd_um, _touching_sd(remove, sd_um)) if known else np.zeros(remove.shape, bool)
    said = tuple(_cut_sentence(name, x_mm, metal, keep, known) for name, metal, keep in zip(names, remove, sure))
    return CutMap(names, x_mm, remove, sd_um, sure, said)


def best_bar(solution: BarSolution) -> BestBar:
    """Choose the straightest bar as the next gauge."""
    index = int(np.argmin(solution.straightness_um))
    name, value = solution.names[index], float(solution.straightness_um[index])
    if solution.sd_from == "assumed":
        return BestBar(
            index,
            name,
            value,
            float("nan"),
            f"{name} looks straightest now. How certain that is stays unknown while the repeatability of a "
            "reading is only assumed.",
        )
    tried = np.asarray(straightness(solution.x_mm, solution.height_um + _draws(solution)).value_um)
    chance = float(np.mean(np.argmin(tried, axis=-1) == index))
    sure = "almost certainly" if chance > 0.995 else f"in about {max(round(100 * chance), 1)} cases out of 100"
    said = f"By these readings {name} is the straightest now, {sure}."
    return BestBar(index, name, value, chance, said)


def stop_rule(solution: BarSolution, target_um: float | None = None) -> StopRule:
    """Say whether another round is worth it.

    `target_um`: straightness that the job asks for.

    A straight bar does not read as straight: the readings scatter. Where every bar looks no worse than a straight
    one would, what is filed next follows the scatter and harms as often as it helps.
    """
    if blind := no_order(solution.straightness_um, solution.against, solution.left_open):
        return blind
    if solution.sd_from == "assumed":
        return not_told(solution.straightness_um, "one pair with its upper bar turned end for end")
    noise = np.asarray(straightness(solution.x_mm, _draws(solution)).value_um)
    return stop_from(solution.names, solution.straightness_um, np.quantile(noise, 0.95, axis=0), target_um)


def stop_sentence(solution: BarSolution, target_um: float | None = None) -> str:
    """Return the sentence of ``stop_rule``."""
    return stop_rule(solution, target_um).sentence


def _draws(solution: BarSolution) -> np.ndarray:
    """Errors that the readings may have put on the heights, shape (draws, bodies, points)."""
    return solution.draws_um[:: max(len(solution.draws_um) // _DRAWS, 1)]


def _touching_sd(remove: np.ndarray, sd: np.ndarray) -> np.ndarray:
    touching = remove <= 1e-9 + 1e-12 * remove.max()
    return np.sqrt((touching * sd**2).sum(-1, keepdims=True) / np.maximum(touching.sum(-1, keepdims=True), 1))


def _cut_sentence(name: str, x: np.ndarray, metal: np.ndarray, sure: np.ndarray, known: bool) -> str:
    if not known:
        high = int(np.argmax(metal))
        if metal[high] < 1e-6:
            return f"{name}: no place seems to be proud."
        return f"{name}: the highest place seems to be at {x[high]:g} mm, {three(metal[high])} um proud."
    if not sure.any():
        return f"{name}: no metal to remove; no high spot exceeds the uncertainty of the readings."
    high = int(np.argmax(np.where(sure, metal, -1)))
    left = right = high
    while left > 0 and sure[left - 1]:
        left -= 1
    while right < x.size - 1 and sure[right + 1]:
        right += 1
    if left == right:
        return f"{name}: file at {x[high]:g} mm, where it is {three(metal[high])} um proud."
    return (
        f"{name}: file from {x[left]:g} to {x[right]:g} mm, most at {x[high]:g} mm, where it is {three(metal[high])} "
        "um proud."
    )
