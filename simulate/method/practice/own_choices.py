"""What a learner chose at the practice bench, and what each choice costs in the loop of three from the same bars."""

from __future__ import annotations

from collections import Counter

import numpy as np

from simulate.bench.cutting.rocking import WAYS, lead
from simulate.bench.cutting.tools import TOOLS, tool_of
from simulate.core.byte_cache import remembered
from simulate.method.planning.choices import OPTIONS, REST_H, RESTS, ChoiceCost, Choices, choice_costs
from simulate.method.practice.bars_level import STEEL
from simulate.method.practice.levels import start_practice
from simulate.method.practice.state import Act, PracticeState

WORKSHOPS, ROUNDS = 100, 3
_KEYS = {"way": "way", "side": "side", "look": "held", "held": "vice"}
"""Under which name an act keeps each choice; what is usual is not kept."""


def choices_of(state: PracticeState) -> tuple[tuple[str, ...], Choices]:
    """The tools of a go, coarse to fine, and what was chosen in most of its acts.

    How the file was led, and by which side, are those of the finest tool; passes count each, as do looks.

    >>> from simulate.method.practice.acts import work_seen
    >>> go = work_seen(start_practice(), tool="bastard file", passes=3)
    >>> tools, chosen = choices_of(work_seen(go, tool="smooth file", passes=3, way="draw-filing"))
    >>> tools, chosen.way
    (('bastard file', 'smooth file'), 'draw-filing')
    """
    cuts = [act for act in state.acts if act.kind in ("touch", "file")]
    used = {act.given["tool"] for act in cuts}
    tools = tuple(tool for tool in TOOLS if tool in used)
    fine = [act for act in cuts if act.given["tool"] == tools[-1]] if tools else []
    looks = [act for act in state.acts if act.kind == "look"]
    of = {"way": [act for act in fine if act.kind == "touch"], "side": fine, "look": looks, "held": cuts}
    rest = RESTS[1] if state.tally.rested_h >= REST_H else RESTS[0]
    return tools, Choices(**{name: _most(name, acts) for name, acts in of.items()}, rest=rest)


def _most(name: str, acts: list[Act]) -> str:
    """Which option of a choice most acts have, passes counted each."""
    usual, count = OPTIONS[name][0], Counter[str]()
    for act in acts:
        count[act.given.get(_KEYS[name], usual)] += act.given.get("passes", 1)
    return count.most_common(1)[0][0] if count else usual


def own_costs(state: PracticeState) -> tuple[ChoiceCost, ...]:
    """What each choice of a go costs; nothing where nothing was filed, or level and rules leave no choice."""
    if state.level != "bars" or state.rules < 4:
        return ()
    tools, chosen = choices_of(state)
    if not tools:
        return ()
    coarse = [act for act in state.acts if act.kind == "touch" and act.given["tool"] == tools[0]]
    rough = (tools[0], _most("way", coarse)) if len(tools) > 1 else None
    filed = tool_of(tools[-1]).is_file
    led = {"way": filed, "side": filed and state.rules >= 5}
    names = tuple(name for name in OPTIONS if led.get(name, True))
    return _costs(state.seed, state.error_um, state.length_mm, tools[-1], rough, chosen, names)


@remembered
def _costs(
    seed: int,
    error_um: float,
    length_mm: float,
    tool: str,
    rough: tuple[str, str] | None,
    chosen: Choices,
    names: tuple[str, ...],
) -> tuple[ChoiceCost, ...]:
    start = start_practice(seed, error_um, length_mm)
    bars = np.ascontiguousarray(start.x_mm[::2]), np.ascontiguousarray(start.height_um[:, ::2])
    return choice_costs(
        error_um,
        chosen,
        names=names,
        tool=tool,
        rough=None if rough is None else lead(rough[0], **WAYS[rough[1]]),
        stock=STEEL.stock or "hot rolled",
        rounds=ROUNDS,
        length_mm=length_mm,
        workshops=WORKSHOPS,
        seed=seed,
        bars=bars,
    )
