"""Plates that would fool you: what a choice of placements leaves unseen."""

from __future__ import annotations

import numpy as np
from matplotlib.ticker import NullFormatter

from simulate.bench.seating.placement import face_plate
from simulate.bench.seating.plate_seat import seat_plate
from simulate.core.byte_cache import remembered
from simulate.core.number_format import three
from simulate.core.refusal import Refusal, either
from simulate.core.spaces import least_first
from simulate.method.plates.plate_null_space import hidden_plate_errors, noise_gain
from simulate.method.plates.symmetry import Family, families_in, hidden_families
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.plate_map import PlateMap, fine, line_step
from simulate.show.panel.panel import Panel
from simulate.show.units.switch import in_both

_TURNED = {
    (0, 1, 180, 0, 0): "half turn",
    (0, 1, 90, 0, 0): "quarter turn",
    (0, 1, 0, 1, 0): "slid along",
    (0, 1, 0, 1, 1): "slid slanting",
}
PLACEMENTS = {
    (0, 1, 0, 0, 0): "2 on 1",
    (0, 2, 0, 0, 0): "3 on 1",
    (1, 2, 0, 0, 0): "3 on 2",
    **{one: f"2 on 1, {how}" for one, how in _TURNED.items()},
}
"""What may be tried, with its words: lower, upper, turned, slid along x and y by a step."""

SHAPES = {"square, 9 × 9 points": (9, 9), "square, 11 × 11 points": (11, 11), "oblong, 11 × 7 points": (7, 11)}
"""Rows and columns of the plates on offer."""

HEIGHT_UM = 20.0
"""How far the worst of the three plates is drawn from level."""

GAP_UM = 8 * HEIGHT_UM
"""Where the shades of gaps end: the widest of all has room."""

MOST_SHOWN = 12
"""How many of the hidden errors may be looked at."""

_FACE = tuple(PLACEMENTS)[:3]


@remembered
def _found(shape: tuple[int, int], fits: tuple) -> tuple[np.ndarray, tuple[Family, ...], np.ndarray]:
    """Hidden errors, smoothest first, families, and how each error that shows is amplified; answered from memory."""
    basis = smoothest_plates(hidden_plate_errors(shape, fits))
    return basis, hidden_families(shape, fits), noise_gain(shape, fits).gain if fits else np.zeros(0)


def smoothest_plates(basis: np.ndarray) -> np.ndarray:
    """Turn a basis of hidden errors so that its smoothest members come first.

    `basis` (k, plates, rows, columns): orthonormal. Returns (k, plates, rows, columns): spans the same errors; members
    that bend alike are canonical among themselves.

    >>> smoothest_plates(hidden_plate_errors(5, _FACE)).shape
    (9, 3, 5, 5)
    """
    bends = [
        np.diff(basis, 2, axis=-1),
        np.sqrt(2) * np.diff(np.diff(basis, axis=-1), axis=-2),
        np.diff(basis, 2, axis=-2),
    ]
    return least_first(
        basis, np.concatenate([b.reshape(len(basis), -1) for b in bends], axis=1) if len(basis) else basis
    )


