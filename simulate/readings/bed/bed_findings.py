"""What readings of a bed say, and those of two parts of one that are bolted together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.readings.adjustment.consistency import consistency
from simulate.readings.adjustment.observations import given_sd, needs, of_round
from simulate.readings.adjustment.shared_errors import blunders
from simulate.readings.bed import bed_words as words
from simulate.readings.bed.bed_features import bed_features, joint_features
from simulate.readings.bed.bed_network import BedRows, bed_rows
from simulate.readings.bed.bed_next import further
from simulate.readings.bed.bed_work import JointShims, bed_cut, joint_shims
from simulate.readings.bed.bodies import Bodies
from simulate.readings.network import network_words
from simulate.readings.network.against_known import with_known
from simulate.readings.network.features import Feature, scatter_alone_um
from simulate.readings.network.further import next_of
from simulate.readings.network.line_work import refuse_formless
from simulate.readings.network.solve_heights import OnHeights, solve_heights
from simulate.readings.outcome.findings_record import FILING, HANDS, Findings, cautions, sentence_of
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import BedReadings

HEAVY = "A bed is heavy: use a hoist, keep to the local rules, and put no hand under it or between."


@dataclass(frozen=True, kw_only=True)
class SolvedBed(OnHeights):
    """Heights of the ways of a bed, and what they come to.

    `features`: straightness and crown of each way, twist and parallelism; of a joint offset and angle first. `shims`:
    of a joint whose bolts are named.
    """

    bodies: Bodies
    features: tuple[Feature, ...]
    shims: JointShims | None


def solve_bed(
    table: BedReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
    known: Sequence[Known] = (),
) -> SolvedBed:
    """Work the ways of a bed out of whatever was read on them, or of two parts that are bolted together.

    `table`: what `read_readings` gives for ``how, way, x_mm, y_mm`` and what each way of reading needs.
    `reading_sd_um`: of one gap or dial reading; found from what the readings leave over without it, as for all other
    instruments. `round`: the last of the file where it is not said. `feel_um`, `place_mm`: of blades: one standard
    deviation of the gap at which one is felt to go, and of where it went in. `bounds`: whether to bound the heights by
    the intervals alone. `known`: ``"the straightedge"``, its middle on the middle of what it lay over and its places
    rising with x; or ways of the bed itself, from an earlier set. Returns: what it cannot see: what lies between the
    places, and a straightedge that is itself bent.
    """
    return _solved(_read(table, reading_sd_um, round), table.kind, feel_um, place_mm, bounds, known)


def _read(table: BedReadings, sd: float | None, round: int | None) -> BedRows:
    needs(table, "bed", "joint")
    return bed_rows(of_round(table, round), given_sd(sd, "reading_sd_um"))


def _solved(
    read: BedRows,
    kind: str,
    feel_um: float | None,
    place_mm: float | None,
    bounds: bool,
    known: Sequence[Known],
) -> SolvedBed:
    of_edge = np.where(read.network.instrument == 0, -1.0, 1.0)
    network = with_known(read.network, known, read.edge_mm, of_edge)
    heights = solve_heights(network, feel_um, place_mm, bounds)
    joint = kind == "joint"
    own = bed_features(heights, read.bodies)
    features = (*joint_features(heights, read.bodies), *own) if joint else own
    refuse_formless(read.network, features, "a way read at three places or more, or something that crosses the ways")
    return SolvedBed(
        heights=heights,
        bodies=read.bodies,
        features=features,
        shims=joint_shims(heights, read) if joint else None,
    )


def of_bed(
    table: BedReadings,
    reading_sd_um: float | None = None,
    round: int | None = None,
    target_um: float | None = None,
    *,
    feel_um: float | None = None,
    place_mm: float | None = None,
    known: Sequence[Known] = (),
) -> Findings:
    """Say what readings of a bed say, or those of a joint between two parts of one."""
    read = _read(table, reading_sd_um, round)
    found = _solved(read, table.kind, feel_um, place_mm, True, known)
    heights, joint = found.heights, table.kind == "joint"
    agree = consistency(heights.equations, heights.solved)
    following = next_of(heights, further(read, heights))
    cut = bed_cut(heights, read)
    stop = _stop(found, target_um, following.name if following else "")
    remove = np.fmax.reduce(np.vstack([cut.remove_um, np.full((1, read.network.points), np.nan)]), axis=0)
    kinds = tuple(read.network.bodies[k] for k in read.network.body)
    heading, details = network_words.detail(heights, remove, kinds)
    return Findings(
        table.kind,
        table.source,
        read.network.round,
        found,
        (
            words.first(read, found.features, table.kind),
            *((words.joint_place(read),) if joint else ()),
            *network_words.known_words(heights),
            network_words.spread_words(heights),
            *network_words.bounds_words(heights),
            *network_words.prior_words(heights),
            *agree.sentences,
            *sentence_of(following),
            stop.sentence,
        ),
        network_words.HEADING,
        network_words.feature_rows(found.features),
        agree,
        (*words.hidden(heights, read), *blunders(agree)),
        following,
        words.shim_words(found.shims, read) if joint else cut.sentences,
        cautions(heights.sd_from, FILING, HANDS, HEAVY),
        heading,
        details,
        map=cut,
        stop=stop,
        form_um=form_of_bed(found.features),
        sd_from=heights.sd_from,
    )


def form_of_bed(features: tuple[Feature, ...]) -> float | None:
    """Give the figure that progress is told from: the worst offset of a joint, or else the worst straightness."""
    for name in ("offset", "straightness"):
        values = [abs(one.value) for one in features if one.told and one.name == name]
        if values:
            return max(values)
    return None


def left_open(found: SolvedBed) -> tuple[str, ...]:
    """Name the joints, or else the ways, whose form leans on readings without an upper end."""
    joint = [one for one in found.features if one.name == "offset" and one.told]
    return tuple(one.of for one in joint or found.features if one.open and one.name in ("offset", "straightness"))


def _stop(found: SolvedBed, target_um: float | None, asks: str) -> StopRule:
    """Say whether another round is worth it: of a joint by its offsets, otherwise by the straightness of every way."""
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    bodies, worst = found.bodies, form_of_bed(found.features)
    if blind := no_order(np.array([np.nan if worst is None else worst]), found.heights.against, left_open(found)):
        return blind
    joint = [one for one in found.features if one.name == "offset" and one.told]
    if joint and all(one.ranged for one in joint):
        form, floor = (
            np.array([part(one) for one in joint]) for part in (lambda one: abs(one.value), lambda one: one.half)
        )
        return stop_from(tuple(one.of for one in joint), form, floor, target, "joint", "level")
    told = {one.of: one for one in found.features if one.name == "straightness" and one.told}
    mine = [(k, told[bodies.named(k)]) for k in range(len(bodies.keys)) if bodies.named(k) in told]
    form = np.array([one.value for _, one in mine])
    if not form.size or not all(one.ranged for _, one in mine):
        return not_told(form if form.size else np.array([np.nan]), asks=asks)
    floor = np.array([scatter_alone_um(found.heights, [bodies.places[k]], lines=True) for k, _ in mine])
    if not np.isfinite(floor).all():
        return not_told(form, asks=asks)
    return stop_from(tuple(bodies.named(k) for k, _ in mine), form, floor, target, "way", "straight")
