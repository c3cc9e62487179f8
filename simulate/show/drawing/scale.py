"""The scale of a picture, held while a panel is open so that what is smaller looks smaller, and a hair beside it."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from simulate.show.drawing import style
from simulate.show.drawing.canvas import Canvas, Words

HAIR_UM = 60.0
"""A hair of the head, common practice, no source."""

ZOOM = "Zoom in on the heights"
"""What the box to tick says in every panel whose scale is held."""


def nice_factor(most: float) -> float:
    """Give the largest of 1, 2, 5, 10, 20 ... that is not above `most`.

    >>> nice_factor(730.0), nice_factor(0.3)
    (500.0, 1.0)
    """
    power = 10.0 ** np.floor(np.log10(max(most, 1.0)))
    return float(max(f for f in (1 * power, 2 * power, 5 * power) if f <= max(most, 1.0)))


class HeldScale:
    """A factor that stays as it was first taken, until somebody zooms in."""

    def __init__(self) -> None:
        self.held = self.factor = 0.0
        self.zoomed = self.leaves = False

    def take(self, most: float, zoomed: bool, first: float = 1.0) -> float:
        """Give the factor at which heights are drawn.

        `most`: the largest at which everything has room. `zoomed`: whether the factor follows `most`, down as well as
        up. `first`: part of the room that the first picture takes, so that what comes after it may be larger.

        >>> scale = HeldScale()
        >>> scale.take(730.0, False), scale.take(73.0, False), scale.take(73.0, True), scale.take(73.0, False)
        (500.0, 500.0, 50.0, 500.0)
        """
        self.held = self.held or nice_factor(first * most)
        self.zoomed = zoomed
        self.factor = nice_factor(most) if zoomed else self.held
        self.leaves = self.factor > max(most, 1.0) * 1.000001
        return self.factor

    def words(self, what: str = "heights", than: str = " as lengths") -> str:
        """Say the factor, whether it is held, and whether the shape has room.

        `what`, `than`: what is drawn so, and beside what.

        >>> scale = HeldScale()
        >>> _ = scale.take(2300.0, False)
        >>> scale.words()
        'Heights drawn 2 000 times as large as lengths; this scale stays'
        >>> _ = scale.take(230.0, False)
        >>> scale.words()
        'Heights drawn 2 000 times as large; the shape leaves the frame'
        >>> scale.words("angles", "")
        'Angles drawn 2 000 times as large; the shape leaves the frame'
        """
        drawn = f"{what} drawn {spell_factor(self.factor)} times as large"
        if self.zoomed:
            return f"Zoomed: {drawn}{than}"
        stays = "; the shape leaves the frame" if self.leaves else f"{than}; this scale stays"
        return f"{drawn[0].upper()}{drawn[1:]}{stays}"


class HeldTop:
    """The end of an axis of heights: held from the first picture with heights on, until somebody zooms in."""

    def __init__(self) -> None:
        self.held = 0.0
        self.zoomed = self.leaves = False

    def take(self, most: float, zoomed: bool, room: float = 1.0, rounded: bool = True) -> float:
        """Give the end of the axis.

        `most`: the largest height; 0 where there is none yet. `room`: how many times the first height has room.
        `rounded`: whether the end is a round figure.

        >>> top = HeldTop()
        >>> top.take(0.0, False), top.take(12.0, False, 4.0), top.take(3.0, False), top.take(3.0, True)
        (1.0, 50.0, 50.0, 3.0)
        """
        if most and not self.held:
            self.held = next_round(room * most) if rounded else room * most
        self.zoomed, held = zoomed, self.held or 1.0
        top = (next_round(most) if rounded else most) if zoomed and most else held
        self.leaves = most > top
        return top

    def words(self) -> str:
        """Say what the axis does."""
        return "Zoomed" if self.zoomed else "It leaves the frame" if self.leaves else ""


def next_round(value: float) -> float:
    """Give the smallest of 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 15 ... times a power of ten that is not below `value`.

    >>> next_round(260), next_round(3.0)
    (300.0, 3.0)
    """
    power = 10.0 ** np.floor(np.log10(value))
    return float(min(f * power for f in (1, 1.5, 2, 3, 4, 5, 6, 8, 10) if f * power >= value * (1 - 1e-12)))


def spell_factor(factor: float) -> str:
    """Spell a factor with its thousands apart.

    >>> spell_factor(20000.0)
    '20 000'
    """
    return f"{factor:,.0f}".replace(",", " ")


def known_height(dots_per_um: float, units: str = "mm", room: float = 45.0) -> tuple[float, str]:
    """Choose what lies beside a picture for scale: a hair, where it is neither a dot nor a tower.

    `room`: how high it may be, in dots.

    >>> known_height(0.2), known_height(7.0), known_height(0.2, "inch")[1]
    ((60.0, 'a hair, 60 µm'), (5.0, '5 µm, 1/12 of a hair'), 'a hair, 2.4 thou')
    """
    if 4 <= HAIR_UM * dots_per_um <= 1.5 * room:
        return HAIR_UM, f"a hair, {_figure(HAIR_UM, units)}"
    unit = style.to_um(1.0, units)
    most = room / max(dots_per_um, 1e-9) / unit
    power = 10.0 ** np.floor(np.log10(most))
    um = float(max(f * power for f in (1, 2, 5) if f * power <= most * 1.000001)) * unit
    part = HAIR_UM / um
    if part >= 1:
        return um, f"{_figure(um, units)}, 1/{part:.0f} of a hair"
    return um, f"{_figure(um, units)}, as much as {1 / part:.0f} hairs"


def _figure(um: float, units: str) -> str:
    return f"{style.small(um, units):.2g} {style.small_unit(units)}" if um < 100 else style.spell(um, units)


class ScaleBar:
    """A bar as high as something known, on the scale of the heights beside it.

    `at`: foot of the bar, in the data of the axes. `room`: how high it may be, in dots at 100 to the inch.
    """

    def __init__(
        self, canvas: Canvas, axes: Axes, at: tuple[float, float], units: str = "mm", room: float = 45.0
    ) -> None:
        self._axes, self._at, self._units, self._room = axes, at, units, room
        bar = axes.plot([], [], "_-", color=style.BLACK, lw=3, ms=9, mew=1.5, zorder=8, clip_on=False)[0]
        bar.set_solid_capstyle("butt")
        self._bar = canvas.moving(bar)
        self._words = canvas.moving(Words(axes, style.SMALL))

    def show(self, unit: float) -> None:
        """Draw it anew.

        `unit`: data of the axes for a micrometre.
        """
        (_, low), (_, high) = self._axes.transData.transform([(0, 0), (1, 1)])
        dots = (high - low) * 100 / self._axes.figure.dpi
        um, words = known_height(dots * unit, self._units, self._room)
        x, y = self._at
        self._bar.set_data([x, x], [y, y + um * unit])
        self._words.set_text(words)
        wide = self._axes.get_xlim()
        self._words.set_position((x + 0.012 * (wide[1] - wide[0]), y + um * unit / 2))
