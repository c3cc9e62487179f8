"""An edge has a width: what light, feelers and compound show of a gap hangs on how the edge lies across it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.cutting.tools import Hands
from simulate.bench.looking.light import KNIFE_EDGE_UM
from simulate.bench.looking.sight import Sight
from simulate.core import checks

KNIFE_MM = 0.2
"""A land no wider than this is a knife edge (common practice, no source)."""

FLAT_EDGE_MM, FLAT_EDGE_UM = 10.0, 6.0
"""A flat edge as wide as the course's bars, and the gap from which it shows light (from memory)."""

_POWER = np.log(FLAT_EDGE_UM / KNIFE_EDGE_UM) / np.log(FLAT_EDGE_MM / KNIFE_MM)


@dataclass(frozen=True)
class Edge:
    """How two edges meet across their width.

    Attributes
    ----------
    land_mm : float
        Width of the land that is left between its bevels; all of the thickness without a bevel.
    crown_um : float
        How far both edges together fall away from their middle to either border of the land.
    lean_um_per_mm : float
        How far the one edge is out of square to the other: a gap that grows from one border to the other.

    Examples
    --------
    >>> Edge(land_mm=10).crown_um
    0.0
    """

    land_mm: float = KNIFE_MM
    crown_um: float = 0.0
    lean_um_per_mm: float = 0.0

    def __post_init__(self) -> None:
        """Refuse an edge without width, or hollow across."""
        checks.number(self.land_mm, "land_mm", 0, above=True)
        checks.number(self.crown_um, "crown_um", 0)
        checks.number(self.lean_um_per_mm, "lean_um_per_mm", 0)


def settled_crown_um(land_mm: float, hands: Hands = Hands()) -> float:
    """How far one edge falls away from its middle to either border, however long it is filed.

    `land_mm`: width of the edge that the file covers.

    Derived: a flat sole that tips by an angle cuts where the edge has that slope. Each place loses as much as the next
    once slopes are as frequent as angles. From the middle outwards they are then the quantiles of |angle|, whose mean
    over half of the land is angle × √(2/π).

    Measured stroke by stroke (the tests hold it): nine tenths stand after a mean cut of 0.6 times this height, 12 µm or
    about a pass for an average hand on 10 mm. It grows no further, so that loops are given it from the start: an edge
    that stays flat for a whole round more leaves the worst bar 0.2 µm further out. A land of 0.2 mm gets 0.4 µm, which
    no way of looking tells. Not seen: a file drawn, or pushed across the edge.

    >>> round(settled_crown_um(10.0)), round(settled_crown_um(0.2), 1)
    (20, 0.4)
    """
    half = checks.number(land_mm, "land_mm", 0, above=True) / 2
    return float(half * 1000 * np.tan(np.radians(hands.across_deg)) * np.sqrt(2 / np.pi))


def filed_edge(land_mm: float = FLAT_EDGE_MM, hands: Hands = Hands()) -> Edge:
    """Give the edges of two bars that were filed along by the same hands.

    Parameters
    ----------
    land_mm : float
    hands : Hands

    Returns
    -------
    Edge
        With the crown at which both have settled; square to each other.

    Raises
    ------
    Refusal
        Where the width is not above 0.

    Examples
    --------
    >>> round(filed_edge().crown_um)
    40
    """
    return Edge(land_mm, crown_um=2 * settled_crown_um(land_mm, hands))


EDGES = {
    "bevelled to a knife edge": Edge(),
    "flat, 10 mm wide": Edge(FLAT_EDGE_MM),
    "10 mm wide, crowned across": filed_edge(),
    "10 mm wide, out of square": Edge(FLAT_EDGE_MM, lean_um_per_mm=10.0),
}
"""Edges as they come from the file; the first is the one that lesson 00 has made, and what all panels open with."""


def narrow_mm(edge: Edge, gap_um: float) -> float:
    """How wide the light's way is: the part of the land that is open by less than twice the gap.

    >>> narrow_mm(Edge(10.0, crown_um=40.0), 10.0), narrow_mm(Edge(10.0, lean_um_per_mm=10.0), 10.0)
    (5.0, 1.0)
    """
    crowned = edge.land_mm * np.sqrt(gap_um / edge.crown_um) if edge.crown_um > gap_um else np.inf
    leaning = gap_um / edge.lean_um_per_mm if edge.lean_um_per_mm > gap_um / edge.land_mm else np.inf
    return float(min(edge.land_mm, crowned, leaning))


def shows_light_um(edge: Edge, knife_um: float = KNIFE_EDGE_UM) -> float:
    """The smallest gap through which an edge shows light.

    Parameters
    ----------
    edge : Edge
    knife_um : float
        What the same eye sees at a knife edge.

    Returns
    -------
    float

    Raises
    ------
    Refusal
        Where a figure is out of its range.

    Notes
    -----
    2.5 µm at a knife edge and 6 µm at a flat edge 10 mm wide (both from memory) are all that is known; between them a
    power of the width is ours. A crown or a lean leaves a shorter narrow part, `narrow_mm`, which itself hangs on the
    gap: the two are solved together.

    Examples
    --------
    >>> round(shows_light_um(Edge()), 3), round(shows_light_um(Edge(10.0)), 3)
    (2.5, 6.0)
    """
    knife = checks.number(knife_um, "knife_um", 0, above=True)
    seen = knife
    for _ in range(60):  # the slope of the law is 0.22 or less, so that each step leaves a quarter of what was wrong
        seen = knife * max(narrow_mm(edge, seen) / KNIFE_MM, 1.0) ** _POWER
    return float(seen)


def edge_sight(edge: Edge, knife_um: float = KNIFE_EDGE_UM) -> Sight:
    """Give the light that an edge lets through to `three_bars` and the others, by its land, its crown and its lean.

    Parameters
    ----------
    edge : Edge
        As it stays. One that is filed has its crown after the first pass: `filed_edge` of the hands that file it.
    knife_um : float
        What the same eye sees at a knife edge.

    Returns
    -------
    Sight

    Raises
    ------
    Refusal
        Where a figure is out of its range.

    Examples
    --------
    >>> round(edge_sight(EDGES["10 mm wide, crowned across"]).threshold_um, 1)
    4.7
    """
    return Sight("light", shows_light_um(edge, knife_um))


def printed_mm(edge: Edge, film_um: float) -> float:
    """How wide compound prints where two edges touch.

    Returns: the whole land, a stripe along its middle where it is crowned, or one along a border where it leans.

    >>> printed_mm(Edge(10.0, crown_um=40.0), 2.5), printed_mm(Edge(10.0), 2.5)
    (2.5, 10.0)
    """
    return narrow_mm(edge, checks.number(film_um, "film_um", 0, above=True))


def blade_enters_mm(edge: Edge, blade_um: float) -> float:
    """How far a feeler goes in from the side where two edges touch, so that a touching place feels open.

    Returns: from the border that is more open.

    >>> blade_enters_mm(Edge(10.0, lean_um_per_mm=10.0), 50.0), blade_enters_mm(Edge(10.0), 50.0)
    (5.0, 0.0)
    """
    blade = checks.number(blade_um, "blade_um", 0, above=True)
    open_side = 0.0
    if edge.crown_um > blade:
        open_side = edge.land_mm / 2 * (1 - np.sqrt(blade / edge.crown_um))
    if edge.lean_um_per_mm > blade / edge.land_mm:
        open_side = max(open_side, edge.land_mm - blade / edge.lean_um_per_mm)
    return float(open_side)
