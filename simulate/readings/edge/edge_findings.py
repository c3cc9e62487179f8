"""What a straightedge along lines of a plate says."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.readings.adjustment.equations import usual_sd
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.edge import edge_words as words
from simulate.readings.edge.edge_network import EdgeLines, edge_lines
from simulate.readings.network.against_known import with_known
from simulate.readings.network.further import edge_rows
from simulate.readings.network.line_findings import line_findings, solved_lines
from simulate.readings.network.line_work import SolvedLines
from simulate.readings.outcome.findings_record import MOST_CERTAIN, Findings
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import LineReadings

_NEEDS = "a line of three places or more, with a gap at each"


def solve_edge(
    table: LineReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
    known: Sequence[Known] = (),
) -> SolvedLines:
    """Work the heights of a plate out of what stands under a straightedge along lines.

    `table`: what `read_readings` gives for ``line, x_mm, y_mm, gap_um``, or ``dial_um`` for a dial in a bridge.
    `reading_sd_um`: of one point reading; found from what the readings leave over without it. `round`: the last of the
    file where it is not said. `feel_um`, `place_mm`: of blades: one standard deviation of the gap at which one is felt
    to go, and of where it went in. `bounds`: whether to bound the heights by the intervals alone. `known`: ``"the
    straightedge"``, as it lies on a line from its end that comes first in x and then in y, its middle on the middle of
    what it lay over; or ``"the plate"`` itself, from an earlier set. Returns: what it cannot see: everything off the
    lines, and an edge that is itself bent, which is copied into every line.
    """
    return _solved(_read(table, reading_sd_um, round), feel_um, place_mm, bounds, known)


def _read(table: LineReadings, sd: float | None, round: int | None) -> EdgeLines:
    needs(table, "edge")
    return edge_lines(of_round(table, round), given_sd(sd, "reading_sd_um"))


def _solved(
    read: EdgeLines, feel_um: float | None, place_mm: float | None, bounds: bool, known: Sequence[Known]
) -> SolvedLines:
    of_edge = np.where(read.network.instrument == 1, 1.0, -1.0)
    network = with_known(read.network, known, read.edge_mm, of_edge)
    return solved_lines(network, read.lines, _NEEDS, feel_um, place_mm, bounds)


def of_edge(
    table: LineReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what a straightedge along lines of a plate says."""
    read = _read(table, reading_sd_um, round)
    found = _solved(read, feel_um, place_mm, read.network.points <= MOST_CERTAIN, known)
    rows = edge_rows(usual_sd(found.heights.equations))
    return line_findings("edge", found, words.hidden(found, read), rows, read.same_mm, target_um)
