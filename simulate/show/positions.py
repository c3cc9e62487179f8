"""Positions of a panel worked out beforehand, for where no kernel runs."""

from __future__ import annotations

import ast
import importlib
import io
from collections.abc import Iterator, Sequence

import ipywidgets as widgets
import nbformat
import numpy as np
from PIL import Image

from simulate.core.refusal import Refusal
from simulate.show.canvas import encode
from simulate.show.panel import Panel
from simulate.show.player import COLOURS, player


_RUNS = ("position", "look")
"""Controls that walk through a run, look by look."""


def _values(control: widgets.Widget, count: int) -> list:
    """Return up to `count` settings of one control, from one end to the other."""
    if isinstance(control, (widgets.FloatSlider, widgets.IntSlider)):
        steps = round((control.max - control.min) / control.step)
        places = sorted({round(k * steps / (count - 1)) for k in range(count)})
        values = [control.min + k * control.step for k in places]
        return [int(v) for v in values] if isinstance(control, widgets.IntSlider) else values
    if isinstance(control, widgets.Dropdown):
        options = list(control._options_values)
        return [options[k] for k in sorted({round(k * (len(options) - 1) / (count - 1)) for k in range(count)})]
    return [True, False] if isinstance(control, widgets.Checkbox) else []


def _spoken(control: widgets.Widget) -> str:
    if isinstance(control, widgets.Checkbox):
        return "yes" if control.value else "no"
    if isinstance(control, widgets.Dropdown):
        return str(control.label)
    return f"{control.value:.4g}"


def _controls(panel: Panel) -> dict[str, widgets.Widget]:
    """Return the panel's controls by name, with the place in its run as ``"position"``."""
    position = getattr(panel, "position", None)
    extra = {} if position is None or position in panel.controls.values() else {"position": position}
    return {**panel.controls, **extra}


def _walk(panel: Panel, count: int, steps: int, first: Sequence[str]) -> Iterator[tuple[bytes, str, str]]:
    peek = getattr(panel, "peek", lambda: None)  # a panel that shows nothing until a button is pressed
    peek()
    yield panel.png, f"As it opens. {panel.sentence}", ""
    run = getattr(panel, "position", None)
    place, bare = (run.value, run.max <= 1) if run else (None, False)
    controls = _controls(panel)
    asked = [name for name in first if name in controls]
    for name in [*asked, *(name for name in controls if name not in asked)]:
        control = controls[name]
        if name in asked[1:]:
            peek()
            yield panel.png, f"As it opened. {panel.sentence}", ""
        start = control.value
        for value in _values(control, steps if name in _RUNS else count):
            if value == start:
                continue
            control.value = value
            for words in _whole_run(run, steps) if bare and run.max > 1 else [""]:
                peek()
                if not panel.message.value:  # a refused setting keeps the earlier picture; it is no position
                    yield panel.png, f"{control.description}: {_spoken(control)}. {words}{panel.sentence}", name
        control.value = start
        if run:
            run.value = min(place, run.max)  # a choice may have shortened the run on its way
    panel.refresh()


def _whole_run(run: widgets.IntSlider, steps: int) -> Iterator[str]:
    """Go through a run that the panel did not open with, and say where."""
    for place in _values(run, steps):
        run.value = place
        yield f"{run.description}: {place}. "


def positions(panel: Panel, count: int = 4) -> tuple[list[bytes], list[str]]:
    """Move each control of a panel through its range, the others as the panel opened.

    Parameters
    ----------
    panel : Panel
        Left with the settings it came with.
    count : int
        Settings of each control, 2 or more.

    Returns
    -------
    frames : list of bytes
        PNG pictures, the opening one first.
    sentences : list of str
        What was moved, and the panel's own sentence.

    Raises
    ------
    ValueError
        Where `count` is below 2.

    Notes
    -----
    It does not see settings of two controls moved together. Where a choice brings a run to a panel that opened
    without one, the run is walked through.

    Examples
    --------
    >>> from simulate.show.gap import GapPanel
    >>> frames, sentences = positions(GapPanel(), 2)
    >>> len(frames) == len(sentences) > 3
    True
    """
    frames, sentences, _ = moves(panel, count)
    return frames, sentences


