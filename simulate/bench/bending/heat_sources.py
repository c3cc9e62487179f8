"""What warms one edge: a hand, a lamp, the sun, and the difference through the depth that it keeps up."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.bench.bending.materials import MATERIALS, Material, material_of
from simulate.core import checks


@dataclass(frozen=True)
class Warmth:
    """Heat that flows into an edge.

    `w_m2`: watts for each square metre that the edge takes up.
    """

    name: str
    w_m2: float
    source: str


_MEMORY = "from memory; right to a factor of two or three"
WARMTHS = {
    w.name: w
    for w in (
        Warmth("a hand on the edge", 500.0, _MEMORY),
        Warmth("a bench lamp", 50.0, _MEMORY),
        Warmth("the sun through a window", 400.0, _MEMORY),
    )
}

HEAT_CAPACITY_J_KGK = {"steel": 490.0, "grey iron": 500.0, "granite": 790.0}
"""Handbooks, from memory."""


def kept_difference_k(
    depth_mm: float, warmth: str | Warmth, material: str | Material = "steel", heat_capacity_j_kgk: float | None = None
) -> float:
    """Difference between two edges that a steady warmth on one of them keeps up.

    Parameters
    ----------
    depth_mm : float
    warmth : str or Warmth
        A name in `WARMTHS`, or your own.
    material : str or Material
    heat_capacity_j_kgk : float, optional
        For a material that is not in `HEAT_CAPACITY_J_KGK`.

    Returns
    -------
    float
        Kelvin, to be used in `heat_bow_um`.

    Raises
    ------
    ValueError
        Where the warmth or the material is not known, or a measure is not above 0.

    Notes
    -----
    q h / 2k, with k = diffusivity x density x heat capacity. Derived: where no
    heat leaves the other edges, the whole bar warms evenly in time, and the
    temperature through the depth is a parabola whose bending moment is that of
    a straight slope with this difference. It does not see heat that leaves
    again, or a spot that is shorter than the bar.

    Examples
    --------
    >>> round(kept_difference_k(40, "the sun through a window"), 2)
    0.16
    """
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    matter = material_of(material)
    source = warmth if isinstance(warmth, Warmth) else WARMTHS[checks.choice(warmth, "warmth", tuple(WARMTHS))]
    if heat_capacity_j_kgk is None:
        checks.choice(matter.name, "material without heat_capacity_j_kgk", tuple(MATERIALS))
        heat_capacity_j_kgk = HEAT_CAPACITY_J_KGK[matter.name]
    capacity = checks.number(heat_capacity_j_kgk, "heat_capacity_j_kgk", 0, above=True)
    conductivity = matter.diffusivity_mm2_s * 1e-6 * matter.density_kg_m3 * capacity
    return source.w_m2 * depth * 1e-3 / (2 * conductivity)
