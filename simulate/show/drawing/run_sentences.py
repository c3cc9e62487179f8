"""The sentences under the runs."""

from __future__ import annotations

import numpy as np

from simulate.method.bars.bar_history import BarHistory, BarStep
from simulate.method.bars.floor_table import WorstBar
from simulate.show.drawing.style import spell, spell_place

HINGE_WORDS = {
    "swings": "swings about its high middle",
    "glides": "glides, because it bears evenly",
    "shuffles": "shuffles, because both ends are high or the far one bears alone",
}
"""What a bar does whose end is pushed, by the state of `pushed_bar.hinge`."""


def what_is_done(step: BarStep) -> str:
    """Name the act of one look."""
    low, up = step.lower + 1, step.upper + 1
    if step.stage == "split":
        return f"bar {up} on bar {low}, splitting the difference"
    if step.stage == "remake":
        return f"refitting the old gauge, bar {up}, to bar {low}"
    return f"fitting bar {up} to bar {low}"


def what_is_seen(step: BarStep, units: str = "mm") -> str:
    """Say what the maker sees of one look, and whether the bar rocks."""
    part = 100 * np.mean(step.light)
    if part == 0:
        seen = "no light is seen"
    else:
        seen = f"light over {part:.0f} % of the length, widest gap {spell(step.gap_um.max(), units)}"
    a, b = step.contacts_mm
    where = f"it touches at {spell_place(a, units)} and {spell_place(b, units)}"
    return f"{seen}; {where}{', and it rocks' if step.rocks else ''}"


def out_of_straight(step: BarStep, units: str = "mm") -> str:
    """Say how far each bar is really out, which the maker cannot see."""
    parts = [f"bar {i + 1} {spell(v, units)}" for i, v in enumerate(step.straightness_um)]
    return "Out of straight, which the maker does not see: " + ", ".join(parts) + "."


def three_bar_words(history: BarHistory, place: int, share: float, ends: WorstBar, units: str = "mm") -> str:
    """Give the sentence under a look of the three-bar loop.

    `place`: which look.
    """
    step = history.steps[place]
    left = 100 * abs(2 * share - 1)
    law = (
        f"One round leaves |2 × {share:.2f} − 1| = {left:.0f} % of the error, "
        f"until the floor. In half of all workshops the worst bar ends within {spell(ends.half_um, units)}, "
        f"in nine out of ten within {spell(ends.most_um, units)}"
        f"{' (from 200 workshops run for this setting)' if ends.run else ''}."
    )
    return (
        f"Round {step.round}, {what_is_done(step)}: {what_is_seen(step, units)}. "
        f"{out_of_straight(step, units)} {_passes(step.passes)} so far. {law}"
    )


def settled_words(history: BarHistory, units: str = "mm") -> str:
    """Say how bars that move lie once all has come that their cuts have freed; begins with a space."""
    ends = ", ".join(f"bar {i + 1} {spell(v, units)}" for i, v in enumerate(history.straightness_um[-1]))
    return f" After the last check the bars settle: {ends} out."


def two_bar_words(history: BarHistory, place: int, units: str = "mm") -> str:
    """Give the sentence under a look of two bars that are fitted to each other."""
    step = history.steps[place]
    last = place == len(history.steps) - 1
    dark = "They agree" if not step.light.any() else "To the limit of this eye and this file, they agree"
    end = (
        f" {dark}, and agreeing proves only that each is the opposite of the other: the error they share is still "
        f"there."
        if last
        else ""
    )
    return (
        f"Bar {step.upper + 1} on bar {step.lower + 1}: {what_is_seen(step, units)}. "
        f"{out_of_straight(step, units)} {_passes(step.passes)} so far.{end}"
    )


def of_a_long_run(history: BarHistory, rounds: int) -> str:
    """Say what of a long run is not shown; nothing of a run that is shown whole.

    `rounds`: that were asked for. Returns: begins with a space.
    """
    made = len(history.passes) - 1
    words = ""
    if history.looks_every > 1:
        words += (
            f" The run is long: of each fit one step in {history.looks_every} is shown, besides the first and the last."
        )
    if made < rounds:
        words += (
            f" The run ends after round {made} of {rounds}, because it has taken "
            f"{_passes(int(history.passes[-1].sum()))};"
            " more metal per pass needs fewer."
        )
    return words


def _passes(count: int) -> str:
    return "1 pass" if count == 1 else f"{count} passes"
