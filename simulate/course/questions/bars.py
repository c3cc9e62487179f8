"""Questions of lessons 03 to 05: two bars, three bars, what still hides.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def two_opposite(rng: np.random.Generator) -> Question:
    """A bar that fits a hill is a hollow."""
    a = draw(rng, 8, 40)
    return numeric(
        f"Bar 1 stands +{a} µm proud in its middle; its ends are at 0. Bar 2 fits it without any gap. "
        "What is the height of bar 2 in its middle, with its sign?",
        -a,
        "µm",
        "Two bars that fit add up to zero everywhere.",
        (a, "a fit is taken for a copy", "What fits onto a hill is not another hill."),
        (0, "two that agree are right", "Would a straight bar fit a hill without a gap?"),
        (
            -2 * a,
            "the doubling comes too early",
            "The doubling needs two bars made to the same third one. Here one meets one.",
        ),
    )


def two_double(rng: np.random.Generator) -> Question:
    """Both made to one wrong gauge."""
    e = draw(rng, 8, 60)
    return numeric(
        f"Bar 1 is {e} µm proud in its middle. Bars 2 and 3 are both filed until they fit bar 1. "
        "Now 2 is laid on 3. How wide is the gap in the middle?",
        2 * e,
        "µm",
        f"Each is {e} µm hollow, and hollow meets hollow: {e} + {e} = {2 * e}.",
        (e, "forgets the error is doubled", "Both bars carry the error of bar 1, and both on the side of the gap."),
        (0, "both fit bar 1, so they fit each other", "Draw the two hollows face to face."),
        (4 * e, "doubles twice", "Two hollows, each as deep as the hill of bar 1."),
    )


def two_gap(rng: np.random.Generator) -> Question:
    """The gap is what the two heights leave."""
    a = draw(rng, 5, 15)
    b = a + draw(rng, 20, 40)
    return numeric(
        f"Bar A is {a} µm proud in its middle, bar B is {b} µm hollow there. Their ends touch. "
        "How wide is the gap in the middle?",
        b - a,
        "µm",
        f"The hill fills part of the hollow: {b} - {a} = {b - a}.",
        (a + b, "adds sizes without their signs", "A hill and a hollow work against each other in the gap."),
        (b, "one bar is taken for true", "Bar A is not straight: its hill reaches into the hollow."),
    )


def two_equal(rng: np.random.Generator) -> Question:
    """Equal shares leave half the difference."""
    b = draw(rng, 16, 30)
    a = b + 2 * draw(rng, 5, 15)
    left = (a - b) // 2
    return numeric(
        f"Bar A is {a} µm proud in the middle, bar B {b} µm. The same amount comes off both there until they fit. "
        "How proud is A then?",
        left,
        "µm",
        f"Together {a + b} µm must go, {(a + b) / 2:g} from each: {a} - {(a + b) / 2:g} = {left}.",
        (
            0,
            "two that agree are right",
            "They fit when the heights add up to zero. Neither of them needs to be zero for that.",
        ),
        (
            a - b,
            "only the smaller hill is taken off",
            "Bar B ends hollow. The amount taken is half of both hills together.",
        ),
        ((a + b) / 2, "the metal taken off is given for what is left", "That is what comes off. Subtract it from A."),
    )


def two_proof(rng: np.random.Generator) -> Question:
    """What two bars prove."""
    return pick(
        rng,
        "Two bars laid on each other show no light from end to end. What is proven, within what the eye sees?",
        "That each is the opposite of the other",
        "The heights add up to a straight line; no single one need be straight.",
        ("That both are straight", "two that agree are right", "A bow fits the opposite bow without a gap."),
        ("That one of them is straight", "one of two must be right", "Which one? Nothing in the fit can show you."),
        ("That they have the same shape", "a fit is taken for a copy", "Face to face, a hill needs a hollow."),
    )


def three_solve(rng: np.random.Generator) -> Question:
    """One bar from three gaps."""
    a, b, c = draw(rng, 6, 10), draw(rng, 30, 36), draw(rng, 14, 18)
    return numeric(
        f"The ends touch in each pair, and the gaps in the middle are: A and B {a + b} µm, A and C {a + c} µm, "
        f"B and C {b + c} µm. How hollow is A?",
        a,
        "µm",
        f"({a + b} + {a + c} - {b + c}) / 2 = {a}.",
        (2 * a, "forgets the half", "A is in both of its gaps, so it is in the sum twice."),
        (a + b + c, "every gap is added", "The gap of B and C takes B and C out again: subtract it."),
        (b, "solves for another bar", "The gap that you subtract is the one without A."),
    )


def three_round(rng: np.random.Generator) -> Question:
    """What one round leaves."""
    e, s = 20 * draw(rng, 6, 20), (30, 40, 60, 65, 70)[draw(rng, 0, 4)]
    left = abs(2 * s - 100) * e / 100
    return numeric(
        f"The gauge is out by {e} µm. Bars 2 and 3 are fitted to it and then to each other; {s} % of the metal "
        "of that split comes off bar 2. By how much is bar 2 out afterwards?",
        left,
        "µm",
        f"|2 × {s / 100:g} - 1| × {e} = {left:g}.",
        (s * e / 100, "the share is taken for what is left", f"The gap is 2 × {e} µm. {s} % of that comes off bar 2."),
        (
            (100 - s) * e / 100,
            "the gap is taken as the error, not its double",
            f"Bar 2 gives {s} % of {2 * e} µm, not of {e} µm.",
        ),
        (0, "any split is taken for an even one", "Only at 50 % does nothing remain."),
        (
            2 * s * e / 100,
            "what comes off is taken for what is left",
            f"So much comes off bar 2. It stood out by {e} µm before.",
        ),
        tolerance=0.5,
    )


def three_count(rng: np.random.Generator) -> Question:
    """How many rounds are needed."""
    e, s = 100 * draw(rng, 3, 5), (60, 65, 70)[draw(rng, 0, 2)]
    factor = (2 * s - 100) / 100
    rounds = math.ceil(math.log(e / 5) / -math.log(factor))
    halving = math.ceil(math.log2(e / 5))
    return numeric(
        f"The bars are out by {e} µm, and {s} % of every split comes off bar 2. Nothing else goes wrong. "
        "After how many rounds is the error first under 5 µm?",
        rounds,
        "rounds",
        f"Each round leaves {factor:g} of it, and {e} × {factor:g}^{rounds} = {e * factor**rounds:.1f}.",
        (
            round(math.log(e / 5) / -math.log(factor), 2),
            "a part of a round is counted",
            "The law looks at the end of each round. Which is the first at which it is under 5 µm?",
        ),
        (
            math.ceil(math.log(e / 5) / -math.log(s / 100)),
            "the share is taken for what is left",
            f"{s} % comes off one bar, of a gap that is twice the error. What does a round leave?",
        ),
        (halving, "every round is taken to halve", f"At {s} % a round leaves |2 × {s / 100:g} - 1| of the error."),
        (
            rounds - 1,
            "stops one round short",
            f"One round earlier it was still {e * factor ** (rounds - 1):.1f} µm.",
        ),
        tolerance=0.01,
    )


def three_file(rng: np.random.Generator) -> Question:
    """Which bar is filed in the split."""
    return pick(
        rng,
        "Bars 2 and 3 both fit bar 1, but 2 on 3 shows light in the middle. What do you do next?",
        "File 2 and 3, half each, then make 1 again from the better",
        "Both carry the error of bar 1, so half comes off each; bar 1 is then made again.",
        (
            "File bar 3 until it fits bar 2",
            "one of two must be right",
            "Then bar 3 takes the whole of a doubled error. Is bar 2 any better than bar 3?",
        ),
        ("Nothing: both fit bar 1", "agreeing with the gauge is right", "The light shows twice the error of bar 1."),
        ("File bar 2 to bar 1 once more", "the gauge is trusted", "It fits bar 1 already, and bar 1 is what is wrong."),
    )


def three_sigma(rng: np.random.Generator) -> Question:
    """How sure one bar is."""
    s = draw(rng, 2, 9)
    return numeric(
        f"Each of the three gaps is read with a standard deviation of {s} µm, independently. "
        "What is the standard deviation of the height of one bar, (ab + ac - bc)/2?",
        s * math.sqrt(3) / 2,
        "µm",
        f"√({s}² + {s}² + {s}²) / 2 = {s * math.sqrt(3) / 2:.2f} µm.",
        (s, "one gap's error is taken over", "Three readings go in, and their sum is halved."),
        (1.5 * s, "errors are added straight", "Independent errors add by their squares."),
        (
            s * math.sqrt(3),
            "forgets the half",
            "The sum of the three is divided by two, and so is its standard deviation.",
        ),
    )


def hidden_s(rng: np.random.Generator) -> Question:
    """Turning shows an S."""
    h = draw(rng, 4, 20)
    return numeric(
        f"Bar A has an S: +{h} µm at the left quarter and -{h} µm at the right quarter. Bar B fits it. "
        "B is turned end for end. What do the two heights add up to at A's left quarter?",
        2 * h,
        "µm",
        f"B has -{h} left and +{h} right; turned, its +{h} meets A's +{h}.",
        (h, "forgets the error is doubled", "Both bars carry the S. Turned, the hills meet."),
        (0, "turning is taken to change nothing", "Write down B's height at each quarter, then swap them."),
        (-2 * h, "the sign has slipped", "B was -h at the left. After the turn its right quarter lies there."),
    )


def hidden_bow(rng: np.random.Generator) -> Question:
    """Turning two bars does not show a bow."""
    h = draw(rng, 4, 20)
    return numeric(
        f"Bar A has a symmetrical bow, +{h} µm in the middle. Bar B fits it. B is turned end for "
        "end. What do the two heights add up to in the middle?",
        0,
        "µm",
        "A bow looks the same from both ends, so the turn changes nothing.",
        (2 * h, "turning is taken to show every shape", "Turn a bow end for end on paper. What changes?"),
        (h, "one bar is taken for true", f"B is -{h} in the middle, turned or not."),
    )


def hidden_reversal(rng: np.random.Generator) -> Question:
    """Scribe, turn over, compare."""
    m, s = draw(rng, 20, 30), draw(rng, 3, 9)
    return numeric(
        f"An edge is compared with a line scribed along it: the middle reads {m + s} µm. The edge is turned over, face "
        f"to the other side, and now reads {m - s} µm. The line adds the same to both, the edge changes its sign. "
        "How far is the edge out in the middle?",
        s,
        "µm",
        f"({m + s} - {m - s}) / 2 = {s}.",
        (2 * s, "forgets the half", "Going from plus to minus the edge counts twice in the difference."),
        (m, "solves for the line, not the edge", "Half the sum is what stayed. Look for what changed sign."),
    )


def hidden_twist(rng: np.random.Generator) -> Question:
    """Bars do not control twist."""
    return pick(
        rng,
        "All three bars fit each other along their edges, turned and unturned. What about twist of the wide faces?",
        "Nothing is known of it: bars give edges, not planes",
        "An edge is a line. Twist needs a plane to show, and plates come in lessons 10 and 11.",
        (
            "There is none",
            "a straight edge is taken for a flat face",
            "Twist a strip of card: can its edge still be straight?",
        ),
        (
            "It is less than the eye can see",
            "the eye's threshold is taken for all errors",
            "You looked at the edges. Did you ever look across?",
        ),
    )


def hidden_turned(rng: np.random.Generator) -> Question:
    """All turned: a shared S remains."""
    return pick(
        rng,
        "Somebody tried all three pairs, but always with the upper bar turned end for end. All were dark. "
        "What may still be there?",
        "The same S in all three",
        "Turned, an S fits an identical S without a gap, and three alike pass all three fits.",
        (
            "Nothing: three bars are proof",
            "three that agree are right",
            "Proof only for the placements that were tried. Put three equal S shapes on paper.",
        ),
        (
            "The same bow in all three",
            "a bow is taken for the hidden shape",
            "Two equal hills never fit, turned or not.",
        ),
    )


def hidden_proof(rng: np.random.Generator) -> Question:
    """Proof only of what was tried."""
    return pick(
        rng,
        "Three bars fit in every pair. What is that proof of?",
        "Of straight edges in the placements tried, within what the eye sees",
        "Shared habits survive: the same sag, the same lamp, the same eye.",
        ("Of truth", "agreement means truth", "All three lay on the same bench and were seen by the same eye."),
        (
            "Of nothing",
            "no evidence counts unless all does",
            "Three pairs do settle what two cannot. Within which limits?",
        ),
    )
