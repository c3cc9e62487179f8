"""Pages of a panel that holds more than one screen: a row of buttons, of which one shows its page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import ipywidgets as widgets


class Pages:
    """Named pages, one in sight; the style turns them in the browser.

    `shown`: the page that is in sight first. `bar` (ToggleButtons), `boxes` (list of VBox).

    >>> pages = Pages({"One": [], "Two": []}, "Two")
    >>> pages.show("One")
    >>> list(pages.bar.options)
    ['One', 'Two']
    """

    def __init__(self, pages: Mapping[str, Sequence[widgets.Widget]], shown: str) -> None:
        self.bar = widgets.ToggleButtons(options=list(pages), value=shown, style={"button_width": "auto"})
        self.bar.add_class("workshop-tabs")
        self.boxes = [
            widgets.VBox(list(parts)).add_class("workshop-page").add_class(f"workshop-page-{number}")
            for number, parts in enumerate(pages.values(), 1)
        ]

    def show(self, name: str) -> None:
        """Bring a page in sight."""
        self.bar.value = name
