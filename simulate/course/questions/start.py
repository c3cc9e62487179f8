"""Questions of lesson 00: units and signs, what to do about a dead panel, and the cautions.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def start_thou(rng: np.random.Generator) -> Question:
    """Thousandths of an inch into micrometres."""
    n = draw(rng, 2, 9)
    return numeric(
        f"An old set of feelers is marked in thousandths of an inch. How many micrometres is the {n} thou blade?",
        25.4 * n,
        "µm",
        f"One thou is 25.4 µm, so {n} thou is {25.4 * n:.1f} µm.",
        (n, "a thou is taken for a micrometre", "A thou is a thousandth of an inch, and an inch is 25.4 mm."),
        (1000 * n, "a thou is taken for a millimetre", "A millimetre is 1000 µm and a thou is far thinner: 0.0254 mm."),
        (
            254 * n,
            "the decimal point has slipped",
            "25.4 mm divided by 1000 is 0.0254 mm. Convert that to micrometres.",
        ),
        tolerance=0.5,
    )


def start_mm(rng: np.random.Generator) -> Question:
    """Millimetres into micrometres."""
    b = 5 * draw(rng, 1, 8)
    return numeric(
        f"A feeler blade is marked {b / 100:.2f} mm. How many micrometres is that?",
        10 * b,
        "µm",
        f"1 mm is 1000 µm, and {b / 100:.2f} × 1000 = {10 * b}.",
        (b, "a hundredth of a millimetre is taken for a micrometre", "0.01 mm is 10 µm. The blade counts hundredths."),
        (
            b / 100,
            "the millimetres are left as they are",
            "The unit changes from mm to µm, so the figure must grow by 1000.",
        ),
        (100 * b, "the decimal point has slipped", "Multiply the millimetres by 1000, not by 10 000."),
        tolerance=0.02,
    )


def start_sign(rng: np.random.Generator) -> Question:
    """Which sign is metal to come off."""
    h = draw(rng, 4, 25)
    return pick(
        rng,
        f"In this course a bar reads +{h} µm in its middle and 0 at both ends. Where does the file go?",
        "To the middle: plus is proud",
        "Positive means proud, metal that has to come off.",
        (
            "To the ends: plus is a hollow",
            "plus is taken for a hollow",
            "Think of a hill, not of a pit: plus is above the line.",
        ),
        (
            "Nowhere: metal has to be put on",
            "metal is put back",
            "A file never puts metal back. Ask which part is above the rest.",
        ),
    )


def start_metal(rng: np.random.Generator) -> Question:
    """From the highest place down to the lowest."""
    p, q = draw(rng, 18, 30), draw(rng, 2, 8)
    return numeric(
        f"One place of a bar is at +{p} µm, the lowest at -{q} µm. How much metal must come off the first place "
        "to bring it down level with the lowest?",
        p + q,
        "µm",
        f"{p} - (-{q}) = {p + q}.",
        (p - q, "the sign is dropped", "The lowest place is below the line, so the way down to it is longer."),
        (p, "the cut stops at zero", "Zero is only a line on paper. The lowest place lies below it, and it stays."),
        (
            q,
            "the wrong place is filed",
            "Metal cannot be put back at the lowest place; the other one comes down to it.",
        ),
    )


def start_again(rng: np.random.Generator) -> Question:
    """What to do about a panel that does not show."""
    return pick(
        rng,
        'You saved and closed a lesson. When you open it again a panel says "Error displaying widget". What do you do?',
        "Choose Run, then Run All Cells",
        "A panel lives only while the lesson runs; running all cells brings it back.",
        (
            "Install the course again",
            "the panel is taken to be broken",
            "Nothing is broken. The panel only needs a running lesson behind it.",
        ),
        (
            "Wait until it comes back",
            "the panel is expected to wake by itself",
            "It waits for you: something in the Run menu starts it.",
        ),
    )


def start_tang(rng: np.random.Generator) -> Question:
    """What comes before the first stroke."""
    strokes = draw(rng, 1, 9)
    return pick(
        rng,
        f"Bars, vice and lamp are laid out. The tang of your file is bare, and you want only {strokes} "
        f"stroke{'s' * (strokes > 1)}. What comes first?",
        "A handle, driven tight on the tang",
        "A tight handle sits on every tang before the first stroke, however few there are to come.",
        ("The strokes, taken with care", "care is taken for protection", "When the file jams, where does the tang go?"),
        (
            "A cloth, wound round the tang",
            "a cloth is taken for a handle",
            "A cloth slides, and a tang comes through it. What holds it fast?",
        ),
    )
