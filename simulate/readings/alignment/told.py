"""What readings of any straight bodies say, in the shape that all kinds share."""

from __future__ import annotations

from typing import Protocol

import numpy as np

from simulate.core import checks
from simulate.core.number_format import with_sign
from simulate.core.refusal import Refusal, counted
from simulate.readings.adjustment.consistency import consistency
from simulate.readings.adjustment.next_reading import NextReading
from simulate.readings.adjustment.shared_errors import blunders
from simulate.readings.network import network_words
from simulate.readings.network.features import Feature
from simulate.readings.network.solve_heights import SolvedHeights
from simulate.readings.outcome.findings_record import FILING, HANDS, Findings, cautions, sentence_of
from simulate.readings.outcome.stop_rule import StopRule, no_order, not_told, stop_from

SECURED = "The machine is switched off and locked out; a spindle is turned by hand."


class Told(Protocol):
    """A solution that `told` can speak of: heights that it hangs on, features, and what to do."""

    @property
    def heights(self) -> SolvedHeights:
        """Of the bodies."""

    @property
    def features(self) -> tuple[Feature, ...]:
        """What was asked."""

    @property
    def work(self) -> tuple[Feature, ...]:
        """What to do."""


def told(
    kind: str,
    found: Told,
    *,
    first: str,
    hidden: tuple[str, ...],
    following: NextReading | None,
    cut: tuple[str, ...],
    stop: StopRule,
    form_um: float | None,
    more: tuple[str, ...] = (),
    care: tuple[str, ...] = (),
    map: object | None = None,
) -> Findings:
    """Put together what readings of straight bodies say.

    `first`: what the readings come to. `more`: what is said behind it. `care`: what to keep in mind beside what holds
    for all filing.
    """
    heights = found.heights
    agree = consistency(heights.equations, heights.solved)
    heading, details = residual_rows(heights)
    return Findings(
        kind,
        heights.network.source,
        heights.network.round,
        found,
        (
            first,
            *more,
            network_words.spread_words(heights),
            *network_words.bounds_words(heights),
            *agree.sentences,
            *sentence_of(following),
            stop.sentence,
        ),
        network_words.HEADING,
        network_words.feature_rows((*found.features, *found.work)),
        agree,
        (*hidden, *blunders(agree)),
        following,
        cut,
        cautions(heights.sd_from, FILING, HANDS, *care),
        heading,
        details,
        map=map,
        stop=stop,
        form_um=form_um,
        sd_from=heights.sd_from,
    )


def in_words(one: Feature) -> str:
    """Give a feature with its value and its range, as a part of a sentence."""
    ranged = f" ({network_words.range_words(one)}, 95 %)" if one.ranged else ""
    return f"{network_words.named(one)} {network_words.value_words(one)}{ranged}"


def first_of(features: tuple[Feature, ...], otherwise: str, most: int = 4) -> str:
    """Say in one sentence what the features that are told come to."""
    parts = [in_words(one) for one in features if one.told][:most]
    text = "; ".join(parts) if parts else otherwise
    return f"{text[0].upper()}{text[1:]}."


def refuse_untold(heights: SolvedHeights, features: tuple[Feature, ...], must_be: str, do: str = "") -> None:
    """Refuse readings that tell nothing that was asked."""
    if not any(one.told for one in features):
        count = len(heights.network.row)
        raise Refusal(
            "unsettled",
            where=heights.network.source,
            found=f"{counted(count, 'reading')} cannot settle anything alone",
            must_be=must_be,
            do=do,
        )


def left_open(features: tuple[Feature, ...]) -> tuple[str, ...]:
    """Name what leans on readings without an upper end."""
    return tuple(network_words.named(one) for one in features if one.told and one.open)


def stop_of(
    heights: SolvedHeights,
    features: tuple[Feature, ...],
    target_um: float | None,
    body: str,
    true: str,
    asks: str,
) -> StopRule:
    """Say whether another round is worth it, by how far each feature is out against its own range."""
    target = None if target_um is None else checks.number(target_um, "target_um", 0, above=True)
    seen = [one for one in features if one.told]
    form = np.array([abs(one.value) for one in seen])
    if blind := no_order(form, heights.against, left_open(features)):
        return blind
    if not seen or not all(one.ranged for one in seen):
        return not_told(form if seen else np.array([np.nan]), asks=asks)
    return stop_from(tuple(network_words.named(one) for one in seen), form, half_of(seen), target, body, true)


def half_of(features: list[Feature]) -> np.ndarray:
    """Give how far each value may be off at the most, 95 %."""
    return np.array([max(one.high_95 - one.value, one.value - one.low_95) for one in features])


def worst_of(features: tuple[Feature, ...]) -> float | None:
    """Give the greatest of what features are out by."""
    values = [abs(one.value) for one in features if one.told]
    return max(values) if values else None


def sure(one: Feature) -> bool:
    """Say whether a feature is certainly not nothing."""
    return one.ranged and (one.low_95 > 0 or one.high_95 < 0)


def residual_rows(heights: SolvedHeights) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    """Give for every reading what is left of it when all are fitted, as rows of a table."""
    network = heights.network
    rows = []
    for k in range(len(network.row)):
        left = heights.residual[k]
        rest = with_sign(left) if np.isfinite(left) else "-"
        tool = network.instruments[network.instrument[k]].name
        rows.append((str(int(network.row[k])), network.groups[network.group[k]], tool, rest))
    return ("row", "set-up", "read by", "residual, um"), tuple(rows)
