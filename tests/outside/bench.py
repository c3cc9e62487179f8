"""Outside figures for comparing three bodies, for seeing and for cutting."""

from __future__ import annotations

import io

import numpy as np
from PIL import Image

from outside.item import LOOKED_UP, MEMORY, Outside
from simulate.bench.cutting.tools import TOOLS
from simulate.bench.looking.light import BLUE, RED, glow
from simulate.bench.looking.sight import FEELERS_MM, Sight, wedge_gap_um
from simulate.bench.seating.bar_seat import face, rest
from simulate.bench.seating.placement import face_plate
from simulate.method.lands.stepping import step_lands
from simulate.method.planning.plan import PACES
from simulate.method.plates.plate_null_space import hidden_plate_errors
from simulate.show.drawing.flash_limit import LARGE, luminance
from simulate.surface.straightness import straightness

PLAIN = [(0, 1, 0), (0, 2, 0), (1, 2, 0)]
QUARTERS = [(low, up, turn) for low, up, _ in PLAIN for turn in (0, 90, 180, 270)]
X = np.linspace(-250, 250, 101)
ROSE = "J. Rose, Modern Machine-Shop Practice, 1887, "
AI = (
    "C. Ai and J. C. Wyant, Absolute testing of flats decomposed to even and odd functions, 1992 (abstract "
    "looked up), and "
    "C. J. Evans and R. N. Kestner, Applied Optics 35, 1996: rotations by 1/N of a turn leave the terms k N theta"
)


def out_to_each_other() -> float:
    """Fit two bars dark to one that is out by 1, and lay them on each other: the gap, ends or middle, over that 1."""
    master = 1 - (X / 250) ** 2
    fitted = -master  # what lies on it without light
    return float(rest(X, fitted + face(fitted)).gap_um.max() / straightness(X, master).value_um)


def rose_twist() -> tuple[float, float]:
    """What three plates with one twist show each other, over that twist, at 0 and at a quarter turn."""
    grid = np.linspace(-1, 1, 9)
    twist = np.outer(grid, grid)
    return tuple(float(np.ptp(twist + face_plate(twist, turn)) / np.ptp(twist)) for turn in (0, 90))


def rotations(hidden: np.ndarray) -> float:
    """How much a quarter turn changes a shape that three flats hide from each other, over the shape itself."""
    return max(float(np.linalg.norm(np.rot90(h, 1, (-2, -1)) - h)) for h in hidden)


def fourfold() -> tuple[float, float]:
    """Least order of turning symmetry that is left by quarter turns, and how far the shapes fail it."""
    hidden = hidden_plate_errors(9, QUARTERS)
    grid = np.linspace(-1, 1, 9)
    angle = np.arctan2(*np.meshgrid(grid, grid, indexing="ij"))
    ring = np.hypot(*np.meshgrid(grid, grid)) < 1.01
    power = [
        sum(abs((h * ring * np.exp(1j * k * angle)).sum()) ** 2 for plates in hidden for h in plates)
        for k in range(1, 8)
    ]
    return float(1 + np.argmax(power)), rotations(hidden)


def one_diameter() -> float:
    """On how many of nine lines across a plate nothing is hidden where three plates were compared without a turn."""
    freedom = np.sqrt((hidden_plate_errors(9, PLAIN)[:, 0] ** 2).sum(axis=0)).max(axis=0)
    return float((freedom < 1e-9).sum())


def colour(which: int) -> float:
    """Give the middle of the gaps that glow in one colour against a knife edge."""
    gap = np.arange(0, 3, 0.001)
    return float(gap[glow(gap) == which].mean())


def light_of(rgb: tuple[int, int, int]) -> float:
    kept = io.BytesIO()
    Image.new("RGB", (96, 54), rgb).save(kept, "PNG")
    return float(luminance(kept.getvalue()).mean())


