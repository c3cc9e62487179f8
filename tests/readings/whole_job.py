"""A whole job whose truth is known, from three black bars to an aligned head, as the sets of one logbook.

The workshop, its bodies and its readings are invented. Everything is made here, from the bench alone: what the package
says of the sets can be held against `Job.truth`.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from unittest import mock

import aligned_read
import beds_read
import lines_read
import numpy as np
import workshops_read
from lines_read import laid

from simulate.readings.logbook.entry import DependsOn, Entry

SEED = 20_262
X = np.arange(0.0, 801.0, 50.0)
BARS = ("Heron", "Crane", "Stork")
SQUARES = ("Teal", "Rook", "Lark")
INVENTED = "# Invented readings of an invented workshop, made up for this course.\n"
PLATE = {
    **{f"row {y}": ((0, y), (200, y), (400, y)) for y in (0, 150, 300)},
    **{f"column {x}": ((x, 0), (x, 150), (x, 300)) for x in (0, 200, 400)},
    "up": ((0, 0), (200, 150), (400, 300)),
    "down": ((0, 300), (200, 150), (400, 0)),
}


@dataclass(frozen=True, kw_only=True)
class Job:
    """The sets of a logbook, and what is true of their bodies."""

    entries: tuple[Entry, ...]
    bars_um: np.ndarray
    plate: object
    bed: dict
    squares_urad: np.ndarray


def _text(rows) -> str:
    return INVENTED + "\n".join(rows) + "\n"


def _caught(make, *args, **more):
    """Run a maker of tables and give the text of its file in place of the table."""
    with (
        mock.patch.object(lines_read, "table_of", lambda rows, name="": _text(rows)),
        mock.patch.object(beds_read, "table_of", lambda rows, name="": _text(rows)),
        mock.patch.object(aligned_read, "table_of", lambda rows, name="": _text(rows)),
        mock.patch.object(workshops_read, "table_of", lambda head, rows: _text([head, *rows])),
    ):
        return make(*args, **more)


def _eye(rng) -> str:
    gaps = np.arange(0.5, 4.6, 0.5)
    seen = rng.binomial(12, 1 / (1 + np.exp(-(gaps - 2.2) / 0.25)))
    return _text(["gap_um,looks,seen", *(f"{g:g},12,{n}" for g, n in zip(gaps, seen, strict=True))])


def _shape(rng, bow_um: float, wave_um: float, size: int) -> np.ndarray:
    """Bars that are bowed and wavy, each over the line of its ends."""
    part = X / X[-1]
    bow = bow_um * rng.normal(size=(size, 1)) * 4 * part * (1 - part)
    wave = wave_um * rng.normal(size=(size, 1)) * np.sin(3 * np.pi * part)
    return bow + wave


def _black(rng) -> str:
    """Black bars a millimetre out, in pairs by feelers that end at a millimetre."""
    rough = _shape(rng, 700.0, 60.0, 3)
    rows = ["lower,upper,turned,position_mm,gap_at_least_um,gap_at_most_um"]
    for a, b in combinations(range(3), 2):
        for x, gap in zip(X[::2], laid(X, rough[a] + rough[b])[::2], strict=True):
            rows.append(f"{BARS[a]},{BARS[b]},no,{x:g},{workshops_read.felt(gap)}")
    return _text(rows)


def _finished(rng, bars: np.ndarray, sd: float = 0.8) -> str:
    rows = ["lower,upper,turned,position_mm,gap_um"]
    for a, b, turned in ((0, 1, "no"), (0, 2, "no"), (1, 2, "no"), (0, 1, "yes"), (0, 2, "yes")):
        both = bars[a] + (bars[b][::-1] if turned == "yes" else bars[b])
        gaps = laid(X, both) + 5 * sd + sd * rng.normal(size=X.size)
        rows += [f"{BARS[a]},{BARS[b]},{turned},{x:g},{g:.1f}" for x, g in zip(X, gaps, strict=True)]
    return _text(rows)


def _lands(rng, bar: np.ndarray, sd: float = 0.6) -> str:
    rows = ["gauge,left_mm,middle_mm,right_mm,proud_um"]
    for name, pitch in (("short", 2), ("long", 4), ("longest", 8)):
        for a in range(0, X.size - 2 * pitch, 2):
            proud = bar[a + pitch] - (bar[a] + bar[a + 2 * pitch]) / 2 + sd * rng.normal()
            rows.append(f"{name},{X[a]:g},{X[a + pitch]:g},{X[a + 2 * pitch]:g},{proud:.1f}")
    return _text(rows)


def _plate_by_edge(rng, plate, bar: np.ndarray, sd: float = 1.2) -> str:
    """The first bar on two blocks along rows and columns of a plate, its own shape in every gap."""
    rows = ["line,x_mm,y_mm,set,gap_um"]
    for name, places in PLATE.items():
        x, y = np.array(places, float).T
        along = np.hypot(x - x[0], y - y[0])
        for again in range(2):
            gaps = laid(along, plate(x, y) + np.interp(along, X, bar), 20.0) + sd * rng.normal(size=along.size)
            rows += [f"{name},{a:g},{b:g},{name} {again},{g:.1f}" for a, b, g in zip(x, y, gaps, strict=True)]
    return _text(rows)


def _bed(rng, truth, bar: np.ndarray, sd: float = 1.0) -> str:
    """Both ways by the first bar, laid twice, and a level across."""
    rows, x_mm = [beds_read.HEAD], X[::2]
    for way in ("front", "back"):
        for again in range(2):
            gaps = laid(x_mm, truth[way, "upright"](x_mm) + bar[::2]) + 8 * sd + sd * rng.normal(size=x_mm.size)
            rows += [
                beds_read.row("edge", way, "upright", f"{x:g}", set_up=f"{way} {again}", gap=f"{g:.1f},,")
                for x, g in zip(x_mm, gaps, strict=True)
            ]
    return _text([*rows, *beds_read.cross_rows(rng, truth)])


def whole_job(seed: int = SEED) -> Job:
    """Make the sets in the order in which such a job is done."""
    rng = np.random.default_rng(seed)
    bars, plate = _shape(rng, 4.0, 1.5, 3), lines_read.face(rng, 4.0)
    truth = beds_read.ways(rng, 6.0, 20.0)
    squares = 60 * rng.normal(size=3)
    texts = [
        ("eye.csv", _eye(rng)),
        ("black bars.csv", _black(rng)),
        ("bars.csv", _finished(rng, bars)),
        ("lands.csv", _lands(rng, bars[0])),
        ("plate by straightedge.csv", _plate_by_edge(rng, plate, bars[0])),
        ("plate by level.csv", _caught(lines_read.level, rng, plate, 0.3)),
        ("plates.csv", _caught(workshops_read.plates, rng, 0.8)[1]),
        ("survey.csv", _caught(workshops_read.survey, rng, 0.4)[1]),
        ("squares.csv", _squares(rng, squares)),
        ("one square.csv", _caught(aligned_read.one_square, rng, squares[0], by=("strip", "roller"))),
        ("piece.csv", _caught(aligned_read.plate, rng)[0]),
        ("bed.csv", _bed(rng, truth, bars[0])),
        ("joint.csv", _caught(beds_read.joint, rng)),
        ("head.csv", _caught(aligned_read.head, rng, aligned_read.head_truth(rng))),
        ("cross slide.csv", _caught(aligned_read.slide, rng, 40.0, squares[0])),
    ]
    return Job(entries=_entries(texts), bars_um=bars, plate=plate, bed=truth, squares_urad=squares)


def _squares(rng, urad: np.ndarray, sd: float = 0.6) -> str:
    height = np.array([10.0, 50.0, 95.0, 140.0])
    rows = ["lower,upper,height_mm,gap_um"]
    for a, b in combinations(range(3), 2):
        gap = (urad[a] + urad[b]) * height / 1000
        gap = gap - gap.min() + 5 * sd + sd * rng.normal(size=height.size)
        rows += [f"{SQUARES[a]},{SQUARES[b]},{z:g},{g:.1f}" for z, g in zip(height, gap, strict=True)]
    return _text(rows)


def _entries(texts) -> tuple[Entry, ...]:
    found: list[Entry] = []
    for day, (name, text) in enumerate(texts, 1):
        edge = name in ("plate by straightedge.csv", "bed.csv")
        bars = next((one for one in found if one.name == "bars.csv"), None)
        known = (DependsOn(body="the straightedge", set=bars.identity, earlier=BARS[0]),) if edge and bars else ()
        found.append(
            Entry(
                text,
                name,
                note="Invented.",
                taken=f"day {day}",
                depends_on=known,
                written=f"2026-03-{day:02d}T08:00:00.000000+00:00",
                identity=f"{day:032x}",
            )
        )
    return tuple(found)
