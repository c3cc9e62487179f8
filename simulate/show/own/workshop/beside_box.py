"""The learner's own rounds beside simulated workshops, with the share and the hands that these work with."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager

import ipywidgets as widgets

from simulate.readings.outcome.findings_record import Findings
from simulate.show.drawing import style
from simulate.show.own.beside_words import ONE_ROUND
from simulate.show.own.workshop.report import parts_html
from simulate.show.own.workshop.report_content import Part, rounds_part

FOUND = "as my own rounds show"
"""What stands in a list where the learner states nothing."""
SHARES = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
HANDS_UM = (0.0, 0.5, 1.0, 2.0, 3.0, 5.0, 10.0, 20.0)
_STYLE = {"description_width": "17em"}


class BesideBox:
    """How the work gets on, and two lists for what the simulated workshops do.

    `acting`: gives a context in which a fault shows itself.
    """

    def __init__(self, units: str, acting: Callable[[], AbstractContextManager]) -> None:
        self.units, self._acting = units, acting
        self._found: Findings | None = None
        self.told = widgets.HTML()
        self.told.add_class("workshop-tables")
        shares = [(f"{100 * one:.0f} %", one) for one in SHARES]
        hands = [(style.spell(one, units), one) for one in HANDS_UM]
        self.share = _list("Simulated share per round", shares)
        self.hands = _list("Simulated unevenness, 1 SD", hands)
        for one in (self.share, self.hands):
            one.observe(self._changed, names="value")
        self.lists = widgets.Box([self.share, self.hands], layout=widgets.Layout(flex_flow="row wrap"))
        self.view = widgets.VBox([self.told, self.lists])

    def show(self, found: Findings) -> None:
        """Show the rounds of what was found; for one round how a second one comes to be compared."""
        self._found = found
        part = rounds_part(found, self.units, _value(self.share), _value(self.hands))
        self.lists.layout.display = "none" if part is None else ""
        one = Part("Progress over your rounds", (ONE_ROUND,))
        self.told.value = "" if found.kind == "wedge" else parts_html((part or one,), 3)

    def _changed(self, _change: object) -> None:
        with self._acting():
            if self._found is not None:
                self.show(self._found)


def _list(words: str, options: list[tuple[str, float]]) -> widgets.Dropdown:
    layout = widgets.Layout(width="32em")
    return widgets.Dropdown(options=[(FOUND, None), *options], description=words, style=_STYLE, layout=layout)


def _value(one: widgets.Dropdown) -> float | None:
    return None if one.value is None else float(one.value)
