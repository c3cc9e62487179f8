"""Inches beside the lengths of a text: one rule, for Python and for the script of a page."""

from __future__ import annotations

import json
import re
from decimal import ROUND_HALF_UP, Context, Decimal
from pathlib import Path

_GAP = "[ \n\u00a0\u202f]"
_FIGURE = f"(?:±{_GAP}?|[-+−])?[0-9]+(?:\\.[0-9]+)?"
_JOINED = f"(?:–|,{_GAP}+(?:and{_GAP}+|or{_GAP}+|to{_GAP}+|y{_GAP}+)?|{_GAP}+(?:and|or|to|±){_GAP}+)"
_ACROSS = f"{_GAP}(?:×|by){_GAP}"
_NAMES = (
    "bar",
    "bars",
    "plate",
    "plates",
    "square",
    "squares",
    "lesson",
    "lessons",
    "round",
    "rounds",
    "grade",
    "station",
    "stations",
    "row",
    "rows",
    "line",
    "lines",
    "number",
    "set",
    "sets",
    "page",
    "step",
    "DIN",
    "ISO",
    "=",
    "after",
    "pass",
    "share",
)
_AFTER_NAME = (
    f"(?<![-+−×/*·√]{_GAP})(?:(?=[0-9]{{3}}|[0-9]+\\.)|(?=[^0-9])|"
    + "".join(f"(?<!{n}{_GAP})" for n in (*_NAMES, *(name.capitalize() for name in _NAMES if name.islower())))
    + ")"
)
_LONG = ("µm", "μm", "um", "mm", "nm", "cm", "m", "micrometres?", "millimetres?", "metres?")
_UNITS = f"(?:µm|μm|um)(?:/m|{_GAP}in{_GAP}a{_GAP}metre)|(?:mm|cm)[²³]|{'|'.join(_LONG)}"
_UNIT = f"({_UNITS})"
_ALONE = f"(?!(?<=[0-9]{_GAP})[0-9]{{3}}(?![0-9]))"  # not the end of 1 000
_LIST = f"(?![0-9]+,{_GAP}{_FIGURE}{_GAP}(?:{_UNITS}))"  # "number 1, 200 µm": a whole number and a length are no list
_FIRST = "".join(f"(?<![0-9]{before}{_GAP})" for before in (",", f"{_GAP}and", f"{_GAP}or", f"{_GAP}to"))
"""A list begins with its first member, or not at all: "stations 2, 3 and 5 µm" has one length."""
_SAID = (
    f"(?!{_GAP}*(?:\\(|={_GAP}*)(?:±{_GAP}?|[-+−])?[0-9][^()]*{_GAP}(?:thou|in|ft|in[²³]|thou in a foot)[ ),.;\n"
    f"]|{_GAP}*={_GAP}*[0-9.]+ thou)"
)
PATTERN = (
    f"(?<![0-9A-Za-z_.,/–]){_ALONE}(?:{_AFTER_NAME}{_LIST}{_FIRST}({_FIGURE}(?:{_JOINED}{_FIGURE})+){_GAP}{_UNIT}|"
    f"{_AFTER_NAME}({_FIGURE}(?:{_ACROSS}{_FIGURE}){{1,2}}){_GAP}(mm)|({_FIGURE}){_GAP}{_UNIT})(?![0-9A-Za-z_²³/]){_SAID}"
)
"""A length, a list of them, or the sides of a body; written so that Python and JavaScript read it alike."""

_SMALL, _INCH = (25.4, "thou"), (25.4, "in")
FACTORS: dict[str, tuple[float, str]] = {
    "µm": _SMALL,
    "μm": _SMALL,
    "um": _SMALL,
    "micrometre": _SMALL,
    "nm": (25400.0, "thou"),
    "mm": _INCH,
    "millimetre": _INCH,
    "cm": (2.54, "in"),
    "m": (0.3048, "ft"),
    "metre": (0.3048, "ft"),
    "mm²": (645.16, "in²"),
    "cm²": (6.4516, "in²"),
    "mm³": (16387.064, "in³"),
    "cm³": (16.387064, "in³"),
    "slope": (1000 / 12, "thou in a foot"),
}
"""Unit -> what one of the inch unit holds of it, and its name; 1 inch is 25.4 mm by definition (1959)."""

_LENGTH = re.compile(PATTERN, re.ASCII)
_ONE = re.compile("[-+−]?[0-9]+(?:\\.[0-9]+)?", re.ASCII)
_THREE = Context(prec=3, rounding=ROUND_HALF_UP)


def inch_figure(figure: str, held: float) -> str:
    """Turn one figure: three places of it.

    `held`: how much of the figure's unit one of the inch unit holds.

    >>> inch_figure("+25.4", 25.4), inch_figure("40000", 25.4), inch_figure("4", 25.4)
    ('+1', '1570', '0.157')
    """
    value = float(figure.replace("−", "-").lstrip("+")) / held
    said = f"{_THREE.create_decimal(Decimal(value)):f}"
    said = said.rstrip("0").rstrip(".") if "." in said else said
    return f"+{said}" if figure.startswith("+") else said


def _beside(found: re.Match) -> str:
    figures, unit = (found[1], found[2]) if found[1] else (found[3], found[4]) if found[3] else (found[5], found[6])
    slope = "/m" in unit or "metre" in unit and "in" in unit.split()
    held, name = FACTORS["slope" if slope else unit.removesuffix("s")]
    inches = _ONE.sub(lambda m: inch_figure(m[0], held), re.sub("[\n\u00a0\u202f]", " ", figures))
    return f"{found[0]} ({inches} {name})"


def with_micro(text: str) -> str:
    """Spell the units of readings, which are written on any keyboard, as they are printed.

    >>> with_micro("gap_um holds 3 um")
    'gap_um holds 3 µm'
    """
    return re.sub(r"\bu(?=m\b|rad\b)", "µ", text)


def with_inches(text: str) -> str:
    """Put inches beside every length of a text.

    `text`: with lengths such as "12 µm", "500 mm" or "3, 4 or 6 µm". Returns: the same with the inch figures in
    brackets, three figures of each; what has them already stays.

    It does not see a figure whose unit stands elsewhere, such as in the heading of a table.

    >>> with_inches("The gap is 12.7 µm at 254 mm.")
    'The gap is 12.7 µm (0.5 thou) at 254 mm (10 in).'
    >>> with_inches("A plate of 400 × 250 mm, out by 20 to 50 µm.")
    'A plate of 400 × 250 mm (15.7 × 9.84 in), out by 20 to 50 µm (0.787 to 1.97 thou).'
    """
    return _LENGTH.sub(_beside, text)


def script() -> str:
    """Give the script that turns the text of a page, fed with this rule.

    Returns: JavaScript without the tag around it; a page that runs it twice is turned once.

    >>> "workshopUnits" in script()
    True
    """
    told = json.dumps({"pattern": PATTERN, "factors": FACTORS}).replace("<", "\\u003c")
    body = (Path(__file__).resolve().parent / "lengths.js").read_text(encoding="utf-8")
    return body.replace("RULE", told)
