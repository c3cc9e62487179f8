"""Where the worst of three bars ends: foretold from a table of workshops, or run where the table does not reach."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
import scipy

from simulate.bench.bending.moving_steel import Steel
from simulate.bench.cutting.rocking import SIDES, lead
from simulate.bench.cutting.tools import SKILLS, TOOLS, Tool
from simulate.bench.looking.sight import Sight
from simulate.core import checks
from simulate.core.byte_cache import remembered
from simulate.method.bars.three_bar_loop import three_bars
from simulate.surface.starting_bars import starting_bars

WORKSHOPS, LENGTH_MM, START_UM, ROUNDS = 200, 500.0, 200.0, 4
"""What every figure comes from; in the table, that of row k (from 0) with a seed of 10 k."""


@dataclass(frozen=True)
class WorstBar:
    """Where the loop ends, over many workshops.

    Attributes
    ----------
    half_um, most_um : float
        What the worst of the three bars is out by at the most in half of the workshops, and in nine out of ten.
    run : bool
        Whether these workshops were run for this very setting, rather than foretold from the table.
    """

    half_um: float
    most_um: float
    run: bool


def worst_bar(
    removal_um: float,
    sight_um: float = 2.5,
    tool: str = "second-cut file",
    skill: str = "an average hand",
    *,
    stroke: str = "along",
    both_ends: bool = False,
    chalk: bool = False,
    side: str = SIDES[0],
    steel: Steel = Steel(),
) -> WorstBar:
    """Say where three bars of 500 mm end, however many rounds they go.

    Parameters
    ----------
    removal_um : float
        Metal per pass.
    sight_um : float
        The smallest gap that the eye sees.
    tool, skill : str
    stroke, both_ends, chalk, side : object
        As in `lead`.
    steel : Steel
        How the bars move; by default they do not.

    Returns
    -------
    WorstBar

    Raises
    ------
    Refusal
        Where a name is not known, or a figure is not above 0.

    Notes
    -----
    With a file it is about twice what the file tips at the bar's end: 2 × 125 mm
    × 0.0065° is 28 µm for an average hand. The table holds files pushed along the
    bar, each tool and skill over passes of 2 to 40 µm and sights of 0.5 to 50 µm.
    Logarithms are taken between its places, which stand closer where the figures
    bend. The stone, and a scraper's pass above 8 µm, change too suddenly for a
    table: these, every other way of leading a file and every other side of it, and bars that move, are run in
    200 workshops.

    Examples
    --------
    >>> told = worst_bar(10.0)
    >>> 20 < told.half_um < 50, told.run
    (True, False)
    """
    removal = checks.number(removal_um, "removal_um", 0, above=True)
    sight = checks.number(sight_um, "sight_um", 0, above=True)
    checks.choice(tool, "tool", tuple(TOOLS))
    checks.choice(skill, "skill", tuple(SKILLS))
    led = lead(tool, stroke, both_ends=both_ends, chalk=chalk, side=side)
    if led != TOOLS[tool] or steel.moves or not _in_table(removal, sight, tool):
        return _run(removal, sight, led, skill, steel)
    half, most = np.exp(_table()[tool, skill]([np.log(removal), np.log(sight)])[0])
    return WorstBar(float(half), float(most), False)


def _in_table(removal: float, sight: float, tool: str) -> bool:
    most = {"stone": 0.0, "scraper": 8.0}.get(tool, 40.0)
    return 2 <= removal <= most and 0.5 <= sight <= 50


@cache
def _table() -> dict:
    """Logarithms of both figures over logarithms of pass and sight, for each tool and skill."""
    rows = list(csv.DictReader((files(__package__) / "floor_table.csv").read_text("utf-8").splitlines()))
    found = {}
    for tool, skill in dict.fromkeys((row["tool"], row["skill"]) for row in rows):
        mine = [row for row in rows if (row["tool"], row["skill"]) == (tool, skill)]
        axes = [sorted({float(row[name]) for row in mine}) for name in ("pass_um", "sight_um")]
        values = np.empty((len(axes[0]), len(axes[1]), 2))
        for row in mine:
            place = axes[0].index(float(row["pass_um"])), axes[1].index(float(row["sight_um"]))
            values[place] = float(row["half_um"]), float(row["most_um"])
        found[tool, skill] = scipy.interpolate.RegularGridInterpolator([np.log(a) for a in axes], np.log(values))
    return found


@remembered
def _run(removal: float, sight: float, tool: Tool, skill: str, steel: Steel = Steel(), seed: int = 1) -> WorstBar:
    """Ask 200 workshops."""
    x, h = starting_bars(LENGTH_MM, START_UM, points=101, workshops=WORKSHOPS, seed=seed)
    made = three_bars(
        x,
        h,
        rounds=ROUNDS,
        removal_um=removal,
        seed=seed + 1,
        sight=Sight("light", sight),
        tool=tool,
        hands=SKILLS[skill],
        steel=steel,
    )
    half, most = np.quantile(made.straightness_um[:, -1].max(axis=-1), (0.5, 0.9))
    return WorstBar(float(half), float(most), True)
