"""Questions of lessons 17 to 20: bending, heat, the eye, planning the job.

Each function draws the student's own figures from `rng`. All figures are
invented, within what a learner would meet at a bench.
"""

from __future__ import annotations

import math

import numpy as np

from simulate.show.question import Question, draw, numeric, pick


def bend_depth(rng: np.random.Generator) -> Question:
    """Sag and depth."""
    s = 4 * draw(rng, 2, 9)
    return numeric(
        f"A bar sags {s} µm between supports at its ends. Another one is as long and of the same steel, but twice as deep. "
        "By how much does it sag?",
        s / 4, "µm", f"Twice the weight and eight times the stiffness: {s} × 2 / 8 = {s / 4:g}.",
        (s / 8, "the weight is forgotten", "Eight times as stiff is right. But what has become of the weight?"),
        (s / 2, "depth is taken to count once", "Stiffness goes with the third power of the depth, weight with the first."),
        (2 * s, "heavier is taken for weaker", "It is heavier, and far stiffer. Which of the two wins?"))


def bend_length(rng: np.random.Generator) -> Question:
    """Sag and length."""
    s = draw(rng, 2, 9) / 2
    return numeric(
        f"A bar sags {s:g} µm between its ends. How much does a bar of twice the length sag, of the same depth and steel?",
        16 * s, "µm", f"The fourth power of the length: 2 × 2 × 2 × 2 = 16, and 16 × {s:g} = {16 * s:g}.",
        (2 * s, "length is taken to count once", "The lever, the bend along it and the weight all grow."),
        (8 * s, "the weight stays as it was", "The third power is for a fixed load. A longer bar also weighs more."),
        (4 * s, "length is taken to count twice", "Think of 5 w L⁴ / (384 E I): which power stands at L?"))


def bend_inset(rng: np.random.Generator) -> Question:
    """Where the supports go."""
    length = 100 * draw(rng, 4, 12)
    inset = 2 / 9 * length
    return numeric(
        f"A straightedge of even depth is {length} mm long. Near which distance from each end do its two supports go, "
        "so that it sags least?",
        inset, "mm", f"About 2/9 of the length: {length} × 2 / 9 = {inset:.0f}.",
        (0, "the ends are taken for the best place", "Between its ends it sags nearly fifty times as much."),
        (length / 4, "a quarter looks even", "Near, but the middle then lifts over the ends. A little further out."),
        (length / 3, "thirds look even", "Too far in: the ends hang. Try it in the panel."),
        tolerance=0.012 * length)


def bend_shared(rng: np.random.Generator) -> Question:
    """What three bars share."""
    s = 2 * draw(rng, 2, 12)
    return numeric(
        f"Three equal bars were fitted in every pair. The lower one always lay bedded and could not bend; the upper one "
        f"lay on its two ends and sagged {s} µm. All joints are dark. By how much is each bar out when nothing bends it? "
        "Give the height of its middle, with its sign.",
        -s / 2, "µm", f"Two hollows together fill what the upper one sags: {s} / 2 = {s / 2:g} each, and hollow is minus.",
        (0, "three that agree are right", "All three were fitted with the same helper. What did the sag fill?"),
        (-s, "the whole sag goes to one bar", "The joint has two faces, and all three bars are alike."),
        (-2 * s, "the doubling is used the wrong way", "The gap shows two bars together. One carries half."))


def bend_over(rng: np.random.Generator) -> Question:
    """Sag from reading both ways up."""
    shape, hang = draw(rng, 20, 30), 2 * draw(rng, 1, 4)
    up, down = shape - hang, shape + hang
    return numeric(
        f"The middle of a face reads +{up} µm with the face up and +{down} µm with the same face down, on the same "
        "supports. Proud of the face is plus both times. What is the shape there without any sag?",
        shape, "µm", f"Half the sum: ({up} + {down}) / 2 = {shape}. Half the difference, {hang}, is the sag.",
        (hang, "the sag is given for the shape", "That is what changed with the turning over. What stayed?"),
        (up, "the reading with the face up is taken for the truth", "It holds the sag too, once with minus."),
        (up + down, "the halving is forgotten", "Both readings hold the shape: their sum holds it twice."))


