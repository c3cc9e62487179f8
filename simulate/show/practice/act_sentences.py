"""The sentences of the practice bench: nothing true before the stop, all of it after."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.spotting import BLUE
from simulate.core.refusal import counted
from simulate.method.practice.acts import Act, Answer, PracticeState, level_of
from simulate.method.practice.bars_level import PUSH
from simulate.method.practice.state import Tally
from simulate.show.drawing.print_map import point_words
from simulate.show.drawing.run_sentences import HINGE_WORDS
from simulate.show.drawing.style import spell, spell_place
from simulate.show.practice.practice_picture import feeler_texts
from simulate.show.practice.slit import NAMES, runs

_ALIKE = 0.8
"""A print is much the same all over where its faintest ninth has at least so much of its fullest."""


def act_words(act: Act, units: str = "mm", body: str = "bar") -> str:
    """Say what one act was."""
    given = act.given
    if act.kind == "lay":
        return f"laid {body} {given['upper'] + 1} on {body} {given['lower'] + 1}{lies_words(given, units)}"
    if act.kind == "look":
        film = f", spread {spell(given['film_um'], units)} thick" if "film_um" in given else ""
        how = "tried" if given["kind"] == PUSH else "checked by"
        return f"{how} {given['kind']}{film}{_held(given)}"
    if act.kind == "rest":
        return f"let all rest for {given['hours']:g} hours"
    if act.kind == "touch":
        how = (
            f"scraped what printed, up to {spell(given['depth_um'], units)} deep"
            if "depth_um" in given
            else (f"filed where it touched with the {given['tool']}{_led(given)}{_held(given)}")
        )
        both = ", half from each" if given.get("both") else ""
        return f"{how}, up to {counted(given['passes'], 'pass', 'passes')}{both}"
    return {"file": _place_words, "stop": lambda *_: "stopped"}[act.kind](given, units)


def _held(given: dict) -> str:
    """How the bar was held, where that is not the usual way."""
    if "held" in given:
        return f", {given['held']} with a hand on it"
    return f", held {given['vice']}" if "vice" in given else ""


def _led(given: dict) -> str:
    how = [*([given["way"]] if "way" in given else []), *([f"its {given['side']} side"] if "side" in given else [])]
    return f" ({', '.join(how)})" if how else ""


def _place_words(given: dict, units: str) -> str:
    if "region_mm" in given:
        return (
            f"scraped {counted(given['passes'], 'pass', 'passes')} of {spell(given['depth_um'], units)} in a square of "
            f"{spell_place(given['region_mm'], units)} round {spell_place(given['x_mm'], units)}, "
            f"{spell_place(given['y_mm'], units)}"
        )
    took = f"took {counted(given['strokes'], 'stroke')} of the {given['tool']}{_led(given)}"
    if "lands" in given:
        return f"{took} at {given['lands']}"
    where = f"over {spell_place(given['length_mm'], units)} round {spell_place(given['place_mm'], units)}"
    return f"{took} {where}{_held(given)}"


def lies_words(given: dict, units: str = "mm") -> str:
    """Say how the upper one lies, after a comma where there is anything to say.

    `given`: with `turned`, and `press_mm` or `slide` where they count.

    >>> lies_words({"turned": True, "press_mm": 100.0}), lies_words({"turned": 90, "slide": "none"})
    (', turned end for end, pressed at 100 mm', ', turned 90°')
    """
    turned, press, slide = given["turned"], given.get("press_mm"), given.get("slide", "none")
    return (
        (f", turned {turned}°" if turned is not True and turned else ", turned end for end" if turned else "")
        + ("" if press is None else f", pressed at {spell_place(press, units)}")
        + ("" if slide == "none" else f", slid {slide}")
    )


def verdict_words(answer: Answer | None) -> str:
    """Say in one line what a check of bars or gauges came to; nothing of plates, whose print is told in one line.

    >>> from simulate.method.practice.acts import look, start_practice
    >>> verdict_words(look(start_practice()).answer)
    'Shut at 2 places, open nearly all along; it sits firmly.'
    """
    if answer is None or answer.met is not None or answer.hinge is not None:
        return ""
    rocks, away = "it rocks" if answer.rocks else "it sits firmly", np.asarray(answer.seen.open, bool)
    shut = sum(not away[a] for a, _ in runs(away.astype(int)))
    parts = zip(("at the left", "in the middle", "at the right"), np.array_split(away, 3))
    wide = [name for name, part in parts if part.mean() > 0.5]
    if not away.any():
        return f"No gap is seen; {rocks}."
    where = "here and there" if not wide else "nearly all along" if len(wide) == 3 else " and ".join(wide)
    return f"Shut at {counted(shut, 'place')}, open {where}; {rocks}." if shut else f"Open all along; {rocks}."


def passes_words(asked: int, done: int, sight: str) -> str:
    """Say why passes came to an end.

    >>> passes_words(5, 5, "light"), passes_words(5, 0, "light")
    ('All 5 passes are done.', 'No pass was made: with light no gap shows, so nothing says where to cut.')
    """
    if not done:
        return f"No pass was made: with {sight} no gap shows, so nothing says where to cut."
    if done >= asked:
        return f"All {asked} passes are done." if asked > 1 else "The only pass is done."
    return f"It ended after {counted(done, 'pass', 'passes')} of {asked}: by then no gap showed with {sight}."


def listed_words(answer: Answer | None, units: str = "mm") -> str:
    """Say place by place what a look gave back; nothing where it is told in one line."""
    if answer is None or answer.hinge is not None or answer.met is not None and answer.kind != "feeler":
        return ""
    if answer.kind == "feeler":
        where = zip(feeler_texts(answer), answer.x_mm, answer.x_mm if answer.y_mm is None else answer.y_mm)
        at = "; ".join(
            f"{text} at {spell_place(x, units)}" + ("" if answer.y_mm is None else f", {spell_place(y, units)}")
            for text, x, y in where
        )
        return f"Thickest blade in mm that goes in: {at}."
    if answer.glow is not None:
        seen = [
            _stretches(answer.x_mm, np.isin(answer.glow, kinds), units)
            for kinds in ([k for k, word in NAMES.items() if word == name] for name in ("white", "red", "blue"))
        ]
        bright = _stretches(answer.x_mm, answer.glow == max(NAMES), units)
        told = [
            f"{name} {where}"
            for name, where in zip(("Bright", "White", "Red", "Blue"), [bright, *seen])
            if where != "nowhere"
        ]
        return f"Light: {'; '.join(told).lower()}; dark elsewhere." if told else "No light comes through anywhere."
    return f"It printed {_stretches(answer.x_mm, ~answer.seen.open, units)}."


def seen_words(answer: Answer | None, units: str = "mm", listed: bool = True) -> str:
    """Say what the last look gave back, place by place where that is `listed`, and what it cannot tell."""
    if answer is None:
        return "Nothing has been checked since the last move or cut."
    rocks = " It rocks under a light push." if answer.rocks else " It sits firmly."
    if answer.hinge is not None:
        return (
            f"Pushed squarely at its right end it {HINGE_WORDS[answer.hinge.state]}: it turned "
            f"{100 * answer.hinge.pivot_part:.0f} % of its length from its far end. {answer.seen.cannot_tell}"
        )
    if answer.met is not None and answer.kind != "feeler":
        return f"{_print_words(answer)}{rocks} {answer.seen.cannot_tell}"
    return f"{listed_words(answer, units) if listed else ''}{rocks} {answer.seen.cannot_tell}".strip()


def _print_words(answer: Answer) -> str:
    if answer.print is None:
        printed, met, points = answer.met & ~answer.seen.open, answer.met, ""
        share = 100 * printed.sum() / answer.met.sum()
    else:
        printed = answer.print.lower >= BLUE
        met, share, points = np.ones(printed.shape, bool), 100 * answer.print.bearing, point_words(answer.print)
    thirds = [
        (name, printed[r][:, c].sum() / max(met[r][:, c].sum(), 1))
        for r, far in zip(np.array_split(np.arange(len(printed)), 3), ("near", "middle", "far"))
        for c, side in zip(np.array_split(np.arange(len(printed)), 3), ("left", "middle", "right"))
        for name in ["middle" if far == side else f"{far} {side}"]
    ]
    most = [name for name, part in sorted(thirds, key=lambda t: -t[1])[:3] if part > 0]
    parts = [part for _, part in thirds]
    alike = min(parts) > _ALIKE * max(parts)
    where = "much the same all over" if alike else f"most of it {', '.join(most) or 'nowhere'}"
    return f"{share:.0f} % of the face printed{points}, seen on the plate below: {where}."


def _stretches(x: np.ndarray, where: np.ndarray, units: str) -> str:
    found = [
        f"from {spell_place(x[a], units)} to {spell_place(x[b], units)}" if b > a else f"at {spell_place(x[a], units)}"
        for a, b in runs(where.astype(int))
        if where[a]
    ]
    if not found:
        return "nowhere"
    return ", ".join(found[:6]) + (f" and in {len(found) - 6} more places" if len(found) > 6 else "")


def bench_words(state: PracticeState, units: str = "mm", listed: bool = True) -> str:
    """Say how things stand, with nothing that the maker could not know; `listed` as `seen_words` takes it."""
    body, tally = level_of(state).body, state.tally
    lies = lies_words({"turned": state.turned, "press_mm": state.press_mm, "slide": state.slide}, units)
    return (
        f"Practice {body}s number {state.seed}, {spell(state.error_um, units)} out at the start. {body.capitalize()} "
        f"{state.upper + 1}, in the vice, lies on {body} {state.lower + 1}{lies}. "
        f"{seen_words(state.answer, units, listed)} So far: "
        f"{counted(len(state.acts), 'action')}, {counted(tally.looks, 'check')}, "
        f"{counted(sum(tally.strokes), 'stroke')}, about {tally.seconds / 3600:.1f} hours{rested_words(tally)}."
    )


def rested_words(tally: Tally) -> str:
    """Say how long nobody worked, after a comma."""
    return f", and {tally.rested_h:g} hours of rest" if tally.rested_h else ""
