"""Questions of lesson 23: one logbook for everything, progress, what hides, and when to stop.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def workshop_units(rng: np.random.Generator) -> Question:
    """A reading in thousandths of an inch among readings in micrometres."""
    n = draw(rng, 2, 9)
    return numeric(
        "Round 1 of your bars is in the logbook in µm. Today's dial reads in thousandths of an inch, and one gap is "
        f"{n}. You write it under gap_thou. How many micrometres does the package take that to be?",
        25.4 * n,
        "µm",
        f"One thou is 25.4 µm: {n} × 25.4 = {25.4 * n:.1f}. The unit is in the column heading, so rounds in "
        "both units go together.",
        (
            n,
            "a thou is taken for a micrometre",
            "The column heading says thou. How much is a thousandth of an inch?",
        ),
        (2.54 * n, "the decimal point has slipped", "An inch is 25.4 mm; a thousandth of that is 0.0254 mm."),
        tolerance=0.06,
    )


def workshop_share(rng: np.random.Generator) -> Question:
    """From two rounds of one's own to the share of the split."""
    start = 10 * draw(rng, 20, 40)
    left = int(rng.choice((20, 30, 40)))
    after = start * left / 100
    share = 50 + left / 2
    return numeric(
        f"Your worst bar was {start} µm out before a round of the three-bar loop and {after:g} µm after it. A round "
        "leaves |2s - 1| of the error. What percentage of the split comes off the bar that loses more?",
        share,
        "%",
        f"{after:g} / {start} = {left / 100:g} = 2s - 1, so s = {share:g} %. A share of {100 - share:g} % "
        "leaves as much: the figures do not say which of the two you do.",
        (left, "what is left is taken for the share", "That is what a round leaves, |2s - 1|. Solve it for s."),
        (
            100 - left,
            "what is taken off is taken for the share",
            "That is what a round takes off. The law is |2s - 1|; solve it for s.",
        ),
        (
            100 - share,
            "the bar that gives less",
            "That is the share of the other bar. The question asks for the one that loses more.",
        ),
        tolerance=0.6,
    )


def workshop_rounds(rng: np.random.Generator) -> Question:
    """How many rounds more."""
    start = 10 * draw(rng, 16, 30)
    wanted = draw(rng, 12, 18)
    factor = 0.4
    need = math.ceil(math.log(wanted / start) / math.log(factor) - 1e-9)
    linear = math.ceil((start - wanted) / (start * (1 - factor)) - 1e-9)
    wrong = [(need + 1, "one round too many", "Multiply by 0.4 until you are below what is wanted, and count.")]
    if linear != need:
        wrong.insert(
            0,
            (
                linear,
                "every round is taken to remove as much as the first",
                "A round takes a part of what is left, so each takes less than the one before.",
            ),
        )
    return numeric(
        f"Your rounds leave 40 % each. The worst bar is {start} µm out now, and the job asks for {wanted} µm; the "
        "floor of your sight and tool is far below that. How many more rounds?",
        need,
        "rounds",
        f"{start} × 0.4 to the power of {need} = {start * factor**need:.3g} µm, and after {need - 1} it is still "
        f"{start * factor ** (need - 1):.3g} µm.",
        *wrong,
        tolerance=0.1,
    )


def workshop_next(rng: np.random.Generator) -> Question:
    """What to read next: the fit that tells something new."""
    n = draw(rng, 6, 12)
    return pick(
        rng,
        (
            f"Three plates were read in all pairs at 0 degrees, {n} times over, and every print agrees. Which "
            "further reading would show most?"
        ),
        "One pair again, turned by 90 degrees",
        "A quarter turn shows a twist that all three share. More of the same only confirms what is known already.",
        (
            "The worst pair once more, as it lay",
            "repeats are taken for new facts",
            "The same fit read again asks the same question. Which question was never asked?",
        ),
        (
            "None: all pairs agree",
            "agreement is taken for proof",
            "Three plates with one twist agree at 0 degrees as well as three flat ones.",
        ),
    )


def workshop_edit(rng: np.random.Generator) -> Question:
    """A slip of the pen."""
    row = draw(rng, 8, 30)
    return pick(
        rng,
        (
            f"The panel says that row {row} fits worst. In your notes you find that you wrote 14 for 41. What do you "
            "do in the logbook?"
        ),
        "Save the right figure as a correction, with a note that says why",
        (
            "The correction takes its place and the history keeps what was there, so that anyone can see what was "
            "changed and when."
        ),
        (
            "Leave the row out and say nothing",
            "a reading is thrown away because it does not fit",
            "A row that does not fit may be the right one. Here you know the reason: say it.",
        ),
        (
            "Type over it in the old file",
            "the old figure is taken for worthless",
            "Then nobody, and you least of all, can tell later what was read and what was corrected.",
        ),
    )


def workshop_shared(rng: np.random.Generator) -> Question:
    """What no chi-square shows."""
    um = draw(rng, 4, 12)
    return numeric(
        f"Your eye reads the gap in the middle of every pair {um} µm too wide, a habit that is the same each time. By "
        "how many micrometres does each of the three bars come out too hollow there?",
        um / 2,
        "µm",
        f"a = (ab + ac - bc) / 2 with {um} µm too much in each: {um} / 2 = {um / 2:g} µm in each bar. All readings "
        "agree with each other perfectly, so no sum of squares shows it.",
        (um, "the gap is taken for one bar", "Put the same error into ab, ac and bc of (ab + ac - bc) / 2."),
        (0, "shared errors are taken to cancel", "Errors that all pairs share do not cancel: (e + e - e) / 2."),
        (1.5 * um, "all three are added up", "One of the three is taken off: (e + e - e) / 2."),
    )
