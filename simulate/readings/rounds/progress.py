"""How a learner's own rounds get on: what a round leaves, where it will end, and how many more it takes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import scipy
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.readings.outcome.progress_words import UNKNOWN_SCATTER, Progress, first_words, words

__all__ = ["MOST_ROUNDS", "Progress", "law_um", "progress"]

MOST_ROUNDS = 200
_GRID, _ZOOMS, _STEPS = 40, 4, 30


def law_um(rounds: ArrayLike, start_um: ArrayLike, factor: ArrayLike, floor_um: ArrayLike) -> np.ndarray:
    """Return what so many rounds leave.

    `rounds`, `start_um`, `factor`, `floor_um`: they broadcast.

    The three-bar loop leaves ``|2 share - 1|`` of the error in each round (derived), and what sight, tool and hands
    leave each time does not depend on it, so that the two add up as squares.

    >>> law_um([0, 1], 40.0, 0.5, 15.0).round(6).tolist()
    [42.720019, 25.0]
    """
    left = np.asarray(factor, float) ** np.asarray(rounds, float)
    return np.hypot(np.asarray(floor_um, float), np.asarray(start_um, float) * left)


def progress(rounds: ArrayLike, form_um: ArrayLike, target_um: float | None = None) -> Progress:
    """Fit the law to the learner's own figures.

    Parameters
    ----------
    rounds : array_like of int, shape (figures,)
        Rounds of filing before each figure, rising; the first counts as the start.
    form_um : array_like, shape (figures,)
        The worst body each time.
    target_um : float, optional

    Returns
    -------
    Progress
        It supposes that the learner goes on as before. One figure tells no rate; two tell one without a range; a
        floor is told from three figures on, and ranges from four.

    Raises
    ------
    ValueError
        Where figures and rounds do not match, or are out of their range.

    Notes
    -----
    Least squares of the logarithms, for figures scatter in proportion. A range holds every value that some law
    within the F limit of the best has (D. Bates and D. Watts, Nonlinear Regression Analysis, 1988; from memory).

    Examples
    --------
    >>> found = progress([0, 1, 2, 3], [400.0, 160.0, 64.0, 25.6], target_um=5.0)
    >>> round(found.factor, 3), round(found.share, 3), found.to_go
    (0.4, 0.7, 2)
    """
    k, form, target = _checked(rounds, form_um, target_um)
    if form.size < 2:
        return _first(k, form, target)
    best = _fit(k, form)
    worst = _squares(k, form, best)
    free = form.size - 3
    laws = _region(k, form, best, worst, free) if free > 0 else None
    bare = _bare(k, form)
    loose = np.sqrt(_squares(k, form, bare) / max(form.size - 2, 1))
    if free > 0 and best[2] > 0 and loose <= max(1.3 * np.sqrt(worst / free), UNKNOWN_SCATTER):
        best = bare  # a floor that the figures do as well without is not told
        laws = np.concatenate([laws, [bare]])  # and the band still runs along what is told
    return _told(k, form, target, best, laws)


def _checked(rounds: ArrayLike, form_um: ArrayLike, target_um: float | None):
    form = np.atleast_1d(checks.numbers(form_um, "form_um"))
    k = np.atleast_1d(checks.numbers(rounds, "rounds"))
    if k.ndim != 1 or k.shape != form.shape or not k.size:
        raise Refusal(
            "shapes",
            where="rounds and form_um",
            found=f"{k.size} and {form.size} long",
            must_be="equally long",
        )
    if (np.diff(k) <= 0).any() or (k != np.round(k)).any():
        raise Refusal("order", where="rounds", found="not in rising order", must_be="whole numbers in rising order")
    if (form <= 0).any():
        raise Refusal("range", where="form_um", found=f"{form.min():g}", must_be="more than 0")
    return (
        (k - k[0]).astype(int),
        form,
        None if target_um is None else checks.number(target_um, "target_um", 0, above=True),
    )


def _fit(k: np.ndarray, form: np.ndarray) -> tuple[float, float, float]:
    """Best start, factor and floor; two figures leave the floor at 0."""
    if form.size == 2:
        return _bare(k, form)
    log = np.log(form)

    def misfit(p):
        start, rate = np.exp(np.clip(p[0], -30, 30)), np.exp(np.clip(p[1], -30, 300 / k[-1]))
        return np.log(np.maximum(law_um(k, start, rate, np.exp(min(p[2], 30.0))), 1e-150)) - log

    slope = np.log(_bare(k, form)[1])
    first = np.log(max(form[1] / form[0], 1e-6)) / k[1]
    tries = [scipy.optimize.least_squares(lambda p: misfit([*p, -np.inf]), [log[0], slope])]
    for rate in (slope, first, -3.0):
        for floor in (log.min(), log.min() - 1.0):
            tries.append(scipy.optimize.least_squares(misfit, [log[0], rate, floor], x_scale="jac", max_nfev=500))
    best = min(tries, key=lambda one: one.cost)
    if tries[0].cost <= best.cost * (1 + 1e-6) + 1e-14 or (len(best.x) == 3 and best.x[2] < log.min() - 6):
        best = tries[0]
    floor = float(np.exp(best.x[2])) if len(best.x) == 3 else 0.0
    return float(np.exp(best.x[0])), float(np.exp(best.x[1])), floor


def _squares(k: np.ndarray, form: np.ndarray, law: tuple[float, float, float]) -> float:
    return float(((np.log(form) - np.log(law_um(k, *law))) ** 2).sum())


def _bare(k: np.ndarray, form: np.ndarray) -> tuple[float, float, float]:
    """Best start and factor where there is no floor: a straight line in the logarithms."""
    slope, start = np.polyfit(k, np.log(form), 1)
    return float(np.exp(start)), float(np.exp(slope)), 0.0


def _region(k: np.ndarray, form: np.ndarray, best: tuple[float, float, float], least: float, free: int) -> np.ndarray:
    """Laws within the F limit of the best, shape (laws, 3); the start is the best for each factor and floor."""
    limit = max(least, 1e-10) * (1 + float(scipy.stats.f.ppf(0.95, 1, free)) / free)
    top = float(form.max())
    low, high = np.array([np.log(1e-3), -7.0]), np.array([np.log(2.0), 0.0])  # factor; floor over the greatest figure
    kept = np.empty((0, 3))
    for _ in range(_ZOOMS):
        cells = (high - low) / (_GRID - 1)
        factor = np.exp(np.append(np.linspace(low[0], high[0], _GRID), np.log(best[1])))
        floor = top * np.exp(np.append(np.linspace(low[1], high[1], _GRID), [np.log(max(best[2] / top, 1e-9))]))
        factor, floor = (part.ravel() for part in np.meshgrid(factor, np.append(floor, 0.0)))
        start, misfit = _starts(k, form, factor, floor)
        inside = misfit <= limit
        found = np.stack([start, factor, floor], axis=-1)[inside]
        kept = np.concatenate([kept, found])
        if not len(found):
            break
        logs = np.log(np.stack([found[:, 1], np.maximum(found[:, 2] / top, np.exp(-7.0))]))
        low, high = np.maximum(logs.min(axis=1) - cells, [-9, -7]), np.minimum(logs.max(axis=1) + cells, [0.8, 0.0])
    return np.concatenate([kept, [best]])


def _starts(k: np.ndarray, form: np.ndarray, factor: np.ndarray, floor: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Best start for each factor and floor, and the sum of squares it leaves."""
    log, left = np.log(form), factor[:, None] ** k
    start = np.full(factor.size, np.log(form[0]))
    for _ in range(_STEPS):
        term = (np.exp(start)[:, None] * left) ** 2
        whole = np.maximum(term + floor[:, None] ** 2, 1e-300)
        pull = term / whole
        step = (pull * (log - 0.5 * np.log(whole))).sum(axis=1) / np.maximum((pull**2).sum(axis=1), 1e-12)
        start = start + np.clip(step, -1, 1)
    start = np.exp(np.clip(start, -50, 50))
    law = np.maximum(law_um(k, start[:, None], factor[:, None], floor[:, None]), 1e-150)
    return start, ((log - np.log(law)) ** 2).sum(axis=1)


