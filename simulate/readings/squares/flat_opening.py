"""A flat that is known already, under squares that stand blade to blade: by how much it makes every pair open."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simulate.core.refusal import Refusal, counted
from simulate.readings.network.features import slope_weights
from simulate.readings.reference.known import Known, laid_over

FLAT = "the flat"
KINDS = ("plates", "bars")
"""What a flat may be known as: a whole plate, or the line on which the squares stood."""


def opening_of(known: Known) -> Known:
    """Turn the heights of a flat into the angle by which it opens every pair.

    `known`: heights over a plate, of which the line through its middle along x counts, or along one line. Returns: one
    angle in urad, which every pair gains. What it cannot see: where on the flat a pair really stood.

    Derived: the blades meet over the middle, and either foot reaches from there to the end. A foot takes the slope of
    its half, the least-squares line: one that rises to the joint leans its blade away from the other.

    >>> from simulate.readings.reference.certificate import from_certificate
    >>> line = from_certificate("the flat", "bars", 3.0, 0.0, x_mm=np.array([0.0, 100, 200, 300, 400]))
    >>> crowned = replace(line, value=np.array([-4.0, -1.0, 0.0, -1.0, -4.0]))
    >>> opening_of(crowned).value.round(6).tolist()  # both halves rise by 2 um in 100 mm to the joint
    [40.0]
    """
    x, mix = _line(known)
    middle = (x.min() + x.max()) / 2
    halves = [np.flatnonzero(side) for side in (x <= middle + 1e-6, x >= middle - 1e-6)]
    if min(np.unique(x[half]).size for half in halves) < 2:
        raise Refusal(
            "count",
            where=f"{known.name}, known from {known.said},",
            found=f"{counted(x.size, 'known place')} along its middle",
            must_be="two or more on either side of the middle",
        )
    left, right = (slope_weights(x, half) for half in halves)
    weights = 1000.0 * (left - right) @ mix
    return replace(
        known,
        kind="squares",
        value=np.array([weights @ known.value]),
        root=(weights @ known.root)[None],
        x_mm=None,
        y_mm=None,
        low=None,
        high=None,
    )


def flats_of(known: Sequence[Known], every: Sequence[str]) -> list[Known]:
    """Give the opening of a flat that is known; none where a square has its name.

    `every`: squares of the file.
    """
    if FLAT in every:
        return []
    return [opening_of(one) for one in known if isinstance(one, Known) and one.name == FLAT and one.kind in KINDS]


def _line(known: Known) -> tuple[np.ndarray, np.ndarray]:
    """Places along the line of the feet, and how heights there are mixed from those that are known."""
    x = np.unique(np.asarray(known.x_mm, float).round(3))
    if known.y_mm is None:
        own = np.asarray(known.x_mm, float)
        order = np.argsort(own)
        return own[order], np.eye(order.size)[order]
    middle = np.full(x.size, (known.y_mm.min() + known.y_mm.max()) / 2)
    return x, laid_over(known, x, middle)
