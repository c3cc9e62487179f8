"""Three squares made from each other, blade to blade on a flat."""

from __future__ import annotations

import numpy as np

from simulate.bench.looking.sight import Sight
from simulate.core.byte_cache import remembered
from simulate.method.squares.blade import blade_faces, where_light
from simulate.method.squares.blade_filing import STAGES, BladeHistory, BladeLook, three_blades
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.drawing.rounds_curve import RoundsCurve, look_at
from simulate.show.panel.panel import Panel
from simulate.surface.tolerances.edge_grades import square_grade_sentence

_ROUNDS = 4
_HIGH = 150.0
"""Height of a blade on the paper, whatever its own."""
_WIDE, _ROOM = 24.0, 26.0
_MOST_URAD = 3000.0
_STAGE_WORDS = {"fit": "fitted to", "split": "split with", "remake": "refitted to"}


@remembered
def run(
    lean_urad: float,
    bow_um: float,
    share: float,
    base_um: float,
    removal_um: float,
    sight_um: float,
    blade_mm: float,
    base_mm: float,
    seed: int,
) -> BladeHistory:
    """Simulate one workshop; the same question is answered from memory.

    Parameters
    ----------
    lean_urad, bow_um : float
        Of square 1; the others are less, and otherwise shaped.
    """
    z = np.linspace(0.0, blade_mm, 61)
    faces = blade_faces(z, lean_urad * np.array([1.0, -0.45, 0.6]), bow_um * np.array([1.0, -0.5, 0.3]))
    return three_blades(
        z,
        faces,
        rounds=_ROUNDS,
        removal_um=removal_um,
        share=share,
        stand_sd_urad=1000 * base_um / base_mm,
        sight=Sight("light", sight_um),
        seed=seed,
    )


