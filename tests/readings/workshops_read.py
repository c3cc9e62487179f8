"""Workshops whose truth is known, read with a scatter, as readings files of every kind."""

from itertools import combinations

import numpy as np
import scipy

from simulate.bench.seating.placement import face_plate
from simulate.readings.adjustment.end_errors import FEEL_WEIGHT, FEELS_UM
from simulate.readings.adjustment.shape_prior import smooth_shapes
from simulate.readings.lands.land_posterior import ROUGH, over_the_ends
from simulate.readings.table.read import read_readings

POINTS = np.array([0.0, 40.0, 100.0, 150.0, 220.0, 300.0])


def table_of(header, rows):
    return read_readings("\n".join([header, *rows]).encode(), "made_up.csv")


def gaps(value, rng, sd_um, step_um):
    """Point readings with a scatter, or the intervals of a given step in which the true gaps lie."""
    lifted = value - value.min() + 20 + 6 * sd_um
    if not step_um:
        return [f"{v:.4f},," for v in lifted + sd_um * rng.normal(size=value.size)]
    below = step_um * (np.floor((lifted - (start := rng.uniform(0, step_um, value.size))) / step_um)) + start
    return [f",{max(low, 0):.4f},{low + step_um:.4f}" for low in below]


def bars(rng, sd_um=1.0, step_um=0.0, names="ABC", pairs=None, turned=False, x=POINTS):
    """Return heights with each bar's own line taken out, and a table of every pair, once turned if asked for."""
    truth = 15 * rng.normal(size=(len(names), x.size))
    line = np.stack([np.ones_like(x), x - x.mean()])
    truth -= truth @ np.linalg.pinv(line) @ line
    rows = []
    for way in (False, True)[: 1 + turned]:
        for a, b in pairs or combinations(range(len(names)), 2):
            above = np.interp(x[0] + x[-1] - x, x, truth[b]) if way else truth[b]
            seat = rng.normal() * 5 + 0.02 * rng.normal() * (x - x.mean())
            read = gaps(seat - truth[a] - above, rng, sd_um, step_um)
            rows += [f"{names[a]},{names[b]},{'yes' if way else 'no'},{at},{g}" for at, g in zip(x, read)]
    return truth, table_of("lower,upper,turned,position_mm,gap_um,gap_at_least_um,gap_at_most_um", rows)


