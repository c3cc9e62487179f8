"""A list for a figure that the learner may know, and that is otherwise found from the readings."""

from __future__ import annotations

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.show import style
from simulate.show.controls import Controls

FOUND = "found from the readings"
"""What stands in the list where the learner states nothing."""
STEPS_UM = (0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)
MOST_UM = 1000.0


def stated_menu(controls: Controls, name: str, words: str, value_um: float | None = None) -> widgets.Dropdown:
    """Add a list of heights from which a learner states one, or leaves it to the readings.

    Parameters
    ----------
    controls : Controls
    name, words : str
        Key of the value in `draw`, and the visible label.
    value_um : float, optional
        One of its own stands in the list as well.

    Returns
    -------
    Dropdown

    Raises
    ------
    ValueError
        Where the figure is no height from 0 to 1000 um.

    Examples
    --------
    >>> stated_menu(Controls("mm"), "feel_um", "Feel", 4.0).label
    '4.0 µm'
    """
    if value_um is not None and not 0 <= value_um <= MOST_UM:
        raise Refusal("range", where=name, found=f"{value_um:g} µm", must_be=f"0 to {MOST_UM:g} µm, or left out")
    heights = sorted({*STEPS_UM, *(() if value_um is None else (float(value_um),))})
    said = [(style.spell(um, controls.units), um) for um in heights]
    return controls.menu(name, words, [(FOUND, FOUND), *said], FOUND if value_um is None else float(value_um))


def stated(value: float | str) -> float | None:
    """Give what was chosen in such a list, None where it is left to the readings.

    Parameters
    ----------
    value : float or str

    Returns
    -------
    float or None

    Examples
    --------
    >>> stated(FOUND), stated(3.0)
    (None, 3.0)
    """
    return None if value == FOUND else value