def bend_turn(rng: np.random.Generator) -> Question:
    """Which turn shows sag."""
    return pick(
        rng, "You suspect that a bar sags on its even supports. Which move shows it?",
        "Turn it over, edge down, and read the same face again",
        "Weight always pulls down: it adds to one reading and takes away from the other.",
        ("Turn it end for end", "every turn is taken to show every error",
         "An even sag looks the same from both ends. What has changed?"),
        ("Swap it with an equal bar", "sag is taken for a fault of one bar", "The equal bar sags just as much on those supports."))


def plan_share(rng: np.random.Generator) -> Question:
    """Rounds at an uneven share."""
    e = 100 * draw(rng, 2, 6)
    return numeric(
        f"All three bars start {e} µm out. In every split one bar gives up 60 % of the metal. What is left after two "
        "rounds, as long as sight and tool do not count?",
        0.04 * e, "µm", f"A round leaves |2 × 0.6 - 1| = 0.2 of the error: {e} × 0.2 × 0.2 = {0.04 * e:g}.",
        (0.2 * e, "one round is counted", "That is after the first round. The second does the same again."),
        (0.36 * e, "the share is taken for what is left", "What matters is how far the share is from a half."),
        (0, "a round is taken to cure all", "Only an even share does that. Here it is 60 to 40."))


def plan_hours(rng: np.random.Generator) -> Question:
    """Looks cost more than strokes."""
    passes, strokes = 10 * draw(rng, 9, 20), 1000 * draw(rng, 3, 6)
    look, file = passes * 2 / 60, strokes * 1.2 / 3600
    return numeric(
        f"A job takes {passes} passes and {strokes} strokes. A stroke takes 1.2 seconds; to clean, lay on, look and clamp again "
        "takes 2 minutes for each pass. How many hours is that?",
        look + file, "hours", f"{passes} × 2 / 60 = {look:.1f} for looking and {strokes} × 1.2 / 3600 = {file:.1f} for filing.",
        (file, "the looking is forgotten", "Somebody lays the bars together after every pass. Add that."),
        (look, "the filing is forgotten", "Add the strokes."),
        tolerance=0.1)


def plan_half(rng: np.random.Generator) -> Question:
    """The floor of the last round."""
    d = 8 * draw(rng, 2, 5)
    last = d / 4
    return numeric(
        f"You take {d} µm a pass in the first round and halve it from round to round. Hands are uneven by a quarter of a "
        "pass. How much unevenness do they leave in the third round?",
        last / 4, "µm", f"The third round takes {d} / 2 / 2 = {last:g} a pass; a quarter of it is {last / 4:g}.",
        (d / 4, "the first round is counted, or the quarter is forgotten",
         "The first round's unevenness is filed away again, and the third round leaves a quarter of its pass."),
        (d / 8, "halved once", "From the first round to the third it is halved twice."))


def plan_band(rng: np.random.Generator) -> Question:
    """Which figure to promise."""
    low = draw(rng, 4, 6)
    mid, high = low + draw(rng, 2, 3), low + draw(rng, 5, 8)
    return pick(
        rng, f"Of 1000 simulated workshops 10 % were done within {low} hours, half within {mid}, 90 % within {high}. "
        "You must name a time that you will rarely miss. Which?",
        f"{high} hours", "Nine in ten are done by then; the median is missed every other time.",
        (f"{mid} hours", "the middle is taken for safe", "How often is the middle missed?"),
        (f"{low} hours", "the best case is promised", "Nine in ten took longer than that."),
        (f"{(low + mid + high) / 3:.1f} hours, the mean of the three", "a mean is taken for a promise",
         "Count the workshops that were not done by then."))


def plan_stop(rng: np.random.Generator) -> Question:
    """When to stop."""
    harm = draw(rng, 47, 52)
    return pick(
        rng, f"Your worst bar stands at 7 µm, wanted are 5. With your file and your eye the next round makes the worst bar worse "
        f"in {harm} % of the workshops. What now?",
        "Stop with this file; change to lighter passes or a finer tool",
        "The round is a coin toss that costs metal. What sets the floor has to change.",
        ("Go on: a round or two will get there", "luck is taken for progress",
         "You would stop on a lucky toss that you cannot even see. What would be better in the next one?"),
        ("Go on with a heavier pass", "more metal is taken for more progress", "The floor rises with the metal of a pass."),
        ("Give up: 7 µm is the end", "one floor is taken for every floor", "Which three things set this floor? One of them can change."))


