"""Progress of a learner's own rounds: the record, and what it says in words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three

UNKNOWN_SCATTER = 0.1
"""Part by which figures are taken to scatter while nothing tells it (common practice, no source)."""

SEEN = 0.02
"""A floor below this part of the least figure is not to be seen."""


@dataclass(frozen=True)
class Progress:
    """The law that the learner's own figures follow.

    After k rounds the worst body is out by ``sqrt(floor**2 + (start * factor**k)**2)``.

    Attributes
    ----------
    rounds : numpy.ndarray of int, shape (figures,)
        Rounds of filing before each figure; 0 for the start.
    form_um : numpy.ndarray, shape (figures,)
        Worst body.
    start_um, factor, floor_um : float or None
        None where there are too few figures; the floor is 0 while none is to be seen.
    share : float or None
        Part of the split's metal that one body gives up, 0.5 to 1; which of the two, the figures do not say.
    factor_range, floor_range, to_go_range : tuple of float or None
        95 % sure; None where nothing says how far the figures scatter.
    next_um, rate_um : float or None
        What the next round should leave, and how much that is less than now.
    to_go : int or None
        Rounds from now to the target; None where it is not asked for, or never reached.
    stop : bool
        True where the target is reached, where rounds like these never reach it, or where the next round takes less
        than the figures scatter.
    band_um : numpy.ndarray, shape (3, rounds + 1), or None
        Least, likeliest and greatest figure that the law allows from the start to two rounds on.
    """

    rounds: np.ndarray
    form_um: np.ndarray
    start_um: float | None
    factor: float | None
    floor_um: float | None
    share: float | None
    factor_range: tuple[float, float] | None
    floor_range: tuple[float, float] | None
    next_um: float | None
    rate_um: float | None
    target_um: float | None
    to_go: int | None
    to_go_range: tuple[float, float] | None
    stop: bool
    band_um: np.ndarray | None
    sentences: tuple[str, ...]


def first_words(form_um: float, target_um: float | None) -> tuple[str, ...]:
    """Return what one figure alone says."""
    if target_um is not None and form_um <= target_um:
        return (f"The worst is {three(form_um)} um out, within the {target_um:g} um asked for.",)
    return (f"The worst is {three(form_um)} um out; one set of readings gives no rate, so read again after a round.",)


def words(found: Progress) -> tuple[str, ...]:
    """Put progress into words."""
    return tuple(part for part in (_rate(found), _floor(found), _go(found), _stop(found)) if part)


def _rate(found: Progress) -> str:
    left = 100 * found.factor
    some = found.factor_range
    said = f"Each of your rounds leaves {three(left)} % of the error"
    if some is not None:
        said += f" (95 %: from {three(100 * some[0])} to {three(100 * some[1])} %)"
    if found.factor >= 1:
        said += ": the worst body does not get better"
    elif found.share is not None:
        said += (
            f", as if {three(100 * found.share)} % of the metal of every split came off one body and "
            f"{three(100 * (1 - found.share))} % off the other"
        )
    count = found.form_um.size
    if some is None:
        said += f"; a range needs four figures, and there are {count}"
    return said + "."


def _floor(found: Progress) -> str:
    some = found.floor_range
    if some is None:
        if found.form_um.size < 3:
            return "Two figures do not show where the floor is."
        return (
            f"Sight, tool and hands seem to set a floor near {three(found.floor_um)} um."
            if found.floor_um > 0
            else "No floor shows yet."
        )
    if some[0] < SEEN * found.form_um.min() and found.floor_um > 0:
        return (
            f"Sight, tool and hands seem to set a floor near {three(found.floor_um)} um; the figures allow any floor "
            f"below {three(some[1])} um."
        )
    if some[0] < SEEN * found.form_um.min():
        return f"No floor shows yet; there may be one anywhere below {three(some[1])} um."
    return (
        f"Sight, tool and hands set a floor near {three(found.floor_um)} um "
        f"(95 %: from {three(some[0])} to {three(some[1])} um)."
    )


def _go(found: Progress) -> str:
    if found.factor >= 1:
        return ""
    if found.rate_um < 0.01 * found.next_um:
        said = f"The next round should leave the worst where it is, at {three(found.next_um)} um"
    else:
        said = f"The next round should bring the worst down by {three(found.rate_um)} um, to {three(found.next_um)} um"
    if found.target_um is None or found.to_go == 0:
        return said + "."
    if found.to_go is None:
        return f"{said}; rounds like these never bring it within {found.target_um:g} um."
    some = found.to_go_range
    span = ""
    if some is not None and some[0] != some[1]:
        span = (
            f" (95 %: from {some[0]:.0f} to {some[1]:.0f})"
            if np.isfinite(some[1])
            else f" (95 %: at least {some[0]:.0f}, and perhaps never)"
        )
    rounds = f"{found.to_go} round{'s' * (found.to_go != 1)} more"
    return f"{said}; {rounds} should bring it within {found.target_um:g} um{span}."


def _stop(found: Progress) -> str:
    now = float(found.form_um[-1])
    if found.target_um is not None and now <= found.target_um:
        return f"Stop: the worst is {three(now)} um out, within the {found.target_um:g} um asked for."
    if found.target_um is not None and found.to_go is None:
        return (
            "Stop filing like this: change to lighter passes, a finer tool or a better light, or share the split "
            "evenly."
        )
    if not found.stop:
        return "Go on: the next round should improve the worst by more than the scatter of such figures."
    finer = " Only a sharper eye or a finer tool reaches lower." if found.floor_um else ""
    return (
        f"Stop and think: the next round should improve the worst by no more than the scatter of such figures.{finer}"
    )
