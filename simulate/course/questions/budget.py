"""Questions of lesson 17: the chain.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric


def chain_sum(rng: np.random.Generator) -> Question:
    """Root of the sum of squares."""
    k = draw(rng, 1, 6)
    a, b = ((3 * k, 4 * k), (5 * k, 12 * k), (8 * k, 6 * k))[draw(rng, 0, 2)]
    both = float(np.hypot(a, b))
    return numeric(
        (
            f"Two independent links have standard uncertainties of {a} µm and {b} µm. What is the combined standard "
            "uncertainty?"
        ),
        both,
        "µm",
        f"√({a}² + {b}²) = {both:g}.",
        (a + b, "adds them plainly", "Independent errors seldom all point the same way: add squares."),
        (max(a, b), "only the largest counts", "The smaller one adds something, if only a little."),
        (a * a + b * b, "forgets the root", "That is the variance, in µm². Take its root."),
        tolerance=0.05,
    )


def chain_bound(rng: np.random.Generator) -> Question:
    """From a bound to a standard uncertainty."""
    w = 3 * draw(rng, 1, 8)
    return numeric(
        f"A dial may be out by anything up to {w} µm either way, and nothing more is known. What standard "
        "uncertainty goes into the chain?",
        w / 3**0.5,
        "µm",
        f"{w} / √3 = {w / 3**0.5:.2f}.",
        (w, "a bound is taken for a standard deviation", "Most cases lie well inside the bound."),
        (w / 2, "half of the bound is taken", "A uniform distribution over ± w has a standard deviation of w / √3."),
        (2 * w / 3**0.5, "the whole width is taken for the half", "± w is already the half width."),
        tolerance=0.06,
    )


def chain_heat(rng: np.random.Generator) -> Question:
    """How many µm a kelvin makes."""
    bow, k = draw(rng, 6, 15), (0.2, 0.3, 0.4)[draw(rng, 0, 2)]
    return numeric(
        f"A straightedge bows by {bow} µm for each kelvin between its edges, and that difference is known with a "
        f"standard uncertainty of {k:g} K. What does heat add to the chain?",
        bow * k,
        "µm",
        f"{bow} µm/K × {k:g} K = {bow * k:.1f} µm.",
        (bow, "a whole kelvin is put in", "How much of a kelvin is uncertain?"),
        (bow / k, "divides instead of multiplying", "Check the units: µm/K times K leaves µm."),
        tolerance=0.06,
    )


def chain_halve(rng: np.random.Generator) -> Question:
    """What halving one link leaves."""
    a, b = 2 * draw(rng, 4, 8), draw(rng, 2, 4)
    now, then, other = float(np.hypot(a, b)), float(np.hypot(a / 2, b)), float(np.hypot(a, b / 2))
    return numeric(
        (
            f"A chain has two links, {a} µm and {b} µm. The larger one is halved. What is the combined standard "
            "uncertainty then?"
        ),
        then,
        "µm",
        f"√({a // 2}² + {b}²) = {then:.2f}; halving the smaller would leave {other:.2f}.",
        (now / 2, "the whole is halved", "Only one link has become smaller; the other one stays."),
        (other, "the smaller link is halved", "Halve the one that the question names."),
        (a / 2 + b, "adds them plainly", "Squares are added, then the root is taken."),
        tolerance=0.06,
    )


def chain_square(rng: np.random.Generator) -> Question:
    """An angle becomes a length by its reach."""
    q, h = 10 * draw(rng, 2, 8), (50, 150, 200)[draw(rng, 0, 2)]
    return numeric(
        (
            f"A square has a standard uncertainty of {q} µm in a metre and is used over a height of {h} mm. "
            "What does it add there?"
        ),
        q * h / 1000,
        "µm",
        f"{q} × {h} / 1000 = {q * h / 1000:g}.",
        (q, "a slope is taken for a length", "That would be over a whole metre."),
        (q * 1000 / h, "divides by the height", "The shorter the reach, the less the angle matters."),
        tolerance=0.02,
    )


def chain_shared(rng: np.random.Generator) -> Question:
    """Links that move together, each with its sign."""
    s = 2 * draw(rng, 1, 4)
    return numeric(
        f"One eye, at one lamp, passes every joint as dark with {s} µm left in the middle. It does so at three bars "
        "compared in pairs, and again at the bed that is fitted to one of them. How far is the bed out through this "
        "habit?",
        s / 2,
        "µm",
        f"Each bar keeps {s} / 2 = {s // 2} µm. The bed is the opposite of its straightedge, so the bar enters with "
        f"a minus sign: {s} - {s // 2} = {s // 2} µm.",
        (
            1.5 * s,
            "a shared error is added without its sign",
            "A way is the opposite of its straightedge. With which sign does the bar enter?",
        ),
        (
            2 * s,
            "the whole gap is given to each bar, without a sign",
            "Is each bar out by the whole gap, and with which sign does it enter?",
        ),
        (s, "the bar's share is forgotten", "The bed is fitted to a bar that is out as well. What does that do?"),
        (
            float(np.hypot(s, s / 2)),
            "a shared error is taken for two",
            "If one is out, how far out is the other? Add first, square afterwards.",
        ),
        (0, "a shared error is taken to cancel", f"{s} µm at the bed, and half of it from the bar: what is left?"),
        tolerance=0.05,
    )
