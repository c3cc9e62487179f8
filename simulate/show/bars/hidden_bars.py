"""Bars that would fool you: what a choice of fits leaves unseen."""

from __future__ import annotations

import numpy as np

from simulate.bench.seating.bar_seat import face
from simulate.core.refusal import Refusal, either
from simulate.core.spaces import least_first
from simulate.method.bars.bar_null_space import hidden_bar_errors
from simulate.show.drawing import style
from simulate.show.drawing.bench_picture import own_line_out
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel

_POINTS = 41
_X = np.linspace(-1.0, 1.0, _POINTS)
FITS = tuple((a, b, t) for t in (False, True) for a, b in ((0, 1), (0, 2), (1, 2)))
"""Every fit between three bars, plain ones first."""


def smoothest_first(basis: np.ndarray) -> np.ndarray:
    """Turn a basis of hidden errors so that its smoothest members come first.

    `basis` (k, bars, points): orthonormal. Returns (k, bars, points): spans the same errors; members that bend alike
    are canonical among themselves.

    >>> smoothest_first(hidden_bar_errors(9, [(0, 1, False)], bars=2)).shape
    (7, 2, 9)
    """
    return least_first(basis, np.diff(basis, 2, axis=-1))


def fit_name(fit: tuple[int, int, bool]) -> str:
    """Name a fit in words.

    >>> fit_name((0, 1, True))
    'bar 2 on bar 1, turned'
    """
    lower, upper, turned = fit
    return f"bar {upper + 1} on bar {lower + 1}{', turned' if turned else ''}"


class HiddenPanel(Panel):
    """Choose fits; see three bars that pass them all and are wrong.

    Parameters
    ----------
    fits : sequence of (lower, upper, turned)
        Fits that are ticked at the start.
    which : int
        Which of the hidden errors, 1 to 12, smoothest first.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a fit is none of `FITS`, or `which` is out of its range.

    Examples
    --------
    >>> plain = HiddenPanel(fits=[(0, 1, False), (0, 2, False), (1, 2, False)])
    >>> plain.sentence.startswith("Nothing that a fit can show stays hidden")
    True
    """

    def __init__(self, fits=((0, 1, False),), which: int = 1, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        for fit in fits:
            if tuple(fit) not in FITS:
                raise Refusal("choice", where="fits", found=f"{fit!r}", must_be=either(FITS))
        chosen = [tuple(f) for f in fits]
        for k, fit in enumerate(FITS):
            words = fit_name(fit) + (" end for end" if fit[2] else "")
            self.tick(f"fit{k}", "Tried: " + words, fit in chosen)
        self.whole_slider("which", "Which hidden error", which, 1, 12)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        with style.styled():
            figure, make = self.canvas.figure, self.canvas.moving
            self._slabs, self._bodies, self._fits = [], [], []
            for bar, (colour, line, _) in enumerate(style.LINES):
                axes = _bare(figure, (0.075, 0.66 - 0.315 * bar, 0.36, 0.25), -1.7, 1.2)
                axes.axhline(0, color="#888888", lw=1)
                axes.text(
                    -0.03,
                    0.6,
                    f"Bar {bar + 1}",
                    transform=axes.transAxes,
                    ha="right",
                    va="center",
                    color=style.letters(colour),
                )
                self._bodies.append(make(axes.fill_between(_X, 0, 0 * _X, facecolor=style.SIDE, lw=0, zorder=0)))
                self._slabs.append(make(axes.plot(_X, 0 * _X, line, color=colour, lw=3)[0]))
                if bar == 0:
                    axes.set_title("Bars that would fool you (straight: the grey line)", loc="left")
            for k, fit in enumerate(FITS):
                axes = _bare(figure, (0.645, 0.79 - 0.152 * k, 0.2, 0.115), -0.15, 1.25)
                axes.text(-0.08, 0.35, fit_name(fit), transform=axes.transAxes, ha="right", va="center")
                shade = make(
                    axes.fill_between(_X, 0, 0 * _X, facecolor=style.SEEN, edgecolor="#444444", hatch="..", lw=0)
                )
                axes.axhline(0, color=style.BLACK, lw=1.5)
                note = make(axes.text(1.08, 0.35, "", transform=axes.transAxes, va="center"))
                self._fits.append((shade, note))
                if k == 0:
                    axes.set_title("What each fit would show", loc="center")

    def draw(self, which, **ticks) -> str:
        """Find a hidden error of the ticked fits; give the sentence."""
        tried = [fit for k, fit in enumerate(FITS) if ticks[f"fit{k}"]]
        basis = smoothest_first(hidden_bar_errors(_POINTS, tried, bars=3))
        bars = basis[min(which, len(basis)) - 1] if len(basis) else np.zeros((3, _POINTS))
        top = np.abs(bars).max()
        bars = bars / top if top else bars
        for slab, h in zip(self._slabs, bars):
            slab.set_ydata(h)
        for body, h in zip(self._bodies, bars):
            body.set_verts([np.column_stack([np.r_[_X, _X[::-1]], np.r_[h, np.full(_X.size, -1.7)]])])
        for fit, (shade, note) in zip(FITS, self._fits):
            lit = self._show_fit(fit, bars, shade)
            note.set_text(("tried: " if fit in tried else "not tried: ") + ("light" if lit else "dark"))
        return _sentence(tried, len(basis), which, bars)

    def _show_fit(self, fit, bars: np.ndarray, shade) -> bool:
        lower, upper, turned = fit
        gap = -own_line_out(_X, bars[lower] + face(bars[upper], turned))
        gap = gap - gap.min() if np.ptp(gap) > 1e-6 else 0 * gap
        height = gap / max(gap.max(), 1e-9) * min(1.0, gap.max())
        shade.set_verts([np.column_stack([np.r_[_X, _X[::-1]], np.r_[height, 0 * _X]])])
        return bool(gap.max() > 0)


def _bare(figure, box, low, high):
    axes = figure.add_axes(box)
    axes.set_xlim(-1, 1)
    axes.set_ylim(low, high)
    axes.axis("off")
    return axes


def _sentence(tried: list, count: int, which: int, bars: np.ndarray) -> str:
    names = "; ".join(fit_name(f) for f in tried) or "no fit"
    if not count:
        return (
            f"Nothing that a fit can show stays hidden from {names}. Still undetected: the bend that "
            "bars get from lying on each other, and twist."
        )
    wrong = [f"bar {k + 1}" for k in range(3) if np.ptp(bars[k]) > 1e-6]
    return (
        f"Tried: {names}. {count} independent errors of a bar with {_POINTS} places show no light "
        "in any of these fits. "
        f"The one shown is number {min(which, count)}, smoothest first: {', '.join(wrong)} out of straight, with no "
        "light anywhere you looked. A fit that is marked 'not tried: light' would give it away."
    )
