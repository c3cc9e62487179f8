"""How light through a gap looks: dark, a blue or a red glow, or white, and how bright."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks

DARK, BLUE, RED, FAINT, CLEAR, BRIGHT = range(6)
"""What an eye tells apart, from the narrowest gap to the widest."""

WORDS = ("dark", "blue", "red", "white, faint", "white, clear", "white, bright")

_EDGES_UM = (0.6, 1.0)  # dark | blue | red, and white from the threshold
_BRIGHTER = (4.0, 20.0)  # times the threshold
KNIFE_EDGE_UM = 2.5


def glow(gap_um: ArrayLike, threshold_um: float = KNIFE_EDGE_UM) -> np.ndarray:
    """Say how the light in a gap looks against a lamp.

    `gap_um`: true gaps, none below 0. `threshold_um`: the gap from which white light is told from none. Up to
    `KNIFE_EDGE_UM` it is a knife edge, where narrower gaps glow in colour; over a wider edge nothing narrower is seen
    at all. Returns `DARK` to `BRIGHT`.

    Against a knife edge a gap of about 2 to 2.5 µm shows light; it turns red
    near 1.2 to 1.8 µm and blue near 0.8 µm (2 µm: Wikipedia, German edition,
    Haarlineal, 2023; the rest from memory). The limits of the colours are ours: blue from 0.6 µm,
    red from 1 µm, white from the threshold. A wider gap is brighter; where an
    eye calls it clear or bright is common practice, no source. No eye reads a width in µm off the brightness.

    >>> [WORDS[k] for k in glow([0.3, 0.8, 1.5, 3, 40, 200])]
    ['dark', 'blue', 'red', 'white, faint', 'white, clear', 'white, bright']
    >>> glow([0.8, 1.5, 7], threshold_um=6.0).tolist()
    [0, 0, 3]
    """
    gap = checks.gaps(checks.numbers(gap_um, "gap_um"))
    threshold = checks.number(threshold_um, "threshold_um", 0, above=True)
    knife = threshold <= KNIFE_EDGE_UM
    found = np.full(gap.shape, DARK)
    if knife:
        found[gap > _EDGES_UM[0]] = BLUE
        found[gap > _EDGES_UM[1]] = RED
    found[gap > threshold] = FAINT
    found[gap > _BRIGHTER[0] * threshold] = CLEAR
    found[gap > _BRIGHTER[1] * threshold] = BRIGHT
    return found
