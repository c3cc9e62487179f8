"""A bar squared in an order of faces, end view, with what each corner and each pair is out by."""

from __future__ import annotations

import numpy as np

from simulate.method.squares.faces import FACES, ORDERS, PAIRS, Squared, made_faces, square_up
from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words
from simulate.show.panel.panel import Panel

_HALF = np.array([30.0, 45.0, 30.0, 45.0])
_NORMAL = np.radians([-90.0, 0.0, 90.0, 180.0])
_MOST_URAD, _ROOM_RAD = 300.0, 0.46
"""Most that the square is out by, and the largest angle that has room."""


class FacesPanel(Panel):
    """Choose an order of faces; see where the error of the square goes.

    Parameters
    ----------
    order : str
        One of `ORDERS`.
    error_urad : float
        How much too wide the square is, -300 to 300; nobody in the shop knows it.
    square_urad : float
        How sure the square is held to be, 0 to 200.
    look_urad, micrometer_urad, stand_urad : float
        Spread of a look, of a making parallel, and of standing on a face, 0 to 100.
    units : str, optional
    dpi : int

    Examples
    --------
    >>> "B-D -200" in FacesPanel("all squared from A", error_urad=100).sentence
    True
    """

    def __init__(
        self,
        order: str = "round the corners",
        error_urad: float = 100,
        square_urad: float = 30,
        look_urad: float = 10,
        micrometer_urad: float = 15,
        stand_urad: float = 5,
        units: str | None = None,
        dpi: int = 100,
    ) -> None:
        super().__init__(units, dpi)
        self.menu("order", "Order of faces", list(ORDERS), order)
        self.angle_slider("error_urad", "Error of the square", error_urad, -_MOST_URAD, _MOST_URAD, 10)
        self.angle_slider("square_urad", "Uncertainty of the square", square_urad, 0, 200, 5)
        self.angle_slider("look_urad", "Light-gap repeatability", look_urad, 0, 100, 5)
        self.angle_slider("micrometer_urad", "Micrometer repeatability", micrometer_urad, 0, 100, 5)
        self.angle_slider("stand_urad", "Seating repeatability", stand_urad, 0, 100, 5)
        self.zoom_tick()
        self.found: Squared | None = None
        self._paper()
        self.ready()

    def _paper(self) -> None:
        self.canvas = Canvas(1280, 480, self.dpi)
        with style.styled():
            axes = self.canvas.figure.add_axes((0.01, 0.02, 0.45, 0.94))
            axes.set_xlim(-80, 80)
            axes.set_ylim(-62.7, 62.7)
            axes.axis("off")
            make = self.canvas.moving
            self._factor = make(Words(axes, style.SMALL))
            self._factor.set_position((-78, 57))
            axes.plot([-45, 45, 45, -45, -45], [-30, -30, 30, 30, -30], color="#777777", lw=1.2, ls=(0, (6, 4)))
            self._bar = make(axes.fill([0, 1, 1], [0, 0, 1], facecolor=style.STEEL, edgecolor=style.BLUE, lw=2.4)[0])
            for name, x, y in zip(FACES, (0, 37, 0, -37), (-24, 0, 24, 0)):
                make(axes.text(x, y, name, ha="center", va="center", fontsize=style.LARGE, weight="bold", zorder=8))
            self._corners = [Words(axes, style.SMALL, "center") for _ in range(4)]
            make(*self._corners)
            self._pairs_paper(self.canvas.figure.add_axes((0.56, 0.15, 0.29, 0.76)))

    def _pairs_paper(self, axes) -> None:
        self._reach = style.angle(950.0, self.units)
        axes.set_xlim(-self._reach, self._reach)
        axes.set_ylim(5.6, -0.6)
        axes.set_yticks(range(6))
        axes.set_yticklabels(["-".join(p) + (" corner" if k < 4 else " parallel") for k, p in enumerate(PAIRS)])
        axes.set_xlabel(f"out by ({style.angle_unit(self.units)})")
        axes.set_title("Effect of the square, and ± 2 standard deviations", loc="left", x=-0.32)
        axes.axvline(0, color="#777777", lw=1)
        axes.grid(axis="x", color="#DDDDDD", lw=0.8)
        make = self.canvas.moving
        self._lines = make(axes.plot([0], [0], color=style.BLUE, lw=7, alpha=0.45, solid_capstyle="butt")[0])
        self._dots = make(axes.plot([0] * 6, range(6), "s", color=style.ORANGE, ms=9)[0])
        self._said = [Words(axes, style.SMALL) for _ in range(6)]
        make(*self._said)

    def draw(self, order, error_urad, zoom, **spread) -> str:
        """Carry the errors through the order; give the sentence."""
        steps = ORDERS[order]
        found = self.found = square_up(steps, **spread)
        out = found.of_square * error_urad
        self._show_bar(made_faces(steps, error_urad), out, zoom)
        unit = style.angle(1.0, self.units)
        two = 2 * unit * found.sd_urad
        self._lines.set_data(np.stack([-two, two, np.nan * two], axis=1).ravel(), np.repeat(np.arange(6.0), 3))
        self._dots.set_xdata(np.clip(unit * out, -self._reach, self._reach))
        for k, (said, value) in enumerate(zip(self._said, out)):
            said.set_position((1.05 * self._reach, k))
            said.set_text(f"{self._bare(value)} ({found.of_square[k]:.0f} ×)")
        how = "; ".join(f"{s.face} to {s.against} by {s.by}" for s in steps)
        each = ", ".join(f"{name} {self._bare(value)}" for name, value in zip(found.pairs, out))
        idle = "" if any(s.by == "micrometer" for s in steps) else " No micrometer is used in this order."
        worst = found.pairs.index(found.worst)
        side = "wide" if error_urad > 0 else "narrow"
        leaves = (
            f"A square that is {style.spell_angle(abs(error_urad), self.units)} too {side} leaves these errors: {each} "
            f"{style.angle_unit(self.units)} (first four corners, plus: too wide; then two pairs, out of parallel)."
            if abs(error_urad) >= 0.5
            else "A true square leaves every corner true and every pair parallel."
        )
        return (
            f"Order: A flat first; {how}.{idle} {leaves} The least certain is {found.worst}: "
            f"{style.spell_angle(found.sd_urad[worst], self.units)}, with {found.square_in_worst} in it."
        )

    def _bare(self, urad: float) -> str:
        return style.angle_figure(urad, self.units, "+")

    def _show_bar(self, turned: np.ndarray, out: np.ndarray, zoom: bool) -> None:
        self.scale.take(_ROOM_RAD / (3e-6 * _MOST_URAD), False)  # held where three times the largest error has room
        factor = self.scale.take(_ROOM_RAD / (1e-6 * max(np.abs(turned).max(), 10.0)), zoom)
        self._factor.set_text(f"End view. {self.scale.words('angles', '')}")
        angle = _NORMAL + 1e-6 * factor * turned
        normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
        corners = []
        for k in range(4):
            pair = [k, (k + 1) % 4]
            corners.append(np.linalg.solve(normal[pair], _HALF[pair]))
        corners = np.array(corners)
        self._bar.set_xy(corners)
        for said, value, (x, y) in zip(self._corners, out, ((58, -47), (58, 45), (-58, 45), (-58, -47))):
            said.set_position((x, y))
            said.set_text(
                "true" if abs(value) < 0.5 else f"{'wide' if value > 0 else 'narrow'} by {self._bare(abs(value))[1:]}"
            )
