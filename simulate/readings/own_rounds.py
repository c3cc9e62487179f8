"""The learner's own rounds: the worst body of each, and the simulated band that is fitted to them."""

from __future__ import annotations

import numpy as np

from simulate.bench.cut import Hands
from simulate.bench.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.core.refusal import Refusal
from simulate.method.bars import three_bars
from simulate.readings.bars import solve_bars
from simulate.readings.compare import Band, band
from simulate.readings.gaps import of_round
from simulate.readings.jack import union_jack
from simulate.readings.lands import solve_lands
from simulate.readings.plates import solve_plates
from simulate.readings.progress import Progress, progress
from simulate.readings.record import Readings
from simulate.readings.squares import solve_squares
from simulate.surface.bars import starting_bars
from simulate.surface.flat import flatness
from simulate.surface.form import straightness

WORKSHOPS = 40


def _bars(table: Readings, sd: float | None, round: int) -> float:
    return float(solve_bars(table, sd, round, bounds=False).straightness_um.max())


def _plates(table: Readings, sd: float | None, round: int) -> float:
    return float(solve_plates(table, sd, round=round, bounds=False).flatness_um.max())


def _squares(table: Readings, sd: float | None, round: int) -> float:
    height = float(np.ptp(of_round(table, round).position_mm))
    return float(np.abs(solve_squares(table, sd, round, bounds=False).angle_urad).max()) * height / 1000.0


def _lands(table: Readings, sd: float | None, round: int) -> float:
    net = solve_lands(table, sd, round=round).network
    return float(straightness(net.x_mm[net.reached], net.height_um[net.reached]).value_um)


def _survey(table: Readings, sd: float | None, round: int) -> float:
    found = union_jack(table, sd, round)
    return float(flatness(found.x_mm, found.y_mm, found.least_squares_height_um).value_um)


FORMS = {"bars": _bars, "plates": _plates, "squares": _squares, "lands": _lands, "union jack": _survey}


def worst_of_each_round(table: Readings, reading_sd_um: float | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Give the worst body of every round that can be solved.

    Parameters
    ----------
    table : Readings
    reading_sd_um : float, optional

    Returns
    -------
    round : numpy.ndarray of int, shape (rounds,)
    form_um : numpy.ndarray, shape (rounds,)
        Straightness of bars and lands, flatness of plates and surveys, how far out a square is over the height
        that was read; empty for a wedge test, which has no rounds of filing.
    """
    done = []
    for number in np.unique(table.round) if table.kind in FORMS else ():
        try:
            done.append((int(number), FORMS[table.kind](table, reading_sd_um, int(number))))
        except Refusal:
            continue  # a round that does not settle the bodies says nothing of them
    return np.array([k for k, _ in done], dtype=int), np.array([form for _, form in done])


def own_progress(table: Readings, reading_sd_um: float | None = None, target_um: float | None = None) -> Progress | None:
    """Fit the learner's own rounds.

    Parameters
    ----------
    table : Readings
    reading_sd_um : float, optional
    target_um : float, optional

    Returns
    -------
    Progress or None
        None where no round can be solved, or a body came out without any error at all.
    """
    rounds, form = worst_of_each_round(table, reading_sd_um)
    return progress(rounds, form, target_um) if rounds.size and (form > 0).all() else None


def fitted_band(own: Progress, length_mm: float, rounds: int | None = None) -> Band | None:
    """Give the band of simulated workshops that start, share and stop as the learner does.

    Parameters
    ----------
    own : Progress
    length_mm : float
        Of the bars.
    rounds : int, optional
        Two more than the learner has done where it is not said.

    Returns
    -------
    Band or None
        None where the figures tell no share, as when the worst does not get better.

    Notes
    -----
    The simulated eye sees as much, and the simulated pass is as rough, as makes the floor of ``three_bars`` the
    learner's; where none is seen yet, they are those of the trade.
    """
    if own.share is None or own.start_um is None:
        return None
    last = int(own.rounds[-1]) + 2 if rounds is None else rounds
    return _band(round(float(length_mm), 3), float(f"{np.clip(own.form_um[0], 0.1, 5e4):.3g}"), round(own.share, 2),
                 float(f"{own.floor_um or 0.0:.2g}"), last)


@remembered
def _band(length: float, start: float, share: float, floor: float, rounds: int) -> Band:
    x, height = starting_bars(length, start, points=51, bars=3, workshops=WORKSHOPS, seed=1)
    metal, hands = max(5.0, start / 25), Hands()
    sight = Sight()
    if floor > 0:
        rough = hands.crown + 2 * hands.scatter
        metal = min(metal, floor / 2 / rough)
        sight = Sight(threshold_um=floor - metal * rough)
    run = three_bars(x, height, rounds=rounds, removal_um=metal, share=share, sight=sight, hands=hands, seed=1, record=False)
    return band(run.straightness_um, of="worst")
