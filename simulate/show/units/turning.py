"""What turns at once with the switch of the units: what stands on the page, and how a panel is made anew."""

from __future__ import annotations

import inspect
import weakref
from functools import wraps
from typing import Any, NamedTuple

import ipywidgets as widgets
from IPython import get_ipython

from simulate.core.refusal import Refusal
from simulate.show.drawing.fault import faults_shown


class _Shown(NamedTuple):
    """One thing on the page: the cell that shows it, the run of that cell, and the thing itself, not kept alive by
    this."""

    cell: str | None
    run: str | None
    thing: weakref.ref


_SHOWN: list[_Shown] = []


def shown(thing: Any) -> None:
    """Have a thing that is put on the page turn with the switch.

    `thing`: with a method ``turn_units(units)``. What an earlier run of the same cell had shown turns no more.
    """
    header = getattr(get_ipython(), "parent_header", None) or {}
    cell, run = header.get("metadata", {}).get("cellId"), header.get("header", {}).get("msg_id")
    _SHOWN[:] = [
        s for s in _SHOWN if s.thing() not in (None, thing) and (cell is None or s.cell != cell or s.run == run)
    ]
    _SHOWN.append(_Shown(cell, run, weakref.ref(thing)))


def turn_all(units: str) -> None:
    """Turn what stands on the page, from the first shown to the last.

    `units` ({"mm", "inch"}).
    """
    faults = []
    for one in tuple(_SHOWN):
        thing = one.thing()
        try:
            if thing is not None:
                thing.turn_units(units)
        except Exception as fault:  # shown by the thing itself; the others turn all the same
            faults.append(fault)
    if faults:
        raise faults[0]


class Turning:
    """A panel that can be made anew in the other unit and keeps its place on the page.

    It remembers the arguments of its outermost constructor. ``beside`` names
    the attributes that live on beside the controls; ``at_once`` is False where
    a panel holds figures or a game that a new one would lose.
    """

    at_once = True
    beside: tuple[str, ...] = ()
    _carried: dict[str, Any] = {}

    def __init_subclass__(cls, **more: Any) -> None:
        super().__init_subclass__(**more)
        if "__init__" in vars(cls):
            cls.__init__ = _remembering(cls.__init__)

    def turn_units(self, units: str) -> None:
        """Show the same in the other unit, where it was made to follow the switch.

        `units` ({"mm", "inch"}).
        """
        args, given = self._made_with
        bound = inspect.signature(type(self).__init__).bind(self, *args, **given)
        if not self.at_once or bound.arguments.get("units") is not None or units == self.units:
            return
        if hasattr(self, "player"):
            self.player.playing = False
        before, view = dict(vars(self)), self.view
        self._carried = self.carried()
        bound.arguments["units"] = units
        try:
            type(self).__init__(*bound.args, **bound.kwargs)
        except Exception as why:  # better in the old unit than not at all
            vars(self).clear()
            vars(self).update(before)
            if isinstance(why, Refusal):
                return
            with faults_shown(self.message):
                raise
        if not self.png:  # a refusal leaves the picture that was there
            self.png, self.sentence, self.picture.value = before["png"], before["sentence"], before["picture"].value
        old = view.children
        view.children, new, self.view = self.view.children, self.view, view
        new.close()
        _close(old)
        _close(w for w in before.values() if isinstance(w, widgets.Widget) and w is not view)

    def carried(self) -> dict[str, Any]:
        """Give what a panel in the other unit starts from.

        Returns: name of a control or of an attribute beside them -> its value, in µm, mm and µrad; a slider at one of
        its ends gives ``"min"`` or ``"max"``, since ends are rounded in inches.
        """
        kept = {name: getattr(self, name) for name in self.beside}
        for name, value in self.values().items():
            slider = self.controls[name]
            ends = [
                e
                for e in ("min", "max")
                if isinstance(slider, widgets.FloatSlider) and slider.value == getattr(slider, e)
            ]
            kept[name] = ends[0] if ends else value
        if hasattr(self, "position"):
            kept["position"] = self.position.max, self.position.value
        return kept


def _remembering(made):
    """Have a constructor remember the arguments of the outermost call."""

    @wraps(made)
    def remembering(self, *args, **given):
        vars(self).setdefault("_made_with", (args, given))
        made(self, *args, **given)

    return remembering


def _close(old) -> None:
    """Take widgets that nobody sees any more from the page and from memory."""
    for widget in old:
        _close(getattr(widget, "children", ()))
        widget.close()
