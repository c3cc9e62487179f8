"""Picture of a bar's points from land readings: solved heights, what is certain, and what was foretold."""

from __future__ import annotations

import numpy as np

from simulate.method.lands.levelling import Network
from simulate.readings.lands.solve_lands import SolvedLands, certain_how
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas

KEY = (
    "Dot with a bar: solved height and its own 95 % range.     Hatched box: the prediction, one standard "
    "deviation either way.\n"
    "Black brackets: {certain}.     Triangle: fixed end.     Open diamond: touched, not fixed"
)
MOST_LABELS = 15


def own_lands_picture(found: SolvedLands, predicted: Network, units: str = "mm", dpi: int = 100) -> Canvas:
    """Draw what the readings say, over what was foretold."""
    canvas = Canvas(1280, 480, dpi)
    net = found.network
    x = style.place(net.x_mm, units)
    height = style.small(np.where(net.reached, net.height_um, 0.0), units)
    own = net.reached & (net.sd_um > 0)
    with style.styled():
        axes = canvas.figure.add_axes((0.115, 0.27, 0.865, 0.69))
        axes.axhline(0, color="#777777", lw=1)
        _foretold(axes, predicted, units)
        most = _reach(found, predicted, own, units)
        axes.set_ylim(-most, most)
        if found.low_um is not None:
            held = own | np.isin(net.x_mm, found.open_mm)
            ends = (style.small(np.clip(e[held], -1e6, 1e6), units) for e in (found.low_um, found.high_um))
            _certain(axes, x[held], *ends, most, np.ptp(x))
        if found.low_95_um is not None:
            axes.vlines(
                x[own],
                *(style.small(end[own], units) for end in (found.low_95_um, found.high_95_um)),
                color=style.BLUE,
                lw=3,
                zorder=3,
            )
        axes.plot(x[own], height[own], "o", color=style.BLUE, ms=8, zorder=4)
        axes.plot(x[[0, -1]], [0, 0], "^", color=style.BLACK, ms=11, clip_on=False, zorder=4)
        axes.plot(x[~net.reached], height[~net.reached], "D", mfc="white", mec=style.BLACK, ms=9, zorder=4)
        if own.sum() <= MOST_LABELS:
            places = 2 if units == "inch" else 1
            for a, h in zip(x[own], height[own]):
                axes.text(
                    a + 0.019 * np.ptp(x),
                    h,
                    f"{round(h, places) + 0.0:+.{places}f}",
                    va="center",
                    fontsize=style.SMALL,
                    zorder=6,
                    bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 0.5},
                )
        axes.set_xlim(x[0] - 0.03 * np.ptp(x), x[-1] + 0.03 * np.ptp(x))
        axes.set_xlabel(f"position along the bar ({'in' if units == 'inch' else 'mm'})")
        axes.set_ylabel(f"above the line of\nthe ends ({style.small_unit(units)})")
        canvas.figure.text(
            0.5, 0.02, KEY.format(certain=certain_how(found)), ha="center", va="bottom", fontsize=style.SMALL
        )
    return canvas


def _reach(found: SolvedLands, predicted: Network, own: np.ndarray, units: str) -> float:
    """Half the height of the axes: all bars, and brackets where they are not far beyond them."""
    net = found.network
    most = max(np.nanmax(predicted.sd_um), 1.0, np.max(np.abs(net.height_um[own]), initial=0.0))
    if found.low_95_um is not None:
        most = max(most, np.max(np.abs(np.r_[found.low_95_um[own], found.high_95_um[own]]), initial=0.0))
    if found.low_um is not None:
        own = own | np.isin(net.x_mm, found.open_mm)
        ends = np.abs(np.r_[found.low_um[own], found.high_um[own]])
        most = max(most, np.max(ends[ends < (1e6 if found.open_mm else 4 * most)], initial=0.0))
    return style.small(1.25 * most, units)


def _foretold(axes, predicted: Network, units: str) -> None:
    at = predicted.reached & (predicted.sd_um > 0)
    x, sd = style.place(predicted.x_mm[at], units), style.small(predicted.sd_um[at], units)
    axes.bar(
        x,
        2 * sd,
        0.03 * style.place(np.ptp(predicted.x_mm), units),
        -sd,
        facecolor=style.STEEL,
        edgecolor="#555555",
        hatch="//",
        lw=1,
        zorder=1,
    )


def _certain(axes, x: np.ndarray, low: np.ndarray, high: np.ndarray, most: float, length: float) -> None:
    for a, lo, hi in zip(x, low, high):
        for end, way in ((lo, 1), (hi, -1)):
            if abs(end) < most:
                axes.plot(
                    a + length * np.array([-0.012, -0.012, 0.012, 0.012]),
                    end + way * most * np.array([0.05, 0, 0, 0.05]),
                    color=style.BLACK,
                    lw=1.8,
                    zorder=5,
                )
