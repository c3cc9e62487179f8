"""What bars are made of, as far as bending and heat ask."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.core import checks


@dataclass(frozen=True)
class Material:
    """What a bar is made of.

    Attributes
    ----------
    young_gpa : float
        Stiffness (Young's modulus).
    expansion_per_k : float
        Growth of one length for one kelvin.
    diffusivity_mm2_s : float
        How fast heat evens out: conductivity / (density x heat capacity).
    """

    name: str
    young_gpa: float
    density_kg_m3: float
    expansion_per_k: float
    diffusivity_mm2_s: float
    source: str = "own value"


_MEMORY = "handbooks, from memory"
MATERIALS = {
    "steel": Material("steel", 210.0, 7850.0, 11.5e-6, 13.0, _MEMORY),
    "grey iron": Material("grey iron", 110.0, 7200.0, 10.5e-6, 14.0, _MEMORY),
    "granite": Material("granite", 55.0, 2850.0, 6.0e-6, 1.3, _MEMORY),
}
"""Middle values; single pieces differ: steel 200-210 GPa, iron 100-120, granite 40-70 and 4-8e-6 / K."""


def material_of(material: str | Material) -> Material:
    """The material of that name, or a checked material of your own.

    >>> material_of("steel").density_kg_m3
    7850.0
    """
    found = (
        material if isinstance(material, Material) else MATERIALS[checks.choice(material, "material", tuple(MATERIALS))]
    )
    for name in ("young_gpa", "density_kg_m3", "diffusivity_mm2_s"):
        checks.number(getattr(found, name), f"{name} of {found.name}", 0, above=True)
    checks.number(found.expansion_per_k, f"expansion_per_k of {found.name}")
    return found
