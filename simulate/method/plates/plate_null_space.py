"""What a list of fits between plates leaves unseen, and what it sees only weakly."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from simulate.bench.seating.placement import fit_of, overlap
from simulate.core import checks
from simulate.core.refusal import Refusal, counted
from simulate.core.spaces import level_groups, smooth_basis
from simulate.core.values import short

TOLERANCE = 1e-8
"""A mode that shows less than this part of itself in all the fits counts as hidden."""

_CANDIDATE = 1e-6  # eigenvalues below this are looked at again, without squaring


@dataclass(frozen=True)
class NoiseGain:
    """How reading noise grows into plate errors.

    `hidden`: modes that no reading settles; their gain has no limit. `singular_values` (modes,): of everything else,
    rising: how much of a mode shows in all the gaps. `gain` (modes,): one over that: standard deviation of the mode
    when every gap reading has standard deviation 1; falling. `average`: root mean square over all points and plates,
    hidden modes left out. `weakest` (plates, rows, columns): the mode with the largest finite gain, unit length; of
    several with the same gain the broadest.
    """

    hidden: int
    singular_values: np.ndarray
    gain: np.ndarray
    average: float
    weakest: np.ndarray


def hidden_plate_errors(points: int | tuple[int, int], fits: Sequence[tuple], plates: int = 3) -> np.ndarray:
    """Every error of a set of plates that all the fits leave unseen.

    Parameters
    ----------
    points : int or (rows, columns)
        Points along each side, the same step both ways.
    fits : sequence of (lower, upper, turned) or (lower, upper, turned, slide_x, slide_y)
        Plates numbered from 0; `turned` 0, 90, 180 or 270 degrees; the slide in
        whole grid steps.
    plates : int
        How many plates there are.

    Returns
    -------
    ndarray, shape (k, plates, rows, columns)
        Orthonormal; each of the k members is a set of shapes, beyond each
        plate's own plane, that makes no gap in any of the fits. Broad shapes
        and first plates first, each positive at its own leading wave
        (`smooth_basis`).

    Raises
    ------
    ValueError
        Where a fit names a plate that is not there, a plate against itself, an
        angle that is no quarter turn, or a slide that leaves no three points
        out of line to meet.

    Notes
    -----
    The plane of each fit, on the points that meet, counts as unseen by it. A
    quarter turn of a plate that is not square compares only what overlaps.
    What this cannot see: errors between the points of the grid.

    Examples
    --------
    >>> plain = [(0, 1, 0), (0, 2, 0), (1, 2, 0)]
    >>> hidden_plate_errors(3, plain).shape
    (2, 3, 3, 3)
    >>> hidden_plate_errors(3, plain + [(0, 1, 90)]).shape
    (0, 3, 3, 3)
    """
    shape, listed, plates = _asked(points, fits, plates)
    _, basis, _, _ = _modes(shape, listed, plates)
    return smooth_basis(basis.reshape(-1, plates, *shape))


def noise_gain(points: int | tuple[int, int], fits: Sequence[tuple], plates: int = 3) -> NoiseGain:
    """How noise in the gaps grows in the plates that are solved from them.

    `points`, `fits`, `plates`: as for `hidden_plate_errors`.

    Least squares with every fit's seat solved for. A gain of 1 means that the
    mode is known as well as one reading; a gain of 10 means that 1 µm of
    reading scatter is 10 µm of that mode.

    >>> gain = noise_gain(5, [(0, 1, 0), (0, 2, 0), (1, 2, 0), (0, 1, 90)])
    >>> gain.hidden, bool(gain.gain.max() > 1)
    (1, True)
    """
    shape, listed, plates = _asked(points, fits, plates)
    values, basis, vectors, planes = _modes(shape, listed, plates)
    seen = vectors[:, len(basis) + planes :]
    found = np.sqrt(np.maximum(values[len(basis) + planes :], 0))
    if not found.size:
        raise Refusal(
            "unsettled",
            where="fits",
            found=f"none of {counted(len(listed), 'fit')} shows anything" if listed else "no fit is given",
            must_be="at least one that shows a gap",
        )
    average = float(np.sqrt((1 / found**2).sum() / len(vectors)))
    faintest = seen[:, level_groups(found)[0]].T.reshape(-1, plates, *shape)
    return NoiseGain(len(basis), found, 1 / found, average, smooth_basis(faintest)[0])


def _gaps(columns: np.ndarray, shape, fits, plates: int) -> np.ndarray:
    """Gaps of every column of plate errors, shape (readings, columns)."""
    size = shape[0] * shape[1]
    parts = [np.zeros((0, columns.shape[1]))]
    for lower, upper, turned, slide in fits:
        low, up = overlap(*shape, turned, slide)
        gap = columns[lower * size + low] + columns[upper * size + up]
        plane = _plane(shape, low)
        parts.append(gap - plane @ (plane.T @ gap))
    return np.vstack(parts)


def _asked(points, fits, plates):
    plates = checks.whole(plates, "plates", 1)
    try:
        sides = tuple(points)
    except TypeError:
        sides = (points, points)
    if len(sides) != 2 or isinstance(points, str):
        raise Refusal("type", where="points", found=short(points), must_be="one whole number or (rows, columns)")
    shape = tuple(checks.whole(n, "points", 2) for n in sides)
    checks.room((plates * shape[0] * shape[1]) ** 2, "(plates x points) squared")
    try:
        fits = list(fits)
    except TypeError:
        raise Refusal("type", where="fits", found=short(fits), must_be="a list of (lower, upper, turned)") from None
    listed = [fit_of(fit, f"fits[{k}]", plates) for k, fit in enumerate(fits)]
    for _, _, turned, slide in listed:
        overlap(*shape, turned, slide)
    return shape, listed, plates


def _plane(shape, places=None) -> np.ndarray:
    """Orthonormal 1, x, y on some points of the grid, shape (points, 3)."""
    y, x = np.indices(shape).reshape(2, -1).astype(float)
    if places is not None:
        x, y = x[places], y[places]
    return np.linalg.qr(np.stack([np.ones(x.size), x - x.mean(), y - y.mean()], axis=1))[0]


def _normal(shape, fits, plates: int) -> np.ndarray:
    """Transposed gap matrix times itself, without building the gap matrix."""
    size = shape[0] * shape[1]
    normal = np.zeros((plates * size, plates * size))
    for lower, upper, turned, slide in fits:
        low, up = overlap(*shape, turned, slide)
        a, b = lower * size + low, upper * size + up
        plane = _plane(shape, low)
        block = np.eye(low.size) - plane @ plane.T
        for i in (a, b):
            for j in (a, b):
                normal[np.ix_(i, j)] += block
    return normal


def _modes(shape, fits, plates: int):
    """Eigenvalues, hidden rows, all modes as columns (hidden, planes, then seen), and the count of planes."""
    size = shape[0] * shape[1]
    own = np.kron(np.eye(plates), _plane(shape))
    # A plane never shows, so it can be lifted out of the way to an eigenvalue of its own.
    lift = 4.0 * (len(fits) + 1)
    values, vectors = np.linalg.eigh(_normal(shape, fits, plates) + lift * (own @ own.T))
    # Each plate lies in at most all fits, so every true eigenvalue is at most 2 * fits: the planes come last.
    planes = own.shape[1]
    values, vectors = values[: plates * size - planes], vectors[:, : plates * size - planes]
    doubtful = int(np.searchsorted(values, _CANDIDATE))
    part = vectors[:, :doubtful]
    if doubtful and fits:
        _, shown, turn = np.linalg.svd(_gaps(part, shape, fits, plates), full_matrices=True)
        shown = np.concatenate([shown, np.zeros(doubtful - shown.size)])[::-1]
        part = part @ turn[::-1].T
        values = np.concatenate([shown**2, values[doubtful:]])
        vectors = np.hstack([part, vectors[:, doubtful:]])
        hidden = int((shown <= TOLERANCE).sum())
    else:
        hidden = doubtful
    basis = vectors[:, :hidden].T
    vectors = np.hstack([vectors[:, :hidden], own, vectors[:, hidden:]])
    values = np.concatenate([values[:hidden], np.zeros(planes), values[hidden:]])
    return values, basis, vectors, planes
