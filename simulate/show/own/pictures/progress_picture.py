"""Picture of the learner's own rounds: what each left, the law that fits, and where it leads."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from simulate.readings.rounds.beside import Beside
from simulate.readings.rounds.progress import Progress
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas

LEAST_UM = 0.05


def progress_picture(own: Progress, units: str = "mm", dpi: int = 100, told: Beside | None = None) -> Canvas:
    """Draw the learner's own rounds.

    `own`: of two rounds or more. `told`: the simulated workshops, and the ranges of the learner's figures.

    >>> from simulate.readings.rounds.progress import progress
    >>> progress_picture(progress([0, 1, 2, 3], [400.0, 160.0, 64.0, 25.6])).pixels().shape
    (360, 1280, 3)
    """
    canvas, unit = Canvas(1280, 360, dpi), style.small(1.0, units)
    along = np.arange(
        own.band_um.shape[1] if own.rounds.size > 2 else own.rounds[-1] + 1
    )  # two figures foretell nothing
    low, likely, high = unit * np.maximum(own.band_um[:, along], LEAST_UM)
    with style.styled():
        axes = canvas.figure.add_axes((0.075, 0.17, 0.90, 0.61))
        if not np.allclose(low, high):
            axes.fill_between(
                along, low, high, facecolor="none", edgecolor=style.BLUE, hatch="\\\\", lw=0.8, label="95 %"
            )
        axes.plot(along, likely, color=style.BLUE, label="the law that fits your rounds")
        if told is not None:
            _workshops(axes, told, unit)
        axes.plot(
            own.rounds,
            unit * np.maximum(own.form_um, LEAST_UM),
            "s",
            color=style.ORANGE,
            ms=11,
            mec="white",
            label="your rounds",
        )
        if own.target_um:
            axes.axhline(unit * own.target_um, color=style.BLACK, ls=":", label="wanted")
        axes.set_yscale("log")
        axes.yaxis.set_major_locator(LogLocator(subs=(1, 2, 5)))
        axes.yaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:g}"))
        axes.yaxis.set_minor_formatter(NullFormatter())
        axes.set_xticks(along)
        axes.set_xlabel("rounds filed")
        axes.grid(axis="y", color="#DDDDDD", lw=0.8)
        axes.set_title(
            f"The worst body after each round ({style.small_unit(units)}), log scale",
            loc="left",
            fontsize=style.BODY,
            pad=30,
        )
        axes.legend(
            frameon=False,
            loc="lower left",
            bbox_to_anchor=(0.0, 1.0),
            borderaxespad=0.2,
            ncols=5,
            columnspacing=1.2,
            handlelength=1.6,
            handletextpad=0.5,
        )
    return canvas


def _workshops(axes, told: Beside, unit: float) -> None:
    """Draw the band of simulated workshops, and how far each of the learner's figures reaches."""
    low, half, high = unit * np.maximum(told.band_um, LEAST_UM)
    along = np.arange(half.size)
    axes.fill_between(along, low, high, facecolor=style.STEEL, edgecolor="#555555", lw=1, zorder=0)
    axes.plot(along, half, "--", color="#555555", lw=1.5, label="simulated workshops, median; grey: 5 to 95 %")
    ends = np.stack([told.form_um - told.low_95_um, told.high_95_um - told.form_um])
    ends = unit * np.minimum(
        np.maximum(np.nan_to_num(ends), 0.0), [told.form_um - LEAST_UM, np.full(ends.shape[1], np.inf)]
    )
    axes.errorbar(
        told.round, unit * told.form_um, yerr=np.maximum(ends, 0), fmt="none", color=style.ORANGE, capsize=7, zorder=3
    )


def progress_words(own: Progress, units: str = "mm", told: Beside | None = None) -> str:
    """Say what the picture of progress shows.

    >>> from simulate.readings.rounds.progress import progress
    >>> print(progress_words(progress([0, 1], [400.0, 160.0])))  # doctest: +NORMALIZE_WHITESPACE
    Worst body after each round: 400 µm at the start, 160 µm after 1; two figures show no floor, so nothing is
    predicted.
    """
    figures = ", ".join(
        f"{style.spell(form, units)} {'at the start' if k == 0 else f'after {k}'}"
        for k, form in zip(own.rounds, own.form_um)
    )
    band = "" if told is None else f" Grey: where 90 of 100 simulated workshops lie, {_ends_words(told, units)}."
    if own.rounds.size < 3:
        return f"Worst body after each round: {figures}; two figures show no floor, so nothing is predicted.{band}"
    return (
        f"Worst body after each round: {figures}; the law that fits leads to "
        f"{style.spell(own.band_um[1, -1], units)} two rounds on.{band}"
    )


def _ends_words(told: Beside, units: str) -> str:
    low, _, high = (style.spell(float(end), units) for end in told.band_um[:, told.round[-1]])
    return f"{low} to {high} after {told.round[-1]}"
