"""Picture of where a job stands: a line for each body, with what it may be, what is wanted, and what it hangs on."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from simulate.readings.logbook.standing import Standing
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.units.finding_words import spoken_name

LEAST_UM = 0.1
_URAD_IN_UM = 0.1
"""An angle is drawn as what it makes over 100 mm."""
_MOST_ROWS = 16
_SHORT, _LONG = 24, 42


def standing_picture(standings: Sequence[Standing], units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw how good each body is.

    `standings`: of ``job_standing``; those whose readings are refused are left out, and so are those beyond the last
    sixteen.

    >>> from simulate.readings.logbook.entry import Entry
    >>> from simulate.readings.logbook.standing import job_standing
    >>> eye = Entry("gap_um,looks,seen\\n1,10,0\\n2,10,3\\n3,10,7\\n4,10,10\\n", "eye.csv")
    >>> standing_picture(job_standing([eye])).pixels().shape[1]
    1280
    """
    shown = [one for one in standings if one.value is not None and np.isfinite(one.value)][-_MOST_ROWS:]
    unit = style.small(1.0, units)
    canvas = Canvas(1280, 110 + 44 * max(len(shown), 1), dpi)
    with style.styled():
        tall = canvas.figure.get_figheight() * 100
        left = 0.20 if all(len(_label(one, units)) <= _SHORT for one in shown) else 0.33
        axes = canvas.figure.add_axes((left, 62 / tall, 0.62 - left, 1 - 104 / tall))
        for row, one in enumerate(shown):
            _draw(axes, len(shown) - row, one, unit)
        axes.set_yticks(range(len(shown), 0, -1), [_label(one, units) for one in shown])
        axes.set_ylim(0.4, len(shown) + 0.6)
        axes.set_xscale("log")
        axes.xaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.xaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.xaxis.set_minor_formatter(NullFormatter())
        axes.grid(axis="x", color="#DDDDDD", lw=0.8)
        per = "4 in" if units == "inch" else "100 mm"
        axes.set_xlabel(f"out by ({style.small_unit(units)}; angles over {per}), log scale")
        axes.set_title("● now   ▏at most, 95 %   ◇ target", loc="left", fontsize=style.SMALL)
        axes.text(1.03, 1.02, "depends on", transform=axes.transAxes, fontsize=style.SMALL, va="bottom")
    return canvas


def _label(one: Standing, units: str) -> str:
    if one.part:
        name = f"{one.body}, {spoken_name(one.part, units)}: {one.quantity}"
        return name if len(name) <= _LONG else "…" + name[2 - _LONG :]
    return one.body if len(one.body) <= _SHORT else one.body[: _SHORT - 2] + "…"


def _draw(axes, at: int, one: Standing, unit: float) -> None:
    size = _URAD_IN_UM if one.unit == "urad" else 1.0
    ends = [abs(end) for end in (one.low_95, one.high_95) if end is not None and np.isfinite(end)]
    now = max(abs(one.value) * size, LEAST_UM) * unit
    axes.plot([LEAST_UM * unit, now], [at, at], color=style.BLUE, lw=6, solid_capstyle="butt")
    axes.plot(now, at, "o", color=style.BLUE, ms=9)
    if ends:
        most = max(max(ends) * size, LEAST_UM) * unit
        axes.plot([now, most], [at, at], color=style.BLUE, lw=2)
        axes.plot(most, at, "|", color=style.BLUE, ms=16, mew=2.5)
    if one.wanted_um:
        axes.plot(one.wanted_um * unit, at, "D", color=style.ORANGE, ms=9, mfc="white", mew=2)
    hangs = "; ".join(one.hangs_on) if one.hangs_on else "nothing else"
    axes.text(
        1.03,
        at,
        hangs if len(hangs) <= 44 else hangs[:42] + "…",
        transform=axes.get_yaxis_transform(),
        va="center",
        fontsize=style.SMALL,
    )
