"""Questions of lesson 14: faces in order.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def faces_double(rng: np.random.Generator) -> Question:
    """Two edges squared from one face."""
    e, h = 10 * draw(rng, 3, 15), (40, 60, 80)[draw(rng, 0, 2)]
    one = e * h / 1000
    return numeric(
        f"A square is too wide by {e} µm in a metre. Both edges of a bar are squared with it from the same face, {h} "
        "mm high. By how much does the bar measure wider at the top than at the bottom?",
        2 * one,
        "µm",
        f"Each edge leans out by {e} × {h} / 1000 = {one:g} µm, so the width grows by {2 * one:g} µm.",
        (one, "forgets that both edges lean out", "The square comes once from the left and once from the right."),
        (
            0,
            "the same square is taken to make parallel edges",
            "Draw the square on both sides: do the blades lean the same way?",
        ),
        (2 * e, "a slope is taken for a length", f"That is over a metre; the edge is {h} mm high."),
        tolerance=0.05,
    )


def faces_last(rng: np.random.Generator) -> Question:
    """The corner that nobody made."""
    e = 10 * draw(rng, 2, 12)
    return numeric(
        f"Three corners of a bar are made one after another with a square that is {e} µm in a metre too wide. By how "
        "much is the fourth corner too narrow?",
        3 * e,
        "µm/m",
        f"The four angles add up to a full turn: 3 × {e} = {3 * e}.",
        (e, "every corner is taken to be alike", "Three are too wide. What must the last one make up for?"),
        (
            4 * e,
            "the square's own error is counted in",
            "That is the gap that this square would show there. The corner itself is narrow by less.",
        ),
        (0, "the errors are taken to stop", "Each face hands its error on to the next one."),
        tolerance=0.5,
    )


def faces_show(rng: np.random.Generator) -> Question:
    """The square from the last corner."""
    e = 10 * draw(rng, 2, 12)
    return numeric(
        "Round the corners: B to A, C to B, D to C, each dark under the same square. On the last corner, D to A, the "
        f"square shows {4 * e} µm in a metre. By how much is the square itself out?",
        e,
        "µm/m",
        f"Three corners and the square itself: {4 * e} / 4 = {e}.",
        (4 * e, "all of it is put on one square", "How many times did the square enter before it came to this corner?"),
        (4 * e / 3, "the square in the last look is forgotten", "It is out in this look as well: one more."),
        (2 * e, "a reversal is taken for it", "A reversal holds the error twice. How often is it in here?"),
        tolerance=0.5,
    )


def faces_caliper(rng: np.random.Generator) -> Question:
    """From two thicknesses to an angle."""
    d, w = draw(rng, 4, 20), (50, 80, 100)[draw(rng, 0, 2)]
    return numeric(
        (
            f"A bar measures {d} µm thicker at one edge than at the other, {w} mm away. By how much are its two "
            "faces out of parallel, in µm for each metre?"
        ),
        1000 * d / w,
        "µm/m",
        f"{d} / {w} × 1000 = {1000 * d / w:g}.",
        (d, "a difference is taken for a slope", f"That is over {w} mm."),
        (
            d * w / 1000,
            "multiplies where it should divide",
            "Over a whole metre the difference would be larger, not smaller.",
        ),
        (500 * d / w, "half goes to each face", "Out of parallel is the whole angle between them."),
        tolerance=0.5,
    )


def faces_order(rng: np.random.Generator) -> Question:
    """Which order keeps the square out of parallel."""
    e = 10 * draw(rng, 3, 12)
    return pick(
        rng,
        (
            f"You do not trust your square: it may be out by {e} µm in a metre. The bar must above all be parallel. "
            "Which order?"
        ),
        "C to A by micrometer, B to A by square, D to B by micrometer",
        "The square is used once, so it is in the corners once and in no pair of opposite faces.",
        (
            "B and D to A by square, C to A by micrometer",
            "the same square is taken to make parallel edges",
            "B and D both lean out: they are out of parallel by double.",
        ),
        (
            "B to A, C to B, D to C, all by square",
            "more squaring is taken for more square",
            "Every corner hands the error on. Opposite faces get it twice.",
        ),
    )
