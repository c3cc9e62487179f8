"""What to say before a grid is laid out: names, stations, pairs, the unit, and what a division or a film is worth."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as widgets

from simulate.readings.entry.laying_out import FIELDS, UNITS_ALLOWED, laid_out
from simulate.readings.table.units import DIVISION, SMALL
from simulate.show.drawing import style
from simulate.show.units.finding_words import KIND_WORDS

_WIDE = {"style": {"description_width": "16em"}, "layout": {"width": "44em", "max_width": "100%"}}
_FIRST = {"mm": ("um", "mm"), "inch": ("thou", "in")}
_PRINTS = ("bars", "plates")


class LayoutBox:
    """Fields for a new grid, and the button that lays it out.

    `units`: ``"mm"`` or ``"inch"``. `kinds`: to choose from; the choice is hidden where there is one. `lay`: what the
    button does.
    """

    def __init__(self, units: str, kinds: tuple[str, ...], lay: Callable[[], None]) -> None:
        self.units, self.kinds = units, kinds
        self.kind = widgets.Dropdown(
            options=[(KIND_WORDS[kind], kind) for kind in kinds], value=kinds[0], description="Readings of", **_WIDE
        )
        self.unit = widgets.Dropdown(description="Unit of a reading", **_WIDE)
        self.division = widgets.Text(description="Value of one division", placeholder="such as 0.01 mm", **_WIDE)
        self.film = widgets.Text(description="Film thickness", placeholder="such as 3 um; empty: no prints", **_WIDE)
        self._of: dict[str, dict[str, widgets.Text]] = {}  # what was typed for a kind stays while another is looked at
        self._unit_of: dict[str, str] = {}
        self.fields: dict[str, widgets.Text] = {}
        self.button = widgets.Button(
            description="Lay out the grid",
            layout=widgets.Layout(width="14em"),
            tooltip="what was typed into the grid is kept as a draft under another name",
        )
        self.button.add_class("workshop-entry-lay")
        self.button.on_click(lambda _: lay())
        self.rows = widgets.VBox()
        self.view = widgets.VBox([self.rows, self.button], layout=widgets.Layout(padding="2px", overflow="visible"))
        self.kind.observe(self._kind_changed, names="value")
        self.unit.observe(self._unit_changed, names="value")
        self._kind_changed(None)

    def follow(self, kind: str) -> None:
        """Offer a grid for what is shown."""
        if kind in self.kinds:
            self.kind.value = kind

    def _kind_changed(self, change) -> None:
        kind = self.kind.value
        if change is not None:
            self._unit_of[change.old] = self.unit.value
        units = UNITS_ALLOWED.get(kind, SMALL)
        usual = (unit.name for unit in units if unit.name in _FIRST[self.units])
        first = next(usual, units[0].name)
        self.unit.options = [(unit.said, unit.name) for unit in units]
        self.unit.value = self._unit_of.get(kind, first)
        self.fields = self._of[kind] = self._of.get(kind) or self._fields(kind)
        head = (self.kind,) if len(self.kinds) > 1 else ()
        film = (self.film,) if kind in _PRINTS else ()
        self.rows.children = (*head, *self.fields.values(), self.unit, self.division, *film)
        self._unit_changed(None)

    def _fields(self, kind: str) -> dict[str, widgets.Text]:
        words = {"long": "in" if self.units == "inch" else "mm", "small": style.small_unit(self.units)}
        return {
            field.name: widgets.Text(
                value=field.inch if self.units == "inch" else field.mm,
                description=field.label.format(**words),
                placeholder="empty: every pair, one turned" if field.name == "pairs" else "",
                **_WIDE,
            )
            for field in FIELDS[kind]
        }

    def _unit_changed(self, _change) -> None:
        self.division.layout.display = None if self.unit.value == DIVISION else "none"

    def text(self) -> str:
        """Return the text of the table that the fields ask for."""
        kind = self.kind.value
        remarks = []
        if self.unit.value == DIVISION and self.division.value.strip():
            remarks.append(f"division: {self.division.value.strip()}")
        if kind in _PRINTS and self.film.value.strip():
            remarks.append(f"film: {self.film.value.strip()}")
        said = {name: field.value for name, field in self.fields.items()}
        return laid_out(kind, self.unit.value, "in" if self.units == "inch" else "mm", remarks, **said)
