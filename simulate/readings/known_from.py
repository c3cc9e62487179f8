"""A body of an earlier result as a reference for the next readings."""

from __future__ import annotations

import hashlib
from dataclasses import replace

import numpy as np

from simulate.core import checks
from simulate.core.refusal import Refusal
from simulate.core.spaces import symmetric_root
from simulate.readings.reference.dependence import Dependence
from simulate.readings.reference.known import Known, Source, merged
from simulate.readings.told_bodies import Told, told_bodies


def known_from(solution: object, body: str, name: str | None = None, said: str = "") -> Known:
    """Take a body of an earlier result as known.

    Parameters
    ----------
    solution : object
        From ``solve_bars``, ``solve_plates``, ``solve_squares``, ``solve_lands``, ``union_jack``, ``solve_level``,
        ``solve_edge`` or ``solve_bed``.
    body : str
        A body of it; one that was known already counts as those readings left it. Of lands it is ``"the bar"``, of a
        survey, a level and an edge ``"the plate"`` or a line such as ``"line a"``, of a bed a way such as ``"front"``.
    name : str, optional
        What it is called in the readings to come; the same where it is not said.
    said : str
        Which set it was and when, for sentences.

    Returns
    -------
    Known
        Its heights or angle with all of their covariance, as errors of the set it comes from and of what that set
        depends on in turn. What it cannot see: wear, a blow or a file since then, and anything between stations.

    Raises
    ------
    ValueError
        Where the result has no such body, or does not settle it.

    Notes
    -----
    Errors of two bodies of one result share their columns, and so do those of two results that rest on one reference:
    where both are used, nothing is counted as independent that is not.

    Examples
    --------
    >>> from simulate.readings.table.read import read_readings
    >>> from simulate.readings.bars.solve_bars import solve_bars
    >>> gaps = {"A,B": (4, 0, 4), "A,C": (2, 0, 2), "B,C": (2, 0, 2)}
    >>> rows = [f"{pair},{x},{g}" for pair, read in gaps.items() for x, g in zip((0, 50, 100), read)]
    >>> table = read_readings("\\n".join(["lower,upper,position_mm,gap_um", *rows]).encode())
    >>> edge = known_from(solve_bars(table, 1.0), "C", said="three bars, 3 May")
    >>> way = "lower,upper,position_mm,gap_um\\nway,C,0,0\\nway,C,50,6\\nway,C,100,0\\n"
    >>> found = solve_bars(read_readings(way.encode()), 1.0, known=[edge])
    >>> found.names, found.straightness_um.round(6).tolist()
    (('way',), [6.0])
    """
    told = told_bodies(solution)
    held = () if told.depends is None else told.depends.references
    checks.choice(body, "body", [*told.bodies, *(one.name for one in held if one.name not in told.bodies)])
    sources, root = _roots(told)
    if told.depends is not None and body not in told.bodies:
        return _again(told.depends, body, name, said, sources, root)
    one = told.bodies[body]
    if not one.at.size or not one.settled:
        raise Refusal(
            "unsettled",
            where=body,
            found="the earlier result leaves it undetermined",
            must_be="a result that determines it, before it can serve as a reference",
        )
    low, high = (None if end is None or len(one.free) else end[one.at] for end in (told.low, told.high))
    return Known(
        name=name or body,
        kind=one.kind,
        value=one.bare(told.value[one.at]),
        root=one.bare(root[one.at]),
        sources=sources,
        said=said or f"{body} of an earlier set",
        low=low,
        high=high,
        x_mm=one.x_mm,
        y_mm=one.y_mm,
    )


def _again(
    of: Dependence, body: str, name: str | None, said: str, sources: tuple[Source, ...], root: np.ndarray
) -> Known:
    """A reference as the readings against it left it."""
    _, roots = merged(of.references)
    sizes = np.cumsum([0, *(one.value.size for one in of.references)])
    i = [one.name for one in of.references].index(body)
    below = len(root) - int(sizes[-1])
    was = of.references[i]
    return replace(
        was,
        name=name or body,
        value=was.value + roots[i] @ of.z_mean,
        root=root[below + sizes[i] : below + sizes[i + 1]],
        sources=sources,
        said=said or was.said,
        low=None,
        high=None,
    )


def _roots(told: Told) -> tuple[tuple[Source, ...], np.ndarray]:
    """What each independent error does to each value of the result, and then to each value of its references."""
    covariance, of = told.covariance, told.depends
    sources: tuple[Source, ...] = ()
    far = np.zeros((len(covariance), 0))
    if of is not None:
        _, roots = merged(of.references)
        every = np.vstack(roots)
        far = np.vstack([of.sensitivity, every @ of.z_covariance])
        across = of.sensitivity @ every.T
        covariance = np.block([[covariance, across], [across.T, every @ of.z_covariance @ every.T]])
        sources = of.sources
    own = symmetric_root(covariance - far @ far.T)
    source = Source(
        identity=hashlib.sha256(
            b"".join(np.ascontiguousarray(part).tobytes() for part in (told.value, covariance))
        ).hexdigest(),
        said=", ".join(told.bodies),
        columns=own.shape[1],
        dof=told.dof,
        assumed=told.assumed,
    )
    return (*sources, source), np.hstack([far, own])
