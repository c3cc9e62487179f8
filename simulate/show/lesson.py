"""The start of a lesson: the switch of the units, one sentence, names for screen readers, and a focus that can be seen."""

from __future__ import annotations

from IPython.display import display

from simulate.show.access import accessibility
from simulate.show.units import UnitSwitch

_WORDS = "The lesson is ready. Run, then Run All Cells, makes every panel live."


class Start:
    """What the first cell of a lesson shows.

    Examples
    --------
    >>> Start()
    The lesson is ready. Run, then Run All Cells, makes every panel live.
    """

    def __repr__(self) -> str:
        """Return the sentence."""
        return _WORDS

    def _repr_html_(self) -> str:
        """Return the sentence with the script that names the controls."""
        return f"<p>{_WORDS}</p>\n{accessibility().data}"


def start() -> Start:
    """Return what the first cell of a lesson shows.

    Returns
    -------
    Start
        A sentence, and the script that copies each visible label to where a
        screen reader looks for it; over it stands the switch of the units.

    Examples
    --------
    >>> start()
    Metric: heights in µm, places in mm.
    The lesson is ready. Run, then Run All Cells, makes every panel live.
    """
    display(UnitSwitch())
    return Start()
