"""What a solution of bars says of itself, in sentences made once."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three
from simulate.readings.bars.bar_network import Network

_HOW = {
    "given": "as given",
    "residuals": "from the redundant readings",
    "intervals": "from the width of the intervals",
    "resolution": "which is the step of the readings: they agree to the last digit",
    "assumed": "assumed, as there are no redundant readings",
}


def solved_sentence(
    names: tuple[str, ...], zone_um: np.ndarray, sd_um: float, sd_from: str, left_out: tuple[int, ...] = (), *more: str
) -> str:
    """Say which bar is best and how good a reading is.

    `zone_um` (bodies,). `sd_um`: inf where no reading has two ends. `left_out`: lines that took no part. `*more`:
    further sentences, empty ones left out.

    >>> solved_sentence(("A", "B"), np.array([4.0, 9.0]), 1.0, "given")
    'A is the best bar, straight within 4 um (B 9 um); the repeatability of a reading is 1 um, as given.'
    """
    order = np.argsort(zone_um, kind="stable")
    others = ", ".join(f"{names[i]} {three(zone_um[i])} um" for i in order[1:])
    said = f"{names[order[0]]} is the best bar, straight within {three(zone_um[order[0]])} um ({others})"
    if len(names) == 1:  # read against bars that were known already
        said = f"{names[0]} is straight within {three(zone_um[0])} um"
    said += f"; the repeatability of a reading is {three(sd_um)} um, {_HOW[sd_from]}." if np.isfinite(sd_um) else "."
    if left_out:
        said += (
            f" Row{'s' * (len(left_out) > 1)} {', '.join(map(str, left_out))} were left out: with the bar turned "
            "they fall where no other fit was read. Choose stations that are symmetric about the middle."
        )
    return " ".join([said, *(one for one in more if one)])


def open_sentence(network: Network, hollow_um: np.ndarray | None, rows: tuple[int, ...]) -> str:
    """Say what readings without an upper end leave open, and what is certain all the same.

    `hollow_um` (bodies + 1, points). Returns: empty where every reading has two ends.
    """
    if not rows:
        return ""
    certain = certainly_hollow(network, hollow_um)
    return " ".join([open_words(len(rows), "bars"), *([certain] if certain else [])])


def open_words(count: int, bodies: str) -> str:
    """Say that readings without an upper end leave something open."""
    start = "1 reading has" if count == 1 else f"{count} readings have"
    return (
        f"{start} no upper limit, so how hollow the {bodies} are there is not settled. The 95 % ranges assume that the "
        f"shape of the {bodies} is smooth; the guaranteed bounds do not."
    )


def certainly_hollow(network: Network, hollow_um: np.ndarray | None) -> str:
    """Say where the bars are hollow whatever their shape, and so where to file.

    `hollow_um` (bodies + 1, points).
    """
    if hollow_um is None or not (hollow_um > 1e-3).any():
        return ""
    depth = hollow_um.max(axis=1)
    own = [
        (network.names[i], depth[i], network.x_mm[int(np.argmax(hollow_um[i]))])
        for i in np.flatnonzero(depth[:-1] > 1e-3)
    ]
    if depth[-1] > max([one[1] for one in own], default=0.0):
        at = network.x_mm[int(np.argmax(hollow_um[-1]))]
        return (
            f"The bars are certainly at least {three(depth[-1])} um hollow at {at:g} mm, on average: file their ends."
        )
    return " ".join(
        f"{name} is certainly at least {three(deep)} um hollow at {at:g} mm: file its ends." for name, deep, at in own
    )