def plan_tool(rng: np.random.Generator) -> Question:
    """Coarse first."""
    return pick(
        rng, "Three rough bars, half a millimetre out. Why not scrape from the start?",
        "The error would cost hundreds of light passes, each with its look",
        "Coarse tools are for distance and fine ones for the end; most of the time goes into looking.",
        ("A scraper cannot cut a hill", "the tool is taken to be unable", "It can. How much does one pass take?"),
        ("The scraper leaves it rougher", "the fine tool is taken for the rough one", "Which of the two leaves less behind?"))


def warm_bow(rng: np.random.Generator) -> Question:
    """Bow from one kelvin."""
    length, depth = 100 * draw(rng, 5, 9), 10 * draw(rng, 3, 5)
    bow = 11.5e-6 * length**2 / (8 * depth) * 1e3
    return numeric(
        f"A steel bar is {length} mm long and {depth} mm deep. Its upper edge is 1 K warmer than the lower. By how much does its "
        "middle stand proud on the warm edge? (Steel grows by 11.5 millionths a kelvin.)",
        bow, "µm", f"0.0000115 × {length}² / (8 × {depth}) mm = {bow:.1f} µm.",
        (-bow, "the warm edge is taken for the hollow one", "The warm edge grows longer. Which side of a bend is longer?"),
        (11.5e-3 * length, "growth in length is given", "That is how much longer it gets. The bow comes from the difference of its edges."),
        (8 * bow, "the 8 is lost", "Write the formula out: L² over eight times the depth."),
        tolerance=0.15)


def warm_wait(rng: np.random.Generator) -> Question:
    """Waiting and depth."""
    t = 10 * draw(rng, 2, 6)
    return numeric(
        f"A heat bow in a bar 40 mm deep has died to a tenth after {t} seconds. How long does a bar 80 mm deep of the same "
        "material need for that?",
        4 * t, "s", f"Time goes with the depth squared: 4 × {t} = {4 * t}.",
        (2 * t, "twice as deep is twice as long", "Heat has twice as far to go, and there is twice as much to move."),
        (t, "depth is forgotten", "The heat has to cross the depth."),
        (8 * t, "the third power is taken", "The third power belongs to stiffness. Diffusion has the second."),
        tolerance=0.5)


def warm_grow(rng: np.random.Generator) -> Question:
    """Wanted: the difference that light can show."""
    bow = draw(rng, 6, 12)
    return numeric(
        f"One kelvin between the edges bows your bar by {bow} µm. Your eye sees a gap of 2.5 µm. Which difference in "
        "temperature can just spoil a fit?",
        2.5 / bow, "K", f"The bow goes with the difference: 2.5 / {bow} = {2.5 / bow:.2f}.",
        (bow / 2.5, "the division is turned round", f"One kelvin already gives {bow} µm. More or less than one kelvin?"),
        (2.5, "µm are taken for kelvin", "Divide by what one kelvin does."),
        tolerance=0.02)


def warm_hand(rng: np.random.Generator) -> Question:
    """What to do at the bench."""
    return pick(
        rng, "You carried the upper bar over by its edge, and now light shows at both ends that was not there an hour ago. What first?",
        "Lay both down, wait, take them by wooden blocks and look again",
        "The warm edge stands proud in its middle. It settles by itself, and filed metal does not come back.",
        ("File the middle: it stands proud", "a bow from heat is taken for shape", "It does stand proud. For how long?"),
        ("Cool the middle with a wet rag", "one difference is cured by another", "Then the cold edge bows it the other way, and it rusts."))


def warm_stone(rng: np.random.Generator) -> Question:
    """Granite in the sun."""
    return pick(
        rng, "Granite grows about half as much as steel. Why does the sun bow a granite straightedge more than a steel one?",
        "Heat passes through it so slowly that its sunny side gets far warmer",
        "It conducts about a seventeenth of what steel does: the difference between its edges counts, not the growth alone.",
        ("Granite is not as stiff", "stiffness is taken to resist heat", "Is there any stiffness in the formula of the bow?"),
        ("It does not: it grows less", "growth is taken for the whole", "Growth times difference. What makes the difference?"))


