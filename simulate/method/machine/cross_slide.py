"""In the level plane: a head swung on its bolts, and a cross slide proved against a square that is turned over."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.machine.headstock import Axis


@dataclass(frozen=True)
class Swing:
    """How a head is swung until its axis runs along the bed, seen from above.

    `move_um` (...): how far the head moves where the dial stands; plus as the readings are plus. `turn_urad` (...): by
    how much that turns it. `left_um` (...): how far the axis then lies beside where it is wanted: the tail is set over
    by that.
    """

    move_um: np.ndarray
    turn_urad: np.ndarray
    left_um: np.ndarray


@dataclass(frozen=True)
class CrossSlide:
    """How square a slide runs across the axis.

    `slide_urad`, `sd_urad`: positive where a face that it turns comes out hollow; 0 is square. `square_urad`: what the
    square itself is out by; positive adds to the first reading.
    """

    slide_urad: float
    sd_urad: float
    square_urad: float


def swing(axis: Axis, pivot_mm: float, dial_mm: float, target_um: ArrayLike = 0.0) -> Swing:
    """Find how far a head is swung on its bolts.

    `axis`: found in the level plane, plus towards the tool. `pivot_mm`: where it turns: the bolt that stays tight, from
    the head's datum. `dial_mm`: where a dial watches the move, as far from the pivot as there is room. `target_um`:
    where the axis is wanted at the datum. Returns: what it cannot see: a head that shifts while its bolts are drawn
    tight; read the bar again.

    Derived: turned by the opposite of its turn about the pivot, the axis keeps its place there, rise + turn x
    pivot, and runs along the bed at that distance.

    >>> from simulate.method.machine.headstock import rise_and_turn
    >>> found = swing(rise_and_turn(10, 40, 100, 400), -200, 0)
    >>> float(found.move_um), float(found.left_um)
    (-20.0, -20.0)
    """
    pivot, dial = checks.number(pivot_mm, "pivot_mm"), checks.number(dial_mm, "dial_mm")
    if pivot == dial:
        raise Refusal(
            "place",
            where="dial_mm",
            found=f"{dial:g}, the pivot itself",
            must_be="another place, because a dial at the pivot shows no move",
        )
    checks.kind(axis, "axis", Axis)
    turn = np.asarray(axis.turn_urad)
    left = axis.rise_um + turn * pivot / 1000 - checks.numbers(target_um, "target_um")
    return Swing(-turn * (dial - pivot) / 1000, -turn, np.asarray(left))


def cross_slide(
    first_um: float, turned_um: float, travel_mm: float, *, reading_sd_um: float = 0.0, axis_sd_urad: float = 0.0
) -> CrossSlide:
    """Prove a cross slide against a square whose blade lies across, turned over between two readings.

    The base of the square lies along the axis (a turned bar, or the way that the axis was set to), the dial on the
    slide runs along the blade. Then the square is turned over, so that its blade lies across from the other side.

    `first_um`, `turned_um`: how much the dial gains from the middle outwards over the travel, before and after; plus
    where the outer end of the blade lies nearer to the head than the slide runs. `reading_sd_um`: standard deviation of
    such a difference. `axis_sd_urad`: standard uncertainty of the line that the base lay along. Returns: what it cannot
    see: a slide whose path is bent, and a blade that is: read it at more places.

    Derived, m1 = M + S and m2 = M - S: half the sum is the slide, half the difference the square. A slide that is
    out by a turns a face of diameter D into a cone, a D / 2 deep. A lathe may turn it hollow and never proud
    (ISO 1708, from memory).

    >>> found = cross_slide(9.0, 3.0, 150.0, reading_sd_um=1.5)
    >>> found.slide_urad, round(found.sd_urad), found.square_urad
    (40.0, 7, 20.0)
    """
    travel = checks.number(travel_mm, "travel_mm", 0, above=True)
    first, turned = checks.number(first_um, "first_um"), checks.number(turned_um, "turned_um")
    slide, square = (first + turned) / (2 * travel) * 1000, (first - turned) / (2 * travel) * 1000
    read = checks.number(reading_sd_um, "reading_sd_um", 0) / np.sqrt(2) / travel * 1000
    sd = float(np.hypot(read, checks.number(axis_sd_urad, "axis_sd_urad", 0)))
    return CrossSlide(slide, sd, square)