def contrast(one, other) -> float:
    high, low = sorted((light_of(one), light_of(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


SLIDES = "lecture slides, Wedge method, no author and no year"
WCAG = "W3C, Web Content Accessibility Guidelines 2.2, "
LIGHT = "simulate.show.drawing.flash_limit.luminance"
HIDDEN = "simulate.method.plates.plate_null_space.hidden_plate_errors"

ITEMS = (
    Outside(
        name="two-fitted-to-one-master",
        value=2.0,
        unit="times its error",
        within=1e-9,
        source=ROSE + "Figs 2438 to 2440",
        where="simulate.bench.seating.bar_seat.rest",
        seen=LOOKED_UP,
        found=out_to_each_other,
    ),
    Outside(
        name="twist-at-a-quarter-turn",
        value=(0.0, 2.0),
        unit="times the twist",
        within=1e-9,
        source=ROSE + "Figs 2443 and 2444, in words",
        where="simulate.bench.seating.placement.face_plate",
        seen=LOOKED_UP,
        found=rose_twist,
    ),
    Outside(
        name="flats-turned-by-quarters",
        value=(4.0, 0.0),
        unit="1",
        within=1e-9,
        source=AI,
        where=HIDDEN,
        seen=LOOKED_UP,
        found=fourfold,
    ),
    Outside(
        name="flats-without-a-turn",
        value=1.0,
        unit="lines",
        within=1e-9,
        source="Optical Engineering 53(9) 092004, 2014: one diameter only",
        where=HIDDEN,
        seen=LOOKED_UP,
        found=one_diameter,
    ),
    Outside(
        name="zero-error-of-three-probes",
        value=36.0,
        unit="times its error",
        within=1e-9,
        source=(
            "W. Gao, J. Yokoyama, H. Kojima and S. Kiyono, Precision Engineering 26, 2002: a parabola e x2/d2; 12 steps"
        ),
        where="simulate.method.lands.stepping.step_lands",
        seen=MEMORY,
        found=lambda: float(step_lands(12, zero_um=1.0).bias_um.max()),
    ),
    Outside(
        name="wedge-of-two-piles",
        value=4.0,
        unit="um",
        within=1e-9,
        source=SLIDES + ": piles of 10.0 and 10.1 mm, 200 mm apart, 8 mm of shift",
        where="simulate.bench.looking.sight.wedge_gap_um",
        seen=LOOKED_UP,
        found=lambda: float(np.diff(wedge_gap_um(10.0, 10.1, 200.0, [20.0, 28.0]))[0]),
    ),
    Outside(
        name="light-shows-from",
        value=2.25,
        unit="um",
        within=0.2501,
        source="an encyclopaedia entry and course slides: 2 to 2.5 um",
        where="simulate.bench.looking.sight.Sight",
        seen=LOOKED_UP,
        found=lambda: Sight().threshold_um,
    ),
    Outside(
        name="light-turns-red",
        value=1.5,
        unit="um",
        within=0.3,
        source="an encyclopaedia entry and course slides: 1.2 to 1.8 um",
        where="simulate.bench.looking.light.glow",
        seen=LOOKED_UP,
        found=lambda: colour(RED),
    ),
    Outside(
        name="light-turns-blue",
        value=0.8,
        unit="um",
        within=0.05,
        source="an encyclopaedia entry and course slides: near 0.8 um",
        where="simulate.bench.looking.light.glow",
        seen=LOOKED_UP,
        found=lambda: colour(BLUE),
    ),
    Outside(
        name="file-takes-a-stroke",
        value=(13 + 1.6) / 2,
        unit="mm3",
        within=(13 - 1.6) / 2,
        source=(
            "American Engineer and Railroad Journal, 1905: 1 to 8 cubic inches in 10 000 strokes on a testing machine"
        ),
        where="simulate.method.planning.plan.PACES",
        seen=LOOKED_UP,
        found=lambda: PACES["bastard file"].stroke_mm3,
    ),
    Outside(
        name="scraper-takes-a-pass",
        value=6.0,
        unit="um",
        within=4.0,
        source="published, but weakly: 2 to 10 um a pass",
        where="simulate.bench.cutting.tools.TOOLS",
        seen=LOOKED_UP,
        found=lambda: TOOLS["scraper"].depth_um,
    ),
    Outside(
        name="usual-feelers",
        value=(0.05, 1.00, 13),
        unit="mm, mm, blades",
        within=1e-9,
        source=(
            "DIN 2275, feeler gauges: a usual set of thirteen from 0.05 to 1.00 mm, as in a public encyclopaedia entry"
        ),
        where="simulate.bench.looking.sight.FEELERS_MM",
        seen=LOOKED_UP,
        found=lambda: (FEELERS_MM[0], FEELERS_MM[-1], len(FEELERS_MM)),
    ),
    Outside(
        name="black-on-white",
        value=21.0,
        unit="1",
        within=1e-4,
        source=WCAG + "contrast ratio",
        where=LIGHT,
        seen=LOOKED_UP,
        found=lambda: contrast((0, 0, 0), (255, 255, 255)),
    ),
    Outside(
        name="palest-grey-that-passes",
        value=4.54,
        unit="1",
        within=0.005,
        source=WCAG + "#767676 on white",
        where=LIGHT,
        seen=LOOKED_UP,
        found=lambda: contrast((0x76,) * 3, (255,) * 3),
    ),
    Outside(
        name="red-and-blue-on-white",
        value=(3.99, 8.59),
        unit="1",
        within=0.01,
        source=WCAG + "#FF0000 and #0000FF on white, in a public table",
        where=LIGHT,
        seen=LOOKED_UP,
        found=lambda: (contrast((255, 0, 0), (255,) * 3), contrast((0, 0, 255), (255,) * 3)),
    ),
    Outside(
        name="part-that-may-not-flash",
        value=21824,
        unit="dots of 1024 x 768",
        within=1.0,
        source=WCAG + "general flash: a quarter of 341 x 256",
        where="simulate.show.drawing.flash_limit.LARGE",
        seen=MEMORY,
        found=lambda: LARGE * 1024 * 768,
    ),
)
