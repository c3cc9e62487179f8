"""How good one reading of each instrument is, where several were used: variance components."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.readings.adjustment.equations import LEAST_SPREAD, NO_ROW, Equations, solve
from simulate.readings.adjustment.repeatability import Resolution, assumed_sd, repeatability
from simulate.readings.network.heights import Instrument, Network

LEAST_SPARE = 4.0
"""An instrument that fewer readings' worth checks shares its spread with another of the same unit (a stated choice)."""
LIKE_USUAL = 2.0
"""What is usual of an instrument counts beside its own readings as so many readings' worth: its spread is within a
factor of 1.6 of that in two of three cases (a stated choice)."""
_ROUNDS, _SETTLED = 60, 1e-4


@dataclass(frozen=True, kw_only=True)
class Spreads:
    """Standard deviation of one point reading of each instrument.

    `sd`: in the unit of the instrument; 1 where it gave no point reading. `source`: ``"given"``, ``"residuals"``,
    ``"resolution"``, ``"assumed"``, or ``"intervals"`` where it gave no point. `spare`: how many readings' worth of
    checking each rests on; inf where it is given. `shared`: whether it was found together with that of other
    instruments, in proportion to what is usual of each. `dof`: degrees of freedom of each; inf where it is given.

    >>> sure = (np.inf, 0.0)
    >>> Spreads(sd=(2.0, 1.0), source=("given", "assumed"), spare=sure, shared=(False, False), dof=sure).overall
    'assumed'
    """

    sd: tuple[float, ...]
    source: tuple[str, ...]
    spare: tuple[float, ...]
    shared: tuple[bool, ...]
    dof: tuple[float, ...]

    @property
    def overall(self) -> str:
        """Where the spread of all comes from: the least firm of all that count."""
        ranked = ("assumed", "resolution", "residuals", "given", "intervals")
        return min(self.source, key=ranked.index)


def row_sd(network: Network, sd: np.ndarray) -> np.ndarray:
    """Give the deviation with which each reading weighs: of an interval width / sqrt(12), inf where a side is open."""
    wide = np.maximum(network.width / np.sqrt(12), LEAST_SPREAD)
    return np.where(network.point_reading, sd[network.instrument], wide)


def equations_of(network: Network, sd: np.ndarray, datum: np.ndarray, sd_from: str, unit: str = "um") -> Equations:
    """Give the equations of a network; an error of a known body is a reading of nought, good to 1."""
    before = network.errors
    count = len(before)
    return Equations(
        np.vstack([network.design, before]),
        np.concatenate([np.nan_to_num(network.middle - network.at_known), np.zeros(count)]),
        np.concatenate([row_sd(network, sd), np.ones(count)]),
        np.concatenate([network.group, np.full(count, len(network.groups))]),
        (*network.groups, *(("what is known beforehand",) if count else ())),
        np.concatenate([network.row, np.full(count, NO_ROW)]),
        datum,
        sd_from,
        unit,
    )


def spreads_of(network: Network) -> Spreads:
    """Find the spread of one reading of each instrument from what the readings leave over.

    Each instrument's squares of residuals add up to what its redundancy makes of its variance, found step by step
    (estimation of variance components, W. Foerstner 1979, after F. Helmert; from memory). An instrument that is checked
    by less than `LEAST_SPARE` readings' worth shares one factor with another, each having about that many times its
    usual deviation: that counts as `LIKE_USUAL` readings' worth beside its own (a scaled inverse chi-square prior).
    Where less than one reading's worth checks all of them they are assumed. None is better than rounding to its step.
    """
    count = len(network.instruments)
    read = [network.point_reading & (network.instrument == k) for k in range(count)]
    tools = network.instruments
    sd = np.array([_usual(tool) for tool in tools])
    free = [k for k in range(count) if read[k].any() and tools[k].sd is None]
    source = ["given" if mine.any() else "intervals" for mine in read]
    classes = [[k] for k in free]
    spare, dof = np.full(count, np.inf), np.full(count, np.inf)
    while classes:
        weak = _settle(network, sd, source, spare, dof, read, classes)
        if weak is None or len(classes) == 1:
            break
        others = [one for one in classes if one is not weak]
        alike = [one for one in others if tools[one[0]].unit == tools[weak[0]].unit]
        max(alike or others, key=lambda one: sum(int(read[k].sum()) for k in one)).extend(weak)
        classes.remove(weak)
    return Spreads(
        sd=tuple(float(v) for v in sd),
        source=tuple(source),
        spare=tuple(float(v) for v in np.where([s == "assumed" for s in source], 0.0, spare)),
        shared=tuple(any(k in one and len(one) > 1 for one in classes) for k in range(count)),
        dof=tuple(float(v) for v in dof),
    )


def _usual(tool: Instrument) -> float:
    """What to begin with: what is given, or what is usual where rounding alone makes no more."""
    if tool.sd is not None:
        return max(tool.sd, LEAST_SPREAD)
    return tool.usual if tool.resolution is None else max(tool.usual, assumed_sd(tool.resolution))


def _settle(
    network: Network,
    sd: np.ndarray,
    source: list[str],
    spare: np.ndarray,
    dof: np.ndarray,
    read: list[np.ndarray],
    classes: list[list[int]],
) -> list[int] | None:
    """Find the spread of each class step by step, in place; give a class that too little checks."""
    tools = network.instruments
    usual = np.array([_usual(tool) for tool in tools])
    for one in classes:
        for k in one:
            sd[k], source[k] = usual[k], "assumed"
    for _ in range(_ROUNDS):
        solved = solve(equations_of(network, sd, np.zeros((1, network.design.shape[1])), "assumed"))
        before = sd.copy()
        squares, redundancy = np.zeros(len(network.row)), np.zeros(len(network.row))
        mine = solved.used < len(network.row)
        each = (row_sd(network, before) / usual[network.instrument])[solved.used[mine]]
        squares[solved.used[mine]] = (solved.weighted_residual[mine] * each) ** 2
        redundancy[solved.used[mine]] = solved.redundancy[mine]
        for one in classes:
            rows = np.any([read[k] for k in one], axis=0)
            spare[one] = redundancy[rows].sum()
            if spare[one[0]] < (LEAST_SPARE if len(classes) > 1 else 1 - 1e-6):
                for k in one:
                    sd[k], source[k] = usual[k], "assumed"
                return one
            factor = float(np.sqrt(squares[rows].sum() / spare[one[0]]))
            like = LIKE_USUAL if len(one) > 1 else 0.0
            for k in one:
                step = tools[k].resolution or Resolution(step=0.0, source="given")
                mine = usual[k] ** 2
                dof[k] = like + redundancy[read[k]].sum()
                square = like * factor**2 * mine + squares[read[k]].sum() * mine
                found, source[k] = repeatability(square, dof[k], step)
                sd[k] = max(found, LEAST_SPREAD)
        if np.all(np.abs(sd - before) <= _SETTLED * before):
            break
    return None
