"""A list for a figure that the learner may know, and that is otherwise found from the readings."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.show.drawing import style
from simulate.show.panel.controls import Controls

FOUND = "found from the readings"
"""What stands in the list where the learner states nothing."""
STATED = (
    *("reading_sd", "reading_sd_um", "reading_sd_arcsec", "fit_sd_um", "target", "target_um"),
    *("feel_um", "place_mm", "resolution_um", "bend_um", "blade_mm"),
)
"""Names of the controls by which a learner states something of readings that changes what they say."""
STEPS_UM = (0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)
STEPS_MM = (0.0, 0.5, 1.0, 2.0, 5.0)
MOST = 1000.0


def stated_menu(
    controls: Controls, name: str, words: str, value: float | None = None, nought: bool = True
) -> widgets.Dropdown:
    """Add a list of figures from which a learner states one, or leaves it to the readings.

    `name`, `words`: key of the value in `draw`, which ends with its unit, ``um`` or ``mm``, and the visible label.
    `value`: in that unit; one of its own stands in the list as well. `nought`: whether 0 may be stated.

    >>> stated_menu(Controls("mm"), "feel_um", "Feel", 4.0).label
    '4.0 µm'
    """
    steps = STEPS_MM if name.endswith("_mm") else STEPS_UM
    options = _options(name, controls.units, steps if nought else steps[1:], value)
    return controls.menu(name, words, options, FOUND if value is None else float(value))


def repeatability_slider(
    controls: Controls, sd_um: float | None, most_um: float, words: str = "Repeatability of a reading"
) -> None:
    """Add a slider for `reading_sd_um`, one standard deviation; `known_boxes` adds its box.

    Without `sd_um` it is found from the readings. `most_um`: where the slider ends.

    >>> from simulate.show.panel.panel import Panel
    >>> panel = Panel("mm")
    >>> repeatability_slider(panel, None, 20)
    >>> known_boxes(panel, reading_sd_um=None)
    >>> panel.values()
    {'reading_sd_um': None}
    """
    controls.height_slider("reading_sd_um", words, 0.5 if sd_um is None else sd_um, 0.5, most_um, 0.5)


def target_slider(controls: Controls, target_um: float | None, words: str) -> None:
    """Add a slider for what is wanted, `target_um`; `known_boxes` adds its box.

    Without `target_um` the best is wanted that the readings can tell.
    """
    controls.height_slider("target_um", words, 10.0 if target_um is None else target_um, 1, 500, 1)


def known_boxes(controls: Controls, **figures: float | None) -> None:
    """Add a box for each figure by which it counts; they stand behind other controls.

    `**figures`: by the names of their controls, which are there; those that are known count from the start.
    """
    for name, value in figures.items():
        words = "Repeatability is known" if name.startswith("reading_sd") else "Stop at the target"
        controls.only_if(name, words, value is not None)


def state(menu: widgets.Dropdown, name: str, value: float | None, units: str) -> None:
    """Choose a figure in such a list, adding it where the list has it not.

    >>> menu = widgets.Dropdown(options=[(FOUND, FOUND)])
    >>> state(menu, "feel_um", 7.0, "mm")
    >>> menu.label, stated(menu.value)
    ('7.0 µm', 7.0)
    """
    steps = [at for _, at in menu.options if at != FOUND]
    menu.options = _options(name, units, steps, value)
    menu.value = FOUND if value is None else float(value)


def put_stated(control: widgets.Widget, name: str, value: object, units: str) -> None:
    """Set a control to what it stood at once, whatever it offers now.

    >>> slider = widgets.FloatSlider(value=1, max=10)
    >>> put_stated(slider, "reading_sd_um", 12.0, "mm")
    >>> slider.value
    12.0
    """
    if isinstance(control, widgets.Dropdown):
        state(control, name, None if value == FOUND else float(value), units)
        return
    if isinstance(control, widgets.FloatSlider):
        control.max = max(control.max, float(value))  # what was kept is never clipped in silence
    control.value = value


def _options(name: str, units: str, steps: Sequence[float], value: float | None) -> list[tuple[str, float | str]]:
    unit, spell = ("mm", _place_words) if name.endswith("_mm") else ("µm", style.spell)
    if value is not None and not 0 <= value <= MOST:
        raise Refusal("range", where=name, found=f"{value:g} {unit}", must_be=f"0 to {MOST:g} {unit}, or left out")
    figures = sorted({*steps, *(() if value is None else (float(value),))})
    return [(FOUND, FOUND), *((spell(at, units), at) for at in figures)]


def _place_words(mm: float, units: str) -> str:
    return f"{style.place(mm, units):.2g} {'in' if units == 'inch' else 'mm'}"


def stated(value: float | str) -> float | None:
    """Give what was chosen in such a list, None where it is left to the readings.

    >>> stated(FOUND), stated(3.0)
    (None, 3.0)
    """
    return None if value == FOUND else float(value)
