"""The units that a bench reads in, with the names that the trade uses: one table for files, the entry grid and
cards."""

from __future__ import annotations

from dataclasses import dataclass

ARCSEC_OF_URAD = 0.20626480624709636
"""Seconds of arc in a microradian, which is a micrometre in a metre: 648000 / pi / 1e6."""
DIVISION = "div"
"""A division of whatever was read; its file says what one is worth."""


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit as files name it and as people say it.

    `name`: what follows the name of a column, as ``um`` in ``gap_um``. `said`: as heads of a grid and of a card print
    it. `held`: how much of the house's unit (um, mm, seconds of arc) one of it holds; nan for a division. `also`: other
    ways to write it, in small letters and without blanks.
    """

    name: str
    said: str
    held: float
    also: tuple[str, ...] = ()

    @property
    def said_of_many(self) -> str:
        """The unit within a sentence, after "a number of"."""
        return {"arcsec": "seconds of arc", DIVISION: "divisions"}.get(self.name, self.said)


_DIVISION = Unit(name=DIVISION, said="div", held=float("nan"), also=("divs", "division", "divisions"))
SMALL = (
    Unit(name="um", said="µm", held=1.0, also=("micron", "microns", "micrometre", "micrometres")),
    Unit(name="mm", said="mm", held=1000.0),
    Unit(name="thou", said="thou", held=25.4, also=("mil", "mils")),
    Unit(name="in", said="in", held=25400.0, also=("inch", "inches", '"')),
    Unit(name="tenths", said="tenths", held=2.54, also=("tenth", "0.0001in")),
    _DIVISION,
)
"""Of gaps and heights; a tenth is a tenth of a thou. One inch is 25.4 mm by definition (1959)."""
LONG = (Unit(name="mm", said="mm", held=1.0), Unit(name="in", said="in", held=25.4, also=("inch", "inches", '"')))
"""Of places along a body."""
SLOPE = (
    Unit(name="arcsec", said="arcsec", held=1.0, also=("seconds", "secondsofarc", "secofarc")),
    Unit(name="urad", said="µrad", held=ARCSEC_OF_URAD),
    Unit(name="um_m", said="µm/m", held=ARCSEC_OF_URAD, also=("um/m", "um_per_m", "umperm")),
    Unit(name="mm_m", said="mm/m", held=1000 * ARCSEC_OF_URAD, also=("mm/m", "mm_per_m", "mmperm")),
    Unit(
        name="thou_ft",
        said="thou/ft",
        held=ARCSEC_OF_URAD * 1000 / 12,
        also=("thou/ft", "thou_per_ft", "thouperft", "thouperfoot"),
    ),
    Unit(name="in_ft", said="in/ft", held=ARCSEC_OF_URAD * 1e6 / 12, also=("in/ft", "in_per_ft", "inperfoot")),
    Unit(
        name="tenths_10in",
        said="tenths in 10 in",
        held=10 * ARCSEC_OF_URAD,
        also=("tenths/10in", "tenthsin10in", "tenthsper10in", "tenths_per_10in"),
    ),
    _DIVISION,
)
"""Of a level, as rise over length; a level's tenth in 10 inches is 10 um in a metre."""


def plain_unit(written: str) -> str:
    """Return a unit as the tables spell it: small letters, no blanks or brackets, u for the micro sign.

    >>> plain_unit("(µm / m)"), plain_unit("Thou per foot")
    ('um/m', 'thouperfoot')
    """
    plain = written.lower().replace("\u00b5", "u").replace("\u03bc", "u")
    return "".join(plain.split()).strip("()[]")


def unit_named(written: str, *tables: tuple[Unit, ...]) -> Unit | None:
    """Return the unit that somebody wrote, looked up in these tables; None where none of them has it.

    >>> unit_named("µm", SMALL).held, unit_named("mm/m", SMALL, SLOPE).name, unit_named("cubit", SMALL)
    (1.0, 'mm_m', None)
    """
    plain = plain_unit(written)
    return next((unit for table in tables for unit in table if plain in (unit.name, *unit.also)), None)
