"""The sentences of the practice bench: nothing true before the stop, all of it after."""

from __future__ import annotations

import numpy as np

from simulate.method.practice import Act, Answer, PracticeState
from simulate.method.practice_debrief import Debrief
from simulate.show.practice_picture import feeler_texts
from simulate.show.style import spell, spell_place


def act_words(act: Act, units: str = "mm") -> str:
    """Say what one act was.

    Parameters
    ----------
    act : Act
    units : str

    Returns
    -------
    str
    """
    given = act.given
    if act.kind == "lay":
        turned = ", turned end for end" if given["turned"] else ""
        press = given["press_mm"]
        pressed = "" if press is None else f", pressed at {spell_place(press, units)}"
        return f"laid bar {given['upper'] + 1} on bar {given['lower'] + 1}{turned}{pressed}"
    if act.kind == "look":
        return f"looked by {given['kind']}"
    if act.kind == "file":
        many = "stroke" if given["strokes"] == 1 else "strokes"
        return (f"took {given['strokes']} {many} of the {given['tool']} over {spell_place(given['length_mm'], units)} "
                f"round {spell_place(given['place_mm'], units)}")
    return "stopped"


def seen_words(answer: Answer | None, units: str = "mm") -> str:
    """Say what the last look gave back, and what it cannot tell.

    Parameters
    ----------
    answer : Answer or None
    units : str

    Returns
    -------
    str
    """
    if answer is None:
        return "Nothing has been looked at since the last move or cut."
    rocks = " The bar rocks under a light push." if answer.rocks else " The bar sits firm."
    if answer.kind == "feeler":
        stations = "; ".join(f"{text} at {spell_place(x, units)}" for text, x in zip(feeler_texts(answer), answer.x_mm))
        return f"Thickest blade in mm that goes in: {stations}.{rocks} {answer.seen.cannot_tell}"
    seen = answer.seen.open if answer.kind == "light" else ~answer.seen.open
    what = "Light comes through" if answer.kind == "light" else "It printed"
    return f"{what} {_stretches(answer.x_mm, seen, units)}.{rocks} {answer.seen.cannot_tell}"


def _stretches(x: np.ndarray, where: np.ndarray, units: str) -> str:
    edges = np.flatnonzero(np.diff(np.r_[False, where, False].astype(int)))
    runs = [f"from {spell_place(x[a], units)} to {spell_place(x[b - 1], units)}" for a, b in zip(edges[::2], edges[1::2])]
    if not runs:
        return "nowhere"
    return ", ".join(runs[:6]) + (f" and in {len(runs) - 6} places more" if len(runs) > 6 else "")


def bench_words(state: PracticeState, units: str = "mm") -> str:
    """Say how things stand, with nothing that the maker could not know.

    Parameters
    ----------
    state : PracticeState
    units : str

    Returns
    -------
    str
    """
    turned = ", turned end for end" if state.turned else ""
    press = "" if state.press_mm is None else f", pressed at {spell_place(state.press_mm, units)}"
    strokes = sum(act.given["strokes"] for act in state.acts if act.kind == "file")
    looks = sum(act.kind == "look" for act in state.acts)
    return (f"Practice bars number {state.seed}. Bar {state.upper + 1}, in the vice, lies on bar {state.lower + 1}{turned}"
            f"{press}. {seen_words(state.answer, units)} So far: {_count(looks, 'look')}, {_count(strokes, 'stroke')}.")


def debrief_words(told: Debrief, units: str = "mm", earlier_um: tuple[float, ...] = ()) -> str:
    """Tell what a go came to.

    Parameters
    ----------
    told : Debrief
    units : str
    earlier_um : tuple of float
        The worst bar at the end of earlier goes on the same bars.

    Returns
    -------
    str
    """
    worst = told.straightness_um.max(axis=-1)
    ends = ", ".join(f"bar {i + 1} {spell(v, units)}" for i, v in enumerate(told.straightness_um[-1]))
    metal, loop = told.metal_mm3[-1].sum() / 1000, told.loop_metal_mm3[-1] / 1000
    words = [
        f"Out of straight at the stop: {ends}; at the start the worst was {spell(worst[0], units)}.",
        (f"It took {_count(told.looks, 'look')}, {_count(int(told.strokes.sum()), 'stroke')} in "
        f"{_count(int(told.filings.sum()), 'filing')}, {metal:.1f} cm³ and about {told.hours:.1f} hours."),
        (f"The plain loop of three, from the same start, comes to {spell(told.loop_worst_um[-1], units)} in "
        f"{len(told.loop_worst_um) - 1} rounds with {_count(int(told.loop_passes[-1]), 'pass', 'passes')}, {loop:.1f} cm³ "
        f"and about {told.loop_hours[-1]:.0f} hours."),
        _turning_point(worst, units), _hidden_words(told, units)]
    if earlier_um:
        words.append("Your earlier goes on these bars ended at " + ", ".join(spell(v, units) for v in earlier_um) + ".")
    return " ".join(w for w in words if w)


def _turning_point(worst: np.ndarray, units: str) -> str:
    best = int(worst.argmin())
    if worst[-1] <= 1.1 * worst[best]:
        return ""
    when = f"after act {best}" if best else "at the start"
    return f"It was better {when}: {spell(worst[best], units)}. Move the slider there and see what the next cuts did."


def _hidden_words(told: Debrief, units: str) -> str:
    if not told.fits:
        return ("No look was taken since the last cut of its bars, so that nothing of what is left had been seen when you "
                "stopped.")
    fits = ", ".join(f"{up + 1} on {low + 1}{' turned' if turned else ''}" for low, up, turned in told.fits)
    part = 100 * told.hidden_share
    if part < 0.5:
        return (f"Fits that still held at the stop: {fits}. They leave no shape unseen; only what is finer than sight was "
                "hidden from you.")
    return (f"Fits that still held at the stop: {fits}. Of what is left, {part:.0f} % (by squares) makes no gap in any of "
            f"them, up to {spell(np.ptp(told.hidden_um, axis=-1).max(), units)} on one bar: more care would not have shown "
            "it, another pairing would.")


def _count(number: int, one: str, many: str | None = None) -> str:
    return f"{number} {one if number == 1 else many or one + 's'}"