def moves(panel: Panel, count: int = 4, steps: int | None = None,
          first: Sequence[str] = ()) -> tuple[list[bytes], list[str], list[str]]:
    """Move each control as `positions` does, and tell which one moved.

    Parameters
    ----------
    panel : Panel
    count : int
        Settings of each control, 2 or more.
    steps : int, optional
        Settings of the place in a run, or of the look; `count` where not given.
    first : sequence of str
        Names of controls that are moved first, in this order; before each the panel is shown as it opened. What
        names no control is left out.

    Returns
    -------
    frames : list of bytes
    sentences : list of str
    moved : list of str
        Name of the control, ``"position"`` for the place in a run, empty for the opening picture.

    Raises
    ------
    ValueError
        Where `count` or `steps` is below 2.

    Examples
    --------
    >>> from simulate.show.gap import GapPanel
    >>> moves(GapPanel(), 2)[2][:2]
    ['', 'widest_um']
    """
    steps = count if steps is None else steps
    for name, given in (("count", count), ("steps", steps)):
        if given < 2:
            raise Refusal("range", where=name, found=f"{given}", must_be="2 or more positions of each control")
    frames, sentences, moved = [], [], []
    for png, words, name in _walk(panel, count, steps, first):
        frames.append(encode(np.asarray(Image.open(io.BytesIO(png)).convert("RGB")), COLOURS))
        sentences.append(words)
        moved.append(name)
    return frames, sentences, moved


def _panel_of(source: str, found: dict[str, str], **more: object) -> Panel | None:
    """Return the panel that a cell of one call shows, built from its plain arguments."""
    for node in ast.parse(source).body:
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("simulate.show."):
            found |= {alias.name: node.module for alias in node.names}
    last = ast.parse(source).body[-1:]
    call = last[0].value if last and isinstance(last[0], ast.Expr) else None
    if not isinstance(call, ast.Call) or not isinstance(call.func, ast.Name) or call.func.id not in found:
        return None
    thing = getattr(importlib.import_module(found[call.func.id]), call.func.id)
    if not isinstance(thing, type) or not issubclass(thing, Panel):
        return None
    try:
        given = {k.arg: ast.literal_eval(k.value) for k in call.keywords}
        plain = [ast.literal_eval(argument) for argument in call.args]
    except ValueError:  # an argument that only a run would know: the stored picture has to do
        return None
    return thing(*plain, **{**more, **given})


def panels(notebook: nbformat.NotebookNode, **more: object) -> Iterator[tuple[str, Panel]]:
    """Build the slider panels that a lesson shows.

    Parameters
    ----------
    notebook : NotebookNode
        Its cells are read, not run.
    **more
        Arguments for every panel, such as ``dpi=150``.

    Yields
    ------
    str
        Id of the cell.
    Panel
        Panels of the learner's own readings have no sliders and are left out.
    """
    found: dict[str, str] = {}
    for cell in notebook.cells:
        panel = _panel_of(cell.source, found, **more) if cell.cell_type == "code" else None
        if panel is not None:
            yield cell.id, panel


def panel_films(notebook: nbformat.NotebookNode, count: int = 4, units: str = "mm") -> dict[str, str]:
    """Give a film of positions for every slider panel of a lesson.

    Parameters
    ----------
    notebook : NotebookNode
    count : int
        Settings of each control.
    units : str
        In which the panels are drawn.

    Returns
    -------
    dict
        Cell id -> HTML.
    """
    films: dict[str, str] = {}
    for cell, panel in panels(notebook, units=units):
        frames, sentences = positions(panel, count)
        if len(frames) > 1:
            films[cell] = player(frames, sentences, "The panel, position by position").data
    return films
