"""Taking metal off: one pass over a bar.

Metal only ever comes off. A pass takes it where the maker saw contact; the
tool lies on that contact and takes less where the face falls away below it,
unless it tips over a bar's end.
"""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from simulate.bench.cutting.rocking import end_tips
from simulate.bench.cutting.tools import Hands, Tool, tool_of
from simulate.core import checks
from simulate.core.chance import generator

PICK = 0.3
"""Part of the depth that the tool's corner takes from a seen contact which its sole bridges
(common practice, no source)."""


def hollow_um(x_mm: ArrayLike, height_um: ArrayLike, reach_mm: float, radius_mm: float = np.inf) -> np.ndarray:
    """Depth of each place under the tool that bridges it.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Evenly spaced positions.
    height_um : array_like, shape (..., points)
    reach_mm : float
        Length over which the tool bridges.
    radius_mm : float
        Roundness of its sole.

    Returns
    -------
    ndarray, shape (..., points)
        0 where the tool reaches the face; else how deep the hollow is under
        the sole that rests on two points equally far left and right, up to
        `reach_mm` apart (spans are thirds of thirds of it).

    Raises
    ------
    ValueError
        Where shapes differ or a number is not finite.

    Examples
    --------
    >>> hollow_um([0, 10, 20, 30, 40], [0, 0, -5, 0, 0], 20)
    array([0., 0., 5., 0., 0.])
    """
    x = checks.even_positions(x_mm)
    h = checks.profiles(height_um, x.size)
    if not isinstance(radius_mm, float) or radius_mm != np.inf:
        radius_mm = checks.number(radius_mm, "radius_mm", 0, above=True)
    return bridged(h, x[1] - x[0], checks.number(reach_mm, "reach_mm", 0), radius_mm)


def bridged(h: np.ndarray, step_mm: float, reach_mm: float, radius_mm: float = np.inf) -> np.ndarray:
    """Depth under a bridging sole, unchecked: the inner loop of every pass.

    `h` (..., points). Returns (..., points).

    >>> bridged(np.array([0., -3., 0.]), 1.0, 2.0)
    array([0., 3., 0.])
    """
    under = 2 * h
    span = int(reach_mm / 2 / step_mm + 1e-9)
    while span:
        if 2 * span < h.shape[-1]:
            chord = h[..., 2 * span :] + h[..., : -2 * span]
            chord -= 1000 * (span * step_mm) ** 2 / radius_mm
            inner = under[..., span:-span]
            np.maximum(inner, chord, out=inner)
        span //= 3
    under *= 0.5
    under -= h
    return under


def depth_map(
    x: np.ndarray,
    h: np.ndarray,
    gap_um: np.ndarray,
    depth_um: np.ndarray | float,
    sight_um: float,
    tool: Tool,
    hands: Hands,
    rng: np.random.Generator,
    part: float = 1.0,
) -> np.ndarray:
    """Metal one pass takes, unchecked.

    `x` (points,). `h` (bars, points): the bars that lie in the vice. `gap_um` (bars, points): the gap of the fit that
    was looked at. `depth_um` (bars, 1): metal per pass. `sight_um` (bars, 1): gaps up to this look like contact.
    `part`: part of the metal between the two faces that these bars give up: 1 where only they are filed. Returns (bars,
    points): never below 0.

    >>> from simulate.bench.cutting.tools import TOOLS
    >>> x = np.linspace(-10, 10, 3)
    >>> rng = np.random.default_rng(1)
    >>> depth_map(x, np.zeros((1, 3)), np.array([[0., 9., 0.]]), 5.0, 1.0, TOOLS["stone"], Hands(0, 0), rng)
    array([[5., 0., 5.]])
    """
    step = x[1] - x[0]
    contact = gap_um <= sight_um
    deep = bridged(h, step, tool.reach_mm, tool.radius_mm)
    held = np.maximum(deep, gap_um if part == 1 else part * gap_um)
    np.copyto(held, np.minimum(deep, (1 - PICK) * depth_um, out=deep), where=contact)
    seldom = 1.0 if part >= 0.5 else part / (1 - part)  # who gives up less is filed less often
    for end, tip in end_tips(x, len(h), tool, hands, rng):  # nothing stops a tipped file there, however light it lies
        held[:, end] = np.minimum(held[:, end], part * gap_um[:, end] - seldom * tip)
    taken = np.subtract(depth_um, held, out=held)
    half = int(tool.length_mm / 2 / step)
    if half < x.size - 1:
        taken *= _within(contact, half)
    np.maximum(taken, 0.0, out=taken)
    if tool.groove_um:
        taken += np.minimum(taken, tool.groove_um) * rng.random(taken.shape)
    return np.multiply(taken, _uneven(x, len(h), hands, rng), out=taken)


