"""The learner's own rounds: the worst body of each, and the simulated band that is fitted to them."""

from __future__ import annotations

import pickle
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simulate.bench.cutting.tools import Hands
from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal
from simulate.method.bars.floor_table import worst_bar
from simulate.method.bars.three_bar_loop import three_bars
from simulate.readings.outcome.progress_words import words
from simulate.readings.outcome.round_record import OwnRounds, RoundErrors
from simulate.readings.reference.known import Known
from simulate.readings.rounds.compare import Band, band
from simulate.readings.rounds.progress import Progress, progress
from simulate.readings.rounds.round_errors import ERRORS
from simulate.readings.table.readings import Readings
from simulate.surface.starting_bars import starting_bars

WORKSHOPS = 40


def own_rounds(
    table: Readings, reading_sd_um: float | None = None, known: Sequence[Known] = (), **stated: float | None
) -> OwnRounds:
    """Give what every round that can be solved is out by; empty for a wedge test, which has no rounds of filing.

    `**stated`: what its solver takes of feel, place and step, as the learner states them of the readings.

    >>> from simulate.readings.table.read import read_readings
    >>> rows = ["round,lower,upper,height_mm,gap_um"]
    >>> rows += [f"{k},{pair},{h},{h / k}" for k in (1, 2) for pair in ("A,B", "A,C", "B,C") for h in (0, 100, 200)]
    >>> own_rounds(read_readings("\\n".join(rows).encode())).form_um.round(6).tolist()
    [100.0, 50.0]
    """
    done: list[tuple[int, RoundErrors, tuple[float, float]]] = []
    for number in np.unique(table.round) if table.kind in ERRORS else ():
        # packed, so that a table that has changed is another one
        found = _errors(pickle.dumps((table, reading_sd_um, int(number), tuple(known), stated)))
        if found is not None:  # a round that does not settle the bodies says nothing of them
            done.append((int(number), *found))
    first = done[0][1] if done else None
    if first is not None and first.sight_um is None:  # a later round may tell how far such readings scatter
        alike = (one.sight_um for _, one, _ in done if one.value_um.size == first.value_um.size)
        first = replace(first, sight_um=next((sight for sight in alike if sight is not None), None))
    ends = np.array([ends for _, _, ends in done]).reshape(-1, 2)
    return OwnRounds(
        round=np.array([k for k, _, _ in done], dtype=int),
        form_um=np.array([one.form_um for _, one, _ in done]),
        low_95_um=ends[:, 0],
        high_95_um=ends[:, 1],
        first=first,
    )


@remembered
def _errors(packed: bytes) -> tuple[RoundErrors, tuple[float, float]] | None:
    """Work out one round and its range; whoever moves a slider asks for the same ones again and again."""
    table, sd, number, known, stated = pickle.loads(packed)
    try:
        errors = ERRORS[table.kind](table, sd, number, **({"known": known} if known else {}), **stated)
    except Refusal:
        return None
    return errors, errors.range_um


def progress_of(own: OwnRounds, target_um: float | None = None, fitted: bool = True) -> Progress | None:
    """Fit the learner's own rounds.

    `fitted`: whether bodies are fitted in pairs, so that a round is a split between two of them; no share is told
    otherwise. Returns: none where no round can be solved, or a body came out without any error at all.
    """
    if not own.round.size or not (own.form_um > 0).all():
        return None
    found = progress(own.round, own.form_um, target_um)
    if fitted or found.share is None:
        return found
    alone = replace(found, share=None)
    return replace(alone, sentences=words(alone))


def fitted_band(own: Progress, length_mm: float, rounds: int | None = None) -> Band | None:
    """Give the band of simulated workshops that start, share and stop as the learner does.

    `length_mm`: of the bars. `rounds`: two more than the learner has done where it is not said. Returns: none where the
    figures tell no share, as when the worst does not get better.

    The simulated eye sees as much, and the simulated pass is as rough, as makes the floor of ``three_bars`` the
    learner's; where none is seen yet, they are those of the trade.
    """
    if own.share is None or own.start_um is None:
        return None
    last = int(own.rounds[-1]) + 2 if rounds is None else rounds
    return _band(
        round(float(length_mm), 3),
        float(f"{np.clip(own.form_um[0], 0.1, 5e4):.3g}"),
        round(own.share, 2),
        float(f"{own.floor_um or 0.0:.2g}"),
        last,
    )


@remembered
def _band(length: float, start: float, share: float, floor: float, rounds: int) -> Band:
    x, height = starting_bars(length, start, points=51, bars=3, workshops=WORKSHOPS, seed=1)
    metal, hands, sight = max(5.0, start / 25), Hands(), Sight()
    if floor > 0:  # hands as steady, an eye as sharp and a pass as light as such a floor asks for
        hands = Hands(rock_deg=hands.rock_deg * floor / worst_bar(10.0).half_um, scatter=0.05)
        metal = min(metal, floor / 3)
        sight = Sight(threshold_um=min(sight.threshold_um, floor / 3))
    run = three_bars(
        x, height, rounds=rounds, removal_um=metal, share=share, sight=sight, hands=hands, seed=1, record=False
    )
    return band(run.straightness_um, of="worst")
