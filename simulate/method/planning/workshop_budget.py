"""From a black bar to an aligned machine on paper: one workshop's figures become the links of one chain."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from simulate.bench.bending.heat import heat_bow_um
from simulate.bench.bending.uniform_bar import sag
from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.method.lands.between_points import hides_between_um
from simulate.method.lands.stepping import step_lands
from simulate.method.uncertainty_budget import Chain, Link, combine_chain, half_width_sd

EYES = ("two eyes", "one eye, three bars", "one eye, stepped lands")
"""Who passes joints as dark: other eyes at the bed than at the bars; one habit of seeing at three bars compared in
pairs and at the bed; one habit at the land gauges, at each of their fits along the bar, and at the bed."""


@dataclass(frozen=True)
class Workshop:
    """What one workshop works with; every figure can be the learner's own.

    Attributes
    ----------
    length_mm, depth_mm : float
        Of the straightedge; the bed is as long.
    intervals : int
        Steps of the land gauge along it.
    land_sd_um : float
        Standard deviation of one fit of a land gauge.
    wave_mm, wave_um : float
        Length and amplitude of the waves that a file leaves between the lands.
    supports : float
        Distance between the supports of the straightedge, as a part of its length.
    heat_k : float
        Most that one edge may be warmer than the other.
    sight_um : float
        The widest gap that looks shut.
    eye : str
        One of `EYES`: whether sight at the bars and at the bed is one habit.
    plate_um : float
        How far the plate may be out over the foot of a square.
    square_urad : float
        Standard uncertainty of the square.
    reach_mm : float
        Height over which the square is used on the machine.
    dial_um : float
        Most that one reading of the dial may be out.
    """

    length_mm: float = 600.0
    depth_mm: float = 60.0
    intervals: int = 6
    land_sd_um: float = 0.8
    wave_mm: float = 60.0
    wave_um: float = 1.0
    supports: float = 0.554
    heat_k: float = 0.3
    sight_um: float = 2.5
    plate_um: float = 3.0
    square_urad: float = 25.0
    reach_mm: float = 100.0
    dial_um: float = 2.0
    eye: str = EYES[0]


@dataclass(frozen=True)
class Stage:
    """How far the work has come.

    Attributes
    ----------
    out_um : float
        How far it may be out, either way, for 95 %.
    links : tuple of str
        What is in it so far.
    round : int
        Which round of the land gauges it is; 0 for any other stage.
    """

    name: str
    out_um: float
    links: tuple[str, ...]
    round: int = 0


def workshop_links(shop: Workshop) -> tuple[Link, ...]:
    """Turn a workshop's figures into named links, each in micrometres at the middle of the bed.

    Returns: sight enters twice, at the bars and at the bed: by two eyes for itself, by one eye as one cause with a sign
    at each step. What it cannot see: other errors that two links share.

    Lands: the deviation of the middle station (`step_lands`). What is known as a bound counts by root three
    (JCGM 100:2008, 4.3.7; from memory).

    Sight of two eyes: chance of its own in each of three gaps makes root three over two at the bars.
    Sight of one eye is a habit z: every joint is passed as dark at the same sum z in the middle, with the ends in
    contact, so it lies along each body as a bow that is nothing at both ends. Three bars (or three land gauges) then
    have a = b = c = z/2, and a bed, being the opposite of its straightedge, z - z/2. A gauge fitted to a bar leaves
    z - z/2 there too, and n steps carry that to z/2 times n^2/4 in the middle (`step_lands`), so the bed has z less
    that.

    >>> [link.name for link in workshop_links(Workshop())][:3]
    ['lands', 'bar between lands', 'sag']
    """
    length, depth = (
        checks.number(shop.length_mm, "length_mm", 0, above=True),
        checks.number(shop.depth_mm, "depth_mm", 0, above=True),
    )
    steps = checks.whole(shop.intervals, "intervals", 2)
    lands = step_lands(steps, sd_um=checks.number(shop.land_sd_um, "land_sd_um", 0)).sd_um.max()
    wave_um = checks.number(shop.wave_um, "wave_um", 0)
    between = float(hides_between_um(length / steps, shop.wave_mm, wave_um)) if wave_um else 0.0
    supports = checks.number(shop.supports, "supports", 0, 1, above=True)
    hang = float(np.ptp(sag(length, depth, supports * length).height_um))
    square = checks.number(shop.square_urad, "square_urad", 0)
    return (
        Link("lands", float(lands)),
        Link("bar between lands", half_width_sd(between)),
        Link("sag", half_width_sd(hang)),
        Link("heat", half_width_sd(checks.number(shop.heat_k, "heat_k", 0)), float(heat_bow_um(length, depth, 1.0))),
        *_sight_links(shop, steps),
        Link("plate", half_width_sd(checks.number(shop.plate_um, "plate_um", 0))),
        Link("square", square, checks.number(shop.reach_mm, "reach_mm", 0) / 1000),
        Link("dial", half_width_sd(checks.number(shop.dial_um, "dial_um", 0)), math.sqrt(0.5)),
    )


def _sight_links(shop: Workshop, steps: int) -> tuple[Link, Link]:
    """Sight at the bars and at the bed; what the straightedge carries enters the bed with a minus."""
    sight = half_width_sd(checks.number(shop.sight_um, "sight_um", 0))
    eye = checks.choice(shop.eye, "eye", EYES)
    if eye == EYES[0]:
        return Link("sight at the bars", sight, math.sqrt(3) / 2), Link("sight at the bed", sight)
    if eye == EYES[1]:
        place, bar = "sight at the bars", 0.5
    else:
        place, bar = "sight at the lands", float(step_lands(steps, zero_um=0.5).bias_um[steps // 2])
    return Link(place, sight, -bar, cause="habit of seeing"), Link("sight at the bed", sight, cause="habit of seeing")


STAGES = (("straightedge", 5), ("bed", 6), ("square part on the bed", 8), ("aligned machine", 9))
"""Name of a stage, and how many of the links are in it."""


def workshop_chain(shop: Workshop, own: tuple[Link, ...] = (), coverage: float = 0.95) -> Chain:
    """Combine a workshop's links, with links of the learner's own.

    Parameters
    ----------
    shop : Workshop
    own : tuple of Link
    coverage : float

    Returns
    -------
    Chain

    Raises
    ------
    ValueError
        Where a figure is impossible, or an own link has the name of another.

    Examples
    --------
    >>> chain = workshop_chain(Workshop(), (Link("floor of the room", 0.5),))
    >>> len(chain.names), round(float(chain.share.sum()), 6)
    (10, 1.0)
    """
    return combine_chain([*workshop_links(shop), *own], coverage)


def on_paper(shop: Workshop, start_um: float = 500.0, share: float = 0.6) -> tuple[Stage, ...]:
    """Carry a black bar to the aligned machine on paper.

    Parameters
    ----------
    shop : Workshop
    start_um : float
        How far the black bars are out.
    share : float
        Part of the split's metal that the first bar gives up.

    Returns
    -------
    tuple of Stage
        The black bar, a stage for each round of three land gauges until sight stops it, and then as in `STAGES`.

    Raises
    ------
    ValueError
        Where a figure is impossible.

    Notes
    -----
    Derived: a round leaves abs(2 share - 1) of the error, and sight stops it; a stage holds every link of the
    stages before it.

    Examples
    --------
    >>> [round(stage.out_um) for stage in on_paper(Workshop())][:4]
    [500, 100, 20, 4]
    """
    out = checks.number(start_um, "start_um", 0, above=True)
    left = abs(2 * checks.number(share, "share", 0, 1) - 1)
    if left == 1:
        raise Refusal(
            "range",
            where="share",
            found=f"{share:g}",
            must_be="above 0 and below 1, because a split that one bar bears alone never ends",
        )
    floor = checks.number(shop.sight_um, "sight_um", 0, above=True)
    stages = [Stage("black bar", out, ())]
    while out > floor and len(stages) < 20:
        out = max(out * left, floor)
        stages.append(Stage(f"land gauges, round {len(stages)}", out, (), len(stages)))
    links = workshop_links(shop)
    for name, count in STAGES:
        stages.append(
            Stage(name, float(combine_chain(links[:count]).expanded_um), tuple(link.name for link in links[:count]))
        )
    return tuple(stages)
