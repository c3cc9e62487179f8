"""A file that tips over the end of a bar, the ways of leading it that cure this, and which of its sides is led."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from simulate.bench.cutting.file_belly import FLATTEST_MM
from simulate.bench.cutting.tools import NEAR, Hands, Tool, tool_of
from simulate.core import checks

STROKES = ("along", "crossed", "drawn", "across")
"""How a file is led: pushed along the bar; at half a right angle from either side in turn; across the bar and drawn;
pushed across it, as over a way or a blade."""

WAYS = {
    "along the bar": {},
    "along, from both ends": {"both_ends": True},
    "along, to the chalk": {"chalk": True},
    "crossed strokes": {"stroke": "crossed"},
    "draw-filing": {"stroke": "drawn"},
}
"""What a learner chooses from, and what `lead` takes for it."""

WIDTH_MM, DRAWN_MM, DRAWN_BITE = 25.0, 60.0, 0.4
"""Width of a file, how far from a contact draw-filing takes metal, and its part of a stroke's metal
(common practice, no source)."""

CHALKED = 0.5
"""Part of its overhang that a file keeps, where chalk shows how far to go (common practice, no source)."""


SIDES = ("bellied", "flat", "half-round")
"""Which side of a file cuts: the one with its usual belly; one that is all but straight; the round back of a
half-round file (common practice, no source)."""

ROUND_MM, ROUND_BITE, SHIFT_MM = 20.0, 0.5, 1.0
"""Roundness of a half-round file's back across its width, its part of a stroke's metal, as few of its teeth lie on, and
how far one stroke lies beside the last (common practice, no source)."""


def end_tips(x: np.ndarray, bars: int, tool: Tool, hands: Hands, rng: np.random.Generator) -> Iterator:
    """How much deeper one pass reaches at either end of bars, as (where, µm of shape (bars, places there)).

    A tool that hangs free over the last `tip_mm` of a bar tips there by the
    hands' angle: it reaches angle times distance below the face that carries
    it. This holds for a heavy stroke as for a light one.
    """
    if not hands.rock_deg or not tool.tip_mm:
        return
    half = 0.5 * (x[-1] - x[0])
    lever = np.abs(x - x[0] - half) - max(half - tool.tip_mm, 0.0)
    slope = 1000 * np.radians(hands.rock_deg) * tool.steady * np.abs(rng.standard_normal((2, bars, 1)))
    near, far = NEAR * slope[0], slope[1]
    if tool.both_ends:
        near = far = (near + far) / 2
    middle = x.size // 2
    first, last = np.flatnonzero(lever[:middle] > 0), middle + np.flatnonzero(lever[middle:] > 0)
    for place, angle in ((first, near), (last, far)):
        if place.size:
            end = slice(place[0], place[-1] + 1)
            yield end, angle * lever[end]


def lead(
    tool: str | Tool, stroke: str = "along", *, both_ends: bool = False, chalk: bool = False, side: str = SIDES[0]
) -> Tool:
    """Lead a file otherwise than straight along the bar, or by another of its sides.

    Parameters
    ----------
    tool : str or Tool
    stroke : str
        One of `STROKES`.
    both_ends : bool
        Half of the strokes of each pass from the other end of the bar.
    chalk : bool
        Chalk on the high places, and the file kept to it.
    side : str
        One of `SIDES`.

    Returns
    -------
    Tool
        As led so; a tool that is no file is what it was.

    Raises
    ------
    Refusal
        Where the rack holds no such tool, or there is no such stroke.

    Notes
    -----
    Derived: at half a right angle both the lever along the bar and the angle
    shrink by cos 45°, so that crossing halves what the tip reaches. Across the
    bar only the file's width lies along it: its half, 12.5 mm, is the lever
    (draw-filing usually gives a flatter face than cross-filing: published, a
    navy's training manual on tools). From both ends each end of the bar gets
    the mean of the far and the near end's tip. Chalk: common practice, no source.

    Sides, derived but for the figures: over a hollow of depth d a sole of radius R reaches 2 √(2 R d), so that the
    flat side, ten times as straight as the belly, bridges √10 times as far, and cuts a chosen stretch as much wider;
    drawn, it bridges no more than its width. A round back lies across its width on a strip: led along the bar it is
    bellied as the other side, crossed it has R / sin² 45° along the bar, drawn R, and strokes p apart leave grooves
    p² / 8 R deep between them. What a side does to the hands' angle this does not see.

    Examples
    --------
    >>> lead("second-cut file", "drawn").tip_mm
    12.5
    """
    led = tool_of(tool)
    checks.choice(stroke, "stroke", STROKES)
    checks.choice(both_ends, "both_ends", (False, True))
    checks.choice(chalk, "chalk", (False, True))
    checks.choice(side, "side", SIDES)
    if not led.is_file:
        return led
    if stroke == "crossed":
        led = replace(led, tip_mm=led.tip_mm * np.sqrt(0.5), steady=led.steady * np.sqrt(0.5))
    if stroke == "drawn":
        led = replace(
            led,
            depth_um=DRAWN_BITE * led.depth_um,
            length_mm=DRAWN_MM,
            reach_mm=WIDTH_MM,
            tip_mm=WIDTH_MM / 2,
            steady=1.0,
            bite=DRAWN_BITE,
        )
    if stroke == "across":
        led = replace(led, tip_mm=WIDTH_MM / 2)
    led = _by_side(led, stroke, side)
    return replace(led, both_ends=both_ends, tip_mm=led.tip_mm * (CHALKED if chalk else 1.0))


def across(tool: str | Tool) -> Tool:
    """The tool as it goes over a way or a blade: a file given by its name is led across, others as they are.

    Along the body only half of the file's width is then a lever: 12.5 mm times 0.0065° is 1.4 µm.

    >>> across("smooth file").tip_mm, across("scraper").tip_mm, across(lead("smooth file")).tip_mm
    (12.5, 4.0, 125.0)
    """
    return lead(tool, "across") if isinstance(tool, str) else tool


def _by_side(led: Tool, stroke: str, side: str) -> Tool:
    if side == "flat":
        wider = 1.0 if stroke == "drawn" else np.sqrt(FLATTEST_MM / led.radius_mm)
        return replace(led, radius_mm=FLATTEST_MM, reach_mm=wider * led.reach_mm)
    if side == "half-round":
        led = replace(led, depth_um=ROUND_BITE * led.depth_um, bite=ROUND_BITE * led.bite)
        if stroke != "along":
            back = ROUND_MM * (2 if stroke == "crossed" else 1)
            groove = 1000 * SHIFT_MM**2 / (8 * ROUND_MM)
            return replace(led, radius_mm=back, reach_mm=led.reach_mm * np.sqrt(back / led.radius_mm), groove_um=groove)
    return led
