"""The fits that were read as one network of equations: which bar meets which, at which stations."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from simulate.readings.record import Readings, ReadingsError
from simulate.readings.size import refuse_too_many

SAME_PLACE_MM = 0.001
MOST_HEIGHTS = 1200
_RANK = 1e-9


@dataclass(frozen=True)
class Network:
    """Who met whom where.

    Attributes
    ----------
    x_mm : numpy.ndarray, shape (points,)
        Every station that some bar was read at.
    names : tuple of str
    fits : tuple of (int, int, bool)
        Lower, upper, turned; each has a seat line of its own.
    fit : numpy.ndarray of int, shape (readings,)
    at_lower, at_upper : numpy.ndarray of int, shape (readings,)
        Station of the lower and of the upper bar that met.
    basis : numpy.ndarray, shape (points, points - 2)
        Orthonormal shapes that hold no line.
    """

    x_mm: np.ndarray
    names: tuple[str, ...]
    fits: tuple[tuple[int, int, bool], ...]
    fit: np.ndarray
    at_lower: np.ndarray
    at_upper: np.ndarray
    basis: np.ndarray

    @property
    def along(self) -> np.ndarray:
        """Stations scaled to about -1 to 1."""
        return (self.x_mm - self.x_mm.mean()) / (np.ptp(self.x_mm) / 2)

    def fit_name(self, fit: tuple[int, int, bool]) -> str:
        """Return how the trade says it: A on B, turned."""
        return f"{self.names[fit[1]]} on {self.names[fit[0]]}" + (" turned" if fit[2] else "")


def build(table: Readings, used: Readings) -> Network:
    """Lay out the network of the rows in `used`.

    A turned bar meets the lower one at the place mirrored about the middle of all positions in the file, so
    positions may count from one end or from the middle.

    Parameters
    ----------
    table : Readings
        The whole file: its positions say where the middle is.
    used : Readings
        The rows of one round.

    Returns
    -------
    Network

    Raises
    ------
    ReadingsError
        Where there are fewer than three stations or bars, or far too many.
    """
    ends = table.position_mm.min() + table.position_mm.max()
    above = np.where(used.turned, ends - used.position_mm, used.position_mm)
    x = _stations(np.concatenate([used.position_mm, above]))
    bodies = np.unique(np.concatenate([used.lower, used.upper]))
    names = tuple(table.names[b] for b in bodies)
    if x.size < 3:
        raise ReadingsError(table.source, f"all readings stand at {x.size} position{'s' if x.size != 1 else ''}",
                            "three positions or more along the bars", int(used.row[-1]), "position_mm", f"{x[-1]:g}", code="table")
    if x.size * bodies.size > MOST_HEIGHTS:
        raise ReadingsError(table.source, f"{bodies.size} bars at {x.size} stations with {len(used)} readings are too many "
                            "to solve at once", f"at most {MOST_HEIGHTS} heights in one round", code="table")
    lower, upper = np.searchsorted(bodies, used.lower), np.searchsorted(bodies, used.upper)
    keys = list(zip(lower.tolist(), upper.tolist(), used.turned.tolist()))
    fits = tuple(dict.fromkeys(keys))
    refuse_too_many(used, bodies.size * (x.size - 2) + 2 * len(fits), f"{bodies.size} bars at {x.size} stations in {len(fits)} fits")
    number = {key: i for i, key in enumerate(fits)}
    return Network(x, names, fits, np.array([number[k] for k in keys]), _nearest(x, used.position_mm),
                   _nearest(x, above), line_free(x))


def line_free(x_mm: np.ndarray) -> np.ndarray:
    """Return an orthonormal basis of all shapes without a least-squares line.

    Parameters
    ----------
    x_mm : numpy.ndarray, shape (points,)

    Returns
    -------
    numpy.ndarray, shape (points, points - 2)

    Examples
    --------
    >>> line_free(np.array([0.0, 1.0, 2.0])).shape
    (3, 1)
    """
    along = (x_mm - x_mm.mean()) / np.ptp(x_mm)
    full, _ = np.linalg.qr(np.column_stack([np.ones_like(along), along]), mode="complete")
    return full[:, 2:]


def design(network: Network) -> np.ndarray:
    """Return the gap of each reading per unit of each line-free shape, seats left aside.

    Parameters
    ----------
    network : Network

    Returns
    -------
    numpy.ndarray, shape (readings, bodies * (points - 2))
    """
    ends = np.array(network.fits)[network.fit]
    shapes = network.basis.shape[1]
    matrix = np.zeros((network.fit.size, len(network.names), shapes))
    rows = np.arange(network.fit.size)
    matrix[rows, ends[:, 0].astype(int)] -= network.basis[network.at_lower]
    matrix[rows, ends[:, 1].astype(int)] -= network.basis[network.at_upper]
    return matrix.reshape(network.fit.size, -1)


def seats(network: Network) -> np.ndarray:
    """Return the gap of each reading per unit of each fit's seat: one lift and one tilt a fit.

    Parameters
    ----------
    network : Network

    Returns
    -------
    numpy.ndarray, shape (readings, 2 * fits)
    """
    matrix = np.zeros((network.fit.size, len(network.fits), 2))
    rows = np.arange(network.fit.size)
    matrix[rows, network.fit, 0] = 1.0
    matrix[rows, network.fit, 1] = network.along[network.at_lower]
    return matrix.reshape(network.fit.size, -1)


def span(matrix: np.ndarray) -> np.ndarray:
    """Return an orthonormal basis of what the columns reach.

    Parameters
    ----------
    matrix : numpy.ndarray, shape (rows, columns)

    Returns
    -------
    numpy.ndarray, shape (rows, rank)
    """
    u, s, _ = np.linalg.svd(matrix, full_matrices=False)
    return u[:, s > _RANK * s[0]] if s.size and s[0] > 0 else u[:, :0]


def unseen(network: Network, keep: np.ndarray | None = None) -> int:
    """Count the shapes that the fits leave unseen, beyond each bar's own line.

    Parameters
    ----------
    network : Network
    keep : numpy.ndarray of bool, optional
        Readings that count.

    Returns
    -------
    int
    """
    keep = np.ones(network.fit.size, bool) if keep is None else keep
    matrix, lines = design(network)[keep], span(seats(network)[keep])
    return matrix.shape[1] - span(matrix - lines @ (lines.T @ matrix)).shape[1]


def with_fits(network: Network, more: list[tuple[int, int, bool]]) -> Network:
    """Return the network as it would be with more fits read at every station.

    Parameters
    ----------
    network : Network
    more : list of (int, int, bool)

    Returns
    -------
    Network
        A turned fit is read at the stations whose mirror image is a station too.
    """
    fits, fit, low, up = list(network.fits), [network.fit], [network.at_lower], [network.at_upper]
    mirrored = network.x_mm[0] + network.x_mm[-1] - network.x_mm
    partner = _nearest(network.x_mm, mirrored)
    meets = np.abs(network.x_mm[partner] - mirrored) < 2 * SAME_PLACE_MM
    for one in more:
        at = np.flatnonzero(meets) if one[2] else np.arange(network.x_mm.size)
        fit.append(np.full(at.size, len(fits)))
        fits.append(one)
        low.append(at)
        up.append(partner[at] if one[2] else at)
    return Network(network.x_mm, network.names, tuple(fits), np.concatenate(fit), np.concatenate(low),
                   np.concatenate(up), network.basis)


def candidates(network: Network) -> list[tuple[int, int, bool]]:
    """Return every fit that the bars allow, unturned ones first.

    Parameters
    ----------
    network : Network

    Returns
    -------
    list of (int, int, bool)
    """
    pairs = list(combinations(range(len(network.names)), 2))
    return [(a, b, turned) for turned in (False, True) for a, b in pairs]


def settling_fits(network: Network) -> list[tuple[int, int, bool]]:
    """Return the fewest further fits found, one at a time, that would settle every bar.

    Parameters
    ----------
    network : Network

    Returns
    -------
    list of (int, int, bool)
        Empty where nothing is missing, or where a third bar is.
    """
    found: list[tuple[int, int, bool]] = []
    left = unseen(network)
    while left and len(network.names) > 2 and len(found) < 2 * len(network.names):
        left, _, best = min((unseen(with_fits(network, [*found, c])), i, c) for i, c in enumerate(candidates(network)))
        found.append(best)
    return found


def _stations(positions: np.ndarray) -> np.ndarray:
    x = np.unique(positions)
    return x[np.concatenate([[True], np.diff(x) > SAME_PLACE_MM])]


def _nearest(x: np.ndarray, positions: np.ndarray) -> np.ndarray:
    right = np.clip(np.searchsorted(x, positions), 1, x.size - 1)
    return np.where(positions - x[right - 1] < x[right] - positions, right - 1, right)
