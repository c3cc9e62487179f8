"""What can be seen of a gap: light, feelers, marking compound.

Each way of looking answers with what it shows and says what it cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.looking.light import KNIFE_EDGE_UM
from simulate.core import checks
from simulate.core.refusal import Refusal

FEELERS_MM = (0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 1.00)
"""Blades of a usual set of thirteen (DIN 2275, from memory; from 0.05 to 1.00 mm: Wikipedia, Fühlerlehre)."""

FINE_FEELERS_MM = (0.03, 0.04, 0.05, 0.06, 0.07, 0.08, 0.09, *FEELERS_MM[1:])
"""Blades of a set that begins at 0.03 mm (common practice, no source)."""

KINDS = ("light", "feeler", "marking compound")


@dataclass(frozen=True)
class Sight:
    """A way of looking and the smallest gap it shows.

    Attributes
    ----------
    kind : str
        ``"light"``, ``"feeler"`` or ``"marking compound"``.
    threshold_um : float
        The smallest gap that is told from contact. Light against a knife edge:
        2 µm (Wikipedia, German edition, Haarlineal, 2023) to 2.5 µm (from memory). A
        land 10 mm wide hides more (common practice, no source; 6 µm from memory).
        The thinnest feeler: 50 µm. A thin film of marking compound: 1 to 3 µm (from memory).
    spread_um : float
        How much the threshold comes and goes from look to look while bars are
        filed, so that a gap is seen in ``1 / (1 + exp(-(gap - threshold) /
        spread))`` of all looks; 0 for an eye that always sees alike. A single
        `look` takes no account of it.

    Examples
    --------
    >>> Sight().threshold_um
    2.5
    """

    kind: str = "light"
    threshold_um: float = KNIFE_EDGE_UM
    spread_um: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an unknown kind or a threshold below zero."""
        checks.choice(self.kind, "kind", KINDS)
        checks.number(self.threshold_um, "threshold_um", 0)
        checks.number(self.spread_um, "spread_um", 0)


@dataclass(frozen=True)
class Seen:
    """What a look along a fit showed.

    Attributes
    ----------
    open : ndarray of bool, shape (..., points)
        Where the maker sees light, a blade enters, or no compound prints.
    at_least_um, at_most_um : ndarray, shape (..., points)
        What is then known of the gap; ``inf`` where nothing bounds it.
    cannot_tell : str
        What this way of looking leaves unknown.
    """

    open: np.ndarray
    at_least_um: np.ndarray
    at_most_um: np.ndarray
    cannot_tell: str


def look(gap_um: ArrayLike, sight: Sight = Sight()) -> Seen:
    """What is seen of a gap.

    Parameters
    ----------
    gap_um : array_like, shape (..., points)
        True gaps, none below 0.
    sight : Sight

    Returns
    -------
    Seen

    Raises
    ------
    ValueError
        Where a gap is below 0 or not finite.

    Examples
    --------
    >>> look([0, 2, 60]).open
    array([False, False,  True])
    >>> look([120], Sight("feeler", 50)).at_least_um
    array([100.])
    """
    checks.kind(sight, "sight", Sight)
    gap = checks.gaps(checks.numbers(gap_um, "gap_um"))
    if sight.kind == "feeler":
        return _feel(gap, sight.threshold_um)
    opened = gap > sight.threshold_um
    low = np.where(opened, sight.threshold_um, 0.0)
    high = np.where(opened, np.inf, sight.threshold_um)
    words = {
        "light": f"Light shows whether there is a gap, not how wide it is: below {sight.threshold_um:g} µm no gap "
        "shows.",
        "marking compound": f"A print means a gap under the film of {sight.threshold_um:g} µm, not contact;"
        " a thick film or a bar that rocks prints everywhere.",
    }[sight.kind]
    return Seen(opened, low, high, words)


def _feel(gap: np.ndarray, thinnest_um: float) -> Seen:
    blades = np.array([b * 1000 for b in FEELERS_MM if b * 1000 >= thinnest_um])
    if blades.size == 0:
        raise Refusal(
            "range",
            where="threshold_um",
            found=f"{thinnest_um:g}",
            must_be=f"at most {FEELERS_MM[-1] * 1000:g}, the thickest blade",
        )
    edges = np.concatenate([[0.0], blades, [np.inf]])
    place = np.searchsorted(blades, gap, side="right")
    words = (
        f"A reading is the thickest blade that enters: under {blades[0]:g} µm nothing enters,"
        " and the true gap lies anywhere up to the next blade."
    )
    return Seen(place > 0, edges[place], edges[place + 1], words)


def wedge_gap_um(low_pile_mm: float, high_pile_mm: float, apart_mm: float, from_low_mm: ArrayLike) -> np.ndarray:
    """Change of gap along a wedge of two straightedges: how a learner calibrates the eye.

    Parameters
    ----------
    low_pile_mm, high_pile_mm : float
        Heights of the two piles that hold the upper straightedge.
    apart_mm : float
        Distance between the piles.
    from_low_mm : array_like
        Distance from the low pile.

    Returns
    -------
    ndarray
        How much wider the gap is there than over the low pile.

    Raises
    ------
    ValueError
        Where a distance is not above 0 or a number is not finite.

    Notes
    -----
    Piles of 10.0 and 10.1 mm, 200 mm apart, give 4 µm for 8 mm of shift
    (derived).

    Examples
    --------
    >>> wedge_gap_um(10.0, 10.1, 200, 8).round(3)
    np.float64(4.0)
    """
    low = checks.number(low_pile_mm, "low_pile_mm", 0)
    high = checks.number(high_pile_mm, "high_pile_mm", 0)
    apart = checks.number(apart_mm, "apart_mm", 0, above=True)
    return 1000 * (high - low) * checks.numbers(from_low_mm, "from_low_mm") / apart
