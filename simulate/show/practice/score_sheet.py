"""The score sheet of goes on the same bodies, in words and figures, and the next challenge."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from simulate.core.number_format import two
from simulate.method.planning.choices import ChoiceCost
from simulate.method.practice.acts import LEVELS, PracticeState, level_of
from simulate.method.practice.par import Way, best_plan, plain_loop
from simulate.method.practice.score import Aim, Challenge, Score, best_of
from simulate.show.drawing.style import spell
from simulate.show.planning.cost_sentences import HEAD as COST_HEAD
from simulate.show.planning.cost_sentences import cost_caption, cost_rows
from simulate.show.practice.debrief_sentences import metal_words
from simulate.show.units.switch import in_both

_CELL = 'style="border-bottom:1px solid #999;padding:3px 12px;text-align:right"'
_HEAD = ("way", "actions", "checks", "passes", "hours", "metal", "worst when stopped", "all pairs checked at the end")


def sheet_html(
    told: Sequence[str],
    scores: Sequence[Score],
    like: PracticeState,
    challenge: Challenge,
    units: str = "mm",
    costs: Sequence[ChoiceCost] = (),
) -> str:
    """Set what is told of the last go in a list, and all goes in a table, beside the plain loop and the best plan.

    `told`: sentences, as `debrief_words` gives them. `costs`: of the last go. Returns: a list, a table with a caption,
    the words of `sheet_words` under it, and what the choices cost.
    """
    best = best_of(scores)
    rows = [
        (
            f"Attempt {s.number}{', your best' if s is best and len(scores) > 1 else ''}",
            str(s.acts),
            str(s.looks),
            str(s.passes),
            f"{s.hours:.1f}",
            metal_words(s.metal_mm3),
            spell(s.worst_um, units),
            "yes" if s.proven else "no",
        )
        for s in scores
    ]
    rows += [_way("Plain loop", plain_loop(like), units), _way("Best plan", best_plan(like), units)]
    title = f"{level_of(like).body.capitalize()}s number {like.seed}, {spell(like.error_um, units)} out at the start"
    items = "".join(f"<li>{escape(sentence)}</li>" for sentence in told)
    return (
        f'<ul style="font-size:15px;line-height:1.45;max-width:75em;margin:4px 0">{items}</ul>'
        f"{_table(title, _HEAD, rows)}"
        f'<p style="font-size:15px;max-width:75em">{escape(sheet_words(scores, like, challenge, units))}</p>'
        f"{_table(cost_caption(costs), COST_HEAD, cost_rows(costs, units)) if costs else ''}"
    )


def _table(title: str, names: Sequence[str], rows: Sequence[tuple[str, ...]]) -> str:
    head = "".join(f'<th scope="col" {_CELL}>{name}</th>' for name in names)
    body = "".join(
        f'<tr><th scope="row" {_CELL}>{escape(first)}</th>'
        + "".join(f"<td {_CELL}>{escape(cell)}</td>" for cell in rest)
        + "</tr>"
        for first, *rest in rows
    )
    return (
        '<div class="workshop-sheet-scroll"><table style="font-size:15px;border-collapse:collapse;'
        'margin:8px 0"><caption style="text-align:left;'
        f'font-weight:bold">{escape(title)}</caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>'
    )


def _way(name: str, way: Way, units: str) -> tuple[str, ...]:
    return (
        name,
        "",
        "",
        str(int(way.passes[-1])),
        f"{way.hours[-1]:.1f}",
        metal_words(way.metal_mm3[-1]),
        spell(way.worst_um[-1], units),
        "",
    )


def sheet_words(scores: Sequence[Score], like: PracticeState, challenge: Challenge, units: str = "mm") -> str:
    """Say how the last go did against the earlier ones, and what to try next.

    `scores`: one or more.
    """
    last, best = scores[-1], best_of(scores)
    words = []
    if len(scores) == 1:
        words.append(f"This was the first attempt at these {level_of(like).body}s.")
    elif last is best:
        before = best_of(scores[:-1])
        words.append(
            f"Your best of {len(scores)} attempts: {spell(last.worst_um, units)}; before, it was "
            f"{spell(before.worst_um, units)}."
        )
    else:
        words.append(
            f"Attempt {best.number} is still your best of {len(scores)}: {spell(best.worst_um, units)}, against "
            f"{spell(last.worst_um, units)} now."
        )
    if len(scores) > 1:
        before = scores[-2]
        hours, metal = last.hours - before.hours, last.metal_mm3 - before.metal_mm3
        words.append(
            f"Compared with the attempt before: {abs(hours):.1f} hours {_more(hours)} and {metal_words(abs(metal))} "
            f"{_more(metal)}."
        )
    return " ".join([*words, f"What to try next: {challenge_words(challenge, like, units)}"])


def challenge_words(challenge: Challenge, like: PracticeState, units: str = "mm") -> str:
    """Say what to try next, and how, after attempts at bodies like those of `like`."""
    level, plan = level_of(like), best_plan(like)
    again, out = f"The same {level.body}s again", f"{challenge.error_um:g} µm out"
    said = {
        Aim.STRAIGHT: f"{again}, to less than half of their starting error. Fit two to the first, then lay "
        "these two on each other: what shows there is twice the error of the first.",
        Aim.STRAIGHTER: f"{again}, to within {2 * level.aim_um:g} µm. After the split, refit the first one "
        "to the better of the two, and go round once more with a finer tool.",
        Aim.PROVEN: f"{again}. Before you stop, check every pair with no cut between, so that nothing is left unseen.",
        Aim.LESS: f"{again}, with less work: the best plan takes {plan.hours[-1]:.1f} hours and "
        f"{two(plan.metal_mm3[-1] / 1000)} cm³. Begin coarse, and change the tool before the coarse one digs.",
        Aim.ROUGHER: f"Rougher {level.body}s: number {challenge.seed}, {out}.",
        Aim.LEVEL: f"Another level: three {LEVELS[challenge.level].body}s, {out}.",
    }
    return in_both(said[challenge.aim], units)


def _more(by: float) -> str:
    return "more" if by > 0 else "less"
