"""What readings of any kind say: one call for all of them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, a_kind_of
from simulate.readings.adjustment.observations import given_sd
from simulate.readings.alignment.axis_findings import of_head
from simulate.readings.alignment.one_square_findings import of_one_square
from simulate.readings.alignment.piece_findings import of_thickness
from simulate.readings.alignment.slide_findings import of_cross_slide
from simulate.readings.bars.bar_findings import of_bars
from simulate.readings.bed.bed_findings import of_bed
from simulate.readings.edge.edge_findings import of_edge
from simulate.readings.eye.wedge_findings import of_wedge
from simulate.readings.lands.land_findings import of_lands
from simulate.readings.level.level_findings import of_level
from simulate.readings.level.level_network import as_level
from simulate.readings.outcome.findings_record import Findings
from simulate.readings.plates.plate_findings import of_plates
from simulate.readings.reference.known import Known
from simulate.readings.rounds.own_rounds import own_rounds, progress_of
from simulate.readings.slips.suspicion import slips_of, with_suspicion
from simulate.readings.squares.square_findings import of_squares
from simulate.readings.survey.survey_findings import of_survey
from simulate.readings.table.readings import NAMED, Readings

__all__ = ["BY_KIND", "Findings", "findings"]


def _of_survey(
    table: Readings,
    reading_sd_arcsec: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what eight lines say, and where the plate is known already, what they say with it, as any lines do."""
    if known:
        return of_level(as_level(table), reading_sd_arcsec, round, target_um, known=known)
    return of_survey(table, reading_sd_arcsec, round, target_um)


BY_KIND: dict[str, Callable[..., Findings]] = {
    "bars": of_bars,
    "plates": of_plates,
    "squares": of_squares,
    "union jack": _of_survey,
    "lands": of_lands,
    "wedge": of_wedge,
    "level": of_level,
    "edge": of_edge,
    "bed": of_bed,
    "joint": of_bed,
    "head": of_head,
    "cross slide": of_cross_slide,
    "one square": of_one_square,
    "thickness": of_thickness,
}
STATED = {
    "bars": ("feel_um", "place_mm", "resolution_um"),
    "plates": ("feel_um", "place_mm", "resolution_um"),
    "squares": ("feel_um", "resolution_um"),
    "lands": ("feel_um", "resolution_um"),
    "edge": ("feel_um", "place_mm"),
    "bed": ("feel_um", "place_mm"),
    "joint": ("feel_um", "place_mm"),
    "one square": ("feel_um",),
    "thickness": ("feel_um",),
}
"""Kind to what a learner may state of the readings: feel and place of blades, the smallest step of point readings."""
REFERRED = ("bars", "plates", "squares", "union jack", "level", "edge", "bed", "joint")
"""Kinds that may be read against bodies known already."""


def findings(
    table: Readings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    resolution_um: float | None = None,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what readings say, whatever they are of.

    Parameters
    ----------
    table : Readings
        From ``read_readings``.
    reading_sd_um : float, optional
        Standard deviation of one reading; in seconds of arc for a survey or a level; not used for a wedge test.
    round : int, optional
        Which round; the last of the file where it is not said.
    target_um : float, optional
        How straight or flat the job asks for; for squares, how far out up to where one was read.
    feel_um, place_mm : float, optional
        Of blades: one standard deviation of the gap at which one is felt to go, and of where it went in. A kind that
        has no use for a figure (`STATED`) leaves it aside.
    resolution_um : float, optional
        Smallest step of point readings; the step that the figures show where it is not given.
    known : sequence of Known
        Bodies that are known already (`known_from`, `from_certificate`).

    Returns
    -------
    Findings
        What it cannot see stands in `hidden`.

    Raises
    ------
    ValueError
        In one sentence, where the readings do not settle what they are of, or a number is out of its range.

    Examples
    --------
    >>> from simulate.readings.table.demo import demo_path
    >>> from simulate.readings.table.read import read_readings
    >>> findings(read_readings(demo_path())).kind
    'bars'
    """
    if not isinstance(table, Readings):
        raise Refusal("type", where="table", found=a_kind_of(table), must_be="what read_readings gives")
    sd = given_sd(reading_sd_um, "reading_sd_um")
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    slips = slips_of(table if round is None else table.rows(table.round <= round), sd)
    given = {"feel_um": feel_um, "place_mm": place_mm, "resolution_um": resolution_um}
    more: dict[str, Any] = {name: given[name] for name in STATED.get(table.kind, ())}
    if table.kind in REFERRED:
        more["known"] = known
    elif known:
        raise Refusal(
            "choice", where="known", found=f"given with readings of {table.kind}", must_be=f"with {', '.join(REFERRED)}"
        )
    try:
        found = replace(BY_KIND[table.kind](table, sd, round, target, **more), slips=slips)
    except Refusal as refusal:
        raise with_suspicion(refusal, slips) from None
    before = table.rows(table.round <= found.round)
    return with_rounds(found, before, sd, target, known, **given) if np.unique(before.round).size > 1 else found


def with_rounds(
    found: Findings,
    table: Readings,
    sd: float | None,
    target_um: float | None,
    known: Sequence[Known] = (),
    **given: float | None,
) -> Findings:
    """Say as well how the work gets on over the rounds of a table, where two or more can be compared.

    `**given`: feel, place and step, of which each kind takes what it has a use for.
    """
    rounds = own_rounds(table, sd, known, **{name: given.get(name) for name in STATED.get(table.kind, ())})
    own = progress_of(rounds, target_um, table.kind in NAMED)
    if own is None or own.rounds.size < 2:
        return found
    said = [s for s in found.sentences if found.progress is None or s not in found.progress.sentences]
    return replace(found, progress=own, rounds=rounds, sentences=(*said, *own.sentences))
