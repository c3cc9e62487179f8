"""Bodies that are known already, in a network of heights: the straightedge that was used, or the work itself."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from simulate.core.refusal import Refusal, a_kind_of, counted
from simulate.readings.adjustment.equations import LEAST_SPREAD, NO_ROW
from simulate.readings.network.heights import Instrument, Network
from simulate.readings.network.places import flat_rigid
from simulate.readings.reference.hold import Laid, felt
from simulate.readings.reference.known import Known, by_source, laid_along, merged

STRAIGHTEDGE = "the straightedge"
AS_KNOWN = "what is known of the work"
_SAME_MM = 0.5


def with_known(network: Network, known: Sequence[Known], edge_mm: np.ndarray, of_edge: np.ndarray) -> Network:
    """Put bodies that are known already into a network, with what their errors share.

    `known`: `STRAIGHTEDGE`, or bodies of the network by their names. `edge_mm` (readings,): where on the straightedge
    each reading was taken, from its middle; nan for a reading without one. Its middle is the middle of what it is known
    at. `of_edge` (readings,): what a straightedge that is proud by 1 there does to each reading. Returns: of a
    straightedge each reading is less what it makes of it. A body of the work is tied to what is known of it at the
    places that both have, up to a line or plane of its own, within 0.001 um.
    """
    if not known:
        return network
    edge = [STRAIGHTEDGE] if np.isfinite(edge_mm).any() else []
    flat = network.shape_at.shape[1] == 2
    mine = list(known)
    _refuse(network, mine, edge, flat)
    sources, roots = merged(mine)
    at = np.zeros(len(network.row))
    on_reading = np.zeros((len(network.row), roots[0].shape[1]))
    ties: list[tuple[int, np.ndarray, np.ndarray, np.ndarray]] = []
    mixed = 0
    for one, root in zip(mine, roots, strict=True):
        if one.name == STRAIGHTEDGE:
            per, mixed = _under(one, edge_mm, of_edge)
            at, on_reading = at + per @ one.value, on_reading + per @ root
        else:
            points, values = _shared(network, one)
            ties.append((network.bodies.index(one.name), points, one.value[values], root[values]))
    rooted = np.vstack([on_reading, *(root for _, _, _, root in ties)])
    lay = _block([felt(part) for _, part in by_source(sources, rooted)])
    laid = Laid(references=tuple(mine), sources=sources, lay=lay, mixed=mixed)
    tied = _tied(network, [tie[:3] for tie in ties])
    size = len(network.row)
    on_all = np.zeros((len(tied.row), lay.shape[1]))
    on_all[:size] = on_reading @ lay
    if ties:
        on_all[size:] = -np.vstack([root for _, _, _, root in ties]) @ lay
    return replace(
        tied,
        design=np.hstack([tied.design, on_all]),
        at_known=np.concatenate([at, np.zeros(len(tied.row) - size)]),
        nuisance=(*tied.nuisance, *(f"error {k + 1} of what is known" for k in range(lay.shape[1]))),
        nuisance_sd=np.concatenate([tied.nuisance_sd, np.ones(lay.shape[1])]),
        laid=laid,
    )


def _refuse(network: Network, known: Sequence[Known], edge: list[str], flat: bool) -> None:
    """Refuse what is no known body of these readings."""
    every = [*edge, *network.bodies]
    for one in known:
        if not isinstance(one, Known):
            found, must = a_kind_of(one), "what known_from or from_certificate give"
            raise Refusal("type", where="known", found=found, must_be=must)
        if one.name not in every:
            must = f"one of {', '.join(every)}"
            raise Refusal("choice", where="known", found=one.name, must_be=must)
        kind = "plates" if flat and one.name != STRAIGHTEDGE else "bars"
        if one.kind != kind:
            raise Refusal("choice", where=one.name, found=f"known from {one.kind}", must_be=f"known from {kind}")
    if len({one.name for one in known}) < len(known):
        raise Refusal("choice", where="known", found="given twice for one body", must_be="given once for each")


def _under(one: Known, edge_mm: np.ndarray, of_edge: np.ndarray) -> tuple[np.ndarray, int]:
    """Say what each height of a straightedge does to each reading, and how many places lie between those heights."""
    read = np.isfinite(edge_mm)
    own = np.asarray(one.x_mm, float)
    at = np.where(read, edge_mm, 0.0) + (own.min() + own.max()) / 2
    mix = laid_along(one, at, read) * np.where(read, of_edge, 0.0)[:, None]
    places = np.unique(at[read].round(3))
    away = np.abs(places[:, None] - own).min(axis=1)
    return mix, int((away > _SAME_MM).sum())


def _shared(network: Network, one: Known) -> tuple[np.ndarray, np.ndarray]:
    """Give the places that a body and what is known of it have in common, as points and as values."""
    mine = np.flatnonzero(network.body == network.bodies.index(one.name))
    away = np.abs(network.x_mm[mine, None] - one.x_mm)
    if one.y_mm is not None:
        away = np.hypot(away, network.y_mm[mine, None] - one.y_mm)
    near = away.argmin(axis=1)
    same = away[np.arange(mine.size), near] <= _SAME_MM
    free = flat_rigid(network.x_mm[mine], network.y_mm[mine]).shape[1]
    if same.sum() <= free:
        raise Refusal(
            "count",
            where=f"{one.name}, known from {one.said},",
            found=f"{counted(int(same.sum()), 'place')} read again",
            must_be=f"{free + 1} or more within {_SAME_MM:g} mm",
            do="Count places from the same corner in both sets",
        )
    return mine[same], near[same]


def _tied(network: Network, ties: list[tuple[int, np.ndarray, np.ndarray]]) -> Network:
    """Add to readings that bodies stand as they are known, each up to a line or plane of its own."""
    for body, points, value in ties:
        own = flat_rigid(network.x_mm[points], network.y_mm[points])
        rows = np.zeros((points.size, network.design.shape[1] + own.shape[1]))
        rows[np.arange(points.size), points] = 1.0
        rows[:, network.design.shape[1] :] = -own
        grown = np.pad(network.design, ((0, 0), (0, own.shape[1])))
        tool = Instrument(name=AS_KNOWN, unit="um", sd=LEAST_SPREAD)
        count = np.full(points.size, 0)
        network = replace(
            network,
            design=np.vstack([grown, rows]),
            low=np.concatenate([network.low, value]),
            high=np.concatenate([network.high, value]),
            instrument=np.concatenate([network.instrument, count + len(network.instruments)]),
            instruments=(*network.instruments, tool),
            group=np.concatenate([network.group, count + len(network.groups)]),
            groups=(*network.groups, f"{network.bodies[body]}, as known"),
            row=np.concatenate([network.row, count + NO_ROW]),
            along_mm=np.concatenate([network.along_mm, np.full(points.size, np.nan)]),
            laying=np.concatenate([network.laying, count - 1]),
            nuisance=(*network.nuisance, *(f"lie {k + 1} of {network.bodies[body]}" for k in range(own.shape[1]))),
            nuisance_sd=np.concatenate([network.nuisance_sd, np.full(own.shape[1], np.inf)]),
        )
    return network


def _block(parts: list[np.ndarray]) -> np.ndarray:
    """Set matrices along a diagonal, those without columns too."""
    whole = np.zeros((sum(len(part) for part in parts), sum(part.shape[1] for part in parts)))
    row = column = 0
    for part in parts:
        whole[row : row + len(part), column : column + part.shape[1]] = part
        row, column = row + len(part), column + part.shape[1]
    return whole
