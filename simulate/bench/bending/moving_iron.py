"""Castings that move under the work: what a cut lets go bows a plate, and it comes as the plate rests."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.bending.materials import Material, material_of
from simulate.bench.bending.stress import STOCKS, Stock
from simulate.core import checks


@dataclass(frozen=True, kw_only=True)
class Casting:
    """How plates move while they are scraped.

    Attributes
    ----------
    stock : str or Stock or None
        How the plates were made; None lets nothing go.
    planed_mm : float
        Layer that was machined off the face before the scraping.
    waited_h : float
        Hours that the plates lay between.
    marking_h : float
        Hours from one marking to the next, rest included.
    thick_mm : float
        Of a plate without ribs; ribs hold a plate straighter.
    material : str or Material
    poisson : float
        Of grey iron, from memory.
    """

    stock: str | Stock | None = None
    planed_mm: float = 0.0
    waited_h: float = 0.0
    marking_h: float = 0.5
    thick_mm: float = 50.0
    material: str | Material = "grey iron"
    poisson: float = 0.25

    def __post_init__(self) -> None:
        """Refuse a stock that nobody sells, hours below 0 and a plate without thickness."""
        if not isinstance(self.stock, Stock) and self.stock is not None:
            checks.choice(self.stock, "stock", tuple(STOCKS))
        for name in ("planed_mm", "waited_h", "marking_h"):
            checks.number(getattr(self, name), name, 0)
        checks.number(self.thick_mm, "thick_mm", 0, above=True)
        checks.number(self.poisson, "poisson", 0, 0.49)

    @property
    def made(self) -> Stock:
        """Skin and time to settle."""
        if self.stock is None:
            return Stock("does not move", 0.0, 1.0)
        return self.stock if isinstance(self.stock, Stock) else STOCKS[self.stock]


CASTINGS = {
    "do not move": Casting(),
    "planed, then rested three weeks": Casting(stock="raw casting", planed_mm=2.0, waited_h=504.0),
    "planed today": Casting(stock="raw casting", planed_mm=2.0),
}
"""What a learner chooses from: 2 mm of a raw casting planed off, and how long it lay before the first marking (common
practice, no source)."""


def dome_shape(x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """A dome of unit curvature, in um for a curvature in 1 / mm of 1e-3, which neither adds nor takes metal.

    Returns (rows, columns).

    >>> dome_shape(np.array([-2.0, 0, 2]), np.array([-2.0, 0, 2])).round(2).tolist()[1]
    [0.67, 2.67, 0.67]
    """
    square = (x_mm - x_mm.mean()) ** 2 + (y_mm[:, None] - y_mm.mean()) ** 2
    return (square.mean() - square) / 2


def let_go_curvature(taken_um: np.ndarray | float, casting: Casting) -> np.ndarray | float:
    """How far plates will have bowed once they have settled after a cut, as a curvature.

    `taken_um`: the layer that was taken off the face, on average. Returns: in 1e-3 / mm, as `dome_shape` takes it;
    positive where the middle comes out proud: a skin in tension.

    A thin layer of thickness t with the same stress s along and across, on a plate of thickness h:

        1 / R = 6 s t (1 - ν) / (E h²)

    (G. Stoney, The tension of metallic films deposited by electrolysis, 1909, with 1 - ν for a plate; from memory).
    Over a square of side a the middle stands a² / (4 R) above the corners. What it cannot see: ribs, stress that is not
    even over the plate or through the layer, and what the other face lets go.

    >>> bow = let_go_curvature(200.0, Casting(stock="raw casting", thick_mm=50.0)) * 400**2 / 4
    >>> round(float(bow), 1)
    5.2
    """
    stiff = 1000 * material_of(casting.material).young_gpa * casting.thick_mm**2
    return 6 * casting.made.skin_mpa * np.asarray(taken_um) * (1 - casting.poisson) / stiff


def freed_before(casting: Casting) -> float:
    """How far plates will still bow at the first marking, as `let_go_curvature` gives it.

    >>> still = freed_before(Casting(stock="raw casting", planed_mm=2.0, waited_h=24.0)) * 400**2 / 4
    >>> round(still, 1)
    19.3
    """
    left = np.exp(-casting.waited_h / casting.made.settle_h)
    return float(left * let_go_curvature(1000 * casting.planed_mm, casting))


def settled_share(casting: Casting) -> float:
    """Part of what is still to come that comes from one marking to the next.

    >>> round(settled_share(Casting(stock="raw casting", marking_h=24.0)), 2)
    0.63
    """
    return float(-np.expm1(-casting.marking_h / casting.made.settle_h))
