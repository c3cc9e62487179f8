"""Whether the fits that were read settle the bars, and what to do where they do not."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.core.refusal import counted, listed
from simulate.readings.bars.bar_network import Network, build, settling_fits, unseen
from simulate.readings.reference.known import Known
from simulate.readings.table.readings import Readings, ReadingsError


def without_lone_turns(
    table: Readings, used: Readings, network: Network, known: Sequence[Known] = ()
) -> tuple[Readings, Network, tuple[int, ...]]:
    """Leave out turned readings at places of their own, where the bars are settled without them and not with them.

    `table`: the whole file. `used`: the rows of one round. `network`: of those rows. Returns `left_out`: lines of the
    file that take no part; empty where all do.
    """
    weigh = np.isfinite(used.high_um)
    if not used.turned.any() or used.turned.all() or not unseen(network, weigh):
        return used, network, ()
    plain = set(network.at_lower[~used.turned]) | set(network.at_upper[~used.turned])
    keep = np.array(
        [not t or (a in plain and b in plain) for t, a, b in zip(used.turned, network.at_lower, network.at_upper)]
    )
    if keep.all():
        return used, network, ()
    part = used.rows(keep)
    smaller = build(table, part, known)
    if unseen(smaller, weigh[keep]) and (unseen(smaller) or not unseen(network)):  # an open end tells a shape as well
        return used, network, ()
    return part, smaller, tuple(int(row) for row in used.row[~keep])


def refuse_unsettled(file: str, network: Network, weigh: np.ndarray) -> None:
    """Refuse fits that leave shapes of the bars unseen, and say what would settle them.

    `weigh` (readings,) of bool: readings that count.
    """
    left = unseen(network, weigh)
    if not left:
        return
    read, shapes = ", ".join(network.fit_name(fit) for fit in network.fits), counted(left, "shape")
    if len(network.names) < 3 and network.hold is None:
        allowed = (
            f"a third bar as well, fitted to {network.names[0]} and to {network.names[1]}, or one of the two known "
            "already from an earlier set or a certificate"
        )
    else:
        allowed = "readings at every station of " + listed([network.fit_name(fit) for fit in settling_fits(network)])
        if not weigh.all():
            allowed += ", and a gap_at_most beside each gap_at_least"
    raise ReadingsError(
        file,
        f"the fits that were read ({read}) leave {shapes} of the bars unseen, so they cannot settle the bars",
        allowed,
        column="lower, upper",
        value=read,
        code="unsettled",
    )
