"""The controls of a panel: sliders in the learner's unit, menus and ticks, read back in µm, mm and µrad."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import ipywidgets as widgets
import numpy as np

from simulate.core.refusal import Refusal, either
from simulate.show.drawing import style
from simulate.show.units.switch import chosen_units
from simulate.show.units.turning import Turning


def onto_steps(value: float, low: float, high: float, step: float) -> tuple[float, float, float, float]:
    """Give value, ends and step of a slider whose every step is a round figure; the ends lie within those given.

    >>> onto_steps(3.937, 0.787, 39.37, 0.1)
    (3.94, 0.8, 39.3, 0.1)
    """
    first, last = (
        round(float(end(at / step)) * step, 9) for end, at in ((np.ceil, low - 1e-9), (np.floor, high + 1e-9))
    )
    return min(max(round(value, 2), first), last), first, last, step


class Controls(Turning):
    """The named controls over a picture, each with what it stood at in the other unit.

    Parameters
    ----------
    units : str, optional
        ``"mm"`` (heights in µm) or ``"inch"`` (heights in thou); None follows the switch of the lessons.
    """

    def __init__(self, units: str | None = None) -> None:
        self.units = chosen_units(units)
        self.controls: dict[str, widgets.Widget] = {}
        self.labels: dict[str, str] = {}  # what each control is called, without its unit
        self._heights: set[str] = set()
        self._scaled: dict[str, float] = {}
        self._figure_boxes: dict[str, str] = {}
        self._quiet = False

    def slider(
        self,
        name: str,
        words: str,
        value: float,
        low: float,
        high: float,
        step: float,
        form: str = ".0f",
        unit: str = "",
        **more,
    ) -> widgets.FloatSlider:
        """Add a slider of real numbers.

        `name`: key of the value in `draw`. `words`: visible label. `form`: how the readout shows the number, as fine as
        the step. `**more`: passed on to the slider.
        """
        if not low <= value <= high:
            raise Refusal("range", where=name, found=f"{value:g}", must_be=f"{low:g} to {high:g}")
        return self._add(
            name,
            words,
            widgets.FloatSlider(
                value=value,
                min=low,
                max=high,
                step=step,
                readout_format=form,
                description=f"{words} ({unit})" if unit else words,
                layout=widgets.Layout(**more),
            ),
        )

    def height_slider(
        self, name: str, words: str, um: float, low: float, high: float, step: float
    ) -> widgets.FloatSlider:
        """Add a slider of heights, shown in the learner's unit and handed to `draw` in µm.

        `words`: label without the unit. `um`, `low`, `high`, `step`: in µm.
        """
        if not low <= um <= high:
            raise Refusal("range", where=name, found=f"{um:g} µm", must_be=f"{low:g} to {high:g} µm")
        self._heights.add(name)
        unit = style.small_unit(self.units)
        if self.units == "mm":
            return self.slider(name, words, um, low, high, step, ".1f" if step < 1 else ".0f", unit)
        thou = 0.01 if step < 5 else 0.1
        at = onto_steps(*(style.small(u, "inch") for u in (um, low, high)), thou)
        return self.slider(name, words, *at, ".2f", unit)

    def place_slider(
        self, name: str, words: str, mm: float, low: float, high: float, step: float
    ) -> widgets.FloatSlider:
        """Add a slider of lengths, shown in the learner's unit and handed to `draw` in mm.

        `words`: label without the unit. `mm`, `low`, `high`, `step`: in mm.
        """
        return self._in_inches(
            name, words, "mm", mm, (low, high, step), "in", style.place(1.0, self.units), 0.25 if step >= 5 else 0.05
        )

    def angle_slider(
        self, name: str, words: str, urad: float, low: float, high: float, step: float
    ) -> widgets.FloatSlider:
        """Add a slider of angles, shown as µm in a metre or thou in a foot and handed to `draw` in µrad.

        `words`: label without the unit. `urad`, `low`, `high`, `step`: in µrad, that is µm in a metre.
        """
        return self._in_inches(
            name,
            words,
            style.angle_unit("mm"),
            urad,
            (low, high, step),
            style.angle_unit("inch"),
            style.angle(1.0, self.units),
            0.05,
        )

    def _in_inches(self, name, words, unit, value, reach, inch_unit, factor, inch_step) -> widgets.FloatSlider:
        low, high, step = reach
        if not low <= value <= high:
            raise Refusal("range", where=name, found=f"{value:g}", must_be=f"{low:g} to {high:g}")
        if self.units == "mm":
            return self.slider(name, words, value, low, high, step, ".1f" if step < 1 else ".0f", unit)
        self._scaled[name] = factor
        at = onto_steps(factor * value, factor * low, factor * high, inch_step)
        return self.slider(name, words, *at, ".2f", inch_unit)

    def whole_slider(self, name: str, words: str, value: int, low: int, high: int) -> widgets.IntSlider:
        """Add a slider of whole numbers."""
        if not low <= value <= high:
            raise Refusal("range", where=name, found=f"{value}", must_be=f"{low} to {high}")
        return self._add(
            name,
            words,
            widgets.IntSlider(value=value, min=low, max=high, description=words),
        )

    def menu(self, name: str, words: str, options, value) -> widgets.Dropdown:
        """Add a list to choose from."""
        allowed = [o[1] if isinstance(o, tuple) else o for o in options]
        if value not in allowed:
            raise Refusal("choice", where=name, found=f"{value!r}", must_be=either(allowed))
        return self._add(name, words, widgets.Dropdown(options=options, value=value, description=words))

    def tick(self, name: str, words: str, value: bool = False) -> widgets.Checkbox:
        """Add a box to tick."""
        return self._add(
            name,
            words,
            widgets.Checkbox(value=bool(value), description=words, indent=False),
        )

    def only_if(self, name: str, words: str, given: bool) -> widgets.Checkbox:
        """Add the box by which a figure counts; `draw` gets None for it while the box is not ticked.

        `name`: of the figure, which is there already; moving it ticks the box. `words`: visible label of the box.
        `given`: whether it is ticked at the start.

        >>> class Silent(Controls):
        ...     def _changed(self, change):
        ...         pass
        >>> controls = Silent("mm")
        >>> _ = controls.height_slider("sd_um", "Repeatability", 1, 0.5, 20, 0.5)
        >>> box = controls.only_if("sd_um", "It is known", False)
        >>> before = controls.values()
        >>> controls.controls["sd_um"].value = 3
        >>> before, controls.values(), box.value
        ({'sd_um': None}, {'sd_um': 3.0}, True)
        """
        self._figure_boxes[name] = f"{name}_given"
        return self.tick(self._figure_boxes[name], words, given)

    def _tick_box(self, name: str) -> None:
        if name in self._figure_boxes and not self._quiet:
            with self.quietly():
                self.controls[self._figure_boxes[name]].value = True

    @contextmanager
    def quietly(self) -> Iterator[None]:
        """Set controls without drawing; whoever does so draws afterwards."""
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before

    def carried(self) -> dict:
        """Give what a panel in the other unit starts from: figures that do not count are left as they open."""
        boxes = {box: self.controls[box].value for box in self._figure_boxes.values()}
        return {name: value for name, value in super().carried().items() if value is not None} | boxes

    def _add(self, name: str, words: str, widget: widgets.Widget) -> widgets.Widget:
        self.controls[name], self.labels[name] = widget, words
        if name in self._carried:
            self._put(name, self._carried[name])
        widget.observe(lambda _: self._tick_box(name), names="value")
        widget.observe(self._changed, names="value")
        return widget

    def _put(self, name: str, value) -> None:
        """Set a control to what it stood at in the other unit."""
        widget = self.controls[name]
        if value in ("min", "max") and isinstance(widget, widgets.FloatSlider):
            widget.value = getattr(widget, value)
        else:
            widget.value = self.shown_value(name, value)

    def shown_value(self, name: str, value: object) -> object:
        """Give what a control stands at for a height in µm, a length in mm or an angle in µrad.

        `value`: what is no length and no angle, such as a choice, comes back as it is.

        >>> controls = Controls("inch")
        >>> _ = controls.height_slider("film_um", "Film", 2, 0.5, 50, 0.5)
        >>> round(controls.shown_value("film_um", 50), 2)
        1.97
        """
        widget = self.controls[name]
        if name in self._heights:
            return style.small(value, self.units)
        if isinstance(widget, widgets.IntSlider):
            return int(value)
        return value * self._scaled.get(name, 1) if isinstance(widget, widgets.FloatSlider) else value

    def values(self) -> dict:
        """Read all controls, heights in µm, lengths in mm, angles in µrad; None for a figure that does not count."""
        boxes = set(self._figure_boxes.values())
        return {name: self._read(name) for name in self.controls if name not in boxes}

    def _read(self, name: str) -> object:
        value = self.controls[name].value
        if name in self._figure_boxes and not self.controls[self._figure_boxes[name]].value:
            return None
        if name in self._heights:
            return round(style.to_um(value, self.units), 9)
        return round(value / self._scaled[name], 9) if name in self._scaled else value

    def _changed(self, _change) -> None:
        """Answer a control that was moved. Subclasses write this."""
        raise NotImplementedError