def eye_half(rng: np.random.Generator) -> Question:
    """Reading a threshold off counts."""
    a, step = draw(rng, 3, 8) / 2, 0.5
    return numeric(
        f"You looked ten times at each mark of the wedge. At {a:g} µm it was open 2 times, at {a + step:g} µm 5 times, at "
        f"{a + 2 * step:g} µm 8 times. What is your threshold, if that is what you see in half of all looks?",
        a + step, "µm", "Half of ten is five.",
        (a, "the first sight is taken for the threshold", "Two of ten: you would miss it four times of five."),
        (a + 2 * step, "nearly sure is taken for half", "Eight of ten is more than half."))


def eye_sure(rng: np.random.Generator) -> Question:
    """From half to nearly always."""
    t, s = draw(rng, 7, 12) / 2, draw(rng, 2, 5) / 5
    sure = t + 3 * s
    return numeric(
        f"Your threshold is {t:g} µm and the spread of your curve {s:g} µm. A gap that lies three spreads above the threshold is "
        "seen 19 times of 20. Which gap is that?",
        sure, "µm", f"{t:g} + 3 × {s:g} = {sure:g}.",
        (t, "half is taken for nearly always", "At the threshold you miss every other one."),
        (t + s, "one spread is taken for all", "One spread above, three of four looks see it. Go further up."),
        (3 * s, "the threshold is left out", "Three spreads *above the threshold*."))


def eye_repeat(rng: np.random.Generator) -> Question:
    """More looks and the square root."""
    sd = draw(rng, 3, 8) / 10
    return numeric(
        f"Five looks at each mark gave a threshold that is sure to ± {sd:g} µm. To how much is it sure with twenty looks at each?",
        sd / 2, "µm", f"Four times as many looks halve the doubt: {sd:g} / √4 = {sd / 2:g}.",
        (sd / 4, "doubt is divided by the number of looks", "Chance shrinks with the square root of the number."),
        (sd, "looks are taken to change nothing", "Each look tells a little more."),
        tolerance=0.01)


def eye_twice(rng: np.random.Generator) -> Question:
    """Independent looks."""
    n = draw(rng, 3, 5)
    return numeric(
        f"A gap at your threshold is seen in half of all looks. You look {n} times, each time afresh. How often, in percent, "
        "do you miss it every time?",
        100 / 2**n, "%", f"A half, {n} times multiplied: {100 / 2**n:.4g} %.",
        (50, "looking again is taken to change nothing", "You miss the first in half of the cases. And then the next?"),
        (100 / (2 * n), "the looks are added up", "Half of the misses are missed again: multiply."),
        (0, "a further look is taken to be sure", "Even a coin can fall the same way again and again."),
        tolerance=0.3)


def eye_jump(rng: np.random.Generator) -> Question:
    """A test without doubt tells no spread."""
    a = draw(rng, 3, 8) / 2
    return pick(
        rng, f"Ten looks at each mark: never open up to {a:g} µm, always open from {a + 1:g} µm on. What do you know?",
        f"The threshold lies between {a:g} and {a + 1:g} µm; how wide the doubt is, is not known",
        "No width was seen at one time and missed at another. Take finer steps between the two.",
        (f"The threshold is {a + 0.5:g} µm, and there is no doubt", "a coarse test is taken for a sharp eye",
         "What would you have seen at a mark between the two?"),
        ("Nothing: the test has failed", "a bound is taken for nothing", "Two marks bound it. What lies between?"))


def eye_expect(rng: np.random.Generator) -> Question:
    """Looking without knowing."""
    return pick(
        rng, "Why has somebody else to choose the mark, and cover some of them fully?",
        "An eye that knows where light should be sees it there",
        "Covered marks that are reported open show how often you only guess.",
        ("To make it quicker", "the blind test is taken for convenience", "It takes longer. What is it worth?"),
        ("So that the wedge is not moved", "the eye is trusted and the wedge is not",
         "The wedge stays as it is. What about whoever looks?"))
