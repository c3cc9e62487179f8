"""Equations of gaps between bodies in pairs, of which some may be known already."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from simulate.readings.adjustment.bounds import Contradiction
from simulate.readings.adjustment.equations import Equations
from simulate.readings.adjustment.observations import spreads
from simulate.readings.adjustment.repeatability import Resolution, least_of_points, rounding_sd
from simulate.readings.reference.hold import Hold, with_references
from simulate.readings.table.readings import Readings


class OfGaps(Protocol):
    """What a solution of pairs says of the readings it came from."""

    @property
    def reading_sd_um(self) -> float: ...
    @property
    def sd_from(self) -> str: ...
    @property
    def resolution(self) -> Resolution | None: ...
    @property
    def against(self) -> Contradiction | None: ...


def gap_equations(
    solution: OfGaps,
    table: Readings,
    design: np.ndarray,
    datum: np.ndarray,
    fits: tuple[np.ndarray, tuple[str, ...]],
    held: Hold | None,
    misfit_um: float = 0.0,
) -> Equations:
    """Return the equations that a solution of gaps came from.

    `table`: the round that was solved. `design` (readings, unknowns), `datum` (values, unknowns): with all bodies free.
    `fits`: which fit each reading belongs to, and what each fit is called. `held`: bodies that were known already.
    `misfit_um`: what intervals are out by beside their width. Returns: errors of bodies that were known come last among
    the unknowns.
    """
    reading, sd = spreads(table, solution.reading_sd_um)
    sd = np.maximum(sd, least_of_points(design, reading, ~table.is_interval, solution.sd_from, solution.resolution))
    sd = np.where(table.is_interval, np.hypot(sd, misfit_um), sd)
    if held is not None:
        reading, design, datum = reading - design @ held.shift, design @ held.turn, datum @ held.turn
    own = Equations(
        design,
        reading,
        sd,
        *fits,
        table.row,
        datum,
        solution.sd_from,
        against=solution.against,
        rounding=rounding_sd(solution.sd_from, solution.resolution),
    )
    return with_references(own, held)
