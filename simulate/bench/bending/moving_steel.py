"""Steel that moves under the work: what a cut lets go, what a hand presses, and where a bar gives way to the file."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.bench.bending.materials import Material
from simulate.bench.bending.stress import STOCKS, Stock, press_bend_um, relief_bow_um, vice_bend_um
from simulate.core import checks

JAWS_MM = 120.0
"""Width of a vice's jaws (common practice, no source)."""

FILE_N = 100.0
"""How hard a file is pressed in a pass of its usual depth; less for a lighter one (from memory)."""

HAND_N = 20.0
"""How hard a hand presses that steadies a bar on another (common practice, no source)."""


@dataclass(frozen=True)
class Steel:
    """How bars move while they are worked; a figure of 0 leaves an effect out.

    Attributes
    ----------
    stock : str or Stock or None
        How the bars were made; None lets nothing go.
    rest_h : float
        Hours that the bars lie after each fit, before the next look.
    pass_h : float
        Hours of a pass, with its look.
    hand_n : float
        How hard a hand presses on the middle of the upper bar while it is looked at.
    file_n : float
        How hard the file presses on the ends of a bar that is held in its middle, in a pass of the tool's usual depth.
    depth_mm, width_mm : float
        Of the bars.
    material : str or Material
    """

    stock: str | Stock | None = None
    rest_h: float = 0.0
    pass_h: float = 0.05
    hand_n: float = 0.0
    file_n: float = 0.0
    depth_mm: float = 40.0
    width_mm: float = 10.0
    material: str | Material = "steel"

    def __post_init__(self) -> None:
        """Refuse a stock that nobody sells, and forces or hours below 0."""
        if not isinstance(self.stock, Stock) and self.stock is not None:
            checks.choice(self.stock, "stock", tuple(STOCKS))
        for name in ("rest_h", "pass_h", "hand_n", "file_n"):
            checks.number(getattr(self, name), name, 0)
        for name in ("depth_mm", "width_mm"):
            checks.number(getattr(self, name), name, 0, above=True)

    @property
    def moves(self) -> bool:
        """Whether there is any effect at all."""
        return self.stock is not None or self.hand_n > 0 or self.file_n > 0


STEELS = {
    "do not move": Steel(),
    "hot rolled, rested": Steel("hot rolled", rest_h=12.0),
    "hot rolled, never rested": Steel("hot rolled"),
    "bright drawn, rested": Steel("bright drawn", rest_h=12.0),
    "bright drawn, never rested": Steel("bright drawn"),
    "bright drawn, looked at in the vice": Steel("bright drawn", hand_n=HAND_N, file_n=FILE_N),
}
"""What a learner chooses from: how the bars were made, and whether they are laid down and rested after each fit."""


def bow_shape(x_mm: np.ndarray) -> np.ndarray:
    """A bow of 1 from the ends to the middle, proud there, which neither adds nor takes metal.

    >>> x = np.linspace(-250, 250, 501)
    >>> shape = bow_shape(x)
    >>> float(np.ptp(shape)), bool(abs(np.trapezoid(shape, x)) < 1e-9)
    (1.0, True)
    """
    u = (2 * x_mm - x_mm[0] - x_mm[-1]) / (x_mm[-1] - x_mm[0])
    bow = 1 - u**2
    return bow - np.trapezoid(bow, u) / 2


def let_go_um(x_mm: np.ndarray, taken_um: np.ndarray, steel: Steel) -> np.ndarray:
    """How far bars will have bowed once they have settled after a cut.

    `x_mm` (points,). `taken_um` (..., points): the layer that was taken off, which counts by its mean. Returns (...):
    positive where the middle comes out proud: `stress.relief_bow_um`.

    >>> x = np.linspace(-250, 250, 11)
    >>> float(let_go_um(x, np.full(11, 100.0), Steel("bright drawn")).round(1))
    8.4
    """
    mean = np.trapezoid(taken_um, x_mm) / (x_mm[-1] - x_mm[0])
    if steel.stock is None:
        return 0.0 * mean
    each = relief_bow_um(
        1e-3, x_mm[-1] - x_mm[0], steel.depth_mm, stock=steel.stock, material=steel.material
    )  # of one micrometre
    return each * mean


def settled_part(hours: float | np.ndarray, steel: Steel) -> float | np.ndarray:
    """Part of what is still to come that has come after so many hours.

    >>> round(float(settled_part(2.0, Steel("hot rolled"))), 2)
    0.63
    """
    if steel.stock is None:
        return 0.0 * np.asarray(hours)
    made = steel.stock if isinstance(steel.stock, Stock) else STOCKS[steel.stock]
    return -np.expm1(-np.asarray(hours) / made.settle_h)


