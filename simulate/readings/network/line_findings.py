"""What lines over a face say, however they were read: the findings of an edge and of a level."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.readings.adjustment.consistency import consistency
from simulate.readings.adjustment.shared_errors import blunders
from simulate.readings.network import line_words, network_words
from simulate.readings.network.further import Rows, further_lines, next_of
from simulate.readings.network.heights import Network
from simulate.readings.network.line_work import SolvedLines, cut_of, form_of, line_features, refuse_formless, stop_of
from simulate.readings.network.solve_heights import solve_heights
from simulate.readings.outcome.findings_record import FILING, PLATES, Findings, cautions, left_out_words, sentence_of


def solved_lines(
    network: Network,
    lines: dict[str, np.ndarray],
    needs: str,
    feel_um: float | None = None,
    place_mm: float | None = None,
    bounds: bool = True,
) -> SolvedLines:
    """Work out the heights of lines and what they come to.

    `lines`: places of each line in order. `needs`: what would tell a form.
    """
    heights = solve_heights(network, feel_um, place_mm, bounds)
    features = line_features(heights, lines)
    refuse_formless(network, features, needs)
    return SolvedLines(heights=heights, lines=lines, features=features)


def line_findings(
    kind: str,
    found: SolvedLines,
    hidden: Sequence[str],
    rows: Rows,
    same_mm: float,
    target_um: float | None = None,
) -> Findings:
    """Say what lines over a face say.

    `hidden`: what readings like these cannot show. `rows`: what a further line would show (`further_lines`). `same_mm`:
    places nearer than this are one.
    """
    heights = found.heights
    net = heights.network
    agree = consistency(heights.equations, heights.solved)
    following = next_of(heights, further_lines(found.lines, heights, rows, same_mm))
    cut = cut_of(heights)
    stop = stop_of(found, target_um, following.name if following else "")
    return Findings(
        kind,
        net.source,
        net.round,
        found,
        (
            line_words.first(found),
            *network_words.known_words(heights),
            network_words.spread_words(heights),
            *network_words.bounds_words(heights),
            *left_out_words(heights.by_intervals, net.points, f"solve_{kind}"),
            *network_words.prior_words(heights),
            *agree.sentences,
            *sentence_of(following),
            stop.sentence,
        ),
        network_words.HEADING,
        network_words.feature_rows(found.features),
        agree,
        (*hidden, *blunders(agree, net.instruments[0].unit)),
        following,
        line_words.no_cut(heights) if cut is None else cut.sentences,
        cautions(heights.sd_from, FILING, PLATES),
        *network_words.detail(heights, None if cut is None else cut.remove_um[0]),
        map=cut,
        stop=stop,
        form_um=form_of(found.features),
        sd_from=heights.sd_from,
    )
