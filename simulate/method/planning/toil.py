"""Time and toil: what plates weigh, how long a marking and a run take, and what bars filed as one block save."""

from __future__ import annotations

from simulate.bench.cutting.tools import TOOLS
from simulate.core import checks
from simulate.method.planning.job import PACES
from simulate.method.plates.plate_history import PlateHistory

IRON_KG_MM3 = 7200e-9
_THICK = 8.0  # times thinner than wide: 50 mm for 400 mm
_LEAST_S, _MORE_S, _AT_MM = 120.0, 480.0, 400.0


def plate_kg(side_mm: float) -> float:
    """What a square plate of iron weighs that is an eighth as thick as wide.

    Parameters
    ----------
    side_mm : float

    Returns
    -------
    float

    Raises
    ------
    Refusal
        Where the side is not above 0.

    Examples
    --------
    >>> round(plate_kg(400)), round(plate_kg(250))
    (58, 14)
    """
    side = checks.number(side_mm, "side_mm", 0, above=True)
    return IRON_KG_MM3 * side**3 / _THICK


def marking_s(side_mm: float) -> float:
    """How long it takes to clean, spread, lift on, rub, lift off and read, for one marking of a pair.

    Parameters
    ----------
    side_mm : float

    Returns
    -------
    float
        Two minutes for small plates, ten for plates of 400 mm, which need two people or a hoist (common practice, no
        source; it grows with the area).

    Examples
    --------
    >>> marking_s(400) / 60, round(marking_s(200) / 60)
    (10.0, 4)
    """
    return _LEAST_S + _MORE_S * (checks.number(side_mm, "side_mm", 0, above=True) / _AT_MM) ** 2


def scraping_hours(history: PlateHistory, within_um: float = 0.0) -> float:
    """How many hours of one pair of hands a run of plates takes.

    Parameters
    ----------
    history : PlateHistory
        Of one workshop.
    within_um : float
        Until the worst plate is within this; the whole run where it never is.

    Returns
    -------
    float
        Markings, and strokes for the metal of all plates by the scraper's pace: right to a factor of two or three.

    Examples
    --------
    >>> import numpy as np
    >>> x, none = np.linspace(-200, 200, 3), np.zeros(2)
    >>> metal = np.array([[0.0] * 3, [1000.0] * 3])
    >>> run = PlateHistory(x, x, np.zeros((2, 3, 3, 3)), np.full((2, 3), 9.0), none, np.array([0, 6]), metal, ())
    >>> round(scraping_hours(run), 1)
    14.3
    """
    there = history.flatness_um.max(axis=-1) <= checks.number(within_um, "within_um", 0)
    end = int(there.argmax()) if there.any() else len(there) - 1
    pace, side = PACES["scraper"], float(history.x_mm[-1] - history.x_mm[0])
    strokes = history.metal_mm3[end].sum() / pace.stroke_mm3
    return float(history.passes[end] * marking_s(side) + strokes * pace.stroke_s) / 3600


def clamped_hours(
    start_um: float,
    left_um: float,
    length_mm: float = 500.0,
    *,
    width_mm: float = 10.0,
    bars: int = 3,
    tool: str = "bastard file",
) -> float:
    """How long it takes to file bars as one block, clamped side by side, before they are fitted one by one.

    Parameters
    ----------
    start_um : float
        How far each bar is out at the start.
    left_um : float
        How far the edges of the block are out when it is taken apart; all alike, and square to the sides.
    length_mm, width_mm : float
    bars : int
    tool : str

    Returns
    -------
    float

    Raises
    ------
    Refusal
        Where more is left than there was, or the tool has no pace.

    Notes
    -----
    Half of what stands proud comes off on the mean, from all bars; a block is looked at once a pass, and not once a
    pass and pair. That bars are first filed together: J. Rose, Modern Machine-Shop Practice.

    Examples
    --------
    >>> round(clamped_hours(500, 100), 1)
    0.9
    """
    start = checks.number(start_um, "start_um", 0)
    off = start - checks.number(left_um, "left_um", 0, start)
    pace = PACES[checks.choice(tool, "tool", tuple(PACES))]
    area = checks.number(length_mm, "length_mm", 0, above=True) * checks.number(width_mm, "width_mm", 0, above=True)
    strokes = checks.whole(bars, "bars", 1) * area * off / 2000 / pace.stroke_mm3
    return (strokes * pace.stroke_s + off / TOOLS[tool].depth_um * pace.look_s) / 3600
