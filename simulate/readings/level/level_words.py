"""What is said of slopes along lines."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three
from simulate.readings.level.level_network import LevelLines
from simulate.readings.network import line_words, network_words
from simulate.readings.network.line_work import SolvedLines


def hidden(found: SolvedLines, read: LevelLines) -> tuple[str, ...]:
    """Say what slopes along these lines cannot show."""
    heights, net = found.heights, read.network
    said = list(line_words.unseen_words(found))
    drift = np.zeros(len(net.row))
    for number in range(len(net.groups)):
        mine = np.flatnonzero(net.group == number)
        drift[mine] = np.linspace(0, 1, mine.size) if mine.size > 1 else 0.0
    if drift.any():
        said.append(
            network_words.shared_words(
                heights, drift, "A reading that drifts by 1 arcsec from the first step to the last of every line"
            )
        )
    said.append(
        "An instrument that reads 1 % too much makes every height 1 % too large, and no reading would reveal it."
    )
    said.append(
        f"What lies off the lines is unknown, and so is every wave shorter than a step of {three(read.step_mm)} mm."
    )
    if read.uneven:
        said.append(
            f"The steps of {', '.join(read.uneven)} are not all the same length. A base reads the slope over its own "
            "length alone, so this holds only if the base was changed with the step."
        )
    return tuple(said)
