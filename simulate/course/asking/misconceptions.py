"""What learners believe before they know better: the fifteen beliefs of the trade, and the exercises that meet each."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Belief:
    """A belief that learners bring along.

    `asked`: what a learner asks. `said`: the belief behind it. `true`: what holds instead. `met`: exercise, and the
    misconception that its wrong answer is called by there.
    """

    asked: str
    said: str
    true: str
    met: tuple[tuple[str, str], ...]


BELIEFS = (
    Belief(
        "Why not two?",
        "Two bars that fit are straight.",
        "They only prove that they are opposites.",
        (
            ("two-proof", "two that agree are right"),
            ("two-equal", "two that agree are right"),
            ("gap-dark", "two that agree are right"),
        ),
    ),
    Belief(
        "Bars 2 and 3 both fit bar 1: are all three good?",
        "Whoever fits the gauge is right.",
        "They agree with the error of bar 1; 2 on 3 shows twice that.",
        (
            ("two-double", "both fit bar 1, so they fit each other"),
            ("two-double", "forgets the error is doubled"),
            ("three-file", "agreeing with the gauge is right"),
        ),
    ),
    Belief(
        "Which one do I file?",
        "One of the two is right, so the other is filed.",
        "Both of 2 and 3, half each; then make 1 again from the better.",
        (("three-file", "one of two must be right"), ("two-proof", "one of two must be right")),
    ),
    Belief(
        "How do I tell the hollow one?",
        "A bar that swings easily is the hollow one.",
        "A convex one swings about its middle, a hollow one drags at its ends.",
        (("gap-rock", "swinging is taken for hollow"), ("gap-rock", "easy movement is taken for a good fit")),
    ),
    Belief(
        "Must plates be turned?",
        "A turn changes nothing, or any turn shows everything.",
        "A quarter turn shows twist, a half turn odd shapes, a slide what neither can.",
        (
            ("turns-twist", "any turn is taken to show everything"),
            ("plates-twist", "the turn is taken to change nothing"),
            ("turns-pinwheel", "what finds twist is taken to find everything"),
        ),
    ),
    Belief(
        "All three fit: is that proof?",
        "Agreement is proof.",
        "Only for the placements that were tried.",
        (("hidden-proof", "agreement means truth"), ("hidden-turned", "three that agree are right")),
    ),
    Belief(
        "Do three bars control twist?",
        "A straight edge belongs to a flat face.",
        "No: they give edges, not planes.",
        (("hidden-twist", "a straight edge is taken for a flat face"),),
    ),
    Belief(
        "Dark all along the edge on a plate: flat?",
        "Straight along and across is flat.",
        "Not from along and across alone; go corner to corner.",
        (("edge-twist", "straight lines are taken for a flat face"), ("bed-diagonals", "straight is taken for flat")),
    ),
    Belief(
        "Blue everywhere: good?",
        "Blue everywhere is good.",
        "Perhaps the film is too thick, or the work rocked.",
        (("gap-compound", "blue everywhere is good"), ("plates-film", "a print is taken for a proof")),
    ),
    Belief(
        "Why is the middle always marked?",
        "The ends or the compound are to blame.",
        "Rubbing works it longest and filing leaves a crown.",
        (
            ("gap-middle", "the ends are blamed"),
            ("gap-middle", "the compound is blamed"),
            ("plates-middle", "a sum is taken for one plate"),
        ),
    ),
    Belief(
        "How small a gap can I see?",
        "Dark means touching.",
        "Make a wedge and find out.",
        (
            ("gap-dark", "dark is taken for touching"),
            ("own-light", "dark is taken for touching"),
            ("eye-jump", "a coarse test is taken for a sharp eye"),
        ),
    ),
    Belief(
        "Do two squares need a third?",
        "Two squares that show no light are square.",
        "A pair shows only the sum.",
        (("square-pair", "two that agree are right"), ("square-pair", "one of two must be right")),
    ),
    Belief(
        "Does it matter how it lies?",
        "A stiff bar lies as it lies.",
        "Near 2/9 in from each end it sags some 45 times less than on its ends.",
        (("bend-inset", "the ends are taken for the best place"), ("bend-turn", "sag is taken for a fault of one bar")),
    ),
    Belief(
        "Why did yesterday's fit vanish?",
        "Light that was not there yesterday is shape, so it is filed.",
        "Heat, handling, or release of residual stress. Wait, and check again.",
        (("warm-hand", "a bow from heat is taken for shape"), ("warm-wait", "depth is forgotten")),
    ),
    Belief(
        "Does agreement mean truth?",
        "What everybody agrees on is true.",
        "Shared errors survive: same twist, same sag, same habit of seeing.",
        (
            ("bend-shared", "three that agree are right"),
            ("chain-shared", "a shared error is taken to cancel"),
            ("far-check", "agreeing is taken for truth"),
        ),
    ),
)
