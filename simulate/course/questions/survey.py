"""Questions of lessons 12 and 13: from an edge to a surface, and the eight lines.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def edge_twist(rng: np.random.Generator) -> Question:
    """Straight all along and all across."""
    n = draw(rng, 4, 9)
    return pick(
        rng,
        f"The straightedge is dark on {n} lines along the plate and on {n} lines across it. Is the plate flat?",
        "Not shown: a twist is straight along and straight across",
        "Every row and every column of a twisted plate is a straight line. Lay the edge corner to corner.",
        (
            "Yes: every point was under the edge",
            "straight lines are taken for a flat face",
            "Think of a ruled surface: a ladder whose rungs turn.",
        ),
        (
            "Yes, if the lines lie close enough",
            "more of the same is taken for something new",
            "Lines between the lines are straight too on a twisted plate.",
        ),
    )


def edge_strips(rng: np.random.Generator) -> Question:
    """Winding strips and lever."""
    wide, lever, seen = 100 * draw(rng, 2, 4), draw(rng, 2, 3), draw(rng, 2, 6) / 10
    strip = wide * lever
    return numeric(
        f"Winding strips {strip} mm long lie across a plate {wide} mm wide, one at each end. Sighted over their tops, "
        f"the far strip is {seen:.1f} mm higher at one end and no higher at the other. How much twist is that over "
        "the width of the plate?",
        1000 * seen / lever,
        "µm",
        f"The strip is {lever} times as long as the plate is wide: {seen:.1f} mm / {lever} = "
        f"{1000 * seen / lever:.0f} µm.",
        (
            1000 * seen,
            "the length of the strips is forgotten",
            "The strips are longer than the plate is wide: they enlarge the twist.",
        ),
        (1000 * seen * lever, "multiplied instead of divided", "A longer strip shows more than there is."),
        tolerance=1,
    )


def edge_corners(rng: np.random.Generator) -> Question:
    """Corner to corner."""
    g = draw(rng, 20, 90)
    return numeric(
        "Both edges and all lines along and across are straight. From corner A to corner C the edge shows a gap of "
        f"{g} µm in the middle. How much higher are A and C than the other two corners, B and D?",
        2 * g,
        "µm",
        f"A pure twist: the middle lies {g} below A and C, and as much above B and D.",
        (g, "the middle is taken for the low corners", "From B to D the plate is a hill of the same height."),
        (g / 2, "halved instead of doubled", "The middle lies half way between the two pairs."),
    )


def edge_passes(rng: np.random.Generator) -> Question:
    """How many passes."""
    depth, n = 5 * draw(rng, 1, 3), draw(rng, 3, 8)
    high = depth * n - draw(rng, 1, depth - 1)
    return numeric(
        f"According to the survey the highest place is {high} µm above the plane that you scrape "
        f"to. A pass takes {depth} "
        "µm. How many passes does that place need?",
        n,
        "",
        f"{high} / {depth} = {high / depth:.1f}, and passes are whole: {n}.",
        (high / depth, "a part of a pass", "Passes are whole."),
        (n - 1, "rounded down", "After that many passes it is still high."),
        tolerance=0.01,
    )


def edge_order(rng: np.random.Generator) -> Question:
    """Where to begin."""
    a, b = draw(rng, 40, 60), draw(rng, 10, 20)
    return pick(
        rng,
        f"The survey says +{a} µm at one corner, +{b} µm in the middle and 0 elsewhere. Where do you scrape first?",
        f"The corner alone, until it is down to {b} µm",
        "The highest comes first, and the rest joins in when it is as high. So no cut goes below the plane.",
        ("Everywhere, evenly", "an even cut is taken to flatten", "An even cut lowers hill and hollow alike."),
        (
            "The middle: it is larger",
            "area is taken for height",
            "What stands highest? Does the middle touch anything yet?",
        ),
    )


def survey_step(rng: np.random.Generator) -> Question:
    """Seconds of arc into micrometres."""
    r, foot = draw(rng, 3, 12), 50 * draw(rng, 3, 5)
    right = r * foot * 1000 * math.pi / 648000
    return numeric(
        f"The mirror of an autocollimator stands on a base {foot} mm long. From one station to the next the "
        f"slope changes by {r} seconds of arc. How "
        "many micrometres is that over one step? (One second over 100 mm is 0.485 µm.)",
        right,
        "µm",
        f"{r} × 0.485 × {foot} / 100 = {right:.2f}.",
        (r * 0.4848, "the length of the base is forgotten", "A slope becomes a height over a length."),
        (r * foot / 100, "a second is taken for a micrometre", "One second over 100 mm is about half a micrometre."),
        tolerance=0.06,
    )


def survey_sum(rng: np.random.Generator) -> Question:
    """Adding rises up and levelling the ends."""
    a, b = 2 * draw(rng, 4, 7), -2 * draw(rng, 1, 3)
    c = 2 * draw(rng, 0, 2)
    d = a + b + c
    end = 4 * d
    rises = [a, b, c, end - d]
    right = a + b - end / 2
    return numeric(
        f"Four steps along a line rise by {rises[0]}, {rises[1]}, {rises[2]} and {rises[3]} µm. With both ends "
        "brought to zero, how high is the station in the middle?",
        right,
        "µm",
        f"After two steps {a + b}; the line of the ends is at {end} / 2 = {end // 2} there: {a + b} - {end // 2} = "
        f"{right:g}.",
        (a + b, "the ends are not levelled", "The line slopes from 0 to the sum of all steps. Take half of that off."),
        (a + b - end, "the whole slope is taken off in the middle", "Halfway along, only half of it has been climbed."),
    )


def survey_closure(rng: np.random.Generator) -> Question:
    """What a closure says."""
    s = draw(rng, 1, 3)
    c = s * draw(rng, 5, 8)
    return pick(
        rng,
        f"A centre line misses the crossing of the diagonals by {c} µm; from the scatter of your readings ± {s} µm is "
        "expected. What now?",
        "Read the survey again: something slipped or drifted",
        "Without noise a closure is zero on any surface. It is a check of the readings and never of the plate.",
        (f"The plate is {c} µm hollow there", "a closure is taken for a shape", "The same surface was read both ways."),
        ("Share it out and go on", "a blunder is averaged", f"Sharing out is for ± {s} µm, not for {c}."),
    )


def survey_hides(rng: np.random.Generator) -> Question:
    """Off the lines."""
    d = draw(rng, 10, 40)
    return pick(
        rng,
        (
            f"A worn hollow, {d} µm deep and as large as a hand, lies on a plate of 1000 × 630 mm. Where do the "
            "eight lines miss it?"
        ),
        "Inside one of the eight triangles between the lines",
        "The lines show only what lies under them. Add lines, or slide a small plate with marking compound over the "
        "rest.",
        (
            "Nowhere: the closures would show it",
            "closures are taken to see the plate",
            "Closures are zero on any surface.",
        ),
        ("In the middle", "the middle is thought to be far from the lines", "Four of the eight lines cross there."),
    )


def survey_repeat(rng: np.random.Generator) -> Question:
    """Square root of repeats."""
    s, k = 2 * draw(rng, 2, 5), draw(rng, 2, 3)
    return numeric(
        f"At the worst station the uncertainty of the height is ± {k * s / 2:g} µm. How many "
        "complete surveys, each read "
        f"again, bring it to ± {s / 2:g} µm?",
        k * k,
        "",
        f"An uncertainty {k} times smaller needs {k} × {k} = {k * k} surveys.",
        (k, "the square root is forgotten", "Independent errors shrink with the square root of the number."),
        (k**4, "squared twice", "One square: four surveys halve the uncertainty."),
        tolerance=0.01,
    )
