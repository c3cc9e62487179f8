"""A body that a certificate vouches for: its form within a value, or its angle, with an expanded uncertainty."""

from __future__ import annotations

import hashlib

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal, counted
from simulate.core.spaces import symmetric_root
from simulate.readings.adjustment.shape_prior import smooth_shapes
from simulate.readings.reference.known import Known, Source
from simulate.surface.flatness import flatness
from simulate.surface.straightness import straightness

_DRAWS = 100


def from_certificate(
    name: str,
    kind: str,
    value: float,
    expanded: float,
    k: float = 2.0,
    *,
    x_mm: np.ndarray | None = None,
    y_mm: np.ndarray | None = None,
    said: str = "",
) -> Known:
    """Take a body as known from its certificate.

    Parameters
    ----------
    name : str
        What it is called in the readings.
    kind : str
        ``"bars"``, ``"plates"`` or ``"squares"``.
    value : float
        Straightness or flatness in um, the minimum zone; of a square its angle in urad, positive leaning away.
    expanded : float
        Expanded uncertainty of it, in the same unit.
    k : float
        Coverage factor of `expanded`.
    x_mm, y_mm : numpy.ndarray, shape (points,), optional
        Stations it is read at; y for plates only, neither for a square.
    said : str
        Whose certificate and when, for sentences.

    Returns
    -------
    Known
        What it cannot see: which shape the body has. A certificate of form says how far it is out and not where.

    Raises
    ------
    ValueError
        Where a figure is out of its range, or places are missing.

    Notes
    -----
    Of a form nothing is known but its size, so every smooth shape that large is as likely as its opposite: heights of
    mean zero with the smooth and the rough shapes of ``shape_prior`` mixed alike, in such a size that the root mean
    square of their minimum zone is that of the certificate, value and standard uncertainty (``expanded / k``,
    JCGM 100:2008, 4.3.3) together. An angle is normal about its value.

    Examples
    --------
    >>> square = from_certificate("S", "squares", 10.0, 4.0)
    >>> square.value.tolist(), square.sd.tolist()
    ([10.0], [2.0])
    >>> edge = from_certificate("K", "bars", 3.0, 1.0, x_mm=np.linspace(0, 500, 11))
    >>> bool(edge.sd.round(1).max() < 3)
    True
    """
    checks.choice(kind, "kind", ("bars", "plates", "squares"))
    checks.number(value, "value", *((-1e5, 1e5) if kind == "squares" else (0, 1e5)))
    checks.number(expanded, "expanded", 0, 1e5)
    checks.number(k, "k", 0, 10, above=True)
    said = said or f"its certificate, {value:g} {'urad' if kind == 'squares' else 'um'}, U = {expanded:g} (k = {k:g})"
    places: dict[str, np.ndarray] = {}
    if kind == "squares":
        height, root = np.array([float(value)]), np.array([[expanded / k]])
    else:
        places = _places(kind, x_mm, y_mm)
        root = float(np.hypot(value, expanded / k)) * _of_unit_form(*places.values())
        height = np.zeros(len(root))
    figures = f"{name} {kind} {value} {expanded} {k} {said}".encode()
    source = Source(
        identity=hashlib.sha256(b"".join([figures, *(np.ascontiguousarray(p).tobytes() for p in (root,))])).hexdigest(),
        said=said,
        columns=root.shape[1],
    )
    return Known(name=name, kind=kind, value=height, root=root, sources=(source,), said=said, **places)


def _places(kind: str, x_mm: np.ndarray | None, y_mm: np.ndarray | None) -> dict[str, np.ndarray]:
    given = {"x_mm": x_mm} if kind == "bars" else {"x_mm": x_mm, "y_mm": y_mm}
    if any(one is None for one in given.values()):
        raise Refusal(
            "count",
            where="places",
            found="none",
            must_be="the stations that the body is read at",
            do="Give x_mm, and y_mm of a plate",
        )
    found = {name: checks.numbers(one, name).ravel() for name, one in given.items()}
    if len({one.size for one in found.values()}) > 1:
        raise Refusal(
            "shapes",
            where="x_mm and y_mm",
            found=" and ".join(str(one.size) for one in found.values()),
            must_be="equally long, one of each for every station",
        )
    count, least = len(np.unique(np.stack(list(found.values())), axis=1).T), 3 if kind == "bars" else 4
    if count < least:
        raise Refusal(
            "count",
            where="places",
            found=counted(count, "station"),
            must_be=f"{least} or more, because any {least - 1} lie in one {'line' if kind == 'bars' else 'plane'}",
            do="Give every station at which the body is read",
        )
    return found


def _of_unit_form(*places: np.ndarray) -> np.ndarray:
    """Give a root of heights whose minimum zone is 1, root mean square."""
    at = np.stack([(one - one.mean()) / max(np.ptp(one) / 2, 1e-9) for one in places], axis=1)
    full, _ = np.linalg.qr(np.column_stack([np.ones(len(at)), at]), mode="complete")
    free = full[:, at.shape[1] + 1 :]
    root = free @ symmetric_root(smooth_shapes(at, free)[1:].mean(axis=0))
    draws = np.random.default_rng(1).standard_normal((_DRAWS, root.shape[1])) @ root.T
    zone = straightness if len(places) == 1 else flatness
    form = np.array([float(zone(*places, one).value_um) for one in draws])
    return root / float(np.sqrt(np.mean(form**2)))
