"""The fits that were read as one network of equations: which bar meets which, at which stations."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from simulate.readings.network.places import places_along
from simulate.readings.reference.hold import Hold, chosen, hold
from simulate.readings.reference.known import Known, laid_along
from simulate.readings.table.readings import Readings, ReadingsError
from simulate.readings.table.size_limit import refuse_too_many

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
    fits : tuple of (int, int, bool)
        Lower, upper, turned; each has a seat line of its own.
    fit : numpy.ndarray of int, shape (readings,)
    at_lower, at_upper : numpy.ndarray of int, shape (readings,)
        Station of the lower and of the upper bar that met.
    basis : numpy.ndarray, shape (points, points - 2)
        Orthonormal shapes that hold no line.
    hold : Hold or None
        Bars that are known already.
    """

    x_mm: np.ndarray
    names: tuple[str, ...]
    fits: tuple[tuple[int, int, bool], ...]
    fit: np.ndarray
    at_lower: np.ndarray
    at_upper: np.ndarray
    basis: np.ndarray
    hold: Hold | None = None

    @property
    def free(self) -> tuple[str, ...]:
        """Names of the bars that are not known already."""
        held = () if self.hold is None else [one.name for one in self.hold.references]
        return tuple(name for name in self.names if name not in held)

    @property
    def along(self) -> np.ndarray:
        """Stations scaled to about -1 to 1."""
        return (self.x_mm - self.x_mm.mean()) / (np.ptp(self.x_mm) / 2)

    def fit_name(self, fit: tuple[int, int, bool]) -> str:
        """Return how the trade says it: A on B, turned."""
        return f"{self.names[fit[1]]} on {self.names[fit[0]]}" + (" turned" if fit[2] else "")


def build(table: Readings, used: Readings, known: Sequence[Known] = ()) -> Network:
    """Lay out the network of the rows in `used`.

    A turned bar meets the lower one at the place mirrored about the middle of all positions in the file, so
    positions may count from one end or from the middle.

    `table`: the whole file: its positions say where the middle is. `used`: the rows of one round. `known`: bars that
    are known already.
    """
    ends = table.position_mm.min() + table.position_mm.max()
    above = np.where(used.turned, ends - used.position_mm, used.position_mm)
    x = places_along(np.concatenate([used.position_mm, above]), SAME_PLACE_MM)
    bodies = np.unique(np.concatenate([used.lower, used.upper]))
    names = tuple(table.names[b] for b in bodies)
    if x.size < 3:
        raise ReadingsError(
            table.source,
            f"all readings are at {x.size} position{'s' if x.size != 1 else ''}",
            "three positions or more along the bars",
            int(used.row[-1]),
            "position_mm",
            f"{x[-1]:g}",
            code="table",
        )
    if x.size * bodies.size > MOST_HEIGHTS:
        raise ReadingsError(
            table.source,
            f"{bodies.size} bars at {x.size} stations with {len(used)} readings are too many to solve at once",
            f"at most {MOST_HEIGHTS} heights in one round",
            code="table",
        )
    lower, upper = np.searchsorted(bodies, used.lower), np.searchsorted(bodies, used.upper)
    keys = list(zip(lower.tolist(), upper.tolist(), used.turned.tolist()))
    fits = tuple(dict.fromkeys(keys))
    refuse_too_many(
        used, bodies.size * (x.size - 2) + 2 * len(fits), f"{bodies.size} bars at {x.size} stations in {len(fits)} fits"
    )
    number = {key: i for i, key in enumerate(fits)}
    return Network(
        x,
        names,
        fits,
        np.array([number[k] for k in keys]),
        _nearest(x, used.position_mm),
        _nearest(x, above),
        line_free(x),
        _held(chosen(known, names, table.names, "bars", table.source), names, x, (used, lower, upper, above)),
    )


def _held(known: list[Known], names: tuple[str, ...], x: np.ndarray, met: tuple) -> Hold | None:
    """Put what is known into the line-free shapes of all bars."""
    used, lower, upper, above = met
    basis, blocks, mixed = line_free(x), [], 0
    for one in known:
        i = names.index(one.name)
        places = np.concatenate([used.position_mm[lower == i], above[upper == i]])
        read = np.isin(np.arange(x.size), _nearest(x, places))
        mix = laid_along(one, x, read)
        mixed += int((read & (mix.max(axis=1) < 1)).sum())
        size = basis.shape[1]
        blocks.append((one, i * size + np.arange(size), basis.T @ mix))
    held = hold(len(names) * basis.shape[1], blocks)
    return None if held is None else replace(held, mixed=mixed)


def line_free(x_mm: np.ndarray) -> np.ndarray:
    """Return an orthonormal basis of all shapes without a least-squares line.

    `x_mm` (points,). Returns (points, points - 2).

    >>> line_free(np.array([0.0, 1.0, 2.0])).shape
    (3, 1)
    """
    along = (x_mm - x_mm.mean()) / np.ptp(x_mm)
    full, _ = np.linalg.qr(np.column_stack([np.ones_like(along), along]), mode="complete")
    return full[:, 2:]


