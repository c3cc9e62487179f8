"""One profile, three reference lines, and a tilt that changes nothing."""

from __future__ import annotations

import numpy as np

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas
from simulate.show.panel.panel import Panel
from simulate.surface.starting_bars import starting_bars
from simulate.surface.straightness import straightness

REFERENCES = ("minimum zone", "least squares", "end points")
_X = np.linspace(-250.0, 250.0, 201)


class StraightPanel(Panel):
    """What straight means: the same bar against three reference lines.

    Parameters
    ----------
    bow_um, s_um, worn_um, rough_um : float
        Bow (-100 to 100), S-shape (-100 to 100), wear of the right end (0 to 100), small waves (0 to 30).
    tilt_um : float
        How much higher the right end of the bar lies on the plate, -200 to 200.
    seed : int
        Which small waves.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> StraightPanel(tilt_um=0).answers() == StraightPanel(tilt_um=120).answers()
    True
    """

    def __init__(
        self,
        bow_um: float = 40,
        s_um: float = 15,
        worn_um: float = 30,
        rough_um: float = 6,
        tilt_um: float = 0,
        seed: int = 1,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        _, self._waves = starting_bars(500, 1.0, points=_X.size, bars=1, seed=seed)
        self.height_slider("bow_um", "Bow", bow_um, -100, 100, 1)
        self.height_slider("s_um", "S-shape", s_um, -100, 100, 1)
        self.height_slider("worn_um", "Wear of right end", worn_um, 0, 100, 1)
        self.height_slider("rough_um", "Other shapes", rough_um, 0, 30, 1)
        self.height_slider("tilt_um", "Tilt of the bar", tilt_um, -200, 200, 5)
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 480, self.dpi)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.075, 0.14, 0.55, 0.77))
            x = self._x = style.place(1.0, self.units) * _X
            top = style.small(260, self.units)
            axes.set_xlim(x[0], x[-1])
            axes.set_ylim(-top, top)
            axes.grid(color="#DDDDDD", lw=0.8)
            axes.set_xlabel(f"position along the bar ({'in' if self.units == 'inch' else 'mm'})")
            axes.set_ylabel(f"height as it lies ({style.small_unit(self.units)})")
            make = self.canvas.moving
            self._bar = make(axes.plot(x, 0 * x, color="#555555", lw=5, alpha=0.6, solid_capstyle="butt")[0])
            self._zone = make(
                axes.fill_between(x, 0, 0 * x, facecolor="#D6E6F2", edgecolor=style.BLUE, lw=1.2, zorder=0)
            )
            self._lines = [make(axes.plot(x, 0 * x, line, color=colour)[0]) for colour, line, _ in style.LINES]
            self._title = make(axes.set_title("", loc="left"))
            self._bars(axes)

    def _bars(self, _axes) -> None:
        values = self.canvas.figure.add_axes((0.66, 0.14, 0.33, 0.77))
        values.axis("off")
        values.set_xlim(0, 1)
        values.set_ylim(0, 1)
        values.text(0, 0.99, "Out of straight against", va="top", fontsize=style.LARGE)
        self._values = []
        for k, ((colour, line, _), name) in enumerate(zip(style.LINES, REFERENCES)):
            y = 0.78 - 0.22 * k
            values.plot([0, 0.16], [y, y], line, color=colour, lw=3)
            values.text(0.2, y, name, va="center", color=style.letters(colour), fontsize=style.LARGE)
            self._values.append(
                self.canvas.moving(
                    values.text(0.98, y, "", va="center", ha="right", fontsize=style.LARGE, weight="bold")
                )
            )
        values.text(
            0,
            0.16,
            "Thick grey: the bar as it lies.\nPale blue: the minimum zone, the closest\ntwo parallel lines that "
            "hold the bar.",
            va="center",
            fontsize=style.SMALL,
        )

    def _profile(self, bow_um, s_um, worn_um, rough_um) -> np.ndarray:
        u = _X / _X[-1]
        bow, ess = bow_um * (1 - u**2), s_um * (u - u**3) * 1.299
        worn = -worn_um * np.clip((u - 0.6) / 0.4, 0, None) ** 2
        return bow + ess + worn + rough_um * np.reshape(self._waves, -1)

    def answers(self) -> tuple[float, ...]:
        """Give straightness against the three references, to a millionth of a micrometre.

        Returns
        -------
        tuple of float
            In µm, in the order of `REFERENCES`.
        """
        return tuple(round(v, 6) for v in self._found)

    def draw(self, tilt_um, **shape) -> str:
        """Judge the bar against the three lines; give the sentence."""
        h = self._profile(**shape) + tilt_um * _X / (_X[-1] - _X[0])
        found = [straightness(_X, h, name) for name in REFERENCES]
        self._found = [float(f.value_um) for f in found]
        unit = style.small(1.0, self.units)
        self._bar.set_ydata(unit * h)
        for line, text, form, value in zip(self._lines, self._values, found, self._found):
            line.set_ydata(unit * (h - np.asarray(form.residual_um)))
            text.set_text(style.spell(value, self.units))
        zone, ref = found[0], unit * (h - np.asarray(found[0].residual_um))
        ends = [ref + unit * float(end(zone.residual_um)) for end in (np.min, np.max)]
        self._zone.set_verts([np.column_stack([np.r_[self._x, self._x[::-1]], np.r_[ends[0], ends[1][::-1]]])])
        side = "higher" if tilt_um > 0 else "lower"
        self._title.set_text(
            f"Tilt alone: right end {style.spell(abs(tilt_um), self.units)} {side}" if tilt_um else "No tilt"
        )
        parts = ", ".join(f"{style.spell(v, self.units)} by {n}" for v, n in zip(self._found, REFERENCES))
        tilted = (
            f" The tilt alone puts its right end {style.spell(abs(tilt_um), self.units)} {side} than its left one; it "
            "changes none of the three, because the reference line tilts with the bar."
        )
        return f"The bar is out of straight by {parts}." + tilted * bool(tilt_um)
