"""Outside figures for gravity, heat and what bars are made of."""

from __future__ import annotations

import numpy as np

from outside.item import LOOKED_UP, MEMORY, Outside
from simulate.bench.bending.bar_supports import best_separation
from simulate.bench.bending.heat import heat_bow_left, heat_bow_um, settling_time_s
from simulate.bench.bending.materials import MATERIALS, Material
from simulate.bench.bending.plate_sag import plate_sag
from simulate.bench.bending.profiled_bar import profile_sag
from simulate.bench.bending.uniform_bar import GRAVITY_M_S2, sag, sag_at
from simulate.method.machine.headstock import bar_sag_um
from simulate.readings.alignment.slide_findings import solve_cross_slide
from simulate.readings.table.read import read_readings

PHELPS = "F. M. Phelps III, Airy Points of a Meter Bar, American Journal of Physics 34, 1966"
PLATES = "S. Timoshenko and S. Woinowsky-Krieger, Theory of Plates and Shells, 1959, "
CARSLAW = (
    "H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, 1959 (slab, no heat through its faces, linear start)"
)
ROARK = "W. C. Young and R. G. Budynas, Roark's Formulas for Stress and Strain, "


def in_from_the_end(what: str) -> float:
    return (1 - best_separation(1.0, what)) / 2


def unit_bar_um(length: float = 500.0, depth: float = 40.0) -> float:
    """w L^4 / (E I) of a steel bar."""
    weight = 7850e-9 * GRAVITY_M_S2 * depth  # N/mm for 1 mm of width
    return weight * length**4 / (210e3 * depth**3 / 12) * 1e3


def ends_and_middle() -> float:
    """Where both supports stand if ends and middle are to lie alike, found by halving."""
    low, high = 0.20, 0.25
    for _ in range(60):
        inset = (low + high) / 2
        end, middle = sag_at([500.0, 0.0], 1000, 40, 1000 * (1 - 2 * inset))
        low, high = (low, inset) if end < middle else (inset, high)
    return low


def cantilever() -> float:
    """A bar held at its middle hangs by each half like a beam held at one end: two supports close together."""
    near = profile_sag(np.linspace(-250, 250, 501), 40.0, (-0.5, 0.5), "steel")
    return float(-near[0] / unit_bar_um(250))


def round_bar() -> tuple[float, float]:
    """A round bar of 30 mm held at one end, over w L^4 / (E I)."""
    weight, stiff = 7850e-9 * GRAVITY_M_S2 * np.pi * 30**2 / 4, 210e3 * np.pi * 30**4 / 64
    halfway, end = bar_sag_um([150.0, 300.0], 30.0, 300.0) / (weight * 300**4 / stiff * 1e3)
    return float(-halfway), float(-end)


def reversed_slide() -> tuple[float, float]:
    """Slide and square from two readings over 150 mm, the square turned over."""
    text = "travel_mm,turned,dial_um\n0,no,0\n150,no,9\n0,yes,0\n150,yes,3\n"
    slide, square = solve_cross_slide(read_readings(text.encode()), 1.0).features
    return slide.value / 2, square.value * 0.15


def point_load() -> float:
    """What a weight in the middle adds to a bar on its ends, over P L^3 / (E I)."""
    x = np.linspace(-250, 250, 501)
    bare, loaded = (
        profile_sag(x, 40.0, (-250, 250), "steel", load_at_mm=at, load_n=n)[250]
        for at, n in (((), ()), ((0.0,), (10.0,)))
    )
    return float((bare - loaded) / (10.0 * 500**3 / (210e3 * 10 * 40**3 / 12) * 1e3))


def plate(a: float, b: float, supports, poisson: float = 0.3) -> float:
    """Give the sag of the middle over q a^4 / D, a the shorter side."""
    x, y, thick = np.linspace(-b / 2, b / 2, 41), np.linspace(-a / 2, a / 2, 41), 20.0
    hung = plate_sag(x, y, thick, supports, "steel", poisson=poisson)
    load = 7850e-9 * GRAVITY_M_S2 * thick
    return float(-hung[20, 20] / (load * a**4 / (210e3 * thick**3 / (12 * (1 - poisson**2))) * 1e3))


def held_all_round(ratio: float) -> float:
    a, b = 400.0, 400.0 * ratio
    along, across = np.linspace(-b / 2, b / 2, 25), np.linspace(-a / 2, a / 2, 25)
    return plate(
        a, b, [(v, s) for v in along for s in (-a / 2, a / 2)] + [(s, v) for v in across[1:-1] for s in (-b / 2, b / 2)]
    )