class SquaresPanel(Panel):
    """Three squares round the loop, look by look.

    Parameters
    ----------
    lean_urad : float
        How far square 1 leans at the start, -3000 to 3000; a urad is a micrometre in a metre.
    bow_um : float
        How far the blade of square 1 is proud in its middle, -60 to 60.
    share : float
        Share of the split's metal that the first of the two gives up, 0 to 1.
    base_um : float
        How unlike a base stands at its toe from look to look, 0 to 10: a worn base, a grain of dust.
    removal_um : float
        Metal a pass takes, 1 to 20.
    sight_um : float
        The smallest gap that the eye sees, 0.5 to 20.
    blade_mm, base_mm : float
        Height of the blades, 50 to 400, and length of the bases, 40 to 300.
    look : int
        Which look is shown, 1 to 17.
    seed : int
    units : str, optional
    dpi : int

    Examples
    --------
    >>> SquaresPanel().sentence[:38]
    'Round 1, square 2 is fitted to square '
    """

    def __init__(
        self,
        lean_urad: float = 900,
        bow_um: float = 0,
        share: float = 0.5,
        base_um: float = 0,
        removal_um: float = 4,
        sight_um: float = 2.5,
        blade_mm: float = 150,
        base_mm: float = 100,
        look: int = 1,
        seed: int = 1,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.seed = seed
        self.whole_slider("look", "Step", look, 1, _ROUNDS * len(STAGES) + 1)
        self.angle_slider("lean_urad", "Lean of square 1", lean_urad, -_MOST_URAD, _MOST_URAD, 50)
        self.height_slider("bow_um", "Blade 1, proud in middle", bow_um, -60, 60, 1)
        self.slider("share", "Share taken from one square", share, 0, 1, 0.05, ".2f")
        self.height_slider("base_um", "Rock of the bases", base_um, 0, 10, 0.5)
        self.height_slider("removal_um", "Metal removed per pass", removal_um, 1, 20, 0.5)
        self.height_slider("sight_um", "Smallest gap the eye sees", sight_um, 0.5, 20, 0.5)
        self.place_slider("blade_mm", "Height of the blades", blade_mm, 50, 400, 10)
        self.place_slider("base_mm", "Length of the bases", base_mm, 40, 300, 10)
        self.zoom_tick()
        self.history: BladeHistory | None = None
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 560, self.dpi)
        with style.styled():
            self._pair_axes(self.canvas.figure.add_axes((0.01, 0.03, 0.57, 0.94)))
            axes = self.canvas.figure.add_axes((0.665, 0.14, 0.24, 0.76))
            reach = tuple(style.angle(urad, self.units) for urad in (0.8, 5000.0))
            names = tuple(f"square {k + 1}" for k in range(3))
            words = f"out of square ({style.angle_unit(self.units)})"
            self._curve = RoundsCurve(self.canvas, axes, _ROUNDS, reach, names, words, "floor, about")
            axes.set_title("How far each square leans", loc="left")

    def _pair_axes(self, axes) -> None:
        high = 1.0 / (0.94 * 560) * (0.57 * 1280) * 190
        axes.set_xlim(-high / 2, high / 2)
        axes.set_ylim(-17, 173)
        axes.axis("off")
        axes.axhspan(-9, -1, facecolor="#B8BEC6", edgecolor="#444444", hatch="//", lw=1)
        axes.text(0, -13.5, "the flat", ha="center", va="center", fontsize=style.SMALL)
        make, z = self.canvas.moving, np.array([0.0, _HIGH])
        self._light = make(axes.fill_betweenx(z, 0, 0 * z, facecolor=style.SEEN, edgecolor="#444444", hatch="..", lw=0))
        self._bodies = [make(axes.fill([0, 1, 1], [0, 0, 1], facecolor=style.STEEL, lw=2.2)[0]) for _ in range(2)]
        self._upright = make(axes.plot([0, 0], [0, _HIGH + 6], color="#555555", lw=1.2, ls=(0, (6, 4)))[0])
        self._labels = [Words(axes, style.BODY, "center") for _ in range(2)]
        self._factor = Words(axes, style.BODY, "center")
        make(*self._labels, self._factor)

    def draw(self, look, zoom, **values) -> str:
        """Simulate where a setting has changed; show one look."""
        history = self.history = run(**values, seed=self.seed)
        now, last = look_at(history.looks, look)
        if last:
            faces = history.face_um[-1]
            both = -faces[now.lower] - faces[now.upper]
            now = BladeLook(now.round, now.stage, now.lower, now.upper, (), faces, both - both.min(), 0)
        self._show_pair(now, values["sight_um"], values["blade_mm"], values["base_mm"], zoom)
        floor = style.angle(max(history.floor_um / values["blade_mm"] * 1000, 0.85), self.units)
        leans = style.angle(1.0, self.units) * np.abs(history.angle_urad)
        self._curve.show(leans, (look - 1) // len(STAGES), floor)
        return self._words(history, now, last, values)

    def _show_pair(self, now: BladeLook, sight_um: float, blade_mm: float, base_mm: float, zoom: bool) -> None:
        left = now.face_um[now.lower] - now.face_um[now.lower][0]
        right = left + now.gap_um
        spread = max(np.ptp(left), np.ptp(right), now.gap_um.max(), 1.0) / 1000
        scale = _HIGH / blade_mm
        self.scale.take(_ROOM / (1e-6 * _MOST_URAD * _HIGH), False)  # held where the largest lean has room
        factor = self.scale.take(min(_ROOM / spread / scale, 2000.0), zoom)
        left, right = scale * factor * left / 1000, scale * factor * right / 1000
        middle = 0.5 * (left + right).mean()
        left, right = left - middle, right - middle
        z = np.linspace(0.0, _HIGH, left.size)
        long = min(_WIDE + _ROOM / 2 + 8 + scale * base_mm * 0.5, 128.0)
        for body, square, face, way in zip(self._bodies, (now.lower, now.upper), (left, right), (-1, 1)):
            back = way * (_WIDE + _ROOM / 2)
            body.set_xy(np.column_stack([np.r_[face, back, back, way * long, way * long], np.r_[z, z[-1], 16, 16, 0]]))
            colour, line, _ = style.LINES[square]
            body.set_edgecolor(colour)
            body.set_linestyle(line)
        for label, square, way in zip(self._labels, (now.lower, now.upper), (-1, 1)):
            label.set_position((way * 84, 60))
            label.set_text(
                f"Square {square + 1}"
                + (": filed" if square in now.filed else ": gauge" if now.filed and now.stage != "split" else "")
            )
        seen = now.gap_um > sight_um
        self._light.set_verts([np.column_stack([np.r_[left, right[::-1]], np.r_[z, z[::-1]]])] if seen.any() else [])
        self._upright.set_xdata([left[0], left[0]])
        self._factor.set_position((0, 166))
        self._factor.set_text(f"{self.scale.words('sideways', '')}; dashed: true vertical")

    def _words(self, history: BladeHistory, now: BladeLook, last: bool, values: dict) -> str:
        def spell(um):
            return style.spell(um, self.units)

        blade = values["blade_mm"]
        what = (
            "after the last round"
            if last
            else f"square {now.upper + 1} is {_STAGE_WORDS[now.stage]} square {now.lower + 1}"
        )
        light = where_light(history.z_mm, now.gap_um, values["sight_um"])
        lean = history.angle_urad[-1] if last else (now.face_um[:, 0] - now.face_um[:, -1]) / blade * 1000
        leans = ", ".join(style.angle_figure(a, self.units, "+") for a in lean)
        words = (
            f"Round {now.round}, {what}: {light}, {spell(now.gap_um[0])} at the bottom and {spell(now.gap_um[-1])} at "
            f"the top. The squares lean by {leans} {style.angle_unit(self.units)} (plus: over their own base)."
        )
        if now.stage == "split" and not last:
            words += " Both carry the gauge's error the other way, so the pair shows twice that."
        if last:
            worst = np.abs(lean).max() * blade / 1000
            place = style.spell_place(blade, self.units)
            words += (
                f" The worst is out by {spell(worst)} at the top of {place}: "
                f"{square_grade_sentence(round(float(worst), 3), blade, place)}."
            )
        return words
