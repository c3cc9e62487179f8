"""What readings of bars say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simulate.core.number_format import three, two, with_sign
from simulate.readings.adjustment.consistency import consistency
from simulate.readings.adjustment.equations import Equations, Solved, free_of, solve, usual_sd
from simulate.readings.adjustment.next_reading import Candidate, NextReading, next_reading
from simulate.readings.adjustment.observations import of_round
from simulate.readings.adjustment.repeatability import rounding_sd
from simulate.readings.adjustment.shared_errors import blunders, notice, shared_error
from simulate.readings.bars.bar_cut import best_bar, cut_map, stop_rule
from simulate.readings.bars.bar_network import candidates, design, known_gap, lifted, seats, with_fits
from simulate.readings.bars.solve_bars import BarSolution, solve_bars
from simulate.readings.outcome.band_words import band_sentence
from simulate.readings.outcome.findings_record import (
    FILING,
    HANDS,
    MOST_CERTAIN,
    UNKNOWN,
    Findings,
    cautions,
    certain_words,
    end_words,
    half_words,
    left_out_words,
    sentence_of,
)
from simulate.readings.reference.dependence import error_covariance
from simulate.readings.reference.hold import with_references
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import Readings


def bar_equations(solution: BarSolution) -> Equations:
    """Return the equations that a solution of bars came from.

    Returns: unknowns are the line-free shapes of each bar, the errors of bars that were known already, then the seats.
    """
    network = solution.network
    lines, lift = seats(network), lifted(network)
    own = Equations(
        np.hstack([design(network), lines]),
        solution.middle_um - known_gap(network),
        solution.row_sd_um,
        network.fit,
        tuple(network.fit_name(fit) for fit in network.fits),
        solution.row,
        np.hstack([lift, np.zeros((len(lift), lines.shape[1]))]),
        solution.sd_from,
        against=solution.against,
        rounding=rounding_sd(solution.sd_from, solution.resolution),
    )
    return with_references(own, network.hold)


def next_fit(solution: BarSolution, equations: Equations) -> NextReading | None:
    """Choose the fit that tells most if it is read at every station."""
    network, sd = solution.network, usual_sd(equations)
    lift, found = lifted(network), []
    shapes = lift[:, : lift.shape[1] if network.hold is None else network.hold.free]
    covariance = shapes.T @ solution.covariance @ shapes
    if network.hold is not None:
        across = replace(solution.depends, sensitivity=shapes.T @ solution.depends.sensitivity)
        covariance = error_covariance(network.hold, across, covariance)
    for fit in candidates(network):
        more = with_fits(network, [fit])
        new = more.fit == len(network.fits)
        found.append(Candidate(network.fit_name(fit), free_of(seats(more)[new][:, -2:]) @ design(more)[new] / sd))
    return next_reading(covariance, lift, found, "um")


def of_bars(
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
    """Say what readings of bars say.

    `feel_um`, `place_mm`: of blades, as ``solve_bars`` takes them. `resolution_um`: smallest step of point readings;
    the step that the figures show where it is not given. `known`: bars that are known already.
    """
    used = of_round(table, round) if table.is_interval.any() else table
    heights = len(used.names) * np.unique(used.position_mm).size
    solution = solve_bars(
        table,
        reading_sd_um,
        round,
        heights <= MOST_CERTAIN,
        feel_um=feel_um,
        place_mm=place_mm,
        known=known,
        resolution_um=resolution_um,
    )
    equations = bar_equations(solution)
    solved = solve(equations)
    agree = consistency(equations, solved)
    cuts, stop, best = cut_map(solution), stop_rule(solution, target_um), best_bar(solution)
    following = next_fit(solution, equations)
    certain = (
        *certain_words(solution.low_um, solution.high_um, "height", "um"),
        *left_out_words(bool(used.is_interval.any()), heights, "solve_bars"),
    )
    said = (
        solution.sentence,
        band_sentence(solution, False),
        *certain,
        *((best.sentence,) if len(solution.names) > 1 else ()),
        *agree.sentences,
        *sentence_of(following),
        stop.sentence,
    )
    return Findings(
        "bars",
        table.source,
        solution.round,
        solution,
        said,
        ("bar", "straight within, um", "scatter alone, um", "most to take off, um", "at, mm", "least certain ±, um"),
        tuple(_row(solution, cuts, stop.floor_um, i) for i in range(len(solution.names))),
        agree,
        _hidden(solution, equations, solved, agree),
        following,
        cuts.sentences,
        cautions(solution.sd_from, FILING, HANDS),
        *_detail(solution),
        map=cuts,
        stop=stop,
        form_um=float(solution.straightness_um.max()),
        sd_from=solution.sd_from,
    )


def _row(solution: BarSolution, cuts, floor: np.ndarray, i: int) -> tuple[str, ...]:
    high = int(np.argmax(cuts.remove_um[i]))
    return (
        solution.names[i],
        three(solution.straightness_um[i]),
        three(floor[i]) if np.isfinite(floor[i]) else UNKNOWN,
        three(cuts.remove_um[i, high]),
        f"{solution.x_mm[high]:g}",
        half_words(solution.low_95_um, solution.high_95_um, i),
    )


def _detail(solution: BarSolution) -> tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]:
    heading, ends = ["bar", "position, mm", "height, um"], []
    for low, high, heads in (
        (solution.low_95_um, solution.high_95_um, ("95 % from, um", "to, um")),
        (solution.low_um, solution.high_um, ("at least, um", "at most, um")),
    ):
        if low is not None and high is not None:
            heading += heads
            ends += [low, high]
    rows = []
    for i, name in enumerate(solution.names):
        for k, x in enumerate(solution.x_mm):
            rows.append(
                (name, f"{x:g}", with_sign(solution.height_um[i, k], 4), *(end_words(one[i, k]) for one in ends))
            )
    return tuple(heading), tuple(rows)


def _hidden(solution: BarSolution, equations: Equations, solved: Solved, agree) -> tuple[str, ...]:
    network = solution.network
    along = network.along[network.at_lower]
    bow = shared_error(equations, solved, 1 - along**2)
    height = bow.value.reshape(solution.height_um.shape)
    middle = int(np.argmin(np.abs(network.along)))
    ends = (height[:, 0] + height[:, -1]) / 2
    each = float(np.mean(height[:, middle] - ends))
    step = np.diff(solution.x_mm)
    widest = int(np.argmax(step))
    return (
        "A bow of 1 um that every fit has in common (sag, a warm side, a habit of seeing) makes each bar look bowed "
        f"by {two(abs(each))} um, {notice(bow.noticed)}.",
        "A lift or a tilt that a whole fit has in common does no harm: it is taken up by the fit's own line.",
        f"Nothing is known between the stations (the widest stretch is {step[widest]:g} mm, from "
        f"{solution.x_mm[widest]:g} to {solution.x_mm[widest + 1]:g} mm), nor of twist across the edge.",
        *blunders(agree),
    )