class HiddenPlatesPanel(Panel):
    """Choose placements; see three plates that pass them all and are wrong.

    Parameters
    ----------
    placements : sequence of (lower, upper, turned, slide_x, slide_y)
        Those that are ticked at the start.
    shape : str
        One of `SHAPES`.
    which : int
        Which of the hidden errors, 1 to 12, smoothest first.
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a placement is none of `PLACEMENTS`, or a setting is out of its range.

    Examples
    --------
    >>> HiddenPlatesPanel().sentence.startswith("Tried: 2 on 1; 3 on 1; 3 on 2. 35 independent errors")
    True
    """

    def __init__(
        self,
        placements=_FACE,
        shape: str = "square, 9 × 9 points",
        which: int = 1,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        chosen = [tuple(p) for p in placements]
        for one in chosen:
            if one not in PLACEMENTS:
                raise Refusal("choice", where="placements", found=f"{one!r}", must_be=either(PLACEMENTS))
        for k, (one, words) in enumerate(PLACEMENTS.items()):
            self.tick(f"fit{k}", f"Tried: plate {words}", one in chosen)
        self.menu("shape", "Plates", list(SHAPES), shape)
        self.whole_slider("which", "Which hidden error", which, 1, MOST_SHOWN)
        self._boxes: tuple | None = None
        self._step_um = style.to_um(line_step(style.small(HEIGHT_UM, self.units)), self.units)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 600, self.dpi)
        add = self.canvas.figure.add_axes
        with style.styled():
            self._plates = [
                PlateMap(self.canvas, add((0.02 + 0.2 * k, 0.47, 0.19, 0.405)), bar=self.units if k == 2 else "")
                for k in range(3)
            ]
            self._gaps = [
                PlateMap(self.canvas, add((0.02 + 0.1385 * k, 0.095, 0.13, 0.277)), gaps=True, lift=0.14)
                for k in range(len(PLACEMENTS))
            ]
            self._notes = [
                [self.canvas.moving(Words(g.axes, style.SMALL, va="top")) for _ in range(2)] for g in self._gaps
            ]
            self.canvas.figure.text(
                0.02, 0.95, "Plates that would fool you: solid proud, dotted zero, dashed hollow", fontsize=style.LARGE
            )
            self._bars = add((0.705, 0.53, 0.1, 0.33))
            self._bars.set_title("Hidden, by family", loc="left", fontsize=style.SMALL)
            self._bars.set_xticks([])
            self._bars.spines["bottom"].set_visible(False)
            self._counts: list = []
            self._gain = add((0.885, 0.53, 0.1, 0.33))

    def draw(self, which: int, shape: str, **ticks) -> str:
        """Find a hidden error of the ticked placements; give the sentence."""
        fits = tuple(one for k, one in enumerate(PLACEMENTS) if ticks[f"fit{k}"])
        basis, families, gains = _found(SHAPES[shape], fits)
        place = min(which, len(basis)) - 1
        plates = basis[place] if len(basis) else np.zeros((3, *SHAPES[shape]))
        top = np.abs(plates).max()
        plates = plates / top * HEIGHT_UM if top else plates
        self._offer(min(MOST_SHOWN, len(basis)))
        self._frame(SHAPES[shape], families, gains)
        for k, (one, map_) in enumerate(zip(plates, self._plates)):
            map_.show(f"Plate {k + 1}", fine(one), self._step_um, HEIGHT_UM)
        shown = [self._show_gap(k, one, plates, one in fits) for k, one in enumerate(PLACEMENTS)]
        words = self._words(fits, len(basis), place + 1, families, gains.max(initial=0.0), plates, shown)
        return in_both(words, self.units)

    def _offer(self, count: int) -> None:
        """Let the slider end at the last error that there is to show: it stood at 8 where one was hidden."""
        with self.quietly():
            self.controls["which"].max = max(count, 2)  # a track has two ends
            self.controls["which"].value = max(min(self.controls["which"].value, count), 1)

    def _frame(self, shape: tuple[int, int], families: tuple[Family, ...], gains: np.ndarray) -> None:
        """Draw what stands still: the shape of the plates, the bars of the families, and how faintly the rest shows."""
        asked = (shape, tuple((f.name, f.hidden) for f in families), gains.size, gains.sum())
        if asked == self._boxes:
            return
        self._boxes = asked
        for one in (*self._plates, *self._gaps):
            one.sides((shape[0] - 1) / (shape[1] - 1))
        for artist in self._counts:
            artist.remove()
        names, counts = [f.name for f in families], [f.hidden for f in families]
        at = np.arange(len(names))[::-1]
        self._counts = [self._bars.barh(at, counts, 0.6, facecolor=style.STEEL, edgecolor=style.BLACK, hatch="//")]
        most = max(*counts, 1)
        self._counts += [self._bars.text(c + 0.03 * most, y, f"{three(c)}", va="center") for c, y in zip(counts, at)]
        self._bars.set_yticks(at, names)
        self._bars.set_xlim(0, most * 1.15)
        self._bars.set_ylim(-0.6, len(names) - 0.4)
        self._show_gains(gains)
        self.canvas.invalidate()

    def _show_gains(self, gains: np.ndarray) -> None:
        """Draw by how much the scatter of a reading grows in each error that shows, faintest first."""
        axes = self._gain
        axes.clear()
        axes.set_title("Amplified (log scale)", loc="right", fontsize=style.SMALL)
        axes.set_yscale("log")
        axes.set_ylim(0.3, 30)
        axes.set_yticks([0.5, 1, 2, 5, 10, 20], ["0.5", "1", "2", "5", "10", "20"])
        axes.yaxis.set_minor_formatter(NullFormatter())
        axes.grid(axis="y", color="#DDDDDD", lw=0.8)
        if gains.size:
            axes.plot(np.arange(1, gains.size + 1), gains, color=style.BLUE)
            axes.plot([1], gains[:1], "o", color=style.BLUE, ms=7)
            axes.text(1 + 0.06 * gains.size, gains[0] * 1.15, f"{gains[0]:.1f}")
        axes.set_xlabel("errors that show", fontsize=style.SMALL)

    def _show_gap(self, k: int, one: tuple, plates: np.ndarray, tried: bool) -> float:
        lower, upper, turned, *slide = one
        rows, columns = plates.shape[1:]
        met = plates[lower] + face_plate(plates[upper], turned, tuple(slide))
        gap = seat_plate(np.arange(columns), np.arange(rows), met).gap_um
        widest = float(np.nanmax(gap))
        widest = widest if widest > 1e-6 * HEIGHT_UM else 0.0
        seen = f"open {style.spell(widest, self.units)}" if widest else "prints evenly"
        for line, (note, words) in enumerate(zip(self._notes[k], ("tried" if tried else "not tried", seen))):
            note.set_text(words)
            note.set_position((-1, -1 - (0.08 + 0.22 * line) * (columns - 1) / (rows - 1)))
        drawn = fine(gap if widest else 0 * gap)
        title = _TURNED.get(one) or PLACEMENTS[one]
        self._gaps[k].show(title, drawn, 2 * self._step_um, GAP_UM, drawn < 0.05 * HEIGHT_UM)
        return widest

    def _words(self, fits, count: int, which: int, families, gain: float, plates, shown: list[float]) -> str:
        names = "; ".join(PLACEMENTS[f] for f in fits) or "nothing"
        if not count:
            return (
                f"Tried: {names}. No error of plates with these points stays hidden. The weakest of all is "
                f"amplified {gain:.1f} times: readings that scatter by 1 µm leave it uncertain by {gain:.1f} µm. Still "
                "undetected: the bend that plates get from lying on each other, and what lies between the points."
            )
        parts = ", ".join(f"{f.name} {_many(f.hidden)}" for f in families if f.hidden > 1e-6)
        wrong = ", ".join(f"plate {k + 1}" for k in range(3) if np.ptp(plates[k]) > 1e-6)
        give = [words for words, gap in zip(PLACEMENTS.values(), shown) if gap]
        faint = (
            f" Of the errors that show, the weakest is amplified {gain:.1f} times: readings that scatter by 1 µm "
            f"leave it uncertain by {gain:.1f} µm."
            if gain
            else ""
        )
        ends = f"It would show with {'; '.join(give)}." if give else "None of the other placements shows it either."
        return (
            f"Tried: {names}. {'1 error is' if count == 1 else f'{count} independent errors are'} hidden ({parts}). "
            f"Number {which}, smoothest first, is shown ({' and '.join(families_in(plates))}): {wrong} out of flat by "
            f"up to {style.spell(HEIGHT_UM, self.units)}, and every fit that was tried prints evenly. {ends}{faint}"
        )


def _many(count: float) -> str:
    """Spell a number of errors; where those of several families hang together, about so many belong to each.

    >>> _many(28.0), _many(27.9)
    ('28', 'about 28')
    """
    return f"{count:.0f}" if abs(count - round(count)) < 0.01 else f"about {count:.0f}"
