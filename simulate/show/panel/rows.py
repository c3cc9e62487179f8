"""Controls in rows over a picture: the first few in sight, the rest folded away under their names."""

from __future__ import annotations

from collections.abc import Container, Iterable, Mapping, Sequence

import ipywidgets as widgets

IN_SIGHT = 6
"""Controls that a small laptop shows over a whole picture, three to a row, with a row of ticks below."""

_ROW_PX, _TICKS_PX = 52, 30
"""A row of controls, and one that holds ticks alone."""

ALWAYS = ("zoom",)
"""Names of controls that are never folded away."""

MORE = "workshop-more"
"""Class of the button that unfolds; `panel.css` hides what follows its row until it is pressed."""


def in_rows(
    controls: Mapping[str, widgets.Widget], words: Mapping[str, str], at_hand: Sequence[str] = ()
) -> widgets.Box:
    """Lay controls out, and fold away those that there is no room for.

    `words`: what each control is called, without its unit. `at_hand`: names of those that stay in sight where some
    have to be folded away; without names the first five.

    >>> words = {f"c{k}": f"Slider {k}" for k in range(8)}
    >>> eight = {name: widgets.IntSlider(description=f"{said} (mm)") for name, said in words.items()}
    >>> [len(box.children) for box in in_rows(eight, words).children]
    [6, 3]
    >>> in_rows(eight, words, ["c7"]).children[0].children[-1].description
    'Slider 0, Slider 1, Slider 2, Slider 3, Slider 4, Slider 5, Slider 6'
    """
    if _high(list(controls.values())) <= 2 * _ROW_PX + _TICKS_PX:
        return shown(list(controls.values()))
    seen = list(at_hand or list(controls)[: IN_SIGHT - 1])
    always = [name for name in ALWAYS if name in controls]
    folded = [name for name in controls if name not in (*seen, *always)]
    row = [*(controls[n] for n in seen), more([words[n] for n in folded]), *(controls[n] for n in always)]
    return widgets.VBox([shown(row), rest([controls[n] for n in folded])])


def more(folded: Sequence[str]) -> widgets.ToggleButton:
    """Give the button that unfolds controls, named after them; the style sets "More:" before the names."""
    names = ", ".join(folded)
    button = widgets.ToggleButton(description=names, tooltip=f"Show or fold away: {names}")
    return button.add_class(MORE)


def rest(folded: Sequence[widgets.Widget]) -> widgets.Box:
    """Give the box of folded controls, which follows the row that holds `more`."""
    return shown(list(folded)).add_class("workshop-rest")


def shown(controls: Sequence[widgets.Widget]) -> widgets.Box:
    """Give a box of controls in rows, with the classes that tell `panel.css` how high it is."""
    box, high = widgets.Box(list(controls)).add_class("workshop-rows"), _high(controls)
    if high > 2 * _TICKS_PX:
        box.add_class("workshop-two-rows")
    return box.add_class("workshop-ticks-below") if high >= _ROW_PX + 2 * _TICKS_PX else box


def close(boxes: Iterable[widgets.Widget], but: Container[widgets.Widget] = ()) -> None:
    """Close boxes that are shown no more, and all in them, or they would stay open as long as the lesson.

    `but`: widgets that are shown again elsewhere.

    >>> kept, gone = widgets.Checkbox(), widgets.Checkbox()
    >>> close([widgets.Box([kept, gone])], but=[kept])
    >>> kept.comm is None, gone.comm is None
    (False, True)
    """
    for box in boxes:
        if box in but:
            continue
        close(getattr(box, "children", ()), but)
        for part in (getattr(box, "style", None), box.layout, box):
            if isinstance(part, widgets.Widget):
                part.close()


def _high(shown: Sequence[widgets.Widget]) -> int:
    """Say how high controls are, three to a row."""
    rows = [shown[k : k + IN_SIGHT // 2] for k in range(0, len(shown), IN_SIGHT // 2)]
    ticks = [all(isinstance(widget, widgets.Checkbox) for widget in row) for row in rows]
    return sum(_TICKS_PX if one else _ROW_PX for one in ticks)