def pressed_um(x_mm: np.ndarray, gap_um: np.ndarray, steel: Steel, *, lower_bends: bool = True) -> np.ndarray:
    """The gap as it is seen while a hand presses on the middle of the upper bar, and the lower one is held in a vice.

    `x_mm` (points,). `gap_um` (..., points): at rest. `lower_bends`: whether the bar in the vice gives way too. Returns
    (..., points).

    Derived: two beams in series. The upper one, on the two contacts that straddle the middle, bends by F l³ / (48 E I)
    down between them and, beyond them, up by the slope F l² / (16 E I). The lower one stands out of the jaws on either
    side as a cantilever with F / 2 at the contact, so that the contacts sink by F a³ / (6 E I), a = l / 2 less half of
    the jaws, and the upper bar with them. Where the two then touch, the hand lifts them no further. The jaws give way
    too, which this does not see.

    >>> x = np.linspace(-250, 250, 101)
    >>> gap = 20 * (1 - (x / 250) ** 2)
    >>> round(float(20 - pressed_um(x, gap, Steel(hand_n=20)).max()), 1)
    6.7
    """
    if not steel.hand_n:
        return gap_um
    rows = np.atleast_2d(gap_um)
    touch, middle = rows <= 1e-6 + rows.min(axis=1, keepdims=True), 0.5 * (x_mm[0] + x_mm[-1])
    left = np.where(touch & (x_mm <= middle), x_mm, -np.inf).max(axis=1, keepdims=True)
    right = np.where(touch & (x_mm >= middle), x_mm, np.inf).min(axis=1, keepdims=True)
    span = np.where(np.isfinite(right - left), right - left, 0.0)
    most = press_bend_um(steel.hand_n, 1.0, steel.depth_mm, steel.width_mm, steel.material) * span**3
    away = np.minimum(np.abs(x_mm - left), np.abs(right - x_mm)) / np.maximum(span, 1e-9)
    inside = (x_mm >= left) & (x_mm <= right)
    down = np.where(inside, most * away * (3 - 4 * away**2), -3 * most * away)
    if lower_bends:
        first, last = (np.where(span > 0, end - middle, 0.0) for end in (left, right))
        along = x_mm - middle
        sunk = _sunk_um(first, first, steel), _sunk_um(last, last, steel)
        chord = sunk[0] + (sunk[1] - sunk[0]) * (along - first) / np.maximum(span, 1e-9)
        down += chord - _sunk_um(along, first, steel) - _sunk_um(along, last, steel)
    return np.where(span > 0, np.maximum(rows - down, 0.0), rows).reshape(np.shape(gap_um))


def _sunk_um(along_mm: np.ndarray, load_mm: np.ndarray, steel: Steel) -> np.ndarray:
    """How far a bar that is held in its middle sinks under half of the hand's force, on the side of the load alone."""
    side = np.sign(load_mm)
    here = np.maximum(along_mm * side - JAWS_MM / 2, 0.0)
    load = np.maximum(load_mm * side - JAWS_MM / 2, 0.0)
    near, far = np.minimum(here, load), np.maximum(here, load)
    each = vice_bend_um(steel.hand_n / 2, 1.0, steel.depth_mm, steel.width_mm, steel.material)
    return each / 2 * near**2 * (3 * far - near)


def given_way(x_mm: np.ndarray, steel: Steel, usual_um: float) -> np.ndarray:
    """Part of a pass that is left of it along a bar that is held in its middle, as its ends give way to the file.

    `x_mm` (points,). `usual_um`: depth of a usual pass of the tool, for which the file is pressed with `file_n`.
    Returns (points,): 1 over the jaws, and less towards the ends.

    Derived: the file is led level, so that bar and bite give way in series. A bite takes `usual_um` where the bar is
    stiff; where it gives way by F a³ / (3 E I) as a cantilever, 1 / (1 + that over the usual depth) is left of it.

    >>> x = np.linspace(-250, 250, 5)
    >>> given_way(x, Steel(file_n=100), 20.0).round(2)
    array([0.49, 0.96, 1.  , 0.96, 0.49])
    """
    if not steel.file_n:
        return np.ones(x_mm.size)
    over = np.maximum(np.abs(x_mm - 0.5 * (x_mm[0] + x_mm[-1])) - JAWS_MM / 2, 0.0)
    each = vice_bend_um(steel.file_n, 1.0, steel.depth_mm, steel.width_mm, steel.material)
    return 1 / (1 + each * over**3 / usual_um)
