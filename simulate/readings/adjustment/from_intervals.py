"""What intervals leave of bodies of any kind: the record that bars and plates share."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.adjustment.bounds import Bounds
from simulate.readings.adjustment.end_errors import EndErrors
from simulate.readings.adjustment.posterior import Posterior


@dataclass(frozen=True, kw_only=True)
class FromIntervals:
    """What intervals, and points among them, say of bodies.

    `of_heights`: of all heights that were read, body by body. `gap_um` (readings,): of each reading, as the posterior's
    mean has it. `bounds`: of the heights, where they were asked for. `of_errors`: where some bodies were known already:
    covariance of the heights with the errors of those, and the errors' own mean and covariance.
    """

    of_heights: Posterior
    gap_um: np.ndarray
    bounds: Bounds
    errors: EndErrors
    place_mm: float
    of_errors: tuple[np.ndarray, np.ndarray, np.ndarray] | None = None
