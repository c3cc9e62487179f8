"""What is said of one square that was proved against itself."""

from __future__ import annotations

import numpy as np

from simulate.core.number_format import three
from simulate.readings.network import network_words
from simulate.readings.network.solve_heights import SolvedHeights


def hidden(heights: SolvedHeights, ways: dict[str, set], taper_said: bool, base_sd_urad: float) -> tuple[str, ...]:
    """Say what these readings of one square cannot show.

    `ways`: how each gauge was turned.
    """
    gauges = [by for by in ways if by in ("strip", "roller")]
    said = list(network_words.hidden_words(heights, {}))
    for by, turned in ways.items():
        if by == "roller" and not _goes_round(turned):
            said.append(
                "The lean of the roller's axis cannot be separated from the error of the square: read it half a turn "
                "on, or in three turns."
            )
        elif by in ("strip", "dial") and len(turned) < 2:
            said.append(
                f"By {by} the square was read in one position only, and the lean of the gauge cannot be separated "
                "from its error."
            )
    if gauges and not taper_said:
        said.append(
            f"The sides of the {' and the '.join(gauges)} were taken to be parallel: half of any taper counts as the "
            "square's error, and no reading would reveal it. Measure it at both heights, and give taper_um and "
            "taper_sd_um."
        )
    said.append(
        f"The flat or the edge under the base was taken to be true within {three(base_sd_urad)} um/m (one standard "
        "deviation)."
        if base_sd_urad > 0
        else "The flat or the edge under the base was taken to be true: any error in it counts as the square's, and "
        "no reading would reveal it. Give its standard deviation in a column base_sd_um_m."
    )
    said.append(
        "The angle is that of a line through the heights that were read: a blade that is bent shows as scatter."
    )
    return tuple(said)


def _goes_round(turned_deg: set) -> bool:
    """Say whether turns of a roller part its lean from what it is held against.

    >>> _goes_round({0.0, 180.0}), _goes_round({0.0, 90.0}), _goes_round({0.0, 90.0, 180.0})
    (True, False, True)
    """
    part = np.radians(sorted(turned_deg))
    rows = np.stack([np.cos(part), np.sin(part), np.ones(part.size)])
    mean = np.linalg.pinv(rows) @ np.array([0.0, 0.0, 1.0])
    return bool(np.allclose(rows @ mean, [0.0, 0.0, 1.0], atol=1e-6))