def design(network: Network) -> np.ndarray:
    """Return the gap of each reading per unit of each line-free shape, seats left aside.

    Returns (readings, free bodies * (points - 2) + errors): last the errors of bars that are known already.
    """
    every = _every(network)
    return every if network.hold is None else every @ network.hold.turn


def known_gap(network: Network) -> np.ndarray:
    """Return what the bars that are known already put on each gap, in um."""
    return np.zeros(network.fit.size) if network.hold is None else _every(network) @ network.hold.shift


def lifted(network: Network) -> np.ndarray:
    """Return the heights of the free bars per unit of each unknown of `design`."""
    lift = np.kron(np.eye(len(network.free)), network.basis)
    return lift if network.hold is None else np.hstack([lift, np.zeros((len(lift), network.hold.size.size))])


def known_ends(network: Network) -> tuple[np.ndarray, np.ndarray]:
    """Return rows that bring forth the heights of known bars but for a line, and their guaranteed ends.

    Returns `rows` (references * points, unknowns of `design`). `ends` (2, references * points): less what is known;
    open where a station is none that the bar is known at.
    """
    lift = np.kron(np.eye(len(network.names)), network.basis)
    rows, at_zero = (
        (lift @ part).reshape(len(network.names), network.x_mm.size, -1)
        for part in (network.hold.turn, network.hold.shift)
    )
    mine, ends = [network.names.index(one.name) for one in network.hold.references], []
    for i, one in zip(mine, network.hold.references, strict=True):
        away = np.abs(network.x_mm[:, None] - one.x_mm)
        at, same = away.argmin(axis=1), away.min(axis=1) <= 2 * SAME_PLACE_MM
        for end, open_ in ((one.low, -np.inf), (one.high, np.inf)):
            ends.append(np.where(same, end[at] - at_zero[i, :, 0], open_))
    return rows[mine].reshape(-1, rows.shape[-1]), np.stack([np.concatenate(ends[::2]), np.concatenate(ends[1::2])])


def _every(network: Network) -> np.ndarray:
    ends = np.array(network.fits)[network.fit]
    shapes = network.basis.shape[1]
    matrix = np.zeros((network.fit.size, len(network.names), shapes))
    rows = np.arange(network.fit.size)
    matrix[rows, ends[:, 0].astype(int)] -= network.basis[network.at_lower]
    matrix[rows, ends[:, 1].astype(int)] -= network.basis[network.at_upper]
    return matrix.reshape(network.fit.size, -1)


def seats(network: Network) -> np.ndarray:
    """Return the gap of each reading per unit of each fit's seat: one lift and one tilt a fit.

    Returns (readings, 2 * fits).
    """
    matrix = np.zeros((network.fit.size, len(network.fits), 2))
    rows = np.arange(network.fit.size)
    matrix[rows, network.fit, 0] = 1.0
    matrix[rows, network.fit, 1] = network.along[network.at_lower]
    return matrix.reshape(network.fit.size, -1)


def span(matrix: np.ndarray) -> np.ndarray:
    """Return an orthonormal basis of what the columns reach.

    `matrix` (rows, columns). Returns (rows, rank).
    """
    u, s, _ = np.linalg.svd(matrix, full_matrices=False)
    return u[:, s > _RANK * s[0]] if s.size and s[0] > 0 else u[:, :0]


def unseen(network: Network, keep: np.ndarray | None = None) -> int:
    """Count the shapes that the fits leave unseen, beyond each bar's own line.

    `keep`: readings that count.
    """
    keep = np.ones(network.fit.size, bool) if keep is None else keep
    free = len(network.free) * network.basis.shape[1]
    matrix, lines = design(network)[keep, :free], span(seats(network)[keep])
    return matrix.shape[1] - span(matrix - lines @ (lines.T @ matrix)).shape[1]


def with_fits(network: Network, more: list[tuple[int, int, bool]]) -> Network:
    """Return the network as it would be with more fits read at every station.

    Returns: a turned fit is read at the stations whose mirror image is a station too.
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
    return replace(
        network,
        fits=tuple(fits),
        fit=np.concatenate(fit),
        at_lower=np.concatenate(low),
        at_upper=np.concatenate(up),
    )


def candidates(network: Network) -> list[tuple[int, int, bool]]:
    """Return every fit that the bars allow, unturned ones first."""
    free = [network.names.index(name) for name in network.free]
    pairs = [pair for pair in combinations(range(len(network.names)), 2) if set(pair) & set(free)]
    return [(a, b, turned) for turned in (False, True) for a, b in pairs]


def settling_fits(network: Network) -> list[tuple[int, int, bool]]:
    """Return the fewest further fits found, one at a time, that would settle every bar.

    Returns: empty where nothing is missing, or where a third bar is.
    """
    found: list[tuple[int, int, bool]] = []
    left = unseen(network)
    while left and (len(network.names) > 2 or network.hold) and len(found) < 2 * len(network.names):
        left, _, best = min((unseen(with_fits(network, [*found, c])), i, c) for i, c in enumerate(candidates(network)))
        found.append(best)
    return found


def _nearest(x: np.ndarray, positions: np.ndarray) -> np.ndarray:
    right = np.clip(np.searchsorted(x, positions), 1, x.size - 1)
    return np.where(positions - x[right - 1] < x[right] - positions, right - 1, right)
