"""Published tolerance grades for straightedges, squares and the lathe bed.

Limits marked "published" were read in a public copy of the table; those marked
"from memory" were not, and the standard itself is to be read before they count.
"""

from __future__ import annotations

from simulate.core import checks
from simulate.surface.tolerances.limits import sentence, where, whole_um

_DIN_875 = {"00": (2, 100), "0": (5, 50), "1": (10, 20), "2": (20, 10)}


def straightedge_limit_um(length_mm: float) -> float:
    """How far from straight a knife-edge straightedge may be (DIN 874-2, published).

    `length_mm`: 75 to 1000 mm. Returns: 2 + L/250, rounded to 1 um.

    >>> straightedge_limit_um(500)
    4.0
    """
    return whole_um(2 + checks.number(length_mm, "length_mm", 75, 1000) / 250)


def straightedge_grade_sentence(straightness_um: float, length_mm: float) -> str:
    """Say whether a bar would pass as a knife-edge straightedge.

    `straightness_um`: minimum-zone straightness. `length_mm`: 75 to 1000 mm.

    >>> straightedge_grade_sentence(12, 500)
    'outside the 4 µm for a knife-edge straightedge of 500 mm (DIN 874-2)'
    """
    limit = straightedge_limit_um(length_mm)
    found = where(checks.number(straightness_um, "straightness_um", 0), limit)
    return f"{found} the {limit:g} µm for a knife-edge straightedge of {length_mm:g} mm (DIN 874-2)"


def square_limits_um(height_mm: float) -> dict[str, float]:
    """How far out of square a steel square of each grade may be at its top (DIN 875, published).

    `height_mm`: length of the blade. Returns: 2 + L/100, 5 + L/50, 10 + L/20 and 20 + L/10, rounded to 1 um, finest
    grade first.

    >>> square_limits_um(100)
    {'00': 3.0, '0': 7.0, '1': 15.0, '2': 30.0}
    """
    height = checks.number(height_mm, "height_mm", 0, above=True)
    return {grade: whole_um(base + height / part) for grade, (base, part) in _DIN_875.items()}


def square_grade_sentence(out_um: float, height_mm: float, spelled: str = "") -> str:
    """Say which grade a square is inside (DIN 875, published).

    `out_um`: how far the top of the blade leans, either way. `spelled`: the height in the reader's own unit.

    >>> square_grade_sentence(-6, 100)
    'inside grade 0 for a blade of 100 mm (DIN 875)'
    """
    out = abs(checks.number(out_um, "out_um"))
    return sentence(
        out, "out_um", square_limits_um(height_mm), f"a blade of {spelled or f'{height_mm:g} mm'} (DIN 875)"
    )


def lathe_bed_limit_um(between_centres_mm: float) -> float:
    """How far from straight a lathe bed may be in the vertical plane, convex only (ISO 1708, from memory).

    `between_centres_mm`: up to 1000 mm. Returns: 10 um up to 500 mm, 20 um up to 1000 mm.

    >>> lathe_bed_limit_um(750)
    20.0
    """
    return 10.0 if checks.number(between_centres_mm, "between_centres_mm", 0, 1000, above=True) <= 500 else 20.0


def lathe_bed_sentence(crown_um: float, between_centres_mm: float) -> str:
    """Say whether a lathe bed may stay as it is (ISO 1708, from memory).

    `crown_um`: how far the middle stands above the ends; below 0 where it is hollow.

    >>> lathe_bed_sentence(-4, 500)
    'hollow by 4 µm: the bed may only be convex (ISO 1708†)'
    """
    limit = lathe_bed_limit_um(between_centres_mm)
    crown = checks.number(crown_um, "crown_um")
    if crown < 0:
        return f"hollow by {-crown:g} µm: the bed may only be convex (ISO 1708†)"
    return f"{where(crown, limit)} the {limit:g} µm for {between_centres_mm:g} mm between centres (ISO 1708†)"
