"""What could be read next of a bed: any laying again, or a gauge that has not crossed it yet."""

from __future__ import annotations

import numpy as np

from simulate.readings.adjustment.equations import free_of, usual_sd
from simulate.readings.adjustment.next_reading import Candidate
from simulate.readings.bed.bed_network import TOOLS, USUAL, BedRows
from simulate.readings.bed.bodies import UPRIGHT, Bodies, Row
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.survey.union_jack_lines import ARCSEC


def further(read: BedRows, heights: SolvedHeights) -> list[Candidate]:
    """Give every laying again, and what crosses from way to way or from part to part and was not read."""
    found = _again(read, heights)
    for name, tool, rows, zeros in _new(read):
        if name not in read.network.groups:
            sd = _sd_of(heights, tool)
            weights = np.zeros((len(rows), read.network.points))
            for r, row in enumerate(rows):
                for point, share in row.items():
                    weights[r, point] += share
            found.append(Candidate(name, free_of(zeros) @ weights / sd if zeros.size else weights / sd))
    return found


def _again(read: BedRows, heights: SolvedHeights) -> list[Candidate]:
    net = read.network
    found = []
    for k, name in enumerate(net.groups):
        mine = net.group == k
        if mine.sum() < 2:
            continue
        tool = int(net.instrument[mine][0])
        sd = heights.spreads.sd[tool] if heights.spreads.source[tool] != "intervals" else usual_sd(heights.equations)
        zeros = net.design[mine][:, net.points :]
        zeros = zeros[:, np.abs(zeros).any(axis=0)]
        rows = net.design[mine][:, : net.points] / max(sd, 1e-9)
        found.append(Candidate(f"{name} again", free_of(zeros) @ rows if zeros.size else rows))
    return found


def _sd_of(heights: SolvedHeights, tool: str) -> float:
    k = TOOLS.index(tool)
    known = heights.spreads.source[k] in ("given", "residuals", "resolution")
    return max(heights.spreads.sd[k], 1e-9) if known else USUAL[k]


def _new(read: BedRows) -> list[tuple[str, str, list[Row], np.ndarray]]:
    """Name, instrument, what heights do to each reading, and what zeros do."""
    bodies = read.bodies
    found: list[tuple[str, str, list[Row], np.ndarray]] = []
    for part in dict.fromkeys(key[0] for key in bodies.keys):
        shared = _shared(bodies, part)
        if shared is None:
            continue
        front = bodies.places[bodies.keys.index((part, bodies.ways[0], UPRIGHT))]
        head, tail = shared
        of = f" of {part}" if part else ""
        ends = [_at(bodies, part, way, x) for x in (head, (head + tail) / 2, tail) for way in bodies.ways]
        over = [_less(ends[2 * k + 1], ends[2 * k]) for k in range(3)]
        step = 1.0 / (bodies.apart_mm * 1000.0 * ARCSEC)
        found.append(
            (f"the level across{of}", "the level across", [_times(one, step) for one in over], np.ones((3, 1)))
        )
        along = [x for x in bodies.x_mm[front] if head - 1e-6 <= x <= tail + 1e-6]
        sweep = [_less(_at(bodies, part, bodies.ways[1], x), _at(bodies, part, bodies.ways[0], x)) for x in along]
        found.append((f"the dial on {bodies.ways[1]}{of}", "the dial", sweep, np.ones((len(sweep), 1))))
        strips = _times(_less(over[2], over[0]), 2.0)
        both = np.array([[1.0], [-1.0]])
        known = bool((read.how == "strips").any())
        name = "the winding strips changed over" if known else "the winding strips, both ways"
        found.append((f"{name}{of}", "the strips", [strips, strips], both))
        middle = _times(_plus(ends[2], ends[3]), -0.5)
        one, two = (_plus(_times(_plus(ends[a], ends[b]), 0.5), middle) for a, b in ((0, 5), (1, 4)))
        found.append((f"the diagonals{of}", "the block", [one, two], np.ones((2, 1))))
    return found


def _shared(bodies: Bodies, part: str) -> tuple[float, float] | None:
    keys = [(part, way, UPRIGHT) for way in bodies.ways]
    if len(keys) < 2 or not all(key in bodies.keys for key in keys):
        return None
    own = [bodies.x_mm[bodies.places[bodies.keys.index(key)]] for key in keys]
    head, tail = max(one[0] for one in own), min(one[-1] for one in own)
    return (float(head), float(tail)) if tail > head and min(one.size for one in own) > 1 else None


def _at(bodies: Bodies, part: str, way: str, x: float) -> Row:
    return bodies.at(part, way, UPRIGHT, x)


def _times(row: Row, by: float) -> Row:
    return {point: by * share for point, share in row.items()}


def _plus(one: Row, two: Row) -> Row:
    return {point: one.get(point, 0.0) + two.get(point, 0.0) for point in {*one, *two}}


def _less(one: Row, two: Row) -> Row:
    return _plus(one, _times(two, -1.0))
