"""Which progression is enough: the fewest fits that reach a wanted spacing and certainty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import ceil

import numpy as np

from simulate.core import checks
from simulate.core.number_format import two
from simulate.core.refusal import Refusal
from simulate.method.lands.design_matrix import reading_rows
from simulate.method.lands.levelling import solve_network
from simulate.method.lands.progression import anchored_levels, usual_counts


@dataclass(frozen=True)
class Plan:
    """A progression that was found.

    Attributes
    ----------
    counts : tuple of int
        Points after each level.
    bridged : tuple of bool
        Whether each level also lays its gauge across the points it starts from.
    times : tuple of int
        How often every fit of a level is repeated.
    worst_um : float
        Largest standard deviation of its points.
    """

    counts: tuple[int, ...]
    bridged: tuple[bool, ...]
    times: tuple[int, ...]
    fits: int
    gauges: int
    spacing_mm: float
    worst_um: float
    words: str


def fewest_fits(
    length_mm: float, spacing_mm: float, wanted_um: float, fit_sd_um: float, *, most_fits: int = 40, most_times: int = 3
) -> Plan:
    """Search all progressions for the one with the fewest fits.

    Parameters
    ----------
    length_mm : float
    spacing_mm : float
        Points no farther apart than this.
    wanted_um : float
        Worst standard deviation that is allowed.
    fit_sd_um : float
        Of one fit, the same for every gauge.
    most_fits : int
        Where the search gives up.
    most_times : int
        How often one fit may be repeated.

    Returns
    -------
    Plan
        With equal fits, the one with fewer gauges, then the surer one.

    Raises
    ------
    ValueError
        Where no progression of `most_fits` fits or fewer is enough.

    Notes
    -----
    Brute force over even divisions, bridges and repeats: the repeats of one way
    are solved all at once, for they only weigh the levels' normal equations.
    Whatever the way, each point costs at least one fit, so ways differ in
    certainty first. It counts fits, not the making of the gauges, of which
    each is one of three.

    Examples
    --------
    >>> fewest_fits(600, 100, 2.0, 1.0).counts
    (3, 7)
    """
    length = checks.number(length_mm, "length_mm", 0, above=True)
    spacing = checks.number(spacing_mm, "spacing_mm", 0, length / 2, above=True)
    wanted = checks.number(wanted_um, "wanted_um", 0, above=True)
    sd = checks.number(fit_sd_um, "fit_sd_um", 0, above=True)
    most = checks.whole(most_fits, "most_fits", 1, 100)
    often = checks.whole(most_times, "most_times", 1, 9)
    limit = wanted * (1 + 1e-9)
    best = (most, most + 1, limit), None
    for _, counts, bridged, each in sorted(_candidates(ceil(length / spacing - 1e-9), most)):
        if sum(each) > best[0][0]:
            break
        times = _repeats(each, best[0][0], often)
        if _worst(counts, bridged, times.max(axis=0)[None])[0] * sd > limit:  # surer than any of its rows
            continue
        worst = _worst(counts, bridged, times) * sd
        for k in np.flatnonzero(worst <= limit):
            rank = int(times[k] @ each), len(counts), float(worst[k])
            if rank < best[0]:
                best = rank, (counts, bridged, tuple(times[k].tolist()))
    if best[1] is None:
        raise Refusal(
            "goal",
            where="wanted_um",
            found=f"{wanted:g}, which no progression of at most {most} fits of {sd:g} µm reaches every {spacing:g} mm",
            must_be="more",
            do="Allow more fits, or read with better repeatability",
        )
    (fits, gauges, worst), (counts, bridged, times) = best
    return Plan(
        counts,
        bridged,
        times,
        fits,
        gauges,
        length / (counts[-1] - 1),
        worst,
        _words(counts, bridged, times, fits, worst),
    )


def trade_plan(length_mm: float, spacing_mm: float, fit_sd_um: float) -> Plan:
    """The trade's way to a spacing: three points, then seven, then halves, each fit made once.

    Parameters
    ----------
    length_mm, spacing_mm : float
    fit_sd_um : float

    Returns
    -------
    Plan

    Raises
    ------
    ValueError
        Where a measure is not above 0.

    Notes
    -----
    Common practice, no source. It may come out finer than it was asked to.

    Examples
    --------
    >>> trade_plan(600, 60, 1.0).counts
    (3, 7, 13)
    """
    length = checks.number(length_mm, "length_mm", 0, above=True)
    spacing = checks.number(spacing_mm, "spacing_mm", 0, length / 2, above=True)
    spaces = 2 if spacing >= length / 2 else 6
    while spaces < length / spacing - 1e-9:
        spaces *= 2
    counts = usual_counts(spaces + 1)
    plain, single = (False,) * len(counts), (1,) * len(counts)
    worst = worst_of(counts, plain, single, checks.number(fit_sd_um, "fit_sd_um", 0, above=True))
    return Plan(
        counts,
        plain,
        single,
        spaces - 1,
        len(counts),
        length / spaces,
        worst,
        _words(counts, plain, single, spaces - 1, worst),
    )


def worst_of(counts: tuple[int, ...], bridged: tuple[bool, ...], times: tuple[int, ...], sd_um: float) -> float:
    """Worst standard deviation of a progression, all its fits solved at once.

    `counts`, `bridged`, `times`: as in `Plan`.

    >>> worst_of((3,), (False,), (4,), 1.0)
    0.5
    """
    length = counts[-1] - 1.0
    fits = []
    for i, (across, often) in enumerate(zip(bridged, times)):
        fits += anchored_levels(counts[: i + 1], length, sd_um / often**0.5, across)[-1].fits
    return solve_network(fits).worst_um


def _ways(spaces: int, before: int = 1) -> Iterator[tuple[int, ...]]:
    """Every chain of even divisions that ends in so many spaces."""
    if before == spaces:
        yield ()
    for times in range(2, spaces // before + 1):
        if spaces % (before * times) == 0:
            for rest in _ways(spaces, before * times):
                yield (before * times + 1,) + rest


def _candidates(least: int, most_fits: int) -> Iterator[tuple]:
    """Every way with its bridges, and how many fits each of its levels has."""
    for spaces in range(max(least, 2), most_fits + 2):
        for counts in _ways(spaces):
            steps = [(a - 1, b - 1) for a, b in zip((2,) + counts, counts)]
            bridges = [(False, True) if a > 1 else (False,) for a, _ in steps]
            for bridged in product(*bridges):
                each = tuple(b - 1 if across else b - a for (a, b), across in zip(steps, bridged))
                if sum(each) <= most_fits:
                    yield sum(each), counts, bridged, each


def _repeats(each: tuple[int, ...], most_fits: int, most_times: int) -> np.ndarray:
    """How often the fits of each level may be repeated, a row for every choice."""
    rows = np.array(list(product(*(range(1, min(most_times, 1 + (most_fits - sum(each)) // e) + 1) for e in each))))
    return rows[rows @ each <= most_fits]


def _worst(counts: tuple[int, ...], bridged: tuple[bool, ...], times: np.ndarray) -> np.ndarray:
    """Worst standard deviation for fits of 1 µm, for every row of `times` at once."""
    points = counts[-1]
    x, column = np.arange(float(points)), np.r_[-1, np.arange(points - 2), -1]
    weights = []
    for i, across in enumerate(bridged):
        rows, _ = reading_rows(anchored_levels(counts[: i + 1], points - 1.0, 1.0, across)[-1].fits, x, column, {})
        weights.append((rows.T @ rows).toarray())
    parts = np.array_split(times, 1 + len(times) // 2000)
    spread = [np.linalg.inv(np.tensordot(part, weights, 1)) for part in parts]
    return np.sqrt(np.concatenate([np.diagonal(s, axis1=1, axis2=2).max(axis=-1) for s in spread]))


def _words(counts, bridged, times, fits, worst):
    each = [
        f"{n} points" + (" bridged" if b else "") + (f", {t} times" if t > 1 else "")
        for n, b, t in zip(counts, bridged, times)
    ]
    return f"{', then '.join(each)}: {fits} fits, worst {two(worst)} µm."
