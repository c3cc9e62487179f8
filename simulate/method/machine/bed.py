"""A machine bed of two ways: how its form is judged, what strips and diagonals show, and how sure that is."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from simulate.core import checks
from simulate.core.chance import generator
from simulate.core.number_format import three
from simulate.core.refusal import Refusal, shape_words
from simulate.method.uncertainty_budget import Chain, Link, combine_chain, half_width_sd
from simulate.surface.starting_bars import starting_bars
from simulate.surface.straightness import straightness


@dataclass(frozen=True)
class BedForm:
    """How good a bed is.

    `straightness_um` (..., 2): of each way, front first, minimum zone. `crown_um` (..., 2): middle of each way over the
    line of its ends. `twist_urad` (...): how much more the tail end leans back than the head end (least squares); plus
    where the back way rises towards the tail. `corners_um` (...): the middle of one diagonal over the middle of the
    other.
    """

    straightness_um: np.ndarray
    crown_um: np.ndarray
    twist_urad: np.ndarray
    corners_um: np.ndarray


@dataclass(frozen=True)
class BedBudget:
    """How sure a bed is, from the gauges that were used on it.

    Attributes
    ----------
    straight : Chain
        Micrometres in the middle of a way.
    twist : Chain
        Micrometres across the bed, from one end to the other.
    """

    straight: Chain
    twist: Chain
    sentence: str


def starting_bed(
    length_mm: float,
    error_um: float,
    twist_urad: ArrayLike = 0.0,
    *,
    apart_mm: float = 200.0,
    points: int = 121,
    workshops: int | None = None,
    seed: int | np.random.Generator | None = None,
) -> tuple[np.ndarray, np.ndarray]:
    """Make a rough bed of two ways.

    `length_mm`, `error_um`: each way is out of straight by that. `twist_urad`: from the head to the tail. `apart_mm`:
    between the two ways. Returns `x_mm` (points,): the head at the left. `height_um` ([workshops,] 2, points): front
    way first.

    >>> x_mm, height_um = starting_bed(600, 150, 400, seed=1)
    >>> height_um.shape, judge_bed(x_mm, height_um, 200).straightness_um.round(3).tolist()
    ((2, 121), [150.0, 150.0])
    """
    apart = checks.number(apart_mm, "apart_mm", 0, above=True)
    x, h = starting_bars(length_mm, error_um, points=points, bars=2, workshops=workshops, seed=generator(seed))
    # each way's own line is taken out, so that the twist is the one that was asked for
    h = h - (h @ x / (x @ x))[..., None] * x
    half = checks.number(twist_urad, "twist_urad") * apart / 2000 * x / (x[-1] - x[0])
    return x, h + np.stack([-half, half])


def judge_bed(x_mm: ArrayLike, height_um: ArrayLike, apart_mm: float) -> BedForm:
    """Judge both ways and their twist.

    `x_mm` (points,). `height_um` (..., 2, points): front way first. Returns: what it does not judge: a common slope or
    lean of both ways, which the feet of the machine take up.

    >>> form = judge_bed([-300, 0, 300], [[0, 0, 0], [-20, 0, 20]], 200)
    >>> float(form.twist_urad.round(6)), float(form.corners_um)
    (200.0, 20.0)
    """
    x = checks.positions(x_mm)
    h = checks.profiles(height_um, x.size, bars=2)
    arm = x - x.mean()
    across = h[..., 1, :] - h[..., 0, :]
    twist = across @ arm / (arm @ arm) * (x[-1] - x[0]) / checks.number(apart_mm, "apart_mm", 0, above=True) * 1000
    corners = (h[..., 0, 0] + h[..., 1, -1] - h[..., 0, -1] - h[..., 1, 0]) / 2
    crown = _at(x, h, 0.5 * (x[0] + x[-1])) - (h[..., 0] + h[..., -1]) / 2
    return BedForm(straightness(x, h).value_um, crown, twist, corners)


def winding_strips_um(
    x_mm: ArrayLike, height_um: ArrayLike, apart_mm: float, at_mm: tuple[float, float], strip_mm: float
) -> np.ndarray:
    """Say what the eye sees over two winding strips that lie across the bed.

    `x_mm` (points,), `height_um` (..., 2, points). `at_mm`: where the strips lie, the nearer one first. `strip_mm`:
    their length: longer than the bed is wide, they show twist larger than it is. Returns (...): how much higher the
    back end of the far strip looks than that of the near one, fronts brought level.

    Derived: a strip makes the difference of the ways larger by its length over their distance. A twist that
    lies between the two strips and comes back before the second is not seen.

    >>> float(winding_strips_um([-300, 0, 300], [[0, 0, 0], [-20, 0, 20]], 200, (-300, 300), 400))
    80.0
    """
    x = checks.positions(x_mm)
    h = checks.profiles(height_um, x.size, bars=2)
    at = checks.numbers(at_mm, "at_mm")
    if at.shape != (2,):
        raise Refusal(
            "shape", where="at_mm", found=shape_words(at.shape), must_be="a row of 2, the two places of the strips"
        )
    near, far = (checks.number(place, "at_mm", x[0], x[-1]) for place in at)
    if near == far:
        raise Refusal(
            "same", where="at_mm", found=f"{near:g} twice", must_be="two places, because the strips lie apart"
        )
    gain = checks.number(strip_mm, "strip_mm", 0, above=True) / checks.number(apart_mm, "apart_mm", 0, above=True)
    across = h[..., 1, :] - h[..., 0, :]
    return gain * (_at(x, across, far) - _at(x, across, near))


def bed_budget(
    length_mm: float,
    apart_mm: float,
    *,
    edge_sd_um: float,
    gauge: str = "straightedge",
    sight_um: float = 2.5,
    heat_um: float = 0.0,
    strip_mm: float = 400.0,
    strip_sight_um: float = 50.0,
    diagonals: bool = True,
) -> BedBudget:
    """Say how sure a bed is, from the gauges that were used.

    Parameters
    ----------
    length_mm, apart_mm : float
        Of the ways.
    edge_sd_um : float
        Standard uncertainty of what lay along the ways: of a straightedge in its middle, of land gauges at the
        worst of their points (`land_map`).
    gauge : str
        What to call it.
    sight_um : float
        The widest gap that looks shut, or the thinnest feeler that would have been felt.
    heat_um : float
        Most that heat may bow the straightedge.
    strip_mm : float
        Length of the winding strips.
    strip_sight_um : float
        The smallest step between two strips that the eye sees (common practice, no source).
    diagonals : bool
        Whether both diagonals were read with the straightedge after the strips.

    Returns
    -------
    BedBudget
        What it cannot see: strips that are not parallel, unless they were changed over, and a bed that moves
        when it is bolted down.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    Derived, bounds by root three: strips give step x apart / strip; two diagonals give twice the difference of
    two gaps, and the straightedge's own bend is the same in both and drops out.

    Examples
    --------
    >>> budget = bed_budget(600, 200, edge_sd_um=4.0)
    >>> round(float(budget.straight.combined_um), 2), round(float(budget.twist.combined_um), 2)
    (4.25, 4.08)
    """
    length, apart = (
        checks.number(length_mm, "length_mm", 0, above=True),
        checks.number(apart_mm, "apart_mm", 0, above=True),
    )
    sight = half_width_sd(checks.number(sight_um, "sight_um", 0))
    straight = combine_chain(
        [
            Link(gauge, checks.number(edge_sd_um, "edge_sd_um", 0)),
            Link("sight at the ways", sight),
            Link("heat", half_width_sd(checks.number(heat_um, "heat_um", 0))),
        ]
    )
    strip = half_width_sd(checks.number(strip_sight_um, "strip_sight_um", 0))
    gain = apart / checks.number(strip_mm, "strip_mm", 0, above=True)
    twist = combine_chain(
        [Link("two diagonals", sight, 2 * math.sqrt(2)) if diagonals else Link("winding strips", strip, gain)]
    )
    across = float(twist.expanded_um)
    return BedBudget(
        straight,
        twist,
        (
            f"Ways of {length:g} mm: ± {three(float(straight.expanded_um))} µm in their middle; twist "
            f"± {three(across)} µm across {apart:g} mm, that is "
            f"{three(1000 * across / apart)} µm in a metre (uncertainties of 95 %)."
        ),
    )


def _at(x: np.ndarray, values: np.ndarray, place: float) -> np.ndarray:
    k = int(np.clip(np.searchsorted(x, place), 1, x.size - 1))
    part = (place - x[k - 1]) / (x[k] - x[k - 1])
    return (1 - part) * values[..., k - 1] + part * values[..., k]
