"""Questions of lessons 13 and 15: squares, and the bed.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def square_double(rng: np.random.Generator) -> Question:
    """Two squares made to one wrong gauge."""
    e, h = 10 * draw(rng, 8, 30), (100, 150, 200)[draw(rng, 0, 2)]
    one = e * h / 1000
    return numeric(
        f"The gauge leans by {e} µm in a metre. Squares 2 and 3 are filed to it and are then stood blade to blade. "
        f"How wide is the gap at the open end, {h} mm from the closed one?",
        2 * one,
        "µm",
        f"Each is out by {e} µm in a metre the other way: 2 × {e} × {h} / 1000 = {2 * one:g}.",
        (
            one,
            "forgets the error is doubled",
            "Both squares carry the error of the gauge, and the gap shows their sum.",
        ),
        (2 * e, "a slope is taken for a gap", f"µm in a metre is a slope. The blade is only {h} mm high."),
        (
            0,
            "both fit the gauge, so they fit each other",
            "Draw both blades leaning to the same side as they were fitted.",
        ),
        tolerance=0.02,
    )


def square_solve(rng: np.random.Generator) -> Question:
    """One square from three gaps."""
    a, b, c = draw(rng, 4, 9), draw(rng, 20, 28), draw(rng, 11, 15)
    return numeric(
        f"Three squares in pairs, light at the top each time, read at 100 mm with the foot closed: A and B {a + b} "
        f"µm, A and C {a + c} µm, B and C {b + c} µm. By how much is A out at 100 mm?",
        a,
        "µm",
        f"({a + b} + {a + c} - {b + c}) / 2 = {a}.",
        (2 * a, "forgets the half", "A is in both of the gaps that you added."),
        (a + b + c, "every gap is added", "The gap without A has to be taken away."),
        (b, "solves for another square", "The gap that you subtract is the one without A."),
    )


def square_light(rng: np.random.Generator) -> Question:
    """A light at the foot is a minus sign."""
    a, s = 2 * draw(rng, 15, 30) + 1, draw(rng, 8, 25)
    return numeric(
        f"Square A leans over its base by +{a} µm at the top. Blade to blade with B the light stands at the foot, {s} "
        "µm wide, and the top touches. By how much is B out at the top, with its sign?",
        -a - s,
        "µm",
        f"Light at the foot is a sum of -{s}: B = -{s} - {a} = {-a - s}.",
        (
            s - a,
            "light at the foot is taken for light at the top",
            "Tops that touch first lean towards each other: the sum is minus.",
        ),
        (a + s, "the sign is dropped", "B must lean towards A by more than A leans away."),
        (-s, "A is taken for true", "A is out as well, and it is in the sum."),
    )


def square_reverse(rng: np.random.Generator) -> Question:
    """Half of what a reversal shows."""
    d, h = 4 * draw(rng, 6, 20), (80, 100, 150)[draw(rng, 0, 2)]
    return numeric(
        "A line is scribed along the blade, the square is turned over, and a second line is scribed from the same "
        f"foot. At {h} mm the lines are {d} µm apart. By how much is the square out at that height?",
        d / 2,
        "µm",
        f"One line is out to one side and one to the other: {d} / 2 = {d / 2:g}.",
        (d, "forgets that reversal doubles", "Which of the two lines is the true one? Neither."),
        (d / 4, "halves twice", "Two lines, each out by the error once."),
        tolerance=0.02,
    )


def square_strip(rng: np.random.Generator) -> Question:
    """Half the sum of the light on both sides of a strip."""
    a, strip, h = draw(rng, 12, 30), draw(rng, 3, 9), (100, 140, 150)[draw(rng, 0, 2)]
    return numeric(
        "A strip of even width stands upright on the plate. A square pushed against it from the right shows "
        f"{a + strip} µm of light at the top, {h} mm up, the foot shut. Turned round and pushed against it from the "
        f"left it shows {a - strip} µm at the top. By how much is the square out at that height?",
        a,
        "µm",
        f"The strip leans once with the square and once against it: ({a + strip} + {a - strip}) / 2 = {a}.",
        (
            strip,
            "the strip's lean is given",
            "Half of the difference is the strip. What is in both gaps with the same sign?",
        ),
        (a + strip, "the strip is taken for upright", "Nobody knows how it stands: use the other side too."),
        (2 * a, "forgets that reversal doubles", "The square is in both gaps: share the sum by two."),
    )


def square_cylinder(rng: np.random.Generator) -> Question:
    """The mean of opposite sides."""
    q, lean = draw(rng, 12, 30), draw(rng, 5, 10)
    return numeric(
        f"A square is stood against an even roller. Over the height the gap opens by {q + lean} µm; with the roller "
        f"turned half round it opens by {q - lean} µm. By how much is the square out over that height?",
        q,
        "µm",
        f"The roller leans once away and once towards: ({q + lean} + {q - lean}) / 2 = {q}.",
        (
            lean,
            "the roller's error is given",
            "Half of the difference is the roller. Which part is the same both times?",
        ),
        (2 * q, "forgets the half", "The square is in both readings: share the sum by two."),
        (q + lean, "the roller is taken for true", "Its end need not be square to it. Use the second reading too."),
    )


def square_pair(rng: np.random.Generator) -> Question:
    """What two squares prove."""
    return pick(
        rng,
        "Two squares stand dark on each other from foot to top. What is proven, within what the eye sees?",
        "That their errors are opposite",
        "The two angles add up to nothing. Each can be anything, as long as the other is its opposite.",
        ("That both are square", "two that agree are right", "Lean both the same way on the bench: they still fit."),
        ("That one of them is square", "one of two must be right", "Which one? Nothing in the pair can tell you."),
        (
            "That the flat is flat",
            "the flat is put into the proof",
            "A flat that slopes turns both alike and changes no gap.",
        ),
    )


def bed_strips(rng: np.random.Generator) -> Question:
    """Strips grow the twist."""
    apart, strip = (150, 200, 250)[draw(rng, 0, 2)], (450, 600)[draw(rng, 0, 1)]
    d = 10 * draw(rng, 2, 8)
    seen = d * strip / apart
    return numeric(
        f"The ways are {apart} mm apart. At the tail the back way stands {d} µm higher over the front way than "
        "it does at the head. "
        f"Winding strips of {strip} mm lie across head and tail. How large a step does the eye see at their ends?",
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
        "under the straightedge. How does the middle of the way stand, with its sign?",
        c,
        "µm",
        f"Way and edge add up to nothing: the way is proud by {c} µm.",
        (-c, "a fit is taken for a copy", "What fits into a hollow?"),
        (0, "the straightedge is taken for straight", "It is hollow, and the way was filed to it."),
        (2 * c, "doubles where nothing doubles", "One edge, one way: the error goes over once."),
    )


def bed_turn(rng: np.random.Generator) -> Question:
    """The turn of an axis from two readings."""
    n, m, gap = draw(rng, 6, 12), draw(rng, 5, 20), (200, 250)[draw(rng, 0, 1)]
    far = n + m
    return numeric(
        (
            f"The axis of a head reads +{n} µm at 50 mm and +{far} µm at {50 + gap} mm. By how much does it rise, in "
            "µm for each metre?"
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
        f"A head drops towards its nose by {turn} µm in a metre. Its feet are {feet} mm apart. How thick is the shim "
        "that takes the turn out, under the foot at the nose?",
        shim,
        "µm",
        f"{turn} × {feet} / 1000 = {shim:g}.",
        (turn, "a slope is taken for a thickness", f"The feet are {feet} mm apart, not a metre."),
        (shim / 2, "half goes under each foot", "A shim under both feet lifts the head and does not turn it."),
        tolerance=0.1,
    )


def bed_reversal(rng: np.random.Generator) -> Question:
    """The mean of both halves of the turn."""
    axis, bar = draw(rng, 6, 20), draw(rng, 3, 5)
    return numeric(
        f"A test bar reads +{axis + bar} µm at its end; after half a turn of the spindle it reads +{axis - bar} µm. "
        "How high does the axis stand there?",
        axis,
        "µm",
        f"The bar is off by {bar} µm, once up and once down: ({axis + bar} + {axis - bar}) / 2 = {axis}.",
        (bar, "the bar's own error is given", "Half of the difference is the bar. What is the same in both?"),
        (axis + bar, "the bar is taken for true", "It reads something else when it is turned."),
        (2 * axis, "forgets the half", "Both readings hold the axis once: take their mean."),
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
        (square, "the square's error is given", "Half of the difference is the square. What comes in with one sign?"),
        (slide + square, "the square is taken for true", "The second reading says that it is not."),
        (2 * slide, "forgets the half", "The slide is in both readings: share the sum by two."),
        (slide * travel / 1000, "a length is taken for a slope", f"That is over {travel} mm, not over a metre."),
        tolerance=0.4,
    )


def bed_diagonals(rng: np.random.Generator) -> Question:
    """What straight ways do not prove."""
    return pick(
        rng,
        "Both ways are dark under the straightedge from end to end. Is the bed flat?",
        "Not proven: it may be twisted",
        "Each way is a straight line. Two straight lines in space need not lie in one plane: strips or diagonals tell.",
        (
            "Yes: both ways are straight",
            "straight is taken for flat",
            "Lift one corner in your mind: do the ways stay straight?",
        ),
        (
            "Yes, if the straightedge is",
            "the straightedge is taken to tell all",
            "It never lay across. What do the four corners do?",
        ),
    )
