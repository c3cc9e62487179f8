"""Which band is drawn, and what it is worth."""

from __future__ import annotations


def band_sentence(solution, whole: bool, body: str = "bar") -> str:
    """Say what the band of a solution holds.

    `whole`: whether the band for whole bodies is drawn.

    >>> from simulate.readings.bars.solve_bars import solve_bars
    >>> from simulate.readings.table.demo import demo_path
    >>> from simulate.readings.table.read import read_readings
    >>> band_sentence(solve_bars(read_readings(demo_path()), 2.0), True)
    'The band holds a whole bar 95 times in 100.'
    """
    if solution.low_95_um is None:
        return (
            "No band is drawn: there are no redundant readings to show how far readings scatter. One pair read once "
            "more, turned, or a repeatability that you give, would show it."
        )
    prior = " if the shapes are as smooth as is assumed" if solution.open_rows else ""
    if whole:
        return f"The band holds a whole {body} 95 times in 100{prior}."
    return f"The band holds each station by itself 95 times in 100{prior}; a whole {body} lies in it less often."
