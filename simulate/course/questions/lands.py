"""Questions of lessons 07 to 09: gauges with lands, what they make of a bar, and how far they go.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def lands_where(rng: np.random.Generator) -> Question:
    """What a gauge sees of a hill between its lands."""
    space, hill = 20 * draw(rng, 5, 8), draw(rng, 15, 40)
    return pick(
        rng,
        f"A gauge has lands at 0, {space} and {2 * space} mm. The edge under it is straight but for a hill of "
        f"{hill} µm at {space // 2} mm, {space // 2} mm wide. What does the fit show?",
        "No light, and it does not rock",
        "Between its lands a gauge is relieved by a fraction of a millimetre, far more than the hill is high.",
        (
            f"It rocks, {hill} µm of light at one end",
            "a gauge is taken to touch all along",
            "Which places of the edge do its lands touch?",
        ),
        (
            f"Light of {hill / 2:g} µm in the middle",
            "a hill is taken to lift the land beside it",
            "Half of a hill counts where it lies under an outer land. Is it under one?",
        ),
        (
            f"Light of {hill} µm at one land",
            "a hill is taken to lift one end",
            "An end is lifted by what is under its land. What is under it here?",
        ),
    )


def lands_sum(rng: np.random.Generator) -> Question:
    """One gauge from a fit with a known one."""
    a, light = 2 * draw(rng, 5, 7) + 1, draw(rng, 4, 8)
    return numeric(
        f"The middle land of gauge A stands {a} µm proud. Gauge B is laid on it: the outer lands are dark, and "
        f"{light} µm of light shows over the middle. How high does the middle land of B stand, with its sign?",
        -light - a,
        "µm",
        f"a + b = -{light}, so b = -{light} - {a} = {-light - a}.",
        (-light, "the other gauge is taken for straight", f"A is {a} µm proud. B makes up for that too."),
        (a + light, "the sign is forgotten", "Light in the middle: is the sum proud or hollow?"),
        (light - a, "light is taken for proud", f"The two add up to -{light}, since light shows between them."),
        (a - light, "one gauge is taken from the other", f"The two add up to -{light}. What does B need beside +{a}?"),
    )


def lands_file(rng: np.random.Generator) -> Question:
    """What touches, and which of two gives metal."""
    rocks = bool(draw(rng, 0, 1))
    touch, open_ = ("middle land", "outer lands") if rocks else ("outer lands", "middle land")
    shows = "they rock on the middle" if rocks else "light shows in the middle, and the outer lands are dark"
    return pick(
        rng,
        f"At the split, gauge C is laid on gauge B: {shows}. Where is a pass taken?",
        f"From the {touch} of B and of C",
        "Those touch. One fit does not say which of the two gauges is out, so both give metal.",
        (
            f"From the {open_} of B and of C",
            "the open lands are filed",
            "Filing opens a gap further. Which lands keep the others apart?",
        ),
        (
            f"From the {touch} of C alone",
            "one of two must be right",
            "What in this fit says that it is C, and not B?",
        ),
        (
            "From all lands of C",
            "metal is taken where nothing touches",
            "Lower all three alike, and what has changed between them?",
        ),
    )


def lands_gauge(rng: np.random.Generator) -> Question:
    """One small gauge from three fits."""
    a, b, c = draw(rng, 2, 6), draw(rng, 14, 20), draw(rng, 8, 11)
    return numeric(
        f"Three small gauges rock on their middles in each pair. A feeler under both outer lands reads {a + b} µm for "
        f"A on B, {a + c} µm for A on C, and {b + c} µm for B on C. How proud is the middle of A?",
        a,
        "µm",
        f"({a + b} + {a + c} - {b + c}) / 2 = {a}.",
        (2 * a, "forgets the half", "A is in both fits with A, so the sum contains it twice."),
        (a + b + c, "every fit is added", "The fit of B and C takes B and C out again: subtract it."),
        (b, "solves for another gauge", "Subtract the fit that A has no part in."),
    )


def lands_two_gauges(rng: np.random.Generator) -> Question:
    """Why seven from three needs a second gauge."""
    space = 10 * draw(rng, 6, 15)
    return pick(
        rng,
        f"A gauge with lands {3 * space} mm apart has made 0, {3 * space} and {6 * space} mm straight. "
        f"You want every {space} mm. Why is a second gauge needed?",
        f"No land of the first one falls on {space} mm",
        f"Its lands lie {3 * space} mm apart, so between its points nothing was ever compared.",
        (
            "The first one is worn by now",
            "the gauge is blamed",
            "Even a new one: which places of the bar do its lands touch?",
        ),
        ("Seven lands need seven gauges", "lands are taken for gauges", "One small gauge may be laid down many times."),
        (
            "A long gauge is less certain",
            "length is taken for error",
            "Its three points are the most certain you have. What lies between them?",
        ),
    )


def lands_fits(rng: np.random.Generator) -> Question:
    """How many fits the second level needs."""
    times = draw(rng, 3, 5)
    spaces = 2 * times
    return numeric(
        f"Ends and middle of a bar are straight. A small gauge whose lands are {times} times as close brings "
        f"that to {spaces + 1} points; it is laid once over each new point. How many times is it laid?",
        spaces - 2,
        "fits",
        f"{spaces + 1} points less the three that were there: {spaces - 2}.",
        (spaces + 1, "the points that were there are made again", "Ends and middle are straight already."),
        (spaces, "spaces are counted for points", f"{spaces + 1} points have {spaces} spaces. Count the points."),
        (spaces - 1, "the middle is made again", "The long gauge has made the middle. Leave it out."),
        (times - 1, "one half of the bar is forgotten", "The bar has two halves."),
        tolerance=0.01,
    )


def lands_hollow(rng: np.random.Generator) -> Question:
    """What a bar becomes that is fitted to a gauge that is out."""
    z = draw(rng, 2, 9)
    return numeric(
        f"The middle land of a gauge stands {z} µm proud of its outer two. A bar is worked until it fits on all three. "
        "How high is the bar at its middle land, above the line of the outer two, with its sign?",
        -z,
        "µm",
        "They fit when the two heights add up to zero.",
        (z, "a fit is taken for a copy", "Face to face, a hill needs a hollow."),
        (0, "a bar that fits is straight", "It fits the gauge. Is the gauge straight?"),
        (-2 * z, "the doubling comes too early", "Twice shows only between two bars made to the same gauge."),
    )


def lands_turned(rng: np.random.Generator) -> Question:
    """What an unequal gauge adds when turned."""
    space = 10 * draw(rng, 5, 15)
    return numeric(
        f"A gauge has lands at 0, {space} and {3 * space} mm. Laid on a bar that is fixed at 0 and {3 * space} mm, it "
        f"settles the point at {space} mm. Now it is turned end for end on the same place. Which point does it settle?",
        2 * space,
        "mm",
        f"Its middle land lies {space} mm from the other end now: {3 * space} - {space} = {2 * space}.",
        (space, "turning is taken to change nothing", "Turn a strip of paper with three marks end for end."),
        (
            1.5 * space,
            "the middle land is taken to stand halfway",
            f"The lands are {space} and {2 * space} mm apart. Which space comes first now?",
        ),
        tolerance=0.5,
    )


def lands_spare(rng: np.random.Generator) -> Question:
    """Counting readings against unknown points over two levels."""
    n = 2 * draw(rng, 3, 6)
    return numeric(
        f"A bar is to have {n + 1} points evenly spaced, both ends fixed. The long gauge is laid once, over the ends "
        "and the middle. The small gauge is laid twice over each inner point, its other two lands on the neighbours. "
        "Each fit gives one reading. How many readings are left over for checking?",
        n,
        "readings",
        f"{1 + 2 * (n - 1)} readings less {n - 1} unknown points: {n}.",
        (
            2 * n - 1,
            "readings are counted and unknowns are not",
            "Each inner point costs one reading before anything is left over.",
        ),
        (
            n - 1,
            "the fit of the long gauge is left out",
            "The long gauge gave a reading too. Is it among yours?",
        ),
        (
            n - 2,
            "the fixed ends are counted as unknown",
            "The ends are the line itself; nothing has to be found there.",
        ),
        (
            1,
            "a second fit is taken to show nothing",
            "The first fit predicts the second, so the second checks it.",
        ),
        tolerance=0.01,
    )


def far_square(rng: np.random.Generator) -> Question:
    """All small gauges share one error."""
    z, n = draw(rng, 1, 4) / 2, 2 * draw(rng, 3, 8)
    return numeric(
        f"A small gauge calls a straight bar proud by {z:g} µm, every time. It is stepped over {n} equal spaces "
        "between two fixed ends, once over each inner point. How far out is the bar in the middle, "
        "without its sign? (It adds "
        "up to z k (n - k) at point k.)",
        z * n * n / 4,
        "µm",
        f"k = {n // 2}: {z:g} × {n // 2} × {n // 2} = {z * n * n / 4:g}.",
        (
            z,
            "an error is taken to stay as it is",
            "Each fit bends the bar by as much again; slopes add up, and then heights.",
        ),
        (
            z * n / 2,
            "the error is taken to grow with the number of steps",
            "The slope grows with the steps, the height with the slope.",
        ),
        (z * n * n, "takes n squared without the quarter", f"In the middle k is {n // 2}, and so is n - k."),
        tolerance=0.1,
    )


def far_double(rng: np.random.Generator) -> Question:
    """Twice the steps, shared error against own errors."""
    w = draw(rng, 3, 12)
    return numeric(
        f"A small gauge stepped alone leaves a bar {w} µm hollow in the middle, all through one "
        "error that its fits share. "
        "You now step over twice as many spaces with the same gauge error. How hollow does the middle get?",
        4 * w,
        "µm",
        f"It grows with the square of the steps: 2² × {w} = {4 * w}.",
        (
            2 * w,
            "the error is taken to grow with the number of steps",
            "Slopes add up along the bar, and heights add up the slopes.",
        ),
        (
            2**1.5 * w,
            "the law of independent errors is used",
            "Independent errors partly cancel. Shared ones never do.",
        ),
        (w, "an error is taken to stay as it is", "There are twice as many fits now, all with the same error."),
        tolerance=0.5,
    )


def far_random(rng: np.random.Generator) -> Question:
    """Own errors grow with the power 3/2."""
    w = draw(rng, 3, 12)
    return numeric(
        "Stepping over many spaces, with errors that are independent from fit to fit, leaves the middle with a "
        "standard deviation "
        f"of {w} µm. To about how much does it grow over four times as many spaces?",
        8 * w,
        "µm",
        f"4 to the power 3/2 is 8: {8 * w}.",
        (
            16 * w,
            "the law of a shared error is used",
            "Independent errors partly cancel, so it grows more slowly than the square.",
        ),
        (
            4 * w,
            "the uncertainty is taken to grow with the number of steps",
            "It grows faster: errors of slope are carried along the bar.",
        ),
        (2 * w, "the square root of a mean is used", "Here nothing is averaged. Every fit leans on the one before."),
        tolerance=0.5,
    )


def far_anchor(rng: np.random.Generator) -> Question:
    """Where the anchored way gains."""
    s = draw(rng, 1, 4)
    third = s * math.sqrt(20 / 9)
    return numeric(
        f"Each fit has a standard deviation of {s} µm. The middle of a bar is made with the long gauge. Between one "
        f"end and the "
        f"middle a small gauge is stepped over three spaces; if the middle were perfect that would give {third:.2f} "
        "µm at the point next to it. Two thirds of the middle's own error come in. What is the "
        "standard deviation of that "
        "point?",
        s * math.sqrt(24 / 9),
        "µm",
        f"√({third:.2f}² + (2/3 × {s})²) = {s * math.sqrt(24 / 9):.2f}.",
        (third + 2 * s / 3, "errors are added straight", "Independent errors add by their squares."),
        (
            third,
            "the anchor is taken for perfect",
            f"The uncertainty of the middle is ± {s} µm, and two thirds of it come in.",
        ),
        (
            math.sqrt(third**2 + s**2),
            "the middle's error is taken whole",
            "The point lies two thirds of the way to the middle.",
        ),
        tolerance=0.06 * s,
    )


def far_check(rng: np.random.Generator) -> Question:
    """What a fit that is not needed is good for."""
    space = 10 * draw(rng, 5, 12)
    return pick(
        rng,
        f"All points every {space} mm are settled, each by just one fit. You lay the small gauge once more, across "
        "the middle that the long gauge made. What does that fit give you?",
        "A check: the others predict it",
        "It is one reading more than there are unknowns, so a mistake with a gauge can show for the first time.",
        (
            "A further straight point",
            "every fit is taken for a point",
            "Which point does it touch that was not reached before?",
        ),
        ("Nothing at all", "more readings are taken for waste", "If it does not agree with the others, what then?"),
        (
            "Proof that all gauges are straight",
            "agreeing is taken for truth",
            "If all gauges share one error in the right proportion, no light shows either.",
        ),
    )


def far_between(rng: np.random.Generator) -> Question:
    """What lands do not see."""
    a = draw(rng, 2, 9)
    return numeric(
        f"All points of a bar, 50 mm apart, are straight. The bar also has a wave 50 mm long that rises {a} µm above "
        f"and falls {a} µm below its own middle line. How proud may the bar be between the points?",
        2 * a,
        "µm",
        f"All points may lie in the hollows; then every crest is {a} + {a} = {2 * a} µm above them.",
        (0, "straight points are taken for a straight bar", "The lands touch only their own places."),
        (a, "half the wave is forgotten", "From the bottom of a hollow to the top of a crest is the whole height."),
    )


def far_levels(rng: np.random.Generator) -> Question:
    """One error that every gauge shares, followed through two levels."""
    z = 3 * draw(rng, 1, 4)
    return numeric(
        f"Every gauge, long and small, calls a straight bar proud by {z} µm. The long one makes the middle of a bar; "
        "then the small one is stepped over three spaces in each half, between an end and the middle. How far out is "
        "the point next to the middle, without its sign? (Over n spaces the point k gets z k (n - "
        "k), and its share of the "
        "errors of its anchors.)",
        8 * z / 3,
        "µm",
        f"{z} × 2 × 1 = {2 * z} from the steps, and 2/3 of the middle's {z}: {8 * z / 3:g}.",
        (
            3 * z,
            "the middle's error is taken whole",
            "The point lies two thirds of the way from the end to the middle.",
        ),
        (2 * z, "the anchor is taken for perfect", f"The middle was made with a gauge that is out by {z} µm as well."),
        (8 * z, "the small gauge is stepped alone", "Only three spaces lie between two anchors, so n is 3 and not 6."),
    )
