"""Outside figures for the form of lines and plates, and for the limits that standards set."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from outside.item import LOOKED_UP, MEMORY, Outside
from simulate.readings.survey.union_jack import UnionJack, union_jack
from simulate.readings.survey.union_jack_lines import ARCSEC, rises_um
from simulate.readings.table.read import read_readings
from simulate.surface.straightness import straightness
from simulate.surface.tolerances import plate_grades as grades

SLIDES = "lecture slides, Auto-collimator method (base 100 mm), no author and no year"
MOODY = (
    "J. C. Moody, How to calibrate surface plates in the plant, The Tool Engineer, October 1955; the sheet with two "
    "slips of the pen put right, read in a public transcription"
)
MOODY_ARCSEC = {
    "nw to se": "6.5 6.0 5.0 5.2 5.5 5.6 5.5 5.0 5.5 4.8 5.0 5.2 5.3 4.9 4.6 4.2 5.3 4.9 4.5 3.5",
    "ne to sw": "6.6 5.4 5.4 5.2 5.5 5.7 5.0 5.0 5.4 4.5 4.4 4.5 4.5 4.8 4.2 4.2 4.2 4.8 4.3 3.2",
    "ne to nw": "20.5 19.7 20.5 20.3 20.2 19.9 19.0 19.5 18.8 18.6 18.7 18.6 18.4 18.5 19.0 17.9",
    "ne to se": "3.5 2.1 2.5 2.8 3.4 3.2 3.5 4.0 4.2 3.5",
    "se to sw": "16.4 15 15.6 15.5 15.1 15.3 15.1 14.6 14 13.5 13.5 13.3 13.3 13.4 14 13.9",
    "nw to sw": "6 4.6 4.5 4.7 5.0 4.5 5.9 6 6 4.9",
    "n to s": "6.6 6.4 6.3 6.5 6.6 6.9 7.5 7.4 7.1 7",
    "e to w": "11.7 12.4 12.1 12.5 12.0 11.5 11.5 11.3 11.3 10.3 10.8 10.3 10 10.7 10.4 10.4",
}
"""Mean readings of an autocollimator; the foot is 4 inches on every line."""
FOOT_IN, WIDE_IN, DEEP_IN = 4.0, 64.0, 48.0
"""Twenty, sixteen and ten steps of the foot do not close on one rectangle; the plate is laid out so that the diagonals
and long sides have whole steps, and the readings of the short lines are scaled to the rise of one foot."""


def autocollimator() -> float:
    rise = np.array([130, 130, 133, 137, 128, 130, 134], float) - 130
    return float(straightness(100.0 * np.arange(7), np.cumsum(0.5 * rise), "end points").value_um)


def through_origin() -> tuple[float, float]:
    found = straightness(np.array([-3, -2, -1, 1, 2, 3.0]), [-8, -5, -2, 2, 5, 8])
    return float(found.slope_um_per_mm), float(found.value_um) / 2


def place(name: str) -> tuple[float, float]:
    x = WIDE_IN * (0.0 if "w" in name else 1.0 if "e" in name else 0.5)
    return x, DEEP_IN * (0.0 if "s" in name else 1.0 if "n" in name else 0.5)


@lru_cache(maxsize=1)
def moody() -> UnionJack:
    rows = ["line,station,x_mm,y_mm,reading_arcsec"]
    for line, readings in MOODY_ARCSEC.items():
        (x0, y0), (x1, y1) = map(place, line.split(" to "))
        reading = np.array(readings.split(), float)
        reading *= FOOT_IN / (np.hypot(x1 - x0, y1 - y0) / reading.size)
        for k, part in enumerate(np.linspace(0, 1, reading.size + 1)):
            slope = reading[k - 1] if k else ""
            rows.append(f"{line},{k},{25.4 * (x0 + (x1 - x0) * part)},{25.4 * (y0 + (y1 - y0) * part)},{slope}")
    return union_jack(read_readings("\n".join(rows).encode()))


def moody_at(*places: str) -> tuple[float, ...]:
    """Give heights over the lowest station, in microinches."""
    found = moody()
    at = [int(np.argmin(np.hypot(found.x_mm - 25.4 * x, found.y_mm - 25.4 * y))) for x, y in map(place, places)]
    return tuple((found.height_um[at] - found.height_um.min()) / 0.0254)


def table(sizes, standard: str) -> tuple[float, ...]:
    return tuple(limit for wide, deep in sizes for limit in grades.plate_limits_um(wide, deep, standard).values())


DIN_876_MM = (200, 300, 500, 800, 1000, 1200, 1500, 2000, 2500, 3000, 3500, 4000, 4500, 5000, 5500, 6000, 6500)
DIN_876_UM = {
    "0": (4.8, 5.2, 6, 7.2, 8, 8.8, 10, 12, 14, 16, 18, 20, 22, 24, 26, 28, 30),
    "1": (12, 13, 15, 18, 20, 22, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75),
    "2": (24, 26, 30, 36, 40, 44, 50, 60, 70, 80, 90, 100, 110, 120, 130, 140, 150),
    "3": (48, 52, 60, 72, 80, 88, 100, 120, 140, 160, 180, 200, 220, 240, 260, 280, 300),
}
ISO_8512_UM = {
    (250, 160): (3.5, 7, 14, 27),
    (400, 250): (4, 8, 16, 32),
    (630, 400): (5, 10, 20, 39),
    (1000, 630): (6, 12, 24, 49),
    (1600, 1000): (8, 16, 33, 66),
    (2000, 1000): (9.5, 19, 38, 75),
    (2500, 1600): (11.5, 23, 46, 92),
    (250, 250): (3.5, 7, 15, 30),
    (400, 400): (4.5, 9, 17, 34),
}
FEDERAL_UIN = {(12, 12): 50, (12, 18): 50, (18, 24): 75, (24, 36): 100, (36, 48): 200, (48, 72): 350, (48, 96): 500}
STRAIGHTEDGE = {75: 2, 100: 2, 150: 3, 200: 3, 300: 3, 400: 4, 500: 4, 600: 4, 700: 5, 800: 5, 900: 6, 1000: 6}
SQUARE = {
    75: (3, 7, 14, 28),
    100: (3, 7, 15, 30),
    150: (4, 8, 18, 35),
    200: (4, 9, 20, 40),
    250: (5, 10, 23, 45),
    300: (5, 11, 25, 50),
    500: (7, 15, 35, 70),
    1000: (12, 25, 60, 120),
}
PLATES = "simulate.surface.tolerances.plate_grades.plate_limits_um"


def din_876(grade: str, lengths=DIN_876_MM) -> tuple[float, ...]:
    return tuple(grades.plate_limits_um(length, 200)[grade] for length in lengths)


def federal(wide_mm: float, deep_mm: float, grade: str = "AA") -> float:
    return grades.plate_limits_um(wide_mm, deep_mm, "GGG-P-463c")[grade]


ITEMS = (
    Outside(
        name="autocollimator-line",
        value=3.0,
        unit="um",
        within=1e-9,
        source=SLIDES,
        where="simulate.surface.straightness.straightness",
        seen=LOOKED_UP,
        found=autocollimator,
    ),
    Outside(
        name="second-of-arc",
        value=4.848137e-6,
        unit="rad",
        within=5e-13,
        source="BIPM, The International System of Units, table 8",
        where="simulate.readings.survey.union_jack_lines.rises_um",
        seen=MEMORY,
        found=lambda: (rises_um(np.array([0, 100.0, 200.0]), np.array([1.0, -1.0]))[1] * 1e-5, ARCSEC)[0],
    ),
    Outside(
        name="best-line-through-origin",
        value=(2.5, 0.5),
        unit="1",
        within=1e-9,
        source="university lecture notes on linear programming (largest residual through (1, 2), (2, 5), (3, 8))",
        where="simulate.surface.straightness.straightness",
        seen=LOOKED_UP,
        found=through_origin,
    ),
    Outside(
        name="moody-1955-flatness",
        value=178.41,
        unit="microinch",
        within=0.01,
        source=MOODY,
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: np.ptp(moody().height_um) / 0.0254,
    ),
    Outside(
        name="moody-1955-corners",
        value=(62.056, 29.089, 62.056, 29.089),
        unit="microinch",
        within=0.001,
        source=MOODY,
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: moody_at("nw", "ne", "se", "sw"),
    ),
    Outside(
        name="moody-1955-middles-of-edges",
        value=(153.201, 178.411, 5.818, 21.332),
        unit="microinch",
        within=0.001,
        source=MOODY,
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: moody_at("n", "s", "e", "w"),
    ),
    Outside(
        name="moody-1955-centre",
        value=131.869,
        unit="microinch",
        within=0.001,
        source=MOODY,
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: moody_at("c"),
    ),
    Outside(
        name="moody-1955-closures",
        value=(-13.575, 0.0),
        unit="microinch",
        within=0.001,
        source=MOODY,
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: moody().closure_um / 0.0254,
    ),
    Outside(
        name="haitjema-2026-least-squares-gain",
        value=0.82,
        unit="1",
        within=0.03,
        source="H. Haitjema, Moody Revisited, Metrology 6(2) 27, 2026, abstract: 18 % less uncertainty",
        where="simulate.readings.survey.union_jack.union_jack",
        seen=LOOKED_UP,
        found=lambda: moody().least_squares_sd_um.mean() / moody().sd_um.mean(),
    ),
    *(
        Outside(
            name=f"din-876-grade-{grade}",
            value=limits,
            unit="um",
            within=1e-9,
            source="DIN 876, plates of 200 to 6500 mm: Surface accuracy to DIN 876, JGMT Casting (publisher; no year)",
            where=PLATES,
            seen=LOOKED_UP,
            found=lambda grade=grade: din_876(grade),
        )
        for grade, limits in DIN_876_UM.items()
    ),
    Outside(
        name="din-876-grade-00",
        value=(2.5, 2.8, 3.3, 4.0),
        unit="um",
        within=0.05,
        source="DIN 876-1:1984, 250, 400, 630 and 1000 mm (that there is a grade 00 was looked up)",
        where=PLATES,
        seen=MEMORY,
        found=lambda: din_876("00", (250, 400, 630, 1000)),
    ),
    Outside(
        name="iso-8512-table",
        value=tuple(um for row in ISO_8512_UM.values() for um in row),
        unit="um",
        within=1e-9,
        source="ISO 8512-1:1990, table of nine sizes in four grades",
        where=PLATES,
        seen=MEMORY,
        found=lambda: table(ISO_8512_UM, "ISO 8512"),
    ),
    Outside(
        name="federal-plates-aa",
        value=tuple(FEDERAL_UIN.values()),
        unit="microinch",
        within=20,
        source=(
            "Federal specification GGG-P-463c, 1973, usual sizes, rounded to 25 or 50, in a calibrator's public extract"
        ),
        where=PLATES,
        seen=LOOKED_UP,
        found=lambda: tuple(federal(25.4 * w, 25.4 * d) / 0.0254 for w, d in FEDERAL_UIN),
    ),
    Outside(
        name="federal-plates-in-metres",
        value=1 + 1.6e-6 * (600**2 + 900**2),
        unit="um",
        within=0.05,
        source="Federal specification GGG-P-463c, 1 + 1.6e-6 D^2 um, quoted in SAND2008-2571C, 2008",
        where=PLATES,
        seen=LOOKED_UP,
        found=lambda: federal(600, 900),
    ),
    Outside(
        name="federal-plates-a-and-b",
        value=(2.0, 4.0),
        unit="times grade AA",
        within=1e-9,
        source="Federal specification GGG-P-463c, 1973, quoted in a public answer on grades",
        where=PLATES,
        seen=LOOKED_UP,
        found=lambda: tuple(federal(600, 900, grade) / federal(600, 900) for grade in "AB"),
    ),
    Outside(
        name="din-874-2-straightedges",
        value=tuple(STRAIGHTEDGE.values()),
        unit="um",
        within=1e-9,
        source="DIN 874-2, knife-edge straightedges, in a public extract",
        where="simulate.surface.tolerances.plate_grades.straightedge_limit_um",
        seen=LOOKED_UP,
        found=lambda: tuple(map(grades.straightedge_limit_um, STRAIGHTEDGE)),
    ),
    Outside(
        name="din-875-squares",
        value=tuple(um for row in SQUARE.values() for um in row),
        unit="um",
        within=1e-9,
        source="DIN 875, steel squares, in extract: Messtechniklexikon, Haarwinkel, Steinle (publisher; no year)",
        where="simulate.surface.tolerances.plate_grades.square_limits_um",
        seen=LOOKED_UP,
        found=lambda: tuple(um for height in SQUARE for um in grades.square_limits_um(height).values()),
    ),
    Outside(
        name="iso-1708-bed",
        value=(10, 20),
        unit="um",
        within=1e-9,
        source="ISO 1708, lathe bed, vertical plane, 500 and 1000 mm",
        where="simulate.surface.tolerances.plate_grades.lathe_bed_limit_um",
        seen=MEMORY,
        found=lambda: tuple(map(grades.lathe_bed_limit_um, (500, 1000))),
    ),
)
