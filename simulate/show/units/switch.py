"""Metric or inch: one switch for text, panels and questions, remembered from lesson to lesson."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets

from simulate.core.refusal import Refusal
from simulate.readings.logbook.logbook import write_whole
from simulate.show.drawing import style
from simulate.show.units.lengths import script, with_inches, with_micro
from simulate.show.units.turning import turn_all

REMEMBERED = Path("my_units.txt")
"""Stands in the learner's own folder, beside the logbook."""

_CHOICES = (("metric: µm and mm", "mm"), ("inch: thou and in", "inch"))
SAID = {"mm": "Metric: heights in µm, places in mm.", "inch": "Inch: heights in thou (0.001 in), places in inches."}
"""What the switch says, also where it is stored without a kernel."""

_AT_ONCE = (
    "Text, questions and panels change immediately. Animations, the plan, the practice bench and panels with your own "
    "figures change when you choose Run, then Run All Cells."
)


def chosen_units(units: str | None = None, remembered: Path = REMEMBERED) -> str:
    """Return the units to draw and speak in.

    `units`: ``"mm"`` or ``"inch"`` where a panel was asked for them; None takes what the switch was left at. Returns:
    metric where nothing readable was remembered.

    >>> chosen_units("inch"), chosen_units(None, Path("no such file"))
    ('inch', 'mm')
    """
    if units is not None:
        if units not in style.UNITS:
            raise Refusal("choice", where="units", found=f"{units!r}", must_be="'mm' or 'inch'")
        return units
    try:
        kept = remembered.read_text(encoding="ascii").strip()
    except (OSError, ValueError):
        return "mm"
    return kept if kept in style.UNITS else "mm"


def in_both(text: str, units: str | None = None) -> str:
    """Put inches beside the lengths of a sentence, where inches were chosen.

    `text`: with lengths such as "12 µm", "12 um" or "500 mm".

    >>> in_both("The gap is 12.7 µm at 254 mm.", "inch")
    'The gap is 12.7 µm (0.5 thou) at 254 mm (10 in).'
    >>> in_both("The gap is 12.7 µm.", "mm")
    'The gap is 12.7 µm.'
    """
    text = with_micro(text)
    return text if chosen_units(units) == "mm" else with_inches(text)


class UnitSwitch:
    """The switch at the start of a lesson.

    `remembered`: the file that keeps the choice.

    >>> UnitSwitch(Path("no such file"))
    Metric: heights in µm, places in mm.
    """

    def __init__(self, remembered: Path = REMEMBERED) -> None:
        self.remembered = remembered
        self.buttons = widgets.ToggleButtons(
            options=_CHOICES, value=chosen_units(None, remembered), description="Units", style={"button_width": "12em"}
        )
        self.said = widgets.HTML()
        turner = {"output_type": "display_data", "metadata": {}, "data": {"text/html": f"<script>{script()}</script>"}}
        self.view = widgets.VBox([self.buttons, self.said, widgets.Output(outputs=(turner,))])
        self.view.add_class("workshop-panel").add_class("workshop-units").add_class(
            f"workshop-units-{self.buttons.value}"
        )
        self.buttons.observe(self._choose, names="value")

    def _choose(self, change) -> None:
        self.view.remove_class(f"workshop-units-{change.old}").add_class(f"workshop-units-{change.new}")
        try:
            write_whole(self.remembered, change.new.encode())
        except Refusal as refused:
            said = f"The choice was not kept: {refused}"
        else:
            said = f"{SAID[change.new]} Kept for every lesson. {_AT_ONCE}"
        self.said.value = f"<p role='status'>{said}</p>"
        turn_all(change.new)

    def __repr__(self) -> str:
        """Return which units are in use."""
        return SAID[self.buttons.value]

    def _repr_mimebundle_(self, **_kwargs) -> dict:
        view = {"version_major": 2, "version_minor": 0, "model_id": self.view.model_id}
        return {"application/vnd.jupyter.widget-view+json": view, "text/plain": repr(self)}
