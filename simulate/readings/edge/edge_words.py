"""What is said of a straightedge along lines of a plate."""

from __future__ import annotations

from simulate.readings.edge.edge_network import EdgeLines
from simulate.readings.network import line_words, network_words
from simulate.readings.network.against_known import STRAIGHTEDGE
from simulate.readings.network.line_work import SolvedLines


def hidden(found: SolvedLines, read: EdgeLines) -> tuple[str, ...]:
    """Say what an edge along these lines cannot show."""
    proud = "An edge that is proud by 1 um in the middle of every line"
    bow = network_words.shared_words(found.heights, read.bow, proud)
    laid = found.heights.network.laid
    known = laid is not None and any(one.name == STRAIGHTEDGE for one in laid.references)
    return (
        *line_words.unseen_words(found),
        *(() if known else (f"{bow} Turning it end for end shows an S in it, but never a bow.",)),
        "What lies off the lines is unknown, and so is what lies between two places of a line.",
    )
