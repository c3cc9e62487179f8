"""Prints of a run of plates: the grain that the scraper left, laid on the form of each step."""

from __future__ import annotations

from simulate.bench.cutting.scrape_marks import Scraped, grain, pitch_mm
from simulate.bench.looking.spotting import Print, rub
from simulate.method.plates.plate_history import PlateHistory


def print_at(history: PlateHistory, place: int) -> Print:
    """What the pair of one step prints.

    Parameters
    ----------
    history : PlateHistory
        Of one workshop, with its steps.
    place : int
        Counted from 0.

    Returns
    -------
    Print
        With the film of that step.

    Notes
    -----
    Form and grain are kept apart: the loop lays and scrapes the form, on its own grid; where a step took metal, its
    marks ride on it. Plates start without marks, as from a grinder.

    Examples
    --------
    >>> import numpy as np
    >>> from simulate.method.plates.three_plate_loop import three_plates
    >>> x = np.linspace(-100, 100, 31)
    >>> dome = -30 * (x**2 + x[:, None] ** 2) / 100**2
    >>> run = three_plates(x, x, np.stack([dome] * 3), removal_um=20, passes=90, seed=1)
    >>> first, last = (print_at(run, k).bearing for k in (0, 89))
    >>> first < 0.3, 0.2 < last < 0.5
    (True, True)
    """
    step, mm = history.steps[place], history.x_mm[1] - history.x_mm[0]
    cuts: list[list[Scraped]] = [[] for _ in step.height_um]
    for past in history.steps[:place]:
        for plate in (past.lower, past.upper):
            cuts[plate].append(Scraped(past.removed_um[plate], pitch_mm(past.depth_um), (past.number, plate)))
    faces = [grain(cuts[plate], step.gap_um.shape, mm) for plate in (step.lower, step.upper)]
    return rub(
        history.x_mm, history.y_mm, step.gap_um, *faces, turned=step.turned, slide=step.slide, film_um=step.film_um
    )
