"""When to stop: the aim is reached, or the next round harms as often as it helps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import two

EVEN = 0.45
"""A round that harms this part of all workshops is as good as a coin: by chance alone it tends to a half."""
THERE, IDLE, OPEN = "there", "idle", "open"
"""Why to stop: the aim is reached; the next round harms as often as it helps; the plan ends, and more would help."""


def _in_um(um: float) -> str:
    return f"{um:g} µm"


@dataclass(frozen=True, kw_only=True)
class Stop:
    """The round after which to stop, and why.

    `after`: 0 where even the first round does not pay. `reason`: `THERE`, `IDLE` or `OPEN`. `reached`: part of the
    workshops that were there by then. `worse`: part whose worst bar the round made worse that follows, or the last one.
    The rest is as `stop_rule` was given it.
    """

    after: int
    reason: str
    reached: float
    worse: float
    wanted_um: float
    sight_um: float
    floor_um: float
    share: float

    def why(self, spell: Callable[[float], str] = _in_um) -> str:
        """Say why in a sentence or two, heights spelled by `spell`."""
        r, wanted, part = self.after, spell(self.wanted_um), f"{100 * self.reached:.0f} %"
        if self.reason == THERE and r == 0:
            said = f"Do not start: all three bars are within {wanted} as they are, and a round only costs metal."
        elif self.reason == THERE:
            said = (
                f"Stop after round {r}: by then {part} of the workshops had all three bars within {wanted}; "
                "for them a further round only costs metal."
            )
        elif self.reason == IDLE:
            said = (
                f"{f'Stop after round {r}' if r else 'Do not start like this'}: round {r + 1} made the worst bar worse "
                f"in {100 * self.worse:.0f} % of the workshops, so it harms as often as it helps. By then {part} were "
                f"within {wanted}; {self._cause(spell)}"
            )
        else:
            said = (
                f"After {r} round{'s' * (r > 1)} {part} of the workshops were within {wanted}, and the last round "
                f"still helped in {100 * (1 - self.worse):.0f} %: plan further rounds."
            )
        if self.wanted_um >= self.sight_um:
            return said
        return (
            f"{said} Nobody could tell: {wanted} is less than the {spell(self.sight_um)} that this eye sees, so a bar "
            "that got there looks like one that did not."
        )

    def _cause(self, spell: Callable[[float], str]) -> str:
        """What stands in the way of the rest."""
        left = abs(2 * self.share - 1)
        if left > 0.5:
            return (
                f"a split of {100 * self.share:.0f} to {100 * (1 - self.share):.0f} leaves {100 * left:.0f} % of the "
                "error in each round: take from both bars."
            )
        ends = (
            f"sight, tool and hands leave the worst bar at about {spell(float(two(self.floor_um)))} in half of them: "
        )
        needs = "the rest needs another way of filing, a finer tool or a sharper eye."
        return ends * (self.floor_um > self.wanted_um) + needs


def stop_rule(
    reached: np.ndarray,
    worse: np.ndarray,
    wanted_um: float,
    *,
    sure: float = 0.8,
    sight_um: float = 0.0,
    floor_um: float = 0.0,
    share: float = 0.5,
) -> Stop:
    """Find the round after which to stop, and why.

    `reached` (rounds + 1,): part of the workshops that were there by then, at the start first. `worse` (rounds,): part
    whose worst bar each round made worse. `sure`: part of the workshops that makes a plan count as reached. `sight_um`:
    the smallest gap that is seen. `floor_um`: what the worst bar was out by after the last round, in half of the
    workshops. `share`: of the split's metal that one bar gives up.

    Far above the floor a round takes out more than it leaves. At the floor
    every round leaves a new draw from the same hat, so that worse and better
    are as likely (derived), and it still takes metal and hours. Nobody can
    stop at a lucky draw, because what is lucky there is too small to be seen.

    >>> stop_rule(np.array([0.0, 0.9]), np.array([0.0]), 10.0).after
    1
    """
    done, idle = np.flatnonzero(reached >= sure), np.flatnonzero(worse >= EVEN)
    if done.size and (not idle.size or done[0] <= idle[0] + 1):
        after, reason = int(done[0]), THERE
    else:
        after, reason = (int(idle[0]), IDLE) if idle.size else (len(reached) - 1, OPEN)
    return Stop(
        after=after,
        reason=reason,
        reached=float(reached[after]),
        worse=float(worse[min(after, len(worse) - 1)]),
        wanted_um=wanted_um,
        sight_um=sight_um,
        floor_um=floor_um,
        share=share,
    )
