"""Which reading to take next: the one that brings down most the standard deviation that the learner asked for."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core.number_format import three


@dataclass(frozen=True)
class Candidate:
    """Readings that could be taken next.

    `name`: how the trade says it. `design` (readings, unknowns): what each unknown of the solved bodies does to each
    reading, over the reading's own deviation and with the seat of the new fit taken out.
    """

    name: str
    design: np.ndarray


@dataclass(frozen=True, kw_only=True)
class Option:
    """One candidate and what it would bring.

    Attributes
    ----------
    sd_after : float
        Root mean square of the standard deviations of all values, once it is read.
    gain_bits : float
        Information that it brings about all values together.
    shows : int
        Shapes that nothing shows so far and that it would show.
    """

    name: str
    sd_after: float
    gain_bits: float
    shows: int = 0


@dataclass(frozen=True)
class NextReading:
    """The one further fit, line, gauge or mark to read.

    Attributes
    ----------
    gain_bits : float
        Information that it brings about all values together.
    sd_before, sd_after : float
        Root mean square of the standard deviations of all values.
    options : tuple of Option
        Every candidate, best first.
    shows : int
        How many shapes that nothing shows so far it would show; gain and deviation then count only what is told
        already.
    """

    name: str
    gain_bits: float
    sd_before: float
    sd_after: float
    unit: str
    options: tuple[Option, ...]
    sentence: str
    shows: int = 0


def gain_bits(covariance: np.ndarray, design: np.ndarray) -> float:
    """How much a set of further readings tells about values that are known so well already.

    `covariance` (unknowns, unknowns): now. `design` (readings, unknowns): over the deviation of each reading.

    Half the logarithm of det(I + B C B'), the information that normal readings bring about a normal unknown
    (D. Lindley, 1956; from memory).

    >>> gain_bits(np.array([[3.0]]), np.array([[1.0]]))
    1.0
    """
    inner = np.eye(len(design)) + design @ covariance @ design.T
    return float(np.linalg.slogdet(inner)[1] / 2 / np.log(2))


def after(covariance: np.ndarray, design: np.ndarray) -> np.ndarray:
    """Return the covariance when the further readings have come in.

    `covariance` (unknowns, unknowns), `design` (readings, unknowns). Returns (unknowns, unknowns).

    >>> after(np.array([[3.0]]), np.array([[1.0]])).tolist()
    [[0.75]]
    """
    values, vectors = np.linalg.eigh(np.eye(len(design)) + design @ covariance @ design.T)
    side = covariance @ design.T @ vectors
    return covariance - (side / np.maximum(values, 1.0)) @ side.T  # below 1 is rounding, where a covariance is huge


def next_reading(
    covariance: np.ndarray, datum: np.ndarray, candidates: list[Candidate], unit: str, loose: np.ndarray | None = None
) -> NextReading | None:
    """Choose the candidate that brings the standard deviation of the values down most.

    `covariance` (unknowns, unknowns), `datum` (values, unknowns). `unit`: of the values. `loose` (unknowns, k):
    orthonormal; what no reading shows so far. A candidate that shows some of it comes before all others. Returns: none
    where there is no candidate.

    The least mean variance is the A-optimal choice of an experiment (H. Chernoff, 1953; from memory). Information,
    which would be the D-optimal one, is told beside it; the two may differ, since information counts a direction
    that matters little as much as one that matters.

    >>> one, two = Candidate("A", np.array([[1.0, 0.0]])), Candidate("B", np.array([[0.0, 1.0]]))
    >>> next_reading(np.diag([1.0, 3.0]), np.eye(2), [one, two], "um").name
    'B'
    """
    if not candidates:
        return None
    ranked = sorted(
        (_option(one, covariance, datum, loose) for one in candidates),
        key=lambda one: (-one.shows, *(float(f"{part:.9e}") for part in (one.sd_after, -one.gain_bits))),
    )
    best = ranked[0]
    before = _rms(float(np.sum((datum @ covariance) * datum)), len(datum))
    even = (
        sum(one.shows == best.shows and abs(one.sd_after - best.sd_after) <= 1e-6 * best.sd_after for one in ranked) - 1
    )
    return NextReading(
        best.name,
        best.gain_bits,
        before,
        best.sd_after,
        unit,
        tuple(ranked),
        _sentence(ranked, before, unit, even),
        best.shows,
    )


def _option(one: Candidate, covariance: np.ndarray, datum: np.ndarray, loose: np.ndarray | None) -> Option:
    then = after(covariance, one.design)
    return Option(
        name=one.name,
        sd_after=_rms(float(np.sum((datum @ then) * datum)), len(datum)),
        gain_bits=gain_bits(covariance, one.design),
        shows=_shows(one.design, loose),
    )


def _rms(squares: float, count: int) -> float:
    return float(np.sqrt(max(squares, 0.0) / count))


def _sentence(ranked: list[Option], before: float, unit: str, even: int) -> str:
    best, of = ranked[0], f"Read {ranked[0].name} next: of the {len(ranked)} readings you could take, "
    if len(ranked) == 1:
        of = f"Read {best.name} next: "
    if best.shows:
        return f"{of}it shows {best.shows} shape{'s' * (best.shows != 1)} that nothing shows now."
    ties = f"; {even} other{'s are' if even != 1 else ' is'} as good" if even else ""
    return (
        f"{of}it cuts the standard deviation most, from {three(before)} to {three(best.sd_after)} {unit} root "
        f"mean square ({three(best.gain_bits)} bit{'s' * (three(best.gain_bits) != '1')}{ties})."
    )


def _shows(design: np.ndarray, loose: np.ndarray | None) -> int:
    if loose is None or not loose.size:
        return 0
    return int(np.linalg.matrix_rank(design @ loose, tol=1e-6 * max(float(np.abs(design).max()), 1e-300)))
