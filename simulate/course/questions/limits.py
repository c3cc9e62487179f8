"""Questions of lessons 18 and 19: bending and heat.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def bend_depth(rng: np.random.Generator) -> Question:
    """Sag and depth."""
    s = 4 * draw(rng, 2, 9)
    return numeric(
        f"A bar sags {s} µm between supports at its ends. Another one is as long and of the same steel, but twice as "
        "deep. By how much does it sag?",
        s / 4,
        "µm",
        f"Twice the weight and eight times the stiffness: {s} × 2 / 8 = {s / 4:g}.",
        (s / 8, "the weight is forgotten", "Eight times as stiff is right. But what has become of the weight?"),
        (
            s / 2,
            "depth is taken to count once",
            "Stiffness grows with the third power of the depth, weight with the first.",
        ),
        (2 * s, "heavier is taken for weaker", "It is heavier, and far stiffer. Which of the two wins?"),
    )


def bend_length(rng: np.random.Generator) -> Question:
    """Sag and length."""
    s = draw(rng, 2, 9) / 2
    return numeric(
        f"A bar sags {s:g} µm on its ends. How much does a bar of twice the length, but the same depth and steel, sag?",
        16 * s,
        "µm",
        f"The fourth power of the length: 2 × 2 × 2 × 2 = 16, and 16 × {s:g} = {16 * s:g}.",
        (2 * s, "length is taken to count once", "The lever, the bend along it and the weight all grow."),
        (8 * s, "the weight stays as it was", "The third power is for a fixed load. A longer bar also weighs more."),
        (4 * s, "length is taken to count twice", "Think of 5 w L⁴ / (384 E I): to what power is L raised?"),
    )


def bend_inset(rng: np.random.Generator) -> Question:
    """Where the supports go."""
    length = 100 * draw(rng, 4, 12)
    inset = 2 / 9 * length
    return numeric(
        f"A straightedge of uniform depth is {length} mm long. About how far from each end do its two supports go, "
        "so that it sags least?",
        inset,
        "mm",
        f"About 2/9 of the length: {length} × 2 / 9 = {inset:.0f}.",
        (0, "the ends are taken for the best place", "On its ends it sags nearly fifty times as much."),
        (length / 4, "a quarter looks even", "Near, but the middle then rises above the ends. A little further out."),
        (length / 3, "thirds look even", "Too far in: the ends hang. Try it in the panel."),
        tolerance=0.012 * length,
    )


def bend_shared(rng: np.random.Generator) -> Question:
    """What three bars share."""
    s = 2 * draw(rng, 2, 12)
    return numeric(
        "Three equal bars were fitted in every pair. The lower one was always fully supported and could not bend; "
        f"the upper one lay on its two ends and sagged {s} µm. All joints are dark. By how much is each bar out when "
        "nothing bends it? Give the height of its middle, with its sign.",
        -s / 2,
        "µm",
        f"Two hollows together fill what the upper one sags: {s} / 2 = {s / 2:g} each, and hollow is minus.",
        (0, "three that agree are right", "All three were fitted under the same sag. What did it fill?"),
        (-s, "the whole sag goes to one bar", "The joint has two faces, and all three bars are alike."),
        (-2 * s, "the doubling is used the wrong way", "The gap shows two bars together. One carries half."),
    )


def bend_over(rng: np.random.Generator) -> Question:
    """Sag from reading both ways up."""
    shape, hang = draw(rng, 20, 30), 2 * draw(rng, 1, 4)
    up, down = shape - hang, shape + hang
    return numeric(
        f"The middle of a face reads +{up} µm with the face up and +{down} µm with the same face down, on the same "
        "supports. Plus means proud both times. What is the shape there without any sag?",
        shape,
        "µm",
        f"Half the sum: ({up} + {down}) / 2 = {shape}. Half the difference, {hang}, is the sag.",
        (hang, "the sag is given for the shape", "That is what changed when it was turned over. What stayed?"),
        (up, "the reading with the face up is taken for the truth", "It contains the sag too, once with a minus sign."),
        (up + down, "the halving is forgotten", "Both readings contain the shape: their sum contains it twice."),
    )


def bend_turn(rng: np.random.Generator) -> Question:
    """Which turn shows sag."""
    return pick(
        rng,
        "You suspect that a bar sags on its symmetrical supports. Which move shows it?",
        "Turn it over, edge down, and read the same face again",
        "Weight always pulls down: it adds to one reading and takes away from the other.",
        (
            "Turn it end for end",
            "every turn is taken to show every error",
            "A symmetrical sag looks the same from both ends. What has changed?",
        ),
        (
            "Swap it with an equal bar",
            "sag is taken for a fault of one bar",
            "The equal bar sags just as much on those supports.",
        ),
    )


def bend_three(rng: np.random.Generator) -> Question:
    """Three points, not four."""
    kilos = 10 * draw(rng, 3, 9)
    return pick(
        rng,
        f"A stiff plate of {kilos} kg stands on four feet on a bench that nobody has checked. What carries it?",
        "Three of the feet, and a light push may change which",
        (
            "Three points fix a plane. The fourth hangs free or takes what the others leave, and the plate sags "
            "differently each time."
        ),
        (
            f"All four, {kilos / 4:g} kg each",
            "a plate is taken to bend down to every foot",
            "Do the tops of four feet lie in one plane, to a micrometre?",
        ),
        (
            "The two that lie farthest apart",
            "a plate is taken for a bar",
            "On two points it tips. How many does a stool need?",
        ),
    )


def warm_bow(rng: np.random.Generator) -> Question:
    """Bow from one kelvin."""
    length, depth = 100 * draw(rng, 5, 9), 10 * draw(rng, 3, 5)
    bow = 11.5e-6 * length**2 / (8 * depth) * 1e3
    return numeric(
        f"A steel bar is {length} mm long and {depth} mm deep. Its upper edge is 1 K warmer than the lower. By how "
        "much does its middle stand proud on the warm edge? (Steel grows by 11.5 millionths a kelvin.)",
        bow,
        "µm",
        f"0.0000115 × {length}² / (8 × {depth}) mm = {bow:.1f} µm.",
        (
            -bow,
            "the warm edge is taken for the hollow one",
            "The warm edge grows longer. Which side of a bend is longer?",
        ),
        (
            11.5e-3 * length,
            "growth in length is given",
            "That is how much longer it gets. The bow comes from the difference of its edges.",
        ),
        (8 * bow, "the 8 is lost", "Write the formula out: L² over eight times the depth."),
        tolerance=0.15,
    )


def warm_wait(rng: np.random.Generator) -> Question:
    """Waiting and depth."""
    t = 10 * draw(rng, 2, 6)
    return numeric(
        f"A heat bow in a bar 40 mm deep has fallen to 10 % after {t} seconds. How long does a bar 80 mm deep of the "
        "same material need for that?",
        4 * t,
        "s",
        f"Time grows with the depth squared: 4 × {t} = {4 * t}.",
        (2 * t, "twice as deep is twice as long", "Heat has twice as far to go, and there is twice as much to move."),
        (t, "depth is forgotten", "The heat has to cross the depth."),
        (8 * t, "the third power is taken", "The third power belongs to stiffness; diffusion depends on the second."),
        tolerance=0.5,
    )


def warm_grow(rng: np.random.Generator) -> Question:
    """Wanted: the difference that light can show."""
    bow = draw(rng, 6, 12)
    return numeric(
        f"One kelvin between the edges bows your bar by {bow} µm. Your eye sees a gap of 2.5 µm. What difference in "
        "temperature can just spoil a fit?",
        2.5 / bow,
        "K",
        f"The bow grows with the difference: 2.5 / {bow} = {2.5 / bow:.2f}.",
        (
            bow / 2.5,
            "the division is upside down",
            f"One kelvin already gives {bow} µm. More or less than one kelvin?",
        ),
        (2.5, "µm are taken for kelvin", "Divide by what one kelvin does."),
        tolerance=0.05,
    )


def warm_hand(rng: np.random.Generator) -> Question:
    """What to do at the bench."""
    return pick(
        rng,
        "You carried the upper bar over with your hand under the fitted edge, and now light shows at both ends that "
        "was not there an hour ago. What do you do first?",
        "Lay both down, wait, hold them by wooden blocks and look again",
        "The warm edge stands proud in its middle. It settles by itself, and filed metal does not come back.",
        (
            "File the middle: it stands proud",
            "a bow from heat is taken for shape",
            "It does stand proud. For how long?",
        ),
        (
            "Cool the middle with a wet rag",
            "one difference is cured by another",
            "Then the cold edge bows it the other way, and it rusts.",
        ),
    )


def warm_stone(rng: np.random.Generator) -> Question:
    """Granite in the sun."""
    return pick(
        rng,
        "Granite grows about half as much as steel. Why does the sun bow a granite straightedge more than a steel one?",
        "Heat passes through it so slowly that its sunny side gets far warmer",
        (
            "It conducts about a seventeenth of what steel does: the difference between its edges counts, not the "
            "growth alone."
        ),
        (
            "Granite is not as stiff",
            "stiffness is taken to resist heat",
            "Is there any stiffness in the formula of the bow?",
        ),
        (
            "It does not: it grows less",
            "growth is taken for the whole",
            "Growth times difference. What makes the difference?",
        ),
    )
