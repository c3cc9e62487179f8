"""What matters most in a plan: each input a little less and a little more."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from simulate.bench.cutting.tools import TOOLS, Hands
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.method.planning.plan import PACES, plan_job, seed_of

INPUTS = {
    "start_um": "how far out the bars start",
    "removal_um": "metal a pass takes",
    "share": "share of one bar",
    "sight_um": "smallest gap that is seen",
    "rock_deg": "angle that the hands rock by",
    "scatter": "unsteadiness of the hands",
    "look_s": "time of a check",
    "stroke_mm3": "metal a stroke takes",
}
"""What the inputs are called in words."""

_MOST = {"share": 1.0, "rock_deg": 5.0, "scatter": 1.0}


@dataclass(frozen=True)
class Effect:
    """What one input does, the others as they were.

    Attributes
    ----------
    name : str
        One of `INPUTS`.
    low, high : float
        The input, lowered and raised.
    hours, last_um : tuple of float
        Median hours, and median worst bar after the last round, at both.
    planned_hours : float
        With the input as it was.
    """

    name: str
    low: float
    high: float
    hours: tuple[float, float]
    last_um: tuple[float, float]
    planned_hours: float

    def moves_hours(self) -> float:
        """How far the hours move at most: a share that is out to either side costs hours both times.

        >>> Effect("share", 0.4, 0.6, (9.0, 8.5), (5.0, 5.0), 7.0).moves_hours()
        2.0
        """
        return max(abs(h - self.planned_hours) for h in self.hours)


def sensitivity(
    start_um: float,
    wanted_um: float,
    *,
    by: float = 0.25,
    removal_um: float = 10.0,
    share: float = 0.5,
    sight: Sight = Sight(),
    hands: Hands = Hands(),
    tool: str = "second-cut file",
    seed: int = 1,
    **more: object,
) -> tuple[Effect, ...]:
    """Which input matters most: each is lowered and raised by the same part.

    Parameters
    ----------
    start_um, wanted_um : float
    by : float
        0.25 for a quarter down and a quarter up, or up to what there can be: no share is above 1.
    removal_um, share : float
    sight : Sight
    hands : Hands
    tool : str
    seed : int
        The same starting bars for all.
    **more
        As `plan_job`.

    Returns
    -------
    tuple of Effect
        The one that moves the hours most first.

    Raises
    ------
    ValueError
        Where `by` is not above 0 and below 1.

    Notes
    -----
    One at a time: it does not see inputs that only matter together.

    Examples
    --------
    >>> len(sensitivity(60, 20, workshops=5, rounds=1, points=41))
    8
    """
    part = checks.number(by, "by", 0, 0.99, above=True)
    checks.kind(sight, "sight", Sight)
    checks.kind(hands, "hands", Hands)
    seed = seed_of(seed)
    pace = PACES[checks.choice(tool, "tool", tuple(TOOLS))]
    base = {
        "start_um": start_um,
        "removal_um": removal_um,
        "share": share,
        "sight_um": sight.threshold_um,
        "rock_deg": hands.rock_deg,
        "scatter": hands.scatter,
        "look_s": pace.look_s,
        "stroke_mm3": pace.stroke_mm3,
    }

    def run(**value) -> tuple[float, float]:
        plan = plan_job(
            value["start_um"],
            wanted_um,
            removal_um=value["removal_um"],
            share=value["share"],
            tool=tool,
            sight=replace(sight, threshold_um=value["sight_um"]),
            hands=replace(hands, rock_deg=value["rock_deg"], scatter=value["scatter"]),
            pace=replace(pace, look_s=value["look_s"], stroke_mm3=value["stroke_mm3"]),
            seed=seed,
            **more,
        )
        return float(plan.hours[1]), float(plan.worst_um[1, -1])

    planned, found = run(**base)[0], []
    for name, value in base.items():
        ends = value * (1 - part), min(value * (1 + part), _MOST.get(name, math.inf))
        low, high = (run(**{**base, name: v}) for v in ends)
        found.append(Effect(name, *ends, (low[0], high[0]), (low[1], high[1]), planned))
    return tuple(sorted(found, key=lambda e: -e.moves_hours()))
