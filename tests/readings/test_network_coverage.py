"""Levels, edges, beds and joints laid out at random: each height lies in its 95 % range as often as is stated."""

import numpy as np
import pytest
from beds_read import APART, ARCSEC, HEAD, row, ways
from lines_read import face, table_of

from simulate.readings.bed.bed_findings import solve_bed
from simulate.readings.bed.bodies import UPRIGHT
from simulate.readings.edge.edge_findings import solve_edge
from simulate.readings.level.level_findings import solve_level

TRIES = [40, pytest.param(2000, marks=pytest.mark.long)]


def grid(rng):
    """A plate of chance size with three to five rows and columns, and those of its lines that tie all places."""
    wide, deep = 100.0 * rng.integers(3, 12), 100.0 * rng.integers(2, 8)
    nx, ny = rng.integers(3, 6, 2)
    x, y = np.linspace(0, wide, nx), np.linspace(0, deep, ny)
    lines = {f"row {j}": (x, np.full(nx, y[j])) for j in range(ny)}
    columns = rng.permutation(nx)[: rng.integers(2, nx + 1)]
    lines |= {f"column {i}": (np.full(ny, x[i]), y) for i in columns}
    part = np.linspace(0, 1, rng.integers(3, 7))
    lines["slant"] = (wide * part, deep * part)
    if rng.random() < 0.5:
        lines["other"] = (wide * part, deep * (1 - part))
    return lines, face(rng, 3 + 40 * rng.random(), wide, deep)


def rounded(rng, values, sd):
    """Figures as they are written down: to a step well below their spread, or to about half of it."""
    step = rng.choice([0.01, 0.5]) * sd
    return step * np.round(values / step)


def level_case(rng):
    lines, height = grid(rng)
    sd, common = 0.1 * 50 ** rng.random(), rng.random() < 0.3
    rows = ["line,station,x_mm,y_mm,set,turned,reading_arcsec"]
    zero = {True: 100 * rng.normal()}
    for name, (x, y) in lines.items():
        slope = np.diff(height(x, y)) / np.hypot(np.diff(x), np.diff(y)) / 1000 / ARCSEC
        at = zero[True] if common else 100 * rng.normal()
        for way in (1, -1)[: 1 + (rng.random() < 0.3)]:
            read = rounded(rng, way * slope + at + sd * rng.normal(size=slope.size), sd)
            cells = ["", *(f"{v:.6g}" for v in read)]
            words = "yes" if way < 0 else "no"
            label = "all" if common else name
            rows += [f"{name},{k},{x[k]:.4f},{y[k]:.4f},{label},{words},{cells[k]}" for k in range(x.size)]
    found = solve_level(table_of(rows), sd if rng.random() < 0.5 else None).heights
    return found, height(found.network.x_mm, found.network.y_mm)


def edge_case(rng):
    lines, height = grid(rng)
    sd = 0.3 * 20 ** rng.random()
    rows = ["line,x_mm,y_mm,set,gap_um,dial_um"]
    for name, (x, y) in lines.items():
        part = np.linspace(0, 1, x.size)
        for again in range(1 + (rng.random() < 0.3)):
            dial = rng.random() < 0.3
            both = height(x, y) * (1 if dial else -1) + 500 + rng.normal() * 50 + 80 * rng.normal() * part
            read = rounded(rng, both + sd * rng.normal(size=x.size), sd)
            cells = [f",{v:.6f}" if dial else f"{v:.6f}," for v in read]
            rows += [f"{name},{a:.4f},{b:.4f},{name} {again},{c}" for a, b, c in zip(x, y, cells, strict=True)]
    found = solve_edge(table_of(rows), sd if rng.random() < 0.5 else None, bounds=False).heights
    return found, height(found.network.x_mm, found.network.y_mm)


