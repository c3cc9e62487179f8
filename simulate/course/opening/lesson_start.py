"""The start of a lesson: the switch of the units, the way on, one sentence, names for screen readers, and a focus that
can be seen."""

from __future__ import annotations

from pathlib import Path

import ipywidgets as widgets
from IPython.display import display

from simulate.course.exercise.lesson_foot import as_output
from simulate.course.glossary.terms import notes_script
from simulate.course.notebook.screen_reader_names import STATES, accessibility
from simulate.course.opening.lesson_head import lesson_head
from simulate.show.units.switch import UnitSwitch

_WORDS = "The lesson is ready. To bring its panels to life, choose Run, then Run All Cells."

_SCRIPTS = tuple(Path(__file__).with_name(name) for name in ("try_it.js", "run_all_top.js"))


class Start:
    """What the first cell of a lesson shows.

    Examples
    --------
    >>> Start()
    The lesson is ready. To bring its panels to life, choose Run, then Run All Cells.
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
        screen reader looks for it; over it stand the switch of the units, the way on and what is done. The first use
        of each term of the trade in the lesson gets its note.

    Examples
    --------
    >>> start()
    Metric: heights in µm, places in mm.
    The lesson is ready. To bring its panels to life, choose Run, then Run All Cells.
    """
    switch = UnitSwitch()
    scripts = "".join(
        f"<script>{text}</script>" for text in (notes_script(), *(one.read_text("utf-8") for one in _SCRIPTS))
    )
    notes = widgets.Output(outputs=as_output(f"{scripts}{STATES}"))
    switch.view.children = (*switch.view.children, lesson_head().view, notes)
    display(switch)
    return Start()
