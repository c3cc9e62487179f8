"""Bars for the links of a chain: what each adds, and which is to be improved first."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from simulate.method.uncertainty_budget import Chain
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.scale import HeldTop


def shared_words(chain: Chain, spell: Callable[[float], str]) -> str:
    """Say how each shared cause adds up with its signs; nothing where no cause is shared.

    `chain`: of one workshop. `spell`: writes a height in the learner's unit. Returns: sentences with a blank behind
    each.

    >>> from simulate.method.uncertainty_budget import Link, combine_chain
    >>> eye = [Link("the bars", 1.0, -0.5, cause="one eye"), Link("the bed", 1.0, cause="one eye")]
    >>> shared_words(combine_chain(eye), "{:g} µm".format)
    'Shared errors are added with their signs: one eye is -0.5 µm (the bars) and +1 µm (the bed), together 0.5 µm. '
    """
    said = ""
    for entry, name in enumerate(chain.names):
        steps = chain.steps(entry)
        if len(steps) > 1:
            parts = " and ".join(f"{'-' if um < 0 else '+'}{spell(abs(float(um)))} ({step})" for step, um in steps)
            said += (
                f"Shared errors are added with their signs: {name} is {parts}, together "
                f"{spell(float(chain.contribution_um[entry]))}. "
            )
    return said


_LONG = 0.54
"""How long a bar may be, of the width; beside it stands what it says."""


class LinkBars:
    """One bar a link, the largest marked and named as the one to improve; as long for a micrometre as at first.

    `axes` (Axes). `places`: so many links have room.
    """

    def __init__(self, canvas: Canvas, axes, places: int, units: str) -> None:
        self.places, self.units, self._top = places, units, HeldTop()
        axes.set_ylim(places - 0.4, -0.6)
        axes.set_yticks([])
        axes.set_xlim(0, 1)
        axes.set_xticks([])
        axes.set_xlabel("what each link adds: its standard uncertainty")
        axes.set_title("The chain, link by link", loc="left")
        make, rows = canvas.moving, range(places)
        self._bars = [make(axes.barh(k, 0.5, 0.62, color=style.STEEL, edgecolor=style.BLUE, lw=1.5)[0]) for k in rows]
        self._names = [make(axes.text(-0.015, k, "", ha="right", va="center", fontsize=style.SMALL)) for k in rows]
        self._said = [Words(axes, style.SMALL) for _ in rows]
        make(*self._said)
        self._scale = make(Words(axes, style.SMALL, "center"))
        self._scale.set_position((0.75, places - 0.9))

    def show(self, chain: Chain, zoomed: bool) -> None:
        """Set the bars.

        `chain`: of one workshop. `zoomed`: whether the longest fills its room.
        """
        most, worst = self._top.take(max(float(chain.contribution_um.max()), 1e-9), zoomed, 1.5), int(chain.weakest)
        self._scale.set_text(self._top.words())
        for k, (bar, name, said) in enumerate(zip(self._bars, self._names, self._said)):
            there = k < len(chain.names)
            bar.set_visible(there)
            name.set_text(_short(chain.names[k]) if there else "")
            said.set_text("")
            if not there:
                continue
            width = min(_LONG * chain.contribution_um[k] / most, _LONG)
            bar.set_width(width)
            bar.set_facecolor(style.SEEN if k == worst else style.STEEL)
            bar.set_hatch("//" if k == worst else None)
            name.set_fontweight("bold" if k == worst else "normal")
            first = ", improve first" if k == worst else ""
            said.set_position((width + 0.012, k))
            said.set_text(f"{style.spell(chain.contribution_um[k], self.units)}, {100 * chain.share[k]:.0f} %{first}")


class HalvedDots:
    """What the whole would be with each link halved, beside what it is now.

    `axes` (Axes).
    """

    def __init__(self, canvas: Canvas, axes, places: int, units: str) -> None:
        self.units = units
        axes.set_ylim(places - 0.4, -0.6)
        axes.set_yticks([])
        axes.set_xlim(0.45, 1.06)
        axes.set_xticks([0.5, 0.6, 0.7, 0.8, 0.9, 1.0])
        axes.set_xticklabels(["50 %", "", "70 %", "", "90 %", ""])
        axes.set_xlabel("of what it is now")
        axes.set_title("The total, if this link were halved", loc="left")
        axes.axvline(1.0, color=style.BLACK, lw=1.4, ls=(0, (6, 4)))
        axes.grid(axis="x", color="#DDDDDD", lw=0.8)
        make = canvas.moving
        self._lines = make(axes.plot([1], [0], color="#999999", lw=1.4)[0])
        self._dots = make(axes.plot([1], [0], "s", color=style.ORANGE, ms=8)[0])
        self._said = [Words(axes, style.SMALL) for _ in range(places)]
        make(*self._said)

    def show(self, chain: Chain) -> None:
        """Set the dots.

        `chain`: of one workshop.
        """
        whole = float(chain.combined_um)
        part = chain.if_halved_um / whole if whole else np.ones(len(chain.names))
        rows = np.arange(len(part))
        self._dots.set_data(part, rows)
        self._lines.set_data(np.stack([part, 0 * part + 1, np.nan * part], axis=1).ravel(), np.repeat(rows, 3))
        for k, said in enumerate(self._said):
            said.set_text("")
            if k < len(part):
                said.set_position((1.075, k))
                said.set_text(style.spell(chain.if_halved_um[k], self.units))


def _short(name: str, most: int = 22) -> str:
    return name if len(name) <= most else name[: most - 1] + "…"