def on_bed(rng, truth, x, sd, part=lambda _: "", planes=("upright",)):
    """An edge along each way, and some of all that crosses, each instrument with a spread of its own."""
    rows, dial_sd = [], sd * rng.uniform(0.5, 2)
    level_sd, cross_sd = rng.uniform(0.2, 1.5), rng.uniform(0.1, 1.0)

    def add(how, way, plane, at, word="", **more):
        rows.append(row(how, way, plane, f"{at:g}", **more) + word)

    for plane in planes:
        for way in ("front", "back"):
            for again in range(1 + (rng.random() < 0.5)):
                gap = 60 * rng.normal() * x / x[-1] - truth[way, plane](x) + sd * rng.normal(size=x.size)
                gap = gap - gap.min() + 5.0  # the edge stands on blocks
                for a, g in zip(x, gap, strict=True):
                    add("edge", way, plane, a, part(a), set_up=f"{way} {again}", gap=f"{g:.4f},,")
        read = truth["back", plane](x) - truth["front", plane](x) + 90 * rng.normal()
        read = read + dial_sd * rng.normal(size=x.size)
        for a, v in zip(x, read, strict=True):
            add("dial", "back", plane, a, part(a), set_up=f"over{part(a)}".replace(",", " "), dial=f"{v:.4f}")
    over = truth["back", UPRIGHT](x) - truth["front", UPRIGHT](x)
    if rng.random() < 0.7:
        slope = over / APART / 1000 / ARCSEC + 30 * rng.normal() + cross_sd * rng.normal(size=x.size)
        for a, v in zip(x, slope, strict=True):
            add("cross", "", "", a, part(a), set_up="all", reading=f"{v:.5f}")
    if rng.random() < 0.7:
        for way in ("front", "back"):
            rise = np.diff(truth[way, UPRIGHT](x)) / np.diff(x) / 1000 / ARCSEC + 40 * rng.normal()
            read = rise + level_sd * rng.normal(size=rise.size)
            for k, v in enumerate(read):
                if part(x[k]) == part(x[k + 1]):
                    add("level", way, "", x[k], part(x[k]), to_x=f"{x[k + 1]:g}", set_up=way, reading=f"{v:.5f}")
    return rows


def bed_case(rng):
    truth, x = ways(rng, 5 + 40 * rng.random(), 100 * rng.normal()), np.linspace(0, 800, rng.integers(4, 10))
    sd = 0.5 * 10 ** rng.random()
    rows = on_bed(rng, truth, x, sd, planes=("upright", "level")[: rng.integers(1, 3)])
    found = solve_bed(table_of([HEAD, *rows]), sd if rng.random() < 0.3 else None, bounds=False)
    return found.heights, _truth_of(found, truth)


def joint_case(rng):
    plain, x = ways(rng, 5 + 10 * rng.random(), 60 * rng.normal()), np.linspace(0, 800, rng.integers(8, 13))
    step, lean = 40 * rng.normal(), 80 * rng.normal()

    def moved(one):
        return lambda at: one(at) + np.where(at > 400, step + lean * (at - 400) / 1000, 0.0)

    truth = {key: moved(one) for key, one in plain.items()}
    sd = 0.5 * 6 ** rng.random()
    rows = on_bed(rng, truth, x, sd, part=lambda at: ",tail part" if at > 400 else ",head part")
    found = solve_bed(table_of([HEAD + ",part", *rows]), bounds=False)
    return found.heights, _truth_of(found, truth)


def _truth_of(found, truth):
    bodies = found.bodies
    parts = [truth[way, plane](bodies.x_mm[at]) for (_, way, plane), at in zip(bodies.keys, bodies.places, strict=True)]
    return np.concatenate(parts)


def share_inside(heights, truth):
    """Which share of heights lies in its range; what moves all as one, and what is hidden, is taken out."""
    left, size, _ = np.linalg.svd(np.hstack([heights.network.rigid, heights.hidden.T]), full_matrices=False)
    left = left[:, size > 1e-9 * size[0]]
    true = truth - left @ (left.T @ truth)
    firm = heights.sd_um > 1e-6
    return float(np.mean((heights.low_95_um <= true)[firm] & (true <= heights.high_95_um)[firm]))


CASES = {"level": level_case, "edge": edge_case, "bed": bed_case, "joint": joint_case}


@pytest.mark.parametrize("kind", CASES)
@pytest.mark.parametrize("tries", TRIES)
def test_every_height_lies_in_its_stated_range_95_times_in_100_however_lines_are_laid_out(kind, tries):
    rng, shares = np.random.default_rng(list(CASES).index(kind)), []
    while len(shares) < tries:
        heights, truth = CASES[kind](rng)
        if heights.low_95_um is not None:
            shares.append(share_inside(heights, truth))
    mean, margin = np.mean(shares), 3 * np.std(shares) / np.sqrt(tries)
    assert mean + margin >= 0.94 and mean - margin <= 0.98, (mean, margin)
