"""Colours, line styles and sizes of every picture, and how lengths are spelled."""

from __future__ import annotations

from pathlib import Path

from matplotlib import rc_context

PAGES_CSS = Path(__file__).with_name("pages.css")
"""How every page that we write looks: static pages, the report, the projector's index."""

BLUE, ORANGE, BLACK = "#0072B2", "#D55E00", "#000000"
"""Hold 3:1 on white and stay apart under every colour blindness: of the palette that M. Okabe and K. Ito published
(*Color Universal Design*, 2008, from memory)."""

ORANGE_LETTERS = "#B34F00"
"""Orange of letters: thin strokes need 4.5:1."""

STEEL, SEEN = "#D9DDE2", "#FFD84D"
"""Fills, always with a hatch, an outline or a label beside them."""

SIDE = "#868C93"
"""Side of a body of steel that is drawn as one; letters on it are black."""

LINES = ((BLUE, "-", "o"), (ORANGE, "--", "s"), (BLACK, ":", "^"))
"""Colour, line style and marker of bars 1, 2 and 3: never colour alone."""

SMALL, BODY, LARGE = 12, 13.5, 15
"""Points at 100 dots to the inch; legible from the back of a room when projected."""

WALL_DPI, WALL_AXES = 150, 16.5
"""From so many dots to the inch on, a picture is for a wall; there the letters of its axes have so many points, with
which a figure is 1/45 as high as the screen."""

RC = {
    "font.size": BODY,
    "axes.titlesize": LARGE,
    "axes.labelsize": BODY,
    "xtick.labelsize": SMALL,
    "ytick.labelsize": SMALL,
    "legend.fontsize": SMALL,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "hatch.linewidth": 1.2,
    "lines.linewidth": 2.2,
    "font.family": "DejaVu Sans",
    "svg.hashsalt": "workshop",
}

UNITS = ("mm", "inch")
_UM_PER_THOU = 25.4


def styled():
    """Give a context in which figures take this style.

    >>> with styled():
    ...     pass
    """
    return rc_context(RC)


def letters(colour: str) -> str:
    """Return the colour in which letters name a curve of this colour.

    Returns: the same, or a darker one where letters would be too pale.

    >>> letters(BLUE) == BLUE, letters(ORANGE) == ORANGE_LETTERS
    (True, True)
    """
    return ORANGE_LETTERS if colour == ORANGE else colour


def small_unit(units: str) -> str:
    """Name the unit of heights.

    `units`: ``"mm"`` or ``"inch"``.

    >>> small_unit("inch")
    'thou'
    """
    return "thou" if units == "inch" else "µm"


def small(um: float, units: str = "mm") -> float:
    """Turn micrometres into the unit of heights.

    >>> small(25.4, "inch")
    1.0
    """
    return um / _UM_PER_THOU if units == "inch" else um


def to_um(value: float, units: str = "mm") -> float:
    """Turn a height in the learner's unit into micrometres.

    >>> to_um(2, "inch")
    50.8
    """
    return value * _UM_PER_THOU if units == "inch" else value


def spell(um: float, units: str = "mm") -> str:
    """Spell a height with as many figures as it deserves.

    >>> spell(41.26), spell(3.14), spell(25.4, "inch")
    ('41 µm', '3.1 µm', '1.00 thou')
    """
    value = small(float(um), units)
    figures = (0 if abs(value) >= 9.95 else 1) if units == "mm" else (1 if abs(value) >= 9.95 else 2)
    return f"{value:.{figures}f} {small_unit(units)}"


def spell_place(mm: float, units: str = "mm") -> str:
    """Spell a position along a bar.

    >>> spell_place(127), spell_place(127, "inch")
    ('127 mm', '5.0 in')
    """
    return f"{mm / 25.4:.1f} in" if units == "inch" else f"{mm:.0f} mm"


def place(mm: float, units: str = "mm") -> float:
    """Turn millimetres along a bar into the learner's unit.

    >>> place(254, "inch")
    10.0
    """
    return mm / 25.4 if units == "inch" else mm


def angle_unit(units: str) -> str:
    """Name the unit of angles.

    >>> angle_unit("inch")
    'thou in a foot'
    """
    return "thou in a foot" if units == "inch" else "µm in a metre"


def angle(urad: float, units: str = "mm") -> float:
    """Turn microradians, that is µm in a metre, into the learner's unit.

    >>> round(angle(1000, "inch"), 3)
    12.0
    """
    return urad * 0.012 if units == "inch" else urad


def angle_figure(urad: float, units: str = "mm", sign: str = "") -> str:
    """Spell the figure of an angle without its unit.

    >>> angle_figure(203.4), angle_figure(-203.4, "inch", "+"), angle_figure(-0.2, sign="+")
    ('203', '-2.44', '0')
    """
    value = angle(float(urad), units)
    if abs(value) < (0.5 if units == "mm" else 0.005):  # a nought has no sign
        value, sign = 0.0, ""
    return f"{value:{sign}.{0 if units == 'mm' else 2}f}"


def spell_angle(urad: float, units: str = "mm", sign: str = "") -> str:
    """Spell an angle.

    `sign`: ``"+"`` shows a plus.

    >>> spell_angle(203.4), spell_angle(-203.4, "inch", "+")
    ('203 µm in a metre', '-2.44 thou in a foot')
    """
    return f"{angle_figure(urad, units, sign)} {angle_unit(units)}"
