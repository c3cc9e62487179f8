"""What takes metal off: the tools of the rack, and the hands that lead them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.surface import checks


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
    """

    name: str
    depth_um: float
    length_mm: float
    reach_mm: float
    radius_mm: float
    source: str

    def __post_init__(self) -> None:
        """Refuse a tool that takes nothing or has no length."""
        for name in ("depth_um", "length_mm"):
            checks.number(getattr(self, name), name, 0, above=True)
        checks.number(self.reach_mm, "reach_mm", 0)
        if not isinstance(self.radius_mm, float) or self.radius_mm != np.inf:
            checks.number(self.radius_mm, "radius_mm", 0, above=True)


@dataclass(frozen=True)
class Hands:
    """How steady the maker is.

    Attributes
    ----------
    crown : float
        Extra metal taken at the ends, as a part of the depth: hands rock, and
        filed faces come out convex far more often than hollow (published:
        C. Holtzapffel, Turning and Mechanical Manipulation; J. Moxon,
        Mechanick Exercises). The figure itself is common practice, no source.
    scatter : float
        Spread of the depth from place to place, as a part of it (common
        practice, no source).

    Examples
    --------
    >>> Hands(crown=0, scatter=0)
    Hands(crown=0, scatter=0)
    """

    crown: float = 0.06
    scatter: float = 0.10

    def __post_init__(self) -> None:
        """Refuse hands that no person has."""
        checks.number(self.crown, "crown", 0, 1)
        checks.number(self.scatter, "scatter", 0, 1)


SKILLS = {"a practised hand": Hands(0.03, 0.05), "a usual hand": Hands(), "a beginner's hand": Hands(0.12, 0.20)}
"""How steady hands are, by skill (common practice, no source)."""

_PRACTICE = "common practice, no source"
TOOLS = {
    t.name: t
    for t in (
        Tool("bastard file", 30.0, 300.0, 60.0, 10_000.0, _PRACTICE),
        Tool("second-cut file", 15.0, 250.0, 50.0, 10_000.0, _PRACTICE),
        Tool("smooth file", 6.0, 200.0, 40.0, 10_000.0, _PRACTICE),
        Tool("scraper", 4.0, 20.0, 12.0, 100.0, "2 to 10 µm a pass (published, weak)"),
        Tool("stone", 0.5, 100.0, 50.0, np.inf, _PRACTICE),
    )
}


def tool_of(tool: str | Tool) -> Tool:
    """Return a tool by its name, or the tool itself.

    Parameters
    ----------
    tool : str or Tool

    Returns
    -------
    Tool

    Raises
    ------
    ValueError
        Where the rack holds no such tool.

    Examples
    --------
    >>> tool_of("scraper").depth_um
    4.0
    """
    return tool if isinstance(tool, Tool) else TOOLS[checks.choice(tool, "tool", tuple(TOOLS))]
