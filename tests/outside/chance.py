"""Outside figures for lines, budgets and eyes: what chance does to readings."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import scipy
from statsmodels.datasets import longley, stackloss

from outside.item import LOOKED_UP, MEMORY, Outside
from simulate.bench.looking.eye import fit_eye
from simulate.method.uncertainty_budget import Link, combine_chain, half_width_sd
from simulate.readings.adjustment.consistency import RELIABLE
from simulate.readings.adjustment.least_squares import adjust
from simulate.readings.logbook.budget_sheet import LinkRow, links_of
from simulate.surface.straightness import least_squares_line

GUIDE = "JCGM 100:2008, Guide to the Expression of Uncertainty in Measurement, "
H3 = GUIDE + (
    "H.3 (calibration of a thermometer; data and model looked up as printed in a manual for a library of "
    "uncertain numbers)"
)
READ_C = (21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511)
CORRECTION_C = (-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160)


def thermometer():
    """Fit b = y1 + y2 (t - 20 degrees), and give the correction at 30 degrees as a third value."""
    t = np.array(READ_C) - 20
    return adjust(np.stack([np.ones(t.size), t], axis=1), np.array(CORRECTION_C), np.array([[1.0, 0], [0, 1], [1, 10]]))


def thermometer_r() -> float:
    cov = thermometer().covariance
    return cov[0, 1] / np.sqrt(cov[0, 0] * cov[1, 1])


def end_gauge():
    return combine_chain(
        [
            Link("standard", 25, freedom=18),
            Link("comparison", 9.7, freedom=25.6),
            Link("expansion", 2.9, freedom=50),
            Link("temperature", 16.6, freedom=2),
        ],
        coverage=0.99,
    )


def student(freedom: float) -> float:
    return float(combine_chain([Link("one", 1.0, freedom=freedom)]).factor)


def resistors() -> float:
    return float(combine_chain([Link(f"resistor {k}", 0.1, cause="standard") for k in range(10)]).combined_um)


def welch():
    return combine_chain([Link("a", 0.25, freedom=9), Link("b", 0.57, freedom=4), Link("c", 0.82, freedom=14)])


def nist(name: str, folder: str) -> list[str]:
    return (Path(scipy.__file__).parent / "stats/tests/data" / folder / f"{name}.dat").read_text().splitlines()


def norris() -> tuple[float, float]:
    y, x = np.array([line.split() for line in nist("Norris", "nist_linregress")[60:96]], dtype=float).T
    intercept, slope = least_squares_line(x, y)
    return float(intercept), float(slope)


def within_groups(name: str) -> float:
    """Give the spread of one reading about the means of its group, as one-way analysis of variance has it."""
    rows = [line.split() for line in nist(name, "nist_anova")[60:]]
    group, value = np.array([row for row in rows if len(row) == 2], dtype=float).T
    design = (group[:, None] == np.unique(group)).astype(float)
    return adjust(design, value, np.eye(design.shape[1])).reading_sd


def longley_sd() -> float:
    data = longley.load_pandas()
    design = np.column_stack([np.ones(16), data.exog.to_numpy()])
    scale = np.abs(design).max(axis=0)
    return adjust(design / scale, data.endog.to_numpy(), np.eye(7)).reading_sd


def stack_loss() -> tuple[float, ...]:
    data = stackloss.load_pandas()
    found = adjust(np.column_stack([np.ones(21), data.exog.to_numpy()]), data.endog.to_numpy(), np.eye(4))
    return (*found.value, found.reading_sd)


BEETLE_DOSE = (1.6907, 1.7242, 1.7552, 1.7842, 1.8113, 1.8369, 1.8610, 1.8839)
BEETLE_DEAD = (6, 13, 18, 28, 52, 53, 61, 60)
BEETLES = (59, 60, 62, 56, 63, 59, 62, 60)


def beetles():
    return fit_eye(BEETLE_DOSE, BEETLE_DEAD, BEETLES, false_open=0, missed=0)


def beetle_slope() -> tuple[float, float]:
    eye = beetles()
    return 1 / eye.spread_um, eye.spread_sd_um / eye.spread_um**2


BLISS = (
    "C. I. Bliss, Annals of Applied Biology 22, 1935, as in A. Dobson, An Introduction to Generalized Linear Models "
    "(data looked up in public copies)"
)
STRD = "NIST Statistical Reference Datasets, "
ADJUST, CHAIN = "simulate.readings.adjustment.least_squares.adjust", "simulate.method.uncertainty_budget.combine_chain"

ITEMS = (
    Outside(
        name="gum-h3-intercept",
        value=-0.1712,
        unit="degrees",
        within=5e-5,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: thermometer().value[0],
    ),
    Outside(
        name="gum-h3-slope",
        value=0.00218,
        unit="1",
        within=5e-6,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: thermometer().value[1],
    ),
    Outside(
        name="gum-h3-sd-of-intercept",
        value=0.0029,
        unit="degrees",
        within=5e-5,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: thermometer().sd[0],
    ),
    Outside(
        name="gum-h3-sd-of-slope",
        value=0.00067,
        unit="1",
        within=5e-6,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: thermometer().sd[1],
    ),
    Outside(
        name="gum-h3-correlation",
        value=-0.930,
        unit="1",
        within=5e-4,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=thermometer_r,
    ),
    Outside(
        name="gum-h3-residual-sd",
        value=0.0035,
        unit="degrees",
        within=5e-5,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: thermometer().reading_sd,
    ),
    Outside(
        name="gum-h3-at-30-degrees",
        value=(-0.1494, 0.0041),
        unit="degrees",
        within=6e-5,
        source=H3,
        where=ADJUST,
        seen=MEMORY,
        found=lambda: (thermometer().value[2], thermometer().sd[2]),
    ),
    Outside(
        name="gum-h1-end-gauge",
        value=32,
        unit="nm",
        within=0.5,
        source=GUIDE + "H.1.4",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: end_gauge().combined_um,
    ),
    Outside(
        name="gum-h1-degrees-of-freedom",
        value=16,
        unit="1",
        within=0.99,
        source=GUIDE + "H.1.6",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: np.floor(end_gauge().freedom),
    ),
    Outside(
        name="gum-h1-coverage-factor-99",
        value=2.92,
        unit="1",
        within=0.005,
        source=GUIDE + "H.1.6",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: end_gauge().factor,
    ),
    Outside(
        name="gum-h1-comparison-of-gauges",
        value=9.7,
        unit="nm",
        within=0.05,
        source=GUIDE + "H.1.3.2",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: combine_chain([Link("a", 5.8), Link("b", 3.9), Link("c", 6.7)]).combined_um,
    ),
    Outside(
        name="gum-g4-effective-degrees-of-freedom",
        value=(1.03, 19.0),
        unit="%, 1",
        within=0.05,
        source=GUIDE + "G.4.1",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: (welch().combined_um, welch().freedom),
    ),
    Outside(
        name="gum-5-2-2-resistors-in-line",
        value=1.0,
        unit="ohm",
        within=1e-9,
        source=GUIDE + "5.2.2, example",
        where=CHAIN,
        seen=MEMORY,
        found=resistors,
    ),
    Outside(
        name="gum-4-3-7-bound",
        value=0.23,
        unit="1e-6/K",
        within=0.005,
        source=GUIDE + "4.3.7, example 1 (expansion of copper)",
        where="simulate.method.uncertainty_budget.half_width_sd",
        seen=MEMORY,
        found=lambda: half_width_sd(0.40),
    ),
    Outside(
        name="gum-g2-student-95",
        value=(12.71, 4.30, 3.18, 2.57, 2.23, 2.09),
        unit="1",
        within=0.005,
        source=GUIDE + "table G.2, 1, 2, 3, 5, 10 and 20 degrees of freedom",
        where=CHAIN,
        seen=MEMORY,
        found=lambda: tuple(student(n) for n in (1, 2, 3, 5, 10, 20)),
    ),
    Outside(
        name="gum-g1-normal-95",
        value=1.960,
        unit="1",
        within=5e-4,
        source=GUIDE + "table G.1",
        where="simulate.readings.logbook.budget_sheet.links_of",
        seen=MEMORY,
        found=lambda: 3 / links_of([LinkRow("a", "3", "95 %")])[0].sd,
    ),
    Outside(
        name="nist-norris-line",
        value=(-0.262323073774029, 1.00211681802045),
        unit="1",
        within=1e-11,
        source=STRD + "linear regression, Norris (ships in scipy)",
        where="simulate.surface.straightness.least_squares_line",
        seen=LOOKED_UP,
        found=norris,
    ),
    Outside(
        name="nist-sirstv-residual-sd",
        value=1.04076068334656e-01,
        unit="ohm cm",
        within=1e-9,
        source=STRD + "analysis of variance, SiRstv (ships in scipy)",
        where=ADJUST,
        seen=LOOKED_UP,
        found=lambda: within_groups("SiRstv"),
    ),
    Outside(
        name="nist-longley-residual-sd",
        value=304.854073561965,
        unit="1",
        within=1e-5,
        source=STRD + "linear regression, Longley (data ship in statsmodels)",
        where=ADJUST,
        seen=MEMORY,
        found=longley_sd,
    ),
    Outside(
        name="brownlee-stack-loss",
        value=(-39.9197, 0.7156, 1.2953, -0.1521, 3.243),
        unit="1",
        within=5e-4,
        source="K. A. Brownlee, Statistical Theory and Methodology, 1965 (data ship in statsmodels)",
        where=ADJUST,
        seen=MEMORY,
        found=stack_loss,
    ),
    Outside(
        name="baarda-least-blunder-found",
        value=4.13,
        unit="1",
        within=0.005,
        source="W. Baarda, A Testing Procedure for Use in Geodetic Networks, 1968",
        where="simulate.readings.adjustment.consistency.RELIABLE",
        seen=MEMORY,
        found=lambda: RELIABLE,
    ),
    Outside(
        name="bliss-beetles-threshold",
        value=1.7717,
        unit="log10 mg/l",
        within=5e-5,
        source=BLISS,
        where="simulate.bench.looking.eye.fit_eye",
        seen=MEMORY,
        found=lambda: beetles().threshold_um,
    ),
    Outside(
        name="bliss-beetles-slope",
        value=(34.270, 2.912),
        unit="1",
        within=2e-3,
        source=BLISS,
        where="simulate.bench.looking.eye.fit_eye",
        seen=MEMORY,
        found=beetle_slope,
    ),
)
