"""One laying of a land gauge on a bar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.core.values import short

_PLACES = 6  # positions closer than a nanometre are one point


@dataclass(frozen=True)
class Fit:
    """One laying of a gauge on the bar.

    Attributes
    ----------
    lands_mm : tuple of float
        Where its lands fall on the bar, rising, 3 or more. The outer two seat it.
    sd_um : float
        Standard deviation of an inner land's height over the line of the outer two.
    gauge : str
        Fits of one gauge share its zero errors.
    turned : bool
        Laid end for end: the gauge's inner lands then count from the other side.
    """

    lands_mm: tuple[float, ...]
    sd_um: float
    gauge: str = "gauge"
    turned: bool = False

    def __post_init__(self) -> None:
        lands = checks.positions(self.lands_mm, "lands_mm", at_least=3)
        checks.number(self.sd_um, "sd_um", 0, above=True)
        checks.choice(self.turned, "turned", (False, True))
        object.__setattr__(self, "lands_mm", tuple(float(v) for v in lands))


def fits_of(fits: Sequence[Fit]) -> list[Fit]:
    """Return fits as a list, or raise ValueError.

    >>> len(fits_of([Fit((0, 1, 2), 1.0)]))
    1
    """
    try:
        listed = list(fits)
    except TypeError:
        raise Refusal("type", where="fits", found=short(fits), must_be="a list of Fit") from None
    if not listed:
        raise Refusal("count", where="fits", found="nothing", must_be="one or more")
    return [checks.kind(fit, f"fits[{k}]", Fit) for k, fit in enumerate(listed)]


def snapped(x_mm: ArrayLike) -> np.ndarray:
    """Round positions to a nanometre, so that a place worked out in two ways is one place.

    The small shift keeps the places that a scale has, such as 1/128 inch, off the edge between two roundings.

    >>> snapped([0.1 + 0.2, 0.3]).tolist()
    [0.3, 0.3]
    """
    return np.round(np.asarray(x_mm, dtype=float) + 1.37e-8, _PLACES)


def lay(lands_mm: Sequence[float], at_mm: float, sd_um: float, gauge: str = "gauge", turned: bool = False) -> Fit:
    """Lay a gauge down so that its first land (its last, if turned) falls at `at_mm`.

    Parameters
    ----------
    lands_mm : sequence of float
        The gauge's own lands, from its first: even or uneven.
    at_mm : float
        Where its left land falls on the bar.
    sd_um : float
    gauge : str
    turned : bool
        End for end.

    Returns
    -------
    Fit

    Raises
    ------
    ValueError
        Where the lands do not rise or are fewer than three.

    Examples
    --------
    >>> lay((0, 50, 200), 100, 1.0, turned=True).lands_mm
    (100.0, 250.0, 300.0)
    """
    own = checks.positions(lands_mm, "lands_mm", at_least=3)
    own = (own[-1] - own)[::-1] if turned else own - own[0]
    return Fit(tuple(checks.number(at_mm, "at_mm") + own), sd_um, gauge, turned)
