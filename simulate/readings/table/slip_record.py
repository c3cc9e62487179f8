"""A slip of the pen: what looks like one in a file of readings, what was made of it, and what to do."""

from __future__ import annotations

from dataclasses import dataclass

from simulate.core.number_format import three

_WORDS = {
    # what the reader understood and went on with
    "encoding": ("The file was read as {what}", ""),
    "decimal comma": ("The file was read with cells separated by {what} and decimals written with a comma", ""),
    "title row": ("{rows} above the header {is_are} taken for a title", ""),
    "units row": ("{rows} under the header {is_are} taken for the units of the columns", ""),
    "merged cells": (
        "{rows} {has_have} no {what}; the cell above was taken to hold for {it_them}, as in merged cells",
        "Write it in every row if that is wrong",
    ),
    "names joined": (
        "{what} were taken as one name",
        "If they are different bodies, give them names that differ by more than capitals and spaces",
    ),
    "interval": ("{rows} {is_are} taken as {an_interval}", ""),
    "dark": (
        "{rows}: 'dark' is taken as a gap of at most {figure:g} um",
        "Give the gap that your own eye can just see, as a line '# dark_um: 2' at the top",
    ),
    "print": (
        "{rows}: a print is taken as a gap of at most {figure:g} um where it shows, and of at least that elsewhere",
        "",
    ),
    # what is only suspected: nothing was changed
    "too small": (
        "No gap is larger than {three} um, too small for any light to show: millimetres under a heading of "
        "micrometres, or inches under one of thou?",
        "If so, call the column {what}",
    ),
    "too large": (
        "Half of the gaps are {three} mm or more: micrometres under a heading of millimetres, or thou under one "
        "of inches?",
        "If so, call the column {what}",
    ),
    "too steep": (
        "Half of the steps differ by over {three} mm in a metre: micrometres under a heading of "
        "millimetres a metre, or thou under one of inches a foot?",
        "If so, call the column {what}",
    ),
    "dial too small": (
        "No figure of the dial is larger than {three} um: millimetres under a heading of micrometres, or inches "
        "under one of thou?",
        "If so, call the column {what}",
    ),
    "too thin": (
        "The piece is {three} um thick: millimetres under a heading of micrometres, or inches under one of thou?",
        "If so, call the column {what}",
    ),
    "pair too small": (
        "The gaps of {what} are about {figure:.0f} times smaller than those of the others: millimetres among "
        "micrometres, or inches among thou?",
        "If so, multiply these rows by 1000",
    ),
    "turned": (
        "The readings would agree far better ({three} times less scatter) if {what} had been {way}",
        "Check which way it lay, and correct the column turned",
    ),
    "all turned": (
        "The readings would agree far better ({three} times less scatter) with yes and no swapped in the "
        "whole column turned",
        "Check what yes means in it",
    ),
    "shifted": (
        "The stations of {what} all lie {figure:g} mm {way} those of the others: measured from another end or mark?",
        "If so, correct the positions of these rows",
    ),
}
SLIPS = tuple(_WORDS)
"""Kinds of slip."""
UNDERSTOOD = SLIPS[: SLIPS.index("too small")]
"""Those that the reader took as they were meant; of the others nothing was changed."""


@dataclass(frozen=True, kw_only=True)
class Slip:
    """One thing in a file that looks like a slip of the pen.

    Attributes
    ----------
    kind : str
        One of `SLIPS`.
    rows : tuple of int
        Lines of the file; empty where it is the whole file.
    what : str
        The pair, the names, the column or the separator it is about.
    figure : float or None
        Its size: a gap in um (``"too small"``, ``"dark"``) or mm (``"too large"``), a shift in mm, or a factor.
    way : str
        Which way: ``"before"`` or ``"beyond"`` for a shift, ``"turned"``, ``"not turned"`` or by how much for a fit.
    others : tuple of str
        What would explain it as well.
    """

    kind: str
    rows: tuple[int, ...] = ()
    what: str = ""
    figure: float | None = None
    way: str = ""
    others: tuple[str, ...] = ()

    @property
    def suspected(self) -> bool:
        """True where it is only suspected, and nothing was changed."""
        return self.kind not in UNDERSTOOD

    @property
    def do(self) -> str:
        """What to do about it; empty where nothing has to be done."""
        return _WORDS[self.kind][1].format(what=self.what)

    @property
    def sentence(self) -> str:
        """The slip in words, with what to do."""
        several = len(self.rows) != 1
        words = _WORDS[self.kind][0].format(
            what=self.what,
            figure=self.figure,
            three="" if self.figure is None else three(self.figure),
            way=self.way,
            rows=rows_words(self.rows),
            is_are="are" if several else "is",
            has_have="have" if several else "has",
            it_them="them" if several else "it",
            an_interval="intervals" if several else "an interval",
        )
        words += f"; or {' or '.join(self.others)}" if self.others else ""
        return f"{words}{'' if words.endswith('?') else '.'}{f' {self.do}.' if self.do else ''}"


def rows_words(rows: tuple[int, ...], most: int = 6) -> str:
    """Return rows as they are told, runs of them as ranges.

    `most`: ranges beyond which the rest is counted.

    >>> rows_words((3, 4, 5, 9)), rows_words((2,))
    ('Rows 3 to 5 and 9', 'Row 2')
    """
    runs: list[list[int]] = []
    for row in sorted(rows):
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    said = [str(a) if a == b else f"{a} to {b}" if b > a + 1 else f"{a} and {b}" for a, b in runs]
    if len(said) > most:
        said = [*said[: most - 1], f"{len(said) - most + 1} more"]
    return f"Row{'s' * (len(rows) != 1)} " + (
        " and ".join([", ".join(said[:-1]), said[-1]]) if len(said) > 1 else said[0] if said else ""
    )
