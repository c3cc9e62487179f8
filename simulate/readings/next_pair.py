"""Which fit to read next: the one that would tell most about the bars."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.bars import BarSolution, solve_bars
from simulate.readings.network import Network, build, candidates, design, seats, settling_fits, span, unseen, with_fits
from simulate.readings.record import Readings


@dataclass(frozen=True)
class NextPair:
    """The fit that would tell most if it were read next.

    Attributes
    ----------
    lower, upper : str
    turned : bool
    sd_before_um, sd_after_um : float
        Root mean square of the sd over all heights.
    table : tuple of (str, float)
        Every fit that is possible and the sd after it, best first; empty where bars are not settled yet.
    sentence : str
    unseen_before, unseen_after : int
        Shapes of the bars that no fit shows; while there are any, the sd is inf.
    """

    lower: str
    upper: str
    turned: bool
    sd_before_um: float
    sd_after_um: float
    table: tuple[tuple[str, float], ...]
    sentence: str
    unseen_before: int = 0
    unseen_after: int = 0


def next_pair(solution: BarSolution | Readings) -> NextPair:
    """Say which further fit, turned or not, or which fit read again, would tell most.

    Parameters
    ----------
    solution : BarSolution or Readings
        A table serves where its fits do not settle the bars yet, so that there is no solution; its last round
        counts.

    Returns
    -------
    NextPair
        Reckoned with readings as good as those at hand, at every station.

    Raises
    ------
    ReadingsError
        Where the table has fewer than three stations.
    """
    if isinstance(solution, BarSolution):
        return _surest_pair(solution)
    network = build(solution, solution.rows(solution.round == solution.round.max()))
    left = unseen(network)
    if not left:
        return _surest_pair(solve_bars(solution, bounds=False))
    return _first_missing(network, left)


def _first_missing(network: Network, left: int) -> NextPair:
    missing = settling_fits(network)
    if not missing:
        third = "a third bar"
        return NextPair(network.names[0], third, False, np.inf, np.inf, (), f"Make {third} and read it on {network.names[0]} and "
                        f"on {network.names[1]}: two bars alone leave {left} shapes unseen.", left, left)
    first = missing[0]
    after = unseen(with_fits(network, [first]))
    then = "" if not after else ", then " + " and ".join(network.fit_name(fit) for fit in missing[1:])
    return NextPair(network.names[first[0]], network.names[first[1]], first[2], np.inf, np.inf, (),
                    f"Read {network.fit_name(first)} next{then}: of {left} shapes that are unseen now it leaves {after}.", left, after)


def _surest_pair(solution: BarSolution) -> NextPair:
    network = solution.network
    lift = np.kron(np.eye(len(network.names)), network.basis)
    known = np.linalg.pinv(lift.T @ solution.covariance @ lift, hermitian=True)
    sd = max(solution.reading_sd_um, 1e-9)
    before = float(np.sqrt(np.mean(solution.sd_um**2)))
    found = []
    for fit in candidates(network):
        more = with_fits(network, [fit])
        new = more.fit == len(network.fits)
        matrix, line = design(more)[new] / sd, span(seats(more)[new])
        matrix = matrix - line @ (line.T @ matrix)
        after = np.linalg.pinv(known + matrix.T @ matrix, hermitian=True)
        found.append((float(np.sqrt(np.trace(after) / solution.height_um.size)), fit))
    found.sort(key=lambda one: round(one[0], 9))  # equal ones stay in their order on every machine
    after, best = found[0]
    drop = 100 * (1 - after / before) if before > 0 else 0.0
    said = (f"Read {network.fit_name(best)} next: the heights would be good to {after:.2g} um in place of {before:.2g} um "
            f"({drop:.0f} % better).")
    return NextPair(network.names[best[0]], network.names[best[1]], best[2], before, after,
                    tuple((network.fit_name(fit), value) for value, fit in found), said)
