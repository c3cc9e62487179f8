"""Questions of lessons 01 and 02: what straight means, seeing a gap.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def straight_line(rng: np.random.Generator) -> Question:
    """Adding up the readings of an autocollimator."""
    a, b, c = draw(rng, 2, 6), draw(rng, 3, 9), draw(rng, 2, 8)
    total = a + b + c
    return numeric(
        f"A mirror on a 100 mm base is stepped along a bar. It reads 120, {120 + a}, {120 + b} and {120 + c} "
        "arcseconds, and one arcsecond is 0.5 µm on this base. Take the differences from the first reading as rises "
        "and add them up: how high is the far end?",
        total / 2,
        "µm",
        f"The rises are 0, {a / 2:g}, {b / 2:g} and {c / 2:g} µm; together {total / 2:g} µm.",
        (
            total,
            "arcseconds are taken for micrometres",
            "Each arcsecond lifts the 100 mm base by only half a micrometre.",
        ),
        (
            c / 2,
            "a slope is taken for a height",
            "Each reading is the rise over one step. The far end stands on all of them.",
        ),
        (
            480 / 2 + total / 2,
            "the first reading is not taken away",
            "The first reading says only how the instrument was set. Take 120 from each.",
        ),
    )


def straight_ends(rng: np.random.Generator) -> Question:
    """End-point straightness of five heights."""
    m, d1, d2, d3 = draw(rng, 6, 9), draw(rng, 1, 4), draw(rng, 5, 9), -draw(rng, 5, 8)
    heights = [0, m + d1, 2 * m + d2, 3 * m + d3, 4 * m]
    return numeric(
        "Five heights, evenly spaced: "
        + ", ".join(str(h) for h in heights)
        + " µm. Draw the line through the two ends. "
        "What is the end-point straightness, from the highest above it to the lowest below it?",
        d2 - d3,
        "µm",
        f"Above the line: {d1}, {d2}; below it: {d3}. From {d2} down to {d3} is {d2 - d3} µm.",
        (4 * m, "the tilt is left in", f"The line rises {m} µm from point to point. Take that away first."),
        (
            max(d2, -d3),
            "one side only is counted",
            "Count from the highest above the line to the lowest below it, both.",
        ),
        (d1 + d2 + d3, "the departures are added up", "Straightness is one distance, highest to lowest, not a sum."),
    )


def straight_tilt(rng: np.random.Generator) -> Question:
    """A tilt is no error of form."""
    s, t = draw(rng, 4, 12), draw(rng, 30, 90)
    return numeric(
        f"A bar is straight within {s} µm. A strip of {t} µm is pushed under one end. To within "
        "how much is it straight "
        "now? (Leave its bending out.)",
        s,
        "µm",
        "Straightness is judged against the bar's own line, and the line tilts with the bar.",
        (s + t, "tilt is taken for error", "Does the shape change when one end is lifted?"),
        (t, "tilt is taken for the whole error", "The strip moves the bar; it does not shape it."),
        (t - s, "tilt is set against the error", "Nothing cancels here: the shape is the same as before."),
    )


def straight_zone(rng: np.random.Generator) -> Question:
    """Minimum zone of a hump of three heights."""
    h = 3 * draw(rng, 2, 9)
    return numeric(
        f"Three heights, evenly spaced: 0, {h}, 0 µm. Two parallel lines hold all three between them. "
        "What is the smallest distance between such lines?",
        h,
        "µm",
        f"One line lies on both ends, the other touches the middle: {h} µm.",
        (
            h / 2,
            "plus or minus is quoted",
            "That is how far the points are from the line midway. The zone is twice as wide.",
        ),
        (
            2 * h / 3,
            "only the peak above least squares is counted",
            "2/3 of it is above the least-squares line, and 1/3 is below. Count both.",
        ),
        (2 * h, "hill and hollow are both counted in full", "The ends are already the bottom of the hill."),
    )


def straight_judge(rng: np.random.Generator) -> Question:
    """Which way of judging is never the larger."""
    return pick(
        rng,
        "The same bar is judged by end points, by least squares and by minimum zone. Which figure is never "
        "larger than the other two?",
        "Minimum zone",
        "It is the narrowest zone there is; every other line makes one at least as wide.",
        (
            "End points",
            "the ends are taken for the truth",
            "If an end has a burr, the line through it makes the rest look worse.",
        ),
        (
            "Least squares",
            "least squares is taken for least width",
            "Least squares makes the squares small, not the width. Close, but seldom the least.",
        ),
        (
            "They are always equal",
            "the three are taken for one",
            "Look at the panel once more and compare the three figures.",
        ),
    )


def gap_wedge(rng: np.random.Generator) -> Question:
    """Calibrating the eye on a wedge."""
    t, length, z = (50, 100)[draw(rng, 0, 1)], (200, 250)[draw(rng, 0, 1)], draw(rng, 7, 14)
    see = t * z / length
    return numeric(
        f"Two edges touch at one end, and {length} mm from there they are {t} µm apart. Coming from the open end, you "
        f"lose the light {z} mm before they touch. What is the smallest gap you can see?",
        see,
        "µm",
        f"{t} µm × {z} / {length} = {see:.2f} µm.",
        (t - see, "measured from the open end", "The wedge is thinnest where the edges touch. Count from there."),
        (
            z,
            "millimetres along are taken for micrometres of gap",
            f"{length} mm along the wedge is {t} µm of gap, so one millimetre along is much less than one micrometre.",
        ),
    )


def gap_dark(rng: np.random.Generator) -> Question:
    """What a dark joint tells."""
    t = draw(rng, 4, 8) / 2
    return pick(
        rng,
        f"Your eye sees light from {t:g} µm upwards. Two bars lie on each other, and it is dark all along. "
        "What do you know?",
        f"No gap is wider than about {t:g} µm",
        "Dark means that each gap is smaller than the eye can see, and no more than that.",
        ("There is no gap at all", "dark is taken for touching", "A gap under your threshold is dark as well."),
        ("Both bars are straight", "two that agree are right", "A hill fits a hollow that is its opposite."),
        ("The upper bar is straight", "the lower one is trusted", "Who made the lower one straight?"),
    )


def gap_feeler(rng: np.random.Generator) -> Question:
    """A feeler gives an interval."""
    blades = (50, 100, 150, 200, 250, 300)
    i = draw(rng, 0, 4)
    low, high = blades[i], blades[i + 1]
    return numeric(
        f"The {low / 1000:.2f} mm blade goes in, the next one of {high / 1000:.2f} mm does not. "
        "The gap is less than how many micrometres?",
        high,
        "µm",
        f"The gap is at least {low} µm and less than {high} µm, and the feeler shows no more.",
        (low, "the blade is taken for the gap", "The blade that goes in says how wide the gap is at least."),
        (
            (low + high) / 2,
            "the difference is split",
            "The middle is a guess. Which blade gives a limit that you can trust?",
        ),
    )


def gap_rock(rng: np.random.Generator) -> Question:
    """How to tell a convex bar from a hollow one."""
    return pick(
        rng,
        "With a finger at one end you push the upper bar sideways. It swings easily about its middle. "
        "How do the two lie?",
        "They touch in the middle: proud there",
        "A hill in the middle is a pivot. A hollow drags at its ends.",
        (
            "They touch at the ends: hollow between",
            "swinging is taken for hollow",
            "On its ends the bar would drag at both of them. Where is the pivot?",
        ),
        (
            "They touch all along",
            "easy movement is taken for a good fit",
            "A good fit over the whole length drags everywhere.",
        ),
    )


def gap_compound(rng: np.random.Generator) -> Question:
    """A thick film prints over a hollow."""
    f = 5 * draw(rng, 2, 8)
    return numeric(
        f"Marking compound was spread {f} µm thick on the gauge, and the bar came off blue all over. "
        "How deep could a hollow be and still be printed blue?",
        f,
        "µm",
        f"The film fills a hollow as deep as itself: {f} µm.",
        (0, "blue everywhere is good", "Wet compound reaches down into a hollow. How far?"),
        (2 * f, "the film is counted twice", "Only the gauge carries a film. The bar was clean."),
        (f / 2, "the film is halved", "Where the gauge just misses, the film still has its whole thickness."),
    )


def gap_middle(rng: np.random.Generator) -> Question:
    """Why the middle is always marked."""
    return pick(
        rng,
        "The middle of your bar is marked blue time after time, and the ends seldom. What is the likely reason?",
        "The file rocks and leaves a crown",
        "Filing leaves the middle proud, and rubbing also works the middle longest.",
        (
            "The ends are worn away",
            "the ends are blamed",
            "Which way does a rocking file cut: more at the ends, or less?",
        ),
        (
            "Compound gathers in the middle",
            "the compound is blamed",
            "It was spread evenly. Think of what the hands do in a stroke.",
        ),
    )
