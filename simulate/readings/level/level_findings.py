"""What slopes along any lines say."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.level import level_words as words
from simulate.readings.level.level_network import LevelLines, level_lines
from simulate.readings.network.against_known import with_known
from simulate.readings.network.further import level_rows
from simulate.readings.network.line_findings import line_findings, solved_lines
from simulate.readings.network.line_work import SolvedLines
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.reference.known import Known
from simulate.readings.survey.union_jack_lines import ARCSEC
from simulate.readings.table.readings import LineReadings

_NEEDS = "a line of three stations or more, or lines that meet"


def solve_level(
    table: LineReadings,
    reading_sd_arcsec: float | None = None,
    round: int | None = None,
    *,
    known: Sequence[Known] = (),
) -> SolvedLines:
    """Work heights out of slopes along any lines.

    `table`: what `read_readings` gives for ``line, station, x_mm, y_mm, set, turned, reading_arcsec``.
    `reading_sd_arcsec`: of one reading; found from what the readings leave over without it. `round`: the last of the
    file where it is not said. `known`: ``"the plate"`` itself, from an earlier set. Returns: what it cannot see:
    everything off the lines, anything shorter than a step, and an instrument that reads all steps too large or too
    small in proportion.
    """
    return _solved(_read(table, reading_sd_arcsec, round), known)


def _read(table: LineReadings, sd: float | None, round: int | None) -> LevelLines:
    needs(table, "level")
    return level_lines(of_round(table, round), given_sd(sd, "reading_sd_arcsec"))


def _solved(read: LevelLines, known: Sequence[Known]) -> SolvedLines:
    nothing = np.full(len(read.network.row), np.nan)
    return solved_lines(with_known(read.network, known, nothing, nothing), read.lines, _NEEDS)


def of_level(
    table: LineReadings,
    reading_sd_arcsec: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what slopes along any lines say."""
    read = _read(table, reading_sd_arcsec, round)
    found = _solved(read, known)
    rows = level_rows(found.heights.spreads.sd[0], 1000.0 * ARCSEC, read.step_mm)
    return line_findings("level", found, words.hidden(found, read), rows, 0.1 * read.step_mm, target_um)
