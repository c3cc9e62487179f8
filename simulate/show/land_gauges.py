"""Three small gauges with three lands each, made from each other."""

from __future__ import annotations

import numpy as np
from matplotlib.collections import PolyCollection
from matplotlib.patches import Polygon

from simulate.method.lands import gauges_from_pairs, three_land_gauges
from simulate.show import style
from simulate.show.canvas import Canvas
from simulate.show.step_panel import StepPanel

ROUNDS = 6
PAIRS = ((0, 1), (0, 2), (1, 2))
_NAMES = "ABC"
_PAD, _HALF = 0.55, 0.09  # height and half width of a land, as drawn


def pair_readings(middle_um: np.ndarray, sd_um: float = 0.0, seed: int = 0) -> np.ndarray:
    """Give what the three fits show: the sum of two middles over the outer lands.

    Parameters
    ----------
    middle_um : array_like, shape (3,)
    sd_um : float
        Scatter of each reading.
    seed : int

    Returns
    -------
    ndarray, shape (3,)
        A on B, A on C, B on C.

    Examples
    --------
    >>> pair_readings(np.array([1.0, 2, 3])).tolist()
    [3.0, 4.0, 5.0]
    """
    sums = np.array([middle_um[a] + middle_um[b] for a, b in PAIRS])
    return sums + sd_um * np.random.default_rng(seed).standard_normal(3)