def on_corners(poisson: float) -> float:
    return plate(500, 500, [(-250, -250), (-250, 250), (250, -250), (250, 250)], poisson)


SAG, SUPPORTS, PLATE = (
    "simulate.bench.bending.uniform_bar.sag",
    "simulate.bench.bending.bar_supports.best_separation",
    "simulate.bench.bending.plate_sag.plate_sag",
)
MATTER = "simulate.bench.bending.materials.MATERIALS"

ITEMS = (
    Outside(
        name="airy-separation",
        value=0.57735,
        unit="of the length",
        within=5e-6,
        source="G. B. Airy, 1846: length over root three; read in a public engineer's notebook",
        where=SUPPORTS,
        seen=LOOKED_UP,
        found=lambda: best_separation(1.0, "ends parallel"),
    ),
    Outside(
        name="bessel-separation",
        value=0.5594,
        unit="of the length",
        within=5e-5,
        source="Bessel points of a line standard, read in a public encyclopaedia entry",
        where=SUPPORTS,
        seen=LOOKED_UP,
        found=lambda: best_separation(1.0, "no change of length"),
    ),
    Outside(
        name="phelps-airy-inset",
        value=0.2113,
        unit="of the length",
        within=5e-5,
        source=PHELPS,
        where=SUPPORTS,
        seen=MEMORY,
        found=lambda: in_from_the_end("ends parallel"),
    ),
    Outside(
        name="phelps-bessel-inset",
        value=0.2203,
        unit="of the length",
        within=5e-5,
        source=PHELPS,
        where=SUPPORTS,
        seen=MEMORY,
        found=lambda: in_from_the_end("no change of length"),
    ),
    Outside(
        name="phelps-ends-and-middle-alike",
        value=0.2232,
        unit="of the length",
        within=1e-4,
        source=PHELPS,
        where="simulate.bench.bending.uniform_bar.sag_at",
        seen=MEMORY,
        found=ends_and_middle,
    ),
    Outside(
        name="least-sag-inset",
        value=2 / 9,
        unit="of the length",
        within=1.5e-3,
        source="handbooks of measurement: least sag near 2/9 of the length from each end",
        where=SUPPORTS,
        seen=LOOKED_UP,
        found=lambda: in_from_the_end("least sag"),
    ),
    Outside(
        name="prototype-metre",
        value=571,
        unit="mm",
        within=0.8,
        source=(
            "7th General Conference on Weights and Measures, 1927: bar of 1020 mm; read in a public encyclopaedia entry"
        ),
        where=SUPPORTS,
        seen=LOOKED_UP,
        found=lambda: best_separation(1020.0, "no change of length"),
    ),
    Outside(
        name="beam-on-two-ends",
        value=5 / 384,
        unit="w L4/EI",
        within=1e-6,
        source=ROARK + "table 8.1, uniform load, ends supported",
        where=SAG,
        seen=MEMORY,
        found=lambda: np.ptp(sag(500, 40, 500).height_um) / unit_bar_um(),
    ),
    Outside(
        name="beam-held-at-one-end",
        value=1 / 8,
        unit="w L4/EI",
        within=1e-3,
        source=ROARK + "table 8.1, uniform load, one end held",
        where="simulate.bench.bending.profiled_bar.profile_sag",
        seen=MEMORY,
        found=cantilever,
    ),
    Outside(
        name="beam-with-a-weight-in-the-middle",
        value=1 / 48,
        unit="P L3/EI",
        within=1e-5,
        source=ROARK + "table 8.1, load in the middle, ends supported",
        where="simulate.bench.bending.profiled_bar.profile_sag",
        seen=MEMORY,
        found=point_load,
    ),
    Outside(
        name="standard-gravity",
        value=9.80665,
        unit="m/s2",
        within=0,
        source="3rd General Conference on Weights and Measures, 1901",
        where="simulate.bench.bending.uniform_bar.GRAVITY_M_S2",
        seen=MEMORY,
        found=lambda: GRAVITY_M_S2,
    ),
    Outside(
        name="square-plate-held-all-round",
        value=0.00406,
        unit="q a4/D",
        within=5e-6,
        source=PLATES + "table 8, b/a = 1",
        where=PLATE,
        seen=LOOKED_UP,
        found=lambda: held_all_round(1.0),
    ),
    Outside(
        name="plate-half-as-long-again-held-all-round",
        value=0.00772,
        unit="q a4/D",
        within=1e-5,
        source=PLATES + "table 8, b/a = 1.5",
        where=PLATE,
        seen=MEMORY,
        found=lambda: held_all_round(1.5),
    ),
    Outside(
        name="plate-twice-as-long-held-all-round",
        value=0.01013,
        unit="q a4/D",
        within=2e-5,
        source=PLATES + "table 8, b/a = 2",
        where=PLATE,
        seen=MEMORY,
        found=lambda: held_all_round(2.0),
    ),
    Outside(
        name="square-plate-on-its-corners",
        value=0.0253,
        unit="q a4/D",
        within=4e-4,
        source=PLATES + "plates supported at the corners; 0.0249 to 0.0257 by method and Poisson's ratio",
        where=PLATE,
        seen=MEMORY,
        found=lambda: (on_corners(0.3), on_corners(0.25)),
    ),
    Outside(
        name="slab-first-term",
        value=0.98553,
        unit="1",
        within=5e-6,
        source=CARSLAW + ": 96/pi4",
        where="simulate.bench.bending.heat.heat_bow_left",
        seen=MEMORY,
        found=lambda: heat_bow_left(60.0, 40) * np.exp(60.0 * np.pi**2 * 13.0 / 40**2),
    ),
    Outside(
        name="slab-to-a-tenth",
        value=28.53,
        unit="s",
        within=0.005,
        source=CARSLAW + ", 40 mm of 13 mm2/s",
        where="simulate.bench.bending.heat.settling_time_s",
        seen=MEMORY,
        found=lambda: settling_time_s(40, Material("slab", 210, 7850, 1e-5, 13.0)),
    ),
    Outside(
        name="warm-edge-bow",
        value=1 / 8,
        unit="a dT L2/h",
        within=1e-9,
        source=ROARK + "table 8.1, temperature difference through the depth",
        where="simulate.bench.bending.heat.heat_bow_um",
        seen=MEMORY,
        found=lambda: heat_bow_um(1000, 50, 2.0) / (11.5e-6 * 2 * 1000**2 / 50 * 1e3),
    ),
    Outside(
        name="expansion-of-steel",
        value=11.5e-6,
        unit="1/K",
        within=1e-6,
        source="ISO 3650:1998, gauge blocks, 11.5 +- 1 x 10-6; read in a maker's public table",
        where=MATTER,
        seen=LOOKED_UP,
        found=lambda: MATERIALS["steel"].expansion_per_k,
    ),
    Outside(
        name="sag-of-a-test-bar",
        value=(17 / 384, 1 / 8),
        unit="w L^4 / (E I), halfway and at the end",
        within=1e-9,
        source=ROARK + "table of beams, held at one end, load spread evenly",
        where="simulate.method.machine.headstock.bar_sag_um",
        seen=MEMORY,
        found=round_bar,
    ),
    Outside(
        name="slide-and-square-by-reversal",
        value=(6.0, 3.0),
        unit="um, M and S of m1 = 9 and m2 = 3",
        within=1e-9,
        source="C. Evans, R. Hocken and W. Estler, Self-calibration: reversal, redundancy, error separation, CIRP "
        "Annals 45/2, 1996: m1 = M + S, m2 = M - S",
        where="simulate.readings.alignment.slide_findings.solve_cross_slide",
        seen=MEMORY,
        found=reversed_slide,
    ),
    Outside(
        name="stiffness-of-granite",
        value=(39.2 + 64.7) / 2,
        unit="GPa",
        within=(64.7 - 39.2) / 2,
        source="DIN 876-1:1984, 39200 to 64700 N/mm2, quoted in a maker's public page",
        where=MATTER,
        seen=LOOKED_UP,
        found=lambda: MATERIALS["granite"].young_gpa,
    ),
    Outside(
        name="stiffness-and-weight-of-steel",
        value=(210, 7850),
        unit="GPa, kg/m3",
        within=1e-9,
        source="EN 1993-1-1:2005, 3.2.6, and EN 1991-1-1:2002, table A.4",
        where=MATTER,
        seen=MEMORY,
        found=lambda: (MATERIALS["steel"].young_gpa, MATERIALS["steel"].density_kg_m3),
    ),
    Outside(
        name="stiffness-of-grey-iron",
        value=110.5,
        unit="GPa",
        within=7.5,
        source="EN 1561:2011, EN-GJL-250: 103 to 118 GPa",
        where=MATTER,
        seen=MEMORY,
        found=lambda: MATERIALS["grey iron"].young_gpa,
    ),
    Outside(
        name="weight-of-grey-iron",
        value=7200,
        unit="kg/m3",
        within=50,
        source="EN 1561:2011, EN-GJL-250: 7.20 g/cm3",
        where=MATTER,
        seen=MEMORY,
        found=lambda: MATERIALS["grey iron"].density_kg_m3,
    ),
)
