"""Pages of a panel that holds more than one screen: a row of buttons, of which one shows its page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import ipywidgets as widgets


class Pages:
    """Named pages, one in sight.

    Parameters
    ----------
    pages : mapping of str to sequence of Widget
    shown : str
        The page that is in sight first.

    Attributes
    ----------
    bar : ToggleButtons
    boxes : list of VBox

    Examples
    --------
    >>> pages = Pages({"One": [], "Two": []}, "Two")
    >>> pages.show("One")
    >>> [box.layout.display for box in pages.boxes]
    [None, 'none']
    """

    def __init__(self, pages: Mapping[str, Sequence[widgets.Widget]], shown: str) -> None:
        self.bar = widgets.ToggleButtons(options=list(pages), value=shown, style={"button_width": "auto"})
        self.bar.add_class("workshop-tabs")
        self.boxes = [widgets.VBox(list(parts)) for parts in pages.values()]
        self.bar.observe(self._turned, names="value")
        self._turned(None)

    def show(self, name: str) -> None:
        """Bring a page in sight."""
        self.bar.value = name

    def _turned(self, _change) -> None:
        for name, box in zip(self.bar.options, self.boxes):
            box.layout.display = None if name == self.bar.value else "none"
