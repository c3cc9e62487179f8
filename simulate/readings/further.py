"""Which further reading would tell most, by the information it would bring."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Candidate:
    """Readings that could be taken next.

    Attributes
    ----------
    name : str
        How the trade says it.
    design : numpy.ndarray, shape (readings, unknowns)
        What each unknown of the solved bodies does to each reading, over the reading's own deviation and with
        the seat of the new fit taken out.
    """

    name: str
    design: np.ndarray


@dataclass(frozen=True)
class NextReading:
    """The one further fit, line, gauge or mark that would tell most.

    Attributes
    ----------
    name : str
    gain_bits : float
        Information that it brings about all values together.
    sd_before, sd_after : float
        Root mean square of the deviations of all values.
    unit : str
    table : tuple of (str, float)
        Every candidate and its gain, best first.
    sentence : str
    shows : int
        How many shapes that nothing shows so far it would show; the gain then counts only what is told already.
    """

    name: str
    gain_bits: float
    sd_before: float
    sd_after: float
    unit: str
    table: tuple[tuple[str, float], ...]
    sentence: str
    shows: int = 0


def gain_bits(covariance: np.ndarray, design: np.ndarray) -> float:
    """How much a set of further readings tells about values that are known so well already.

    Parameters
    ----------
    covariance : numpy.ndarray, shape (unknowns, unknowns)
        Now.
    design : numpy.ndarray, shape (readings, unknowns)
        Over the deviation of each reading.

    Returns
    -------
    float

    Notes
    -----
    Half the logarithm of det(I + B C B'), the information that normal readings bring about a normal unknown
    (D. Lindley, 1956; from memory).

    Examples
    --------
    >>> gain_bits(np.array([[3.0]]), np.array([[1.0]]))
    1.0
    """
    inner = np.eye(len(design)) + design @ covariance @ design.T
    return float(np.linalg.slogdet(inner)[1] / 2 / np.log(2))


def after(covariance: np.ndarray, design: np.ndarray) -> np.ndarray:
    """Return the covariance when the further readings have come in.

    Parameters
    ----------
    covariance : numpy.ndarray, shape (unknowns, unknowns)
    design : numpy.ndarray, shape (readings, unknowns)

    Returns
    -------
    numpy.ndarray, shape (unknowns, unknowns)

    Examples
    --------
    >>> after(np.array([[3.0]]), np.array([[1.0]])).tolist()
    [[0.75]]
    """
    inner = np.eye(len(design)) + design @ covariance @ design.T
    side = covariance @ design.T
    return covariance - side @ np.linalg.solve(inner, side.T)


def tells_most(covariance: np.ndarray, datum: np.ndarray, candidates: list[Candidate], unit: str,
               loose: np.ndarray | None = None) -> NextReading | None:
    """Choose among candidates by information.

    Parameters
    ----------
    covariance : numpy.ndarray, shape (unknowns, unknowns)
    datum : numpy.ndarray, shape (values, unknowns)
    candidates : list of Candidate
    unit : str
        Of the values.
    loose : numpy.ndarray, shape (unknowns, k), optional
        Orthonormal; what no reading shows so far. A candidate that shows some of it comes before all others.

    Returns
    -------
    NextReading or None
        None where there is no candidate.
    """
    if not candidates:
        return None
    ranked = sorted(((_shows(one.design, loose), round(gain_bits(covariance, one.design), 9), -i) for i, one in enumerate(candidates)),
                    reverse=True)
    shows, gain, place = ranked[0]
    best = candidates[-place]
    before = datum @ covariance @ datum.T
    then = datum @ after(covariance, best.design) @ datum.T
    sd = [float(np.sqrt(max(np.trace(part) / len(part), 0.0))) for part in (before, then)]
    even = sum(one[:1] == (shows,) and abs(one[1] - gain) < 1e-6 for one in ranked) - 1
    ties = f", and {even} other{'s' * (even != 1)} as much" if even else ""
    what = (f"it shows {shows} shape{'s' * (shows != 1)} that nothing shows now" if shows else
            f"it tells most ({gain:.3g} bits{ties}), and takes the spread from {sd[0]:.3g} to {sd[1]:.3g} {unit}")
    return NextReading(best.name, gain, *sd, unit, tuple((candidates[-i].name, one) for _, one, i in ranked),
                       f"Read {best.name} next: of {len(candidates)} that could be read {what}.", shows)


def _shows(design: np.ndarray, loose: np.ndarray | None) -> int:
    if loose is None or not loose.size:
        return 0
    return int(np.linalg.matrix_rank(design @ loose, tol=1e-6 * max(float(np.abs(design).max()), 1e-300)))
