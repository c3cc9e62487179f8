"""Steel that moves: stress let go by a cut, a bar that bends in the vice and under a pressing hand."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.bending.materials import Material, material_of
from simulate.core import checks


@dataclass(frozen=True)
class Stock:
    """How a bar was made, as far as it moves when it is cut.

    Attributes
    ----------
    skin_mpa : float
        Stress along the bar in the layer that a file takes; tension is positive.
    settle_h : float
        Hours after which all but 1/e of the movement is over.
    """

    name: str
    skin_mpa: float
    settle_h: float


STOCKS = {
    s.name: s
    for s in (
        Stock("normalised", 10.0, 1.0),
        Stock("hot rolled", 50.0, 2.0),
        Stock("bright drawn", 150.0, 2.0),
        Stock("raw casting", 40.0, 24.0),
    )
}
"""Common practice, no source: right to a factor of two or three."""


def relief_bow_um(
    taken_mm: float,
    length_mm: float = 500.0,
    depth_mm: float = 40.0,
    *,
    stock: str | Stock = "bright drawn",
    material: str | Material = "steel",
    rested_h: float = np.inf,
) -> float:
    """How far a bar bows when a layer of stressed skin has been taken off one edge.

    Parameters
    ----------
    taken_mm : float
        Thickness of the layer, thin against the depth.
    length_mm, depth_mm : float
    stock : str or Stock
    material : str or Material
    rested_h : float
        Hours since the cut.

    Returns
    -------
    float
        Positive where the cut edge comes out proud in the middle: it was in
        tension, and what is left of it stretches.

    Raises
    ------
    Refusal
        Where a figure is out of its range: a layer is at most a tenth of the depth.

    Notes
    -----
    Derived: the layer held a force s t b at h / 2 from the middle; without it the
    moment s t b h / 2 bends the bar, by L² / 8 times moment / (E b h³ / 12):

        bow = 6 s t L² / (8 E h²)

    What it cannot see: stress that is not even along the bar or through the layer.

    Examples
    --------
    >>> round(relief_bow_um(0.5)), round(relief_bow_um(0.1, stock="hot rolled"), 1)
    (42, 2.8)
    """
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    taken = checks.number(taken_mm, "taken_mm", 0, depth / 10)
    length = checks.number(length_mm, "length_mm", 0, above=True)
    made = stock if isinstance(stock, Stock) else STOCKS[checks.choice(stock, "stock", tuple(STOCKS))]
    stiff = 1000 * material_of(material).young_gpa
    part = 1.0 if rested_h == np.inf else -np.expm1(-checks.number(rested_h, "rested_h", 0) / made.settle_h)
    return float(1000 * part * 6 * made.skin_mpa * taken * length**2 / (8 * stiff * depth**2))


def vice_bend_um(
    force_n: float,
    overhang_mm: float,
    depth_mm: float = 40.0,
    width_mm: float = 10.0,
    material: str | Material = "steel",
) -> float:
    """How far the free end of a bar held in a vice gives way to the file.

    Parameters
    ----------
    force_n : float
        At the free end, square to the edge.
    overhang_mm : float
        Of the bar beyond the jaws.
    depth_mm, width_mm : float
    material : str or Material

    Returns
    -------
    float

    Notes
    -----
    A cantilever: F a³ / (3 E I). The jaws give way too, which this does not see.

    Examples
    --------
    >>> round(vice_bend_um(100, 190))
    20
    """
    force, overhang = checks.number(force_n, "force_n"), checks.number(overhang_mm, "overhang_mm", 0, above=True)
    return 1000 * force * overhang**3 / (3 * _stiffness(depth_mm, width_mm, material))


def press_bend_um(
    force_n: float, span_mm: float, depth_mm: float = 40.0, width_mm: float = 10.0, material: str | Material = "steel"
) -> float:
    """How far a bar that rests near both ends gives way to a hand that presses on its middle.

    Parameters
    ----------
    force_n : float
    span_mm : float
        Between the places where it rests.
    depth_mm, width_mm : float
    material : str or Material

    Returns
    -------
    float

    Notes
    -----
    A beam on two supports: F l³ / (48 E I).

    Examples
    --------
    >>> round(press_bend_um(20, 500), 1)
    4.7
    """
    force, span = checks.number(force_n, "force_n"), checks.number(span_mm, "span_mm", 0, above=True)
    return 1000 * force * span**3 / (48 * _stiffness(depth_mm, width_mm, material))


def _stiffness(depth_mm: float, width_mm: float, material: str | Material) -> float:
    """E I of a rectangle, in N mm²."""
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    width = checks.number(width_mm, "width_mm", 0, above=True)
    return 1000 * material_of(material).young_gpa * width * depth**3 / 12
