"""Questions of lesson 22: what a look tells, where to cut, and what a go came to.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def practice_depth(rng: np.random.Generator) -> Question:
    """Strokes into depth."""
    strokes, length = 10 * draw(rng, 3, 9), 50 * draw(rng, 3, 6)
    depth = strokes * 1000 / (length * 10)
    return numeric(
        f"A stroke of your file takes 1 mm³. You spread {strokes} strokes evenly over {length} mm of an edge 10 mm "
        "wide. How deep is the cut?",
        depth,
        "µm",
        f"{strokes} mm³ over {length} × 10 mm² is {depth / 1000:.4f} mm.",
        (depth * 10, "the width of the edge is forgotten", "The metal comes off the whole width, 10 mm of it."),
        (strokes, "a stroke is taken for a micrometre", "That holds for a stretch of 100 mm only. Divide by the area."),
        tolerance=0.5,
    )


def practice_turn(rng: np.random.Generator) -> Question:
    """Where a place lies once the bar is turned."""
    place = 10 * draw(rng, 5, 20)
    return numeric(
        f"A high spot lies {place} mm right of the middle of bar 2. You turn the bar end for end. Where does the spot "
        "lie now? Right of the middle is plus.",
        -place,
        "mm",
        f"A turn end for end swings right to left: −{place} mm.",
        (place, "the turn is taken to move nothing", "Hold a pencil by its middle and swing its point round."),
        (0, "the turn is taken about the spot", "The bar is turned about its middle."),
        tolerance=0.5,
    )


def practice_dark(rng: np.random.Generator) -> Question:
    """Dark over the whole length."""
    a, b = ((1, 2), (1, 3), (2, 3))[draw(rng, 0, 2)]
    return pick(
        rng,
        f"Bar {b} lies on bar {a}, and no light shows anywhere. What do you know?",
        f"Bars {a} and {b} are opposites, to within what the eye sees",
        "Their sum is straight. How straight each of them is, nobody knows.",
        (f"Bars {a} and {b} are straight", "a fit is taken for straightness", "A hill in a hollow is dark too."),
        (
            f"Bar {b} is straight if bar {a} is the gauge",
            "the gauge is trusted by its name",
            "Nobody has made the gauge straight yet; it is one of the three.",
        ),
    )


def practice_where(rng: np.random.Generator) -> Question:
    """Where the file goes."""
    x = 10 * draw(rng, 8, 20)
    return pick(
        rng,
        f"The bar in the vice sits on the gauge at {-x} mm and at {x} mm, firmly, with light between. You trust the "
        "gauge. Where do you file the bar in the vice?",
        "At the two dark places",
        "Metal only comes off: the places that touch have to go until the middle comes down to the gauge.",
        (
            "In the middle, where the light is",
            "light is taken for metal",
            "Light is where metal is missing. It cannot be put back.",
        ),
        ("All along", "a cut all along is taken to straighten", "An even cut keeps the shape and costs metal."),
    )


def practice_stale(rng: np.random.Generator) -> Question:
    """Which looks still hold."""
    filed = draw(rng, 1, 3)
    others = [b for b in (1, 2, 3) if b != filed]
    left = f"{others[1]} on {others[0]}"
    return pick(
        rng,
        f"You looked at 2 on 1, 3 on 1 and 3 on 2. Then you filed bar {filed}. Which of these checks still hold?",
        f"Only {left}",
        "A cut changes its bar, and with it every fit in which that bar lies.",
        ("All three", "a check is taken to last", "The filed bar is no longer the one that you looked at."),
        ("None", "one cut is taken to change all bars", f"Bars {others[0]} and {others[1]} were not touched."),
    )


def practice_stop(rng: np.random.Generator) -> Question:
    """When to stop."""
    t = draw(rng, 4, 8) / 2
    return pick(
        rng,
        f"All three pairings are dark, and your eye sees {t:g} µm. What is the next cut likely to do?",
        "As likely harm as good, and it costs metal",
        "What is left cannot be seen, so the cut is a throw of the dice. Stop, or find a finer check.",
        (
            "Make the bars a little better each time",
            "more work is taken for better work",
            "Where would you put the file? Nothing tells you.",
        ),
        ("Nothing, because the bars are now perfect", "dark is taken for zero", f"Up to {t:g} µm is dark too."),
    )


def practice_belly(rng: np.random.Generator) -> Question:
    """How deep a file of a given belly can go in a short stretch."""
    length, radius = 10 * draw(rng, 2, 6), 5 * draw(rng, 1, 3)
    deep = length**2 / (8 * radius)
    return numeric(
        (
            f"The belly of your file is an arc of {radius} m radius. How deep is a hollow of {length} mm length that "
            "it just fills?"
        ),
        deep,
        "µm",
        f"An arc over a chord c is c² / 8 R deep: {length}² / (8 · {radius} 000) mm = {deep / 1000:.4f} mm.",
        (
            4 * deep,
            "the whole length is taken for half of it",
            "Half the chord squared, over twice the radius: c² / 8 R.",
        ),
        (
            deep / 1000,
            "millimetres are given for micrometres",
            "The figure is right in mm; a µm is a thousandth of it.",
        ),
        tolerance=0.5,
    )


def practice_score(rng: np.random.Generator) -> Question:
    """A go against the plain loop and the best plan."""
    plan, over = draw(rng, 5, 9), draw(rng, 1, 4)
    mine, loop = plan * (1 + over / 10), 2 * plan
    return numeric(
        f"Your attempt, the plain loop of three and the best plan end equally straight. You took {mine:.1f} cm³ of "
        f"metal, the loop {loop} and the best plan {plan}. How many per cent more than the best plan did you take?",
        10 * over,
        "%",
        f"{mine:.1f} - {plan} = {mine - plan:.1f} cm³ more, and {mine - plan:.1f} / {plan} × 100 = {10 * over}.",
        (
            100 * (loop - mine) / loop,
            "the loop is taken for the plan",
            "That is what you saved against the loop. Which figure is the plan's?",
        ),
        (mine - plan, "metal is given for a share", "That is in cm³. How much of the plan's metal is it?"),
        tolerance=0.4,
    )


def practice_levels(rng: np.random.Generator) -> Question:
    """What a turn can show on each level."""
    if draw(rng, 0, 1):
        return pick(
            rng,
            "The bench offers three levels. On which one does a turn end for end show nothing new?",
            "Gauges with three lands",
            "A gauge has one number, how proud its middle land is, and a turn leaves it where it is.",
            ("Bars", "a bar is taken for one number", "A bar may be an S. What does an S do when it is turned?"),
            ("Plates", "a plate is taken for one number", "A plate may be twisted or lopsided, and it can be turned."),
        )
    return pick(
        rng,
        "The bench offers three levels. On which one does a quarter turn show what no other fit shows?",
        "Plates",
        "Twist fits twist face to face and after a half turn; after a quarter turn it shows twice.",
        (
            "Bars",
            "bars are taken for plates",
            "A bar lies along the other. What would a quarter turn leave on it?",
        ),
        (
            "Gauges with three lands",
            "gauges are taken for plates",
            "Three lands stand in one line. Do they meet after a quarter turn?",
        ),
    )
