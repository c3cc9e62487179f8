"""What choices cost, in words: a choice against another, in micrometres and in hours."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from simulate.method.planning.choices import REST_H, ChoiceCost
from simulate.show.drawing import style

_SUBJECT = {
    "way": "File led",
    "side": "Side of the file",
    "look": "Looked at",
    "held": "Bar held",
    "rest": "After a fit",
}
HEAD = ("your choice", "instead of", "worst bar", "hours of work")


def cost_rows(costs: Sequence[ChoiceCost], units: str = "mm") -> list[tuple[str, str, str, str]]:
    """Give what choices cost as rows of words.

    Parameters
    ----------
    costs : sequence of ChoiceCost
    units : str

    Returns
    -------
    list of (choice, what it was held against, worst bar, hours)
        The median and the middle 90 % of the workshops, with a sign: + is more than with the other choice. What may
        be chance is marked.

    Examples
    --------
    >>> worst, hours = np.array([[-1.0, 2.0, 5.0], [-5.0, -2.0, 1.0]])
    >>> cost_rows([ChoiceCost("side", "bellied", "flat", worst, hours, (True, False), 200)])[0][2:]
    ('+2.0 µm (-1.0 to +5.0 µm)', '-2.0 h (-5.0 to +1.0 h), perhaps by chance')
    """
    unit, name = style.small(1.0, units), style.small_unit(units)
    return [
        (
            f"{_SUBJECT[cost.name]}: {_option(cost.chosen)}",
            _option(cost.instead),
            _signed(unit * cost.worst_um, name, cost.clear[0], 1 if units == "mm" else 2),
            _signed(cost.hours, "h", cost.clear[1], 1),
        )
        for cost in costs
    ]


def cost_caption(costs: Sequence[ChoiceCost]) -> str:
    """Say what rows of costs are."""
    return (
        f"What each choice costs in the loop of three: {costs[0].workshops} workshops on these bars, and the same with "
        "that one choice changed. Medians, with the range of nine workshops in ten in brackets; + is more "
        "with your choice. Hours of "
        "rest are not work."
    )


def _option(name: str) -> str:
    return f"rested {REST_H:g} h" if name == "rested" else name


def _signed(three: np.ndarray, unit: str, clear: bool, places: int) -> str:
    places -= bool(np.abs(three).max() >= 9.95)
    low, half, high = (f"{round(float(v), places) + 0.0:+.{places}f}" for v in three)
    return f"{half} {unit} ({low} to {high} {unit}){'' if clear else ', perhaps by chance'}"
