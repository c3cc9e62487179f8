"""Questions of lessons 20 and 21: the eye, and planning the job.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import numpy as np

from simulate.course.asking.question import Question, draw, numeric, pick


def eye_half(rng: np.random.Generator) -> Question:
    """Reading a threshold off counts."""
    a, step = draw(rng, 3, 8) / 2, 0.5
    return numeric(
        f"You looked ten times at each mark of the wedge. At {a:g} µm it was open 2 times, at {a + step:g} µm 5 "
        f"times, at {a + 2 * step:g} µm 8 times. What is your threshold, if that is what you see half the time?",
        a + step,
        "µm",
        "Half of ten is five.",
        (a, "the first sight is taken for the threshold", "Two out of ten: you would miss it four times out of five."),
        (a + 2 * step, "nearly always is taken for half", "Eight out of ten is more than half."),
    )


def eye_sure(rng: np.random.Generator) -> Question:
    """From half to nearly always."""
    t, s = draw(rng, 7, 12) / 2, draw(rng, 2, 5) / 5
    sure = t + 3 * s
    return numeric(
        f"Your threshold is {t:g} µm and the width of your curve {s:g} µm. A gap that lies three widths above the "
        "threshold is seen 19 times out of 20. Which gap is that?",
        sure,
        "µm",
        f"{t:g} + 3 × {s:g} = {sure:g}.",
        (t, "half is taken for nearly always", "At the threshold you miss half of them."),
        (t + s, "one width is taken for all", "One width above, you see it three times out of four. Go further up."),
        (3 * s, "the threshold is left out", "Three widths *above the threshold*."),
    )


def eye_repeat(rng: np.random.Generator) -> Question:
    """More looks and the square root."""
    sd = draw(rng, 3, 8) / 10
    return numeric(
        (
            f"Five trials at each mark gave a threshold with an uncertainty of ± {sd:g} µm. What is it with twenty "
            "trials at each?"
        ),
        sd / 2,
        "µm",
        f"Four times as many trials halve the uncertainty: {sd:g} / √4 = {sd / 2:g}.",
        (
            sd / 4,
            "uncertainty is divided by the number of trials",
            "Chance shrinks with the square root of the number.",
        ),
        (sd, "trials are taken to change nothing", "Each trial adds a little."),
        tolerance=0.01,
    )


def eye_twice(rng: np.random.Generator) -> Question:
    """Independent looks."""
    n = draw(rng, 3, 5)
    return numeric(
        f"A gap at your threshold is seen in half of all trials. You look {n} times, each time independently. How "
        f"often, in "
        "percent, do you miss it every time?",
        100 / 2**n,
        "%",
        f"A half to the power of {n}: {100 / 2**n:.4g} %.",
        (50, "looking again is taken to change nothing", "You miss the first in half of the cases. And then the next?"),
        (100 / (2 * n), "the trials are added up", "Half of the misses are missed again: multiply."),
        (0, "a further trial is taken to settle it", "Even a coin can fall the same way again and again."),
        tolerance=0.3,
    )


def eye_jump(rng: np.random.Generator) -> Question:
    """A test that jumps from never to always shows no width."""
    a = draw(rng, 3, 8) / 2
    return pick(
        rng,
        f"Ten trials at each mark: never open up to {a:g} µm, always open from {a + 1:g} µm on. What do you know?",
        f"The threshold lies between {a:g} and {a + 1:g} µm; how wide the curve is, is not known",
        "No width was seen at one time and missed at another. Take finer steps between the two.",
        (
            f"The threshold is {a + 0.5:g} µm, exactly",
            "a coarse test is taken for a sharp eye",
            "What would you have seen at a mark between the two?",
        ),
        ("Nothing: the test has failed", "a bound is taken for nothing", "Two marks bound it. What lies between?"),
    )


def eye_expect(rng: np.random.Generator) -> Question:
    """Looking without knowing."""
    return pick(
        rng,
        "Why must somebody else choose the mark, and cover some marks fully?",
        "An eye that knows where light should be sees it there",
        "Covered marks that are reported open show how often you only guess.",
        ("To make it quicker", "the blind test is taken for convenience", "It takes longer. What is it worth?"),
        (
            "So that the wedge is not moved",
            "the eye is trusted and the wedge is not",
            "The wedge stays as it is. What about whoever looks?",
        ),
    )


def eye_hand(rng: np.random.Generator) -> Question:
    """What the simulation does with an eye that was tested."""
    t = draw(rng, 4, 12) / 2
    return pick(
        rng,
        f"Your wedge test gives a threshold of {t:g} µm. You let your eye judge the three simulated bars. What does "
        f"it do at a gap of {t:g} µm, apart from guesses and misses?",
        "It sees it half the time, by chance",
        "The simulation draws the threshold again at each trial, so that a gap is seen as often as your curve says.",
        (
            "It always sees it: the eye sees from there on",
            "the threshold is taken for a wall",
            "Look at the S of your own counts. Does it jump at its middle?",
        ),
        (
            "It never sees it: the gap is not above the threshold",
            "what is seen half of the time is taken for unseen",
            "At how many of ten trials did you say open there?",
        ),
    )


def plan_share(rng: np.random.Generator) -> Question:
    """Rounds at an uneven share."""
    e = 100 * draw(rng, 2, 6)
    return numeric(
        f"All three bars start {e} µm out. In every split 60 % of the metal comes off one bar. What is left after "
        "two rounds, if sight and tool set no limit?",
        0.04 * e,
        "µm",
        f"A round leaves |2 × 0.6 - 1| = 0.2 of the error: {e} × 0.2 × 0.2 = {0.04 * e:g}.",
        (0.2 * e, "one round is counted", "That is after the first round. The second does the same again."),
        (0.36 * e, "the share is taken for what is left", "What matters is how far the share is from a half."),
        (0, "a round is taken to cure all", "Only an even share does that. Here it is 60 to 40."),
    )


def plan_hours(rng: np.random.Generator) -> Question:
    """Looks cost more than strokes."""
    passes, strokes = 10 * draw(rng, 9, 20), 1000 * draw(rng, 3, 6)
    look, file = passes * 2 / 60, strokes * 1.2 / 3600
    return numeric(
        f"A job takes {passes} passes and {strokes} strokes. A stroke takes 1.2 seconds; to clean, lay on, check and "
        "clamp again takes 2 minutes for each pass. How many hours is that?",
        look + file,
        "hours",
        f"{passes} × 2 / 60 = {look:.1f} for checking and {strokes} × 1.2 / 3600 = {file:.1f} for filing.",
        (file, "the checking is forgotten", "Somebody lays the bars together after every pass. Add that."),
        (look, "the filing is forgotten", "Add the strokes."),
        tolerance=0.1,
    )


def plan_half(rng: np.random.Generator) -> Question:
    """The floor of the last round."""
    d = 8 * draw(rng, 2, 5)
    last = d / 4
    return numeric(
        f"You take {d} µm a pass in the first round and halve it from round to round. Hands are uneven by a quarter "
        "of a pass. How much unevenness do they leave in the third round?",
        last / 4,
        "µm",
        f"The third round takes {d} / 2 / 2 = {last:g} a pass; a quarter of it is {last / 4:g}.",
        (
            d / 4,
            "the first round is counted, or the quarter is forgotten",
            "The first round's unevenness is filed away again, and the third round leaves a quarter of its pass.",
        ),
        (d / 8, "halved once", "From the first round to the third it is halved twice."),
    )


def plan_band(rng: np.random.Generator) -> Question:
    """Which figure to promise."""
    low = draw(rng, 4, 6)
    mid, high = low + draw(rng, 2, 3), low + draw(rng, 5, 8)
    return pick(
        rng,
        f"Of 1000 simulated workshops 10 % were done within {low} hours, half within {mid}, 90 % within {high}. "
        "You must name a time that you will rarely miss. Which?",
        f"{high} hours",
        "Nine in ten are done by then; the median is missed half the time.",
        (f"{mid} hours", "the middle is taken for safe", "How often is the middle missed?"),
        (f"{low} hours", "the best case is promised", "Nine in ten took longer than that."),
        (
            f"{(low + mid + high) / 3:.1f} hours, the mean of the three",
            "a mean is taken for a promise",
            "Count the workshops that were not done by then.",
        ),
    )


def plan_stop(rng: np.random.Generator) -> Question:
    """When to stop."""
    harm = draw(rng, 47, 52)
    return pick(
        rng,
        "Your worst bar is 7 µm out, and 5 µm is wanted. With your file and your eye the next round makes the worst "
        f"bar worse in {harm} % of the workshops. What now?",
        "Stop with this file; change to lighter passes or a finer tool",
        "The round is a coin toss that costs metal. What sets the floor has to change.",
        (
            "Go on: a round or two will get there",
            "luck is taken for progress",
            "You would stop on a lucky toss that you cannot even see. What would be better in the next one?",
        ),
        (
            "Go on with a heavier pass",
            "more metal is taken for more progress",
            "The floor rises with the metal of a pass.",
        ),
        (
            "Give up: 7 µm is the end",
            "one floor is taken for every floor",
            "Which three things set this floor? One of them can change.",
        ),
    )


def plan_tool(rng: np.random.Generator) -> Question:
    """Coarse first."""
    return pick(
        rng,
        "Three rough bars, half a millimetre out. Why not scrape from the start?",
        "It would take hundreds of light passes, each with its check",
        "Coarse tools are for distance and fine ones for the end; most of the time goes into checking.",
        ("A scraper cannot cut a hill", "the tool is taken to be unable", "It can. How much does one pass take?"),
        (
            "The scraper leaves it rougher",
            "the fine tool is taken for the rough one",
            "Which of the two leaves less behind?",
        ),
    )
