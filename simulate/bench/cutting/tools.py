"""What takes metal off: the tools of the rack, and the hands that lead them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks


@dataclass(frozen=True)
class Tool:
    """A cutting tool.

    Attributes
    ----------
    name : str
    depth_um : float
        Metal taken by one usual pass at the place of contact.
    length_mm : float
        How far from a seen contact the stroke takes metal.
    reach_mm : float
        Longest chord over which the tool bridges.
    radius_mm : float
        Roundness of its sole: a bellied file touches in a hollow that is less
        curved than itself; ``inf`` for a flat sole.
    source : str
        Where the figures come from.
    tip_mm : float
        Over how much of a bar's end the tool hangs free and may tip: half of a
        file that is pushed along the bar; 0 for a tool that never tips.
    steady : float
        Part of the hands' angle that is left in the tool.
    both_ends : bool
        Whether half of the strokes of a pass come from the bar's other end.
    bite : float
        Metal of one stroke, as a part of the usual stroke's.
    groove_um : float
        Deepest groove that a stroke leaves between itself and the next along the bar.
    is_file : bool
        Whether it is one, which can be led in several ways and by several sides.
    """

    name: str
    depth_um: float
    length_mm: float
    reach_mm: float
    radius_mm: float
    source: str
    tip_mm: float = 0.0
    steady: float = 1.0
    both_ends: bool = False
    bite: float = 1.0
    groove_um: float = 0.0
    is_file: bool = False

    def __post_init__(self) -> None:
        """Refuse a tool that takes nothing or has no length."""
        for name in ("depth_um", "length_mm"):
            checks.number(getattr(self, name), name, 0, above=True)
        for name in ("reach_mm", "tip_mm", "steady", "groove_um"):
            checks.number(getattr(self, name), name, 0)
        checks.number(self.bite, "bite", 0, 1, above=True)
        if not isinstance(self.radius_mm, float) or self.radius_mm != np.inf:
            checks.number(self.radius_mm, "radius_mm", 0, above=True)


@dataclass(frozen=True)
class Hands:
    """How steady the maker is.

    Attributes
    ----------
    rock_deg : float
        Spread of the angle by which the strokes of a pass tip along the bar,
        off the face that carries the file. Where the face carries all of the
        file it cannot tip; over the last half length of the file at either end
        of the bar nothing holds it up (the overhanging ends change the lever
        power and so make a curved face: T. Clark, Workshop Notes; filed faces
        come out convex far more often than hollow: C. Holtzapffel, Turning and
        Mechanical Manipulation). The angle does not shrink with the pressure,
        so that light passes do not cure it. The figures are set so that filing ends where the
        trade says it does (common practice, no source).
    scatter : float
        Spread of the depth from place to place, as a part of it (common
        practice, no source).
    crown : float
        Extra metal at the ends as a part of the depth: how hands rocked in
        the practice bench's first rules, and nowhere else.
    across_deg : float
        Spread of the angle by which strokes along an edge tip across it. So narrow an edge hardly guides the file: the
        angle is far above `rock_deg`, and goes with it from skill to skill (common practice, no source).

    Examples
    --------
    >>> Hands(rock_deg=0, scatter=0).crown
    0.0
    """

    rock_deg: float = 0.0065
    scatter: float = 0.08
    crown: float = 0.0
    across_deg: float = 0.287

    def __post_init__(self) -> None:
        """Refuse hands that no person has."""
        checks.number(self.rock_deg, "rock_deg", 0, 5)
        checks.number(self.crown, "crown", 0, 1)
        checks.number(self.across_deg, "across_deg", 0, 5)
        checks.number(self.scatter, "scatter", 0, 1)


SKILLS = {
    "a practised hand": Hands(0.002, 0.05, across_deg=0.088),
    "an average hand": Hands(),
    "a beginner's hand": Hands(0.012, 0.15, across_deg=0.53),
}
"""How steady hands are, by skill: one set for all lessons (common practice, no source)."""

NEAR = 0.5
"""Part of the angle at the bar's near end, over which the hand at the handle holds the file
(common practice, no source)."""

_PRACTICE = "common practice, no source"
TOOLS = {
    t.name: t
    for t in (
        Tool("bastard file", 30.0, 300.0, 60.0, 10_000.0, _PRACTICE, 150.0, (250 / 300) ** 2, is_file=True),
        Tool("second-cut file", 15.0, 250.0, 50.0, 10_000.0, _PRACTICE, 125.0, is_file=True),
        Tool("smooth file", 6.0, 250.0, 40.0, 10_000.0, _PRACTICE, 125.0, is_file=True),
        Tool("scraper", 4.0, 20.0, 12.0, 100.0, "2 to 10 µm a pass (published, weak)", 4.0),
        Tool("stone", 0.5, 100.0, 50.0, np.inf, _PRACTICE, 10.0),
    )
}


def tool_of(tool: str | Tool) -> Tool:
    """Return a tool by its name, or the tool itself.

    >>> tool_of("scraper").depth_um
    4.0
    """
    return tool if isinstance(tool, Tool) else TOOLS[checks.choice(tool, "tool", tuple(TOOLS))]
