"""A photographed print goes into what is typed in a panel of readings."""

from __future__ import annotations

from typing import Any

from simulate.readings.photo.print_places import Laid, PrintPlaces, print_text, with_print


def add_print(panel: Any, invented: bool, places: PrintPlaces, laid: Laid) -> str:
    """Add a print to the readings of a panel; an invented example gives way to a table of its own.

    `invented`: whether what is typed is the invented example, untouched. Returns: what was done, in a sentence.
    """
    what = "stations" if places.kind == "bars" else "places"
    if invented:
        fresh = print_text(*(("in", "thou") if panel.units == "inch" else ("mm", "um")), places.kind)
        panel.lay_out(with_print(fresh, places, laid))
    else:
        panel.typed.value = with_print(panel.typed.value, places, laid)
    panel.entry.way.value = "grid"
    panel.say("")
    return (
        f"Added to the cells above: {laid.upper} on {laid.lower}, {int(places.seen.sum())} {what}. Add the other "
        "placements, then press Read what is typed."
    )
