"""A body that is known already, with where its errors come from, so that no correlation is lost along a chain."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from simulate.core.refusal import Refusal

SAME_PLACE_MM = 0.02
"""Places nearer than this are one."""


@dataclass(frozen=True, kw_only=True)
class Source:
    """Independent errors that several results may share: those of one set of readings, or of one certificate.

    Attributes
    ----------
    identity : str
        Equal where the errors are the same.
    said : str
        What it is, for a sentence.
    columns : int
        How many independent errors it has, each of standard deviation 1.
    dof : float
        Degrees of freedom that their size rests on (Student's t); 0 where it is known.
    assumed : bool
        True where nothing tells their size.
    """

    identity: str
    said: str
    columns: int
    dof: float = 0.0
    assumed: bool = False


@dataclass(frozen=True, kw_only=True)
class Known:
    """A body that is known already: ``value + root @ z``, z being independent errors of standard deviation 1.

    Attributes
    ----------
    name : str
        What it is called in the readings that are taken against it.
    kind : str
        ``"bars"``, ``"plates"`` or ``"squares"``.
    x_mm, y_mm : numpy.ndarray, shape (values,), or None
        Places of the heights; y for plates only, none for a square.
    value : numpy.ndarray, shape (values,)
        Heights in um, or one angle in urad.
    root : numpy.ndarray, shape (values, errors)
        What each error does to each value; the columns of one source after those of another.
    sources : tuple of Source
    said : str
        Where it is known from, for a sentence.
    low, high : numpy.ndarray, shape (values,), or None
        Guaranteed ends of each value, where there are any.
    """

    name: str
    kind: str
    value: np.ndarray
    root: np.ndarray
    sources: tuple[Source, ...]
    said: str
    x_mm: np.ndarray | None = None
    y_mm: np.ndarray | None = None
    low: np.ndarray | None = None
    high: np.ndarray | None = None

    @property
    def covariance(self) -> np.ndarray:
        """Of the values, shape (values, values)."""
        return self.root @ self.root.T

    @property
    def sd(self) -> np.ndarray:
        """Standard deviation of each value."""
        return np.sqrt((self.root**2).sum(axis=1))


def merged(bodies: Sequence[Known]) -> tuple[tuple[Source, ...], list[np.ndarray]]:
    """Set several bodies over one list of errors: what they share stands in the same columns.

    Returns `roots` (values, errors): one for each body.
    """
    sources = tuple({one.identity: one for body in bodies for one in body.sources}.values())
    start = dict(zip((one.identity for one in sources), _starts(sources)[:-1], strict=True))
    roots = []
    for body in bodies:
        root = np.zeros((body.value.size, _starts(sources)[-1]))
        for one, own in zip(body.sources, _starts(body.sources)[:-1], strict=True):
            root[:, start[one.identity] : start[one.identity] + one.columns] = body.root[:, own : own + one.columns]
        roots.append(root)
    return sources, roots


def shared_covariance(a: Known, b: Known) -> np.ndarray:
    """Give the covariance of the errors of two bodies, whatever results they come from.

    Parameters
    ----------
    a, b : Known
        From ``known_from`` or ``from_certificate``.

    Returns
    -------
    numpy.ndarray, shape (values of a, values of b)
        Zero where they have no source in common.

    Examples
    --------
    >>> from simulate.readings.reference.certificate import from_certificate
    >>> square = from_certificate("S", "squares", 10.0, 4.0)
    >>> shared_covariance(square, square).tolist()
    [[4.0]]
    """
    _, (first, second) = merged((a, b))
    return first @ second.T


def by_source(sources: Sequence[Source], root: np.ndarray) -> list[tuple[Source, np.ndarray]]:
    """Part the columns of a root among its sources."""
    start = _starts(sources)
    return [(one, root[:, start[i] : start[i + 1]]) for i, one in enumerate(sources)]


def laid_along(known: Known, x_mm: np.ndarray, read: np.ndarray) -> np.ndarray:
    """Say how the heights of a known bar are to be mixed for other stations: linearly between neighbours.

    `x_mm` (stations,). `read` (stations,) of bool: where it is read; beyond its ends it must not be. Returns (stations,
    values).
    """
    ends = (float(known.x_mm.min()), float(known.x_mm.max()))
    beyond = read & ((x_mm < ends[0] - SAME_PLACE_MM) | (x_mm > ends[1] + SAME_PLACE_MM))
    if beyond.any():
        raise _beyond(known, f"position {x_mm[beyond][0]:g} mm", f"from {ends[0]:g} to {ends[1]:g} mm")
    order = np.argsort(known.x_mm)
    mix = np.array([np.interp(x_mm, known.x_mm[order], one) for one in np.eye(order.size)[:, order]]).T
    return _snapped(mix, np.abs(x_mm[:, None] - known.x_mm))


def laid_over(known: Known, x_mm: np.ndarray, y_mm: np.ndarray) -> np.ndarray:
    """Say how the heights of a known plate are to be mixed for other stations: linearly over triangles.

    Returns (stations, values).
    """
    places, wanted = np.stack([known.x_mm, known.y_mm], axis=1), np.stack([x_mm, y_mm], axis=1)
    away = np.hypot(*(wanted[:, None] - places).transpose(2, 0, 1))
    if (away.min(axis=1) <= SAME_PLACE_MM).all():
        return _snapped(np.zeros(away.shape), away)
    net = scipy.spatial.Delaunay(places)
    inside = net.find_simplex(wanted, tol=1e-6)
    beyond = (inside < 0) & (away.min(axis=1) > SAME_PLACE_MM)
    if beyond.any():
        x, y = wanted[beyond][0]
        raise _beyond(known, f"x {x:g}, y {y:g} mm", "within the stations it is known at")
    corner = net.transform[inside]
    part = np.einsum("nij,nj->ni", corner[:, :2], wanted - corner[:, 2])
    mix = np.zeros(away.shape)
    np.put_along_axis(mix, net.simplices[inside], np.column_stack([part, 1 - part.sum(axis=1)]), axis=1)
    return _snapped(mix, away)


def _snapped(mix: np.ndarray, away: np.ndarray) -> np.ndarray:
    """Take the height itself where a station is one that is known."""
    at = away.argmin(axis=1)
    same = away.min(axis=1) <= SAME_PLACE_MM
    mix[same] = np.eye(away.shape[1])[at[same]]
    return mix


def _beyond(known: Known, found: str, ends: str) -> Refusal:
    return Refusal(
        "range",
        where=f"{known.name}, known from {known.said},",
        found=f"read at {found}",
        must_be=ends,
        do="Read it there only where it is known, and count positions from the same end in both sets",
    )


def _starts(sources: Sequence[Source]) -> np.ndarray:
    return np.concatenate([[0], np.cumsum([one.columns for one in sources])]).astype(int)