def _first(k: np.ndarray, form: np.ndarray, target: float | None) -> Progress:
    reached = target is not None and bool(form[0] <= target)
    return Progress(
        k,
        form,
        None,
        None,
        None,
        None,
        None,
        None,
        None,
        None,
        target,
        0 if reached else None,
        None,
        reached,
        None,
        first_words(float(form[0]), target),
    )


def _told(
    k: np.ndarray, form: np.ndarray, target: float | None, best: tuple[float, float, float], laws: np.ndarray | None
) -> Progress:
    start, factor, floor = best
    now, after = (float(law_um(k[-1] + more, *best)) for more in (0, 1))
    free = form.size - 3
    scatter = float(np.sqrt(_squares(k, form, best) / free)) if free > 0 else UNKNOWN_SCATTER
    reached = target is not None and bool(form[-1] <= target)
    go = None if target is None else 0.0 if reached else float(_to_go(np.array([best]), int(k[-1]), target)[0])
    every = None if laws is None or target is None or reached else _to_go(laws, int(k[-1]), target)
    ranges = [None if laws is None else (float(laws[:, at].min()), float(laws[:, at].max())) for at in (1, 2)]
    slow = form.size > 2 and now - after < scatter * now
    never = go is not None and not np.isfinite(go)
    found = Progress(
        k,
        form,
        start,
        factor,
        floor,
        (1 + factor) / 2 if factor <= 1 else None,
        ranges[0],
        ranges[1],
        after,
        now - after,
        target,
        None if go is None or not np.isfinite(go) else int(go),
        None if every is None else (float(every.min()), float(every.max())),
        reached or slow or never,
        _band(k, best, laws),
        (),
    )
    return replace(found, sentences=words(found))


def _to_go(laws: np.ndarray, done: int, target: float) -> np.ndarray:
    """Rounds from now until each law is within the target; inf where it never is."""
    start, factor, floor = laws.T
    with np.errstate(divide="ignore", invalid="ignore"):
        need = np.log(np.sqrt(np.maximum(target**2 - floor**2, 0)) / start) / np.log(factor)
    need = np.where((floor >= target) | (factor >= 1) | ~np.isfinite(need), np.inf, need)
    need = np.maximum(np.ceil(need - 1e-9) - done, 1.0)
    return np.where(need > MOST_ROUNDS, np.inf, need)


def _band(k: np.ndarray, best: tuple[float, float, float], laws: np.ndarray | None) -> np.ndarray:
    along = np.arange(k[-1] + 3)
    likely = law_um(along, *best)
    if laws is None:
        return np.stack([likely] * 3)
    every = law_um(along, *(laws[:, [at]] for at in range(3)))
    return np.stack([every.min(axis=0), likely, every.max(axis=0)])