def _within(contact: np.ndarray, half: int) -> np.ndarray:
    """Where a contact lies within `half` points to the left or right."""
    bars, points = contact.shape
    wide = np.zeros((bars, points + 2 * half), dtype=bool)
    wide[:, half : half + points] = contact
    near, span = wide.ravel(), 1  # all bars in one row: whether one of `span` points from here on touches
    while span <= 2 * half:
        step = min(span, 2 * half + 1 - span)
        near[:-step] |= near[step:]
        span += step
    return wide[:, :points]


def _uneven(x: np.ndarray, bars: int, hands: Hands, rng: np.random.Generator) -> np.ndarray:
    """Depth along the bar as a part of the middle's: a crown, and a few smooth waves of chance size."""
    crown = 1 + hands.crown * (2 * (x - 0.5 * (x[0] + x[-1])) / (x[-1] - x[0])) ** 2
    if not hands.scatter:
        return crown
    waves = np.concatenate([crown[None].astype(np.float32), _waves(x.size)])
    size = rng.standard_normal((bars, len(waves)), dtype=np.float32)
    size *= np.float32(hands.scatter / 2)
    size[:, 0] = 1
    uneven = size @ waves
    return uneven if hands.scatter < 0.15 else np.maximum(uneven, 0, out=uneven)


@cache
def _waves(points: int) -> np.ndarray:
    t = np.linspace(0, 2 * np.pi, points)
    return np.array([f(k * t) for k in (0.5, 1, 2, 4) for f in (np.sin, np.cos)], dtype=np.float32)


def take(
    x_mm: ArrayLike,
    height_um: ArrayLike,
    gap_um: ArrayLike,
    *,
    removal_um: float | None = None,
    sight_um: float = 2.5,
    tool: str | Tool = "second-cut file",
    hands: Hands = Hands(),
    seed: int | np.random.Generator | None = None,
) -> np.ndarray:
    """The heights of a bar after one pass.

    Parameters
    ----------
    x_mm : array_like, shape (points,)
        Evenly spaced positions.
    height_um : array_like, shape (..., points)
    gap_um : array_like, shape (..., points)
        The gap of the fit that was looked at.
    removal_um : float, optional
        Metal per pass; the tool's own depth by default.
    sight_um : float
        Gaps up to this look like contact.
    tool : str or Tool
    hands : Hands
    seed : int or Generator, optional

    Returns
    -------
    ndarray, shape (..., points)
        Nowhere higher than before.

    Raises
    ------
    ValueError
        Where shapes differ, a number is not finite or below what is possible.

    Examples
    --------
    >>> take([-10, 0, 10], [0, 0, 0], [9, 0, 9], removal_um=5, hands=Hands(0, 0))
    array([ 0., -5.,  0.])
    """
    x = checks.even_positions(x_mm)
    h = checks.profiles(height_um, x.size)
    gap = checks.gaps(checks.profiles(gap_um, x.size, "gap_um"))
    tool = tool_of(tool)
    checks.kind(hands, "hands", Hands)
    depth = tool.depth_um if removal_um is None else checks.number(removal_um, "removal_um", 0)
    sight_um = checks.number(sight_um, "sight_um", 0)
    h, gap = checks.together(height_um=h, gap_um=gap)
    rows = h.reshape(-1, x.size)
    taken = depth_map(x, rows, gap.reshape(rows.shape), depth, sight_um, tool, hands, generator(seed))
    return h - taken.reshape(h.shape)
