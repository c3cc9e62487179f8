"""What the learner's own rounds say beside simulated workshops, in words."""

from __future__ import annotations

from simulate.readings.rounds.beside import Beside, Where, Without
from simulate.show.drawing import style

ONE_ROUND = (
    "One round so far. Correct the work, read it again and save it under the same name: then your rounds are "
    "compared with simulated workshops that have your own share, sight and hands."
)
"""Where there is nothing to compare yet."""
_WHY = {
    Without.SPREAD: (
        "nothing shows how far your readings scatter, or they contradict each other; give the repeatability of a "
        "reading, or read something twice"
    ),
    Without.WORSE: "the worst does not get better, so your rounds show no share; state one to see where you stand",
    Without.ROUNDS: "the numbers of the rounds are more than 60 apart; number them 1, 2, 3",
}
_PLACES = {
    Where.INSIDE: "inside the band",
    Where.BELOW: "below the band, better than 95 in 100",
    Where.ABOVE: "above the band, worse than 95 in 100",
}


def beside_words(told: Beside | Without, units: str = "mm", brief: bool = False) -> tuple[str, ...]:
    """Say where the learner's rounds lie, and what the simulated workshops assume.

    `brief`: leave out the rounds before the last, and what a share from one's own rounds cannot tell.

    >>> beside_words(Without.ROUNDS)[0]
    'No simulated workshops beside your rounds: the numbers of the rounds are more than 60 apart; number them 1, 2, 3.'
    """
    if isinstance(told, Without):
        return (f"No simulated workshops beside your rounds: {_WHY[told]}.",)
    k = int(told.round[-1])
    low, half, high = (style.spell(float(end), units) for end in told.band_um[:, k])
    last = (
        f"After {k} round{'s' * (k != 1)} your worst, {style.spell(float(told.form_um[-1]), units)}, lies "
        f"{_PLACES[told.where[-1]]}. Of {told.workshops} simulated workshops half are within {half} and nine in ten "
        f"between {low} and {high}."
    )
    return (last, *_assumed(told, units)[:1]) if brief else (last, *_earlier(told), *_assumed(told, units))


def _earlier(told: Beside) -> tuple[str, ...]:
    """Name the rounds before the last that lie outside."""
    out = [
        f"after {k} {where}"
        for k, where in zip(told.round[1:-1], told.where[:-1], strict=True)
        if where != Where.INSIDE
    ]
    if len(told.where) < 2:
        return ()
    return (f"Before that: {', '.join(out)}." if out else "Before that, every round lies inside.",)


def _assumed(told: Beside, units: str) -> tuple[str, ...]:
    habit, figures = told.habit, told.form_um.size
    share = "as you stated" if told.share_stated else f"as your own {figures} figures show"
    hands = (
        f"hands that leave {style.spell(habit.hands_um, units)} at each place (one standard deviation, "
        f"{'as you stated' if told.hands_stated else 'from where your rounds end'})"
        if habit.hands_um > 0 or told.hands_stated
        else "hands that add no error, because sight alone explains the floor of your rounds"
    )
    said = (
        f"They start from your first readings and take off {100 * habit.share:.0f} % of what they read in each round, "
        f"{share}. They read each error to ± {style.spell(told.sight_95_um, units)} (95 %) as you do, with {hands}. A "
        f"whole round comes out {100 * habit.uneven:.0f} % more or less than was meant (one standard deviation)."
    )
    if told.share_stated:
        return (said,)
    return (
        said,
        "The share is taken from your own rounds, so your rounds lie near the middle anyway; only a round that "
        "departs from that trend stands out. State a share to compare with yours.",
    )
