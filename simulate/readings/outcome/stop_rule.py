"""Whether another round is worth it: what is seen, against what scatter alone would show."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from simulate.core import checks
from simulate.core.number_format import three
from simulate.readings.adjustment.bounds import Contradiction, rows_listed, wrong


@dataclass(frozen=True)
class StopRule:
    """Whether to stop filing and why.

    Attributes
    ----------
    floor_um : numpy.ndarray, shape (bodies,)
        A perfectly straight bar read like this would look at most this much out, 95 times in 100.
    straightness_um : numpy.ndarray, shape (bodies,)
    """

    stop: bool
    floor_um: np.ndarray
    straightness_um: np.ndarray
    sentence: str


def stop_from(
    names: tuple[str, ...],
    form_um: np.ndarray,
    floor_um: np.ndarray,
    target_um: float | None = None,
    body: str = "bar",
    true: str = "straight",
) -> StopRule:
    """Hold the form of each body against what scatter alone would show.

    `form_um`, `floor_um` (bodies,): what is seen, and what a perfect body would look like 95 times in 100. `body`,
    `true`: how the sentence calls a body, and what it should be.

    >>> stop_from(("A",), np.array([9.0]), np.array([3.0])).sentence
    'Go on: A is 9 um out, and scatter alone would show no more than 3 um.'
    """
    worst = int(np.argmax((form_um - floor_um).round(6)))
    blind = bool((form_um <= floor_um).all())
    if target_um is not None and (form_um + floor_um <= checks.number(target_um, "target_um", 0, above=True)).all():
        return StopRule(
            True,
            floor_um,
            form_um,
            f"Stop: every {body} is within {target_um:g} um, the scatter of the readings included.",
        )
    if blind:
        said = (
            f"Stop: readings like these cannot tell these {body}s from {true} ones: at most {three(form_um[worst])} um "
            f"is seen, and scatter alone shows up to {three(floor_um[worst])} um. File again only after finer readings."
        )
    else:
        said = (
            f"Go on: {names[worst]} is {three(form_um[worst])} um out, and scatter alone would show no more than "
            f"{three(floor_um[worst])} um."
        )
    return StopRule(blind, floor_um, form_um, said)


def not_told(form_um: np.ndarray, asks: str = "", open_: tuple[str, ...] = ()) -> StopRule:
    """Give no order to stop where the spread of a reading is only assumed, or where readings leave a body open.

    `form_um` (bodies,): nan where it is not settled. `asks`: the reading that would tell the spread, where it is only
    assumed. `open_`: what the readings leave open.

    >>> not_told(np.array([9.0]), asks="B on A turned").stop
    False
    """
    if open_:
        said = (
            f"Do not stop: readings without an upper limit do not settle {', '.join(open_)}. File by what is "
            "certain, and read again with an upper limit."
        )
    else:
        said = (
            "Do not stop yet: the repeatability of a reading is not known, so nothing says what scatter alone would "
            f"show. Read {asks or 'one of them again'}: readings that check each other show it."
        )
    return StopRule(False, np.full(np.shape(form_um), np.nan), form_um, said)


def no_order(form_um: np.ndarray, against: Contradiction | None, open_: tuple[str, ...]) -> StopRule | None:
    """Give no order by readings that contradict each other or leave a body open; None where they do neither.

    Whatever they come to is then no figure to judge a round by either.

    >>> no_order(np.array([9.0]), None, ()) is None, no_order(np.array([9.0]), None, ("A",)).stop
    (True, False)
    """
    if wrong(against):
        return contradicted(form_um, against)
    return not_told(form_um, open_=open_) if open_ else None


def contradicted(form_um: np.ndarray, against: Contradiction) -> StopRule:
    """Give no order to stop or to file where readings contradict each other."""
    rows = rows_listed(against.alone, "or") if against.alone else rows_listed(against.rows)
    said = f"Do not stop: the readings contradict each other. Read {rows} again before you file by them."
    return StopRule(False, np.full(np.shape(form_um), np.nan), form_um, said)
