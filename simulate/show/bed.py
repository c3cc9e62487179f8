"""A bed of two ways being filed with the references made before."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from simulate.bench.sight import Sight
from simulate.method.bed import judge_bed, starting_bed
from simulate.method.bed_filing import STAGES, BedHistory, BedLook, file_bed
from simulate.show import style
from simulate.show.canvas import Canvas, Words
from simulate.show.panel import Panel
from simulate.surface.edges import lathe_bed_sentence

_LENGTH, _APART, _STRIP, _ROUNDS = 600.0, 200.0, 400.0, 3
_COUNT = _ROUNDS * len(STAGES) + 1
_NAMES = ("front way", "back way", "twist across")


@lru_cache(maxsize=32)
def run(error_um: float, twist_urad: float, edge_um: float, strip_urad: float, sight_um: float, removal_um: float,
        seed: int) -> BedHistory:
    """Simulate one bed; the same question is answered from memory.

    Parameters
    ----------
    error_um, twist_urad, edge_um, strip_urad, sight_um, removal_um : float
    seed : int

    Returns
    -------
    BedHistory
    """
    x, bed = starting_bed(_LENGTH, error_um, twist_urad, apart_mm=_APART, seed=seed)
    return file_bed(x, bed, edge_um * (1 - (2 * x / _LENGTH) ** 2), apart_mm=_APART, rounds=_ROUNDS, removal_um=removal_um,
                    strip_mm=_STRIP, strip_error_urad=strip_urad, sight=Sight("light", sight_um), seed=seed)


class BedPanel(Panel):
    """A bed of 600 mm, filed stage by stage.

    Parameters
    ----------
    error_um : float
        How far each way is out of straight at the start, 20 to 500.
    twist_urad : float
        From the head to the tail, -1500 to 1500 µm in a metre.
    edge_um : float
        How far the straightedge is proud in its middle, -40 to 40.
    strip_urad : float
        How far from parallel the winding strips are, -300 to 300 µm in a metre.
    sight_um : float
        Widest gap that looks shut, 0.5 to 50.
    removal_um : float
        Metal a pass takes, 2 to 30.
    look : int
        Which look is shown, 1 to 10.
    seed : int
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> BedPanel().sentence[:42]
    'Round 1, straightedge along each way: the '
    """

    def __init__(self, error_um: float = 150, twist_urad: float = 600, edge_um: float = 0, strip_urad: float = 0,
                 sight_um: float = 2.5, removal_um: float = 8, look: int = 1, seed: int = 1, units: str | None = None,
                 dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        self.whole_slider("look", "Look", look, 1, _COUNT)
        self.height_slider("error_um", "Each way is out by", error_um, 20, 500, 10)
        self.slider("twist_urad", "Bed twisted by (µm in a metre)", twist_urad, -1500, 1500, 50)
        self.height_slider("edge_um", "Straightedge proud in its middle", edge_um, -40, 40, 1)
        self.slider("strip_urad", "Strips unlike by (µm in a metre)", strip_urad, -300, 300, 10)
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 50, 0.5)
        self.height_slider("removal_um", "Metal a pass takes", removal_um, 2, 30, 0.5)
        self.history: BedHistory | None = None
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 600, self.dpi)
        with style.styled():
            self._ways, self._lines, self._metal = [], [], []
            for k, foot in enumerate((0.56, 0.1)):
                self._way_paper(k, self.canvas.figure.add_axes((0.075, foot, 0.485, 0.37)))
            self._strips_paper(self.canvas.figure.add_axes((0.605, 0.6, 0.385, 0.33)))
            self._curve_paper(self.canvas.figure.add_axes((0.675, 0.11, 0.2, 0.36)))

    def _way_paper(self, k: int, axes) -> None:
        x = self._x = style.place(1.0, self.units) * np.linspace(-_LENGTH / 2, _LENGTH / 2, 121)
        axes.set_xlim(x[0], x[-1])
        axes.set_ylabel(f"height ({style.small_unit(self.units)})")
        axes.set_title(f"The {_NAMES[k]}, and the metal that goes now" if k == 0 else f"The {_NAMES[k]}", loc="left")
        if k:
            axes.set_xlabel(f"along the bed, head at the left ({'in' if self.units == 'inch' else 'mm'})")
        else:
            axes.set_xticklabels([])
        axes.grid(color="#DDDDDD", lw=0.8)
        make, (colour, line, _) = self.canvas.moving, style.LINES[k]
        self._ways.append(axes)
        self._metal.append(make(axes.fill_between(x, 0, 0 * x, facecolor=style.SEEN, edgecolor="#444444", hatch="..", lw=0)))
        self._lines.append(make(axes.plot(x, 0 * x, line, color=colour)[0]))

    def _strips_paper(self, axes) -> None:
        axes.set_xlim(-1.15, 1.15)
        axes.set_ylim(-1.25, 1.3)
        axes.axis("off")
        axes.set_title("Over the winding strips, as the eye sees them", loc="left")
        axes.plot([-1, 1], [-0.55, -0.55], color=style.BLACK, lw=9, solid_capstyle="butt")
        axes.text(-1, -1.0, "near strip, at the head", fontsize=style.SMALL, va="center")
        axes.text(-1.0, 0.62, "front", fontsize=style.SMALL, ha="center")
        axes.text(1.0, 0.62, "back", fontsize=style.SMALL, ha="center")
        self._far = self.canvas.moving(axes.plot([-1, 1], [0, 0], color=style.ORANGE, lw=9, solid_capstyle="butt")[0])
        self._far_words = Words(axes, style.SMALL, "center")
        self.canvas.moving(self._far_words)

    def _curve_paper(self, axes) -> None:
        axes.set_yscale("log")
        axes.set_ylim(style.small(0.4, self.units), style.small(800, self.units))
        axes.set_xlim(-0.1, _ROUNDS + 0.1)
        axes.set_xticks(range(_ROUNDS + 1))
        axes.set_xlabel("rounds done")
        axes.set_ylabel(f"out by ({style.small_unit(self.units)})")
        axes.grid(color="#DDDDDD", lw=0.8)
        make, zero = self.canvas.moving, np.ones(_ROUNDS + 1)
        self._curves = [make(axes.plot(range(_ROUNDS + 1), zero, line + mark, color=colour)[0]) for colour, line, mark in style.LINES]
        self._now = make(axes.axvline(0, color="#999999", lw=6, alpha=0.35))
        self._names = [Words(axes, style.SMALL) for _ in _NAMES]
        make(*self._names)

    def draw(self, look, **values) -> str:
        """Simulate where a setting has changed; show one look.

        Parameters
        ----------
        look : int
        **values

        Returns
        -------
        str
        """
        history = self.history = run(**values, seed=self.seed)
        last = look > len(history.looks)
        now = history.looks[min(look, len(history.looks)) - 1]
        if last:
            now = BedLook(now.round, "after the last round", history.height_um[-1], 0 * now.removed_um, 0.0, 0)
        self._show_ways(now)
        step = self._show_strips(history.x_mm, now, values["strip_urad"])
        self._show_curve(history, look)
        return self._words(history, now, step, last)

    def _show_ways(self, now: BedLook) -> None:
        unit = style.small(1.0, self.units)
        high, low = unit * now.height_um, unit * (now.height_um - now.removed_um)
        half = max(0.55 * (high.max(axis=1) - low.min(axis=1)).max(), 6 * unit)
        for axes, middle in zip(self._ways, 0.5 * (high.max(axis=1) + low.min(axis=1))):
            limits = (round(middle - half, 3), round(middle + half, 3))
            if axes.get_ylim() != limits:
                axes.set_ylim(*limits)
                self.canvas.invalidate()
        for line, shade, top, foot in zip(self._lines, self._metal, high, low):
            line.set_ydata(top)
            shade.set_verts([np.column_stack([np.r_[self._x, self._x[::-1]], np.r_[top, foot[::-1]]])])

    def _show_strips(self, x: np.ndarray, now: BedLook, strip_urad: float) -> float:
        across = now.height_um[1] - now.height_um[0]
        step = float((across[-1] - across[0]) * _STRIP / _APART + strip_urad * _STRIP / 1000)
        tilt = 0.6 * np.clip(step / 400, -1, 1)
        self._far.set_ydata([0.1 - tilt / 2, 0.1 + tilt / 2])
        side = "back" if step > 0 else "front"
        seen = "looks level" if abs(step) <= 50 else f"{side} end {style.spell(abs(step), self.units)} high"
        self._far_words.set_text(f"far strip, at the tail: {seen}")
        self._far_words.set_position((0, 1.05))
        return step

    def _show_curve(self, history: BedHistory, look: int) -> None:
        values = np.column_stack([history.straightness_um, np.abs(history.twist_urad) * _APART / 1000])
        ends, at, under = np.log10(np.maximum(values[-1], 0.5)), {}, -9.0
        for k in np.argsort(ends):
            at[k] = under = max(ends[k], under + 0.26)
        for k, (curve, name) in enumerate(zip(self._curves, self._names)):
            curve.set_ydata(style.small(1.0, self.units) * np.maximum(values[:, k], 0.5))
            name.set_text(_NAMES[k])
            name.set_position((_ROUNDS + 0.25, style.small(1.0, self.units) * 10 ** at[k]))
        self._now.set_xdata([(look - 1) // len(STAGES)] * 2)

    def _words(self, history: BedHistory, now: BedLook, step: float, last: bool) -> str:
        def spell(um):
            return style.spell(float(um), self.units)
        form = judge_bed(history.x_mm, now.height_um, _APART)
        state = (f"the front way is out of straight by {spell(form.straightness_um[0])}, the back way by "
                 f"{spell(form.straightness_um[1])}, and the bed is twisted by {float(form.twist_urad):+.0f} µm in a metre")
        if last:
            worst = float(form.crown_um[np.argmax(np.abs(form.crown_um))])
            return (f"After round {now.round}: {state}. Against ISO 1708: {lathe_bed_sentence(round(worst, 1), _LENGTH)}. The ways are "
                    "the opposite of the straightedge that they were filed to.")
        gauge = {"winding strips": f" The strips show a step of {spell(abs(step))}.",
                 "corner to corner": f" The middles of the diagonals differ by {spell(abs(now.seen_um))}."}.get(now.stage, "")
        metal = f"{now.passes} passes take up to {spell(now.removed_um.max())}" if now.passes else "nothing is filed"
        return f"Round {now.round}, {now.stage}: {state}.{gauge} Now {metal}."
