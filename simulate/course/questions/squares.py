"""Questions of lesson 14: squares.

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
        "Three squares in pairs, light at the top each time, are read at 100 mm with the bottom closed. The gaps are "
        f"A and B {a + b} µm, A and C {a + c} µm, B and C {b + c} µm. By how much is A out at 100 mm?",
        a,
        "µm",
        f"({a + b} + {a + c} - {b + c}) / 2 = {a}.",
        (2 * a, "forgets the half", "A is in both of the gaps that you added."),
        (a + b + c, "every gap is added", "The gap without A has to be taken away."),
        (b, "solves for another square", "The gap that you subtract is the one without A."),
    )


def square_light(rng: np.random.Generator) -> Question:
    """A light at the bottom is a minus sign."""
    a, s = 2 * draw(rng, 15, 30) + 1, draw(rng, 8, 25)
    return numeric(
        f"Square A leans over its base by +{a} µm at the top. Blade to blade with B the light shows at the bottom, {s} "
        "µm wide, and the top touches. By how much is B out at the top, with its sign?",
        -a - s,
        "µm",
        f"Light at the bottom is a sum of -{s}: B = -{s} - {a} = {-a - s}.",
        (
            s - a,
            "light at the bottom is taken for light at the top",
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
        f"point at the bottom. At {h} mm the lines are {d} µm apart. By how much is the square out at that height?",
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
        "A strip of uniform width stands upright on the plate. A square pushed against it from the right shows "
        f"{a + strip} µm of light at the top, {h} mm up, with the bottom closed. Turned round and pushed against it "
        f"from the left it shows {a - strip} µm at the top. By how much is the square out at that height?",
        a,
        "µm",
        f"The strip leans once with the square and once against it: ({a + strip} + {a - strip}) / 2 = {a}.",
        (
            strip,
            "the strip's lean is given",
            "Half of the difference is the strip. What is in both gaps with the same sign?",
        ),
        (a + strip, "the strip is taken for upright", "Nobody knows how it stands: use the other side too."),
        (2 * a, "forgets that reversal doubles", "The square is in both gaps: halve the sum."),
    )


def square_cylinder(rng: np.random.Generator) -> Question:
    """The mean of opposite sides."""
    q, lean = draw(rng, 12, 30), draw(rng, 5, 10)
    return numeric(
        f"A square is stood against a parallel roller. Over the height the gap opens by {q + lean} µm; with the roller "
        f"given half a turn it opens by {q - lean} µm. By how much is the square out over that height?",
        q,
        "µm",
        f"The roller leans once away and once towards: ({q + lean} + {q - lean}) / 2 = {q}.",
        (
            lean,
            "the roller's error is given",
            "Half of the difference is the roller. Which part is the same both times?",
        ),
        (2 * q, "forgets the half", "The square is in both readings: halve the sum."),
        (q + lean, "the roller is taken for true", "Its end need not be square to it. Use the second reading too."),
    )


def square_pair(rng: np.random.Generator) -> Question:
    """What two squares prove."""
    return pick(
        rng,
        "Two squares show no light against each other from bottom to top. What is proven, within what the eye sees?",
        "That their errors are opposite",
        "The two angles add up to zero. Each can be anything, as long as the other is its opposite.",
        ("That both are square", "two that agree are right", "Lean both the same way on the bench: they still fit."),
        ("That one of them is square", "one of two must be right", "Which one? Nothing in the pair can show you."),
        (
            "That the flat is flat",
            "the flat is taken to be proven",
            "A flat that slopes turns both alike and changes no gap.",
        ),
    )


def square_wedge(rng: np.random.Generator) -> Question:
    """The wedge that makes a solved square true."""
    lean, high = 20 * draw(rng, 4, 15), (100, 150, 200)[draw(rng, 0, 2)]
    wedge = lean * high / 1000
    return numeric(
        f"You entered your gaps, and your square is solved: it leans over its base by {lean} µm in a metre. Its blade "
        f"is {high} mm high. How thick is the next wedge to come off, at its thick end?",
        wedge,
        "µm",
        f"{lean} µm in a metre over {high} mm: {lean} × {high} / 1000 = {wedge:g}.",
        (lean, "a slope is taken for a thickness", f"That is over a metre. The blade is {high} mm high."),
        (wedge / 2, "one square is taken for a pair", "A gap is shared by two squares. This angle is of yours alone."),
        (2 * wedge, "one square is taken for a pair that doubles", "The doubling is solved already."),
        tolerance=0.1,
    )


def square_bend(rng: np.random.Generator) -> Question:
    """What a bent blade does to an angle that is read at two heights."""
    proud, high = draw(rng, 3, 9), (100, 200)[draw(rng, 0, 1)]
    out = 2000 * proud / high
    return numeric(
        f"The blade of a square is {high} mm high and proud by {proud} µm in its middle. Its angle is read at the "
        f"bottom "
        "and halfway up. By how much does the bend alone put that angle out, in µm for each metre?",
        out,
        "µm/m",
        f"It rises {proud} µm over half the height: {proud} / {high / 2:g} × 1000 = {out:g}.",
        (
            0,
            "a bend is taken to leave every angle alone",
            "That is so between bottom and top. Where was this one read?",
        ),
        (out / 2, "the whole height is taken", "From the bottom to halfway up it is half the height."),
        (proud, "a height is taken for a slope", "Over how many millimetres does the blade rise by that much?"),
        tolerance=0.1,
    )
