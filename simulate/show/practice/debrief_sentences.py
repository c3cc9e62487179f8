"""What is told of a go once it has been stopped: what is left, what it took, and what no look could show."""

from __future__ import annotations

import numpy as np

from simulate.bench.bending.moving_steel import given_way, pressed_um
from simulate.core.refusal import counted
from simulate.method.planning.job import LAY_DOWN_S
from simulate.method.practice.acts import level_of
from simulate.method.practice.bars_level import STEEL
from simulate.method.practice.debrief import Debrief
from simulate.method.practice.par import Way
from simulate.show.drawing.style import spell
from simulate.show.practice.act_sentences import rested_words

_TOLD_UM, _WAIT_UM = 0.5, 1.0


def debrief_words(told: Debrief, units: str = "mm") -> list[str]:
    """Tell what a go came to.

    Returns: what is left, what it took, the plain loop, the best plan, what could not be seen.
    """
    body = level_of(told.states[0]).body
    out = "flat" if told.level == "plates" else "straight"
    worst = told.worst_um.max(axis=-1)
    ends = ", ".join(f"{body} {i + 1} {spell(v, units)}" for i, v in enumerate(told.worst_um[-1]))
    words = [
        f"Out of {out} at the stop: {ends}; at the start the worst was {spell(worst[0], units)}.",
        _reference_words(told, units),
        (
            f"It took {counted(told.looks, 'check')}, {counted(int(told.cuts.sum()), 'pass', 'passes')} with "
            f"{counted(int(told.strokes.sum()), 'stroke')}, {metal_words(told.metal_mm3[-1].sum())} and about "
            f"{told.hours:.1f} hours{rested_words(told.states[-1].tally)}."
        ),
        moved_words(told, units),
        _way_words("The plain loop of three, from the same start", told.loop, units),
        _way_words(f"The best plan that was found for these {body}s", told.best, units),
        _turning_point(worst, units),
        hidden_words(told, units),
    ]
    return [w for w in words if w]


def _reference_words(told: Debrief, units: str) -> str:
    """Say why plates that start out by the figure that was chosen have another one here."""
    if told.level != "plates":
        return ""
    chosen = spell(told.states[0].error_um, units)
    return f"Plates are judged here from the least-squares plane; by the minimum zone each was {chosen} at the start."


def _way_words(name: str, way: Way, units: str) -> str:
    return (
        f"{name} ({way.words}), comes to {spell(way.worst_um[-1], units)} with "
        f"{counted(int(way.passes[-1]), 'pass', 'passes')}, {metal_words(way.metal_mm3[-1])} and about "
        f"{way.hours[-1]:.1f} hours."
    )


def moved_words(told: Debrief, units: str = "mm") -> str:
    """Tell what the steel did by itself, and what the choices between vice, bench and rest cost; nothing where none
    moved."""
    acts = told.states[-1].acts
    words = []
    if told.bowed_um.max() >= _TOLD_UM or told.to_come_um.max() >= _TOLD_UM:
        rest = (
            f", and {spell(told.to_come_um.max(), units)} is still to come: rest them before the last cuts."
            if told.to_come_um.max() >= _WAIT_UM
            else f"; less than {spell(_WAIT_UM, units)} is still to come: they had settled."
        )
        words.append(
            f"The stress that the cuts released bowed the bars by up to {spell(told.bowed_um.max(), units)} while you "
            f"worked{rest}"
        )
    pressed = sum(act.given.get("held", "") == "in the vice" for act in acts)
    if pressed:
        deep = 1000.0 * (1 - (2 * told.x_mm / (told.x_mm[-1] - told.x_mm[0])) ** 2)
        most = (deep - pressed_um(told.x_mm, deep, STEEL, lower_bends=told.states[-1].rules >= 5)).max()
        saved = counted(round(pressed * LAY_DOWN_S / 60), "minute")
        words.append(
            f"{counted(pressed, 'check')} in the vice saved {saved}, and the hand on the bar closed a hollow by up to "
            f"{spell(most, units)}."
        )
    middle = sum(act.given.get("vice", "") == "in its middle" for act in acts)
    if middle:
        gave = 100 * (1 - given_way(told.x_mm, STEEL, 15.0).min())
        words.append(
            f"{counted(middle, 'cut')} with the bar held in its middle took up to {gave:.0f} % less at the ends, which "
            "give way to the file."
        )
    return " ".join(words)


def metal_words(mm3: float) -> str:
    """Spell an amount of metal.

    >>> metal_words(16.6), metal_words(4580.0)
    ('17 mm³', '4.6 cm³')
    """
    return f"{mm3:.0f} mm³" if mm3 < 995 else f"{mm3 / 1000:.1f} cm³"


def _turning_point(worst: np.ndarray, units: str) -> str:
    best = int(worst.argmin())
    if worst[-1] <= 1.1 * worst[best]:
        return ""
    when = f"after action {best}" if best else "at the start"
    return f"It was better {when}: {spell(worst[best], units)}. Move the slider there and see what the next cuts did."


def hidden_words(told: Debrief, units: str = "mm") -> str:
    """Name what the fits that still held could not have shown."""
    if not told.fits:
        return "No check was made after the last cut, so you had seen none of what is left when you stopped."
    fits = ", ".join(f"{up + 1} on {low + 1}{_lay(rest)}" for low, up, *rest in told.fits)
    part = 100 * told.hidden_share
    if part < 0.5:
        return (
            f"Fits still valid at the stop: {fits}. They leave no shape unseen; only what is finer than "
            "sight was hidden from you."
        )
    most = spell(np.ptp(told.hidden_um.reshape(3, -1), axis=-1).max(), units)
    return (
        f"Fits still valid at the stop: {fits}. Of what is left, {part:.0f} % (of the squared error) makes "
        f"no gap in any of them, up to {most} on one. More care would not have shown it, another "
        f"{'placement' if told.level == 'plates' else 'pairing'} would."
    )


def _lay(rest: list) -> str:
    turned, slide = rest[0], (rest[1] if len(rest) > 1 else "none")
    return (f" at {turned}°" if len(rest) > 1 and turned else " turned" if turned else "") + (
        "" if slide == "none" else f" slid {slide}"
    )
