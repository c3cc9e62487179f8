"""Questions of lesson 06: a learner's own readings, how sure they are, and when to stop.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def own_blades(rng: np.random.Generator) -> Question:
    """Writing a feeler down as an interval."""
    blades = (50, 100, 150, 200, 250, 300)
    i = draw(rng, 0, 4)
    low, high = blades[i], blades[i + 1]
    return pick(
        rng,
        f"The {low / 1000:.2f} mm blade goes in, {high / 1000:.2f} mm does not. What do you write into the table?",
        f"gap_at_least_um {low}, gap_at_most_um {high}",
        "Both limits are certain, and the solver keeps both.",
        (f"gap_um {low}", "the blade is taken for the gap", "The gap may be almost as wide as the next blade."),
        (
            f"gap_um {(low + high) // 2}",
            "the difference is split",
            "That is a guess that looks like a reading. Give both limits.",
        ),
        (
            f"gap_at_least_um {low / 1000:.2f}, gap_at_most_um {high / 1000:.2f}",
            "millimetres under a micrometre heading",
            "The column's name ends in _um.",
        ),
    )


def own_light(rng: np.random.Generator) -> Question:
    """No light is an upper limit: the gap that is nearly always seen, not the threshold."""
    t, spread = draw(rng, 4, 9) / 2, draw(rng, 2, 5) / 5
    often = t + 3 * spread
    return numeric(
        f"On the wedge you see a gap of {t:g} µm half the time, and one of {often:g} µm 19 times out of 20. At one "
        "station of your bars it is dark. What goes under gap_at_most_um?",
        often,
        "µm",
        "Dark means at most what the eye nearly always sees; gap_at_least_um is 0.",
        (0, "dark is taken for touching", "A gap that you do not see is dark too."),
        (t, "half is taken for nearly always", "A gap at your threshold is dark in half of all trials."),
        ((t + often) / 2, "the difference is split", "Halfway is a guess. Give the gap that you nearly always see."),
    )


def own_repeat(rng: np.random.Generator) -> Question:
    """Repeats and the square root."""
    s, n = 2 * draw(rng, 2, 6), (4, 9)[draw(rng, 0, 1)]
    one = s * math.sqrt(3) / 2
    return numeric(
        f"With one reading of each pair the height of a bar has an uncertainty of ± {one:.1f} µm (one standard "
        f"deviation). You read every pair {n} times again, independently. What is the uncertainty then?",
        one / math.sqrt(n),
        "µm",
        f"{one:.1f} / √{n} = {one / math.sqrt(n):.2f}.",
        (one / n, "divides by the number of readings", "Independent errors shrink with the square root of the number."),
        (one, "repeats are taken to change nothing", "Independent errors partly cancel in a mean."),
        tolerance=0.1,
    )


def own_pairs(rng: np.random.Generator) -> Question:
    """Too few pairs."""
    return pick(
        rng,
        "Your table holds bar 1 with bar 2 and bar 1 with bar 3, and no other pair. Can the bars be solved?",
        "No: the pair of 2 and 3 is missing",
        "Two sums for three unknowns: a hill in 1 with hollows in 2 and 3 passes them both.",
        (
            "Yes: every bar was read",
            "a bar read is taken for a bar known",
            "Count: three unknown heights, how many gaps?",
        ),
        ("Yes, if it was read twice", "repeats are taken for new facts", "The same sum twice is still the same sum."),
    )


def own_stop(rng: np.random.Generator) -> Question:
    """When to stop filing."""
    sd = draw(rng, 3, 8)
    return pick(
        rng,
        f"The tallest place of your best bar is given as +{sd - 1} µm, with a standard deviation of {sd} µm. What now?",
        "Put the file down; read again, or stop",
        "The hill is smaller than what the readings can show. A cut there may cut a hollow.",
        (
            f"Take {sd - 1} µm off there",
            "an estimate is taken for a fact",
            "How often would readings this uncertain show such a hill on a straight bar?",
        ),
        (
            "Take half of it off, to be safe",
            "half a guess is taken for safe",
            "Metal is never put back. What do you know of that place?",
        ),
    )
