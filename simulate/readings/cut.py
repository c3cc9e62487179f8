"""Where to file next and how much, which bar is best, what to read next, and when to stop."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.seat import rest
from simulate.readings.bars import BarSolution
from simulate.readings.next_pair import NextPair, next_pair
from simulate.surface import checks
from simulate.surface.form import straightness

__all__ = ["BestBar", "CutMap", "NextPair", "StopRule", "best_bar", "cut_map", "next_pair", "stop_rule", "stop_sentence"]

DRAWS = 400


@dataclass(frozen=True)
class CutMap:
    """Metal that stands above the straight line that costs the least of it.

    Attributes
    ----------
    names : tuple of str
    x_mm : numpy.ndarray, shape (points,)
    remove_um : numpy.ndarray, shape (bodies, points)
        0 where the line touches the bar: nothing comes off there.
    sd_um : numpy.ndarray, shape (bodies, points)
    sure : numpy.ndarray of bool, shape (bodies, points)
        True where there is more metal than the readings may be wrong by.
    sentences : tuple of str
        One for each bar.
    """

    names: tuple[str, ...]
    x_mm: np.ndarray
    remove_um: np.ndarray
    sd_um: np.ndarray
    sure: np.ndarray
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class BestBar:
    """The straightest bar, and how sure that is: `chance` is 0 to 1."""

    index: int
    name: str
    straightness_um: float
    chance: float
    sentence: str


@dataclass(frozen=True)
class StopRule:
    """Whether to stop filing and why.

    Attributes
    ----------
    stop : bool
    floor_um : numpy.ndarray, shape (bodies,)
        A perfectly straight bar read like this would look at most this much out, 95 times in 100.
    straightness_um : numpy.ndarray, shape (bodies,)
    sentence : str
    """

    stop: bool
    floor_um: np.ndarray
    straightness_um: np.ndarray
    sentence: str


def cut_map(solution: BarSolution) -> CutMap:
    """Say where metal has to come off each bar, and how much.

    Parameters
    ----------
    solution : BarSolution

    Returns
    -------
    CutMap
        What it cannot see: metal between the stations.

    Notes
    -----
    Metal is never put back, so the bar is brought down to a line that touches it from below; of those lines the
    one is taken that removes least (the lower hull under the middle of the stations).
    """
    x = solution.x_mm
    # a hair off the mean, so that a station right under it still has a hull edge to one side
    remove = rest(x, -solution.height_um, x.mean() + 1e-6 * np.ptp(x)).gap_um
    sure = remove > solution.factor_95 * np.hypot(solution.sd_um, _touching_sd(remove, solution.sd_um))
    said = tuple(_cut_sentence(name, x, metal, keep) for name, metal, keep in zip(solution.names, remove, sure))
    return CutMap(solution.names, x, remove, solution.sd_um, sure, said)


def best_bar(solution: BarSolution, seed: int = 1) -> BestBar:
    """Choose the straightest bar as the next gauge.

    Parameters
    ----------
    solution : BarSolution
    seed : int
        For the draws that say how sure the choice is.

    Returns
    -------
    BestBar
    """
    index = int(np.argmin(solution.straightness_um))
    drawn = np.asarray(straightness(solution.x_mm, solution.height_um + _draws(solution, seed)).value_um)
    chance = float(np.mean(np.argmin(drawn, axis=-1) == index))
    name, value = solution.names[index], float(solution.straightness_um[index])
    said = f"{name} is the straightest now, within {value:.3g} um, and the readings say so {100 * chance:.0f} times in 100."
    return BestBar(index, name, value, chance, said)


def stop_rule(solution: BarSolution, target_um: float | None = None, seed: int = 1) -> StopRule:
    """Say whether another round is worth it.

    Parameters
    ----------
    solution : BarSolution
    target_um : float, optional
        Straightness that the job asks for.
    seed : int

    Returns
    -------
    StopRule

    Raises
    ------
    ValueError
        Where the target is not a number above 0.

    Notes
    -----
    A straight bar does not read as straight: the readings scatter. Where every bar looks no worse than a straight
    one would, what is filed next follows the scatter and harms as often as it helps.
    """
    noise = np.asarray(straightness(solution.x_mm, _draws(solution, seed)).value_um)
    floor, zone = np.quantile(noise, 0.95, axis=0), solution.straightness_um
    worst = int(np.argmax(zone - floor))
    blind = bool((zone <= floor).all())
    if target_um is not None and (zone + floor <= checks.number(target_um, "target_um", 0, above=True)).all():
        return StopRule(True, floor, zone, f"Stop: every bar is within {target_um:g} um, the scatter of the readings counted in.")
    if blind:
        said = (f"Stop: readings like these cannot tell these bars from straight ones ({zone[worst]:.3g} um at most is seen, "
                f"and scatter alone shows up to {floor[worst]:.3g} um); file on only after finer readings.")
    else:
        name = solution.names[worst]
        said = (f"Go on: {name} is {zone[worst]:.3g} um out, and scatter alone would show no more than "
                f"{floor[worst]:.3g} um.")
    return StopRule(blind, floor, zone, said)


def stop_sentence(solution: BarSolution, target_um: float | None = None) -> str:
    """Return the sentence of ``stop_rule``.

    Parameters
    ----------
    solution : BarSolution
    target_um : float, optional

    Returns
    -------
    str
    """
    return stop_rule(solution, target_um).sentence


def _draws(solution: BarSolution, seed: int) -> np.ndarray:
    """Errors that the readings may have put on the heights, shape (draws, bodies, points)."""
    values, vectors = np.linalg.eigh(solution.covariance)
    rng = np.random.default_rng(seed)
    drawn = rng.standard_normal((DRAWS, values.size)) * np.sqrt(np.clip(values, 0, None))
    return (drawn @ vectors.T).reshape(DRAWS, *solution.height_um.shape)


def _touching_sd(remove: np.ndarray, sd: np.ndarray) -> np.ndarray:
    touching = remove <= 1e-9 + 1e-12 * remove.max()
    return np.sqrt((touching * sd**2).sum(-1, keepdims=True) / np.maximum(touching.sum(-1, keepdims=True), 1))


def _cut_sentence(name: str, x: np.ndarray, metal: np.ndarray, sure: np.ndarray) -> str:
    if not sure.any():
        return f"{name}: leave it; nothing stands proud by more than the readings may be wrong."
    high = int(np.argmax(np.where(sure, metal, -1)))
    left = right = high
    while left > 0 and sure[left - 1]:
        left -= 1
    while right < x.size - 1 and sure[right + 1]:
        right += 1
    return f"{name}: file from {x[left]:g} to {x[right]:g} mm, most at {x[high]:g} mm, where {metal[high]:.3g} um stand proud."
