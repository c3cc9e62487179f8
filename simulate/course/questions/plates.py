"""Questions of lessons 10 and 11: three plates, turns, and what hides from them.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def plates_solve(rng: np.random.Generator) -> Question:
    """One plate from three gaps."""
    a, c = draw(rng, 4, 12), draw(rng, 6, 20)
    b = 3 * a + draw(rng, 2, 12)
    ab, ac, bc = a + b, a + c, b + c
    return numeric(
        f"Three plates are hollow. The corners touch, and the gap in the middle is {ab} µm for A on B, {ac} µm for "
        f"A on C and {bc} µm for B on C. How hollow is A?",
        a,
        "µm",
        f"({ab} + {ac} - {bc}) / 2 = {a}.",
        (ab / 2, "the gap is halved as if both were alike", "A and B need not be alike. Use all three gaps."),
        (ab + ac - bc, "the last halving is missing", "A came in twice, once with each of the others."),
        ((ab + ac + bc) / 2, "B on C is added", "B and C came with the other two gaps; take them out again."),
    )


def plates_twist(rng: np.random.Generator) -> Question:
    """Two equal twists after a quarter turn."""
    e = 2 * draw(rng, 6, 20)
    return numeric(
        f"Two plates carry the same twist: two corners {e // 2} µm high, two {e // 2} µm low, {e} µm between them. "
        "They fit face to face. One is turned a quarter and rocks on its two high corners. Held so that both gaps "
        "are equal, how wide is the gap at each low corner?",
        2 * e,
        "µm",
        f"High meets high and low meets low: the sum is twice the twist, 2 × {e} = {2 * e}.",
        (e, "the other plate's twist is forgotten", "Low corner lies over low corner. Both are low."),
        (0, "the turn is taken to change nothing", "Sketch the corners with + and - and turn one sketch."),
        (
            4 * e,
            "rocked over to one side",
            "That is how wide one low corner is when the other is shut. The answer lies between the two.",
        ),
    )


def plates_share(rng: np.random.Generator) -> Question:
    """How many markings a gap needs."""
    each, n = 2 * draw(rng, 2, 5), draw(rng, 3, 7)
    gap = 2 * each * n
    return numeric(
        f"Where two plates print, they are {gap} µm too high together. A pass of the scraper takes "
        f"{each} µm from each of the "
        "two. How many spottings does it take until that is gone?",
        n,
        "spottings",
        f"Both lose {each}, so {2 * each} a spotting: {gap} / {2 * each} = {n}.",
        (2 * n, "only one plate is counted", "Both plates are scraped where they print."),
        (n / 2, "counted twice over", f"A spotting takes {each} µm from each: {2 * each} in all."),
        tolerance=0.01,
    )


def plates_grade(rng: np.random.Generator) -> Question:
    """The limit of a grade from its formula."""
    longer = 100 * draw(rng, 4, 12)
    return numeric(
        "DIN 876 allows a plate of grade 2 to be out of flat by 20 µm + L / 50, with L its longer side in mm. How "
        f"much is that for a plate of {longer} × 300 mm?",
        20 + longer / 50,
        "µm",
        f"20 + {longer} / 50 = {20 + longer / 50:g}.",
        (longer / 50, "the 20 is left out", "There are two parts: a fixed one and one that grows with the length."),
        (20 + 300 / 50, "the shorter side is taken", "L is the longer side."),
        (20 + (longer + 300) / 50, "both sides are added", "L is one side, the longer one."),
        tolerance=0.1,
    )


def plates_middle(rng: np.random.Generator) -> Question:
    """What one print proves."""
    p = draw(rng, 10, 30)
    return pick(
        rng,
        f"Plate 2 prints on plate 1 in its middle only, over {p} % of the face. What do you know?",
        "The two together stand high in the middle; which of them, nobody knows yet",
        "A print shows a sum. The third plate says which.",
        (
            "Plate 2 is a dome",
            "a sum is taken for one plate",
            "Lay plate 2 on plate 3 and check again before you say so.",
        ),
        ("Both are domes", "the sum is shared out evenly", "A high dome on a shallow bowl prints in the middle too."),
    )


def plates_film(rng: np.random.Generator) -> Question:
    """A film that is too thick."""
    gap = draw(rng, 12, 30)
    return pick(
        rng,
        "A face prints evenly from edge to edge. With a thinner film it prints at the edges only; the gap in the "
        f"middle is {gap} µm. What happened with the first film?",
        f"It was thicker than {gap} µm and bridged the gap",
        "A film prints where the gap is less than its thickness.",
        ("The plate moved", "the print is explained away", "Nothing moved. What does a film need in order to print?"),
        ("It was flat then and is not now", "a print is taken for a proof", "Only the film was changed."),
    )


def turns_twist(rng: np.random.Generator) -> Question:
    """Which turn finds twist."""
    t = draw(rng, 10, 60)
    return pick(
        rng,
        f"All three plates have the same twist of {t} µm. Which placement shows it?",
        "A quarter turn",
        "A quarter turn changes the sign of a twist, so high lies on high.",
        ("Face to face", "a fit is taken for flat", "Face to face, high lies on low all over."),
        (
            "A half turn",
            "any turn is taken to show everything",
            "Give a sketch of + and - corners half a turn: it is the same sketch.",
        ),
    )


def turns_pinwheel(rng: np.random.Generator) -> Question:
    """What finds the pinwheel."""
    arms = draw(rng, 5, 15)
    return pick(
        rng,
        f"All three plates have a pinwheel of {arms} µm: arms that all lean the same way round. Which placement "
        "shows it?",
        "None of the square turns; a slide sideways shows some of it",
        "A pinwheel looks the same after every quarter turn. After a slide its arms no longer meet matching arms.",
        (
            "A quarter turn",
            "what finds twist is taken to find everything",
            "Give a sketch of it a quarter turn. Does it look any different?",
        ),
        ("A half turn", "any turn is taken to show everything", "Two quarter turns, and a quarter changes nothing."),
    )


def turns_count_half(rng: np.random.Generator) -> Question:
    """How many shapes half turns leave."""
    n = 2 * draw(rng, 2, 6) + 1
    k = (n - 1) // 2
    return numeric(
        f"A plate is known at {n} × {n} points. Face to face and half turns hide the shapes that change sign when "
        "mirrored along x and again when mirrored along y. How many independent ones are there?",
        k * k,
        "",
        f"A quarter of the plate without its middle lines fixes all: {k} × {k} = {k * k}.",
        (
            n * n / 4,
            "the middle lines are counted",
            "On a middle line such a shape is its own opposite, so it is 0 there.",
        ),
        (
            (k + 1) ** 2,
            "the middle lines are taken with the quarter",
            f"{k + 1} × {k + 1} holds both middle lines. What is a shape on a line where it is its own opposite?",
        ),
        (
            n * k,
            "only one mirror is asked for",
            "That is the count for face to face, with the tilt in it and before half turns.",
        ),
        tolerance=0.01,
    )


def turns_gain(rng: np.random.Generator) -> Question:
    """What a weak mode costs."""
    s, g = draw(rng, 1, 4), draw(rng, 3, 12)
    return numeric(
        f"A schedule shows a pinwheel weakly: its error amplification is {g}. One reading of a gap scatters by {s} µm. "
        "How well do you know the pinwheel?",
        s * g,
        "µm",
        f"The scatter grows with the amplification: {s} × {g} = {s * g}.",
        (
            s,
            "seen is taken for well seen",
            "What shows faintly is lost in the scatter. The amplification says by how much.",
        ),
        (
            s / g,
            "the amplification is taken for a help",
            "An amplification above 1 makes the scatter larger, not smaller.",
        ),
    )


def turns_oblong(rng: np.random.Generator) -> Question:
    """A quarter turn of a plate that is not square."""
    short = 50 * draw(rng, 3, 6)
    longer = short + 50 * draw(rng, 2, 5)
    left = 100 - 100 * short / longer
    over = (left, "what meets nothing is given", "That is what hangs over on both sides. What part meets?")
    rest = () if 2 * short == longer else (over,)  # at a half the two are the same
    return numeric(
        (
            f"A plate of {longer} × {short} mm is given a quarter turn on another of its size. What part of its face "
            "meets the other, in per cent?"
        ),
        100 * short / longer,
        "%",
        f"The square of {short} mm in the middle: {short} / {longer} = {100 * short / longer:.0f} %.",
        (100, "the whole face is taken to meet", "Lay two sheets of paper across each other."),
        (
            100 * (short / longer) ** 2,
            "divided twice",
            f"{short} × {short} of {longer} × {short}: one {short} cancels.",
        ),
        *rest,
        tolerance=0.6,
    )
