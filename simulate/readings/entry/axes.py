"""What each kind of readings has down and across its grid, and which columns of its file one cell stands for."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from simulate.readings.table.cell_words import inches_of, plain_name
from simulate.readings.table.columns import KNOWN, PLAIN, meaning_of, unit_of
from simulate.readings.table.csv_cells import as_seen
from simulate.readings.table.kinds import kind_by
from simulate.readings.table.tidying import name_key

NAMES = ("lower", "upper", "gauge", "line", "axis", "by", "face", "against")
DEFAULTS: dict[str, str | float] = {
    "round": "1",
    "turned": "0",
    "slide_x": 0.0,
    "slide_y": 0.0,
    "plane": "upright",
    "face": "top",
    "against": "bottom",
}
"""What a key is where the table has no such column, as `key_of` gives it."""
_TURNED = {"yes": "1", "true": "1", "no": "0", "false": "0"}
_MINUS = str.maketrans(dict.fromkeys("\u2212\u2013\ufe63\uff0d", "-"))
_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]{1,3})?")


@dataclass(frozen=True, kw_only=True)
class Axes:
    """What stands down a grid, what across it, and what is typed into it.

    `down`, `across`: columns that say which row and which column of the grid a reading belongs to. `again_down`:
    whether the same place read again makes another row, and not another column. `values`: columns of the file that one
    cell stands for, the one that is typed into first; one tuple for each cell of a line. `carried`: columns that a line
    has beside these. `listed`: whether every line of the file is a row of its own, in the order of the file, with a
    cell for each thing that may be read there.
    """

    down: tuple[str, ...]
    across: tuple[str, ...]
    values: tuple[tuple[str, ...], ...]
    again_down: bool = False
    carried: tuple[str, ...] = ()
    listed: bool = False


_GAP = (("gap", "gap_at_least", "gap_at_most", "printed"),)
_PAIR = ("round", "lower", "upper")
AXES = {
    "bars": Axes(down=("position",), across=(*_PAIR, "turned"), values=_GAP, carried=("film",)),
    "plates": Axes(
        down=(*_PAIR, "turned", "slide_x", "slide_y", "y"),
        across=("x",),
        values=_GAP,
        again_down=True,
        carried=("film",),
    ),
    "squares": Axes(down=("height",), across=_PAIR, values=_GAP),
    "union jack": Axes(down=("station",), across=("round", "line"), values=(("reading",),), carried=("x", "y")),
    "lands": Axes(
        down=("gauge", "left", "middle", "right"),
        across=("round",),
        values=(("proud", "proud_at_least", "proud_at_most"),),
    ),
    "wedge": Axes(down=("gap",), across=("round",), values=(("looks",), ("seen",))),
    "head": Axes(
        down=("x",),
        across=("round", "axis", "plane", "turned"),
        values=(("dial",),),
        carried=("diameter", "length", "held"),
    ),
    "cross slide": Axes(down=("travel",), across=("round", "turned"), values=(("dial",),), carried=("base_sd",)),
    "one square": Axes(
        down=("height",),
        across=("round", "by", "turned"),
        values=_GAP,
        carried=("taper", "taper_sd", "base_sd"),
    ),
    "thickness": Axes(down=("round", "face", "against", "y"), across=("x",), values=(("thickness",),), again_down=True),
}
"""Kind of readings to its grid. A plate's grid is a map for each placement, far side first."""
_READ = (*_GAP, ("dial",), ("step",), ("reading",), ("apart",), ("thickness",))
_BESIDE = ("note", "taper", "taper_sd", "base_sd", "square", "square_sd", "diameter", "length", "held", "film")
_PAIRED = ("bars", "plates", "squares", "lands", "wedge", "union jack")
_MARKS = (
    ("head", {"axis", "dial"}),
    ("cross slide", {"travel"}),
    ("one square", {"by", "height"}),
    ("thickness", {"thickness", "y"}),
    ("union jack", {"line", "station"}),
    ("wedge", {"looks", "seen"}),
    ("lands", {"gauge", "left"}),
    ("squares", {"height"}),
    ("plates", {"y"}),
    ("bars", {"lower", "upper"}),
)
"""Columns by which a header says what its table holds; the first kind that has all of its own counts."""


def axes_of(header: list[str]) -> tuple[str, Axes]:
    """Say by its header what a table holds and how its grid lies; the kind is empty where no grid fits.

    >>> axes_of(["lower", "upper", "x_mm", "gap_um"])[1].down
    ('x',)
    """
    has = {meaning_of(name) for name in header}
    kind = next((kind for kind, marks in _MARKS if marks <= has), "")
    axes = AXES.get(kind, AXES["bars"])
    if kind == "bars" and "position" not in has:
        axes = Axes(down=("x",), across=axes.across, values=axes.values, carried=axes.carried)
    keys, values = {*axes.down, *axes.across} - set(DEFAULTS), {name for group in axes.values for name in group}
    known = {*axes.down, *axes.across, *values, *axes.carried, "note"}
    if len(has) < len(header) or not all(name.strip() and _known(name) for name in header):
        return "", axes
    return (kind, axes) if kind and keys <= has and values & has and has <= known else _listed(header)


def _listed(header: list[str]) -> tuple[str, Axes]:
    """A grid in which each line of the file is a row: of readings along lines or of a bed, and of others of a kind
    that has a grid of its own but not for these columns."""
    names = [meaning_of(name) for name in header]
    values = tuple(group for group in _READ if set(group) & set(names))
    read = {name for group in values for name in group}
    down = tuple(name for name in names if name not in read and name not in _BESIDE)
    kind = kind_by(names)
    fits = values and down and kind not in _PAIRED
    return (kind if fits else ""), Axes(down=down, across=(), values=values, carried=_BESIDE, listed=True)


def _known(name: str) -> bool:
    return meaning_of(name) in PLAIN or bool(unit_of(name))


@lru_cache(maxsize=8192)
def key_of(name: str, written: str) -> str | float | None:
    """Return what two cells of a key have in common that mean the same; None where it is no key.

    >>> key_of("position_mm", "25.40") == key_of("position_in", "1")
    True
    >>> key_of("lower", "Bar 1") == key_of("lower", "bar1")
    True
    """
    cell, what = as_seen(written), meaning_of(name)
    if (not cell and what != "plane") or cell.startswith("#"):
        return None
    if what in NAMES:
        return name_key(cell)
    if what == "turned":
        return _TURNED.get(cell.lower(), cell if re.fullmatch("[0-9]{1,3}", cell) else None)
    if what == "plane":
        return {"upright": "upright", "level": "level", "": "upright"}.get(cell.lower())
    if what in ("round", "station"):
        return str(int(cell)) if re.fullmatch("[0-9]{1,6}", cell) else None
    cell = inches_of(cell) or cell if unit_of(name) == "in" else cell.translate(_MINUS)
    held = KNOWN[plain_name(name)][1]
    return round(float(cell) * (held if held > 0 else 1.0), 6) + 0.0 if _NUMBER.fullmatch(cell) else None
