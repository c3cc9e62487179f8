"""Inside or outside: how a value stands to a list of limits, said in words."""

from __future__ import annotations

import math

from simulate.core import checks


def sentence(value: float, name: str, limits: dict[str, float], place: str) -> str:
    """Say the finest grade whose limit holds.

    `name`: how a refusal calls the value. `limits`: finest grade first. `place`: what the limits are for.

    >>> sentence(3, "flatness_um", {"0": 2, "1": 4}, "a plate")
    'inside grade 1 for a plate'
    """
    found = checks.number(value, name, 0)
    for grade, limit in limits.items():
        if where(found, limit) == "inside":
            return f"inside grade {grade} for {place}"
    return f"outside grade {grade}, the coarsest, for {place}"


def where(value: float, limit: float) -> str:
    """Inside, up to the rounding of a computer: a value equal to the limit passes.

    >>> where(4, 4)
    'inside'
    """
    return "inside" if value <= limit * (1 + 1e-9) else "outside"


def whole_um(value: float) -> float:
    """Round to whole micrometres, halves up, as tables of limits do.

    >>> whole_um(2.5)
    3.0
    """
    return float(math.floor(value + 0.5 + 1e-9))


def half_um(value: float) -> float:
    """Round to half micrometres, quarters up, as the finest grade of a table of limits does.

    >>> half_um(3.4), half_um(11.5)
    (3.5, 11.5)
    """
    return whole_um(2 * value) / 2
