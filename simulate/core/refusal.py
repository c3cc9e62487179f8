"""The one refusal of the course: facts first, and one line of text made from them in one place."""

from __future__ import annotations

import copyreg
from collections.abc import Iterable, Sequence

_IS, _ARE = (" is ", "it must be "), (" are ", "they must be ")
_HOLDS, _SAYS = (" holds ", "it must hold "), (": ", "there must be ")
CATALOGUE = {
    "range": _IS,  # a figure outside its range
    "choice": _IS,  # none of a few
    "type": _IS,  # a thing of another type
    "number": _IS,  # no number, no finite number, no whole number
    "shape": _IS,  # an array of another shape
    "shapes": _ARE,  # arrays that do not go together
    "count": _HOLDS,  # too few or too many of something
    "order": _IS,  # figures that do not rise
    "spacing": (" has steps of ", "it must be "),  # places that are not evenly spaced
    "same": _IS,  # one body or one name twice, where two are needed
    "place": _IS,  # a place that is not there, or not fit for it: a body would tip, a land hangs over
    "places": _ARE,  # several places or figures that do not do together
    "memory": _IS,  # more figures at once than a computer holds
    "goal": _IS,  # a wish that nothing on offer fulfils
    "unsettled": _SAYS,  # readings that leave open what is asked
    "contradiction": _SAYS,  # figures that cannot all be true
    "state": _IS,  # an act at the wrong time
    "act": _IS,  # an act that is none, or is given what it does not take
    "missing": _HOLDS,  # a file, a folder or a book without what is looked for
    "file": (" ", "it must be "),  # a file that cannot be opened, read or written
    "damaged": (" is damaged: ", "it must be "),  # a file that was kept here, and changed or cut off since
    "large": _IS,  # a file beyond its limit
    "cell": _IS,  # one cell of a table of readings
    "table": _SAYS,  # rows, columns and heads of a table of readings
    "tools": _IS,  # something that is not installed, or that failed
}
"""Kinds of refusal: what links the place with what was found there, and what leads on to what must be."""


class Refusal(ValueError):
    """What was asked for cannot be done, and why: the learner's case, never a fault of the course.

    Parameters
    ----------
    code : str
        A key of `CATALOGUE`.
    where : str
        What the refusal is about: an argument, a file with row and column, a setting.
    found : str
        What stood there.
    must_be : str
        What may stand there.
    do : str
        What to do next, where that is not evident; without the full stop.

    Notes
    -----
    Panels, players, the practice bench and command lines turn this into a sentence, and nothing else: any other
    exception is a fault of the course and shows itself as one. Any fact but the code may be empty.

    Examples
    --------
    >>> refusal = Refusal("range", where="share", found="2", must_be="0 to 1", do="Give the part that one bar bears")
    >>> print(refusal)
    share is 2; it must be 0 to 1. Give the part that one bar bears.
    >>> refusal.code, refusal.must_be
    ('range', '0 to 1')
    """

    def __init__(self, code: str = "", *, where: str = "", found: str = "", must_be: str = "", do: str = "") -> None:
        self.code, self.where, self.found, self.must_be, self.do = code, where, found, must_be, do
        super().__init__(sentence(code, where, found, must_be, do))

    @property
    def clause(self) -> str:
        """What it says, to go on from in another refusal."""
        return str(self).rstrip(".")

    def __reduce__(self):
        return copyreg.__newobj__, (type(self), *self.args), vars(self)


def sentence(code: str, where: str = "", found: str = "", must_be: str = "", do: str = "") -> str:
    """Make the one line that a refusal says.

    `code`: a key of `CATALOGUE`. `where`, `found`, `must_be`, `do`: any may be empty; line breaks become blanks.

    >>> sentence("count", "x_mm", "1 position", "2 or more")
    'x_mm holds 1 position; it must hold 2 or more.'
    >>> sentence("shape", "height_um", shape_words((3, 4)), "a row of 3, one for each bar")
    'height_um is 3 by 4 figures; it must be a row of 3, one for each bar.'
    """
    link, tail = CATALOGUE[code] if code else _IS
    head = f"{where}{link}{found}" if where and found else where or found
    said = f"{head}; {tail}{must_be}" if head and must_be else head or must_be
    lines = [part.rstrip(".") + "." for part in (said, do) if part]
    return " ".join(" ".join(lines).split())


def shape_words(shape: Sequence[int]) -> str:
    """Say the shape of an array.

    >>> shape_words(()), shape_words((3,)), shape_words((3, 4))
    ('a single figure', 'a row of 3', '3 by 4 figures')
    """
    if not shape:
        return "a single figure"
    return f"a row of {shape[0]}" if len(shape) == 1 else f"{' by '.join(map(str, shape))} figures"


def counted(count: int, one: str, many: str | None = None) -> str:
    """Count things.

    `many`: where it is more than `one` with an s.

    >>> counted(1, "station"), counted(0, "reading"), counted(2, "pass", "passes")
    ('1 station', '0 readings', '2 passes')
    """
    return f"{count} {one if count == 1 else many or one + 's'}"


def a_kind_of(value: object) -> str:
    """Say of what type a value is, with its article.

    >>> a_kind_of(3), a_kind_of("mine"), a_kind_of(None)
    ('an int', 'a str', 'None')
    """
    return "None" if value is None else with_article(type(value).__name__)


def with_article(name: str) -> str:
    """Put an article before the name of a type.

    >>> with_article("int"), with_article("Sight")
    ('an int', 'a Sight')
    """
    return f"{'an' if name[0] in 'aeiouAEIOU' else 'a'} {name}"


def listed(words: Sequence[str], joint: str = "and") -> str:
    """Join words as they are said.

    >>> listed(["x"]), listed(["x", "y"]), listed(["gap_um", "gap_mm", "gap_in"], "or")
    ('x', 'x and y', 'gap_um, gap_mm or gap_in')
    """
    *first, last = words
    return f"{', '.join(first)} {joint} {last}" if first else last


def either(options: Iterable) -> str:
    """Name what may be chosen.

    >>> either(("mm", "inch")), either((0, 90, 180)), either([None])
    ("'mm' or 'inch'", '0, 90 or 180', 'None')
    """
    return listed([repr(one) for one in options], "or")