class LandGaugesPanel(StepPanel):
    """Three gauges with three lands: read them in pairs, and make them straight.

    Parameters
    ----------
    a_um, b_um, c_um : float
        Middle land of each gauge over its outer ones at the start, -30 to 30.
    share : float
        Share of the split that B gives up, 0 to 1.
    sd_um : float
        Spread of one fit, 0 to 5.
    seed : int
    units : str, optional
    dpi : int

    Raises
    ------
    ValueError
        Where a setting is out of its range.

    Examples
    --------
    >>> "A = (-4.0 + 13.0 - (-17.0)) / 2 = +13.0 µm" in LandGaugesPanel(13, -17, 0, sd_um=0).sentence
    True
    """

    def __init__(self, a_um: float = 12, b_um: float = -20, c_um: float = 5, share: float = 0.5, sd_um: float = 0.5,
                 seed: int = 1, units: str | None = None, dpi: int = 100) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        for name, um in (("a_um", a_um), ("b_um", b_um), ("c_um", c_um)):
            self.height_slider(name, f"Middle of gauge {name[0].upper()} at the start", um, -30, 30, 1)
        self.height_slider("sd_um", "Spread of one fit", sd_um, 0, 5, 0.5)
        self.slider("share", "Share of the split taken from B", share, 0, 1, 0.05, ".2f")
        self._moves()
        self.position.description, self.position.style.description_width = "Rounds done", "7em"
        self.player.interval = 900
        self._fit_position(ROUNDS)
        self._limit = 0.0
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 500, self.dpi)
        moving, figure = self.canvas.moving, self.canvas.figure
        with style.styled():
            self._pairs = [self._pair(figure, k) for k in range(3)]
            self.curve = figure.add_axes((0.67, 0.14, 0.31, 0.75))
            self.curve.set_xlim(-0.2, ROUNDS + 0.2)
            self.curve.axhline(0, color="#777777", lw=1)
            self.curve.set_xlabel("rounds")
            self.curve.set_title(f"middle land, proud is up ({style.small_unit(self.units)})", loc="left", fontsize=style.BODY)
            self._here = moving(self.curve.axvline(0, color="#999999", lw=6, alpha=0.4, zorder=1))
            self._lines = [moving(self.curve.plot([], [], line, marker=mark, color=colour, label=f"gauge {n}", zorder=3)[0])
                           for (colour, line, mark), n in zip(style.LINES, _NAMES)]
            self.curve.legend(loc="upper right", frameon=False)

    def _pair(self, figure, k: int):
        axes = figure.add_axes((0.08, 0.68 - 0.325 * k, 0.34, 0.30))
        axes.set_xlim(-1.3, 1.3)
        axes.set_ylim(-0.75, 3.1)
        axes.axis("off")
        moving = self.canvas.moving
        light = PolyCollection([], facecolor=style.SEEN, edgecolor="#7A5C00", hatch="..", lw=0, zorder=1)
        axes.add_collection(light, autolim=False)
        bodies = [axes.add_patch(Polygon([[0, 0]], closed=True, facecolor=style.STEEL, edgecolor=style.BLACK, lw=2, zorder=3))
                  for _ in range(2)]
        a, b = PAIRS[k]
        axes.text(-1.35, -0.2, _NAMES[a], ha="right", va="center")
        upper = moving(axes.text(-1.35, 1.6, _NAMES[b], ha="right", va="center"))
        note = moving(axes.text(1.35, 0.6, "", ha="left", va="center"))
        return moving(light), [moving(body) for body in bodies], upper, note

    def starts(self) -> list[int]:
        """Give every round: each is a stage.

        Returns
        -------
        list of int
        """
        return list(range(ROUNDS + 1))

    def draw(self, a_um, b_um, c_um, sd_um, share) -> str:
        """Make the gauges up to the round shown; give the sentence.

        Parameters
        ----------
        a_um, b_um, c_um, sd_um : float
        share : float

        Returns
        -------
        str
        """
        told = three_land_gauges([a_um, b_um, c_um], ROUNDS, share=share, sd_um=sd_um, seed=self.seed)
        done = min(self.position.value, ROUNDS)
        shown = pair_readings(told[done], sd_um, self.seed + done)
        self._frame(np.abs(told).max())
        for line, middles in zip(self._lines, told.T):
            line.set_data(np.arange(ROUNDS + 1), style.small(middles, self.units))
        self._here.set_xdata([done, done])
        most = max(np.abs(told[done]).max(), 1e-9)
        for k, (a, b) in enumerate(PAIRS):
            self._show_pair(k, told[done][a] / most, told[done][b] / most, shown[k])
        return self._sentence(told, done, shown, sd_um, share)

    def _frame(self, most_um: float) -> None:
        most = max(style.small(most_um, self.units), style.small(1.0, self.units)) * 1.1
        power = 10.0 ** np.floor(np.log10(most))
        limit = power * next(f for f in (1, 1.5, 2, 3, 5, 7, 10) if f * power >= most * 0.999)
        if limit != self._limit:
            self._limit = limit
            self.curve.set_ylim(-limit, limit)
            self.canvas.invalidate()

    def _show_pair(self, k: int, lower: float, upper: float, shown_um: float) -> None:
        light, bodies, name, note = self._pairs[k]
        low, high = 0.3 * np.array([0, lower, 0]) + _PAD, 0.3 * np.array([0, upper, 0]) + _PAD
        seat = (low + high).max()
        bodies[0].set_xy(_gauge(low, 0.0, 1))
        bodies[1].set_xy(_gauge(high, seat, -1))
        light.set_verts([[(x - _HALF, lo), (x + _HALF, lo), (x + _HALF, seat - hi), (x - _HALF, seat - hi)]
                         for x, lo, hi in zip((-1, 0, 1), low, high) if seat - hi - lo > 1e-3])
        name.set_position((-1.35, seat + 0.35))
        a, b = PAIRS[k]
        seen = "rocks on the middle" if shown_um > 0 else "light in the middle" if shown_um < 0 else "dark"
        note.set_text(f"{_NAMES[a]} + {_NAMES[b]} read as {style.small(shown_um, self.units):+.{self._digits}f}\n{seen}")

    @property
    def _digits(self) -> int:
        return 2 if self.units == "inch" else 1

    def _sentence(self, told: np.ndarray, done: int, shown: np.ndarray, sd_um: float, share: float) -> str:
        def number(um, sign="+"):
            return f"{style.small(um, self.units) + 0.0:{sign}.{self._digits}f}"

        def take(um):
            return number(um, "") if um >= 0 else f"({number(um, '')})"
        ab, ac, bc = shown
        a, b, c = gauges_from_pairs(ab, ac, bc)
        unit = style.small_unit(self.units)
        said = [f"After {done} round{'' if done == 1 else 's'} the pairs read AB {number(ab)}, AC {number(ac)}, BC {number(bc)} "
                f"{unit}, so A = ({number(ab, '')} + {take(ac)} - {take(bc)}) / 2 = {number(a)} {unit}, B {number(b)}, C {number(c)}"]
        said.append(f", each known to ± {style.spell(0.866 * sd_um, self.units)}. " if sd_um else ". ")
        said.append("Really they stand at " + ", ".join(f"{n} {number(v)}" for n, v in zip(_NAMES, told[done])) + f" {unit}. ")
        said.append(f"A round leaves |2 × {share:.2f} − 1| = {100 * abs(2 * share - 1):.0f} % of A's error"
                    + (", and then what the fits scatter." if sd_um else "."))
        return "".join(said)


def _gauge(land: np.ndarray, base: float, way: int) -> list[tuple[float, float]]:
    """Outline of a gauge with three lands; `way` -1 hangs face down from `base`."""
    outline = [(-1 - _HALF, -0.6), (-1 - _HALF, land[0])]
    for x, top in zip((-1, 0, 1), land):
        outline += [(x - _HALF, 0), (x - _HALF, top), (x + _HALF, top), (x + _HALF, 0)]
    outline += [(1 + _HALF, -0.6)]
    return [(x, base + way * y) for x, y in outline]
