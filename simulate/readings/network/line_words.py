"""What is said of lines over a face, however they were read."""

from __future__ import annotations

import numpy as np

from simulate.readings.network import network_words as said_of
from simulate.readings.network.line_work import SolvedLines, apart
from simulate.readings.network.solve_heights import SolvedHeights


def first(found: SolvedLines) -> str:
    """Say in one sentence what the lines come to."""
    count, places = len(found.lines), found.heights.network.points
    start = f"{count} line{'s' * (count != 1)} through {places} places"
    told = [one for one in found.features if one.told]
    if not told:
        return f"{start}: they show no form yet, because no line has three places that are fixed to each other."
    heads = [one for one in told if one.name in ("flatness", "twist")] or told
    figures = ", ".join(
        f"{said_of.named(one)} {said_of.value_words(one)} ({said_of.range_words(one)}, 95 %)"
        if one.ranged
        else f"{said_of.named(one)} {said_of.value_words(one)}"
        for one in heads[:3]
    )
    return f"{start}: {figures}."


def no_cut(heights: SolvedHeights) -> tuple[str, ...]:
    """Say why there is no map of metal."""
    many = len(heights.hidden)
    return (
        f"No map of metal yet: {many} shape{'s' * (many != 1)} of the work {'are' if many != 1 else 'is'} unseen, and "
        "may be as large as what is seen.",
    )


def unseen_words(found: SolvedLines) -> tuple[str, ...]:
    """Name what lines leave unseen: how sets of lines lie to each other, and twist."""
    net = found.heights.network
    u, v = net.shape_at.T
    shapes = {}
    groups = apart(found.lines)
    for names, places in groups[1:]:
        many = len(names) > 1
        listed = f"line{'s' * many} {', '.join(names)}"
        within = np.zeros(net.points)
        within[places] = 1.0
        for what, shape in (("how high", within), ("how steep along x", within * u), ("how steep along y", within * v)):
            shapes[f"Nothing shows {what} {listed} lie{'s' * (not many)} relative to line {groups[0][0][0]}."] = shape
    shapes["Twist stays unseen: every line is straight on a twisted face; one from corner to corner shows it."] = u * v
    return said_of.hidden_words(found.heights, shapes)