def plates(rng, sd_um=1.0, step_um=0.0, side=3, more=()):
    """Return heights row by row with each plate's own plane taken out, and a table that settles three plates."""
    along = np.linspace(-100, 100, side)
    x, y = (part.ravel() for part in np.meshgrid(along, along))
    truth = 8 * rng.normal(size=(3, x.size))
    plane = np.stack([np.ones_like(x), x, y])
    truth -= truth @ np.linalg.pinv(plane) @ plane
    number = np.arange(x.size).reshape(side, side)
    rows = []
    for a, b, turn in ((0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 90), (0, 2, 90), *more):
        # turned over about y, x meets -x; then a quarter counterclockwise for each 90 degrees
        over = np.rot90(number[:, ::-1], -turn // 90) if turn else number[:, ::-1]
        seat = 5 * rng.normal() + 0.03 * rng.normal() * x + 0.03 * rng.normal() * y
        read = gaps(seat - truth[a] - truth[b][over.ravel()], rng, sd_um, step_um)
        rows += [f"{'ABC'[a]},{'ABC'[b]},{turn},{u},{v},{g}" for u, v, g in zip(x, y, read)]
    return truth, table_of("lower,upper,turned,x_mm,y_mm,gap_um,gap_at_least_um,gap_at_most_um", rows)


def squares(rng, sd_um=1.0, step_um=0.0, names="ABC", heights=(0.0, 60.0, 150.0, 200.0)):
    """Return the angle of each square, and a table of every pair."""
    truth, lift = 80 * rng.normal(size=len(names)), np.array(heights)
    rows = []
    for a, b in combinations(range(len(names)), 2):
        read = gaps((truth[a] + truth[b]) * lift / 1000, rng, sd_um, step_um)
        rows += [f"{names[a]},{names[b]},{h},{g}" for h, g in zip(lift, read)]
    return truth, table_of("lower,upper,height_mm,gap_um,gap_at_least_um,gap_at_most_um", rows)


def lands(rng, sd_um=1.0, step_um=0.0):
    """Return the heights over the line of the ends, and a table of two gauges laid all along."""
    x = np.arange(0.0, 601.0, 100.0)
    truth = np.concatenate([[0], 10 * rng.normal(size=x.size - 2), [0]])
    rows = []
    for name, pitch in (("small", 1), ("long", 2), ("longest", 3)):
        for a in range(x.size - 2 * pitch):
            value = truth[a + pitch] - (truth[a] + truth[a + 2 * pitch]) / 2
            if step_um:
                low = step_um * np.floor(value / step_um)
                read = f",{low},{low + step_um}"
            else:
                read = f"{value + sd_um * rng.normal():.4f},,"
            rows.append(f"{name},{x[a]},{x[a + pitch]},{x[a + 2 * pitch]},{read}")
    return truth, table_of("gauge,left_mm,middle_mm,right_mm,proud_um,proud_at_least_um,proud_at_most_um", rows)


EIGHT = {
    "d1": (0, 0, 4, 4),
    "d2": (4, 0, 0, 4),
    "s": (0, 0, 4, 0),
    "n": (0, 4, 4, 4),
    "w": (0, 0, 0, 4),
    "e": (4, 0, 4, 4),
    "h": (0, 2, 4, 2),
    "v": (2, 0, 2, 4),
}


def survey(rng, sd_um=1.0, step_um=0.0):
    """Return heights by place in the corner datum, and a table; `sd_um` stands for seconds of arc here."""
    places = sorted({(x + (u - x) * k / 4, y + (v - y) * k / 4) for x, y, u, v in EIGHT.values() for k in range(5)})
    height = dict(zip(places, 10 * rng.normal(size=len(places))))
    rows = []
    for name, (x, y, u, v) in EIGHT.items():
        at = [(x + (u - x) * k / 4, y + (v - y) * k / 4) for k in range(5)]
        length = 100 * np.hypot(u - x, v - y) / 4
        zero = 50 * rng.normal()
        rows.append(f"{name},0,{100 * x},{100 * y},")
        for k in range(1, 5):
            slope = (height[at[k]] - height[at[k - 1]]) / (length * 1000) / np.pi * 648000
            rows.append(f"{name},{k},{100 * at[k][0]},{100 * at[k][1]},{slope + zero + sd_um * rng.normal():.5f}")
    # corner datum: zero at the centre, both diagonals level
    one, two = ((height[4, 4] - height[0, 0]) / 8, (height[0, 4] - height[4, 0]) / 8)
    level = {p: h - height[2, 2] - (p[0] - 2) * (one - two) - (p[1] - 2) * (one + two) for p, h in height.items()}
    return {(100 * p[0], 100 * p[1]): h for p, h in level.items()}, table_of(
        "line,station,x_mm,y_mm,reading_arcsec", rows
    )


BLADES_UM = np.array(
    [0, 30, 40, 50, 60, 70, 80, 90, 100, 120, 150, 200, 250, 300, 350, 400, 450, 500, 600, 700, 800, 900, 1000.0]
)
"""A set of feelers from 0.03 to 1 mm (common practice)."""


def squares_by_feelers(rng, bow_um=0.0, feel_um=0.0, heights=5, blades=BLADES_UM):
    """Return the angle of each of three squares, whose blades are bowed about their middle, and what feelers say of the
    pairs."""
    truth, part = 150 * rng.normal(size=3), np.linspace(0, 1, heights)
    bow, rows = bow_um * rng.normal(size=3), []
    for a, b in combinations(range(3), 2):
        gap = (truth[a] + truth[b]) * 0.15 * part + (bow[a] + bow[b]) * 4 * part * (1 - part)
        start = rng.uniform(30, 60)  # or the narrowest gap would always lie in the middle of one interval
        for height, felt in zip(150 * part, gap - gap.min() + start + feel_um * rng.normal(size=heights)):
            k = int(np.searchsorted(blades, felt, side="right")) - 1
            above = f"{blades[k + 1]:g}" if k + 1 < blades.size else ""
            rows.append(f"{'ABC'[a]},{'ABC'[b]},{height:g},{blades[max(k, 0)]:g},{above}")
    return truth, table_of("lower,upper,height_mm,gap_at_least_um,gap_at_most_um", rows)


def lands_by_feelers(rng, high_um=30.0, blades=BLADES_UM):
    """Return the heights over the line of the ends, and between which two blades each gap under a gauge lies."""
    x = np.arange(0.0, 601.0, 100.0)
    truth, rows = np.concatenate([[0], high_um * rng.normal(size=x.size - 2), [0]]), []
    for name, pitch in (("small", 1), ("long", 2), ("longest", 3)):
        for a in range(x.size - 2 * pitch):
            value = truth[a + pitch] - (truth[a] + truth[a + 2 * pitch]) / 2
            k = (
                int(np.searchsorted(blades, abs(value), side="right")) - 1
            )  # the gap is under the middle land, or under the outer ones
            ends = sorted(np.sign(value) * blades[k : k + 2])
            rows.append(f"{name},{x[a]},{x[a + pitch]},{x[a + 2 * pitch]},{ends[0]:g},{ends[1]:g}")
    return truth, table_of("gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um", rows)


def lands_of_the_prior(rng, feel_um=None, step_um=10.0):
    """Bars as the stated prior of lands has them, felt in cells with a feel by lot, and that feel."""
    x = np.arange(0.0, 601.0, 100.0)
    kinds = smooth_shapes(x / 300 - 1, over_the_ends(x).T, rough=ROUGH)
    size = np.exp(rng.uniform(np.log(3), np.log(60)))
    root = np.linalg.cholesky(kinds[rng.integers(len(kinds))])
    truth = np.pad(size * root @ rng.normal(size=5), 1)
    feel = rng.choice(FEELS_UM, p=FEEL_WEIGHT) if feel_um is None else feel_um
    rows = []
    for name, pitch in (("small", 1), ("long", 2), ("longest", 3)):
        for a in range(x.size - 2 * pitch):
            value = truth[a + pitch] - (truth[a] + truth[a + 2 * pitch]) / 2 + feel * rng.normal()
            low = step_um * np.floor(value / step_um)
            rows.append(f"{name},{x[a]},{x[a + pitch]},{x[a + 2 * pitch]},{low},{low + step_um}")
    return truth, table_of("gauge,left_mm,middle_mm,right_mm,proud_at_least_um,proud_at_most_um", rows)


def lands_open(rng, step_um=10.0, open_part=0.4):
    """Return the heights over the line of the ends, and intervals of which some have no upper end."""
    truth, table = lands(rng, step_um=step_um)
    table.high_um[rng.random(len(table)) < open_part] = np.inf
    return truth, table


def felt(gap_um, blades=BLADES_UM):
    """Return the two blades between which a gap lies, the upper one empty beyond the thickest."""
    k = int(np.searchsorted(blades, gap_um, side="right")) - 1
    return f"{blades[k]:g},{f'{blades[k + 1]:g}' if k + 1 < blades.size else ''}"


def rough_bars(rng, blades=BLADES_UM):
    """Return three bars 0.3 to 1.5 mm out, each beyond its own line, and between which blades the gaps of every pair
    lie.

    A pair rests on two stations that straddle the middle; one pair is turned as well in half of all sets.
    """
    count = int(rng.choice([7, 12]))
    along, x = np.linspace(-1, 1, count), np.linspace(0, 550, count)
    family = np.stack([along**2, along**3, np.cos(2 * np.pi * along), np.sin(np.pi * along), np.sin(2 * np.pi * along)])
    shape = rng.normal(size=(3, 5)) @ family + 0.05 * rng.normal(size=(3, count))
    line = np.stack([np.ones_like(x), along])
    shape -= shape @ np.linalg.pinv(line) @ line
    truth = shape / np.ptp(shape, axis=1, keepdims=True) * rng.uniform(300, 1500, (3, 1))
    fits = [*((a, b, False) for a, b in combinations(range(3), 2)), *([(0, 1, True)] if rng.integers(2) else [])]
    rows = []
    for a, b, turned in fits:
        both = truth[a] + (truth[b][::-1] if turned else truth[b])
        rests = [
            both[i] + (both[j] - both[i]) * (x - x[i]) / (x[j] - x[i])
            for i in np.flatnonzero(along <= 0)
            for j in np.flatnonzero(along > 0)
        ]
        seat = min(rests, key=lambda one: np.max(both - one))
        gaps_um = np.maximum(seat - both, 0)
        rows += [
            f"{'ABC'[a]},{'ABC'[b]},{'yes' if turned else 'no'},{at:g},{felt(g, blades)}"
            for at, g in zip(x, gaps_um, strict=True)
        ]
    return truth, table_of("lower,upper,turned,position_mm,gap_at_least_um,gap_at_most_um", rows)


def rough_plates(rng, side=5, blades=BLADES_UM):
    """Return three plates 0.3 to 1.5 mm out, each beyond its own plane, and between which blades the gaps of five
    placements lie.

    Each fit rests on the plane that touches the two at three places about the middle.
    """
    along = np.linspace(-1, 1, side)
    u, v = np.meshgrid(along, along)
    family = np.stack([u**2, v**2, u * v, u**3, np.cos(2 * u) * v, u * v**2])
    plane = np.stack([np.ones_like(u), u, v]).reshape(3, -1)
    shape = (rng.normal(size=(3, 6)) @ family.reshape(6, -1)) + 0.03 * rng.normal(size=(3, u.size))
    shape -= shape @ np.linalg.pinv(plane) @ plane
    truth = shape / np.ptp(shape, axis=1, keepdims=True) * rng.uniform(300, 1500, (3, 1))
    faces = truth.reshape(3, side, side)
    rows = []
    for a, b, turned, slid in ((0, 1, 0, 0), (0, 2, 0, 0), (1, 2, 0, 0), (0, 1, 90, 0), (0, 1, 0, 1)):
        both = (faces[a] + face_plate(faces[b], turned, (slid, 0)))[:, slid:].ravel()
        under = plane.reshape(3, side, side)[:, :, slid:].reshape(3, -1)
        middle = np.array([1.0, 0.0 if not slid else 0.5 * slid * (along[1] - along[0]), 0.0])
        rest = scipy.optimize.linprog(middle, A_ub=-under.T, b_ub=-both, bounds=[(None, None)] * 3).x
        gaps_um = np.maximum(rest @ under - both, 0)
        at = 200 * under[1:].T
        rows += [
            f"{'ABC'[a]},{'ABC'[b]},{turned},{200 * slid * (along[1] - along[0]):g},{x:g},{y:g},{felt(gap, blades)}"
            for (x, y), gap in zip(at, gaps_um, strict=True)
        ]
    return truth, table_of("lower,upper,turned,slide_x_mm,x_mm,y_mm,gap_at_least_um,gap_at_most_um", rows)
