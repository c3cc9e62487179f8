"""Published tolerance grades for plates; `edges` holds those for straightedges, squares and the lathe bed.

Limits marked "published" were read in a public copy of the table; those marked
"from memory" were not, and the standard itself is to be read before they count.
"""

from __future__ import annotations

import math

from simulate.core import checks
from simulate.surface.tolerances.edge_grades import (
    lathe_bed_limit_um,
    lathe_bed_sentence,
    square_grade_sentence,
    square_limits_um,
    straightedge_grade_sentence,
    straightedge_limit_um,
)
from simulate.surface.tolerances.limits import half_um, sentence, whole_um

__all__ = [
    "lathe_bed_limit_um",
    "lathe_bed_sentence",
    "plate_grade_sentence",
    "plate_limits_um",
    "square_grade_sentence",
    "square_limits_um",
    "straightedge_grade_sentence",
    "straightedge_limit_um",
]

PLATE_STANDARDS = ("DIN 876", "ISO 8512", "GGG-P-463c")
"""Standards for surface plates that are known here."""

_DIN_876 = {"00": (2, 500), "0": (4, 250), "1": (10, 100), "2": (20, 50), "3": (40, 25)}
_ISO_8512 = {"0": (0.003, 2.5), "1": (0.006, 5), "2": (0.012, 10), "3": (0.024, 20)}
_GGG_P_463C = {"AA": 1, "A": 2, "B": 4}


def plate_limits_um(width_mm: float, depth_mm: float, standard: str = "DIN 876") -> dict[str, float]:
    """How far from flat a surface plate of each grade may be.

    `width_mm`, `depth_mm`: sides of the plate, either first. DIN 876 holds for a longer side from 200 to 6500 mm.
    `standard` ({"DIN 876", "ISO 8512", "GGG-P-463c"}). Returns: limit of each grade in micrometres, finest grade first.

    DIN 876 (published; grade 00 from memory): 2 + L/500, 4 + L/250, 10 + L/100, 20 + L/50
    and 40 + L/25 um, L the longer side in mm. ISO 8512 (from memory): c1 d + c2, d the
    diagonal rounded up to 100 mm, the limit rounded to half a micrometre in grade 0 and
    to 1 um in the others. GGG-P-463c, a federal specification for granite (published):
    40 + D^2/25 microinches in grade AA, D the diagonal in inches; twice and four times that
    in A and B. Its table of usual sizes rounds to 25 or 50 microinches.

    >>> plate_limits_um(1000, 630)
    {'00': 4.0, '0': 8.0, '1': 20.0, '2': 40.0, '3': 80.0}
    >>> plate_limits_um(630, 400, "ISO 8512")
    {'0': 5.0, '1': 10.0, '2': 20.0, '3': 39.0}
    >>> {grade: round(um, 2) for grade, um in plate_limits_um(609.6, 457.2, "GGG-P-463c").items()}
    {'AA': 1.93, 'A': 3.86, 'B': 7.72}
    """
    checks.choice(standard, "standard", PLATE_STANDARDS)
    width = checks.number(width_mm, "width_mm", 0, above=True)
    depth = checks.number(depth_mm, "depth_mm", 0, above=True)
    if standard == "DIN 876":
        longer = checks.number(max(width, depth), "the longer side in mm", 200, 6500)
        return {grade: base + longer / part for grade, (base, part) in _DIN_876.items()}
    if standard == "GGG-P-463c":
        finest = 0.0254 * (40 + (math.hypot(width, depth) / 25.4) ** 2 / 25)
        return {grade: times * finest for grade, times in _GGG_P_463C.items()}
    diagonal = 100 * math.ceil(math.hypot(width, depth) / 100 - 1e-9)
    return {grade: (half_um if grade == "0" else whole_um)(c1 * diagonal + c2) for grade, (c1, c2) in _ISO_8512.items()}


def plate_grade_sentence(flatness_um: float, width_mm: float, depth_mm: float, standard: str = "DIN 876") -> str:
    """Say which grade a plate is inside.

    `flatness_um`: minimum-zone flatness. `standard` ({"DIN 876", "ISO 8512", "GGG-P-463c"}).

    >>> plate_grade_sentence(18, 400, 250)
    'inside grade 2 for 400 × 250 mm (DIN 876)'
    >>> plate_grade_sentence(90, 400, 250)
    'outside grade 3, the coarsest, for 400 × 250 mm (DIN 876)'
    """
    limits = plate_limits_um(width_mm, depth_mm, standard)
    return sentence(flatness_um, "flatness_um", limits, f"{width_mm:g} × {depth_mm:g} mm ({standard})")
