"""The shortest list of placements of plates that leaves nothing unseen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from simulate.bench.seating.placement import fit_of
from simulate.core import checks
from simulate.core.number_format import three, two
from simulate.core.refusal import Refusal
from simulate.method.plates.plate_null_space import _asked, _normal, _plane

_BATCH = 256
_SLIDES = ((1, 0), (1, 1))


@dataclass(frozen=True)
class Schedule:
    """What `shortest_schedule` found.

    Attributes
    ----------
    unsure_um : float
        Standard deviation of the least sure error of the plates, a whole set of
        shapes of unit root sum of squares over all points.
    tried : int
        Lists that were worked out.
    """

    fits: tuple
    unsure_um: float
    tried: int
    sentence: str


def placements(plates: int = 3) -> tuple[tuple, ...]:
    """Every pair plain, turned by half and by a quarter, and slid by a step along and slanting.

    >>> len(placements()), placements(2)[0]
    (15, (0, 1, 0, 0, 0))
    """
    pairs = list(combinations(range(checks.whole(plates, "plates", 2)), 2))
    turned = [(a, b, t, 0, 0) for t in (0, 180, 90) for a, b in pairs]
    return tuple(turned + [(a, b, 0, *s) for s in _SLIDES for a, b in pairs])


def shortest_schedule(
    points: int | tuple[int, int],
    wanted_um: float,
    reading_sd_um: float = 1.0,
    *,
    candidates: Sequence[tuple] | None = None,
    plates: int = 3,
    most: int = 5,
) -> Schedule:
    """Find the smallest list of placements after which no error is less sure than wanted.

    Parameters
    ----------
    points : int or (rows, columns)
        Points along each side, the same step both ways; keep it small, 5 to 9.
    wanted_um : float
        No error of the plates may stay unsure by more.
    reading_sd_um : float
        Scatter of one reading of a gap.
    candidates : sequence of fits, optional
        Placements to choose from; `placements` by default, without quarter
        turns where no points would meet after one.
    plates : int
    most : int
        Longest list that is looked for.

    Returns
    -------
    Schedule
        Of the shortest lists the one that leaves the plates surest.

    Raises
    ------
    ValueError
        Where no list of at most `most` placements is enough; the sentence says
        what the best one reaches, or that some error stays hidden from them all.

    Notes
    -----
    Every list is worked out, from the shortest up: exact among the candidates,
    and slow for many of them. Sure means least squares from all gaps, seats
    solved for: the smallest eigenvalue of the normal equations says how faintly
    the faintest error shows. What this cannot see: errors between the points.

    Examples
    --------
    >>> found = shortest_schedule(4, wanted_um=10)
    >>> len(found.fits), found.unsure_um < 10
    (4, True)
    """
    shape, listed, plates = _asked(points, _possible(points, plates) if candidates is None else candidates, plates)
    wanted = checks.number(wanted_um, "wanted_um", 0, above=True)
    sd = checks.number(reading_sd_um, "reading_sd_um", 0, above=True)
    most = checks.whole(most, "most", 1, len(listed))
    each = _each(shape, listed, plates)
    best, tried = (np.inf, ()), 0
    for count in range(plates, most + 1):
        # A plate in no pair is never seen, and fewer readings than unknowns cannot settle them.
        lists = np.array([c for c in combinations(range(len(listed)), count) if _reaches(c, listed, plates)], dtype=int)
        faintest = _faintest(each, lists.reshape(-1, count))
        tried += len(lists)
        if not len(lists):
            continue
        at = int(np.argmax(faintest >= faintest.max() * (1 - 1e-9)))  # the first of those that are alike
        best = min(best, (sd / np.sqrt(faintest[at]) if faintest[at] > 1e-12 else np.inf, tuple(lists[at])))
        if best[0] <= wanted:
            fits = tuple(listed[i] for i in best[1])
            return Schedule(fits, float(best[0]), tried, _sentence(fits, best[0], tried))
    if not np.isfinite(best[0]):
        raise Refusal(
            "unsettled",
            where="candidates",
            must_be="more fits in the list, or other placements to choose from",
            found=f"some error stays hidden from every list of at most {most} of the {len(listed)} placements",
        )
    raise Refusal(
        "goal",
        where="wanted_um",
        found=f"{wanted:g}, which no list of at most {most} of the {len(listed)} placements reaches "
        f"(the best reaches {three(best[0])} µm)",
        must_be="more",
        do="Allow more fits or more placements",
    )


def _possible(points, plates: int) -> list[tuple]:
    """Placements in which points meet points: none turned a quarter where one side has an odd number and the other an
    even one."""
    odd = np.ndim(points) == 1 and len(points) == 2 and (points[0] - points[1]) % 2
    return [fit for fit in placements(plates) if not (odd and fit[2] % 180)]


def _each(shape, listed, plates: int) -> np.ndarray:
    """Normal matrix of every placement, on the shapes beyond the plates' own planes."""
    size = shape[0] * shape[1]
    whole = np.linalg.qr(np.hstack([_plane(shape), np.eye(size)]))[0][:, 3:]
    beyond = np.kron(np.eye(plates), whole)
    return np.stack([beyond.T @ _normal(shape, [fit], plates) @ beyond for fit in listed])


def _reaches(chosen, listed, plates: int) -> bool:
    return len({p for i in chosen for p in listed[i][:2]}) == plates


def _faintest(each: np.ndarray, lists: np.ndarray) -> np.ndarray:
    """Smallest eigenvalue of every list."""
    found = [np.linalg.eigvalsh(each[lists[a : a + _BATCH]].sum(axis=1))[:, 0] for a in range(0, len(lists), _BATCH)]
    return np.concatenate(found) if found else np.zeros(0)


def fit_words(fit: tuple) -> str:
    """Name a placement of plates in words.

    >>> fit_words((0, 1, 90)), fit_words((0, 2, 0, 1, 0))
    ('2 on 1 at 90 degrees', '3 on 1 as it lies, slid (1, 0)')
    """
    lower, upper, turned, slide = fit_of(fit, "fit", max(fit[:2]) + 1)
    return f"{upper + 1} on {lower + 1} {f'at {turned} degrees' if turned else 'as it lies'}" + (
        f", slid {slide}" if any(slide) else ""
    )


def _sentence(fits, unsure: float, tried: int) -> str:
    return (
        f"{len(fits)} placements are enough: {'; '.join(fit_words(f) for f in fits)}. The least certain error then "
        f"has an uncertainty of {two(unsure)} µm; {tried} lists were worked out."
    )
