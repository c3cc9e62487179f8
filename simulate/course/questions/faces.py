"""Questions of lessons 15 and 16: faces in order, and the bed.

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
            "the square's own error is included",
            "This square would show that gap there, its own error included. Leave that out, and the corner remains.",
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
        (4 * e / 3, "the square in the last check is forgotten", "It is out in this check as well: count one more."),
        (2 * e, "a reversal is taken for it", "A reversal contains the error twice. How often is it in here?"),
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
            "Every corner passes the error on. Opposite faces get it twice.",
        ),
    )


def bed_strips(rng: np.random.Generator) -> Question:
    """Strips grow the twist."""
    apart, strip = (150, 200, 250)[draw(rng, 0, 2)], (450, 600)[draw(rng, 0, 1)]
    d = 10 * draw(rng, 2, 8)
    seen = d * strip / apart
    return numeric(
        f"The ways are {apart} mm apart. At the tailstock the back way is {d} µm higher above the front way than "
        "it is at the headstock. "
        f"Winding strips of {strip} mm lie across both ends. How large a step does the eye see at their ends?",
        seen,
        "µm",
        f"{d} × {strip} / {apart} = {seen:g}: long strips make twist easier to see.",
        (
            d,
            "the strip is taken to show the bare height",
            "The strip is longer than the ways are apart, so its end swings further.",
        ),
        (d * apart / strip, "divides the wrong way round", "A longer strip shows more, not less."),
        tolerance=0.6,
    )


def bed_opposite(rng: np.random.Generator) -> Question:
    """A way becomes the opposite of its straightedge."""
    c = draw(rng, 3, 15)
    return numeric(
        f"Your straightedge is {c} µm hollow in its middle, and you do not know it. A way is filed until it is dark "
        "under the straightedge. How high is the middle of the way, with its sign?",
        c,
        "µm",
        f"Way and edge add up to zero: the way is proud by {c} µm.",
        (-c, "a fit is taken for a copy", "What fits into a hollow?"),
        (0, "the straightedge is taken for straight", "It is hollow, and the way was filed to it."),
        (2 * c, "doubles where nothing doubles", "One straightedge and one bed way: the error is passed on once."),
    )


def bed_turn(rng: np.random.Generator) -> Question:
    """The turn of an axis from two readings."""
    n, m, gap = draw(rng, 6, 12), draw(rng, 5, 20), (200, 250)[draw(rng, 0, 1)]
    far = n + m
    return numeric(
        (
            f"The axis of a headstock reads +{n} µm at 50 mm and +{far} µm at {50 + gap} mm. By how much does it "
            "rise, in µm for each metre?"
        ),
        1000 * m / gap,
        "µm/m",
        f"({far} - {n}) / {gap} × 1000 = {1000 * m / gap:g}.",
        (
            1000 * far / (50 + gap),
            "the near reading is left out",
            "Take the difference of the two readings over the distance between them.",
        ),
        (m, "a difference is taken for a slope", f"That is over {gap} mm, not over a metre."),
        (1000 * m / (50 + gap), "the wrong distance is taken", f"The two places are {gap} mm apart."),
        tolerance=0.4,
    )


def bed_shim(rng: np.random.Generator) -> Question:
    """The shim that takes out a turn."""
    turn, feet = 50 * draw(rng, 2, 8), (120, 160, 240)[draw(rng, 0, 2)]
    shim = turn * feet / 1000
    return numeric(
        f"A headstock drops towards its nose by {turn} µm in a metre. Its feet are {feet} mm apart. How thick a "
        "shim under the foot at the nose corrects this?",
        shim,
        "µm",
        f"{turn} × {feet} / 1000 = {shim:g}.",
        (turn, "a slope is taken for a thickness", f"The feet are {feet} mm apart, not a metre."),
        (shim / 2, "half goes under each foot", "A shim under both feet lifts the headstock and does not turn it."),
        tolerance=0.1,
    )


def bed_reversal(rng: np.random.Generator) -> Question:
    """The mean of both halves of the turn."""
    axis, bar = draw(rng, 6, 20), draw(rng, 3, 5)
    return numeric(
        f"A test bar reads +{axis + bar} µm at its end; after half a turn of the spindle it reads +{axis - bar} µm. "
        "How high is the axis there?",
        axis,
        "µm",
        f"The bar is off by {bar} µm, once up and once down: ({axis + bar} + {axis - bar}) / 2 = {axis}.",
        (bar, "the bar's own error is given", "Half of the difference is the bar. What is the same in both?"),
        (axis + bar, "the bar is taken for true", "It reads differently when it is turned."),
        (2 * axis, "forgets the half", "Both readings contain the axis once: take their mean."),
    )


def bed_cross(rng: np.random.Generator) -> Question:
    """Half the sum over the travel: slide and square by turning the square over."""
    slide, square, travel = 20 * draw(rng, 1, 4), 10 + 20 * draw(rng, 5, 8), (100, 150, 200)[draw(rng, 0, 2)]
    first, turned = (slide + square) * travel / 1000, (slide - square) * travel / 1000
    return numeric(
        f"A dial on the cross slide gains {first:+g} µm along the blade of a square over {travel} mm, and {turned:+g} "
        "µm with the square turned over. By how much is the slide out of square, in µm for each metre?",
        slide,
        "µm/m",
        f"({first:+g} {turned:+g}) / 2 over {travel} mm: {slide * travel / 1000:g} / {travel} × 1000 = {slide}.",
        (
            square,
            "the square's error is given",
            "Half of the difference is the square. What has the same sign in both?",
        ),
        (slide + square, "the square is taken for true", "The second reading says that it is not."),
        (2 * slide, "forgets the half", "The slide is in both readings: halve the sum."),
        (slide * travel / 1000, "a length is taken for a slope", f"That is over {travel} mm, not over a metre."),
        tolerance=0.4,
    )


def bed_diagonals(rng: np.random.Generator) -> Question:
    """What straight ways do not prove."""
    return pick(
        rng,
        "Both ways are dark under the straightedge from end to end. Is the bed flat?",
        "Not proven: it may be twisted",
        "Each way is a straight line. Two straight lines in space need not lie in one plane: strips or diagonals "
        "show it.",
        (
            "Yes: both ways are straight",
            "straight is taken for flat",
            "Lift one corner in your mind: do the ways stay straight?",
        ),
        (
            "Yes, if the straightedge is",
            "the straightedge is taken to show everything",
            "It never lay across. What do the four corners do?",
        ),
    )
