"""The part of three plates that an order of turns leaves exactly as it was."""

from __future__ import annotations

import numpy as np

from simulate.core import checks
from simulate.method.plates.symmetry import beyond_plane, family_parts
from simulate.method.plates.three_plate_loop import FACE_TO_FACE, HALF_TURNS, QUARTER_TURNS

ORDERS = {"face to face": FACE_TO_FACE, "half turns": HALF_TURNS, "quarter turns": QUARTER_TURNS}
"""Each pair as it lies, after a half turn as well, after a quarter turn as well."""


def unseen_part(height_um: np.ndarray, order: str) -> np.ndarray:
    """Take from a set of plates what no fit of an order shows.

    `height_um` (..., plates, rows, columns): three or more plates; for quarter turns as many rows as columns. `order`
    ({"face to face", "half turns", "quarter turns"}). Returns (..., rows, columns): the shape that all plates carry
    alike, in µm.

    Derived: turning a plate over mirrors it, so a shape that changes its sign
    when mirrored is cancelled by the same shape on the other plate. Half turns
    ask for the other mirror as well: only what changes its sign in both is
    left. Quarter turns leave of that only the pinwheel. Scraping both plates
    alike cannot change it, for it takes the mirrored metal from both.

    >>> x = np.linspace(-1, 1, 5)
    >>> twist = np.stack([np.outer(x, x)] * 3)
    >>> round(float(np.ptp(unseen_part(twist, "half turns"))), 6)
    2.0
    >>> round(float(np.ptp(unseen_part(twist, "quarter turns"))), 6)
    0.0
    """
    checks.choice(order, "order", tuple(ORDERS))
    mean = beyond_plane(height_um).mean(axis=-3)
    if order == "quarter turns":
        return family_parts(mean)["pinwheel"]
    odd = (mean - mean[..., ::-1]) / 2
    if order == "half turns":
        odd = (odd - odd[..., ::-1, :]) / 2
    return odd
